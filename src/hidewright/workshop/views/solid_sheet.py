"""A sheet of leather as triangles over its middle: cut, made finer, and given its thickness."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from hidewright.geometry.segment import Bools, Floats
from hidewright.geometry.surface import Ints
from hidewright.workshop.views.solid_group import Material, SolidGroup

#: A number for each of (n, 3) points, negative where the leather is cut away.
Field = Callable[[Floats], Floats]

#: A point this near to a cut lies on it, mm.
ON_CUT_MM = 1e-4
#: Rounds in which the place of a cut along a triangle's side is made better.
ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """A sheet of n points; triangles run counter-clockwise seen from the grain side.

    Attributes:
        values: (n, 10) columns: middle of the sheet (3), from there to the grain face (3), scalars
            (3), and 1 where the sheet goes on beyond a cut, as at a fold.
        triangles: (m, 3).
    """

    values: Floats
    triangles: Ints

    @property
    def points(self) -> Floats:
        """(n, 3) middle of the sheet, mm."""
        return self.values[:, :3]

    @property
    def across(self) -> Floats:
        """(n, 3) from the middle to the grain face, mm."""
        return self.values[:, 3:6]

    @property
    def scalars(self) -> Floats:
        """(n, 3) scalars."""
        return self.values[:, 6:9]

    @property
    def joins(self) -> Bools:
        """(n,) whether the sheet goes on beyond a cut here."""
        return self.values[:, 9] > 0.5


def sheet_of(points: Floats, across: Floats, scalars: Floats, triangles: Ints) -> Sheet:
    """Return a sheet from its parts, each (n, 3) but the triangles."""
    joins = np.zeros((len(points), 1))
    return Sheet(values=np.hstack([points, across, scalars, joins]), triangles=triangles)


def clipped(sheet: Sheet, field: Field, *, joins: bool = False) -> Sheet:
    """Return what of a sheet lies where a field is not negative.

    Args:
        sheet: Is cut along the triangles' sides where the field is zero.
        field: Of (n, 3) points.
        joins: The sheet goes on beyond this cut.
    """
    parted, values = divided(sheet, field)
    side = values[parted.triangles].sum(axis=1)
    lies_on = side == 0.0  # with all corners on the cut, as in the corner of an outline
    side[lies_on] = field(parted.points[parted.triangles[lies_on]].mean(axis=1))
    stays = side > 0.0
    if joins:
        marked = parted.values.copy()
        marked[values == 0.0, 9] = 1.0
        parted = replace(parted, values=marked)
    return _with_triangles(parted, parted.triangles[stays])


def divided(sheet: Sheet, field: Field) -> tuple[Sheet, Floats]:
    """Return a sheet with points along the line where a field is zero, and (n,) the field there.

    No triangle of it lies on both sides of that line. A side of a triangle is taken to cross it
    once: where, is found by the rule of false position.
    """
    values = _settled(field(sheet.points))
    corners = values[sheet.triangles]
    crosses = (corners < 0.0).any(axis=1) & (corners > 0.0).any(axis=1)
    if not crosses.any():
        return sheet, values
    tri = sheet.triangles[crosses]
    below = values[tri] < 0.0
    lone = np.where(below.sum(axis=1) == 1, below.argmax(axis=1), (~below).argmax(axis=1))
    tri = tri[np.arange(len(tri))[:, None], (lone[:, None] + np.arange(3)) % 3]
    n = len(values)
    lone, other = np.tile(tri[:, 0], 2), np.concatenate([tri[:, 1], tri[:, 2]])
    keys, number = np.unique(
        np.minimum(lone, other) * n + np.maximum(lone, other), return_inverse=True
    )
    a, b = np.divmod(keys, n)
    at = _crossing(sheet, a, b, values, field)
    new = np.where(values[a] == 0.0, a, np.where(values[b] == 0.0, b, n + np.arange(len(keys))))
    p, q = new[number].reshape(2, -1)
    parts = np.concatenate(
        [
            np.column_stack([tri[:, 0], p, q]),
            np.column_stack([p, tri[:, 1], tri[:, 2]]),
            np.column_stack([p, tri[:, 2], q]),
        ]
    )
    x, y, z = parts.T
    parts = parts[(x != y) & (y != z) & (z != x)]
    more = replace(
        sheet,
        values=np.concatenate([sheet.values, at]),
        triangles=np.concatenate([sheet.triangles[~crosses], parts]),
    )
    return more, np.concatenate([values, np.zeros(len(at))])


def _settled(values: Floats) -> Floats:
    settled: Floats = np.where(np.abs(values) < ON_CUT_MM, 0.0, values)
    return settled


def _crossing(sheet: Sheet, starts: Ints, ends: Ints, values: Floats, field: Field) -> Floats:
    """(k, 10) values where a field is zero on the way from some points to others."""
    a, b = sheet.values[starts], sheet.values[ends]
    low, high = values[starts], values[ends]
    from_, to = np.zeros(len(starts)), np.ones(len(starts))
    for _ in range(ROUNDS):
        share = from_ + (to - from_) * low / np.where(low == high, 1.0, low - high)
        at: Floats = a + share[:, None] * (b - a)
        found = field(at[:, :3])
        same = found * low > 0.0
        from_, low = np.where(same, share, from_), np.where(same, found, low)
        to, high = np.where(same, to, share), np.where(same, high, found)
    at[:, 9] = np.minimum(a[:, 9], b[:, 9])
    return at


def refined(sheet: Sheet, marked: Bools, least_mm: float) -> Sheet:
    """Return a sheet whose marked triangles are halved along every side longer than a length.

    Their neighbours are divided so that all triangles still meet along whole sides.

    Args:
        sheet: Its points stay, new ones come after them.
        marked: (m,) triangles.
        least_mm: Shorter sides stay whole.
    """
    n, tri = len(sheet.values), sheet.triangles
    sides = _sides(tri[marked])
    x, y, z = (sheet.points[sides[:, 0]] - sheet.points[sides[:, 1]]).T
    long = sides[x * x + y * y + z * z > least_mm**2]
    halved = np.unique(long[:, 0] * n + long[:, 1])
    if not len(halved):
        return sheet
    ends = np.column_stack(np.divmod(halved, n))
    middles = sheet.values[ends].mean(axis=1)
    middles[:, 9] = sheet.values[ends, 9].min(axis=1)
    is_end = np.zeros(n, dtype=bool)
    is_end[ends] = True
    near = is_end[tri].sum(axis=1) > 1  # only these can have a side that is halved
    keys = _sides(tri[near]) @ (n, 1)
    found = np.searchsorted(halved, keys).clip(max=len(halved) - 1)
    number = np.where(halved[found] == keys, n + found, -1).reshape(-1, 3)
    return replace(
        sheet,
        values=np.concatenate([sheet.values, middles]),
        triangles=np.concatenate([tri[~near], _split(tri[near], number)]),
    )


def _sides(tri: Ints) -> Ints:
    """(3 m, 2) sides of triangles, the lower number first."""
    return np.sort(tri[:, [[0, 1], [1, 2], [2, 0]]], axis=2).reshape(-1, 2)


def _split(tri: Ints, middle: Ints) -> Ints:
    """Triangles divided at the middles (m, 3) of their sides; -1 where a side stays whole."""
    count = (middle >= 0).sum(axis=1)
    odd = np.where(count == 1, (middle >= 0).argmax(axis=1), (middle < 0).argmax(axis=1))
    turn = (odd[:, None] + np.arange(3)) % 3  # the odd side comes first
    rows = np.arange(len(tri))[:, None]
    (a, b, c), (k, m, n) = tri[rows, turn].T, middle[rows, turn].T
    one, two, three = count == 1, count == 2, count == 3

    def joined(which: Bools, *corners: Ints) -> Ints:
        return np.column_stack([corner[which] for corner in corners])

    return np.concatenate(
        [
            tri[count == 0],
            joined(one, a, k, c),
            joined(one, k, b, c),
            joined(two, m, c, n),
            joined(two, b, m, n),
            joined(two, a, b, n),
            joined(three, a, k, n),
            joined(three, k, b, m),
            joined(three, n, m, c),
            joined(three, k, m, n),
        ]
    )


def _with_triangles(sheet: Sheet, triangles: Ints) -> Sheet:
    used = np.zeros(len(sheet.values), dtype=bool)
    used[triangles] = True
    named = np.cumsum(used) - 1
    return replace(sheet, values=sheet.values[used], triangles=named[triangles])


def only(sheet: Sheet, stays: Bools) -> Sheet:
    """Return a sheet with only some of its triangles, (m,)."""
    return _with_triangles(sheet, sheet.triangles[stays])


def mirrored(sheet: Sheet) -> Sheet:
    """Return a sheet mirrored left to right (x to -x)."""
    values = sheet.values.copy()
    values[:, [0, 3]] *= -1.0
    return replace(sheet, values=values, triangles=sheet.triangles[:, ::-1])


def thickened(
    sheet: Sheet,
    name: str,
    material: Material,
    poses: Floats,
    rows: Floats | None = None,
    apart_mm: float = 0.0,
) -> SolidGroup:
    """Return a sheet as a closed solid: grain face, flesh face and the edge between them.

    Args:
        sheet: Whose edge may have any number of loops.
        name: Of the group.
        material: Of the group.
        poses: (r, s, 3, 4) as in ``SolidGroup``.
        rows: (n,) of the sheet's points; all 0 when None.
        apart_mm: As in ``SolidGroup``.
    """
    n = len(sheet.values)
    tri, middle, across = sheet.triangles, sheet.points, sheet.across
    grain, flesh = middle + across, middle - across
    normal = across / np.linalg.norm(across, axis=1)[:, None]
    edge = _edge(tri, n)
    joins = sheet.joins[edge].all(axis=1)
    a, b = edge[~joins].T
    out = np.cross(middle[b] - middle[a], across[a] + across[b])
    out /= np.maximum(np.linalg.norm(out, axis=1), 1e-12)[:, None]
    own = 2 * n + np.arange(4 * len(a)).reshape(4, -1)
    # where the sheet goes on, the wall is of the faces' points, so that no edge shows
    c, d = edge[joins].T
    source = np.concatenate([np.arange(n), np.arange(n), a, b, b, a])
    row = np.zeros(n) if rows is None else rows
    return SolidGroup(
        name=name,
        material=material,
        points=np.concatenate([grain, flesh, flesh[a], flesh[b], grain[b], grain[a]]),
        normals=np.concatenate([normal, -normal, np.tile(out, (4, 1))]),
        scalars=sheet.scalars[source],
        triangles=np.concatenate([tri, tri[:, ::-1] + n, _wall(*own), _wall(c + n, d + n, d, c)]),
        lines=np.concatenate([own[[0, 1]].T, own[[3, 2]].T]),
        sides=(n, 2 * n),
        poses=poses,
        rows=row[source],
        apart_mm=apart_mm,
    )


def _wall(low_a: Ints, low_b: Ints, top_b: Ints, top_a: Ints) -> Ints:
    """Triangles of the squares over sides from a to b, seen from their right."""
    return np.concatenate(
        [np.column_stack([low_a, low_b, top_b]), np.column_stack([low_a, top_b, top_a])]
    )


def _edge(triangles: Ints, n: int) -> Ints:
    """(k, 2) sides that one triangle alone has, in its sense."""
    start = triangles.ravel()
    end = np.roll(triangles, -1, axis=1).ravel()
    alone = ~np.isin(start * n + end, end * n + start)
    return np.column_stack([start[alone], end[alone]])

"""Meshing a pressing: structured rows round each edge, free points joined elsewhere."""

from collections.abc import Sequence

import numpy as np
from scipy.spatial import Delaunay, cKDTree

from hidewright.errors import RequestError
from hidewright.forming.darts import Cut, between, cuts_of, parted
from hidewright.forming.mesh import (
    CAP,
    CROWN,
    FLANGE,
    LIP,
    WALL,
    Band,
    Ints,
    Layout,
    fitting,
    flange_mm,
    makes,
    sampled,
)
from hidewright.forming.pressing import GivenSurface, Pressing, radii_allow
from hidewright.forming.profile import OnArcs, Rows, Section, section
from hidewright.geometry.distance import inside_ring
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Bools, Floats

#: Free points stay this share of the mesh size away from the rows.
CLEAR = 0.62
#: A corner is divided at least every so many radians: 15 degrees.
ARC_STEP = np.radians(15.0)
#: Sizes tried before a plan is called unmeshable.
TRIES = 4


def meshed(pressing: Pressing | GivenSurface, size_mm: float) -> Layout:
    """Return a mesh for a pressing.

    Args:
        pressing: What is pressed.
        size_mm: Side of a triangle, mm.

    Raises:
        RequestError: When a radius is too small, or hollows and edge come too near one another.
    """
    if not (np.isfinite(size_mm) and size_mm > 0):
        raise RequestError(f"mesh size of {size_mm:g} mm", because="it must be greater than 0")
    if isinstance(pressing, GivenSurface):
        return _given(pressing)
    for hollow in pressing.hollows:
        radii_allow(hollow)
    whole = pressing.edge if isinstance(pressing.edge, Outline) else pressing.hollows[0].outline
    reach = np.ptp(whole.flat_points(1.0), axis=0)
    if np.prod(reach) / size_mm**2 > 400_000:
        raise RequestError(
            f"mesh size of {size_mm:g} mm",
            because=f"it makes far too many triangles over {reach[0]:.0f} x {reach[1]:.0f} mm",
        )
    size = size_mm
    for _ in range(TRIES):
        layout = _attempt(pressing, size)
        if layout is not None:
            return layout
        size *= 0.7
    raise RequestError(
        "the leather cannot be divided into triangles",
        because="hollows, or a hollow and the leather's edge, come too near one another",
        mend="Set them further apart, or give smaller lip radii",
    )


def _given(surface: GivenSurface) -> Layout:
    """Return the layout of a given surface: no rows, its edge the sides that one triangle has."""
    tri = surface.triangles
    sides = tri[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2).tolist()
    every = {(a, b) for a, b in sides}
    following = {a: b for a, b in sides if (b, a) not in every}
    ring = [min(following, default=0)]
    while following and following[ring[-1]] != ring[0] and len(ring) <= len(following):
        ring.append(following[ring[-1]])
    if len(ring) != len(following) or len(every) != len(sides):
        raise RequestError(
            "the surface's triangles do not make one sheet with one edge",
            mend="Join them along whole sides, without holes and without loose parts",
        )
    n, m = len(surface.points), len(tri)
    edge = np.array(ring)
    held = np.zeros(n, dtype=bool)
    held[edge] = surface.hold == "clamped"
    none = np.full(m, -1)
    return Layout(
        bands=(),
        edge_counts=(len(edge),),
        edge=edge,
        flange=np.zeros((0, 0), dtype=np.int64),
        free_first=n,
        free_triangles=0,
        triangles=tri,
        region=np.full(m, FLANGE),
        hollow=none,
        column=none,
        plan=np.array(surface.points[:, :2]),
        held=held,
    )


def _attempt(pressing: Pressing, size: float) -> Layout | None:
    bands: list[Band] = []
    rings: list[tuple[Floats, Floats]] = []
    plan: list[Floats] = []
    first = 0
    for hollow in pressing.hollows:
        tools = fitting(hollow)
        full = OnArcs.even(tools.thickness_mm, 1)
        rows = _rows(section(tools, Rows(crown=4, wall=4, lip=4), full), size)
        cut = section(tools, rows, full)
        inner = tools.inner_mm
        counts = tuple(
            _count(s.length + max(s.sweep, 0.0) * tools.outer_mm * 0.5, s.sweep, size)
            for s in hollow.outline.segments
        )
        at, n2 = sampled(hollow.outline, counts)
        lerp = inner + (tools.outer_mm - inner) * cut.share
        band = at[:, None, :] + n2[:, None, :] * lerp[:, :, None]
        bands.append(Band(first, counts, rows))
        rings.append((band[:, 0], band[:, -1]))
        plan.append(band.reshape(-1, 2))
        first += band.shape[0] * band.shape[1]
    ring_numbers = [(b.grid[:, 0], b.grid[:, -1]) for b in bands]
    loops = [ring for pair in ring_numbers for ring in pair]
    cuts: tuple[Cut, ...] = ()
    if isinstance(pressing.edge, Outline):
        counts = tuple(_count(s.length, s.sweep, size) for s in pressing.edge.segments)
        edge, _ = sampled(pressing.edge, counts)
        flange = np.zeros((0, 0), dtype=np.int64)
        edge_numbers = np.arange(first, first + len(edge))
        plan.append(edge)
        loops.append(edge_numbers)
        cuts = cuts_of(pressing, counts, edge_numbers, first + len(edge), size)
        cut_places = [
            between(edge[sides.before[0] - first], dart.tip, sides)
            for sides, dart in zip(cuts, pressing.darts, strict=True)
        ]
        plan += [p for places in cut_places for p in (places[1:], places[:-1])]
    else:
        counts = bands[0].counts
        lip = ring_numbers[0][1]
        wide = flange_mm(pressing)
        steps = int(np.ceil(wide / size))
        at, n2 = sampled(pressing.hollows[0].outline, counts)
        edge = at + n2 * (pressing.hollows[0].tools.outer_mm + wide)
        more = np.arange(first, first + len(lip) * steps).reshape(len(lip), steps)
        flange = np.column_stack([lip[:, None], more])
        f = np.linspace(0.0, 1.0, steps + 1)[None, 1:, None]
        plan.append((rings[0][1][:, None, :] * (1.0 - f) + edge[:, None, :] * f).reshape(-1, 2))
        edge_numbers = flange[:, -1]
    _must_nest(pressing, rings, edge)
    rows_points = np.concatenate(plan)
    lines = np.concatenate([edge, *(rows_points[cut.before[1:]] for cut in cuts)])
    kept = _free_points(pressing, rings, edge, lines, size)
    points = np.concatenate([rows_points, kept])
    flat = _flat_triangles(
        pressing, points, ring_numbers, loops, cuts, edge, len(rows_points), size
    )
    if flat is None:
        return None
    tri, region, owner = flat
    tri = parted(tri, points, cuts)
    parts = [(tri, region, owner, np.full(len(tri), -1))]
    parts += [_band_triangles(band, k) for k, band in enumerate(bands)]
    if flange.shape[1] > 1:
        parts.append(_flange_triangles(flange))
    joined = [np.concatenate(column) for column in zip(*parts, strict=True)]
    return Layout(
        bands=tuple(bands),
        edge_counts=counts,
        edge=edge_numbers,
        flange=flange,
        free_first=len(rows_points),
        free_triangles=len(tri),
        triangles=joined[0],
        region=joined[1],
        hollow=joined[2],
        column=joined[3],
        plan=points,
        held=_held(pressing, counts, edge_numbers, len(points)),
        cuts=cuts,
        shapes=makes(pressing),
    )


def _count(length: float, sweep: float, size: float) -> int:
    """Points on a segment: even, so that squares halved in turn mirror at its middle, or one."""
    steps = max(np.ceil(length / size - 1e-9), np.ceil(abs(sweep) / ARC_STEP - 1e-9))
    return 1 if steps <= 1 else 2 * int(np.ceil(steps / 2.0))


def _rows(cut: Section, size: float) -> Rows:
    d, z = cut.d[0], cut.z[0]
    steps = np.hypot(np.diff(d), np.diff(z))
    crown, wall, lip = steps[:4].sum(), steps[4:8].sum(), steps[8:].sum()
    return Rows(
        crown=max(3, int(np.ceil(1.5 * crown / size))),
        wall=max(2, int(np.ceil(wall / size))),
        lip=max(3, int(np.ceil(1.5 * lip / size))),
    )


def _held(pressing: Pressing, counts: Sequence[int], edge: Ints, n: int) -> Bools:
    held = np.zeros(n, dtype=bool)
    if not isinstance(pressing.edge, Outline):
        held[edge] = pressing.hold == "clamped"
        return held
    at = 0
    for seg, count in zip(pressing.edge.segments, counts, strict=True):
        if pressing.hold_of(seg.span) == "clamped":
            held[edge[at : at + count]] = True
            held[edge[(at + count) % len(edge)]] = True
        at += count
    return held


def _must_nest(pressing: Pressing, rings: Sequence[tuple[Floats, Floats]], edge: Floats) -> None:
    """Check that no hollow's lip reaches beyond the leather, or into another hollow."""
    for i, hollow in enumerate(pressing.hollows):
        parent = pressing.parent(hollow)
        if parent is None and not isinstance(pressing.edge, Outline):
            continue
        room = edge if parent is None else rings[parent][0]
        where = "the leather's edge" if parent is None else pressing.hollows[parent].name
        outer = rings[i][1]
        inside = inside_ring(room, outer)
        if not inside.all():
            x, y = outer[np.flatnonzero(~inside)[0]]
            raise RequestError(
                f"{hollow.name}: its lip reaches beyond {where} at ({x:.1f}, {y:.1f}) mm",
                because="the sheet must lie flat for a little way round every hollow",
                mend="Make the leather larger there, or the lip radius smaller",
            )
        for j in range(i):
            if pressing.parent(pressing.hollows[j]) == parent and (
                inside_ring(rings[j][1], outer).any() or inside_ring(outer, rings[j][1]).any()
            ):
                raise RequestError(
                    f"{hollow.name} and {pressing.hollows[j].name} run into one another",
                    because="their lips overlap",
                    mend="Set them further apart",
                )


def _free_points(
    pressing: Pressing,
    rings: Sequence[tuple[Floats, Floats]],
    edge: Floats,
    lines: Floats,
    size: float,
) -> Floats:
    """Points of an even grid, clear of the rows and of ``lines``: the edge and its darts."""
    low, high = edge.min(axis=0), edge.max(axis=0)
    centre = (low + high) / 2.0
    rise = size * np.sqrt(3.0) / 2.0
    reach = np.ceil((high - low) / 2.0 / np.array([size, rise])).astype(int) + 1
    i, j = np.meshgrid(
        np.arange(-reach[0], reach[0] + 1), np.arange(-reach[1], reach[1] + 1), indexing="ij"
    )
    grid = centre + np.column_stack([(i + 0.5 * (j % 2)).ravel() * size, j.ravel() * rise])
    ring_points = np.concatenate([lines, *(r for pair in rings for r in pair)])
    away, _ = cKDTree(ring_points).query(grid, distance_upper_bound=CLEAR * size)
    grid = grid[np.isinf(away)]
    free: Floats = grid[_flat_part(pressing, rings, edge, grid) > -2]
    return free


def _flat_part(
    pressing: Pressing, rings: Sequence[tuple[Floats, Floats]], edge: Floats, points: Floats
) -> Ints:
    """Return which flat part points lie in: -1 the flange, k the bottom of hollow k, -2 none."""
    free_flange = isinstance(pressing.edge, Outline)
    part = np.where(inside_ring(edge, points), -1, -2) if free_flange else np.full(len(points), -2)
    for k, (inner, outer) in enumerate(rings):
        part[inside_ring(outer, points)] = -2
        part[inside_ring(inner, points)] = k
    return part


def _flat_triangles(
    pressing: Pressing,
    points: Floats,
    ring_numbers: Sequence[tuple[Ints, Ints]],
    loops: Sequence[Ints],
    cuts: Sequence[Cut],
    edge: Floats,
    free_first: int,
    size: float,
) -> tuple[Ints, Ints, Ints] | None:
    """Join rings and free points; None when a side of a ring or a dart is missing."""
    inner = [cut.before[1:] for cut in cuts]
    used = np.concatenate([*loops, *inner, np.arange(free_first, len(points))])
    # a tiny, always equal shift decides between equally good triangles the same way every time
    shift = 1e-4 * size * np.column_stack([np.sin(12.9898 * used), np.sin(78.233 * used + 1.0)])
    shift[: len(used) - (len(points) - free_first)] = 0.0
    tri = used[Delaunay(points[used] + shift).simplices]
    corner = points[tri]
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    tri[area < 0] = tri[area < 0][:, ::-1]
    tri, corner = tri[abs(area) > 1e-6 * size**2], corner[abs(area) > 1e-6 * size**2]
    rings = [(points[a], points[b]) for a, b in ring_numbers]
    part = _flat_part(pressing, rings, edge, corner.mean(axis=1))
    tri, part = tri[part > -2], part[part > -2]
    n = len(points)
    sides = np.sort(tri[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    present = np.unique(sides[:, 0] * n + sides[:, 1])
    outermost = () if isinstance(pressing.edge, Outline) else (ring_numbers[0][1],)
    wanted = [np.column_stack([cut.before[:-1], cut.before[1:]]) for cut in cuts]
    for ring in loops:
        if not any(ring is one for one in outermost):
            wanted.append(np.column_stack([ring, np.roll(ring, -1)]))
    needed = np.sort(np.concatenate(wanted), axis=1)
    if not np.isin(needed[:, 0] * n + needed[:, 1], present).all():
        return None
    return tri, np.where(part == -1, FLANGE, CAP), part


def _band_triangles(band: Band, hollow: int) -> tuple[Ints, Ints, Ints, Ints]:
    rows = band.rows
    row_region = np.repeat([CROWN, WALL, LIP], [rows.crown, rows.wall, rows.lip])
    tri, column, row = _grid_triangles(band.grid)
    return tri, row_region[row], np.full(len(tri), hollow), column


def _flange_triangles(flange: Ints) -> tuple[Ints, Ints, Ints, Ints]:
    tri, _, _ = _grid_triangles(flange)
    none = np.full(len(tri), -1)
    return tri, np.full(len(tri), FLANGE), none, none


def _grid_triangles(grid: Ints) -> tuple[Ints, Ints, Ints]:
    """Halve the squares of a closed grid in turn one way and the other: triangles, column, row."""
    ahead = np.roll(grid, -1, axis=0)
    a, b, c, d = grid[:, :-1], grid[:, 1:], ahead[:, 1:], ahead[:, :-1]
    j, k = np.meshgrid(np.arange(a.shape[0]), np.arange(a.shape[1]), indexing="ij")
    even = (j + k) % 2 == 0
    one = np.stack([a, b, np.where(even, c, d)], axis=-1)
    two = np.stack([np.where(even, a, b), c, d], axis=-1)
    tri = np.concatenate([one.reshape(-1, 3), two.reshape(-1, 3)])
    return tri, np.concatenate([j.ravel()] * 2), np.concatenate([k.ravel()] * 2)

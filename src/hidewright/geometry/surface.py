"""Closed surfaces of triangles: solids with straight walls and rounded edges.

The volume of a solid whose edge is rounded follows from the areas of the offsets of its outline.
With area A, length L and rounding radius c, an outline offset inwards by d encloses
A - L d + pi d^2 (Steiner's formula for total turning 2 pi, exact while no part of it vanishes).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from hidewright.errors import RequestError
from hidewright.geometry.once import once
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats
from hidewright.units.number import hundredths_down

Ints = npt.NDArray[np.int64]
Face = Literal["top", "bottom"]

#: Sagitta of the chords along an outline, and again up a rounded edge: 0.01 mm together.
SAGITTA_MM = 0.005
#: Neighbouring corners of a ring nearer than this are one corner, mm.
WELD_MM = 1e-7
#: Directions that differ by more than this turn at a corner, radians.
CORNER = 1e-4


@dataclass(frozen=True, eq=False)
class Surface:
    """Triangles in space; seen from outside the solid each runs counter-clockwise.

    Attributes:
        points: (n, 3) float corners, mm, read-only.
        triangles: (m, 3) int, rows of ``points``, read-only.
    """

    points: Floats
    triangles: Ints

    def __post_init__(self) -> None:
        points = np.array(self.points, dtype=np.float64)
        triangles = np.array(self.triangles, dtype=np.int64)
        if points.ndim != 2 or points.shape[1] != 3 or not np.isfinite(points).all():
            raise ValueError(f"points of shape {points.shape}; (n, 3) finite numbers are wanted")
        if triangles.ndim != 2 or triangles.shape[1] != 3 or len(triangles) == 0:
            raise ValueError(f"triangles of shape {triangles.shape}; (m, 3) are wanted")
        if triangles.min() < 0 or triangles.max() >= len(points):
            raise ValueError("a triangle names a point that is not there")
        for name, array in (("points", points), ("triangles", triangles)):
            array.setflags(write=False)
            object.__setattr__(self, name, array)

    @once
    def corners(self) -> Floats:
        """(m, 3 corners, 3) float, mm."""
        corners: Floats = self.points[self.triangles]
        return corners

    @once
    def volume(self) -> float:
        """Enclosed volume, mm3: positive when closed and seen from outside counter-clockwise."""
        a, b, c = np.moveaxis(self.corners - self.points.mean(axis=0), 1, 0)
        return float(np.sum(a * np.cross(b, c))) / 6.0

    @once
    def area(self) -> float:
        """Area of all triangles, mm2."""
        a, b, c = np.moveaxis(self.corners, 1, 0)
        return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum()) / 2.0

    @once
    def is_closed(self) -> bool:
        """Whether each edge is met exactly twice, once each way."""
        start = self.triangles.ravel()
        end = np.roll(self.triangles, -1, axis=1).ravel()
        n = len(self.points)
        there, times = np.unique(start * n + end, return_counts=True)
        back = np.sort(end * n + start)
        return bool(times.max() == 1 and np.array_equal(there, back))


def prism(outline: Outline, z0: float, z1: float, holes: Sequence[Outline] = ()) -> Surface:
    """Return the solid between two heights over an outline, with holes through it.

    Raises:
        RequestError: When z1 is not above z0, or a hole meets another or the outline.
    """
    _must_rise(z0, z1)
    rings = [_walk(curve, 0.0, SAGITTA_MM) for curve in (outline, *holes)]
    return _solid([[ring.at(0.0, z) for z in (z0, z1)] for ring in rings])


def rounded_prism(
    outline: Outline,
    z0: float,
    z1: float,
    crown_radius: float,
    holes: Sequence[Outline] = (),
    *,
    rounded_holes: Sequence[tuple[Outline, float]] = (),
    lean: float = 0.0,
    sagitta_mm: float = SAGITTA_MM,
) -> Surface:
    """Return a solid with an upright or leaning wall and a top edge rounded by an arc.

    Args:
        outline: Outline of the wall at its foot.
        z0: Height of the foot, mm.
        z1: Height of the flat top, mm.
        crown_radius: Radius of the top edge, mm; 0 leaves it sharp. The arc is tangent to the wall
            and to the top.
        holes: Upright holes through it; they must leave the rounding alone.
        rounded_holes: (hole, radius) of more, whose upper edges are rounded too.
        lean: Of the wall inwards from upright, radians, 0 or more.
        sagitta_mm: Sagitta of the chords along the outline, and up the rounding.

    Raises:
        RequestError: When rounding and lean are larger than a corner of the outline or than half
            its narrowest place, or the rounding is higher than the wall.
    """
    _must_rise(z0, z1)
    come_in = _come_in(crown_radius, z1 - z0, lean)
    _must_fit("crown radius", crown_radius, z1 - z0, outline.min_inside_radius, "corner", come_in)
    wall = _walk(outline, -1.0, sagitta_mm)
    _must_stay_simple("crown radius", wall, crown_radius, come_in)
    rings = [wall.at(0.0, z0), *_rounding(wall, crown_radius, (z0, z1), lean, sagitta_mm)]
    tubes = [rings]
    for hole in holes:
        ring = _walk(hole, 0.0, sagitta_mm)
        tubes.append([ring.at(0.0, z0), ring.at(0.0, z1)])
    for hole, radius in rounded_holes:
        turn = hole.min_outside_radius
        _must_fit("hole's radius", radius, z1 - z0, turn, "inward corner", radius)
        ring = _walk(hole, 1.0, sagitta_mm)
        tubes.append([ring.at(0.0, z0), *_rounding(ring, radius, (z0, z1), 0.0, sagitta_mm)])
    return _solid(tubes)


def framed_plate(
    outer: Outline,
    opening: Outline,
    z0: float,
    z1: float,
    lip_radius: float,
    *,
    face: Face = "top",
    holes: Sequence[Outline] = (),
    lean: float = 0.0,
    upright_mm: float = 0.0,
    sagitta_mm: float = SAGITTA_MM,
) -> Surface:
    """Return a plate with an opening whose edge at one face is rounded by an arc.

    Args:
        outer: Outline of the plate.
        opening: Outline of the wall of the opening, where it is narrowest.
        z0: Height of the lower face, mm.
        z1: Height of the upper face, mm.
        lip_radius: Radius of the opening's edge, mm; 0 leaves it sharp. The arc is tangent to the
            wall and to the face.
        face: Which face's edge is rounded.
        holes: Further upright holes, such as those for dowels.
        lean: By which the opening widens towards that face, radians from upright, 0 or more.
        upright_mm: Height of wall that stands upright at the other face before it leans.
        sagitta_mm: Sagitta of the chords along the outlines, and up the rounding.

    Raises:
        RequestError: When rounding and lean are larger than an inward corner of the opening or the
            plate allows, or the rounding is higher than the wall that leans.
    """
    _must_rise(z0, z1)
    high = z1 - z0 - upright_mm
    widens = _come_in(lip_radius, high, lean)
    _must_fit("lip radius", lip_radius, high, opening.min_outside_radius, "inward corner", widens)
    wall = _walk(opening, 1.0, sagitta_mm)
    _must_stay_simple("lip radius", wall, lip_radius, widens)
    up = 1.0 if face == "top" else -1.0
    far, near = (z0, z1) if face == "top" else (-z1, -z0)
    rings = [wall.at(0.0, far)]
    if upright_mm:
        rings.append(wall.at(0.0, far + upright_mm))
    rings += _rounding(wall, lip_radius, (far + upright_mm, near), lean, sagitta_mm)
    if face == "bottom":
        rings = [ring * (1.0, 1.0, up) for ring in reversed(rings)]
    tubes = [rings]
    for curve in (outer, *holes):
        ring = _walk(curve, 0.0, sagitta_mm)
        tubes.append([ring.at(0.0, z0), ring.at(0.0, z1)])
    return _solid([tubes[1], tubes[0], *tubes[2:]])


def loft(rings: Sequence[Floats]) -> Surface:
    """Return the closed surface through rings of equally many corners, capped at both ends.

    Args:
        rings: Each (n, 3), mm, counter-clockwise seen from above, from the lowest to the highest;
            corner i of each is joined to corner i of the next. Caps are triangulated in plan.

    Raises:
        RequestError: When a cap crosses itself in plan.
    """
    return _solid([list(rings)])


@dataclass(frozen=True)
class _Walk:
    """Corners (n, 2) along an outline and their outward directions; shifted they give offsets."""

    corners: Floats
    outward: Floats
    side: float

    def at(self, distance: float, z: float) -> Floats:
        """Return the (n, 3) ring offset by a distance to the side of this walk, at a height."""
        plan = self.corners + self.side * distance * self.outward
        return np.column_stack([plan, np.full(len(plan), z)])


def _walk(outline: Outline, side: float, sagitta_mm: float) -> _Walk:
    """Return corners for offsets to one side (1 outward, -1 inward, 0 neither).

    A corner of the outline that opens to that side is met several times, each with another
    direction, so that its offset is an arc about it.
    """
    corners: list[Floats] = []
    outward: list[Floats] = []
    before = outline.segments[-1]
    for segment in outline.segments:
        points = np.array(segment.flat_points(sagitta_mm))
        steps = segment.length * np.arange(len(points)) / len(points)
        normals = np.array([segment.normal_at(float(v)) for v in steps])
        first = np.array(before.normal_at(before.length))
        turn = math.atan2(
            first[0] * normals[0, 1] - first[1] * normals[0, 0], float(first @ normals[0])
        )
        if side * turn > CORNER:  # opens: the offset goes round the corner
            n = math.ceil(abs(turn) / math.radians(3.0))
            fan = math.atan2(first[1], first[0]) + turn * np.arange(n) / n
            corners.append(np.repeat(points[:1], n, axis=0))
            outward.append(np.column_stack([np.cos(fan), np.sin(fan)]))
        corners.append(points)
        outward.append(normals)
        before = segment
    return _Walk(np.concatenate(corners), np.concatenate(outward), side)


def _come_in(radius: float, height: float, lean: float) -> float:
    """Return how far a wall and the arc on it have come in where the arc is level, mm.

    Its centre lies one radius under the top and, square to the wall, one radius inside it.
    """
    return max(height - radius, 0.0) * math.tan(lean) + radius / math.cos(lean)


def _rounding(
    wall: _Walk, radius: float, heights: tuple[float, float], lean: float, sagitta_mm: float
) -> list[Floats]:
    """Return rings up an arc, from where it leaves the wall to where it is level at the top.

    Args:
        wall: Where it stands at its foot.
        radius: Of the arc, mm.
        heights: Of the wall's foot and of the top, mm.
        lean: Of the wall, radians.
        sagitta_mm: Of the chords up the arc.
    """
    foot, top = heights
    if radius == 0.0:
        return [wall.at((top - foot) * math.tan(lean), top)]
    step = 2.0 * math.acos(max(1.0 - sagitta_mm / radius, 0.0))
    turn = math.pi / 2 - lean
    n = max(2, math.ceil(turn / step))
    angles = lean + turn * np.arange(n + 1) / n
    begins = (top - foot - radius) * math.tan(lean)
    along = begins + radius * (1.0 / math.cos(lean) - np.cos(angles))
    up = top - radius * (1.0 - np.sin(angles))
    along[-1], up[-1] = begins + radius / math.cos(lean), top
    return [wall.at(float(d), float(z)) for d, z in zip(along, up, strict=True)]


def _solid(tubes: Sequence[Sequence[Floats]]) -> Surface:
    """Return the solid between the first tube and the others, which are holes in it.

    Each tube is a list of rings from the lowest to the highest, counter-clockwise from above.
    """
    points: list[Floats] = []
    triangles: list[Ints] = []
    ends: list[tuple[Ints, Ints]] = []
    count = 0
    for hole, tube in enumerate(tubes):
        ids = []
        for ring in tube:
            ids.append(count + _welded(ring))
            points.append(ring)
            count += len(ring)
        for low, high in pairwise(ids):
            side = _band(low, high)
            triangles.append(side[:, ::-1] if hole else side)
        ends.append((ids[0], ids[-1]))
    everything = np.concatenate(points)
    triangles.append(_cap(everything, [low for low, _ in ends])[:, ::-1])
    triangles.append(_cap(everything, [high for _, high in ends]))
    used, named = np.unique(np.concatenate(triangles), return_inverse=True)
    return Surface(everything[used], named.reshape(-1, 3))


def _band(low: Ints, high: Ints) -> Ints:
    """Return the triangles between two rings, leaving out those that welding has closed up."""
    low_next, high_next = np.roll(low, -1), np.roll(high, -1)
    both = np.concatenate(
        [np.column_stack([low, low_next, high_next]), np.column_stack([low, high_next, high])]
    )
    a, b, c = both.T
    band: Ints = both[(a != b) & (b != c) & (c != a)]
    return band


def _welded(ring: Floats) -> Ints:
    """Return for each corner the first of the run of coinciding corners it belongs to."""
    same = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) < WELD_MM
    if same.all():
        return np.zeros(len(ring), dtype=np.int64)
    ids = np.arange(len(ring))
    ids[same] = 0
    ids = np.maximum.accumulate(ids)
    if same[0]:  # the run goes on over the seam
        last = int(np.flatnonzero(~same)[-1])
        ids[: int(np.flatnonzero(~same)[0])] = last
    return ids


def _cap(points: Floats, rings: Sequence[Ints]) -> Ints:
    """Return triangles, counter-clockwise in plan, that fill the first ring less the others."""
    loops = [ring[ring != np.roll(ring, 1)] for ring in rings]
    if len(loops[0]) < 3:  # closed up to a point or a ridge: nothing to fill
        return np.zeros((0, 3), dtype=np.int64)
    plan = points[:, :2]
    polygon = shapely.Polygon(plan[loops[0]], [plan[loop] for loop in loops[1:]])
    if not polygon.is_valid:
        raise RequestError(
            "a face of the solid is not one area",
            because=f"its edges cross or touch: {shapely.is_valid_reason(polygon)}",
            mend="Move the holes apart and off the edge, or make the rounding smaller",
        )
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    corners = shapely.get_coordinates(parts).reshape(-1, 4, 2)[:, :3]
    names = {(x, y): int(i) for loop in loops for i, (x, y) in zip(loop, plan[loop], strict=True)}
    cap = np.array([[names[x, y] for x, y in triangle] for triangle in corners.tolist()])
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    clockwise = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0] < 0
    cap[clockwise] = cap[clockwise][:, ::-1]
    return cap


def _must_rise(z0: float, z1: float) -> None:
    if not (math.isfinite(z0) and math.isfinite(z1) and z1 > z0):
        raise RequestError(f"a solid from height {z0:g} to {z1:g} mm has no thickness")


def _must_fit(
    what: str, radius: float, height: float, turn: float, which: str, come_in: float
) -> None:
    if not (math.isfinite(radius) and radius >= 0):
        raise RequestError(f"{what} {radius:g} mm", mend="Give 0 or more")
    if radius > height:
        raise RequestError(
            f"{what} {radius:g} mm",
            because=f"the wall is only {round(height, 2):g} mm high",
            mend=f"Give {hundredths_down(height)} mm at most",
        )
    if come_in > turn + 1e-9:
        most = max(radius - (come_in - turn), 0.0)
        raise RequestError(
            f"{what} {radius:g} mm",
            because=f"the outline's sharpest {which} has a radius of {round(turn, 2):g} mm"
            + (
                f", and wall and rounding come in by {round(come_in, 2):g} mm"
                if come_in > radius
                else ""
            ),
            mend=f"Give {hundredths_down(most)} mm at most, or round the outline more",
        )


def _must_stay_simple(what: str, wall: _Walk, radius: float, come_in: float) -> None:
    """Refuse a rounding so large that its inner or outer edge would run into itself."""

    def runs_clear(distance: float) -> bool:
        ring = wall.at(distance, 0.0)
        loop = ring[np.unique(_welded(ring))][:, :2]
        return len(loop) < 3 or bool(shapely.Polygon(loop).is_valid)

    if runs_clear(come_in):
        return
    largest = max(radius - (come_in - _last_true(runs_clear, 0.0, come_in)), 0.0)
    raise RequestError(
        f"{what} {radius:g} mm",
        because="the rounded edges of two sides would run into one another",
        mend=f"Give {math.floor(largest * 100) / 100:g} mm at most, or widen the narrow place",
    )


def _last_true(holds: Callable[[float], bool], low: float, high: float) -> float:
    """Return by halving where a condition that holds at ``low`` and not at ``high`` ends."""
    while high - low > 1e-4:
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low

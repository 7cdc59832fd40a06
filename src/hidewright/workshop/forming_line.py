"""Where a section through a pressed sheet is taken, and which island it runs across."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.forming.limits import use_of
from hidewright.forming.mesh import Ints, fitting, sampled
from hidewright.forming.pressing import Pressing
from hidewright.forming.solved import Pressed
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, cross
from hidewright.workshop.forming_chain import Layer

#: Into the hollow, and beyond an island, a section shows so much of the bottom, mm.
BOTTOM_MM = 10.0
#: A section tells of what lies within this beside it, mm, and ...
BESIDE_MM = 3.0
#: ... goes across an island whose walls it meets nearly at right angles, this the least sine.
LEAST_SQUARE = 0.995
#: A section that is longer than this at full size does not go on a page, mm.
PAGE_MM = 180.0
#: Places on an arc between which an island's outline is taken as straight.
ON_ARC = 180


@dataclass(frozen=True, slots=True, kw_only=True)
class Worst:
    """Where a sheet comes nearest to what its leather bears.

    Attributes:
        triangle: Its number.
        share: Of the limit, used.
        hollow: The hollow whose edge is nearest.
        column: The column of that hollow's band through it, or nearest to it.
    """

    triangle: int
    share: float
    hollow: int
    column: int


def shares_used(layer: Layer, leather: Leather) -> Floats:
    """Return (m,) the share of its leather's limit that each triangle uses, 1 all of it.

    A hollow pressed grain out and one pressed grain in are each taken as they are, its islands with
    it; the flange goes with the first.
    """
    form = layer.sheet.pressing
    assert isinstance(form, Pressing)
    of_triangle = np.array(form.outermost)[np.maximum(layer.sheet.layout.hollow, 0)]
    each = np.stack([use_of(layer.sheet, leather, z.grain_out).most for z in layer.zones])
    used: Floats = np.take_along_axis(each, of_triangle[None, :], axis=0)[0]
    return used


def worst_of(layer: Layer, leather: Leather) -> Worst:
    """Return the triangle that uses most of the limit, and the column of points through it."""
    return _worst(layer.sheet, shares_used(layer, leather))


def section_places(layer: Layer, leather: Leather) -> tuple[Worst, ...]:
    """Return where a layer is cut through: its worst place, and where it is worst across an island.

    Each with the column of a zone along which it is cut. Islands are crossed squarely or not at
    all; the worst place off islands stands first, and alone if its own section crosses one.
    """
    sheet, used = layer.sheet, shares_used(layer, leather)
    form = sheet.pressing
    assert isinstance(form, Pressing)
    within = np.array([*(bool(one.within) for one in form.hollows), False])[sheet.layout.hollow]
    zone = _worst(sheet, np.where(within, 0.0, used))
    if not within.any() or crossing_of(sheet, zone.hollow, zone.column):
        return (zone,)
    across = [
        one
        for k, hollow in enumerate(form.hollows)
        if any(other.within == hollow.name for other in form.hollows)
        for column in range(sheet.layout.bands[k].columns)
        if (one := _worst_across(sheet, used, k, column))
    ]
    return (zone, max(across, key=lambda one: one.share)) if across else (zone,)


def _worst_across(sheet: Pressed, used: Floats, zone: int, column: int) -> Worst | None:
    """The worst place on the island that a column crosses, close beside it; None without one."""
    met = crossing_of(sheet, zone, column)
    if met is None:
        return None
    places = sheet.shape.points[sheet.layout.triangles, :2].mean(axis=1)
    beside = np.abs(cross(met.ahead, places - met.start)) <= BESIDE_MM
    on = (sheet.layout.hollow == met.island) & beside
    t = int(np.where(on, used, -1.0).argmax())
    return Worst(triangle=t, share=float(used[t]), hollow=zone, column=column)


def _worst(sheet: Pressed, used: Floats) -> Worst:
    layout, points = sheet.layout, sheet.shape.points
    t = int(used.argmax())
    hollow, column = int(layout.hollow[t]), int(layout.column[t])
    if column < 0:
        middle = points[layout.triangles[t]].mean(axis=0)
        away = [np.linalg.norm(points[b.grid] - middle, axis=2).min(axis=1) for b in layout.bands]
        hollow = min(range(len(away)), key=lambda k: float(away[k].min()))
        column = int(away[hollow].argmin())
    return Worst(triangle=t, share=float(used[t]), hollow=hollow, column=column)


def along_column(sheet: Pressed, hollow: int, column: int, d: Floats) -> Floats:
    """Return (len, 2) places in plan so far outward of the plug's wall, in one column, mm."""
    pressing = sheet.pressing
    assert isinstance(pressing, Pressing)
    at, out = sampled(pressing.hollows[hollow].outline, sheet.layout.bands[hollow].counts)
    places: Floats = at[column] + out[column] * d[:, None]
    return places


def flange_mm(sheet: Pressed, hollow: int, column: int) -> float:
    """Return how far from the plug's wall the leather's edge lies in a column's direction, mm."""
    start, ahead = along_column(sheet, hollow, column, np.array([0.0, 1.0]))
    ring = sheet.shape.points[sheet.layout.edge, :2]
    side = np.roll(ring, -1, axis=0) - ring
    away = ring - start
    across = cross(ahead - start, side)
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = cross(away, side) / across
        share = cross(away, ahead - start) / across
    met = (share >= 0.0) & (share <= 1.0) & (reach > 0.0)
    return float(reach[met].min())


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """An island that a section runs across; distances run along it, outward of the zone's wall.

    Attributes:
        island: Number of its hollow.
        start, ahead: (2,) where the section meets the plug's wall, and its direction outward.
        until_mm: How far beyond the island the section goes on: a negative distance.
    """

    island: int
    start: Floats
    ahead: Floats
    until_mm: float

    def sides(self, outline: Outline, off_mm: float) -> tuple[float, float]:
        """Return the far and the near side of an island's outline, moved outward, mm."""
        near, far = _met(outline, off_mm, self.start, self.ahead)[:2]
        return far, near


def crossing_of(sheet: Pressed, zone: int, column: int) -> Crossing | None:
    """Return the first island that a column, run on inward over the bottom, crosses squarely.

    None where it meets none, meets one askew, or would be longer than a page is wide.
    """
    form = sheet.pressing
    assert isinstance(form, Pressing)
    start, ahead = along_column(sheet, zone, column, np.array([0.0, 1.0]))
    ahead = ahead - start
    met: list[tuple[float, int]] = []
    for k, one in enumerate(form.hollows):
        if form.parent(one) == zone:
            outer = _met(one.outline, one.tools.outer_mm, start, ahead)
            inner = _met(one.outline, fitting(one).inner_mm, start, ahead)
            met += [(float(d), k) for d in outer[:2] if len(inner) >= 2]
    if not met:
        return None
    (_, first), (far, other) = sorted(met, reverse=True)[:2]
    if first != other:
        return None
    own = form.hollows[zone]
    walls = _met(own.outline, own.tools.inner_mm, start, ahead)
    beyond = [d for d, _ in met if d < far] + [float(d) for d in walls if d < far]
    until = far - min(BOTTOM_MM, 0.5 * (far - max(beyond, default=-math.inf)))
    if flange_mm(sheet, zone, column) - until > PAGE_MM:
        return None
    crossing = Crossing(island=first, start=start, ahead=ahead, until_mm=until)
    outline = form.hollows[first].outline
    out = sampled(outline, sheet.layout.bands[first].counts)[1]
    for side, way in zip(crossing.sides(outline, 0.0), (-1.0, 1.0), strict=True):
        if way * float(out[column_at(sheet, crossing, side)] @ ahead) < LEAST_SQUARE:
            return None
    return crossing


def bottom_mm(sheet: Pressed, zone: int, column: int) -> float:
    """Return how far inward a section shows the flat bottom, up to an island it does not cross."""
    form = sheet.pressing
    assert isinstance(form, Pressing)
    own = form.hollows[zone].tools
    start, ahead = along_column(sheet, zone, column, np.array([0.0, 1.0]))
    feet = [
        float(d)
        for one in form.hollows
        if form.parent(one) == zone
        for d in _met(one.outline, one.tools.outer_mm, start, ahead - start)
    ]
    return max([own.inner_mm - BOTTOM_MM, *(d for d in feet if d < own.inner_mm)])


def _met(outline: Outline, off_mm: float, start: Floats, ahead: Floats) -> Floats:
    """(k,) where an outline moved outward lies on the way inward from a wall, the nearest first."""
    counts = [ON_ARC if seg.is_arc else 1 for seg in outline.segments]
    at, out = sampled(outline, counts)
    ring = at + off_mm * out - start
    beside, along = cross(ahead, ring), ring @ ahead
    after, on = np.roll(beside, -1), np.roll(along, -1)
    over = (beside > 0.0) != (after > 0.0)
    share = beside[over] / (beside[over] - after[over])
    d = along[over] + share * (on[over] - along[over])
    inward: Floats = -np.sort(-d[d < 0.0])
    return inward


class Passed(NamedTuple):
    """What a section passes.

    Attributes:
        numbers: (k,) points of the mesh, along a hollow's edge; none elsewhere.
        places: (k, 3) places on a bottom or the flange, mm, in plan and their height.
    """

    numbers: Ints
    places: Floats | None = None


def section_track(sheet: Pressed, worst: Worst) -> tuple[Passed, ...]:
    """Return what a section passes from its inner end to the edge, piece by piece."""
    zone, column = worst.hollow, worst.column
    form = sheet.pressing
    assert isinstance(form, Pressing)
    tools, own = form.hollows[zone].tools, sheet.layout.bands[zone].grid[column]
    begin, end = sheet.shape.points[own[[0, -1]], 2].tolist()

    def level(z: float, d: Floats) -> Passed:
        at = along_column(sheet, zone, column, d)
        return Passed(own[:0], np.column_stack([at, np.full(len(d), z)]))

    flange = level(end, np.linspace(tools.outer_mm, flange_mm(sheet, zone, column), 6)[1:])
    met = crossing_of(sheet, zone, column)
    if met is None:
        start = bottom_mm(sheet, zone, column)
        return level(begin, np.linspace(start, tools.inner_mm, 4)[:-1]), Passed(own), flange
    island, band = form.hollows[met.island], sheet.layout.bands[met.island]
    far_mm, near_mm = met.sides(island.outline, island.tools.outer_mm)
    far, near = (band.grid[column_at(sheet, met, side)] for side in met.sides(island.outline, 0.0))
    return (
        level(begin, np.linspace(met.until_mm, far_mm, 4)[:-1]),
        Passed(far[::-1]),
        Passed(near),
        level(begin, np.linspace(near_mm, tools.inner_mm, 8)[1:-1]),
        Passed(own),
        flange,
    )


def column_at(sheet: Pressed, met: Crossing, d: float) -> int:
    """Return the column of a crossed island nearest to a place on the section."""
    form = sheet.pressing
    assert isinstance(form, Pressing)
    at, _ = sampled(form.hollows[met.island].outline, sheet.layout.bands[met.island].counts)
    return int(np.linalg.norm(at - met.start - d * met.ahead, axis=1).argmin())

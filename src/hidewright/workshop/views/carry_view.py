"""What is carried, to scale in its hollow: seen from above, and in section across the width."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import below_mouth
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.slabs import Slab, slab_of
from hidewright.design.specification import Specification
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.units.length import LengthUnit
from hidewright.workshop.views.rows import Cell, laid_in_rows
from hidewright.workshop.views.svg_view import (
    BY,
    USUAL,
    FlatView,
    Frame,
    Mark,
    ViewLayer,
    drawn,
    level_size,
    polyline,
    said,
    size_words,
    standing_for,
    type_size,
    upright_size,
    view_of,
    words_wide,
)

LAYERS: tuple[ViewLayer, ...] = (
    ("leather", "Leather", True),
    ("room", "Hollow", True),
    ("thing", "What is carried", True),
    ("mouth", "Mouth", True),
    ("size", "Sizes and clearances", True),
    ("words", "Names", True),
)
#: Room round a picture for its sizes (left, below, right, above), in sizes of the type.
ROOM = (7.2, 4.4, 6.4, 5.0)
BETWEEN = 2.5
#: Size of the names of things, over the type.
SMALL = 0.9
#: Steps in which a rounded edge is drawn in a section.
STEPS = 8
#: Of a flange so much is shown, mm.
FLANGE_MM = 7.0
#: Loose things are shown so far apart, over their own size.
LOOSE = 1.04
#: Clearances smaller than this are none, mm.
NONE_MM = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """One thing where it lies in a hollow: the middle of its plan, and its lower face.

    Attributes:
        slab: The thing alone, as it lies.
        x, y: Middle of its plan in the hollow's frame, mm.
        z: Height of its lower face over the plane where the halves meet, mm.
        name: Whose it is.
    """

    slab: Slab
    x: float
    y: float
    z: float
    name: str

    @property
    def plan(self) -> Outline:
        """Its outline from above."""
        return self.slab.plan.moved(self.x, self.y)


def carry_view(
    spec: Specification[Any], design: Design, unit: LengthUnit = "mm", frame: Frame = USUAL
) -> FlatView | None:
    """Return each hollow with what it carries; None when nothing is carried or nothing hollow.

    Args:
        spec: Says what is carried.
        design: Has the hollows.
        unit: In which sizes are told.
        frame: What the picture fills.
    """
    carried = spec.brief.carried
    if not carried or not design.hollows:
        return None
    boxes = [
        box
        for h in design.hollows
        for box in (h.outline.bounds, _with_leather(h, _leather_mm(design, h)))
    ]
    _, (left, bottom, right, top) = laid_in_rows(
        [Cell(box=b, room=(16.0,) * 4) for b in boxes], 8.0, frame
    )
    em = type_size(right - left, top - bottom, frame)
    middles = [(b[1] + b[3]) / 2 for b in boxes]
    cells = [
        Cell(box=(b[0], b[1] - y, b[2], b[3] - y), room=tuple(r * em for r in ROOM))
        for b, y in zip(boxes, middles, strict=True)
    ]
    moved, _ = laid_in_rows(cells, BETWEEN * em, frame)
    shifts = [(dx, dy - y) for (dx, dy), y in zip(moved, middles, strict=True)]
    marks: list[Mark] = []
    for i, hollow in enumerate(design.hollows):
        lying = things_in(hollow, carried)
        marks += _plan(hollow, lying, shifts[2 * i], unit, em)
        marks += _section(hollow, _leather_mm(design, hollow), lying, shifts[2 * i + 1], unit, em)
    return view_of(marks, LAYERS, _alt(design, carried, unit), em)


def _leather_mm(design: Design, hollow: Hollow) -> float:
    """Return the thickness of the leather that a hollow is moulded in, mm."""
    return design.leather(design.piece(hollow.name.split("/")[0]).role).thickness_mm


def things_in(hollow: Hollow, carried: Sequence[Carried]) -> tuple[Lying, ...]:
    """Return every thing where it lies: rows across the width, stacks on one another, loose.

    From the lower face up: a row side by side, each thing in the middle of its own room, then what
    is stacked. Loose things come last, side by side as many as the width takes, then further in,
    then over one another.
    """
    left, bottom, right, top = hollow.outline.bounds
    x = (left + right) / 2
    low = -hollow.shells[1].depth_mm
    spare = hollow.depth_mm - _high(carried)
    z = low + (max(spare, 0.0) / 2 if all(s.depth_mm > 0 for s in hollow.shells) else 0.0)
    found: list[Lying] = []

    def middle(slab: Slab, one: Carried) -> float:
        if not hollow.mouth:
            return (bottom + top) / 2
        return (
            hollow.mouth_y_mm
            - max(one.mouth_clearance_mm, below_mouth(tuple(carried)))
            - (slab.length_mm / 2)
        )

    row = [c for c in carried if c.arrangement == "side by side"]
    if row:
        slabs = [(slab_of(replace(c, count=1)), c) for c in row for _ in range(c.count)]
        wide = math.fsum(s.width_mm + c.side_clearance_mm for s, c in slabs)
        at = x - wide / 2
        for slab, one in slabs:
            half = (slab.width_mm + one.side_clearance_mm) / 2
            found.append(_lying(slab, one, at + half, middle(slab, one), z))
            at += 2 * half
        z += max(s.thickness_mm for s, _ in slabs)
    for one in (c for c in carried if c.arrangement == "stacked"):
        slab = slab_of(replace(one, count=1))
        for _ in range(one.count):
            found.append(_lying(slab, one, x, middle(slab, one), z))
            z += slab.thickness_mm
    for one in (c for c in carried if c.arrangement == "loose"):
        strewn = _strewn(hollow, slab_of(replace(one, count=1)), one, z)
        z = max(lying.z + lying.slab.thickness_mm for lying in strewn)
        found += strewn
    return tuple(found)


def _lying(slab: Slab, one: Carried, x: float, y: float, z: float) -> Lying:
    return Lying(slab=slab, x=x, y=y, z=z, name=one.thing.name)


def _high(carried: Sequence[Carried]) -> float:
    """Return how high the things lie in all, one layer of the loose, mm."""
    row = [slab_of(c).thickness_mm for c in carried if c.arrangement == "side by side"]
    stacked = [slab_of(c).thickness_mm for c in carried if c.arrangement != "side by side"]
    return max(row, default=0.0) + math.fsum(stacked)


def _strewn(hollow: Hollow, slab: Slab, one: Carried, z: float) -> list[Lying]:
    """Return loose things in even rows from the bottom of the hollow, layer over layer."""
    left, bottom, right, top = hollow.outline.bounds
    side = one.side_clearance_mm
    across = max(1, int((right - left - 2 * side) // (LOOSE * slab.width_mm)))
    along = max(1, int((top - bottom - 2 * side) // (LOOSE * slab.length_mm)))
    found = []
    for i in range(one.count):
        layer, rest = divmod(i, across * along)
        row, column = divmod(rest, across)
        x = (left + right) / 2 + (column - (across - 1) / 2) * LOOSE * slab.width_mm
        y = bottom + side + (row + 0.5) * LOOSE * slab.length_mm
        found.append(_lying(slab, one, x, y, z + layer * slab.thickness_mm))
    return found


# -- from above -----------------------------------------------------------------------------------


def _plan(
    hollow: Hollow, lying: Sequence[Lying], shift: Point, unit: LengthUnit, em: float
) -> list[Mark]:
    dx, dy = shift
    outline = hollow.outline.moved(dx, dy)
    left, bottom, right, top = outline.bounds
    marks = [drawn("room", outline)]
    marks += [drawn("thing", one.plan, shift) for one in sorted(lying, key=lambda o: o.z)]
    if hollow.mouth:
        y = hollow.mouth_y_mm + dy
        marks.append(polyline("mouth", ((left - em, y), (right + em, y)), "dim"))
        marks.append(said("mouth", "mouth", (right + 1.3 * em, y - 0.3 * em), em, 0.85, "start"))
    named = {one.name: one for one in reversed(lying)}
    marks += [_name(one, shift, em) for one in named.values()]
    x0, y0, x1, y1 = _around(lying)
    x0, y0, x1, y1 = x0 + dx, y0 + dy, x1 + dx, y1 + dy
    middle = (y0 + y1) / 2
    words, title = f"{hollow.name}, from above", _title(outline.bounds, em)
    return [
        *marks,
        *_level(outline, left, right, bottom - 2.4 * em, unit, em),
        *upright_size(
            "size", (left, bottom), (left, top), left - 2.4 * em, size_words(top - bottom, unit), em
        ),
        *_clear("size", (x1, middle), (right, middle), unit, em, upright=False),
        *_clear("size", ((x0 + x1) / 2, bottom), ((x0 + x1) / 2, y0), unit, em, upright=True),
        standing_for(hollow.name, said("words", words, title, em, 1.1, look="title")),
    ]


def _name(one: Lying, shift: Point, em: float) -> Mark:
    """Return a thing's name on it, along its length where it is too narrow."""
    left, bottom, right, top = one.plan.bounds
    fits = words_wide(one.name, em, SMALL) < right - left
    at = ((left + right) / 2 + shift[0], bottom + 0.66 * (top - bottom) + shift[1])
    if fits:
        name = said("words", one.name, at, em, SMALL)
    else:
        at = (at[0] + 0.3 * em, at[1])
        name = said("words", one.name, at, em, SMALL, "middle", math.pi / 2)
    return standing_for(one.name, name)


def _level(
    outline: Outline, left: float, right: float, level: float, unit: LengthUnit, em: float
) -> tuple[Mark, ...]:
    _, bottom, _, top = outline.bounds
    y = bottom + 0.2 * (top - bottom)
    return level_size("size", (left, y), (right, y), level, size_words(right - left, unit), em)


def _around(lying: Sequence[Lying]) -> tuple[float, float, float, float]:
    boxes = [one.plan.bounds for one in lying]
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )


def _clear(
    layer: str, a: Point, b: Point, unit: LengthUnit, em: float, *, upright: bool
) -> tuple[Mark, ...]:
    """Return the room between a thing and the hollow, where there is any."""
    room = b[1] - a[1] if upright else b[0] - a[0]
    if room < NONE_MM:
        return ()
    words = size_words(room, unit, 2)
    if upright:
        return upright_size(layer, a, b, a[0], words, em)
    return level_size(layer, a, b, a[1], words, em, beyond=True)


def _title(box: tuple[float, float, float, float], em: float) -> Point:
    return ((box[0] + box[2]) / 2, box[3] + 1.6 * em)


# -- in section -----------------------------------------------------------------------------------


def _section_box(hollow: Hollow) -> tuple[float, float, float, float]:
    left, _, right, _ = hollow.outline.bounds
    upper, lower = hollow.shells
    return (left, -lower.depth_mm, right, upper.depth_mm)


def _with_leather(hollow: Hollow, thick: float) -> tuple[float, float, float, float]:
    """Return the box of a section with its leather and what is shown of its flange."""
    left, low, right, high = _section_box(hollow)
    beside = _beside(hollow, thick)
    return (left - beside, low - thick, right + beside, high + thick)


def _beside(hollow: Hollow, thick: float) -> float:
    """Return how far the leather reaches beside a hollow: a flange, or its wall only."""
    return FLANGE_MM if hollow.mouth else thick


def _shell_of_leather(
    shell: Shell, left: float, right: float, up: float, thick: float, flange: float
) -> list[Point]:
    """Return the leather of one half in section: flat, or its wall with a flange at each foot."""
    if shell.depth_mm <= 0.0:
        x0, x1 = left - flange, right + flange
        return [(x0, 0.0), (x1, 0.0), (x1, up * thick), (x0, up * thick)]
    over = Shell(
        depth_mm=shell.depth_mm + thick,
        crown_radius_mm=shell.crown_radius_mm + thick,
        wall_angle=shell.wall_angle,
    )
    wall = _wall(over, left - thick, right + thick, up)
    if flange > thick:
        foot = [(left - flange, 0.0), (left - flange, up * thick), (left - thick, up * thick)]
        wall = [*foot, *wall[1:-1], *((left + right - x, z) for x, z in reversed(foot))]
    return [*wall, *reversed(_wall(shell, left, right, up))]


def _section(
    hollow: Hollow, thick: float, lying: Sequence[Lying], shift: Point, unit: LengthUnit, em: float
) -> list[Mark]:
    dx, dy = shift
    left, low, right, high = _section_box(hollow)
    upper, lower = hollow.shells
    wall = [*_wall(upper, left, right, 1.0), *reversed(_wall(lower, left, right, -1.0))]
    flange = _beside(hollow, thick)
    marks = [
        polyline("leather", [(x + dx, z + dy) for x, z in skin], "edged", closed=True)
        for skin in (
            _shell_of_leather(upper, left, right, 1.0, thick, flange),
            _shell_of_leather(lower, left, right, -1.0, thick, flange),
        )
        if not (hollow.is_open and skin[0][1] == skin[1][1])
    ]
    marks.append(polyline("room", [(x + dx, z + dy) for x, z in wall], closed=not hollow.is_open))
    marks += [
        polyline("thing", [(x + dx, z + dy) for x, z in _profile(one)], closed=True)
        for one in sorted(lying, key=lambda o: o.y)
    ]
    box = (left + dx, low + dy, right + dx, high + dy)
    x0, _, x1, _ = _around(lying)
    z0, z1 = min(o.z for o in lying), max(o.z + o.slab.thickness_mm for o in lying)
    x = (x0 + x1) / 2 + dx
    return [
        *marks,
        *upright_size(
            "size",
            (box[0], box[1]),
            (box[0], box[3]),
            box[0] - flange - 2.4 * em,
            size_words(high - low, unit),
            em,
        ),
        *_clear("size", (x, z1 + dy), (x, box[3]), unit, em, upright=True),
        *_clear("size", (x, box[1]), (x, z0 + dy), unit, em, upright=True),
        *level_size(
            "size",
            (x0 + dx, z0 + dy),
            (x1 + dx, z0 + dy),
            box[1] - thick - 2.2 * em,
            size_words(x1 - x0, unit),
            em,
        ),
        said("words", "across the width", (x, box[3] + thick + 3.0 * em), em, 1.1, look="title"),
    ]


def _wall(shell: Shell, left: float, right: float, up: float) -> list[Point]:
    """Return the inner surface of a half from its left foot over the crown to its right foot."""
    d, r = shell.depth_mm, min(shell.crown_radius_mm, shell.depth_mm)
    if d <= 0.0:
        return [(left, 0.0), (right, 0.0)]
    turned = [math.pi / 2 * k / STEPS for k in range(STEPS + 1)]
    heights = [0.0, *(d - r + r * math.sin(a) for a in turned)]
    side = [(shell.inset_at(h), up * h) for h in heights]
    return [*((left + i, h) for i, h in side), *((right - i, h) for i, h in reversed(side))]


def _profile(one: Lying) -> list[Point]:
    """Return the section of a thing across the width."""
    slab = one.slab
    half, t, e = (
        slab.width_mm / 2,
        slab.thickness_mm,
        min(slab.edge_radius_mm, slab.thickness_mm / 2),
    )
    turned = [math.pi / 2 * k / STEPS for k in range(STEPS + 1)] if e > 0 else [0.0]
    rise = [e * (1.0 - math.cos(a)) for a in turned]
    side = [(half - slab.inset_at(h), h) for h in rise]
    side += [(half - slab.inset_at(t - h), t - h) for h in reversed(rise)]
    right = [(one.x + x, one.z + h) for x, h in side]
    return [*right, *((2 * one.x - x, z) for x, z in reversed(right))]


def _alt(design: Design, carried: Sequence[Carried], unit: LengthUnit) -> str:
    things = ", ".join(f"{c.count}{BY}{c.thing.name}" for c in carried)
    rooms = "; ".join(
        f"{h.name} {size_words(h.outline.width, unit)}{BY}{size_words(h.outline.height, unit)}, "
        f"{size_words(h.depth_mm, unit)} deep"
        for h in design.hollows
    )
    return f"{things} to scale in {rooms}."

"""A hide as a picture: its edge, grades, flaws and backbone, and the pieces that lie on it."""

import math
from collections.abc import Sequence
from dataclasses import replace
from html import escape

from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import Cutting, Placement
from hidewright.design.hide import Corners, Hide
from hidewright.design.stock_hide import MM2_PER_M2
from hidewright.drawing.line_styles import number
from hidewright.geometry.segment import Point
from hidewright.workshop.views.svg_view import (
    USUAL,
    FlatView,
    Mark,
    clipped,
    leader,
    polyline,
    said,
    type_size,
    view_of,
)

LAYERS = (
    ("skin", "Hide", True),
    ("grade", "Grades", True),
    ("thick", "Thickness", True),
    ("rest", "What is left", True),
    ("piece", "Pieces", True),
    ("flaw", "Flaws", True),
    ("edge", "Edge", True),
    ("words", "Words", True),
)


def hide_view(hide: Hide) -> FlatView:
    """Return a picture of a hide with all that is known of it."""
    type_mm = _type(hide)
    alt = f"{hide.name}: {hide.area_mm2 / MM2_PER_M2:.2f} m2, {len(hide.flaws)} flaws"
    return view_of(_hide_marks(hide, type_mm), LAYERS, alt, type_mm)


def layout_view(layout: CutLayout, number: int, chosen: tuple[int, int] | None = None) -> FlatView:
    """Return a picture of one of a layout's hides with the pieces on it.

    Args:
        layout: Where they lie.
        number: Which hide.
        chosen: (piece, copy) of the one that is to stand out.
    """
    hide = layout.hides[number]
    type_mm = _type(hide)
    on_board = layout.question == "fewest sheets"
    marks = _hide_marks(replace(hide, thicknesses=()), type_mm, backbone=not on_board)
    for rest in layout.rests:
        if rest.of == number:
            marks += [polyline("rest", ring, closed=True) for ring in _rings(rest.hide)]
    there = [p for p in layout.placements if p.hide == number]
    for placement in there:
        piece = layout.pieces[placement.piece]
        key = (placement.piece, placement.copy)
        look = f"sort{placement.piece % 6}"
        look += " pinned" if key in layout.pinned else ""
        look += " chosen" if key == chosen else ""
        marks += _piece_marks(piece, placement, look, type_mm)
    alt = (
        f"{hide.name} with {len(there)} pieces of {len(layout.placements)}: {layout.title}; "
        f"{layout.yield_share:.0%} of what is taken is pieces"
    )
    return view_of(marks, LAYERS, alt, type_mm)


def thumb_svg(hide: Hide) -> str:
    """Return a small picture of a hide."""
    xs, ys = [x for x, _ in hide.outline], [-y for _, y in hide.outline]
    pad = 0.02 * (max(xs) - min(xs))
    frame = (min(xs) - pad, min(ys) - pad, max(xs) - min(xs) + 2 * pad, max(ys) - min(ys) + 2 * pad)
    flaws = "".join(f'<path class="shade" d="{_data(flaw.outline)}"/>' for flaw in hide.flaws)
    box = " ".join(number(v) for v in frame)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="thumb" viewBox="{box}" role="img" '
        f'aria-label="{escape(hide.name)}" preserveAspectRatio="xMidYMid meet">'
        f'<path class="skin" vector-effect="non-scaling-stroke" d="{_data(hide.outline)}"/>'
        f"{flaws}</svg>"
    )


def laid_rings(piece: Cutting, placement: Placement) -> tuple[Corners, ...]:
    """Return the outlines of a copy and its windows where it lies, mm."""
    angle = math.radians(placement.angle_deg)
    c, s = math.cos(angle), math.sin(angle)
    flip = -1.0 if placement.mirrored else 1.0

    def at(point: Point) -> Point:
        x, y = flip * point[0], point[1]
        return (c * x - s * y + placement.x_mm, s * x + c * y + placement.y_mm)

    return tuple(
        tuple(at(point) for point in ring) for ring in (piece.outline, *piece.others, *piece.holes)
    )


def _type(hide: Hide) -> float:
    xs, ys = [x for x, _ in hide.outline], [y for _, y in hide.outline]
    return type_size(max(xs) - min(xs), max(ys) - min(ys), USUAL)


def _rings(hide: Hide) -> tuple[Corners, ...]:
    return (hide.outline, *hide.holes)


def _data(ring: Corners) -> str:
    return "M" + "L".join(f"{number(x)} {number(-y)}" for x, y in ring) + "Z"


def _hide_marks(hide: Hide, type_mm: float, *, backbone: bool = True) -> list[Mark]:
    marks = [polyline("skin", hide.outline, closed=True)]
    marks += [polyline("edge", ring, closed=True) for ring in _rings(hide)]
    grades = [polyline("grade", a.outline, f"grade{a.grade}", closed=True) for a in hide.areas]
    if grades:
        svg = clipped("".join(mark.svg for mark in grades), _data(hide.outline))
        marks.append(replace(grades[0], svg=svg, box=marks[0].box))
    flaws: list[Mark] = []
    for flaw in hide.flaws:
        flaws.append(polyline("flaw", flaw.outline, f"severity{flaw.severity}", closed=True))
        left, top = min(x for x, _ in flaw.outline), max(y for _, y in flaw.outline)
        at = (left, top + 0.3 * type_mm)
        flaws.append(said("flaw", flaw.kind, at, type_mm, 0.8, "start", look="under"))
    for measured in hide.thicknesses:
        marks.append(_thickness(measured.thickness_mm, _middle(measured.outline), flaws, type_mm))
    marks += flaws
    return [*marks, *_backbone(hide, type_mm)] if backbone else marks


def _thickness(thickness_mm: float, middle: Point, flaws: Sequence[Mark], type_mm: float) -> Mark:
    """Return a thickness in words at the middle of its area, or next to it clear of flaws."""
    lines = sorted(range(-6, 7), key=abs)
    tried = [
        said("thick", f"{thickness_mm:g} mm", (middle[0], middle[1] + line * type_mm), type_mm)
        for line in lines
    ]
    clear = (one for one in tried if not any(_meet(one, flaw) for flaw in flaws))
    return next(clear, tried[0])


def _meet(one: Mark, two: Mark) -> bool:
    """Whether the boxes of two marks have room in common."""
    left, bottom, right, top = one.box
    return left < two.box[2] and two.box[0] < right and bottom < two.box[3] and two.box[1] < top


def _backbone(hide: Hide, type_mm: float) -> tuple[Mark, ...]:
    """Return an arrow under the hide along its backbone."""
    xs, ys = [x for x, _ in hide.outline], [y for _, y in hide.outline]
    long = 6.0 * type_mm
    angle = math.radians(hide.backbone_deg)
    x, y = min(xs), min(ys) - 2.0 * type_mm
    tip = (x + long * math.cos(angle), y + long * math.sin(angle))
    marks = leader("words", tip, (x, y), "", type_mm)
    words = said("words", "backbone", (tip[0] + 0.6 * type_mm, tip[1]), type_mm, 0.9, "start")
    return (*marks[:2], words)


def _middle(ring: Corners) -> Point:
    return (
        (min(x for x, _ in ring) + max(x for x, _ in ring)) / 2,
        (min(y for _, y in ring) + max(y for _, y in ring)) / 2,
    )


def _piece_marks(piece: Cutting, placement: Placement, look: str, type_mm: float) -> list[Mark]:
    rings = laid_rings(piece, placement)
    points = [point for ring in rings for point in ring]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    box = (min(xs), min(ys), max(xs), max(ys))
    name = f"{piece.name} {placement.copy + 1}"
    svg = (
        f'<path class="{look}" data-copy="{placement.piece},{placement.copy}" '
        f'vector-effect="non-scaling-stroke" d="{"".join(map(_data, rings))}">'
        f"<title>{escape(name)}</title></path>"
    )
    words = f"{chr(ord('a') + placement.piece % 26)}{placement.copy + 1}"
    small = min(box[2] - box[0], box[3] - box[1]) < 2.2 * type_mm
    size = 0.6 if small else 0.8
    middles = [_middle(ring) for ring in rings[: 1 + len(piece.others)]]
    labels = [said("piece", words, (x, y - 0.3 * type_mm), type_mm, size) for x, y in middles]
    return [Mark(layer="piece", svg=svg, box=box), *labels]

"""A layout at full size: for a projector or plotter, and on paper to be joined."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import Cutting, Placement
from hidewright.design.hide import Corners, Hide
from hidewright.drawing.arrow import double_arrow
from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text, union_bounds
from hidewright.drawing.layout_marks import WORDS, marks_of
from hidewright.geometry.free_place import Rings
from hidewright.geometry.outline import Outline, outline
from hidewright.geometry.segment import line

EDGE = Layer(name="edge of the hide", style="dash-dot", weight_mm=0.5)
CUT = Layer(name="cut", style="solid", weight_mm=0.35)
FLAW = Layer(name="flaw", style="dotted", weight_mm=0.3)
LIE = Layer(name="backbone direction", style="solid", weight_mm=0.2, sample="arrow")
#: Words at full size, and on a plan: from large to the least that can be read, mm.
TYPE_MM, PLAN_TYPE_MM = (6.0, 4.0, 3.0, 2.5), (2.5, 2.0, 1.5)
#: Room for a plan on paper, mm.
PLAN_MM = (174.0, 210.0)
#: How long the arrow along the backbone is, over the larger side of the hide.
ARROW_SHARE = 0.06


def letter_of(number: int) -> str:
    """Return the letter that stands for a piece on drawings and lists: a ... z, aa ..."""
    return (letter_of(number // 26 - 1) if number >= 26 else "") + chr(ord("a") + number % 26)


def mark_of(placement: Placement) -> str:
    """Return what is written on a copy, such as ``b3``."""
    return f"{letter_of(placement.piece)}{placement.copy + 1}"


def layout_drawings(layout: CutLayout) -> tuple[Drawing, ...]:
    """Return one drawing of each hide cut into, mm at full size, in the hide's own frame."""
    return tuple(_marked(one, TYPE_MM) for one in _unmarked(layout))


def plan_drawings(layout: CutLayout) -> tuple[Drawing, ...]:
    """Return a plan of each hide cut into, small enough for a page; its title tells the scale.

    A hide that is wider than high is turned by a quarter where it then comes out larger.
    """
    return tuple(_marked(_plan(one), PLAN_TYPE_MM) for one in _unmarked(layout))


def _plan(full: Drawing) -> Drawing:
    left, bottom, right, top = full.bounds
    wide, high = right - left, top - bottom
    upright = min(PLAN_MM[0] / wide, PLAN_MM[1] / high)
    lying = min(PLAN_MM[0] / high, PLAN_MM[1] / wide)
    turned = math.pi / 2 if lying > upright else 0.0
    # a round scale, so that a ruler can be laid on it
    times = math.ceil(1.0 / max(upright, lying))
    return Drawing(
        title=f"{full.title}, 1 to {times}",
        strokes=tuple(
            replace(stroke, curve=stroke.curve.scaled(1.0 / times).rotated(turned))
            for stroke in full.strokes
        ),
    )


def _marked(drawing: Drawing, heights_mm: Sequence[float]) -> Drawing:
    """Return a drawing with the mark of each piece, and the word for the arrow."""
    cut: dict[str, list[Outline]] = {}
    lines: list[Outline] = []
    arrow = [stroke.curve.bounds for stroke in drawing.strokes if stroke.layer == LIE]
    for stroke in drawing.strokes:
        if isinstance(stroke.curve, Outline):
            (cut.setdefault(stroke.part, []) if stroke.layer == CUT else lines).append(stroke.curve)
    pieces = [(mark, rings) for mark, some in cut.items() for rings in _parts(some)]
    texts, pointers = marks_of(pieces, lines, heights_mm)
    if arrow:
        _, bottom, right, top = union_bounds(arrow)
        high = heights_mm[-1]
        at = (right + high, (bottom + top - high) / 2)
        texts = (*texts, Text(words="backbone", at=at, height_mm=high, layer=WORDS))
    return replace(drawing, strokes=(*drawing.strokes, *pointers), texts=texts)


def _parts(outlines: Sequence[Outline]) -> Iterator[Rings]:
    """Yield what each part of a copy is cut by: its outer edge, then its windows."""
    for outer in outlines:
        others = [one for one in outlines if one is not outer]
        if not any(one.contains(outer.point_at(0.0)) for one in others):
            yield (outer, *(one for one in others if outer.contains(one.point_at(0.0))))


def outline_of(corners: Corners) -> Outline:
    """Return a polygon as an outline."""
    return outline(line(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))


def _shapes(piece: Cutting) -> tuple[Outline, ...]:
    """Return the outlines cut for a piece, windows first."""
    return tuple(map(outline_of, (*piece.holes, piece.outline, *piece.others)))


def _unmarked(layout: CutLayout) -> Iterator[Drawing]:
    shapes = [_shapes(piece) for piece in layout.pieces]
    names = [layout.hides[used].name for used in layout.used_hides]
    for number in layout.used_hides:
        hide = layout.hides[number]
        title = f"{hide.name} {number + 1}" if names.count(hide.name) > 1 else hide.name
        strokes = [
            Stroke(curve=outline_of(ring), layer=EDGE, part=hide.name)
            for ring in (hide.outline, *hide.holes)
        ]
        if layout.question != "fewest sheets":
            strokes += _backbone(hide, strokes[0].curve.bounds)
        strokes += [Stroke(curve=outline_of(flaw.outline), layer=FLAW) for flaw in hide.flaws]
        for placement in layout.placements:
            if placement.hide == number:
                strokes += [
                    Stroke(curve=laid_outline(shape, placement), layer=CUT, part=mark_of(placement))
                    for shape in shapes[placement.piece]
                ]
        yield Drawing(title=title, strokes=tuple(strokes))


def _backbone(hide: Hide, bounds: tuple[float, float, float, float]) -> list[Stroke]:
    """Return a double arrow along the backbone under the hide, at its left."""
    left, bottom, right, top = bounds
    long = ARROW_SHARE * max(right - left, top - bottom)
    angle = math.radians(hide.backbone_deg)
    x = left + long * abs(math.cos(angle)) / 2
    y = bottom - long * (0.2 + abs(math.sin(angle)) / 2)
    return double_arrow((x, y), long, angle - math.pi / 2, LIE)


def laid_outline(shape: Outline, placement: Placement) -> Outline:
    """Return an outline where a copy lies."""
    faced = shape.mirrored() if placement.mirrored else shape
    turned = faced.rotated(math.radians(placement.angle_deg))
    return turned.moved(placement.x_mm, placement.y_mm)

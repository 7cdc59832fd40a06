"""A layout at full size: for a projector or plotter, and on paper to be joined."""

import math
from dataclasses import replace

from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import Cutting, Placement
from hidewright.design.hide import Corners
from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text
from hidewright.geometry.outline import Outline, outline
from hidewright.geometry.segment import line, turn

EDGE = Layer(name="edge of the hide", style="dash-dot", weight_mm=0.5)
CUT = Layer(name="cut", style="solid", weight_mm=0.35)
FLAW = Layer(name="flaw", style="dotted", weight_mm=0.3)
WORDS = Layer(name="words", style="solid", weight_mm=0.2)
TYPE_MM = 6.0
#: Room for a plan on paper, mm, and its least type.
PLAN_MM, PLAN_TYPE_MM = (174.0, 210.0), 1.5


def letter_of(number: int) -> str:
    """Return the letter that stands for a piece on drawings and lists: a ... z, aa ..."""
    return (letter_of(number // 26 - 1) if number >= 26 else "") + chr(ord("a") + number % 26)


def mark_of(placement: Placement) -> str:
    """Return what is written on a copy, such as ``b3``."""
    return f"{letter_of(placement.piece)}{placement.copy + 1}"


def layout_drawings(layout: CutLayout) -> tuple[Drawing, ...]:
    """Return one drawing of each hide cut into, mm at full size, in the hide's own frame."""
    shapes = [_shapes(piece) for piece in layout.pieces]
    return tuple(_of_hide(layout, number, shapes) for number in layout.used_hides)


def plan_drawings(layout: CutLayout) -> tuple[Drawing, ...]:
    """Return a plan of each hide cut into, small enough for a page; its title tells the scale.

    A hide that is wider than high is turned by a quarter where it then comes out larger.
    """
    return tuple(map(_plan, layout_drawings(layout)))


def _plan(full: Drawing) -> Drawing:
    left, bottom, right, top = full.bounds
    wide, high = right - left, top - bottom
    upright = min(PLAN_MM[0] / wide, PLAN_MM[1] / high)
    lying = min(PLAN_MM[0] / high, PLAN_MM[1] / wide)
    turned = math.pi / 2 if lying > upright else 0.0
    # a round scale, so that a ruler can be laid on it
    times = math.ceil(1.0 / max(upright, lying))
    texts = []
    for text in full.texts:
        at = turn((text.at[0] / times, text.at[1] / times), turned)
        height = max(text.height_mm / times, PLAN_TYPE_MM)
        texts.append(replace(text, at=at, height_mm=height))
    return Drawing(
        title=f"{full.title}, 1 to {times}",
        strokes=tuple(
            replace(stroke, curve=stroke.curve.scaled(1.0 / times).rotated(turned))
            for stroke in full.strokes
        ),
        texts=tuple(texts),
    )


def outline_of(corners: Corners) -> Outline:
    """Return a polygon as an outline."""
    return outline(line(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))


def _shapes(piece: Cutting) -> tuple[Outline, ...]:
    """Return the outlines cut for a piece, windows first."""
    return tuple(map(outline_of, (*piece.holes, piece.outline, *piece.others)))


def _of_hide(layout: CutLayout, number: int, shapes: list[tuple[Outline, ...]]) -> Drawing:
    hide = layout.hides[number]
    strokes = [
        Stroke(curve=outline_of(ring), layer=EDGE, part=hide.name)
        for ring in (hide.outline, *hide.holes)
    ]
    strokes += [Stroke(curve=outline_of(flaw.outline), layer=FLAW) for flaw in hide.flaws]
    texts: list[Text] = []
    for placement in layout.placements:
        if placement.hide != number:
            continue
        mark = mark_of(placement)
        laid = [laid_outline(shape, placement) for shape in shapes[placement.piece]]
        strokes += [Stroke(curve=one, layer=CUT, part=mark) for one in laid]
        windows = len(layout.pieces[placement.piece].holes)
        texts += [_words(mark, one) for one in laid[windows:]]
    names = [layout.hides[used].name for used in layout.used_hides]
    title = f"{hide.name} {number + 1}" if names.count(hide.name) > 1 else hide.name
    return Drawing(title=title, strokes=tuple(strokes), texts=tuple(texts))


def laid_outline(shape: Outline, placement: Placement) -> Outline:
    """Return an outline where a copy lies."""
    faced = shape.mirrored() if placement.mirrored else shape
    turned = faced.rotated(math.radians(placement.angle_deg))
    return turned.moved(placement.x_mm, placement.y_mm)


def _words(mark: str, shape: Outline) -> Text:
    left, bottom, right, top = shape.bounds
    height = min(TYPE_MM, 0.5 * (right - left), 0.5 * (top - bottom))
    at = ((left + right) / 2, (bottom + top - height) / 2)
    return Text(words=mark, at=at, height_mm=height, anchor="middle", layer=WORDS)

"""How far the edge of a blank is drawn in when it is pressed, at full size."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.design.piece import Piece
from hidewright.design.states import formed_from_dry
from hidewright.drawing.drawing import Drawing, Stroke, Text
from hidewright.drawing.drawing import Layer as Line
from hidewright.forming.answers import pull_in
from hidewright.forming.on_blank import flat_blank
from hidewright.forming.solved import Pressed
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Floats, Point, line
from hidewright.tooling.pressed import put
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_maps import layer_name

#: Places round the edge at which the pull-in is told, besides the least and the most.
AROUND = 8
#: Heads of arrows are so long, mm.
HEAD_MM = 1.5
#: Height of capitals, from line to line, and from an arrow's end to its words, mm.
CAPITAL_MM, LINE_MM, BESIDE_MM = 2.5, 3.6, 1.5

FLAT = Line(name="flat blank, soaked", weight_mm=0.4)
PRESSED = Line(name="its edge as it lies pressed", style="dashed", weight_mm=0.3)
TRIMMED = Line(name="trimmed pieces, before they dry", style="dotted", weight_mm=0.3)
DRAWN_IN = Line(name="drawn in, mm", weight_mm=0.2, sample="arrow")


def pull_in_drawing(one: PressedBlank, layer: Layer, pieces: Sequence[Piece]) -> Drawing:
    """Return the flat blank, its edge as it lies pressed and the trimmed pieces, at full size.

    Arrows tell how far the edge is drawn in where it is least and most, and at places between.
    """
    strokes = [
        Stroke(curve=flat_blank(layer.sheet), layer=FLAT),
        Stroke(curve=one.edge, layer=PRESSED),
    ]
    by_name = {piece.name: piece for piece in pieces}
    for place in one.blank.places:
        piece = by_name[place.piece]
        formed = formed_from_dry(piece.outline, one.drying.flange(piece.name))
        strokes.append(Stroke(curve=put(formed, place), layer=TRIMMED))
    texts: list[Text] = []
    for one_place in pull_in_places(layer.sheet):
        strokes += arrow(one_place.start, one_place.end, DRAWN_IN)
        texts += _beside(one_place)
    name = layer_name(one, layer)
    return Drawing(title=f"{name}: pull-in", strokes=tuple(strokes), texts=tuple(texts))


@dataclass(frozen=True, slots=True, kw_only=True)
class PullIn:
    """How far the edge is drawn in at one place.

    Attributes:
        start: On the flat edge, mm.
        end: So far inward of it, at right angles to the edge.
        mm: How far; negative where the edge moves out.
        said: ``least``, ``most`` or nothing.
    """

    start: Point
    end: Point
    mm: float
    said: str = ""


def pull_in_places(sheet: Pressed) -> tuple[PullIn, ...]:
    """Return the pull-in at its least and most, and evenly round the edge where there is room."""
    flat, drawn = pull_in(sheet)
    along = np.roll(flat, -1, axis=0) - np.roll(flat, 1, axis=0)
    inward = np.column_stack([-along[:, 1], along[:, 0]])
    inward /= np.linalg.norm(inward, axis=1)[:, None]
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(flat, axis=0), axis=1))])
    even = [int(np.abs(length - k / AROUND * length[-1]).argmin()) for k in range(AROUND)]
    chosen: dict[int, str] = {int(drawn.argmax()): "most", int(drawn.argmin()): "least"}
    room = length[-1] / AROUND / 2.0
    for k in even:
        if all(_apart(length, k, i) > room for i in chosen):
            chosen[k] = ""
    return tuple(
        PullIn(
            start=_point(flat[i]),
            end=_point(flat[i] + drawn[i] * inward[i]),
            mm=float(drawn[i]),
            said=said,
        )
        for i, said in sorted(chosen.items())
    )


def _apart(length: Floats, i: int, j: int) -> float:
    """How far apart two points of a closed edge lie along it, mm, but for its last side."""
    away = abs(float(length[i] - length[j]))
    return min(away, float(length[-1]) - away)


def _beside(place: PullIn) -> Iterator[Text]:
    """Yield how far, in words, on the leather: inward of the flat edge and of the arrow."""
    away = math.dist(place.start, place.end) or 1.0
    sense = 1.0 if place.mm >= 0.0 else -1.0
    dx, dy = (sense * (e - s) / away for s, e in zip(place.start, place.end, strict=True))
    x, y = place.end if place.mm >= 0.0 else place.start
    lines = [f"{place.mm:.1f}", *([place.said] if place.said else [])]
    wide = 0.8 * CAPITAL_MM * max(map(len, lines))
    high = CAPITAL_MM + (len(lines) - 1) * LINE_MM
    off = BESIDE_MM + (abs(dx) * wide + abs(dy) * high) / 2.0
    first = y + off * dy + high / 2.0 - CAPITAL_MM
    for i, words in enumerate(lines):
        at = (x + off * dx, first - LINE_MM * i)
        yield Text(words=words, at=at, height_mm=CAPITAL_MM, anchor="middle", layer=DRAWN_IN)


def arrow(start: Point, end: Point, layer: Line) -> list[Stroke]:
    """Return a line with a head at its end; nothing where the two are one point."""
    away = math.dist(start, end)
    if away < 1e-6:
        return []
    head = min(HEAD_MM, 0.5 * away)
    back = math.atan2(start[1] - end[1], start[0] - end[0])
    barbs = [
        (end[0] + head * math.cos(back + lean), end[1] + head * math.sin(back + lean))
        for lean in (-0.35, 0.35)
    ]
    return [straight(start, end, layer), *(straight(end, barb, layer) for barb in barbs)]


def straight(start: Point, end: Point, layer: Line) -> Stroke:
    """Return a straight line on a layer."""
    return Stroke(curve=Path((line(start, end),)), layer=layer)


def _point(at: Floats) -> Point:
    return (float(at[0]), float(at[1]))

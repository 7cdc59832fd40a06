"""How far the edge of a blank is drawn in when it is pressed, at full size."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.piece import Piece
from hidewright.design.states import formed_from_dry
from hidewright.drawing.drawing import Drawing, Stroke, Text
from hidewright.drawing.drawing import Layer as Line
from hidewright.forming.answers import pull_in
from hidewright.forming.on_blank import flat_blank
from hidewright.forming.solve import Pressed
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Floats, Point, line
from hidewright.tooling.pressed import put
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_maps import layer_name

#: Places round the edge at which the pull-in is told, besides the least and the most.
AROUND = 8
#: Heads of arrows are so long, mm.
HEAD_MM = 1.5

FLAT = Line(name="flat blank, soaked", weight_mm=0.4)
PRESSED = Line(name="its edge as it lies pressed", style="dashed", weight_mm=0.3)
TRIMMED = Line(name="trimmed pieces, before they dry", style="dotted", weight_mm=0.3)
DRAWN_IN = Line(name="drawn in, mm", weight_mm=0.2)


def pull_in_drawing(
    one: PressedBlank, layer: Layer, leather: Leather, pieces: Sequence[Piece]
) -> Drawing:
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
        texts.append(_beside(one_place))
    name, flat = layer_name(one, layer), strokes[0].curve.bounds
    for i, words in enumerate(
        (
            f"{name}: {leather.name}, soaked",
            "arrows: how far the edge is drawn in, mm",
            "full line: flat; dashed: its edge pressed; dotted: trimmed pieces before they dry",
        )
    ):
        at = (flat[0], flat[1] - 9.0 - 4.5 * i)
        texts.append(Text(words=words, at=at, height_mm=2.2, layer=DRAWN_IN))
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


def _beside(place: PullIn) -> Text:
    """Return how far, in words, outside the flat edge."""
    (x, y), (u, v) = place.start, place.end
    far = math.hypot(u - x, v - y) or 1.0
    sense = 1.0 if place.mm >= 0.0 else -1.0
    dx, dy = sense * (x - u) / far, sense * (y - v) / far
    anchor: Literal["start", "middle", "end"] = (
        "start" if dx > 0.5 else "end" if dx < -0.5 else "middle"
    )
    words = f"{place.mm:.1f} {place.said}".strip()
    at = (x + 2.0 * dx, y + 2.0 * dy - 1.25 + 1.25 * dy)
    return Text(words=words, at=at, height_mm=2.5, anchor=anchor, layer=DRAWN_IN)


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

"""Pictures of the work on tools: what is cut from a board, where it is clamped, what is gauged."""

import math
from collections.abc import Sequence

from hidewright.design.part import Part
from hidewright.drawing.drawing import Layer, Stroke
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import circle
from hidewright.planning.steps_choice import CARD
from hidewright.workshop.tooling_chain import Moulding

PARTS = Layer(name="parts", style="solid", weight_mm=0.2)
PLAN = Layer(name="plates from above", style="solid", weight_mm=0.15)
UNDER = Layer(name="plug under the frame", style="dashed", weight_mm=0.15)
CLAMP = Layer(name="clamp here", style="solid", weight_mm=0.6)
GAUGE = Layer(name="measure here", style="solid", weight_mm=0.5)
#: Room between parts, mm.
BETWEEN_MM = 6.0
#: Width over height that parts are laid out to: that of the picture's place.
WIDE = 1.25


def cut_parts(parts: Sequence[Part], board: str) -> tuple[Stroke, ...]:
    """Return what is cut from one kind of board, side by side, each part as often as it is cut.

    Args:
        parts: All of the article's tools.
        board: Its name; ``CARD`` for card of every thickness.
    """
    wanted = [
        part
        for part in parts
        if (CARD if part.board.material == CARD else part.board.name) == board
        for _ in range(part.count)
    ]
    tallest = sorted(wanted, key=lambda part: (-part.outline.height, part.name))
    area = sum(_with_room(part.outline) for part in tallest)
    return tuple(_rows(tallest, math.sqrt(WIDE * area)))


def clamp_plan(moulding: Moulding) -> tuple[Stroke, ...]:
    """Return the closed mould from above, lying on its long side, a cross on each clamp's place."""
    parts = moulding.tool.parts
    frame = next(part for part in parts if part.role == "frame")
    stops = [part.outline for part in parts if part.role == "stop block"]
    turned = math.pi / 2 if frame.outline.height > frame.outline.width else 0.0
    strokes = [Stroke(curve=frame.outline.rotated(turned), layer=PLAN)]
    strokes += [Stroke(curve=zone.plug.rotated(turned), layer=UNDER) for zone in moulding.zones]
    strokes += [Stroke(curve=stop.rotated(turned), layer=PLAN) for stop in stops]
    for stop in stops or [frame.outline]:
        strokes += _cross(stop.rotated(turned))
    return tuple(strokes)


def five_points(outline: Outline) -> tuple[Stroke, ...]:
    """Return the leather that is cut out, and a ring at each of the five points gauged on it."""
    (left, bottom, right, top), size = outline.bounds, min(outline.width, outline.height)
    points = [(left + u * (right - left), bottom + v * (top - bottom)) for u, v in _FIVE]
    return (
        Stroke(curve=outline, layer=PLAN),
        *(Stroke(curve=circle(0.04 * size, point), layer=GAUGE) for point in points),
    )


_FIVE: tuple[Point, ...] = ((0.5, 0.5), (0.3, 0.25), (0.7, 0.25), (0.3, 0.75), (0.7, 0.75))


def _rows(parts: Sequence[Part], wide: float) -> list[Stroke]:
    """Return parts laid in rows no wider than so much, but for a part that is wider itself."""
    strokes: list[Stroke] = []
    x = y = high = 0.0
    for part in parts:
        if x and x + part.outline.width > wide:
            x, y, high = 0.0, y - high - BETWEEN_MM, 0.0
        left, _, _, top = part.outline.bounds
        curves = (part.outline, *(hole.outline for hole in part.holes))
        strokes += [Stroke(curve=c.moved(x - left, y - top), layer=PARTS) for c in curves]
        x += part.outline.width + BETWEEN_MM
        high = max(high, part.outline.height)
    return strokes


def _with_room(outline: Outline) -> float:
    return (outline.width + BETWEEN_MM) * (outline.height + BETWEEN_MM)


def _cross(outline: Outline) -> list[Stroke]:
    left, bottom, right, top = outline.bounds
    ends = (((left, bottom), (right, top)), ((left, top), (right, bottom)))
    return [Stroke(curve=Path((line(a, b),)), layer=CLAMP) for a, b in ends]

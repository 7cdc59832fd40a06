"""The mark of each piece on the drawing of a layout: in the piece, or beside it with a pointer."""

import math
from collections.abc import Sequence

from hidewright.drawing.drawing import LETTER_DROP, LETTER_WIDTH, Layer, Stroke, Text
from hidewright.geometry.free_place import (
    Box,
    Rings,
    free_places,
    nearest_free,
    place_within,
    widest,
)
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Floats, Point, line

WORDS = Layer(name="words", style="solid", weight_mm=0.2)
POINTER = Layer(name="pointer", style="solid", weight_mm=0.15)
#: Left free round words, over the height of a capital.
CLEAR = 0.2


def marks_of(
    pieces: Sequence[tuple[str, Rings]], lines: Sequence[Outline], heights_mm: Sequence[float]
) -> tuple[tuple[Text, ...], tuple[Stroke, ...]]:
    """Return the words that mark pieces, and a pointer to each that is too slim for them.

    Args:
        pieces: (mark, outer edge and windows) where they lie, mm.
        lines: What else is drawn there: edges and flaws.
        heights_mm: Of capitals, from large to the least that can be read. A piece that not even
            the least go into has its mark beside, where nothing is drawn.
    """
    texts = [_within(mark, rings, heights_mm) for mark, rings in pieces]
    boxes: list[Box] = [text.corners for text in texts if text is not None]
    height, areas = heights_mm[-1], [rings for _, rings in pieces]
    free: dict[int, Floats] = {}
    pointers: list[Stroke] = []
    for k, (mark, rings) in enumerate(pieces):
        if texts[k] is not None:
            continue
        box, to = _box(mark, height), widest(rings)
        if len(mark) not in free:
            free[len(mark)] = free_places(areas, lines, *box, CLEAR * height)
        at, begin = nearest_free(free[len(mark)], to, *box, CLEAR * height, boxes)
        texts[k] = text = _about(mark, at, height)
        boxes += [text.corners, (begin, to)]
        pointers.append(Stroke(curve=Path((line(begin, to),)), layer=POINTER, part=mark))
    return tuple(text for text in texts if text is not None), tuple(pointers)


def _within(mark: str, rings: Rings, heights_mm: Sequence[float]) -> Text | None:
    for height in heights_mm:
        place = place_within(rings, *_box(mark, height), CLEAR * height)
        if place is not None:
            return _about(mark, place[0], height, place[1])
    return None


def _box(words: str, height: float) -> tuple[float, float]:
    """Return width and height of the room for words, as far over their capitals as below."""
    return LETTER_WIDTH * height * len(words), (1.0 + 2 * LETTER_DROP) * height


def _about(words: str, middle: Point, height: float, angle: float = 0.0) -> Text:
    """Return words whose capitals stand about a point."""
    x, y = middle
    at = (x + math.sin(angle) * height / 2, y - math.cos(angle) * height / 2)
    return Text(words=words, at=at, height_mm=height, angle=angle, anchor="middle", layer=WORDS)

"""Things laid in rows so that they are seen as large as may be."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hidewright.geometry.segment import Point
from hidewright.workshop.views.svg_view import Box, Frame, type_size

#: Things keep their own heights in a row when that makes it at most this much higher.
HIGHER = 1.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One thing to lay out.

    Attributes:
        box: (left, bottom, right, top) in its own frame, mm.
        room: Kept free (left, below, right, above) of it, mm.
    """

    box: Box
    room: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)

    @property
    def whole(self) -> Box:
        """The box with the room round it."""
        (x0, y0, x1, y1), (left, below, right, above) = self.box, self.room
        return (x0 - left, y0 - below, x1 + right, y1 + above)


def laid_in_rows(
    cells: Sequence[Cell], between: float, frame: Frame
) -> tuple[tuple[Point, ...], Box]:
    """Return how far each thing is moved, and the box of all of them.

    They lie in their order, row under row, in as many rows as show them largest in the frame. In a
    row each keeps its height in its own drawing, so that mouths and folds stand level, unless that
    makes the row much higher; then they stand on one line.
    """
    n = len(cells)
    found = [_rows(cells, math.ceil(n / rows), between) for rows in range(1, n + 1)]
    return min(found, key=lambda f: type_size(f[1][2] - f[1][0], f[1][3] - f[1][1], frame))


def _rows(cells: Sequence[Cell], in_row: int, between: float) -> tuple[tuple[Point, ...], Box]:
    shifts: list[Point] = []
    top = widest = 0.0
    for i in range(0, len(cells), in_row):
        row = [c.whole for c in cells[i : i + in_row]]
        low, high = min(b[1] for b in row), max(b[3] for b in row)
        tallest = max(b[3] - b[1] for b in row)
        keep = high - low <= HIGHER * tallest
        high = high - low if keep else tallest
        x = 0.0
        for left, bottom, right, _ in row:
            shifts.append((x - left, top - high - (low if keep else bottom)))
            x += right - left + between
        widest = max(widest, x - between)
        top -= high + between
    return tuple(shifts), (0.0, top + between, widest, 0.0)


def laid_within(
    cells: Sequence[Cell], between: float, width: float
) -> tuple[tuple[Point, ...], float]:
    """Return how far each thing is moved to stand in rows of a width, and the lowest height.

    In a row they stand beside one another, those that follow under one that leaves room for them.
    """
    shifts: list[Point] = []
    foot = between  # of the row; the next one begins below it
    head = next_y = x = wide = 0.0
    for cell in cells:
        left, bottom, right, top = cell.whole
        w, h = right - left, top - bottom
        if not (shifts and w <= wide and next_y - h >= foot):
            x, next_y = x + wide + between, head
            if not shifts or x + w > width:
                x, next_y = 0.0, foot - between
                head = foot = next_y
            wide, foot = w, min(foot, next_y - h)
        shifts.append((x + (wide - w) / 2 - left, next_y - top))
        next_y -= h + between
    return tuple(shifts), foot if shifts else 0.0

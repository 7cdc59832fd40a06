"""Which sheets of paper a full-size drawing needs, and where each sheet lies on it."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Literal

import numpy as np
import numpy.typing as npt

from hidewright.drawing.drawing import Drawing
from hidewright.geometry.segment import Floats, Point

Paper = Literal["A4", "Letter"]
Box = tuple[float, float, float, float]
#: Width of words of a height, mm.
Wide = Callable[[str, float], float]
Flags = npt.NDArray[np.bool_]

#: Width and height of a sheet upright, mm: ISO 216; ANSI/ASME Y14.1 size A (8 1/2 by 11 in).
PAPERS_MM: dict[Paper, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}

#: Border that common printers cannot print on, mm. Common practice, no source.
EDGE_MM = 7.0
#: Strip left of the window for the upright bar, and under it for the level bar and the names, mm.
LEFT_STRIP_MM, BOTTOM_STRIP_MM = 10.0, 16.0
#: Neighbouring windows share a strip this wide, mm.
OVERLAP_MM = 10.0
#: A line counts as on a sheet when it stays this far inside the window, mm.
INSIDE_MM = 1.0
#: Half the width of a join mark, mm; it fits the shared strip.
MARK_MM = 4.0
#: Where the crosses along a side stand, as shares of it.
CROSSES_AT = (0.2, 0.8)

#: Lines are looked at in pieces no longer than this, mm: less than the overlap less twice INSIDE_MM
#: so that each piece lies wholly in one window at least.
_PIECE_MM = 4.0
_SHIFTS = (0.5, 0.25, 0.75, 0.0, 1.0)
#: Shifts of the grid across and up, the drawing nearest to the middle first.
_SHIFTED = sorted(product(_SHIFTS, _SHIFTS), key=lambda both: sum(map(_SHIFTS.index, both)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The part of a drawing that one sheet shows.

    Attributes:
        name: Row letter from the top and column number from the left, such as ``B2``.
        box: (left, bottom, right, top) in the drawing, mm.
    """

    name: str
    box: Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiling:
    """The sheets of one drawing.

    Attributes:
        page_mm: Width and height of each sheet as it is turned, mm.
        windows: One per sheet, row by row from the top.
        marks: Where join marks go, in the drawing, mm. Each lies in two windows at least.
    """

    page_mm: tuple[float, float]
    windows: tuple[Window, ...]
    marks: tuple[Point, ...]

    @property
    def landscape(self) -> bool:
        """Whether the sheets lie on their long side."""
        return self.page_mm[0] > self.page_mm[1]


def tile(drawing: Drawing, paper: Paper, wide: Wide | None = None) -> Tiling:
    """Return the fewest sheets of paper that show every line and word of a drawing at full size.

    Sheets upright and on their side are tried, with five shifts of the grid each way; sheets that
    add nothing are left out. Among equals, the one with the fewest words cut by the edge of a
    sheet wins, then with the fewest lines, then upright before lying, then the drawing in the
    middle.

    Args:
        drawing: At full size.
        paper: Its size.
        wide: How wide words are as printed, mm; None for an estimate that is never too small.
    """
    lines = Lines(drawing, wide)
    width, height = PAPERS_MM[paper]
    best: tuple[tuple[int, int, int], Tiling] | None = None
    known: dict[bytes, tuple[list[int], tuple[int, int]]] = {}

    @cache
    def along(axis: int, shift: float, size: float) -> tuple[list[float], Flags]:
        lows = _grid(lines.box[axis], lines.box[axis + 2], size, shift)
        return lows, lines.between(axis, lows, size)

    for page, (across, up) in product(((width, height), (height, width)), _SHIFTED):
        window = window_size(page)
        lefts, columns = along(0, across, window[0])
        bottoms, rows = along(1, up, window[1])
        shown = _both(columns, rows)
        seen = shown.tobytes()
        if seen not in known:
            kept = needed(shown)
            known[seen] = kept, lines.count_cut(shown[kept])
        kept, cut = known[seen]
        key = (len(kept), *cut)
        if best is None or key < best[0]:
            all_windows = _windows(lefts, bottoms, window)
            windows = [all_windows[k] for k in kept]
            marks = _marks(lefts, bottoms, window, windows)
            best = (key, Tiling(page_mm=page, windows=tuple(windows), marks=marks))
        if key == (1, 0, 0):
            break
    assert best is not None
    return best[1]


def may_turn(size_mm: tuple[float, float], paper: Paper) -> bool:
    """Whether a drawing may take fewer sheets when it is turned by a quarter.

    Where not, sheets that lie show as much of it as sheets that stand show of the turned one: their
    windows differ by what their strips do, and that is not enough for one row or column less.
    """
    frame, strips = 2 * EDGE_MM, (LEFT_STRIP_MM, BOTTOM_STRIP_MM)
    return any(
        len({len(_grid(0.0, side, edge - frame - strip, 0.0)) for strip in strips}) > 1
        for side, edge in product(size_mm, PAPERS_MM[paper])
    )


def free_place(
    drawing: Drawing, tiling: Tiling, size_mm: tuple[float, float], clear_mm: float = 2.0
) -> Point | None:
    """Return the lower left corner of a box that lies on one sheet alone, clear of all lines.

    The first sheet with room is taken, from its top left on, outside the strips that it shares. It
    lies within the bounds of the drawing, so that the drawing's sheets stay as they are.

    Args:
        drawing: At full size.
        tiling: Its sheets.
        size_mm: Width and height of the box.
        clear_mm: Least distance from lines and words.

    Returns:
        None when no sheet has so much room.
    """
    lines, (wide, high) = Lines(drawing, None), size_mm
    shared = clear_mm + (OVERLAP_MM if len(tiling.windows) > 1 else 0.0)
    for window in tiling.windows:
        left, bottom = (max(lines.box[i], window.box[i] + shared) for i in (0, 1))
        right, top = (min(lines.box[i], window.box[i] - shared) for i in (2, 3))
        for y in np.arange(top - high, bottom, -_PIECE_MM).tolist():
            for x in np.arange(left, right - wide, _PIECE_MM).tolist():
                box = (x - clear_mm, y - clear_mm, x + wide + clear_mm, y + high + clear_mm)
                if lines.is_clear(box):
                    return (x, y)
    return None


def window_size(page_mm: tuple[float, float]) -> tuple[float, float]:
    """Return width and height of the drawing's window on a page, mm."""
    return (
        page_mm[0] - 2 * EDGE_MM - LEFT_STRIP_MM,
        page_mm[1] - 2 * EDGE_MM - BOTTOM_STRIP_MM,
    )


class Lines:
    """All lines and words of a drawing as short straight pieces, within 0.01 mm."""

    def __init__(self, drawing: Drawing, wide: Wide | None) -> None:
        runs = [s.curve.flat_points(0.01) for s in drawing.strokes]
        for text in drawing.texts:
            corners = text.corners_of(wide(text.words, text.height_mm)) if wide else text.corners
            runs.append(np.array([*corners, corners[0]]))
        begin, end, self._firsts = _short_pieces(runs)
        self._strokes = len(drawing.strokes)
        self._low, self._high = np.minimum(begin, end), np.maximum(begin, end)
        left, bottom = self._low.min(axis=0).tolist()
        right, top = self._high.max(axis=0).tolist()
        self.box: Box = (left, bottom, right, top)

    def between(self, axis: int, lows: Sequence[float], size: float) -> Flags:
        """Return (windows, pieces): whether the piece is whole and well inside, along one axis."""
        begin = np.array(lows)[:, None]
        inside: Flags = (self._low[:, axis] >= begin + INSIDE_MM - 1e-9) & (
            self._high[:, axis] <= begin + size - INSIDE_MM + 1e-9
        )
        return inside

    def count_cut(self, shown: Flags) -> tuple[int, int]:
        """Return how many words, and how many lines, lie whole on no sheet."""
        by_box = np.logical_and.reduceat(shown, self._firsts, axis=1)
        whole: Flags = np.asarray(np.any(by_box, axis=0))
        return int(np.sum(~whole[self._strokes :])), int(np.sum(~whole[: self._strokes]))

    def is_clear(self, box: Box) -> bool:
        """Whether no line and no word comes into a box; judged by boxes round pieces of 4 mm."""
        apart = np.any((self._high <= box[:2]) | (self._low >= box[2:]), axis=1)
        return bool(apart.all())


def _both(columns: Flags, rows: Flags) -> Flags:
    """Return (windows, pieces): whether the piece is in a window, row by row from the top."""
    both = rows[::-1, None, :] & columns[None]
    return both.reshape(-1, both.shape[2])


def needed(shown: Flags) -> list[int]:
    """Return which windows to keep: leave out, the emptiest first, what others show as well."""
    times = shown.sum(axis=0)
    kept = set(range(len(shown)))
    for k in np.argsort(shown.sum(axis=1), kind="stable").tolist():
        if np.all(times[shown[k]] > 1):
            times = times - shown[k]
            kept.discard(k)
    return sorted(kept)


def _short_pieces(runs: Sequence[Floats]) -> tuple[Floats, Floats, npt.NDArray[np.intp]]:
    """Return (n, 2) starts and ends of pieces of at most 4 mm along polylines, and each's first."""
    points = np.concatenate(runs)
    corners = np.cumsum([len(run) for run in runs])
    along = np.ones(len(points), dtype=bool)
    along[corners - 1] = False  # nothing leads from one polyline to the next
    starts, steps = points[along], np.diff(points, axis=0, append=points[-1:])[along]
    counts = np.maximum(np.ceil(np.hypot(*steps.T) / _PIECE_MM), 1).astype(int)
    pieces = np.cumsum(counts)
    which = np.repeat(np.arange(len(counts)), counts)
    order = np.arange(len(which)) - (pieces - counts)[which]
    part = (steps / counts[:, None])[which]
    begin = starts[which] + part * order[:, None]
    # a polyline of k corners has k - 1 steps
    firsts = np.array([0, *(corners - np.arange(1, len(corners) + 1))[:-1]])
    return begin, begin + part, (pieces - counts)[firsts]


def _grid(low: float, high: float, window: float, shift: float) -> list[float]:
    """Return the lower ends of as few windows as cover a stretch, for a shift of the grid."""
    step = window - OVERLAP_MM
    size = high - low + 2 * INSIDE_MM
    n = max(1, math.ceil((size - OVERLAP_MM) / step - 1e-9))
    spare = n * step + OVERLAP_MM - size
    begin = low - INSIDE_MM - shift * spare
    return [begin + i * step for i in range(n)]


def _windows(
    lefts: Sequence[float], bottoms: Sequence[float], size: tuple[float, float]
) -> list[Window]:
    names = product(enumerate(reversed(bottoms)), enumerate(lefts, start=1))
    return [
        Window(name=f"{_letters(row)}{column}", box=(x, y, x + size[0], y + size[1]))
        for (row, y), (column, x) in names
    ]


def _letters(row: int) -> str:
    """Return A ... Z, AA, AB ... for 0, 1, 2 ..."""
    return (_letters(row // 26 - 1) if row >= 26 else "") + chr(ord("A") + row % 26)


def _marks(
    lefts: Sequence[float],
    bottoms: Sequence[float],
    size: tuple[float, float],
    kept: Sequence[Window],
) -> tuple[Point, ...]:
    """Return crosses in the middle of shared strips: two along each side and one at each corner."""
    middle = OVERLAP_MM / 2
    across, up = [x + middle for x in lefts[1:]], [y + middle for y in bottoms[1:]]
    beside = [y + f * size[1] for y in bottoms for f in CROSSES_AT]
    above = [x + f * size[0] for x in lefts for f in CROSSES_AT]
    points = [*product(across, [*beside, *up]), *product(above, up)]
    boxes = [w.box for w in kept]
    return tuple(p for p in points if sum(holds(box, p) for box in boxes) >= 2)


def holds(box: Box, mark: Point) -> bool:
    """Whether the whole of a join mark lies in a window."""
    (x, y), m = mark, MARK_MM
    return box[0] + m <= x <= box[2] - m and box[1] + m <= y <= box[3] - m

"""Full-size paper patterns as PDF: an overview first, then the sheets to print, join and cut."""

import math
from collections.abc import Iterator, Sequence

from hidewright.drawing.drawing import Drawing, Layer, Text, union_bounds
from hidewright.drawing.paper_text import paragraph, width_of
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import (
    BOTTOM_STRIP_MM,
    CROSSES_AT,
    EDGE_MM,
    LEFT_STRIP_MM,
    MARK_MM,
    PAPERS_MM,
    Box,
    Lines,
    Paper,
    Tiling,
    Window,
    holds,
    tile,
    window_size,
)
from hidewright.errors import RequestError
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import circle
from hidewright.units.written import METRIC, ScaleBar, Written

_GREY = 0.45
#: Height of capitals that tell which sheet joins, mm.
JOINS_MM = 2.0
_ADVICE = (
    "Print at 100 % (actual size), never “fit to page”, on one side of the paper.",
    "On the first sheet measure both bars: each must be {bar} long, within {within}.",
    "Lay the crosses of neighbouring sheets on one another, tape, then cut.",
)
_CELLS_PER_PAGE = 6
_LEGEND_LINE_MM = 5.0


def to_pdf(drawing: Drawing, paper: Paper) -> bytes:
    """Return one drawing as a full-size pattern over as few sheets of paper as will do."""
    return patterns_to_pdf([drawing], paper, drawing.title)


def patterns_to_pdf(
    drawings: Sequence[Drawing],
    paper: Paper,
    title: str,
    written: Written = METRIC,
    subject: str = "full-size paper patterns",
    note: str = "",
) -> bytes:
    """Return several drawings as full-size patterns in one file.

    An overview of all of them comes first: each with its sheets, what the line styles mean and how
    to print; then the sheets of each in turn. Every sheet has a bar each way, its name, and crosses
    that lie at the same place of the drawing on the sheets that meet there. Equal input, equal
    bytes.

    Args:
        drawings: At full size.
        paper: To print on.
        title: Of the whole.
        written: How measures are written.
        subject: What it is, for readers of PDF.
        note: What is said on the overview besides how to print.

    Raises:
        RequestError: When the paper is not known or there is no drawing.
    """
    if paper not in PAPERS_MM:
        raise RequestError(f"paper {paper!r}", mend=f"Choose {' or '.join(PAPERS_MM)}")
    if not drawings:
        raise RequestError("a pattern without a drawing")
    book = Book(title, subject)
    patterns = [(drawing, tile(drawing, paper, width_of)) for drawing in drawings]
    for first in range(0, len(patterns), _CELLS_PER_PAGE):
        with book.page(PAPERS_MM[paper]) as page:
            some = patterns[first : first + _CELLS_PER_PAGE]
            _draw_overview(page, title, some, drawings, written, note)
    for drawing, tiling in patterns:
        lines = Lines(drawing, width_of) if len(tiling.windows) > 1 else None
        for nth, window in enumerate(tiling.windows, start=1):
            with book.page(tiling.page_mm) as page:
                _draw_sheet(page, drawing, lines, tiling, window, nth, written.bar)
    return book.to_bytes()


def _draw_sheet(
    page: Page,
    drawing: Drawing,
    lines: Lines | None,
    tiling: Tiling,
    window: Window,
    nth: int,
    bar: ScaleBar,
) -> None:
    left, bottom = EDGE_MM + LEFT_STRIP_MM, EDGE_MM + BOTTOM_STRIP_MM
    shift = (left - window.box[0], bottom - window.box[1])
    width, height = window_size(tiling.page_mm)
    frame = (left, bottom, left + width, bottom + height)
    with page.clipped(frame):
        for stroke in drawing.strokes:
            if _meets(stroke.curve.bounds, window.box):
                page.pen(stroke.layer.weight_mm, stroke.layer.style)
                page.curve(stroke.curve, shift)
        for text in drawing.texts:
            if _is_shown(text, tiling, window):
                page.text(text, shift)
        page.pen(0.15)
        for x, y in tiling.marks:
            if holds(window.box, (x, y)):
                _draw_cross(page, (x + shift[0], y + shift[1]))
        if lines is not None:
            _name_neighbours(page, lines, tiling, window, shift)
    page.pen(0.1, grey=_GREY)
    page.box(frame)
    _draw_bars(page, (left, bottom), bar)
    beside = left + bar.length_mm + 6.0
    _name_sheet(page, drawing, window, f"sheet {nth} of {len(tiling.windows)}", beside)


def _is_shown(text: Text, tiling: Tiling, window: Window) -> bool:
    """Whether words go on a sheet: on those that show them whole, on all where none does."""
    xs, ys = zip(*text.corners_of(width_of(text.words, text.height_mm)), strict=True)
    box = (min(xs), min(ys), max(xs), max(ys))
    whole = [one for one in tiling.windows if _within(box, one.box)]
    return window in whole if whole else _meets(box, window.box)


def _within(one: Box, two: Box) -> bool:
    return one[0] >= two[0] and one[1] >= two[1] and one[2] <= two[2] and one[3] <= two[3]


def _draw_cross(page: Page, at: Point) -> None:
    x, y = at
    page.line((x - MARK_MM, y), (x + MARK_MM, y))
    page.line((x, y - MARK_MM), (x, y + MARK_MM))


def _draw_bars(page: Page, corner: Point, bar: ScaleBar) -> None:
    """Draw a bar along the foot and one up the side."""
    left, bottom = corner
    y, x = bottom - 8.0, left - 4.0
    page.pen(0.2)
    page.line((left, y), (left + bar.length_mm, y))
    page.line((x, bottom), (x, bottom + bar.length_mm))
    for mark in range(bar.parts + 1):
        along, tick = mark * bar.length_mm / bar.parts, 4.0 if mark % bar.parts == 0 else 2.0
        page.line((left + along, y), (left + along, y + tick))
        page.line((x, bottom + along), (x + tick / 1.5, bottom + along))
    middle = bar.length_mm / 2
    page.words(bar.words, (left + middle, y - 4.0), capital_mm=2.2, anchor="middle")
    up = (x - 1.8, bottom + middle)
    page.words(bar.words, up, capital_mm=2.2, anchor="middle", angle=math.pi / 2)


def _name_sheet(page: Page, drawing: Drawing, window: Window, count: str, start: float) -> None:
    right = page.size_mm[0] - EDGE_MM
    room = right - start - 24.0
    page.words(window.name, (right, EDGE_MM + 4.0), capital_mm=7.0, anchor="end")
    page.words(drawing.title, (start, EDGE_MM + 8.5), capital_mm=3.0, room_mm=room)
    advice = f"{count} · print at 100 %"
    page.words(advice, (start, EDGE_MM + 3.5), capital_mm=2.2, room_mm=room)


def _name_neighbours(
    page: Page, lines: Lines, tiling: Tiling, window: Window, shift: Point
) -> None:
    """Write in each shared strip which sheet it is shared with, clear of lines where it can be."""
    left, bottom, right, top = window.box
    for other in tiling.windows:
        dx, dy = other.box[0] - left, other.box[1] - bottom
        words = f"joins {other.name}"
        half = width_of(words, JOINS_MM) / 2
        if abs(dy) < 1 and 0 < abs(dx) < right - left:
            foot, angle = (right - 1.5 if dx > 0 else left + 3.5), math.pi / 2
            places = [(foot, up) for up in _along(bottom, top, half)]
            boxes = [(foot - JOINS_MM, y - half, foot, y + half) for _, y in places]
        elif abs(dx) < 1 and 0 < abs(dy) < top - bottom:
            foot, angle = (top - 3.5 if dy > 0 else bottom + 1.5), 0.0
            places = [(across, foot) for across in _along(left, right, half)]
            boxes = [(x - half, foot, x + half, foot + JOINS_MM) for x, _ in places]
        else:
            continue
        clear = (at for at, box in zip(places, boxes, strict=True) if lines.is_clear(box))
        x, y = next(clear, places[0])
        at = (x + shift[0], y + shift[1])
        page.words(words, at, capital_mm=JOINS_MM, anchor="middle", angle=angle, grey=_GREY)


def _along(low: float, high: float, half: float) -> Iterator[float]:
    """Yield where words may stand in a strip, clear of the crosses at its ends and on it."""
    long = high - low
    crosses = [low + share * long for share in CROSSES_AT]
    for i in range(int((long - 28.0) / 2.0)):
        at = low + 14.0 + 2.0 * i
        if min(abs(at - cross) for cross in crosses) > half + MARK_MM:
            yield at


def _draw_overview(
    page: Page,
    title: str,
    patterns: Sequence[tuple[Drawing, Tiling]],
    drawings: Sequence[Drawing],
    written: Written,
    note: str,
) -> None:
    width, height = page.size_mm
    left, right, top = 15.0, width - 15.0, height - 15.0
    page.words(title, (left, top - 6.0), capital_mm=5.5, room_mm=right - left)
    y = top - 15.0
    for advice in _ADVICE:
        told = advice.format(bar=written.bar.words, within=written.bar.within)
        page.words(told, (left, y), capital_mm=2.5, room_mm=right - left)
        y -= 5.5
    if note:
        y = paragraph(note, right - left, 2.5).draw(page, left, y + 2.5) - 3.0
    foot = _draw_legend(page, drawings, left, right)
    columns = 1 if len(patterns) == 1 else 2
    rows = math.ceil(len(patterns) / columns)
    wide, high = (right - left) / columns, (y - foot) / rows
    for i, (drawing, tiling) in enumerate(patterns):
        x0, y1 = left + i % columns * wide, y - i // columns * high
        cell = (x0 + 2.0, y1 - high + 2.0, x0 + wide - 2.0, y1 - 2.0)
        _draw_cell(page, drawing, tiling, cell, written)


def _draw_cell(page: Page, drawing: Drawing, tiling: Tiling, cell: Box, written: Written) -> None:
    """Draw one pattern small, with its sheets over it, under its name and size."""
    left, bottom, right, top = cell
    low_x, low_y, high_x, high_y = union_bounds(w.box for w in tiling.windows)
    page.words(drawing.title, (left, top - 4.0), capital_mm=3.0, room_mm=right - left)
    x0, y0, x1, y1 = union_bounds(s.curve.bounds for s in drawing.strokes)
    names = ", ".join(w.name for w in tiling.windows)
    n = len(tiling.windows)
    count = f"{n} sheet{'s' if n > 1 else ''} {'lying' if tiling.landscape else 'upright'}"
    size = f"{written.size((x1 - x0, y1 - y0), 0)}, {count}: {names}"
    page.words(size, (left, top - 9.0), capital_mm=2.2, room_mm=right - left)
    room = (right - left, top - 12.0 - bottom)
    scale = min(room[0] / (high_x - low_x), room[1] / (high_y - low_y), 1.0)
    shift = (
        (left + right) / 2 - scale * (low_x + high_x) / 2,
        bottom + room[1] / 2 - scale * (low_y + high_y) / 2,
    )
    for window in tiling.windows:
        x0, x1 = (window.box[i] * scale + shift[0] for i in (0, 2))
        y0, y1 = (window.box[i] * scale + shift[1] for i in (1, 3))
        page.pen(0.1, "dashed", grey=_GREY)
        page.box((x0, y0, x1, y1))
        middle = ((x0 + x1) / 2, (y0 + y1) / 2)
        page.words(window.name, middle, capital_mm=4.0, anchor="middle", grey=_GREY)
    for stroke in drawing.strokes:
        page.pen(min(stroke.layer.weight_mm, 0.2))
        page.curve(stroke.curve, shift, scale)


def _draw_legend(page: Page, drawings: Sequence[Drawing], left: float, right: float) -> float:
    """Show what each line style means, in two columns at the foot; return where it ends above."""
    layers: dict[str, Layer] = {}
    for drawing in drawings:
        for stroke in drawing.strokes:
            layers.setdefault(stroke.layer.name, stroke.layer)
    rows = math.ceil(len(layers) / 2)
    top = 12.0 + rows * _LEGEND_LINE_MM
    wide = (right - left) / 2
    for i, layer in enumerate(layers.values()):
        x, y = left + i // rows * wide, top - (i % rows + 1) * _LEGEND_LINE_MM
        page.pen(layer.weight_mm, layer.style)
        _draw_sample(page, layer, (x, y))
        page.words(layer.name, (x + 25.0, y - 1.1), capital_mm=2.2, room_mm=wide - 27.0)
    return top + 3.0


def _draw_sample(page: Page, layer: Layer, at: Point) -> None:
    """Draw what a layer looks like, beginning at a point and 22 mm wide at most."""
    x, y = at
    if layer.sample in ("ring", "small ring"):
        page.curve(circle(1.5 if layer.sample == "ring" else 0.5, (x + 11.0, y)))
    elif layer.sample == "tick":
        page.line((x + 11.0, y - 2.0), (x + 11.0, y + 2.0))
    else:
        page.line((x, y), (x + 22.0, y))
    if layer.sample == "arrow":
        for tip, back in ((x, x + 2.5), (x + 22.0, x + 19.5)):
            page.line((tip, y), (back, y + 1.0))
            page.line((tip, y), (back, y - 1.0))


def _meets(one: Box, two: Box) -> bool:
    margin = 1.0  # half of any line's width
    return (
        one[0] - margin < two[2]
        and two[0] < one[2] + margin
        and one[1] - margin < two[3]
        and two[1] < one[3] + margin
    )

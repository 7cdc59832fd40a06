"""The sheet that goes with a test piece: how to do it, what to read, where to type it in."""

from collections.abc import Sequence
from dataclasses import dataclass

from hidewright.drawing.build_sheet import SIDE_MM, TOP_MM, paper_size
from hidewright.drawing.drawing import Drawing, union_bounds
from hidewright.drawing.paper_text import paragraph
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import Paper

#: Room for the picture, mm: width, height.
PICTURE_MM = (180.0, 60.0)
_TITLE, _WORDS, _SMALL, _PAD_MM = 3.2, 2.3, 1.6, 1.5
_GREY = 0.55
_COLUMNS = (("read", 0.32), ("type it in as", 0.24), ("compared with", 0.17), ("found", 0.27))


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetReading:
    """One thing to read.

    Attributes:
        what: On which spot, with what.
        into: The kind of reading that it is typed in as.
        of: What it is compared with; empty for nothing.
        each: It is read at each of these, such as depths; once without any.
    """

    what: str
    into: str
    of: str = ""
    each: tuple[str, ...] = ()


def bench_sheet_pdf(
    title: str,
    subject: str,
    drawings: Sequence[Drawing],
    how: Sequence[str],
    readings: Sequence[SheetReading],
    cautions: Sequence[str],
    paper: Paper,
) -> bytes:
    """Return the sheet of one test piece on one page. Equal input, equal bytes.

    Args:
        title: Of the piece.
        subject: The board or leather it is for.
        drawings: Shown small, side by side.
        how: What to do, a sentence each.
        readings: What to read.
        cautions: A sentence each.
        paper: Its size.
    """
    size = paper_size(paper)
    book = Book(f"Test piece: {title}")
    width = size[0] - 2 * SIDE_MM
    with book.page(size) as page:
        top = size[1] - TOP_MM
        words = f"Test piece: {title}, {subject}"
        page.words(words, (SIDE_MM, top - _TITLE), capital_mm=_TITLE, room_mm=width)
        top -= _TITLE + 8.0
        top = _pictures(page, drawings, (SIDE_MM, top), width)
        for number, words in enumerate(how, start=1):
            page.words(f"{number}", (SIDE_MM, top - _WORDS), capital_mm=_WORDS)
            top = paragraph(words, width - 8.0, _WORDS).draw(page, SIDE_MM + 8.0, top) - 1.2
        top = _table(page, readings, top - 2.0, width)
        for words in cautions:
            top = paragraph(f"Caution: {words}", width, _WORDS).draw(page, SIDE_MM, top - 2.0)
        note = (
            "Type each reading in on the page Book. A reading that does not fit is questioned and "
            "left out until you keep it; one that was a slip can be withdrawn."
        )
        paragraph(note, width, _WORDS).draw(page, SIDE_MM, top - 3.0)
    return book.to_bytes()


def _pictures(
    page: Page, drawings: Sequence[Drawing], corner: tuple[float, float], width: float
) -> float:
    room = width / len(drawings)
    left, top = corner
    high = 0.0
    for k, drawing in enumerate(drawings):
        x0, y0, x1, y1 = union_bounds(stroke.curve.bounds for stroke in drawing.strokes)
        scale = min(1.0, (room - 6.0) / (x1 - x0), PICTURE_MM[1] / (y1 - y0))
        shift = (left + k * room - scale * x0, top - scale * y1)
        page.pen(0.2)
        for stroke in drawing.strokes:
            page.curve(stroke.curve, shift, scale)
        for text in drawing.texts:
            at = (shift[0] + scale * text.at[0], shift[1] + scale * text.at[1])
            page.words(
                text.words,
                at,
                capital_mm=scale * text.height_mm,
                anchor=text.anchor,
                angle=text.angle,
            )
        high = max(high, scale * (y1 - y0))
    return top - high - 5.0


def _table(page: Page, readings: Sequence[SheetReading], top: float, width: float) -> float:
    rows = [tuple(name for name, _ in _COLUMNS)]
    rows += [(one.what, one.into, one.of, "") for one in readings]
    for number, cells in enumerate(rows):
        laid = [
            paragraph(words, share * width - 2 * _PAD_MM, _WORDS)
            for words, (_, share) in zip(cells, _COLUMNS, strict=True)
        ]
        low = top - max(one.height_mm for one in laid) - 2 * _PAD_MM
        left = SIDE_MM
        for one, (_, share) in zip(laid, _COLUMNS, strict=True):
            page.pen(0.3 if number == 0 else 0.15, grey=0.0 if number == 0 else _GREY)
            page.box((left, low, left + share * width, top))
            one.draw(page, left + _PAD_MM, top - _PAD_MM)
            left += share * width
        if number:
            _split(page, readings[number - 1].each, (left, low, top), _COLUMNS[-1][1] * width)
        top = low
    return top - 2.0


def _split(page: Page, each: Sequence[str], ends: tuple[float, float, float], width: float) -> None:
    """Part the last cell of a row, whose right, lower and upper ends are given."""
    right, low, top = ends
    for k, name in enumerate(each):
        left = right - width + k * width / len(each)
        page.box((left, low, left + width / len(each), top))
        paragraph(name, width / len(each) - 1.0, _SMALL).draw(page, left + 0.5, top - 0.5)

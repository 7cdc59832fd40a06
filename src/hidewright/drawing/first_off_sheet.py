"""The first-off sheet: what to measure on the first article, with what, and where it goes."""

from collections.abc import Sequence
from dataclasses import dataclass

from hidewright.drawing.build_sheet import BOTTOM_MM, SIDE_MM, TOP_MM, Stamp, head, paper_size
from hidewright.drawing.paper_text import Paragraph, paragraph
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError

#: Columns: heading and share of the width.
COLUMNS = (
    ("step", 0.14),
    ("measure", 0.2),
    ("where", 0.18),
    ("with", 0.11),
    ("should be", 0.12),
    ("found", 0.08),
    ("type it in at", 0.17),
)
_WORDS, _PAD_MM = 1.8, 1.2
_GREY = 0.55


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstOffRow:
    """One reading.

    Attributes:
        step: Number and name of the step at which it is taken.
        what: What is measured.
        where: On which spot.
        tool: With what.
        expected: What it should be; may be empty.
        into: Where it is typed in.
    """

    step: str
    what: str
    where: str
    tool: str
    expected: str
    into: str

    @property
    def cells(self) -> tuple[str, ...]:
        """Its words by column; what is found is left free."""
        return (self.step, self.what, self.where, self.tool, self.expected, "", self.into)


def first_off_pdf(stamp: Stamp, lead: str, rows: Sequence[FirstOffRow], paper: Paper) -> bytes:
    """Return the first-off sheet as a table whose rows are not broken over pages.

    Raises:
        RequestError: When the paper is not known or there is nothing to measure.
    """
    size = paper_size(paper)
    if not rows:
        raise RequestError("a first-off sheet with nothing to measure")
    book = Book(f"{stamp.title}: first-off sheet")
    width = size[0] - 2 * SIDE_MM
    heading = _cells(tuple(name for name, _ in COLUMNS), width)
    laid_out = [_cells(row.cells, width) for row in rows]
    first = paragraph(lead, width, 2.1)
    pages: list[list[tuple[Paragraph, ...]]] = [[]]
    room = size[1] - TOP_MM - BOTTOM_MM - 15.0 - first.height_mm - _height(heading)
    for row in laid_out:
        if _height(row) > room:
            pages.append([])
            room = size[1] - TOP_MM - BOTTOM_MM - 15.0 - _height(heading)
        pages[-1].append(row)
        room -= _height(row)
    for number, some in enumerate(pages, start=1):
        with book.page(size) as page:
            top = head(page, stamp, "First-off sheet", f"page {number} of {len(pages)}")
            if number == 1:
                top = first.draw(page, SIDE_MM, top) - 2.0
            for row in (heading, *some):
                top = _draw(page, row, top, width, strong=row is heading)
    return book.to_bytes()


def _cells(words: Sequence[str], width: float) -> tuple[Paragraph, ...]:
    return tuple(
        paragraph(one, share * width - 2 * _PAD_MM, _WORDS)
        for one, (_, share) in zip(words, COLUMNS, strict=True)
    )


def _height(cells: Sequence[Paragraph]) -> float:
    return max(one.height_mm for one in cells) + 2 * _PAD_MM


def _draw(
    page: Page, cells: Sequence[Paragraph], top: float, width: float, *, strong: bool
) -> float:
    low = top - _height(cells)
    left = SIDE_MM
    for one, (_, share) in zip(cells, COLUMNS, strict=True):
        page.pen(0.35 if strong else 0.15, grey=0.0 if strong else _GREY)
        page.box((left, low, left + share * width, top))
        one.draw(page, left + _PAD_MM, top - _PAD_MM)
        left += share * width
    return low

"""Tables on paper: a row is never broken, a heading is repeated on every page it runs on to."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from hidewright.drawing.build_sheet import BOTTOM_MM, SIDE_MM, TOP_MM, Stamp, head, paper_size
from hidewright.drawing.paper_text import Paragraph, paragraph
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError

_LEAD, _TITLE, _WORDS, _PAD_MM = 2.1, 2.6, 1.8, 1.2
#: Room that the head of a page takes, and that over a further table, mm.
_HEAD_MM, _BETWEEN_MM = 15.0, 5.0
_GREY = 0.55


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table.

    Attributes:
        columns: (heading, share of the width).
        rows: As many cells as columns.
        title: Over it; may be empty.
    """

    columns: tuple[tuple[str, float], ...]
    rows: tuple[tuple[str, ...], ...]
    title: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """Cells side by side: left edge and width of each, mm from the left of the table."""

    cells: tuple[Paragraph, ...]
    places: tuple[tuple[float, float], ...]

    @property
    def height(self) -> float:
        return max(one.height_mm for one in self.cells) + 2 * _PAD_MM

    def draw(self, page: Page, top: float, *, strong: bool = False) -> float:
        low = top - self.height
        for one, (left, width) in zip(self.cells, self.places, strict=True):
            page.pen(0.35 if strong else 0.15, grey=0.0 if strong else _GREY)
            page.box((SIDE_MM + left, low, SIDE_MM + left + width, top))
            one.draw(page, SIDE_MM + left + _PAD_MM, top - _PAD_MM)
        return low


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A row, the heading that stands over it, and the title where it begins its table."""

    row: _Row
    heading: _Row
    title: Paragraph | None = None

    def over(self, *, begins_page: bool) -> float:
        """Return the room taken by what is written over the row."""
        if self.title is None:
            return self.heading.height if begins_page else 0.0
        between = 0.0 if begins_page else _BETWEEN_MM
        return between + self.title.height_mm + self.heading.height


def table_sheet_pdf(
    stamp: Stamp, what: str, lead: str, tables: Sequence[Table], paper: Paper
) -> bytes:
    """Return tables under a head and a lead. Equal input, equal bytes.

    Args:
        stamp: For head and foot.
        what: The paper is, such as ``Cutting list``.
        lead: A sentence or two on the first page.
        tables: One under the other; those without rows are left out.
        paper: To print on.

    Raises:
        RequestError: When the paper is not known, or no table has a row.
    """
    size = paper_size(paper)
    book = Book(f"{stamp.title}: {what.lower()}", what.lower())
    width = size[0] - 2 * SIDE_MM
    lines = [line for table in tables for line in _laid_out(table, width)]
    if not lines:
        raise RequestError(f"a {what.lower()} without a row")
    first = paragraph(lead, width, _LEAD)
    room = size[1] - TOP_MM - BOTTOM_MM - _HEAD_MM
    pages = list(_pages(lines, room, room - first.height_mm))
    for number, some in enumerate(pages, start=1):
        with book.page(size) as page:
            top = head(page, stamp, what, f"page {number} of {len(pages)}")
            if number == 1:
                top = first.draw(page, SIDE_MM, top) - 2.0
            for line in some:
                top = _draw(page, line, top, begins_page=line is some[0])
    return book.to_bytes()


def _laid_out(table: Table, width: float) -> Iterator[_Line]:
    places: list[tuple[float, float]] = []
    left = 0.0
    for _, share in table.columns:
        places.append((left, share * width))
        left += share * width

    def row(words: Sequence[str]) -> _Row:
        cells = (
            paragraph(one, wide - 2 * _PAD_MM, _WORDS)
            for one, (_, wide) in zip(words, places, strict=True)
        )
        return _Row(cells=tuple(cells), places=tuple(places))

    heading = row([name for name, _ in table.columns])
    title: Paragraph | None = paragraph(table.title, width, _TITLE)
    for words in table.rows:
        yield _Line(row=row(words), heading=heading, title=title)
        title = None


def _pages(lines: Sequence[_Line], whole: float, first: float) -> Iterator[list[_Line]]:
    """Yield the rows of each page, as many as there is room for with what stands over them."""
    room, page = first, list[_Line]()
    for line in lines:
        if page and line.row.height + line.over(begins_page=False) > room:
            yield page
            room, page = whole, []
        room -= line.row.height + line.over(begins_page=not page)
        page.append(line)
    yield page


def _draw(page: Page, line: _Line, top: float, *, begins_page: bool) -> float:
    if line.title is not None:
        top = line.title.draw(page, SIDE_MM, top - (0.0 if begins_page else _BETWEEN_MM))
    if line.title is not None or begins_page:
        top = line.heading.draw(page, top, strong=True)
    return line.row.draw(page, top)

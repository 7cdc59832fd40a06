"""Scale cards on paper: to cut out and lay round a hide before it is photographed."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from hidewright.drawing.build_sheet import paper_size
from hidewright.drawing.paper_text import paragraph
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import EDGE_MM, Paper

#: Which cells of a card are black, row by row from the top.
Cells = Sequence[Sequence[bool]]

#: White round the black square that stays on the card, mm: without it the square is not found.
MARGIN_MM = 9.0
#: Length of the ruler that shows the printer's scale, mm.
RULER_MM = 100.0
_PER_SHEET, _COLUMNS = 4, 2
_TITLE, _WORDS, _SMALL = 3.2, 2.1, 1.8
_HOW = (
    "Print at 100 %, without fitting to the page, on stiff matt paper. Measure the ruler: if it is "
    "not 100 mm long, type in what it measures when you bring the photo. The black squares must be "
    "as tall as they are wide. Cut along the thin lines and keep the white margin. Lay at least "
    "four cards, all of different numbers, flat on the floor round the hide, none half over its "
    "edge. Spread the hide flat on a floor of another colour, and take the photo from high above "
    "its middle, with all cards and a strip of floor all round in it."
)


def scale_cards_pdf(cards: Mapping[int, Cells], side_mm: float, paper: Paper) -> bytes:
    """Return the cards, four on a sheet, with a ruler and how to use them.

    Args:
        cards: Pattern of each by the number printed on it.
        side_mm: Of the black square.
        paper: To print on.

    Raises:
        RequestError: When the paper is not known.
    """
    size = paper_size(paper)
    book = Book("Scale cards for the photo of a hide")
    numbers = sorted(cards)
    sheets = [numbers[k : k + _PER_SHEET] for k in range(0, len(numbers), _PER_SHEET)]
    for number, some in enumerate(sheets, start=1):
        with book.page(size) as page:
            _head(page, f"sheet {number} of {len(sheets)}")
            for place, card in enumerate(some):
                _card(page, cards[card], card, side_mm, place)
            _ruler(page, side_mm)
    return book.to_bytes()


def _head(page: Page, which: str) -> None:
    width, height = page.size_mm
    left, top = EDGE_MM + 3, height - EDGE_MM - 3
    page.words("Scale cards for the photo of a hide", (left, top - _TITLE), capital_mm=_TITLE)
    page.words(which, (width - left, top - _TITLE), capital_mm=_SMALL, anchor="end", grey=0.3)
    paragraph(_HOW, width - 2 * left, _WORDS).draw(page, left, top - _TITLE - 5)


def _corner(page: Page, side_mm: float, place: int) -> tuple[float, float]:
    """Return the lower left corner of a card's black square."""
    whole = side_mm + 2 * MARGIN_MM
    left = (page.size_mm[0] - _COLUMNS * whole) / 2
    row, column = divmod(place, _COLUMNS)
    return left + column * whole + MARGIN_MM, EDGE_MM + (1 - row) * whole + MARGIN_MM


def _card(page: Page, cells: Cells, number: int, side_mm: float, place: int) -> None:
    left, low = _corner(page, side_mm, place)
    page.pen(0.1, grey=0.5)
    edge = MARGIN_MM
    page.box((left - edge, low - edge, left + side_mm + edge, low + side_mm + edge))
    cell = side_mm / len(cells)
    page.pen(cell)  # a line as wide as a cell, its ends cut square, fills a run of cells
    for k, row in enumerate(cells):
        middle = low + side_mm - (k + 0.5) * cell
        for first, end in _runs(row):
            page.line((left + first * cell, middle), (left + end * cell, middle))
    page.words(
        f"card {number}", (left, low - edge + 2.5), capital_mm=_SMALL, grey=0.45, room_mm=side_mm
    )


def _runs(row: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """Yield where black cells begin and end, neighbours as one.

    >>> list(_runs([True, True, False, True]))
    [(0, 2), (3, 4)]
    """
    first = 0
    for black, cells in groupby(row):
        end = first + len(list(cells))
        if black:
            yield first, end
        first = end


def _ruler(page: Page, side_mm: float) -> None:
    x = page.size_mm[0] / 2 - RULER_MM / 2
    y = EDGE_MM + 2 * (side_mm + 2 * MARGIN_MM) + 5
    page.pen(0.2)
    page.line((x, y), (x + RULER_MM, y))
    for tick in range(int(RULER_MM) + 1):
        high = 5.0 if tick % 10 == 0 else 3.5 if tick % 5 == 0 else 2.0
        page.line((x + tick, y), (x + tick, y + high))
    for tick in range(0, int(RULER_MM) + 1, 20):
        page.words(str(tick), (x + tick, y + 6.2), capital_mm=_SMALL, anchor="middle")
    page.words("mm", (x + RULER_MM + 4, y + 6.2), capital_mm=_SMALL)

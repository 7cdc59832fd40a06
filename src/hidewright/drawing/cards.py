"""Small papers, several to a sheet with lines to cut along: care cards and labels for tools."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hidewright.drawing.build_sheet import Stamp, paper_size
from hidewright.drawing.paper_text import LEADING, Paragraph, paragraph
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.qr import qr_boxes
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError

#: Width and height of a card, mm; eight of them fit on A4 and on Letter.
CARD_MM = (92.0, 65.0)
_PAD_MM = 4.0
#: Side of the square of a label's code, mm.
QR_MM = 32.0
_FOOT_MM = 2.6
#: Heights of capitals that are tried until all words fit, mm; the last is 6 pt.
SIZES_MM = (1.9, 1.75, 1.6, 1.55)
_TITLE, _SMALL = 2.8, SIZES_MM[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class CareCard:
    """What a buyer is told.

    Attributes:
        title: The article.
        parts: (heading, sentences) in order.
        maker: Who made it, in one line; may be empty.
    """

    title: str
    parts: tuple[tuple[str, tuple[str, ...]], ...]
    maker: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolLabel:
    """What is written on the bag of a set of tools.

    Attributes:
        title: The article.
        holds: What is in it, one line each.
        address: What its code opens.
    """

    title: str
    holds: tuple[str, ...]
    address: str


def care_cards_pdf(card: CareCard, stamp: Stamp, paper: Paper) -> bytes:
    """Return a sheet of equal care cards. Equal input, equal bytes.

    Raises:
        RequestError: When the paper is not known, or the words do not fit on a card.
    """
    width = CARD_MM[0] - 2 * _PAD_MM
    title = paragraph(card.title, width, _TITLE)
    told = paragraph(" · ".join(filter(None, (card.maker, stamp.told))), width, _SMALL)
    foot = told.height_mm + _FOOT_MM
    laid_out = _fitting(card, CARD_MM[1] - _PAD_MM - title.height_mm - foot)

    def draw(page: Page, left: float, top: float) -> None:
        at = title.draw(page, left + _PAD_MM, top - _PAD_MM) - 0.6
        for above, words in laid_out:
            at = words.draw(page, left + _PAD_MM, at - above)
        told.draw(page, left + _PAD_MM, top - CARD_MM[1] + foot - 1.0)

    book = Book(f"{card.title}: care card", "care card")
    with book.page(paper_size(paper)) as page:
        _sheet(page, [draw] * 8)
    return book.to_bytes()


def tool_labels_pdf(labels: Sequence[ToolLabel], stamp: Stamp, paper: Paper) -> bytes:
    """Return a sheet of labels with codes, at most eight. Equal input, equal bytes.

    Raises:
        RequestError: When the paper is not known.
    """
    book = Book(f"{stamp.title}: labels for the tools", "labels for the tools")
    with book.page(paper_size(paper)) as page:
        _sheet(page, [_label(one, stamp) for one in labels[:8]])
    return book.to_bytes()


def _label(label: ToolLabel, stamp: Stamp) -> Callable[[Page, float, float], None]:
    column = CARD_MM[0] - QR_MM - 2 * _PAD_MM
    title = paragraph(label.title, column, _TITLE)
    lines = [paragraph(words, column, _SMALL) for words in label.holds]

    def draw(page: Page, left: float, top: float) -> None:
        low = top - CARD_MM[1]
        at = title.draw(page, left + _PAD_MM, top - _PAD_MM) - 1.0
        for number, words in enumerate(lines):
            room = at - low - 9.0 - LEADING * _SMALL * (number < len(lines) - 1)
            if words.height_mm > room:
                more = f"and {len(lines) - number} more: see the tooling list"
                paragraph(more, column, _SMALL).draw(page, left + _PAD_MM, at)
                break
            at = words.draw(page, left + _PAD_MM, at)
        page.words(stamp.told, (left + _PAD_MM, low + 6.0), capital_mm=_SMALL)
        page.words(label.address, (left + _PAD_MM, low + 2.8), capital_mm=_SMALL, room_mm=84.0)
        corner = (left + CARD_MM[0] - QR_MM - 1.0, top - QR_MM - 1.0)
        page.filled(qr_boxes(label.address, corner, QR_MM))

    return draw


def _fitting(card: CareCard, room: float) -> list[tuple[float, Paragraph]]:
    """Return the words of a card in the largest type in which they fit, with the room above."""
    width = CARD_MM[0] - 2 * _PAD_MM
    for capital in SIZES_MM:
        lines: list[tuple[float, Paragraph]] = []
        for heading, sentences in card.parts:
            lines.append((0.9, paragraph(f"{heading}: {' '.join(sentences)}", width, capital)))
        if sum(above + words.height_mm for above, words in lines) <= room:
            return lines
    raise RequestError(
        f"the care card of {card.title} has more words than room",
        mend="Shorten the article's name",
    )


def _sheet(page: Page, draws: Sequence[Callable[[Page, float, float], None]]) -> None:
    """Draw cards two by two in the middle of a page, with a line round each to cut along."""
    wide, high = CARD_MM
    width, height = page.size_mm
    left, top = (width - 2 * wide) / 2, (height + 4 * high) / 2
    for number, draw in enumerate(draws):
        x, y = left + (number % 2) * wide, top - (number // 2) * high
        page.pen(0.1, "dashed", grey=0.55)
        page.box((x, y - high, x + wide, y))
        draw(page, x, y)

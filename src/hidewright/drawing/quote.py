"""A quote on paper: who offers what to whom, for how much, until when."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from hidewright.costing.quote import Quote, QuoteItem
from hidewright.drawing.blocks import Block, Margins, draw_blocks
from hidewright.drawing.build_sheet import paper_size
from hidewright.drawing.paper_text import LEADING, Paragraph, paragraph
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import Paper
from hidewright.units.money import Money, format_money

SIDE_MM, TOP_MM, BOTTOM_MM = 22.0, 20.0, 20.0
#: Columns of the items and their share of the width; amounts stand at the right of theirs.
COLUMNS = (("What", 0.52), ("Number", 0.12), ("Each", 0.18), ("In all", 0.18))
_TITLE, _WORDS, _SMALL = 4.6, 2.3, 2.0
_PAD_MM = 1.6
_GREY = 0.55


def quote_pdf(quote: Quote, paper: Paper) -> bytes:
    """Return the quote as PDF; rows and totals are never broken. Equal input, equal bytes.

    Raises:
        RequestError: When the paper is not known.
    """
    size = paper_size(paper)
    book = Book(f"Quote {quote.number}", "quote")
    width = size[0] - 2 * SIDE_MM
    heading = _row([name for name, _ in COLUMNS], width, strong=True)
    before = [_head(quote, width), _dates(quote, width), heading]
    rows = [
        replace(_row(_cells(item, quote.currency), width), under=heading) for item in quote.items
    ]
    after = [_totals(quote, width), *_terms(quote.terms, width)]
    draw_blocks(
        book,
        (*before, *rows, *after),
        size,
        Margins(side=SIDE_MM, top=TOP_MM, bottom=BOTTOM_MM),
        lambda page: f"Quote {quote.number} · {quote.day} · {page}",
        _SMALL,
    )
    return book.to_bytes()


def _head(quote: Quote, width: float) -> Block:
    """Return who offers and who is asked, side by side, and the title under them."""
    half = width / 2 - 4.0
    seller = [paragraph(line, half, _WORDS) for line in quote.seller]
    buyer = [paragraph(line, half, _WORDS) for line in quote.buyer]
    title = paragraph(f"Quote {quote.number}", width, _TITLE)
    names = max(_high(seller), _high(buyer))

    def draw(page: Page, top: float) -> None:
        for lines, left in ((seller, SIDE_MM), (buyer, SIDE_MM + width / 2 + 4.0)):
            at = top
            for line in lines:
                at = line.draw(page, left, at)
        title.draw(page, SIDE_MM, top - names - 14.0)

    return Block(height=names + 14.0 + title.height_mm + 2.0, draw=draw)


def _dates(quote: Quote, width: float) -> Block:
    rows = [
        (paragraph(label, 34.0, _WORDS), paragraph(value, width - 36.0, _WORDS))
        for label, value in (
            ("Date", quote.day),
            ("Valid until", quote.valid_until),
            ("Ready", quote.lead_time),
        )
    ]

    def draw(page: Page, top: float) -> None:
        for label, value in rows:
            label.draw(page, SIDE_MM, top)
            top = value.draw(page, SIDE_MM + 36.0, top) - 0.8

    return Block(height=sum(value.height_mm + 0.8 for _, value in rows) + 7.0, draw=draw)


def _cells(item: QuoteItem, currency: str) -> tuple[str, ...]:
    each, total = (
        format_money(Money(minor=minor, currency=currency))
        for minor in (item.gross_minor, item.total_minor)
    )
    return item.what, f"{item.count}", each, total


def _row(words: Sequence[str], width: float, *, strong: bool = False) -> Block:
    """Return a row of the items with a line under it: words on the left, amounts on the right."""
    name = paragraph(words[0], COLUMNS[0][1] * width - 2 * _PAD_MM, _WORDS)
    height = name.height_mm + 2 * _PAD_MM

    def draw(page: Page, top: float) -> None:
        name.draw(page, SIDE_MM, top - _PAD_MM)
        right = SIDE_MM + COLUMNS[0][1] * width
        for amount, (_, share) in zip(words[1:], COLUMNS[1:], strict=True):
            right += share * width
            at = (right, top - _PAD_MM - _WORDS)
            room = share * width - _PAD_MM
            page.words(amount, at, capital_mm=_WORDS, anchor="end", room_mm=room)
        page.pen(0.35 if strong else 0.12, grey=0.0 if strong else _GREY)
        page.line((SIDE_MM, top - height), (SIDE_MM + width, top - height))

    return Block(height=height, draw=draw)


def _totals(quote: Quote, width: float) -> Block:
    """Return total, what of it is tax, and the deposit."""
    rows = [
        ("Before tax", quote.net_minor, False),
        ("Tax", quote.tax_minor, False),
        ("Total", quote.total_minor, True),
    ]
    if quote.deposit_minor:
        rows.append(("Deposit with the order", quote.deposit_minor, False))
        rows.append(("On delivery", quote.total_minor - quote.deposit_minor, False))
    line = LEADING * _WORDS + 1.2
    right = SIDE_MM + width

    def draw(page: Page, top: float) -> None:
        for label, minor, strong in rows:
            top -= line
            size = _WORDS * (1.2 if strong else 1.0)
            money = format_money(Money(minor=minor, currency=quote.currency))
            page.words(label, (right - 42.0, top), capital_mm=size, anchor="end")
            page.words(money, (right, top), capital_mm=size, anchor="end", room_mm=40.0)
            if strong:
                page.pen(0.35)
                page.line((right - 84.0, top - 1.6), (right, top - 1.6))
                top -= 1.2

    return Block(height=len(rows) * line + 11.2, draw=draw)


def _terms(terms: str, width: float) -> Iterator[Block]:
    """Yield the terms line by line, so that long ones run on over pages."""
    for words in terms.splitlines():
        lines = paragraph(words, width, _WORDS).lines
        for number, line in enumerate(lines, start=1):
            yield _line(line, after=1.6 if number == len(lines) else 0.0)


def _line(words: str, after: float) -> Block:
    line = Paragraph(lines=(words,), capital_mm=_WORDS)

    def draw(page: Page, top: float) -> None:
        line.draw(page, SIDE_MM, top)

    return Block(height=line.height_mm + after, draw=draw)


def _high(lines: Sequence[Paragraph]) -> float:
    return sum(line.height_mm for line in lines)

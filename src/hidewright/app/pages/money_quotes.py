"""Quotes as they were sent, to print again, and how the workshop writes them."""

import asyncio
from dataclasses import fields, replace
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.components.entries import entry
from hidewright.app.parts import Words, box, press
from hidewright.app.shop import Shop
from hidewright.costing.quote import Quote, QuoteManner
from hidewright.drawing.tiles import Paper
from hidewright.store.book_quotes import ID, MANNERS, QUOTES, KeptQuote, manner_in
from hidewright.units.quantity import format as written
from hidewright.units.quantity import parse
from hidewright.workshop.money.tables import in_currency

#: Fields of how quotes are written: (name, label, meaning, lines).
MANNER = (
    ("seller", "Who offers", "name and address, a line each", 4),
    ("lead_time", "When it is ready", "in your own words", 2),
    ("valid_days", "Days a quote holds", "from the day it is written", 1),
    ("deposit", "Deposit", "share paid with the order, where an order names no sum", 1),
    ("terms", "Terms", "your own, one paragraph a line", 6),
)
Found = tuple[dict[str, KeptQuote], QuoteManner]


class Quotes:
    """The panel of quotes."""

    kinds = frozenset({QUOTES.kind, MANNERS.kind})

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        self._shop = shop
        self.shown: Found | None = None

    def read(self) -> Found:
        """Return the quotes and how they are written."""
        return QUOTES.rows(self._shop.book), manner_in(self._shop.book)

    def show(self, found: Found) -> None:
        """Show them in the current place."""
        self.shown = found
        quotes, manner = found
        with box("div", "panel-two"):
            with box("section", aria_label="Quotes written"):
                Words("h2", "Written")
                for number, kept in reversed(quotes.items()):
                    self._row(number, kept)
                if not quotes:
                    Words("p", "None yet: an order with a price has a button for it.", "empty")
            with box("section", aria_label="How quotes are written"):
                Words("h2", "How they are written")
                for name, label, says, lines in MANNER:
                    keep = partial(self._keep, name)
                    value = _written(manner, name)
                    entry(
                        label, f"manner-{name}", value, keep, self._changed, says=says, lines=lines
                    )

    def _row(self, number: str, kept: KeptQuote) -> None:
        quote = kept.quote
        with box("div", "order-of"):
            total = in_currency(quote.currency)(quote.total_minor)
            Words("p", f"{number}, {quote.day}: {quote.buyer[0]}, {total}")
            Words("p", f"valid until {quote.valid_until}", "when")
            with box("p", "card-actions"):
                for paper in ("A4", "Letter"):
                    press(
                        f"PDF, {paper}",
                        partial(self._print, kept, paper),
                        "quiet",
                        aria_label=f"Quote {number} as PDF on {paper}",
                    )

    async def _print(self, kept: KeptQuote, paper: Paper) -> None:
        data = await asyncio.to_thread(_on_paper, kept.quote, paper)
        ui.download(data, f"quote {kept.quote.number}.pdf", "application/pdf")

    def _keep(self, name: str, text: str) -> str:
        about = {one.name: one.metadata for one in fields(QuoteManner)}[name]
        value: Any = parse(about["quantity"], text) if "quantity" in about else text.strip()
        book = self._shop.book
        changed: dict[str, Any] = {name: value}
        manner = replace(manner_in(book), **changed)
        MANNERS.put(book, ID, manner)
        assert self.shown is not None
        self.shown = (self.shown[0], manner)
        return _written(manner, name)

    def _changed(self) -> None:
        self._shop.tell(MANNERS.kind)


def _on_paper(quote: Quote, paper: Paper) -> bytes:
    from hidewright.drawing.quote import quote_pdf

    return quote_pdf(quote, paper)


def _written(manner: QuoteManner, name: str) -> str:
    about = {one.name: one.metadata for one in fields(QuoteManner)}[name]
    value = getattr(manner, name)
    return written(about["quantity"], value) if "quantity" in about else str(value)

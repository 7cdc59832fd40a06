"""Quotes in the book: each with a number that is given once and never again."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from pydantic import TypeAdapter

from hidewright.costing.quote import Quote, QuoteManner
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptQuote:
    """A quote as it was sent; it is not changed afterwards.

    Attributes:
        order: Id of the order that it offers.
        day: On which it was written.
        quote: What it says.
    """

    order: str
    day: date
    quote: Quote


QUOTES = Drawer(kind="quote", noun=KeptQuote)
MANNERS = Drawer(kind="quote manner", noun=QuoteManner)
#: The one row of how quotes are written.
ID = "workshop"


def manner_in(book: Book) -> QuoteManner:
    """Return how the workshop writes its quotes."""
    return MANNERS.rows(book).get(ID, QuoteManner())


def give_quote(book: Book, order: str, day: date, make: Callable[[str], Quote]) -> KeptQuote:
    """Write a quote under the year's next number, in one transaction.

    Args:
        book: Where to.
        order: Id of the order that it offers.
        day: On which it is written.
        make: Writes the quote, given its number; a refusal gives no number away.

    Raises:
        RequestError: When ``make`` refuses.
    """
    with book.writing() as connection:
        rows = connection.execute(
            "SELECT id FROM kept WHERE kind = ? AND id LIKE ?", (QUOTES.kind, f"{day.year}-%")
        )
        last = max((int(id.partition("-")[2]) for (id,) in rows), default=0)
        number = f"{day.year}-{last + 1:03d}"
        kept = KeptQuote(order=order, day=day, quote=make(number))
        body = TypeAdapter(KeptQuote).dump_json(kept).decode()
        connection.execute(
            "INSERT INTO kept (kind, id, body) VALUES (?, ?, ?)", (QUOTES.kind, number, body)
        )
    return kept

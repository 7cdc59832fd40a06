"""Steps that were worked out, kept in the book between starts under what they were made from."""

from collections.abc import Mapping

from hidewright.errors import RequestError
from hidewright.planning.known_steps import KnownSteps
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer

STEPS = Drawer(kind="steps", noun=KnownSteps)
#: Designs and colours that are kept; the oldest go first.
MOST = 40


def known_steps(book: Book) -> dict[str, KnownSteps]:
    """Return what is kept, the oldest first; nothing when another program wrote it otherwise."""
    try:
        return STEPS.rows(book)
    except RequestError:
        return {}


def keep_steps(book: Book, steps: Mapping[str, KnownSteps]) -> None:
    """Keep steps by what they were made from; what cannot be read any more makes room."""
    if not known_steps(book):
        with book.writing() as connection:
            connection.execute("DELETE FROM kept WHERE kind = ?", (STEPS.kind,))
    for key, one in steps.items():
        STEPS.put(book, key, one)
    kept = list(known_steps(book))
    for key in kept[: max(0, len(kept) - MOST)]:
        STEPS.drop(book, key)

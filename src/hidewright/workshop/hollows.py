"""The moulded hollows of a design in the book, by the names that readings give them."""

from hidewright.design.kinds.registry import kind_named
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_designs import design_of
from hidewright.store.book_versions import text_of
from hidewright.store.design_file import read_design


def hollows_of(book: Book, design: str) -> dict[str, str]:
    """Return the name of the leather of each ``piece/zone``; nothing when it cannot be read."""
    try:
        text = text_of(book, design, design_of(book, design).current)
        brief = read_design(text.encode(), name="").specification.brief
        pieces = kind_named(brief.kind).construct(brief).pieces
    except RequestError:
        return {}
    leathers = {role: leather.name for role, leather in brief.leathers}
    return {
        f"{piece.name}/{zone.name}": leathers[piece.role]
        for piece in pieces
        for zone in piece.zones
    }

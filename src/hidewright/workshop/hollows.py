"""The moulded hollows of a design in the book, by the names that readings give them."""

from hidewright.design.kinds.registry import kind_named
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_versions import specification_of


def hollows_of(book: Book, design: str) -> dict[str, str]:
    """Return the name of the leather of each ``piece/zone``; nothing when it cannot be read."""
    try:
        brief = specification_of(book, design).brief
        pieces = kind_named(brief.kind).construct(brief).pieces
    except RequestError:
        return {}
    leathers = {role: leather.name for role, leather in brief.leathers}
    return {
        f"{piece.name}/{zone.name}": leathers[piece.role]
        for piece in pieces
        for zone in piece.zones
    }

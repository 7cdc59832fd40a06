"""Designs in the book: by name, in work, archived or deleted; each with at least one version."""

from dataclasses import dataclass
from sqlite3 import Connection
from typing import Literal

from hidewright.errors import RequestError
from hidewright.store.book import Book

#: Where a design lies: a deleted one can be taken back until it is purged.
Shelf = Literal["in work", "archived", "deleted"]

_ON_SHELF: dict[Shelf, str] = {
    "in work": "NOT archived AND NOT deleted",
    "archived": "archived AND NOT deleted",
    "deleted": "deleted",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptDesign:
    """A design's row in the book.

    Attributes:
        id: Its own for ever, a random UUID.
        name: What the maker calls it in the list; the design file has its own name.
        created: When it came into the book, ISO 8601 with its offset from UTC.
        changed: When its text or its name last changed.
        archived: Put away.
        deleted: Thrown away, but not yet for good.
        current: Number of the version it is at.
    """

    id: str
    name: str
    created: str
    changed: str
    archived: bool
    deleted: bool
    current: int


def add_design(book: Book, id: str, *, name: str, text: str, when: str, why: str = "new") -> None:
    """Put a new design into the book, its text as version 1.

    Args:
        book: Where to.
        id: A UUID that no other design has.
        name: The maker's name for it.
        text: The design file's text.
        when: Now, ISO 8601 with its offset from UTC.
        why: What was done, in a few words.
    """
    with book.writing() as connection:
        _add(connection, id, name, text, when, why)


def copy_design(book: Book, design: str, *, id: str, name: str, when: str) -> None:
    """Put a copy of a design's current version into the book as a design of its own.

    Raises:
        RequestError: When the design is not there.
    """
    with book.writing() as connection:
        kept = kept_design(connection, design)
        (text,) = connection.execute(
            "SELECT text FROM version WHERE design = ? AND number = ?", (design, kept.current)
        ).fetchone()
        _add(connection, id, name, text, when, f"copy of {kept.name}")


def design_of(book: Book, design: str) -> KeptDesign:
    """Return a design's row.

    Raises:
        RequestError: When it is not there.
    """
    with book.reading() as connection:
        return kept_design(connection, design)


def list_designs(book: Book, shelf: Shelf = "in work") -> tuple[KeptDesign, ...]:
    """Return the designs on a shelf, the one changed last first."""
    with book.reading() as connection:
        rows = connection.execute(
            f"SELECT {_COLUMNS} FROM design WHERE {_ON_SHELF[shelf]} "
            "ORDER BY julianday(changed) DESC, id"
        )
        return tuple(map(_kept, rows))


def rename(book: Book, design: str, *, name: str, when: str) -> None:
    """Give a design another name in the list.

    Raises:
        RequestError: When it is not there.
    """
    _set(book, design, "name = ?, changed = ?", name, when)


def archive(book: Book, design: str, *, archived: bool = True) -> None:
    """Put a design away, or take it out again.

    Raises:
        RequestError: When it is not there.
    """
    _set(book, design, "archived = ?", archived)


def delete(book: Book, design: str, *, deleted: bool = True) -> None:
    """Throw a design away, or take it back; ``purge`` alone is for good.

    Raises:
        RequestError: When it is not there.
    """
    _set(book, design, "deleted = ?", deleted)


def purge(book: Book, design: str) -> bool:
    """Take a deleted design and all its versions out of the book for good.

    Returns:
        Whether it went; a design that is not deleted, or was taken back, stays.
    """
    with book.writing() as connection:
        gone = connection.execute("DELETE FROM design WHERE id = ? AND deleted", (design,))
        return gone.rowcount == 1


def kept_design(connection: Connection, design: str) -> KeptDesign:
    """Return a design's row within a transaction.

    Raises:
        RequestError: When it is not there.
    """
    row = connection.execute(f"SELECT {_COLUMNS} FROM design WHERE id = ?", (design,)).fetchone()
    if row is None:
        raise _not_there()
    return _kept(row)


_COLUMNS = "id, name, created, changed, archived, deleted, current"


def _kept(row: tuple[str, str, str, str, int, int, int]) -> KeptDesign:
    id, name, created, changed, archived, deleted, current = row
    return KeptDesign(
        id=id,
        name=name,
        created=created,
        changed=changed,
        archived=bool(archived),
        deleted=bool(deleted),
        current=current,
    )


def _add(connection: Connection, id: str, name: str, text: str, when: str, why: str) -> None:
    connection.execute(
        "INSERT INTO design (id, name, created, changed, current) VALUES (?, ?, ?, ?, 1)",
        (id, name, when, when),
    )
    connection.execute(
        "INSERT INTO version (design, number, text, saved, why) VALUES (?, 1, ?, ?, ?)",
        (id, text, when, why),
    )


def _set(book: Book, design: str, what: str, *values: str | bool) -> None:
    with book.writing() as connection:
        done = connection.execute(f"UPDATE design SET {what} WHERE id = ?", (*values, design))
        if not done.rowcount:
            raise _not_there()


def _not_there() -> RequestError:
    return RequestError(
        "this design is no longer in the book",
        because="it was taken out for good, perhaps in another window",
        mend="Look through the list of designs",
    )

"""Versions of a design: each edit saved, undo and redo by moving the current one."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from hidewright.design.specification import Specification
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_designs import design_of, kept_design
from hidewright.store.design_file import read_design


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """A saved state of a design.

    Attributes:
        number: Counted from 1 in each design, never used again.
        parent: The version it was made from, where undo leads; None for the first.
        saved: When, ISO 8601 with its offset from UTC.
        why: What was done, in a few words.
    """

    number: int
    parent: int | None
    saved: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """Someone else moved the design on meanwhile; nothing was written.

    Attributes:
        current: Number of the version it is at now.
    """

    current: int


def save_version(
    book: Book, design: str, *, text: str, parent: int, when: str, why: str
) -> int | Conflict:
    """Save an edit as a new version and make it the current one.

    Args:
        book: Where to.
        design: Which design.
        text: The design file's text.
        parent: The version that was edited.
        when: Now, ISO 8601 with its offset from UTC.
        why: What was done, in a few words.

    Returns:
        The new version's number; a Conflict when the parent is not the current version.

    Raises:
        RequestError: When the design is not there.
    """
    with book.writing() as connection:
        current = kept_design(connection, design).current
        if current != parent:
            return Conflict(current=current)
        (last,) = connection.execute(
            "SELECT max(number) FROM version WHERE design = ?", (design,)
        ).fetchone()
        number: int = last + 1
        connection.execute(
            "INSERT INTO version (design, number, parent, text, saved, why) "
            "VALUES (?, ?, ?, ?, ?, ?)",
            (design, number, parent, text, when, why),
        )
        connection.execute(
            "UPDATE design SET current = ?, changed = ? WHERE id = ?", (number, when, design)
        )
    return number


def set_current(book: Book, design: str, number: int, *, was: int, when: str) -> int | Conflict:
    """Move a design to another of its versions, as undo and redo do.

    Args:
        book: Where.
        design: Which design.
        number: The version to go to.
        was: The version it was thought to be at.
        when: Now, ISO 8601 with its offset from UTC.

    Returns:
        The version's number; a Conflict when the design was at another one.

    Raises:
        RequestError: When the design or the version is not there.
    """
    with book.writing() as connection:
        current = kept_design(connection, design).current
        if current != was:
            return Conflict(current=current)
        there = connection.execute(
            "SELECT 1 FROM version WHERE design = ? AND number = ?", (design, number)
        ).fetchone()
        if not there:
            raise _thinned(number)
        connection.execute(
            "UPDATE design SET current = ?, changed = ? WHERE id = ?", (number, when, design)
        )
    return number


def versions(book: Book, design: str) -> tuple[Version, ...]:
    """Return the versions of a design without their texts, oldest first.

    Raises:
        RequestError: When the design is not there.
    """
    with book.reading() as connection:
        kept_design(connection, design)
        rows = connection.execute(
            "SELECT number, parent, saved, why FROM version WHERE design = ? ORDER BY number",
            (design,),
        )
        return tuple(Version(number=n, parent=p, saved=s, why=w) for n, p, s, w in rows)


def text_of(book: Book, design: str, number: int) -> str:
    """Return the text of a version.

    Raises:
        RequestError: When the design or the version is not there.
    """
    with book.reading() as connection:
        kept_design(connection, design)
        row = connection.execute(
            "SELECT text FROM version WHERE design = ? AND number = ?", (design, number)
        ).fetchone()
    if row is None:
        raise _thinned(number)
    return str(row[0])


def specification_of(book: Book, design: str, number: int | None = None) -> Specification[Any]:
    """Return what a design says.

    Args:
        book: It is kept there.
        design: Its id.
        number: Of the version; the current one without it.

    Raises:
        RequestError: When the design or the version is not there, or cannot be read.
    """
    kept = design_of(book, design)
    return _said(text_of(book, design, number or kept.current), kept.name)


@lru_cache(maxsize=256)
def _said(text: str, name: str) -> Specification[Any]:
    return read_design(text.encode(), name=name).specification


def thin(book: Book, design: str, *, since: str) -> int:
    """Thin a design's history: of each day before the last session, its last version stays.

    Also the current version stays. Undo leads from a version that stays to the nearest one before
    it that stays. Days are those of the maker, by the offset that each time was saved with.

    Args:
        book: Where.
        design: Which design.
        since: When the last session began, ISO 8601 with its offset; all from then on stay.

    Returns:
        How many versions went.

    Raises:
        RequestError: When the design is not there.
    """
    with book.writing() as connection:
        current = kept_design(connection, design).current
        rows = connection.execute(
            "SELECT number, parent, julianday(saved) >= julianday(:since) OR number = :current "
            "OR number = max(number) OVER (PARTITION BY substr(saved, 1, 10)) "
            "FROM version WHERE design = :design",
            {"design": design, "since": since, "current": current},
        ).fetchall()
        parents = {number: parent for number, parent, _ in rows}
        kept = {number for number, _, stays in rows if stays}
        for number in kept:
            parent = nearest = parents[number]
            while nearest is not None and nearest not in kept:
                nearest = parents[nearest]
            if nearest != parent:
                connection.execute(
                    "UPDATE version SET parent = ? WHERE design = ? AND number = ?",
                    (nearest, design, number),
                )
        gone = [(design, number) for number in parents if number not in kept]
        connection.executemany("DELETE FROM version WHERE design = ? AND number = ?", gone)
    return len(gone)


def _thinned(number: int) -> RequestError:
    return RequestError(
        f"version {number} is not in the book",
        because="older versions are thinned to one a day",
        mend="Choose another version of the list",
    )

"""The workshop's rows: orders, hides and whatever else is a noun with an id, each in its drawer."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from sqlite3 import Connection
from typing import Generic, TypeVar

from pydantic import TypeAdapter, ValidationError

from hidewright.errors import RequestError
from hidewright.store.book import Book

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class Drawer(Generic[T]):
    """All rows of one kind; a row is a noun as JSON under an id that is its own for ever.

    Attributes:
        kind: In the table, such as ``order``.
        noun: Class of what is kept; fields added to it later need defaults.
    """

    kind: str
    noun: type[T]

    @cached_property
    def _adapter(self) -> TypeAdapter[T]:
        return TypeAdapter(self.noun)

    def put(self, book: Book, id: str, row: T) -> None:
        """Keep a row, over what was under its id."""
        with book.writing() as connection:
            self._put(connection, id, row)

    def edit(self, book: Book, id: str, change: Callable[[T], T]) -> T:
        """Change a row in one transaction, so that nobody's edit in between is lost.

        Raises:
            RequestError: When the row is not there, or the change refuses.
        """
        with book.writing() as connection:
            row = change(self._get(connection, id))
            self._put(connection, id, row)
            return row

    def get(self, book: Book, id: str) -> T:
        """Return a row.

        Raises:
            RequestError: When it is not there.
        """
        with book.reading() as connection:
            return self._get(connection, id)

    def rows(self, book: Book) -> dict[str, T]:
        """Return all rows by id, in the order in which they came in."""
        with book.reading() as connection:
            found = connection.execute(
                "SELECT id, body FROM kept WHERE kind = ? ORDER BY number", (self.kind,)
            ).fetchall()
        return {id: self._read(id, body) for id, body in found}

    def drop(self, book: Book, id: str) -> bool:
        """Take a row out of the book; return whether it was there."""
        with book.writing() as connection:
            gone = connection.execute("DELETE FROM kept WHERE kind = ? AND id = ?", (self.kind, id))
            return gone.rowcount == 1

    def _put(self, connection: Connection, id: str, row: T) -> None:
        body = self._adapter.dump_json(row).decode()
        connection.execute(
            "INSERT INTO kept (kind, id, body) VALUES (?, ?, ?) "
            "ON CONFLICT (kind, id) DO UPDATE SET body = excluded.body",
            (self.kind, id, body),
        )

    def _get(self, connection: Connection, id: str) -> T:
        row = connection.execute(
            "SELECT body FROM kept WHERE kind = ? AND id = ?", (self.kind, id)
        ).fetchone()
        if row is None:
            raise RequestError(
                f"this {self.kind} is no longer in the book",
                because="it was taken out, perhaps in another window",
                mend="Look through the list again",
            )
        return self._read(id, row[0])

    def _read(self, id: str, body: str) -> T:
        try:
            return self._adapter.validate_json(body)
        except (ValidationError, RequestError) as wrong:
            raise RequestError(
                f"the {self.kind} {id} in the book cannot be read",
                because=str(wrong),
                mend="Bring hidewright up to date; the row was left as it is",
            ) from None

"""The workshop's book: one SQLite file that several threads and processes may use at once.

Every edit is a transaction that is on the disk when it returns. A program that is killed loses at
most the edit in flight. ``book_designs``, ``book_versions`` and ``book_settings`` tell what can be
written in it, ``book_changes`` what others have written.
"""

import sqlite3
from collections import deque
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from types import TracebackType
from typing import Self

from hidewright.errors import RequestError
from hidewright.store import book_backups, book_schema
from hidewright.store.book_faults import (
    PATIENCE_S,
    DamagedBookError,
    UnsoundError,
    cannot_be_used,
    in_words,
    is_damage,
    is_from_outside,
    look_at,
)


def default_path() -> Path:
    """Return where this user's book lies when no other place is named."""
    from platformdirs import user_data_dir

    return Path(user_data_dir("hidewright")) / "book.sqlite"


class Book:
    """An open book.

    Opening makes it when it is new, looks through its file, and brings an older one up to date
    after a backup. Threads may share a Book; each process opens its own.

    Attributes:
        path: Its file.
    """

    def __init__(self, path: Path | None = None, *, new: bool = True) -> None:
        """Open a book.

        Args:
            path: Its file; without it the user's own book.
            new: Whether a book that is not there is begun.

        Raises:
            DamagedBookError: The file is damaged, or missing though there are backups or a log.
            RequestError: A newer program wrote it, it is no book, it is not there, or it cannot
                be opened.
        """
        self.path = path or default_path()
        self._idle: deque[sqlite3.Connection] = deque()
        self._closed = False
        with self._errors_in_words():
            if new:
                self.path.parent.mkdir(parents=True, exist_ok=True)
            self._open(new=new)

    def _open(self, *, new: bool) -> None:
        log = _has_bytes(self.path.with_name(self.path.name + "-wal"))
        # SQLite throws the log of an empty file away, so such a file is not even looked at
        version = look_at(self.path) if _has_bytes(self.path) else 0
        if not version and (log or book_backups.backups(self.path)):
            raise self._damaged("its file is empty or missing, though what belongs to it is there")
        if not version and not new:
            raise RequestError(
                f"there is no book {self.path}", mend="Name the book's file with --book"
            )
        with closing(self._connect()) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
            if 0 < version < book_schema.newest():
                book_backups.back_up(connection, self.path)
            book_schema.migrate(connection)
        # kept open, so that the log is not folded in and thrown away after each edit
        with self._connection():
            pass

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Lend a connection on which all reads see one and the same state of the book."""
        with self._transaction("BEGIN") as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Lend a connection for one edit: all of it is kept, or none when an error leaves here.

        Nobody else writes in the meantime, so do nothing slow in it, and do not nest it.
        """
        with self._transaction("BEGIN IMMEDIATE") as connection:
            yield connection

    def back_up(self) -> Path:
        """Copy the book into ``backups/`` beside it; return the copy. The last ten are kept.

        Raises:
            DamagedBookError: When the book is found damaged.
            RequestError: When the copy cannot be written.
        """
        with self._errors_in_words(), self._connection() as connection:
            return book_backups.back_up(connection, self.path)

    def close(self) -> None:
        """Close the file; what is lent to other threads is closed as it comes back."""
        self._closed = True
        with suppress(IndexError):
            while True:
                self._idle.pop().close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _connect(self) -> sqlite3.Connection:
        connection = sqlite3.connect(
            self.path, timeout=PATIENCE_S, isolation_level=None, check_same_thread=False
        )
        connection.execute("PRAGMA synchronous = FULL")
        return connection

    @contextmanager
    def _connection(self) -> Iterator[sqlite3.Connection]:
        """Lend an idle connection, or a new one when all are lent."""
        try:
            connection = self._idle.pop()
        except IndexError:
            connection = self._connect()
            connection.execute("PRAGMA foreign_keys = ON")
        try:
            yield connection
        except BaseException:
            connection.close()
            raise
        self._idle.append(connection)
        if self._closed:
            self.close()

    @contextmanager
    def _transaction(self, begin: str) -> Iterator[sqlite3.Connection]:
        with self._errors_in_words(), self._connection() as connection:
            connection.execute(begin)
            # closing the connection, as an error does, rolls back
            book_schema.version_of(connection)  # a newer program may have come in between
            yield connection
            connection.execute("COMMIT")

    @contextmanager
    def _errors_in_words(self) -> Iterator[None]:
        try:
            yield
        except UnsoundError as found:
            raise self._damaged(str(found)) from None
        except sqlite3.Error as error:
            if is_damage(error):
                raise self._damaged(str(error)) from None
            if is_from_outside(error):
                raise in_words(self.path, error) from None
            raise
        except OSError as refused:
            raise cannot_be_used(self.path, refused.strerror or str(refused)) from None

    def _damaged(self, because: str) -> DamagedBookError:
        backup = book_backups.last_good(self.path)
        return DamagedBookError(self.path, because=because, backup=backup)


def _has_bytes(path: Path) -> bool:
    return path.exists() and path.stat().st_size > 0

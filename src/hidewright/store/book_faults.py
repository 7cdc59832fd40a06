"""What can be wrong with the book's file, in words; and a look at it that changes nothing."""

import sqlite3
from contextlib import closing
from pathlib import Path

from hidewright.errors import RequestError
from hidewright.store.book_schema import version_of

#: Errors of the disk, of rights, or of another program that is writing; the file itself is sound.
FROM_OUTSIDE = (
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_CANTOPEN,
    sqlite3.SQLITE_FULL,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_PERM,
    sqlite3.SQLITE_READONLY,
)
#: How long to wait for another program's edit to be written, s.
PATIENCE_S = 10.0


class DamagedBookError(RequestError):
    """The book's file cannot be trusted; it was left as it is.

    Attributes:
        backup: The newest backup that is whole, if there is one.
    """

    def __init__(self, path: Path, *, because: str, backup: Path | None) -> None:
        super().__init__(
            f"the book {path} is damaged",
            because=because,
            mend=(
                f"Nothing was written over. The last good backup is {backup}; "
                "'hidewright book restore' puts it in place and keeps the damaged file beside it"
                if backup
                else "Nothing was written over, and there is no good backup; keep a copy of it"
            ),
        )
        self.backup = backup


class UnsoundError(Exception):
    """A look through a file of the book found it damaged."""


def look_at(path: Path, *, still: bool = False) -> int:
    """Return the version of a book after looking through its file, and change nothing in it.

    Args:
        path: An existing file.
        still: Nobody writes to it, as to a backup: no files beside it are read or made.

    Raises:
        RequestError: When it is another program's or a newer program's.
        UnsoundError: When it is damaged.
        sqlite3.OperationalError: When it cannot be opened.
    """
    # a first opening that was killed leaves a journal, which only a writer may roll back
    journal = path.with_name(path.name + "-journal").exists()
    mode = "mode=ro&immutable=1" if still else "mode=rw" if journal else "mode=ro"
    address = f"{path.absolute().as_uri()}?{mode}"
    try:
        with closing(sqlite3.connect(address, uri=True, timeout=PATIENCE_S)) as connection:
            (found,) = connection.execute("PRAGMA quick_check(1)").fetchone()
            version = version_of(connection)
    except sqlite3.Error as error:
        if is_from_outside(error):
            raise
        raise UnsoundError(str(error)) from None
    if found != "ok":
        raise UnsoundError(found)
    return version


def is_damage(error: sqlite3.Error) -> bool:
    """Return whether an error says that the file itself is damaged."""
    return _code(error) in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


def is_from_outside(error: sqlite3.Error) -> bool:
    """Return whether an error comes from the disk, from rights or from another program."""
    return _code(error) in FROM_OUTSIDE


def in_words(path: Path, error: sqlite3.Error) -> RequestError:
    """Return what an error from outside means for the maker."""
    if _code(error) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return RequestError(
            f"the book {path} is in use",
            because=f"another program has held it for {PATIENCE_S:g} s",
            mend="Close the other program, then try again; nothing was written",
        )
    return cannot_be_used(path, str(error))


def cannot_be_used(path: Path, because: str) -> RequestError:
    """Return the error for a book whose place does not let it be read and written."""
    return RequestError(
        f"the book {path} cannot be opened or written",
        because=because,
        mend="See that its folder may be written to and that the disk has room",
    )


def _code(error: sqlite3.Error) -> int | None:
    """Return SQLite's own code without its finer shades; Python's errors have none."""
    code: int | None = getattr(error, "sqlite_errorcode", None)
    return None if code is None else code & 0xFF

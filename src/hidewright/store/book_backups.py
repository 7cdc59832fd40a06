"""Copies of the book in ``backups/`` beside it, and putting the last good one back."""

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from hidewright.errors import RequestError
from hidewright.store.book_faults import UnsoundError, look_at

#: Backups kept; the oldest go first.
KEPT = 10


def back_up(connection: sqlite3.Connection, path: Path) -> Path:
    """Copy the book as it is now; return the copy, which has been looked through.

    Args:
        connection: Open on the book, in no transaction.
        path: The book's file.

    Raises:
        UnsoundError: When what was copied is damaged; no older backup has gone for it.
        OSError: When the folder cannot be written.
    """
    folder = _folder(path)
    folder.mkdir(exist_ok=True)
    connection.execute("BEGIN IMMEDIATE")  # one backup at a time, of a book that stands still
    try:
        older = backups(path)
        copy = folder / f"{path.stem}-{_number(older[-1]) + 1 if older else 1:04d}{path.suffix}"
        part = folder / f"{path.name}.part"
        part.unlink(missing_ok=True)
        # a writer's own connection cannot be copied from
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(part)) as target:
            source.backup(target)
        look_at(part, still=True)
        part.replace(copy)
        for old in backups(path)[:-KEPT]:
            old.unlink(missing_ok=True)
    finally:
        connection.execute("ROLLBACK")
    return copy


def backups(path: Path) -> tuple[Path, ...]:
    """Return the backups of a book, oldest first."""
    named = re.compile(re.escape(path.stem) + r"-\d{4,}" + re.escape(path.suffix))
    folder = _folder(path)
    found = folder.iterdir() if folder.is_dir() else ()
    return tuple(sorted((one for one in found if named.fullmatch(one.name)), key=_number))


def last_good(path: Path) -> Path | None:
    """Return the newest backup that is whole and that this program can read."""
    for one in reversed(backups(path)):
        try:
            if look_at(one, still=True):
                return one
        except (UnsoundError, sqlite3.Error, RequestError):
            continue
    return None


def restore_last_backup(path: Path) -> tuple[Path, Path | None]:
    """Put the last good backup in the book's place and keep the old file under another name.

    No program may have the book open. Stopped at any moment, the book is whole or missing, never
    mixed; a missing book is refused by ``Book`` until this has been called again.

    Returns:
        The backup that was used, and the new name of the old file, None when there was none.

    Raises:
        RequestError: When there is no good backup, or a file cannot be moved.
    """
    backup = last_good(path)
    if backup is None:
        raise RequestError(
            f"there is no good backup of {path}", because=f"none was found in {_folder(path)}"
        )
    part = path.with_name(path.name + ".part")
    try:
        part.write_bytes(backup.read_bytes())
        aside = _put_aside(path)
        part.replace(path)
    except OSError as refused:
        raise RequestError(
            f"{backup} cannot be put in the place of {path}",
            because=refused.strerror or str(refused),
            mend="Close every program that has the book open, then try again",
        ) from None
    return backup, aside


def _put_aside(path: Path) -> Path | None:
    """Rename a book with the files that SQLite keeps beside it; return its new name."""
    number = 1
    while any(path.parent.glob(f"{path.stem}-damaged-{number}{path.suffix}*")):
        number += 1
    aside = path.with_name(f"{path.stem}-damaged-{number}{path.suffix}")
    was_there = path.exists()
    # the book first: a log without its book is never read, a book without its log would be
    for end in ("", "-wal", "-shm", "-journal"):
        beside = path.with_name(path.name + end)
        if beside.exists():
            beside.rename(aside.with_name(aside.name + end))
    return aside if was_there else None


def _folder(path: Path) -> Path:
    return path.parent / "backups"


def _number(backup: Path) -> int:
    return int(backup.stem.rpartition("-")[2])

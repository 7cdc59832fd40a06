"""The maker's settings: a JSON value under each key."""

import json
from typing import TypeAlias

from hidewright.store.book import Book

Json: TypeAlias = bool | int | float | str | list["Json"] | dict[str, "Json"] | None


def put_setting(book: Book, key: str, value: Json) -> None:
    """Keep a value under a key, over what was there.

    Raises:
        ValueError: When the value holds a number that is not finite.
    """
    text = json.dumps(value, ensure_ascii=False, allow_nan=False)
    with book.writing() as connection:
        connection.execute(
            "INSERT INTO setting (key, value) VALUES (?, ?) "
            "ON CONFLICT (key) DO UPDATE SET value = excluded.value",
            (key, text),
        )


def setting(book: Book, key: str, default: Json = None) -> Json:
    """Return the value under a key, or the default."""
    with book.reading() as connection:
        row = connection.execute("SELECT value FROM setting WHERE key = ?", (key,)).fetchone()
    if row is None:
        return default
    value: Json = json.loads(row[0])
    return value


def settings(book: Book) -> dict[str, Json]:
    """Return all settings by key."""
    with book.reading() as connection:
        rows = connection.execute("SELECT key, value FROM setting ORDER BY key").fetchall()
    return {key: json.loads(value) for key, value in rows}

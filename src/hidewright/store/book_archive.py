"""The whole book as one zip, and back: the rows as JSON, each version's text as a design file.

A zip of an older program's book is read as that program would have, and then brought up to date by
the same migrations as the book itself.
"""

import io
import json
import lzma
import sqlite3
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import closing, contextmanager

from hidewright.errors import RequestError
from hidewright.store import book_schema
from hidewright.store.book import Book
from hidewright.store.write_pack import zip_bytes

ROWS = "book.json"
#: What an archive may hold when unpacked: tens of thousands of versions, and no bomb.
LARGEST_BYTES = 1_000_000_000

_MADE_BY_BAD_BYTES = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    sqlite3.Error,
    LookupError,
    TypeError,
    ValueError,
    AttributeError,
    RuntimeError,
    EOFError,
    OSError,
    OverflowError,
)

Row = dict[str, str | int | float | None]
Tables = dict[str, list[Row]]


def book_export(book: Book) -> bytes:
    """Return everything in a book as one zip; the same book gives the same bytes."""
    with book.reading() as connection:
        version = book_schema.version_of(connection)
        tables = _read(connection)
    files = {}
    for row in tables["version"]:
        files[_text_file(row)] = str(row.pop("text")).encode()
    rows = {"schema": version, "tables": tables}
    files[ROWS] = json.dumps(rows, ensure_ascii=False, indent=1).encode()
    return zip_bytes(files)


def book_import(book: Book, data: bytes, *, replace: bool = False) -> None:
    """Put everything of an exported book into this one, which then holds just that.

    Args:
        book: An empty book.
        data: The zip that ``book_export`` made.
        replace: Whether a book with work in it may be replaced; it is backed up first.

    Raises:
        RequestError: When the zip is no whole archive of a book, a newer program made it, or there
            is work in the book that may not be replaced. The book is then as it was.
    """
    with _no_archive_in_words():
        version, tables = _unpack(data)
        tables = _up_to_date(version, tables)
    if replace:
        book.back_up()
    with book.writing() as connection:
        if not replace and any(_read(connection).values()):
            raise RequestError(
                f"there is work in the book {book.path} already",
                because="an archive would take its place",
                mend="Add --replace if that is meant; the book is backed up first",
            )
        connection.execute("PRAGMA defer_foreign_keys = ON")
        for name in book_schema.tables_of(connection):
            connection.execute(f"DELETE FROM {name}")
        _write(connection, tables)


def _unpack(data: bytes) -> tuple[int, Tables]:
    """Return the version of the archived book and its rows, texts put back into them."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        size = sum(entry.file_size for entry in archive.infolist())
        if size > LARGEST_BYTES:
            raise RequestError(
                f"the archive holds {size / 1e6:.0f} MB",
                because=f"a book has at most {LARGEST_BYTES / 1e6:.0f} MB",
                mend="Check that it is the file you mean",
            )
        rows = json.loads(archive.read(ROWS))
        version, tables = rows["schema"], rows["tables"]
        if type(version) is not int or version < 1:
            raise ValueError("its version is no number")
        if version > book_schema.newest():
            raise RequestError(
                f"the archive is of a book of version {version}",
                because=f"this program knows versions up to {book_schema.newest()}",
                mend="Bring hidewright up to date",
            )
        for row in tables["version"]:
            row["text"] = archive.read(_text_file(row)).decode()
    return version, tables


def _up_to_date(version: int, tables: Tables) -> Tables:
    """Return the rows of an older book as this program would have written them."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as staging:
        book_schema.migrate(staging, upto=version)
        if set(tables) != set(book_schema.tables_of(staging)):
            raise ValueError("its tables are not those of a book")
        _write(staging, tables)
        book_schema.require_references(staging)
        book_schema.migrate(staging)
        return _read(staging)


def _read(connection: sqlite3.Connection) -> Tables:
    """Return all rows of the maker's work by table, in an order that is always the same."""
    tables: Tables = {}
    for name in book_schema.tables_of(connection):
        found = connection.execute(f"SELECT * FROM {name} ORDER BY 1, 2")
        columns = [column for column, *_ in found.description]
        tables[name] = [dict(zip(columns, row, strict=True)) for row in found]
    return tables


def _write(connection: sqlite3.Connection, tables: Tables) -> None:
    for name, rows in tables.items():
        known = connection.execute(f"SELECT name FROM pragma_table_info('{name}')")
        columns = [column for (column,) in known]
        values = []
        for row in rows:
            if set(row) != set(columns):
                raise ValueError(f"a row of {name} has other columns")
            values.append([row[column] for column in columns])
        places = ", ".join("?" for _ in columns)
        connection.executemany(
            f"INSERT INTO {name} ({', '.join(columns)}) VALUES ({places})", values
        )


def _text_file(row: Row) -> str:
    return f"designs/{row['design']}/{row['number']:06d}.yaml"


@contextmanager
def _no_archive_in_words() -> Iterator[None]:
    """Turn what a file that is no whole archive makes go wrong into one sentence."""
    try:
        yield
    except RequestError:
        raise
    except _MADE_BY_BAD_BYTES as wrong:
        raise RequestError(
            "this is no whole archive of a book",
            because=str(wrong),
            mend="Choose a file that 'hidewright book export' wrote",
        ) from None

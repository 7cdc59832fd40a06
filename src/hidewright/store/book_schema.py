"""The tables of the book, as numbered migrations; the book's version is the last one applied."""

from sqlite3 import Connection

from hidewright.errors import RequestError

#: Marks a SQLite file as a book: the letters HIDE.
APPLICATION_ID = 0x48494445

_ISO = "[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]T*[-+][0-9][0-9]:[0-9][0-9]"


def _time(column: str) -> str:
    """Return the declaration of a column for a time: ISO 8601 with its offset from UTC."""
    return f"{column} TEXT NOT NULL CHECK ({column} GLOB '{_ISO}' AND julianday({column}) NOT NULL)"


def _noting(table: str, event: str, kind: str, key: str) -> str:
    """Return a trigger that gives what was written a new number in ``change``.

    Args:
        table: What is written to.
        event: INSERT, UPDATE or DELETE.
        kind: SQL for what sort of thing it is.
        key: SQL for which one.
    """
    return (
        f"CREATE TRIGGER {table}_{event.lower()} AFTER {event} ON {table} BEGIN "
        f"DELETE FROM change WHERE kind = {kind} AND key = {key}; "
        f"INSERT INTO change (kind, key) VALUES ({kind}, {key}); END"
    )


#: A design points at its current version, and a version at the one it was made from. ``change`` has
#: one row for each design, setting or other row ever written; its counter only grows.
_FIRST = (
    f"PRAGMA application_id = {APPLICATION_ID}",
    f"""CREATE TABLE design (
        id TEXT NOT NULL PRIMARY KEY CHECK (id <> ''),
        name TEXT NOT NULL,
        {_time("created")},
        {_time("changed")},
        archived INTEGER NOT NULL DEFAULT 0 CHECK (archived IN (0, 1)),
        deleted INTEGER NOT NULL DEFAULT 0 CHECK (deleted IN (0, 1)),
        current INTEGER NOT NULL,
        FOREIGN KEY (id, current) REFERENCES version (design, number)
            DEFERRABLE INITIALLY DEFERRED
    )""",
    f"""CREATE TABLE version (
        design TEXT NOT NULL REFERENCES design (id) ON DELETE CASCADE,
        number INTEGER NOT NULL CHECK (typeof(number) = 'integer' AND number >= 1),
        parent INTEGER CHECK (parent IS NULL OR typeof(parent) = 'integer' AND parent < number),
        text TEXT NOT NULL,
        {_time("saved")},
        why TEXT NOT NULL,
        PRIMARY KEY (design, number),
        FOREIGN KEY (design, parent) REFERENCES version (design, number)
            DEFERRABLE INITIALLY DEFERRED
    )""",
    "CREATE INDEX version_by_parent ON version (design, parent)",
    """CREATE TABLE setting (
        key TEXT NOT NULL PRIMARY KEY,
        value TEXT NOT NULL CHECK (json_valid(value))
    )""",
    """CREATE TABLE change (
        counter INTEGER PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL,
        key TEXT NOT NULL,
        UNIQUE (kind, key)
    )""",
    _noting("design", "INSERT", "'design'", "NEW.id"),
    _noting("design", "UPDATE", "'design'", "NEW.id"),
    _noting("version", "DELETE", "'design'", "OLD.design"),  # also when the design goes
    _noting("setting", "INSERT", "'setting'", "NEW.key"),
    _noting("setting", "UPDATE", "'setting'", "NEW.key"),
)

#: Rows of the workshop that are nouns with an id; their order is that in which they came in.
_SECOND = (
    """CREATE TABLE kept (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        kind TEXT NOT NULL CHECK (kind <> ''),
        id TEXT NOT NULL CHECK (id <> ''),
        body TEXT NOT NULL CHECK (json_valid(body)),
        UNIQUE (kind, id)
    )""",
    *(
        _noting("kept", event, f"{row}.kind", f"{row}.id")
        for event, row in (("INSERT", "NEW"), ("UPDATE", "NEW"), ("DELETE", "OLD"))
    ),
)

#: Migration n, counted from 1, brings a book of version n - 1 to version n. Never change one that
#: was released: add another.
MIGRATIONS: tuple[tuple[str, ...], ...] = (_FIRST, _SECOND)


def newest() -> int:
    """Return the version of book that this program writes."""
    return len(MIGRATIONS)


def version_of(connection: Connection) -> int:
    """Return the version of an open book; 0 for an empty file.

    Raises:
        RequestError: When the book was written by a newer program, or the file is another
            program's.
    """
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if application != APPLICATION_ID and (application or version or tables):
        raise RequestError(
            "this is no book of hidewright",
            because="another program made it",
            mend="Choose another file",
        )
    if version > newest():
        raise RequestError(
            f"the book has version {version}",
            because=f"a newer hidewright wrote it; this one knows versions up to {newest()}",
            mend="Bring hidewright up to date; the book was left as it is",
        )
    return int(version)


def migrate(connection: Connection, *, upto: int | None = None) -> None:
    """Apply the migrations that are missing, each with its number in one transaction.

    Args:
        connection: Open in autocommit mode, foreign keys off so that tables may be rebuilt.
        upto: Version to stop at; without it the newest.
    """
    for number, statements in enumerate(MIGRATIONS[:upto], start=1):
        connection.execute("BEGIN IMMEDIATE")
        try:
            if version_of(connection) < number:  # else another process was quicker
                for statement in statements:
                    connection.execute(statement)
                connection.execute(f"PRAGMA user_version = {number}")
                require_references(connection)
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise


def require_references(connection: Connection) -> None:
    """Raise when a row points at one that is not there.

    Raises:
        ValueError: Names the table.
    """
    wrong = connection.execute("PRAGMA foreign_key_check").fetchone()
    if wrong:
        raise ValueError(f"a row of {wrong[0]} points at no row of {wrong[2]}")


def tables_of(connection: Connection) -> tuple[str, ...]:
    """Return the names of the tables that hold the maker's work, in order of their making."""
    rows = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' "
        "AND name NOT LIKE 'sqlite#_%' ESCAPE '#' AND name <> 'change' ORDER BY rowid"
    )
    return tuple(name for (name,) in rows)

"""What has been written since one last looked, by whichever thread or program."""

from dataclasses import dataclass

from hidewright.store.book import Book


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What was written since a count.

    Attributes:
        counter: The count now; ask with it the next time.
        designs: Ids of designs that were added, changed, thinned or purged.
        settings: Keys of settings that were put.
        kept: Kinds of other rows that were put or dropped, such as ``order``.
    """

    counter: int
    designs: frozenset[str]
    settings: frozenset[str]
    kept: frozenset[str]


def changes_since(book: Book, counter: int) -> Changes:
    """Return what was written since a count that an earlier call returned, 0 for all."""
    with book.reading() as connection:
        rows = connection.execute(
            "SELECT counter, kind, key FROM change WHERE counter > ? ORDER BY counter", (counter,)
        ).fetchall()
    return Changes(
        counter=rows[-1][0] if rows else counter,
        designs=frozenset(key for _, kind, key in rows if kind == "design"),
        settings=frozenset(key for _, kind, key in rows if kind == "setting"),
        kept=frozenset(kind for _, kind, _ in rows) - {"design", "setting"},
    )

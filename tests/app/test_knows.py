"""What the running app holds of the workshop's own: at once after a restart, else learned."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from hidewright.app.asked_book import BOOK, Learnt
from hidewright.app.knows import Knows
from hidewright.app.worker import Done, Part, Tell
from hidewright.design.bench_reading import BenchReading
from hidewright.store.book import Book
from hidewright.store.book_readings import add_reading
from hidewright.workshop.book_learned import Pressings, shelf_in

pytestmark = pytest.mark.asyncio


class Asking:
    """A running app that notes what is asked of it."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.asked: list[tuple[str, Tell]] = []
        self.told: list[str] = []
        self.looks = 0

    def ask(self, make: str, key: str, question: object, tell: Tell) -> None:
        self.asked.append((make, tell))

    def tell(self, *kinds: str) -> None:
        self.told += kinds

    def look_anew(self) -> None:
        self.looks += 1


@pytest.fixture
def asking(tmp_path: Path) -> Iterator[Asking]:
    with Book(tmp_path / "book.sqlite") as book:
        yield Asking(book)


def read_kerf(book: Book) -> None:
    day = date(2026, 3, 2)
    add_reading(book, BenchReading(what="kerf", subject="MDF 6 mm", value=0.17, day=day))


async def test_after_a_restart_what_was_learned_is_there_at_once_and_nothing_is_asked(
    asking: Asking,
) -> None:
    read_kerf(asking.book)
    learned = shelf_in(asking.book, Pressings())
    knows = Knows(asking)
    await knows.begin()
    assert asking.asked == []
    (before,), (now,) = (one.about for one in (learned, knows.shelf))
    assert now.known == before.known
    assert (asking.looks, asking.told) == (1, ["learned"])


async def test_readings_that_were_not_learned_from_are_asked_about_at_the_start(
    asking: Asking,
) -> None:
    read_kerf(asking.book)
    before = shelf_in(asking.book, Pressings())
    read_kerf(asking.book)
    knows = Knows(asking)
    await knows.begin()
    # what was learned last is shown meanwhile, and it is said that more is being reckoned with
    (was,), (shown,) = (one.about for one in (before, knows.shelf))
    assert shown.known == was.known
    assert knows.state.startswith("Reckoning with your readings")
    ((make, tell),) = asking.asked
    assert make == BOOK
    learned = shelf_in(asking.book, Pressings())
    tell(Part(Learnt(shelf=learned)))
    tell(Done())
    assert knows.shelf is learned
    assert knows.state == ""


async def test_a_book_without_readings_asks_nothing_and_knows_nothing(asking: Asking) -> None:
    knows = Knows(asking)
    await knows.begin()
    assert asking.asked == []
    assert knows.shelf.about == ()

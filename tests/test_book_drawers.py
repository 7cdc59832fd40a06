"""Rows of the workshop: what was put comes back, through the archive too, and no edit is lost."""

import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.design.customer_order import CustomerOrder, Status
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_archive import book_export, book_import
from hidewright.store.book_changes import changes_since
from hidewright.store.book_drawers import Drawer
from hidewright.store.book_orders import ORDERS

DAY = date(2026, 11, 20)
ORDER = CustomerOrder(
    customer="Alder Row", design="d", article="Lens case", quantity=24, received=DAY
)
MADE = st.builds(
    lambda quantity, made, due, **rest: CustomerOrder(
        quantity=quantity, made=min(made, quantity), received=DAY, due=due, **rest
    ),
    quantity=st.integers(1, 100_000),
    made=st.integers(0, 100_000),
    due=st.none() | st.integers(0, 4000).map(lambda days: DAY + timedelta(days)),
    customer=st.text(min_size=1).filter(str.strip),
    design=st.text(),
    article=st.text(),
    colour=st.text(),
    status=st.sampled_from(Status.__args__),  # type: ignore[attr-defined]
    price_minor=st.none() | st.integers(0, 10**9),
    deposit_minor=st.integers(0, 10**9),
    paid_minor=st.integers(0, 10**9),
    note=st.text(),
)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with Book(tmp_path / "book.sqlite") as book:
        yield book


@settings(max_examples=30)
@given(st.dictionaries(st.text(min_size=1), MADE, max_size=5))
def test_what_was_put_comes_back_in_its_order_through_the_archive_too(
    rows: dict[str, CustomerOrder],
) -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        Book(Path(folder) / "one.sqlite") as book,
        Book(Path(folder) / "two.sqlite") as other,
    ):
        for id, row in rows.items():
            ORDERS.put(book, id, row)
        assert list(ORDERS.rows(book).items()) == list(rows.items())
        book_import(other, book_export(book))
        assert list(ORDERS.rows(other).items()) == list(rows.items())


def test_drawers_do_not_mix(book: Book) -> None:
    quotes = Drawer(kind="quote", noun=CustomerOrder)
    ORDERS.put(book, "1", ORDER)
    assert quotes.rows(book) == {}
    assert not quotes.drop(book, "1")
    assert ORDERS.drop(book, "1")
    with pytest.raises(RequestError, match="no longer in the book"):
        ORDERS.get(book, "1")


def test_edits_at_once_are_none_lost(book: Book) -> None:
    ORDERS.put(book, "1", ORDER)

    def pay(_: int) -> None:
        ORDERS.edit(book, "1", lambda row: replace(row, paid_minor=row.paid_minor + 1))

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(pay, range(200)))
    assert ORDERS.get(book, "1").paid_minor == 200


def test_an_edit_that_is_refused_leaves_the_row(book: Book) -> None:
    ORDERS.put(book, "1", ORDER)
    with pytest.raises(RequestError, match="25 of 24 made"):
        ORDERS.edit(book, "1", lambda row: replace(row, made=25))
    assert ORDERS.get(book, "1") == ORDER


def test_others_are_told_which_kind_was_put_or_dropped(book: Book) -> None:
    seen = changes_since(book, 0)
    for write in (
        lambda: ORDERS.put(book, "1", ORDER),
        lambda: ORDERS.edit(book, "1", lambda row: replace(row, made=1)),
        lambda: ORDERS.drop(book, "1"),
    ):
        write()
        seen = changes_since(book, seen.counter)
        assert seen.kept == {"order"}
    assert changes_since(book, seen.counter).kept == frozenset()


def test_a_row_that_cannot_be_read_is_told_and_left(book: Book) -> None:
    ORDERS.put(book, "1", ORDER)
    with book.writing() as connection:
        connection.execute("UPDATE kept SET body = json_set(body, '$.quantity', 0)")
    with pytest.raises(RequestError, match="cannot be read"):
        ORDERS.rows(book)

"""Readings, stock and moulds in the book: what was put comes back, and each says what is wrong."""

import tempfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.design.bench_reading import KINDS, BenchReading, Standing
from hidewright.design.stock_item import (
    StockItem,
    StockSort,
    StockUnit,
    ToolingSet,
    stock_remarks,
    tooling_remarks,
)
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_archive import book_export, book_import
from hidewright.store.book_readings import (
    READINGS,
    add_demo_readings,
    add_reading,
    demo_readings,
    read_readings,
    stand,
)
from hidewright.store.book_stock import STOCK, keep_item, stock_quantities, take
from hidewright.store.book_tooling import TOOLING, keep_tooling, pressed

DAY = date(2026, 3, 2)
KERF = BenchReading(what="kerf", subject="MDF 6 mm", value=0.18, day=DAY)
ABOVE_0 = st.floats(1e-3, 1e4, allow_nan=False)


def made(
    kinds: list[str],
    values: st.SearchStrategy[float],
    of: st.SearchStrategy[float | None] = ABOVE_0,
) -> st.SearchStrategy[BenchReading]:
    return st.builds(
        BenchReading,
        what=st.sampled_from(kinds),
        subject=st.text(min_size=1).filter(str.strip),
        lot=st.text(max_size=20),
        value=values,
        of=of,
        depth_mm=st.floats(1.0, 30.0),
        design=st.text(max_size=20),
        place=st.text(max_size=20),
        count=st.integers(1, 1000),
        error=st.none() | ABOVE_0,
        day=st.integers(0, 4000).map(lambda days: DAY + timedelta(days)),
        standing=st.sampled_from(get_args(Standing)),
        note=st.text(max_size=40),
    )


MADE = made([k for k, one in KINDS.items() if not one.cracks], ABOVE_0) | made(
    [k for k, one in KINDS.items() if one.cracks],
    st.floats(1.0, 30.0),
    st.none() | st.floats(0.1, 0.9),
)
ITEMS = st.builds(
    StockItem,
    sort=st.sampled_from(get_args(StockSort)),
    name=st.text(min_size=1).filter(str.strip),
    quantity=st.floats(0.0, 1e7),
    unit=st.sampled_from(get_args(StockUnit)),
    reorder_at=st.floats(0.0, 1e7),
    used=st.floats(0.0, 1e7),
    measured_mm=st.none() | st.floats(0.05, 100.0),
    note=st.text(max_size=40),
)
SETS = st.builds(
    ToolingSet,
    name=st.text(min_size=1).filter(str.strip),
    design=st.text(max_size=20),
    pressings=st.integers(0, 10**6),
    life=st.integers(1, 10**6),
    note=st.text(max_size=40),
)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with Book(tmp_path / "book.sqlite") as book:
        yield book


@settings(max_examples=12, deadline=None)
@given(
    st.dictionaries(st.text(min_size=1), MADE, max_size=4),
    st.dictionaries(st.text(min_size=1), ITEMS, max_size=4),
    st.dictionaries(st.text(min_size=1), SETS, max_size=4),
)
def test_what_was_put_comes_back_to_the_bit_through_the_archive_too(
    readings: dict[str, BenchReading], items: dict[str, StockItem], sets: dict[str, ToolingSet]
) -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        Book(Path(folder) / "one.sqlite") as book,
        Book(Path(folder) / "two.sqlite") as other,
    ):
        drawers: tuple[tuple[Any, dict[str, Any]], ...] = (
            (READINGS, readings), (STOCK, items), (TOOLING, sets),
        )  # fmt: skip
        for drawer, rows in drawers:
            for id, row in rows.items():
                drawer.put(book, id, row)
        book_import(other, book_export(book))
        for drawer, rows in drawers:
            assert drawer.rows(book) == rows
            assert list(drawer.rows(other)) == list(rows)
            assert drawer.rows(other) == rows


def test_a_reading_is_withdrawn_kept_and_counted_again_and_nothing_else_of_it_changes(
    book: Book,
) -> None:
    id = add_reading(book, KERF)
    for standing in get_args(Standing):
        stand(book, id, standing)
        assert READINGS.rows(book) == {id: replace(KERF, standing=standing)}
    with pytest.raises(RequestError, match="no longer in the book"):
        stand(book, "gone", "kept")


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"what": "colour"}, r"no reading is called 'colour'.*kerf"),
        ({"subject": " "}, "a reading of no board"),
        ({"value": 0.0}, "value is 0: it lies above 0"),
        ({"value": float("nan")}, "value is nan"),
        ({"error": -0.1}, "error is -0.1"),
        ({"count": 0}, "a batch of 0"),
        ({"what": "dried length along"}, "without what it is compared with. Give soaked, mm"),
        ({"what": "pull-in along"}, "pull-in along on nothing"),
        ({"what": "pull-in along", "depth_mm": 50.0}, "a test plug 50 mm deep"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_words(changed: dict[str, Any], words: str) -> None:
    with pytest.raises(RequestError, match=words):
        replace(KERF, **changed)


def test_an_edge_that_did_not_move_is_read_as_0_and_counts_as_any_other() -> None:
    """Its error is that of the ruler, whatever is read: 0 is no share of anything."""
    still = replace(KERF, what="pull-in across", subject="leather", value=0.0, depth_mm=12.0)
    moved = replace(still, value=3.4)
    assert (still.value, still.deviation) == (0.0, moved.deviation)
    with pytest.raises(RequestError, match=r"value is -0\.1: it is 0 or above 0"):
        replace(still, value=-0.1)
    with pytest.raises(RequestError, match="error is 0: it lies above 0"):
        replace(still, error=0.0)
    assert {what for what, kind in KINDS.items() if kind.may_be_0} == {
        "pull-in along",
        "pull-in across",
    }


def test_the_error_of_a_reading_is_its_kinds_unless_the_maker_says_another() -> None:
    assert KERF.deviation == KINDS["kerf"].error
    assert replace(KERF, error=0.05).deviation == 0.05
    timed = BenchReading(what="minutes", subject="sew", value=60.0, of=50.0, day=DAY)
    assert timed.deviation == pytest.approx(0.1 * 60.0)


def test_a_file_of_readings_is_read_and_a_wrong_row_is_named() -> None:
    good = b"- {what: kerf, subject: MDF 6 mm, value: 0.18, day: 2026-03-02}\n"
    assert read_readings(good, name="mine.yaml") == (KERF,)
    assert read_readings(b"", name="mine.yaml") == ()
    with pytest.raises(RequestError, match=r"mine.yaml row 2: what: Input should be 'kerf'"):
        read_readings(good + good.replace(b"kerf", b"karf"), name="mine.yaml")
    with pytest.raises(RequestError, match=r"mine.yaml row 1: day:"):
        read_readings(good.replace(b"2026-03-02", b"yesterday"), name="mine.yaml")
    with pytest.raises(RequestError, match=r"row 1: a reading has no 'width'"):
        read_readings(good.replace(b"value:", b"width: 1, value:"), name="mine.yaml")
    with pytest.raises(RequestError, match="no list of readings"):
        read_readings(b"what: kerf\n", name="mine.yaml")


def test_the_demos_readings_on_designs_that_are_not_there_are_left_out(book: Book) -> None:
    every = demo_readings()
    on_designs = [one for one in every if one.design]
    assert on_designs
    assert add_demo_readings(book, {}) == len(every) - len(on_designs)
    assert not any(one.design for one in READINGS.rows(book).values())
    assert add_demo_readings(book, {"Lens case": "some id"}) == len(every)
    ids = {one.design for one in READINGS.rows(book).values() if one.design}
    assert ids == {"some id"}


@settings(max_examples=12, deadline=None)
@given(st.lists(st.integers(-40, 60), max_size=12))
def test_stock_never_goes_below_nothing_and_use_is_what_was_taken(taken: list[int]) -> None:
    with tempfile.TemporaryDirectory() as folder, Book(Path(folder) / "one.sqlite") as book:
        item = StockItem(sort="thread", name="waxed linen", quantity=100.0, unit="m")
        id = keep_item(book, item)
        left = used = 0
        for by in taken:
            if by > 100 + left:
                with pytest.raises(RequestError, match="there are"):
                    take(book, id, by)
                continue
            take(book, id, by)
            left, used = left - by, used + max(by, 0)
        now = STOCK.get(book, id)
        assert (now.quantity, now.used) == (100 + left, used)


def test_quantities_for_the_shopping_list_add_rows_of_one_name(book: Book) -> None:
    for name, quantity in (("MDF 6 mm", 2.0), ("waxed linen", 40.0), ("MDF 6 mm", 1.5)):
        keep_item(book, StockItem(sort="sheet", name=name, quantity=quantity, unit="sheets"))
    assert stock_quantities(book) == {"MDF 6 mm": 3.5, "waxed linen": 40.0}


def test_what_is_below_its_reorder_point_is_told() -> None:
    full = StockItem(sort="dye", name="brown", quantity=100.0, unit="ml", reorder_at=100.0)
    assert stock_remarks((full,)) == ()
    (short,) = stock_remarks((full, replace(full, quantity=99.0)))
    assert (short.code, short.place, short.amount, short.limit) == (
        "stock-short", "brown", 99.0, 100.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("times", "codes"), [(89, ()), (90, ("tooling-wears",)), (100, ("tooling-worn",))]
)
def test_a_mould_near_and_past_its_life_is_told(
    book: Book, times: int, codes: tuple[str, ...]
) -> None:
    id = keep_tooling(book, ToolingSet(name="Lens case, pair of shells", life=100))
    now = pressed(book, id, times)
    assert now == TOOLING.get(book, id)
    assert tuple(one.code for one in tooling_remarks((now,))) == codes
    with pytest.raises(RequestError, match="-1 of 100 pressings"):
        pressed(book, id, -times - 1)

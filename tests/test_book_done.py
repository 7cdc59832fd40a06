"""Steps that are done are rows of the book, and stay when their plan is gone."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from hidewright.design.step_done import BatchDone, StepDone, batches_done
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan, Task, Work
from hidewright.planning.calendar import DAY
from hidewright.planning.loads import Load, Share
from hidewright.store.book import Book
from hidewright.store.book_archive import book_export, book_import
from hidewright.store.book_done import DONE
from hidewright.store.book_workshop import keep_plan
from hidewright.store.plan_ticks import keep_ticks

MONDAY = date(2026, 3, 2)


def task(number: int, step: str, day: int) -> Task:
    start = day * DAY + 600
    return Task(
        key=f"{number}/{step}",
        load=number,
        step=step,
        words=f"{step}, 4 blanks",
        minutes=30 + day,
        times=(Work(person="Wren", start=start, end=start + 30 + day),),
    )


def plan() -> BatchPlan:
    return BatchPlan(
        monday=MONDAY,
        made=0,
        loads=tuple(
            Load(number=k, design="lens", colour="tan", shares=(Share(order=f"o{k}", count=4),))
            for k in (1, 2)
        ),
        articles=(("lens", "Lens case"),),
        tasks=tuple(task(k, step, day) for k in (1, 2) for day, step in enumerate(("cut", "sew"))),
        taken=(),
        stations=(),
        orders=(),
        status="feasible",
        finish=2 * DAY,
        bound=0,
        rounds=1,
        seed=0,
    )


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with Book(tmp_path / "book.sqlite") as opened:
        keep_plan(opened, plan())
        yield opened


def tick(book: Book, *keys: str, done: bool = True) -> None:
    def change(old: BatchPlan) -> BatchPlan:
        tasks = (
            replace(one, state="done" if done else "planned") if one.key in keys else one
            for one in old.tasks
        )
        return replace(old, tasks=tuple(tasks))

    keep_ticks(book, change, lambda before, after: {})


def test_a_tick_makes_a_row_and_taking_it_back_takes_the_row_out(book: Book) -> None:
    tick(book, "1/cut", "1/sew", "2/cut")
    rows = list(DONE.rows(book).values())
    assert [(one.load, one.step, one.day, one.minutes) for one in rows] == [
        (1, "cut", date(2026, 3, 2), 30),
        (1, "sew", date(2026, 3, 3), 31),
        (2, "cut", date(2026, 3, 2), 30),
    ]
    assert {(one.article, one.colour, one.count, one.orders) for one in rows} == {
        ("Lens case", "tan", 4, ("o1",)),
        ("Lens case", "tan", 4, ("o2",)),
    }
    tick(book, "1/sew", done=False)
    assert [one.step for one in DONE.rows(book).values()] == ["cut", "cut"]
    tick(book, "1/sew")
    assert len(DONE.rows(book)) == 3


def test_what_is_done_outlives_its_plan_and_a_later_load_of_the_same_number(book: Book) -> None:
    tick(book, "1/cut", "1/sew")
    later = replace(plan(), monday=date(2026, 5, 4))
    keep_plan(book, None)
    assert len(DONE.rows(book)) == 2
    keep_plan(book, later)
    tick(book, "1/cut")
    assert [one.day for one in DONE.rows(book).values()] == [
        date(2026, 3, 2),
        date(2026, 3, 3),
        date(2026, 5, 4),
    ]


def test_a_row_that_was_lost_with_a_killed_process_comes_with_the_next_tick(book: Book) -> None:
    tick(book, "1/cut")
    DONE.drop(book, next(iter(DONE.rows(book))))
    tick(book, "2/cut")
    assert [(one.load, one.step) for one in DONE.rows(book).values()] == [(1, "cut"), (2, "cut")]


def test_loads_are_summed_step_by_step_the_newest_first(book: Book) -> None:
    tick(book, "1/cut", "1/sew", "2/cut")
    assert batches_done(DONE.rows(book).values()) == (
        BatchDone(
            article="Lens case",
            colour="tan",
            count=4,
            steps=2,
            first=date(2026, 3, 2),
            last=date(2026, 3, 3),
            minutes=61,
        ),
        BatchDone(
            article="Lens case",
            colour="tan",
            count=4,
            steps=1,
            first=date(2026, 3, 2),
            last=date(2026, 3, 2),
            minutes=30,
        ),
    )
    assert batches_done(()) == ()


def test_they_go_with_the_archive(book: Book, tmp_path: Path) -> None:
    tick(book, "1/cut", "1/sew")
    with Book(tmp_path / "other.sqlite") as other:
        book_import(other, book_export(book))
        assert DONE.rows(other) == DONE.rows(book)


def test_a_step_of_no_article_is_refused(book: Book) -> None:
    tick(book, "1/cut")
    (row,) = DONE.rows(book).values()
    assert isinstance(row, StepDone)
    with pytest.raises(RequestError, match="0 articles"):
        replace(row, count=0)

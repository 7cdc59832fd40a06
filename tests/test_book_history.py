"""The history of one design: undo and redo, thinning, and what other windows are told of it."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_changes import changes_since
from hidewright.store.book_designs import add_design, delete, design_of, purge
from hidewright.store.book_settings import put_setting
from hidewright.store.book_versions import (
    Conflict,
    save_version,
    set_current,
    specification_of,
    text_of,
    thin,
    versions,
)
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design

DESIGN = "6f1c7c1e-5b0a-4a53-9d0c-2f6f2b3f7a11"
#: When versions 1 to 7 were saved; the fourth on the maker's 21st, though it is the 20th in UTC.
SAVED = (
    "2026-11-20T09:00:00+01:00",
    "2026-11-20T10:00:00+01:00",
    "2026-11-20T11:00:00+01:00",
    "2026-11-21T00:30:00+01:00",
    "2026-11-21T12:00:00+01:00",
    "2026-11-22T08:00:00+01:00",
    "2026-11-22T08:01:00+01:00",
)


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    """Yield a book of one design: 1 - 2 - 3, back to 2, then 4 - 5 - 6 - 7 from there."""
    with Book(tmp_path / "book.sqlite") as book:
        add_design(book, DESIGN, name="Pouch", text="1", when=SAVED[0])
        for number, parent in ((2, 1), (3, 2), (4, 2), (5, 4), (6, 5), (7, 6)):
            if number == 4:
                assert set_current(book, DESIGN, 2, was=3, when=SAVED[3]) == 2
            when = SAVED[number - 1]
            assert number == save_version(
                book, DESIGN, text=str(number), parent=parent, when=when, why=""
            )
        yield book


def _parents(book: Book) -> dict[int, int | None]:
    return {v.number: v.parent for v in versions(book, DESIGN)}


def test_what_a_design_says_is_that_of_the_version_asked_for_and_is_refused_by_its_name(
    book: Book,
) -> None:
    with pytest.raises(RequestError) as refused:
        specification_of(book, DESIGN)  # a text that says "7" is no design
    assert refused.value.where == "Pouch line 1"
    data = demo_designs()["lens-case.yaml"]
    number = save_version(book, DESIGN, text=data.decode(), parent=7, when=SAVED[6], why="")
    assert isinstance(number, int)
    said = read_design(data, name="").specification
    assert specification_of(book, DESIGN) == specification_of(book, DESIGN, number) == said
    with pytest.raises(RequestError):
        specification_of(book, DESIGN, 7)


def test_undo_leads_to_what_was_edited_also_after_a_restart(book: Book) -> None:
    with Book(book.path) as again:
        assert _parents(again) == {1: None, 2: 1, 3: 2, 4: 2, 5: 4, 6: 5, 7: 6}
        assert set_current(again, DESIGN, 6, was=7, when=SAVED[6]) == 6
    assert design_of(book, DESIGN).current == 6


def test_an_edit_of_what_is_no_longer_current_is_a_conflict_and_writes_nothing(book: Book) -> None:
    before = versions(book, DESIGN), design_of(book, DESIGN)
    conflict = Conflict(current=7)
    assert save_version(book, DESIGN, text="x", parent=6, when=SAVED[6], why="") == conflict
    assert set_current(book, DESIGN, 1, was=6, when=SAVED[6]) == conflict
    assert (versions(book, DESIGN), design_of(book, DESIGN)) == before


def test_thinning_keeps_the_last_of_each_of_the_makers_days_and_the_last_session(
    book: Book,
) -> None:
    # the last session began at 8 h on the 22nd, told in another offset
    assert thin(book, DESIGN, since="2026-11-22T07:00:00+00:00") == 3
    assert _parents(book) == {3: None, 5: None, 6: 5, 7: 6}
    assert [text_of(book, DESIGN, number) for number in (3, 5, 6, 7)] == ["3", "5", "6", "7"]
    with pytest.raises(RequestError, match="version 2 is not in the book"):
        text_of(book, DESIGN, 2)
    with pytest.raises(RequestError, match="version 2 is not in the book"):
        set_current(book, DESIGN, 2, was=7, when=SAVED[6])


def test_thinning_keeps_the_current_version_and_what_leads_to_it(book: Book) -> None:
    set_current(book, DESIGN, 4, was=7, when=SAVED[6])
    assert thin(book, DESIGN, since="2026-11-23T00:00:00+01:00") == 3
    assert _parents(book) == {3: None, 4: None, 5: 4, 7: 5}


def test_a_number_is_never_used_again(book: Book) -> None:
    set_current(book, DESIGN, 1, was=7, when=SAVED[6])
    thin(book, DESIGN, since="2026-11-23T00:00:00+01:00")
    assert save_version(book, DESIGN, text="8", parent=1, when=SAVED[6], why="") == 8


def test_another_window_is_told_of_each_change_once(book: Book) -> None:
    with Book(book.path) as other:
        counter = changes_since(other, 0).counter
        assert changes_since(other, counter).designs == frozenset()
        for change in (
            lambda: save_version(book, DESIGN, text="8", parent=7, when=SAVED[6], why=""),
            lambda: set_current(book, DESIGN, 7, was=8, when=SAVED[6]),
            lambda: thin(book, DESIGN, since="2026-11-22T08:00:00+01:00"),
            lambda: delete(book, DESIGN),
            lambda: purge(book, DESIGN),
        ):
            change()
            found = changes_since(other, counter)
            assert (list(found.designs), list(found.settings)) == ([DESIGN], [])
            counter = found.counter
        for value in ("mm", "in"):
            put_setting(book, "unit", value)
            found = changes_since(other, counter)
            assert (list(found.designs), list(found.settings)) == ([], ["unit"])
            counter = found.counter

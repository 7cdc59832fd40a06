"""An open design: every edit saved, undone and done again, also by another process's leave."""

import asyncio
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from hidewright.app.desk import Desk, open_desk
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.errors import RequestError
from hidewright.store.book import Book
from hidewright.store.book_designs import add_design, design_of
from hidewright.store.book_versions import save_version, versions
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.workshop.begin import begin
from hidewright.workshop.edit import edited

pytestmark = pytest.mark.asyncio
SHELF = built_in_catalogue()
SPEC = begin("flat-back pouch", SHELF, name="pouch")
_SECONDS = count()


def clock() -> str:
    """Return a time a second later than the last."""
    at = next(_SECONDS)
    return f"2026-01-01T{at // 3600:02d}:{at // 60 % 60:02d}:{at % 60:02d}+00:00"


@pytest.fixture
def book(tmp_path: Path) -> Any:
    with Book(tmp_path / "book.sqlite") as one:
        add_design(one, "d", name="pouch", text=write_design(SPEC), when=clock())
        yield one


def depth(desk: Desk) -> float:
    value: float = desk.spec.brief.measures.depth_mm
    return value


def in_book(book: Book) -> Any:
    return open_desk("d", book, clock).spec


async def test_each_edit_is_a_step_in_the_book_and_undo_leads_back_through_all(book: Book) -> None:
    desk = open_desk("d", book, clock)
    specs = [desk.spec]
    for mm in (13, 14, 15, 16):
        desk.edit("measures.depth", f"{mm} mm", SHELF)
        specs.append(desk.spec)
    await desk.settle()
    assert desk.is_saved
    assert in_book(book) == specs[-1]
    assert len(versions(book, "d")) == 5
    for spec in reversed(specs[:-1]):
        desk.undo()
        await desk.settle()
        assert desk.spec == spec == in_book(book)
    desk.undo()
    assert desk.spec == specs[0]
    assert desk.undoes == ""
    for spec in specs[1:]:
        desk.redo()
        await desk.settle()
        assert desk.spec == spec == in_book(book)
    assert desk.redoes == ""
    assert len(versions(book, "d")) == 5, "undo and redo wrote versions"


async def test_a_drag_is_one_step_however_many_values_it_passes(book: Book) -> None:
    desk = open_desk("d", book, clock)
    before = desk.spec
    for tenth in range(130, 180):
        desk.edit("measures.depth", f"{tenth / 10} mm", SHELF, held=True)
    desk.edit("measures.depth", "18 mm", SHELF)
    await desk.settle()
    assert [v.why for v in versions(book, "d")][1:] == ["depth: 18 mm"]
    desk.undo()
    assert desk.spec == before


async def test_a_drag_that_is_never_let_go_is_kept_all_the_same(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("hidewright.app.desk.LEFT_S", 0.02)
    desk = open_desk("d", book, clock)
    desk.edit("measures.depth", "15 mm", SHELF, held=True)
    assert not desk.is_saved
    while not desk.is_saved:
        await asyncio.sleep(0.01)
    assert in_book(book).brief.measures.depth_mm == 15


async def test_a_slider_that_comes_back_to_where_it_was_leaves_no_step(book: Book) -> None:
    desk = open_desk("d", book, clock)
    was = depth(desk)
    desk.edit("measures.depth", "17 mm", SHELF, held=True)
    desk.edit("measures.depth", f"{was} mm", SHELF)
    await desk.settle()
    assert len(versions(book, "d")) == 1
    assert desk.undoes == ""


async def test_two_fields_dragged_one_after_the_other_are_two_steps(book: Book) -> None:
    desk = open_desk("d", book, clock)
    desk.edit("measures.depth", "15 mm", SHELF, held=True)
    desk.edit("measures.flange", "14 mm", SHELF, held=True)
    await desk.settle()
    assert [v.why for v in versions(book, "d")][1:] == ["depth: 15 mm", "flange: 14 mm"]


async def test_a_value_that_is_refused_changes_nothing_and_names_its_field(book: Book) -> None:
    desk = open_desk("d", book, clock)
    before = desk.spec
    heard: list[str] = []
    desk.listen(heard.append)
    for text in ("900 mm", "three", "", "12"):
        with pytest.raises(RequestError) as refused:
            desk.edit("measures.depth", text, SHELF)
        assert "depth" in str(refused.value)
    assert desk.spec == before
    assert not heard
    assert desk.is_saved


async def test_a_new_edit_after_undo_takes_the_place_of_what_redo_led_to(book: Book) -> None:
    desk = open_desk("d", book, clock)
    desk.edit("measures.depth", "15 mm", SHELF)
    desk.undo()
    desk.edit("measures.depth", "16 mm", SHELF)
    assert desk.redoes == ""
    await desk.settle()
    again = open_desk("d", book, clock)
    assert depth(again) == 16
    assert again.redoes == ""
    again.undo()
    await again.settle()
    assert again.spec == SPEC


async def test_after_a_restart_undo_and_redo_lead_where_they_led(book: Book) -> None:
    desk = open_desk("d", book, clock)
    for mm in (13, 14, 15):
        desk.edit("measures.depth", f"{mm} mm", SHELF)
    desk.undo()
    await desk.settle()
    again = open_desk("d", book, clock)
    assert depth(again) == 14
    assert (again.undoes, again.redoes) == ("depth: 14 mm", "depth: 15 mm")
    again.redo()
    await again.settle()
    assert depth(again) == 15
    again.undo()
    again.undo()
    await again.settle()
    assert depth(again) == 13


async def test_every_window_hears_of_every_change_until_it_stops_listening(book: Book) -> None:
    desk = open_desk("d", book, clock)
    one: list[str] = []
    two: list[str] = []
    stop = desk.listen(one.append)
    desk.listen(two.append)
    desk.edit("measures.depth", "15 mm", SHELF)
    await desk.settle()
    stop()
    desk.undo()
    await desk.settle()
    assert one.count("design") == 1
    assert two.count("design") == 2
    assert "saved" in two


async def test_what_another_process_wrote_is_taken_over_and_not_written_over(book: Book) -> None:
    desk = open_desk("d", book, clock)
    brief = SPEC.brief
    other = replace(SPEC, brief=replace(brief, measures=replace(brief.measures, depth_mm=21.0)))
    save_version(book, "d", text=write_design(other), parent=1, when=clock(), why="elsewhere")
    await desk.look_again()
    assert desk.spec == other
    save_version(book, "d", text=write_design(SPEC), parent=2, when=clock(), why="and again")
    desk.edit("measures.depth", "15 mm", SHELF)  # it does not know yet
    await desk.settle()
    assert [v.why for v in versions(book, "d")] == ["new", "elsewhere", "and again"]
    assert desk.spec == SPEC


async def test_an_edit_that_another_process_was_quicker_than_can_be_had_by_redo(
    book: Book,
) -> None:
    desk = open_desk("d", book, clock)
    theirs = edited(SPEC, "measures.height", "111 mm", SHELF)
    save_version(book, "d", text=write_design(theirs), parent=1, when=clock(), why="elsewhere")
    desk.edit("measures.width", "77 mm", SHELF)
    await desk.settle()
    assert desk.spec == theirs
    assert "width: 77 mm" in desk.notice
    desk.redo()
    await desk.settle()
    assert desk.spec.brief.measures.width_mm == 77.0
    assert desk.notice == ""
    assert open_desk("d", book, clock).spec == desk.spec
    desk.undo()
    await desk.settle()
    assert desk.spec == theirs


async def test_an_edit_that_cannot_be_saved_is_told_and_saved_with_the_next(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = open_desk("d", book, clock)

    def full(*_: object, **__: object) -> int:
        raise RequestError("the book cannot be written", because="the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr("hidewright.app.desk.save_version", full)
        desk.edit("measures.depth", "15 mm", SHELF)
        await desk.settle()
    assert "disk is full" in desk.trouble
    assert not desk.is_saved
    assert depth(desk) == 15
    desk.edit("measures.flange", "14 mm", SHELF)
    await desk.settle()
    assert desk.is_saved
    assert in_book(book) == desk.spec


async def test_a_new_name_goes_into_the_list_of_designs(book: Book) -> None:
    desk = open_desk("d", book, clock)
    desk.edit("name", "  field   pouch ", SHELF)
    await desk.settle()
    assert design_of(book, "d").name == "field pouch"
    assert read_design(write_design(desk.spec).encode(), name="x").specification == desk.spec

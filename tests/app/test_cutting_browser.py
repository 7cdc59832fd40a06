"""Cutting as the maker meets it in a real browser: progress, stop, pins by drag and by keys."""

import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from browser_here import MARKS, kept_out

pytestmark = MARKS
PATIENCE_MS = 120_000


def enter(page: Any, label: str, value: str) -> None:
    field = page.get_by_label(label, exact=True)
    field.fill(value)
    field.press("Tab")


def press(page: Any, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).click()


def state(page: Any, words: str) -> None:
    """Wait until the status over the picture says so."""
    page.locator(".showing .state", has_text=re.compile(words)).wait_for()


def begin(page: Any, seconds: str, sets: str = "3") -> None:
    """Choose cases and pouches, and cut."""
    page.locator(".stock-hide").first.wait_for()
    enter(page, "Lens case, in a set", "2")
    enter(page, "Compass pouch, in a set", "1")
    enter(page, "Sets", sets)
    page.locator(".cut-piece").nth(3).wait_for()
    page.locator("summary", has_text="Knife and time").click()
    enter(page, "Seconds of search", seconds)
    press(page, "Cut")


def fits(page: Any) -> bool:
    return bool(
        page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth + 1")
    )


@pytest.fixture
def cut(open_page: Callable[..., Any]) -> Any:
    page = open_page("/cutting", height=1000)
    begin(page, "8")
    state(page, "^Found")
    return page


def test_better_layouts_are_drawn_as_they_are_found_and_stop_keeps_the_best(
    open_page: Callable[..., Any],
) -> None:
    page = open_page("/cutting", height=1000)
    begin(page, "300", "6")
    page.locator("[data-copy]").first.wait_for()  # long before the search is over
    press(page, "Stop and keep it")
    state(page, "^Stopped; the best layout so far is kept")
    # 6 sets: 12 cases of two pieces, 6 pouches whose fronts are cut in pairs
    drawn = page.locator("[data-copy]").count()
    if page.locator(".showing .tabs button").count():
        page.locator(".showing .tabs button").nth(1).click()
        page.wait_for_timeout(500)
        drawn += page.locator("[data-copy]").count()
    assert drawn == 12 * 2 + 6 + 3


def test_a_piece_is_pressed_dragged_and_settled_round(cut: Any) -> None:
    piece = cut.locator("[data-copy='0,0']")
    piece.click()
    cut.get_by_label("Piece in hand").and_(cut.locator("select")).wait_for()
    cut.locator("[data-copy='0,0'].chosen").wait_for()
    box = piece.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    cut.mouse.move(x, y)
    cut.mouse.down()
    cut.mouse.move(x + 12, y + 6, steps=3)
    cut.mouse.up()
    state(cut, "^Moved and pinned")
    cut.locator("[data-copy='0,0'].pinned").wait_for()
    press(cut, "Let the rest settle")
    state(cut, "^(Found|copy 0 of piece|the rest of hide)")
    # it may lie over another: the next search must not have to keep it there
    press(cut, "Take its pin out")
    cut.locator("[data-copy='0,0'].pinned").wait_for(state="detached")


def test_pieces_are_moved_pinned_and_a_place_kept_free_by_keyboard_alone(cut: Any) -> None:
    cut.get_by_label("Piece in hand").select_option("1,0")
    cut.locator("[data-copy='1,0'].chosen").wait_for()
    pin = cut.get_by_role("button", name="Pin it", exact=True)
    pin.focus()
    pin.press("Enter")
    cut.get_by_role("button", name="Take its pin out").wait_for()
    left = cut.get_by_role("button", name="Left", exact=True)
    left.focus()
    left.press("Enter")
    state(cut, "^Moved and pinned")
    press(cut, "Take all pins out")
    press(cut, "Let the rest settle")
    state(cut, "^Found")
    enter(cut, "Corners in mm", "600 0, 640 0, 640 40")
    keep = cut.get_by_role("button", name="Keep it free")
    keep.focus()
    keep.press("Enter")
    cut.locator("path.severity0").wait_for()


def test_the_files_are_one_zip_at_full_size(cut: Any, tmp_path: Path) -> None:
    press(cut, "Make the files")
    with cut.expect_download() as coming:
        cut.get_by_role("link", name=re.compile("^Download")).click()
    coming.value.save_as(tmp_path / "cutting.zip")
    with zipfile.ZipFile(tmp_path / "cutting.zip") as made:
        names = made.namelist()
    assert "cutting list.csv" in names
    assert {name.rpartition(".")[2] for name in names} == {"csv", "pdf", "svg", "dxf"}


def test_a_hide_is_drawn_by_pointer_and_a_bad_file_is_refused_in_words(
    open_page: Callable[..., Any], tmp_path: Path
) -> None:
    page = open_page("/cutting/hide/new", height=1000)
    bad = tmp_path / "hide.dxf"
    bad.write_bytes(b"\x00 this is no drawing")
    page.locator("#bring-file").set_input_files(bad)
    page.locator("#work", has_text="hide.dxf").locator(".state", has_text="hide.dxf").wait_for()
    stage = page.locator(".cut-board .stage").bounding_box()
    for x, y in ((60, 60), (420, 60), (420, 300), (60, 300)):
        page.mouse.click(stage["x"] + x, stage["y"] + y)
        page.wait_for_timeout(150)
    page.locator(".drawn circle").nth(3).wait_for()
    press(page, "Add it")
    page.locator("svg.flat .edge path").first.wait_for()
    enter(page, "Your name for it", "by pointer")
    press(page, "Keep it")
    state(page, "^Kept in the book")
    page.goto(page.url.replace("/cutting/hide/new", "/cutting"))
    page.locator(".stock-hide", has_text="by pointer").wait_for()


@pytest.mark.parametrize("width", [1400, 700, 390])
@pytest.mark.parametrize("path", ["/cutting", "/cutting/hide/new"])
def test_the_pages_keep_nobody_out_and_fit_a_phone_and_twice_the_size(
    open_page: Callable[..., Any], path: str, width: int
) -> None:
    page = open_page(path, width=width, height=1000)  # 700 px is a screen of 1400 at 200 %
    page.locator(".cut-board").wait_for()
    if path == "/cutting" and width == 390:
        begin(page, "2", "1")
        state(page, "^Found")
        page.locator(".cut-piece summary").first.click()
    assert kept_out(page) == []
    assert fits(page)

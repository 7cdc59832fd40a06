"""The Book page in a real browser: readings to a moved prediction, by keyboard, on a phone, axe."""

import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from browser_here import MARKS, Running, kept_out

pytestmark = MARKS
#: What learning may take while other tests use the machine, ms.
PATIENCE_MS = 120_000
#: Least height of what a finger is to hit, CSS px: WCAG 2.2, success criterion 2.5.5.
FINGER_PX = 44


@pytest.fixture
def open_page(open_page: Callable[..., Any]) -> Callable[..., Any]:
    """Return the function that opens the page, built whole."""

    def opened(path: str = "/book", width: int = 1400, height: int = 900) -> Any:
        page = open_page(path, width, height)
        page.wait_for_selector("#readings .book-form")
        return page

    return opened


@pytest.fixture(scope="module")
def learned(chromium: Any, app: Running) -> None:
    """Put the demo's readings in, once, and wait until they are learned from."""
    page = chromium.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(app.url + "/book")
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(1500)  # parts that are shown anew once the book was read are there
    page.get_by_role("button", name="Put in the demo workshop's invented readings").click()
    page.locator(".errors").wait_for()
    page.close()


def test_the_demos_readings_move_the_lens_case_from_the_catalogue_to_the_workshops_own(
    open_page: Callable[..., Any], learned: None
) -> None:
    page = open_page()
    page.locator(".range").first.wait_for()
    page.locator("#book-follows").select_option(label="Lens case")
    page.get_by_role("button", name="Show what moved").click()
    table = page.locator("#known table")
    table.wait_for()
    words = page.locator("#known").inner_text()
    assert "across the catalogue foretold 44.5 mm, likely 43." in words
    assert "your readings foretell 44.8" in words or "your readings foretell 44.7" in words
    rows = {
        row.locator("th").inner_text(): row.locator("td").all_inner_texts()
        for row in table.locator("tbody tr").all()
    }
    for name in (
        "Kerf in the mould board",
        "Gap, pair of shells",
        "Plug, pair of shells",
        "On the plug, pair of shells",
        "Hands on for one, in a batch of 10",
        "Price",
    ):
        catalogue, own = rows[name]
        assert catalogue != own, f"{name} did not follow"
    for name in ("Hands on for one, in a batch of 10", "Price"):
        assert all(", likely " in words for words in rows[name]), name


def test_a_reading_is_typed_in_by_the_keyboard_alone(
    open_page: Callable[..., Any], learned: None
) -> None:
    page = open_page()
    page.locator(".range").first.wait_for()  # learned: nothing is drawn anew while one types
    page.locator("#book-what").focus()
    page.keyboard.press("Tab")
    for text in ("clear acrylic 3 mm", "0.21", "my laser"):
        page.keyboard.type(text)
        page.keyboard.press("Tab")
    page.locator("#book-day").fill("2026-11-20")
    page.locator("#book-note").focus()
    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.textContent") == "Keep this reading"
    page.keyboard.press("Enter")
    page.locator("#readings tr", has_text="kerf: clear acrylic 3 mm, my laser").wait_for()
    page.locator(".card", has_text="Clear acrylic 3 mm, my laser").wait_for()


def test_the_whole_book_is_downloaded_and_brought_back(
    open_page: Callable[..., Any], learned: None, tmp_path: Path
) -> None:
    page = open_page()
    with page.expect_download() as download:
        page.get_by_role("button", name="Download the archive").click()
    file = tmp_path / "book.zip"
    download.value.save_as(file)
    with zipfile.ZipFile(file) as archive:
        assert "book.json" in archive.namelist()
    page.locator("#archive input[type=file]").set_input_files(file)
    page.get_by_role("button", name="Yes, replace the book").click()
    page.get_by_text("The book now holds what the archive held.").wait_for()
    page.locator("#readings tr", has_text="minutes: sew").first.wait_for()
    page.get_by_role("button", name="Back up now").click()
    page.locator("#archive .said li").nth(1).wait_for()


@pytest.mark.parametrize(("width", "height"), [(390, 844), (700, 450)], ids=["phone", "200 %"])
def test_on_a_phone_and_at_twice_the_size_nothing_sticks_out(
    open_page: Callable[..., Any], learned: None, width: int, height: int
) -> None:
    page = open_page("/book", width, height)
    page.locator(".range").first.wait_for()
    assert page.evaluate("() => document.documentElement.scrollWidth <= window.innerWidth + 1")


def test_on_a_phone_a_reading_can_be_withdrawn_and_parts_are_as_high_as_a_finger(
    open_page: Callable[..., Any], learned: None
) -> None:
    page = open_page("/book", 390, 844)
    page.locator(".range").first.wait_for()
    parts = page.locator(".book-parts a").all()
    assert len(parts) >= 4
    assert min(part.bounding_box()["height"] for part in parts) >= FINGER_PX
    withdraw = page.get_by_role("button", name="Withdraw").first
    withdraw.scroll_into_view_if_needed()
    place = withdraw.bounding_box()
    assert place["x"] >= 0
    assert place["x"] + place["width"] <= 390
    # nothing has to be scrolled sideways to come to it
    assert withdraw.evaluate(
        """(e) => { for (let at = e; at; at = at.parentElement) if (at.scrollLeft) return false;
                    return true; }"""
    )


def test_the_page_keeps_nobody_out_by_the_rules_of_axe(
    open_page: Callable[..., Any], learned: None
) -> None:
    page = open_page()
    page.locator(".errors").wait_for()
    page.get_by_role("button", name="Draw the test pieces").click()
    page.get_by_role("link", name="Download all test pieces").wait_for()
    for kind in ("kerf", "dry size across", "minutes"):
        page.locator("#book-what").select_option(kind)
        page.wait_for_timeout(300)
        assert kept_out(page) == []

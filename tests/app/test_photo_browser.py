"""A hide from a photo in a real browser: from the printed cards to the hide in the book."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from shapely import Polygon

from browser_here import MARKS, Running, kept_out
from hidewright.store.book import Book
from hidewright.store.book_hides import HIDES
from photo_scene import Scene, cards_round, photo, round_hole, side

pytestmark = MARKS
#: What reading a photo may take while other tests use the machine, ms.
PATIENCE_MS = 60_000
OUTLINE = side(5)
SCENE = Scene(
    seed=5,
    floor="tiles",
    outline=OUTLINE,
    holes=(round_hole(1150, 480, 30),),
    cards=cards_round(OUTLINE, 4, 5),
    size=(2016, 1512),
)
Open = Callable[..., Any]


@pytest.fixture(scope="module")
def taken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("photo") / "back left.jpg"
    file.write_bytes(photo(SCENE))
    return file


def bring(page: Any, file: Path) -> None:
    page.set_input_files("#bring-file", file)
    page.wait_for_selector(".tracing .ring")


def tap(page: Any, *places: tuple[float, float]) -> None:
    """Tap at shares of the photo's width and height on the screen."""
    stage = page.locator(".tracing .stage")
    stage.scroll_into_view_if_needed()
    box = stage.bounding_box()
    for x, y in places:
        page.mouse.click(box["x"] + x * box["width"], box["y"] + y * box["height"])


def corners(page: Any, ring: str) -> int:
    points = page.locator(f"[data-ring='{ring}']").get_attribute("points")
    return len(str(points).split())


def test_from_the_cards_to_the_hide_in_the_book(
    open_page: Open,
    app: Running,
    taken: Path,
    tmp_path: Path,
) -> None:
    page = open_page("/cutting/photo")
    page.get_by_role("button", name="Cards on A4").click()
    cards = page.get_by_role("link", name="Open the cards on A4")
    cards.wait_for()
    answer = page.request.get(app.url + cards.get_attribute("href"))
    assert answer.body().startswith(b"%PDF")
    assert kept_out(page) == []

    wrong = tmp_path / "notes.jpg"
    wrong.write_text("no photo")
    page.set_input_files("#bring-file", wrong)
    page.get_by_text("notes.jpg is no JPEG or PNG photo").wait_for()

    bring(page, taken)
    assert page.locator("p.trouble:visible", has_text="notes.jpg").count() == 0
    page.get_by_text("4 cards found").wait_for()
    assert page.locator("[data-ring='hole 0']").count() == 1
    assert kept_out(page) == []

    # a corner moved by its keys, and taken back
    before = page.locator("[data-ring='edge']").get_attribute("points")
    stage = page.locator(".tracing .stage")
    stage.focus()
    page.keyboard.press("n")
    page.keyboard.press("Shift+ArrowUp")
    page.get_by_role("button", name="Undo").and_(page.locator(":enabled")).wait_for()
    assert page.locator("[data-ring='edge']").get_attribute("points") != before
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function(
        "was => document.querySelector(\"[data-ring='edge']\").getAttribute('points') === was",
        arg=before,
    )

    # a flaw by the keyboard alone
    page.get_by_role("button", name="Mark a flaw").click()
    page.get_by_label("Kind of flaw").select_option("scar")
    stage.focus()
    for key in ("Space", "ArrowRight", "ArrowRight", "Space", "ArrowUp", "ArrowUp", "Space"):
        page.keyboard.press(key)
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Take away: scar, severity 2").wait_for()

    # a grade area by tapping
    page.get_by_role("button", name="Mark a grade area").click()
    page.get_by_label("Grade", exact=True).select_option("3")
    tap(page, (0.3, 0.3), (0.4, 0.3), (0.4, 0.4))
    page.get_by_role("button", name="Finish").click()
    page.get_by_role("button", name="Take away: area of grade 3").wait_for()

    # the edge drawn anew over a stretch far from it is refused, and nothing is lost
    page.get_by_role("button", name="Redraw a stretch").click()
    count = corners(page, "edge")
    tap(page, (0.5, 0.5), (0.6, 0.5))
    page.get_by_role("button", name="Finish").click()
    page.get_by_text("does not begin and end on the edge").wait_for()
    assert corners(page, "edge") == count

    page.get_by_label("Name").fill("Back, left")
    page.get_by_label("Thickness").fill("3.2 mm")
    page.get_by_role("button", name="Keep this hide").click()
    page.get_by_text("Back, left is kept").wait_for()
    with Book(app.book) as book:
        (kept,) = [row for row in HIDES.rows(book).values() if row.hide.name == "Back, left"]
    true = Polygon(SCENE.outline, SCENE.holes).area
    assert kept.hide.area_mm2 == pytest.approx(true, rel=0.01)
    assert [(flaw.kind, flaw.severity) for flaw in kept.hide.flaws] == [("scar", 2)]
    assert sorted(area.grade for area in kept.hide.areas) == [1, 3]
    assert kept.thickness_mm == (3.2, 3.2)
    assert not kept.rough


def test_on_a_phone_nothing_runs_out_of_the_page(open_page: Open, taken: Path) -> None:
    page = open_page("/cutting/photo", width=390, height=844)
    bring(page, taken)
    page.get_by_role("button", name="Mark a flaw").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert kept_out(page) == []
    box = page.locator(".tracing .stage").bounding_box()
    assert box["height"] < 844

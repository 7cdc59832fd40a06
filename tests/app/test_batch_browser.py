"""A maker's week on the page of the batch, in a real browser: two mishaps, phone and keyboard."""

import sys
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from browser_here import MARKS, Running, kept_out
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.calendar import DAY
from hidewright.store.book import Book
from hidewright.store.book_workshop import plan_of, workshop_of

pytestmark = MARKS
PATIENCE_MS = 120_000
#: Days and designs after the first two are built alike; looking through all of them takes a minute.
ALIKE = [[".batch-day ~ .batch-day ~ .batch-day"], ["[aria-label^='For '] ~ [aria-label^='For ']"]]
#: A server whose clock is a file.
SERVER = """
import sys
from pathlib import Path
if __name__ == "__main__":
    from hidewright.app import server
    clock = Path(sys.argv[2])
    server.now = lambda: clock.read_text().strip()
    server.run(Path(sys.argv[1]), port=int(sys.argv[3]), show=False)
"""


class Workshop(Running):
    """A server of this test, its clock and its book."""

    def __init__(self, folder: Path) -> None:
        self.clock, self.script = folder / "clock", folder / "serve.py"
        self.script.write_text(SERVER)
        self.at("2026-11-30T08:00:00+00:00")
        super().__init__(folder / "book.sqlite")

    def command(self) -> list[str]:
        served = (self.script, self.book, self.clock, self.port)
        return [sys.executable, *map(str, served)]

    def at(self, now: str) -> None:
        self.clock.write_text(now)

    def plan(self) -> BatchPlan:
        book = Book(self.book)
        plan = plan_of(book)
        book.close()
        assert plan is not None
        return plan


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    shop = Workshop(tmp_path_factory.mktemp("batch"))
    yield shop
    shop.stop()


@pytest.fixture
def page(open_page: Callable[..., Any]) -> Any:
    return open_page("/batch", 1300)


def _said(page: Any, words: str) -> None:
    """Wait until the page says something, and nothing is being planned."""
    page.locator(".batch-words, .batch-told", has_text=words).first.wait_for()
    page.get_by_role("button", name="Stop").wait_for(state="hidden")


def _usable(page: Any) -> None:
    """Look for what keeps somebody from using the page."""
    assert kept_out(page, ALIKE) == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def _morning(page: Any, shop: Workshop, day: str, title: str) -> None:
    """Come in on another day and find the plan as it was left."""
    before = shop.plan()
    shop.at(f"{day}T08:00:00+00:00")
    page.reload()
    page.locator(".batch-day", has_text=title).first.wait_for()
    assert shop.plan() == before


def _evening(page: Any, shop: Workshop, day: str) -> None:
    shop.at(f"{day}T17:30:00+00:00")
    page.reload()
    page.locator(".batch-note", has_text="should be done by now").wait_for()


def _tick_day(page: Any, shop: Workshop, title: str) -> None:
    """Tick the last steps of a day: what had to be done before them is ticked with them."""
    boxes = page.locator(".batch-day", has_text=title).first.locator("input[type=checkbox]")
    count = boxes.count()
    ticked = range(count - 6, count)
    for number in ticked:
        boxes.nth(number).check()
    before = None
    while (plan := shop.plan()) != before:  # every tick is kept by itself
        before = plan
        page.wait_for_timeout(1500)
    assert all(boxes.nth(number).is_checked() for number in ticked)


def _change_steps_by_keyboard(page: Any, shop: Workshop) -> None:
    """Do the first step of a design later, and take that back, without a mouse."""
    page.locator("#batch-steps-0").focus()
    for _ in range(2):
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    back = page.get_by_role("button", name="Take back: move: cut piece strap")
    back.wait_for()
    _usable(page)
    page.set_viewport_size({"width": 390, "height": 844})
    _usable(page)
    page.set_viewport_size({"width": 1300, "height": 900})
    back.focus()
    page.keyboard.press("Enter")
    back.wait_for(state="hidden")
    book = Book(shop.book)
    assert all(not one.own_steps for one in workshop_of(book).means)
    book.close()


def _take_zone(page: Any, shop: Workshop) -> None:
    """Let the workshop have the time zone that the browser knows."""
    page.get_by_role("button", name="Take the zone of this computer").click()
    known = page.evaluate("Intl.DateTimeFormat().resolvedOptions().timeZone")
    for _ in range(50):
        book = Book(shop.book)
        kept = workshop_of(book).zone
        book.close()
        if kept == known:
            return
        page.wait_for_timeout(200)
    raise AssertionError(f"{kept!r} is kept, not {known!r}")


def test_a_week_with_a_broken_plug_and_a_day_ill(page: Any, app: Workshop, tmp_path: Path) -> None:
    # Monday: the page says how to begin; orders come in, the day of one more is asked for
    page.get_by_role("button", name="Try it with the orders of Alder Row").click()
    page.locator(".batch-order").nth(3).wait_for()
    _usable(page)
    page.get_by_role("button", name="Plan it").click()
    _said(page, "The plan is made.")
    assert page.locator(".batch-day").count() >= 10
    assert all(not one.late_days for one in app.plan().orders)
    page.get_by_text("Add an order").click()
    page.fill("#batch-quantity", "4")
    page.get_by_role("button", name="When could it be ready?").click()
    page.locator(".batch-promise", has_text="It can be ready on").wait_for()
    page.reload()
    page.locator(".batch-day").first.wait_for()
    page.get_by_text("The workshop: hands and hours").click()
    page.locator("#batch-steps-0").wait_for()
    _usable(page)
    _change_steps_by_keyboard(page, app)
    _take_zone(page, app)
    _evening(page, app, "2026-11-30")
    _tick_day(page, app, "Monday 30 November, today")
    done = [task for task in app.plan().tasks if task.state == "done"]
    assert done
    assert all(task.start < DAY for task in done)

    # Tuesday: a plug is broken; what is done stays, the rest is planned again
    _morning(page, app, "2026-12-01", "Tuesday 1 December, today")
    page.locator("#batch-lost option").first.wait_for(state="attached")
    page.get_by_role("button", name="It is gone").click()
    _said(page, "One plug of the pair of shells, Lens case less.")
    plan = app.plan()
    assert [one for one in _most(plan, "plug of pair of shells", 3) if one.start >= DAY]
    assert not [one for one in _most(plan, "plug of pair of shells", 4) if one.start >= DAY]
    assert {t.key: t.times for t in plan.tasks if t.state == "done"} == {
        t.key: t.times for t in done
    }
    _evening(page, app, "2026-12-01")
    _tick_day(page, app, "Tuesday 1 December, today")

    # Wednesday: ill, on the phone; nothing is left on that day
    page.set_viewport_size({"width": 390, "height": 844})
    _morning(page, app, "2026-12-02", "Wednesday 2 December, today")
    _usable(page)
    page.get_by_role("link", name="To the steps of Wednesday 2 December, today").click()
    today = page.locator(".batch-day", has_text="Wednesday 2 December, today").first
    page.wait_for_function("scrollY > 0")
    assert 0 <= today.bounding_box()["y"] < 200
    fingers = today.locator(".batch-do button").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect().height)"
    )
    assert fingers
    assert min(fingers) >= 44
    page.get_by_role("button", name="Away that day").click()
    _said(page, "Wren is away on Wednesday 2 December.")
    monday = app.plan().monday
    ill = (date(2026, 12, 2) - monday).days
    assert all(work.start // DAY != ill for work, _, _ in app.plan().entries())

    # Thursday: a step is sent to another day with the keyboard alone, and taken back
    _morning(page, app, "2026-12-03", "Thursday 3 December, today")
    before = app.plan()
    move = page.locator(".batch-row.planned").first.get_by_role("button", name="Move to another")
    move.focus()
    page.keyboard.press("Enter")
    select = page.locator(".batch-to select")
    select.wait_for()
    assert select.evaluate("one => one === document.activeElement")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Take the move back").wait_for()
    page.get_by_role("button", name="Stop").wait_for(state="hidden")
    moved = [task for task in app.plan().tasks if task.day is not None]
    assert [task.start // DAY for task in moved] == [task.day for task in moved] != []
    page.get_by_role("button", name="Take the move back").click()
    page.locator(".batch-words", has_text="taken back").wait_for()
    assert app.plan() == before

    # Friday: pictures, and the plan to take along
    page.set_viewport_size({"width": 1300, "height": 900})
    for name in ("By station", "By load", "Minutes a day"):
        page.get_by_role("button", name=name).click()
        page.locator(".batch-chart:visible").wait_for()
        _usable(page)
    for name, first in (("Calendar", b"BEGIN:VCALENDAR"), ("Table", b"\xef\xbb\xbfday"),
                        ("paper, A4", b"%PDF")):  # fmt: skip
        with page.expect_download() as download:
            page.get_by_role("button", name=name).click()
        file = tmp_path / "file"
        download.value.save_as(file)
        assert file.read_bytes().startswith(first)
    book = Book(app.book)
    assert len(workshop_of(book).hands[0].days_off) == 2
    book.close()


def _taken(plan: BatchPlan, station: str) -> list[Any]:
    return [one for one in plan.taken if one.station.startswith(station)]


def _most(plan: BatchPlan, station: str, count: int) -> list[Any]:
    """Return what begins when so many of a station are taken."""
    taken = _taken(plan, station)
    return [
        one
        for one in taken
        if sum(other.count for other in taken if other.start <= one.start < other.end) >= count
    ]

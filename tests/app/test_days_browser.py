"""The days of a plan in a browser: of a long one only those that are open are drawn."""

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from browser_here import MARKS, Running

pytestmark = MARKS
PATIENCE_MS = 60_000

APP = """
import sys
from nicegui import ui
from hidewright.app.components.days import Days

def row(day, i):
    return {"key": f"{day}-{i}", "part": 0, "from": "09:00", "to": "09:05", "load": "load 1",
            "words": f"step {day}.{i}", "state": "planned", "then": ""}

async def nothing(*_):
    pass

@ui.page("/")
def page(each: int = 1):
    days = [{"day": d, "title": f"Day {d}", "told": "", "open": d == 0, "gone": False,
             "people": [{"name": "Wren", "title": "", "rows": [row(d, i) for i in range(each)]}]}
            for d in range(4)]
    Days(nothing, nothing).show(days, [])

ui.run(host="127.0.0.1", port=int(sys.argv[1]), reload=False, show=False, language="en-US")
"""


class OnePage(Running):
    """A server of nothing but days."""

    def command(self) -> list[str]:
        return [sys.executable, str(self.book), str(self.port)]


@pytest.fixture(scope="module")
def days(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    script: Path = tmp_path_factory.mktemp("days") / "app.py"
    script.write_text(APP)
    server = OnePage(script)
    yield server.url
    server.stop()


@pytest.mark.parametrize(("each", "drawn"), [(5, 20), (400, 400)])
def test_closed_days_of_a_long_plan_are_drawn_when_they_are_opened(
    chromium: Any, days: str, each: int, drawn: int
) -> None:
    page = chromium.new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.goto(f"{days}/?each={each}")
    page.locator(".batch-day").nth(3).wait_for()
    rows = page.locator(".batch-row")
    assert rows.count() == drawn
    page.get_by_text("Day 2", exact=True).click()
    page.get_by_text(f"step 2.{each - 1}", exact=True).wait_for()
    assert rows.count() == max(drawn, 2 * each)
    page.close()

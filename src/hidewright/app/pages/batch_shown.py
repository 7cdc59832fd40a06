"""A plan as it is shown: its days, its pictures, what is late, and files of it."""

from collections.abc import Awaitable, Callable
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.components.days import Days
from hidewright.app.pages.batch_days import Row, choices_of
from hidewright.app.parts import Words, box, press
from hidewright.planning.batch_plan import BatchPlan, State
from hidewright.workshop.batch.chart import by_load, by_station, minutes_a_day
from hidewright.workshop.batch.otherwise import overdue

PICTURES: tuple[tuple[str, Callable[[BatchPlan], str] | None], ...] = (
    ("Days", None),
    ("By station", by_station),
    ("By load", by_load),
    ("Minutes a day", minutes_a_day),
)
FILES = (
    ("ics", "Calendar (.ics)"),
    ("csv", "Table (CSV)"),
    ("A4", "Days on paper, A4"),
    ("Letter", "Days on paper, Letter"),
)
ENDINGS = {"ics": ".ics", "csv": ".csv", "A4": " A4.pdf", "Letter": " Letter.pdf"}


class ShownPlan:
    """The plan in one window.

    Args:
        tick: Called with the key of a task and how far it is now.
        move: Called with the key of a task and the number of a day.
    """

    def __init__(
        self,
        tick: Callable[[str, State], Awaitable[None]],
        move: Callable[[str, int], Awaitable[None]],
    ) -> None:
        self._tick, self._move = tick, move
        self._chosen = PICTURES[0][0]
        self._plan: BatchPlan | None = None

    def build(self, download: Callable[[str], Any]) -> None:
        """Build it in the current place, empty."""
        self._notes = box("div")
        with box("div", "tabs", role="group", aria_label="How the plan is shown"):
            self._tabs = {
                words: press(words, partial(self._choose, words), "choice") for words, _ in PICTURES
            }
        self._days = Days(self._tick, self._move)
        self._picture = ui.html("", sanitize=False).classes("scrolls batch-picture")
        for name, value in (("tabindex", "0"), ("role", "region"), ("aria-label", "Picture")):
            self._picture.props[name] = value
        Words("h3", "Take it along")
        with box("p", "actions"):
            for sort, words in FILES:
                press(words, partial(download, sort), "button")

    def show(self, plan: BatchPlan, now: int, days: list[Row]) -> None:
        """Show a plan at a minute, and its days."""
        self._plan = plan
        self._notes.clear()
        with self._notes:
            for note in plan.notes:
                Words("p", note, "batch-note")
            undone = overdue(plan, now)
            if undone:
                steps = "1 step" if len(undone) == 1 else f"{len(undone)} steps"
                Words(
                    "p",
                    f"{steps} should be done by now, {undone[0].words} first: tick what is done, "
                    "then plan the rest.",
                    "batch-note",
                )
        self._days.show(days, choices_of(plan, now))
        self._show_chosen()

    def _choose(self, words: str) -> None:
        self._chosen = words
        self._show_chosen()

    def _show_chosen(self) -> None:
        for words, tab in self._tabs.items():
            tab.props["aria-pressed"] = "true" if words == self._chosen else "false"
            tab.update()
        draw = dict(PICTURES)[self._chosen]
        self._days.set_visibility(draw is None)
        self._picture.set_visibility(draw is not None)
        if draw is not None and self._plan is not None:
            self._picture.props["aria-label"] = self._chosen
            self._picture.content = draw(self._plan)


def written(plan: BatchPlan, sort: str) -> bytes:
    """Return a plan as a file; the libraries that write it are loaded now."""
    if sort == "ics":
        from hidewright.drawing.plan_calendar import plan_calendar

        return plan_calendar(plan)
    if sort == "csv":
        from hidewright.drawing.plan_table import plan_table

        return plan_table(plan)
    from hidewright.drawing.day_list import day_list

    return day_list(plan, "Letter" if sort == "Letter" else "A4")

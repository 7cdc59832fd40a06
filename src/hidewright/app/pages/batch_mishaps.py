"""Mishaps on the page of the batch: something broke, somebody is away; one press each."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from hidewright.app.pages.batch_workshop import with_moulds
from hidewright.app.parts import VALUE, Words, box, press
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.hands import DaysOff
from hidewright.planning.workshop import Workshop

Change = Callable[[Workshop], Workshop]
MOULDS = (("plug", "plugs"), ("frame", "frames"), ("hold-down ring", "rings"))


class MishapsPart:
    """What went wrong.

    Args:
        today: Returns the day.
        happened: Called with words and what it changes in the workshop.
    """

    def __init__(self, today: Callable[[], date], happened: Callable[[str, Change], Any]) -> None:
        self._today, self._happened = today, happened
        self._held: dict[str, str] = {}
        self._losses: dict[str, Change] = {}
        self._shown: object = None

    def build(self) -> None:
        """Build it in the current place, empty."""
        with box("section", "batch-mishaps", aria_label="Mishaps"):
            Words("h3", "Something happened")
            self._place = box("div", "batch-mishap-rows")
            self._trouble = Words("p", "", "trouble", role="alert")

    def show(self, workshop: Workshop, plan: BatchPlan, blanks: dict[str, tuple[str, ...]]) -> None:
        """Show what can break and who can be away."""
        self._losses = dict(losses(workshop, plan, blanks))
        names = [one.name for one in workshop.hands]
        shown = (tuple(self._losses), tuple(names), self._today())
        if shown == self._shown:  # what is being entered stays
            return
        self._shown = shown
        self._held = {
            "lost": next(iter(self._losses), ""),
            "who": names[0],
            "day": self._today().isoformat(),
        }
        self._place.clear()
        with self._place:
            with box("p", "batch-mishap"):
                self._choice("lost", "Broken or lent", tuple(self._losses))
                press("It is gone", self._lost, "button")
            with box("p", "batch-mishap"):
                self._choice("who", "Away", tuple(names))
                Words("label", "on", for_="batch-away-day")
                day = box("input", type="date", id="batch-away-day", defaultValue=self._held["day"])
                day.on("change", partial(self._typed, "day"), js_handler=VALUE)
                press("Away that day", self._away, "button")

    def _choice(self, name: str, label: str, options: tuple[str, ...]) -> None:
        Words("label", label, for_=f"batch-{name}")
        with box("select", id=f"batch-{name}") as control:
            for one in options:
                Words("option", one, value=one)
        control.on("change", partial(self._typed, name), js_handler=VALUE)

    def _typed(self, name: str, event: Any) -> None:
        self._held[name] = str(event.args)

    def _lost(self) -> Any:
        change = self._losses.get(self._held["lost"])
        if change is not None:
            return self._happened(f"One {self._held['lost']} less.", change)
        return None

    def _away(self) -> Any:
        try:
            day = date.fromisoformat(self._held["day"])
        except ValueError:
            self._trouble.text = "Choose the day first."
            return None
        self._trouble.text = ""
        who = self._held["who"]
        said = f"{who} is away on {day:%A} {day.day} {day:%B}."
        return self._happened(said, partial(_away_on, who, day))


def losses(
    workshop: Workshop, plan: BatchPlan, blanks: dict[str, tuple[str, ...]]
) -> Iterator[tuple[str, Change]]:
    """Yield what can be lost, in words, and the workshop without it."""
    for design, some in blanks.items():
        for blank in some:
            moulds = workshop.of(design).moulds_of(blank)
            for word, field in MOULDS:
                count: int = getattr(moulds, field)
                if count:
                    name = f"{word} of the {blank}, {plan.article_of(design)}"
                    yield name, partial(_fewer, design, blank, field)
    for field, word in (("vises", "vise"), ("clamps", "set of clamps")):
        if getattr(workshop, field):
            yield word, partial(_one_less, field)


def _fewer(design: str, blank: str, field: str, shop: Workshop) -> Workshop:
    count: int = getattr(shop.of(design).moulds_of(blank), field)
    return with_moulds(shop, design, blank, **{field: max(0, count - 1)})


def _one_less(field: str, shop: Workshop) -> Workshop:
    counts: dict[str, Any] = {field: max(0, getattr(shop, field) - 1)}
    return replace(shop, **counts)


def _away_on(who: str, day: date, shop: Workshop) -> Workshop:
    if who not in [one.name for one in shop.hands]:
        raise RequestError(f"nobody is called {who!r} any more")
    off = DaysOff(first=day, last=day, why="away")
    return replace(
        shop,
        hands=tuple(
            replace(one, days_off=(*one.days_off, off))
            if one.name == who and off not in one.days_off
            else one
            for one in shop.hands
        ),
    )

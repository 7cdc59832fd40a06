"""What the workshop knows: each value before and now, how well it foretells, what follows."""

from collections.abc import Mapping
from functools import partial
from typing import Any

from nicegui import ui

from hidewright.app.asked_book import Effects
from hidewright.app.pages.book_fields import Kept, chosen
from hidewright.app.pages.book_panel import Panel
from hidewright.app.parts import Words, box, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.worker import Done
from hidewright.design.bench_reading import BenchReading
from hidewright.design.interval import Interval
from hidewright.store.book_designs import list_designs
from hidewright.store.book_readings import READINGS
from hidewright.units.length import MM_PER_INCH
from hidewright.workshop.learned import About
from hidewright.workshop.learned import Known as KnownValue
from hidewright.workshop.learned_effect_rows import Effect
from hidewright.workshop.learned_words import surprise_words, told
from hidewright.workshop.views.learned_view import (
    Error,
    error_picture,
    error_words,
    range_picture,
)

Found = tuple[Mapping[str, BenchReading], Mapping[str, str]]


class Known(Panel[Found]):
    """The panel of what is known."""

    title = "What the workshop knows"
    anchor = "known"
    kinds = frozenset({"learned", "design"})

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        super().__init__(shop)
        self._kept: Kept = {}
        self._effect: Effect | None = None

    @property
    def beside(self) -> object:
        """What is known, and whether it is used."""
        return (self._shop.knows.uses, self._shop.knows.shelf)

    def read(self) -> Found:
        """Return readings, and the designs that can be looked at."""
        return (
            READINGS.rows(self._shop.book),
            {row.id: row.name for row in list_designs(self._shop.book)},
        )

    def show(self, found: Found) -> None:
        """Show it."""
        readings, designs = found
        about = [one for one in self._shop.knows.shelf.about if one.counted]
        if not about:
            Words("p", "Nothing of its own yet: designs are reckoned with the catalogue.", "empty")
            return
        self._switch()
        with box("div", "book-cards"):
            for one in about:
                self._card(one)
        self._proof(readings)
        self._follows(designs)

    def _switch(self) -> None:
        uses = self._shop.knows.uses
        with box("p", "actions"):
            Words("span", "Designs are reckoned with", id="book-reckoned")
            with box("span", "tabs", role="group", aria_labelledby="book-reckoned"):
                for own, words in ((True, "the workshop's own values"), (False, "the catalogue")):
                    pressed = "true" if uses == own else "false"
                    press(
                        words,
                        partial(self._shop.knows.use, own),
                        "choice",
                        aria_pressed=pressed,
                    )
        Words(
            "p",
            "An own value stands in only where your readings bear on it and the design has the "
            "catalogue's value; each design says so among its remarks.",
            "lead",
        )

    def _card(self, about: About) -> None:
        subject = about.subject
        lot = f", {subject.lot}" if subject.lot else ""
        with box("article", "card", aria_label=f"{subject.name}{lot}"):
            Words("h3", f"{subject.name}{lot}", "title")
            are = "reading counts" if about.counted == 1 else "readings count"
            Words("p", f"{about.counted} {are}", "when")
            if surprised := surprise_words(about.result.wider):
                Words("p", surprised, "lead")
            rest = [one for one in about.known if not one.informed]
            for one in about.known:
                if one.informed:
                    self._value(one)
            if rest:
                with box("details"):
                    Words("summary", f"{len(rest)} more as in the catalogue")
                    for one in rest:
                        Words("p", f"{one.words}: {self._told(one.before, one.unit)}")

    def _value(self, one: KnownValue) -> None:
        with box("div", "book-value"):
            Words("p", one.words[0].upper() + one.words[1:])
            Words(
                "p",
                f"{self._told(one.now, one.unit)} (catalogue: {self._told(one.before, one.unit)})",
                "figure",
            )
            ui.html(range_picture(one.before, one.now), sanitize=False)

    def _told(self, value: Interval, unit: str) -> str:
        return told(value, unit, lengths=self._shop.unit)

    def _proof(self, readings: Mapping[str, BenchReading]) -> None:
        errors = errors_of(readings, self._shop.knows.shelf.judged)
        Words("h3", "Foretold and measured")
        if not errors:
            Words("p", "Measure what you press: it is held against what was foretold.", "empty")
            return
        unit = self._shop.unit
        scale = 1.0 / float(MM_PER_INCH) if unit == "in" else 1.0
        Words("p", error_words(errors, unit, scale))
        with box("div", "scrolls", role="region", tabindex="0", aria_label="Errors over time"):
            ui.html(error_picture(errors, unit, scale), sanitize=False)
        Words(
            "p",
            "Dots: measured less what the readings before it foretold; grey: where it was likely; "
            "line: mean size of the last errors.",
            "lead",
        )

    def _follows(self, designs: Mapping[str, str]) -> None:
        Words("h3", "What follows for a design")
        with box("div", "book-follows"):
            chosen("Design", "follows", self._kept, tuple(designs.items()))
            press("Show what moved", self._ask, "button")
        self._said = Words("p", "", "state", role="status")
        self._table = box("div")
        self._show_effect()

    def _ask(self) -> None:
        client = ui.context.client
        self._said.text = "Pressing it with both ..."

        def told_of(what: Effects | Done) -> None:
            with client:
                if isinstance(what, Effects):
                    self._effect = what.effect
                    self._show_effect()
                    return
                trouble = trouble_of(what)
                self._said.text = trouble.words if trouble else ""

        self._shop.knows.learn(self._kept["follows"], told_of)

    def _show_effect(self) -> None:
        self._table.clear()
        effect = self._effect
        if effect is None:
            return
        with self._table:
            for size in effect.sizes:
                plug = self._told(_exactly(size.plug_mm), "mm")
                Words(
                    "p",
                    f"{effect.design}, {size.place}: over a plug of {plug} {size.direction} the "
                    f"catalogue foretold {self._told(size.before, 'mm')}; your readings foretell "
                    f"{self._told(size.now, 'mm')}.",
                )
            with (
                box("div", "scrolls", role="region", tabindex="0", aria_label="What moved"),
                box("table", "sums"),
            ):
                with box("thead"), box("tr"):
                    for words in (effect.design, "Catalogue", "Your own"):
                        Words("th", words, scope="col")
                with box("tbody"):
                    for row in effect.moved:
                        with box("tr", "here" if row.catalogue != row.own else ""):
                            Words("th", row.words, scope="row")
                            Words("td", row.catalogue)
                            Words("td", row.own)


def errors_of(readings: Mapping[str, BenchReading], judged: Mapping[str, Any]) -> list[Error]:
    """Return the errors of all lengths read on pressed leather, in the order of their days."""
    errors: list[Error] = []
    for id, one in sorted(readings.items(), key=lambda item: item[1].day):
        verdict = judged.get(id)
        lengths = one.kind.pressed and not one.kind.cracks
        if verdict is None or not lengths or one.standing == "withdrawn":
            continue
        likely = verdict.foretold.likely
        errors.append(
            Error(
                day=one.day,
                words=one.what,
                off_mm=one.value - likely,
                low_mm=verdict.foretold.low - likely,
                high_mm=verdict.foretold.high - likely,
                counts=not verdict.questioned,
            )
        )
    return errors


def _exactly(value: float) -> Interval:
    return Interval(likely=value, low=value, high=value)

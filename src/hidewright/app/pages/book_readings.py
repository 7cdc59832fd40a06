"""Readings: a form to type them in, the odd ones that are questioned, and all of them."""

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, get_args

from hidewright.app.pages.book_fields import Kept, chosen, day_from, number_from, typed, whole_from
from hidewright.app.pages.book_panel import Panel
from hidewright.app.parts import Words, box, press
from hidewright.app.shop import Shop
from hidewright.catalogue.step_rows import built_in_times
from hidewright.design.bench_reading import (
    KINDS,
    BenchReading,
    KindOfReading,
    ReadingKind,
    Standing,
)
from hidewright.design.interval import Interval
from hidewright.errors import RequestError
from hidewright.store.book_designs import list_designs
from hidewright.store.book_readings import READINGS, add_demo_readings, add_reading, stand
from hidewright.workshop.hollows import hollows_of
from hidewright.workshop.learned_foretold import by_catalogue
from hidewright.workshop.learned_words import foretold_words, read_words, told_reading

#: Readings that are shown before "Show all" is pressed.
SHOWN = 8
#: What a time is compared with, and by whose values it was told.
FORETOLD = "foretold"
BY = (("catalogue", "the catalogue's values"), ("own", "the workshop's own values"))
#: The test plug, among the designs that can be measured.
PLUG = "the round test plug"


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the book holds: readings, and the designs that they may be of."""

    readings: Mapping[str, BenchReading]
    designs: Mapping[str, str]


class Readings(Panel[Found]):
    """The panel of readings."""

    title = "Readings"
    anchor = "readings"
    kinds = frozenset({READINGS.kind, "learned", "design"})

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        super().__init__(shop)
        self._kept: Kept = {}
        self._all = False
        self._hollows: tuple[str, ...] = ()
        self._found = Found(readings={}, designs={})

    @property
    def beside(self) -> object:
        """How far it is learned from, and what is known by it."""
        return (self._shop.knows.state, self._shop.knows.shelf)

    def read(self) -> Found:
        """Return readings and designs in the book."""
        return Found(
            readings=READINGS.rows(self._shop.book),
            designs={row.id: row.name for row in list_designs(self._shop.book)},
        )

    def show(self, found: Found) -> None:
        """Show the form and the list."""
        self._found = found
        with box("div", "book-two"):
            with box("div"):
                Words("h3", "Type a reading in")
                self._form = box("div", "book-form")
                with self._form:
                    self._fields()
            with box("div"):
                self._list = box("div")
                with self._list:
                    self._rows()

    def again(self, found: Found) -> None:
        """Show the list anew; what is being typed stays."""
        self._found = found
        self._list_anew()

    def _list_anew(self) -> None:
        self._list.clear()
        with self._list:
            self._rows()

    def _form_anew(self) -> None:
        self._form.clear()
        with self._form:
            self._fields()

    def _fields(self) -> None:
        kinds = tuple((what, what) for what in get_args(ReadingKind) if KINDS[what].offered)
        chosen("What was read", "what", self._kept, kinds, self._form_anew)
        what: ReadingKind = self._kept["what"]  # type: ignore[assignment]
        kind = KINDS[what]
        Words("p", f"{kind.how[0].upper()}{kind.how[1:]}.", "meaning")
        typed(kind.subject.capitalize(), "subject", self._kept, offers=self._subjects(kind))
        unit = self._shop.unit if kind.unit == "mm" else kind.unit
        if kind.pressed and not kind.cracks:
            self._pressed_fields()
        typed(f"Read, {unit}", "value", self._kept)
        if kind.of:
            empty = " (may be empty)" if kind.of_may_lack else ""
            typed(f"{kind.of[0].upper()}{kind.of[1:]}, {unit}{empty}", "of", self._kept)
        if kind.of == FORETOLD:
            chosen("Foretold with", "by", self._kept, BY)
        if kind.subject == "work":
            typed("Articles in the batch", "count", self._kept)
        else:
            typed("Lot, sheet or laser (may be empty)", "lot", self._kept)
        typed("Day", "day", self._kept, sort="date")
        typed("Note (may be empty)", "note", self._kept)
        trouble = Words("p", "", "trouble", role="alert")
        with box("p", "actions"):
            press("Keep this reading", partial(self._add, trouble), "button main")

    def _pressed_fields(self) -> None:
        designs = (("", PLUG), *self._found.designs.items())
        chosen("Measured on", "design", self._kept, designs, self._choose_design)
        if self._kept["design"]:
            typed("Hollow", "place", self._kept, offers=self._hollows)
            return
        typed(f"Depth of the test plug, {self._shop.unit}", "depth", self._kept)

    async def _choose_design(self) -> None:
        """Offer the hollows of the chosen design, and its leather."""
        id = self._kept["design"]
        found = await asyncio.to_thread(hollows_of, self._shop.book, id) if id else {}
        self._hollows = tuple(found)
        if self._kept.get("place") not in found:
            self._kept["place"] = next(iter(found), "")
        if found and not self._kept.get("subject"):
            self._kept["subject"] = next(iter(found.values()))
        self._form_anew()

    def _subjects(self, kind: KindOfReading) -> Sequence[str]:
        if kind.subject == "work":
            return tuple(row.name for row in built_in_times())
        rows = self._shop.shelf.boards if kind.subject == "board" else self._shop.shelf.leathers
        return tuple(row.name for row in rows)

    async def _add(self, trouble: Words) -> None:
        try:
            reading = self._typed()
        except RequestError as refused:
            trouble.text = refused.sentence
            return
        self._kept.pop("value", None)
        if await self.write(lambda: add_reading(self._shop.book, reading), trouble, READINGS.kind):
            self._form_anew()
            self._shop.knows.learn()

    def _typed(self) -> BenchReading:
        kept = self._kept
        what: ReadingKind = kept["what"]  # type: ignore[assignment]
        kind = KINDS[what]
        of_design = kept.get("design", "") if kind.pressed and not kind.cracks else ""
        of_plug = kind.pressed and not kind.cracks and not of_design

        lacks = kind.of_may_lack and not kept.get("of", "").strip()

        def number(name: str, words: str, unit: str = kind.unit) -> float:
            return number_from(kept.get(name, ""), words, unit=unit, lengths=self._shop.unit)

        reading = BenchReading(
            what=what,
            subject=kept.get("subject", "").strip(),
            lot=kept.get("lot", "").strip() if kind.subject != "work" else "",
            value=number("value", "what was read"),
            of=number("of", kind.of) if kind.of and not lacks else None,
            depth_mm=number("depth", "depth of the test plug", "mm") if of_plug else None,
            design=of_design,
            place=kept.get("place", "").strip() if of_design else "",
            count=whole_from(kept.get("count", ""), "articles in the batch")
            if kind.subject == "work"
            else 1,
            day=day_from(kept.get("day", ""), self._shop.now()),
            note=kept.get("note", ""),
        )
        by_own = kind.of == FORETOLD and kept.get("by") == "own"
        return by_catalogue(reading, self._shop.knows.shelf) if by_own else reading

    def _rows(self) -> None:
        judged = self._shop.knows.shelf.judged
        unplaced = dict(self._shop.knows.shelf.unplaced)
        readings = self._found.readings
        Words("p", self._shop.knows.state, "state", role="status")
        if not readings:
            Words("p", "No reading yet. Cut the test pieces below and type in what you read.")
            with box("p", "actions"):
                press("Put in the demo workshop's invented readings", self._demo, "button")
            return
        odd = [
            id
            for id, one in readings.items()
            if id in judged and judged[id].questioned and one.standing == "counts"
        ]
        if odd:
            Words("h3", "Questioned")
            with box("ul", "book-odd"):
                for id in odd:
                    self._questioned(id, readings[id], judged[id])
        newest = sorted(readings.items(), key=lambda item: item[1].day, reverse=True)
        Words("h3", f"All readings ({len(newest)})")
        with (
            box("div", "scrolls", role="region", tabindex="0", aria_label="All readings"),
            box("table", "sums"),
        ):
            with box("thead"), box("tr"):
                for words in ("Reading", "Read", "Foretold", ""):
                    Words("th", words, scope="col") if words else box("td", "bare")
            with box("tbody"):
                for id, one in newest if self._all else newest[:SHOWN]:
                    self._row(id, one, judged.get(id), unplaced.get(id, ""))
        if len(newest) > SHOWN:
            press("Show fewer" if self._all else "Show all", self._turn, "button quiet")

    def _questioned(self, id: str, one: BenchReading, verdict: Any) -> None:
        unit = self._shop.unit
        with box("li", "remark warning"):
            Words("p", f"{self._of(one)}, {one.day.isoformat()}", "sign")
            Words(
                "p",
                f"Read {read_words(one, unit)}, foretold "
                f"{foretold_words(one, verdict.foretold, unit)}: "
                f"{abs(verdict.off):.0f} times the usual deviation off. It does not count until "
                "you say that it is right.",
                "sentence",
            )
            name = f"{one.what}, {one.day.isoformat()}"
            with box("p", "remedies"):
                press(
                    "It is right: keep it",
                    partial(self._stand, id, "kept"),
                    "button",
                    aria_label=f"It is right: keep {name}",
                )
                press(
                    "It was a slip: withdraw it",
                    partial(self._stand, id, "withdrawn"),
                    "button",
                    aria_label=f"It was a slip: withdraw {name}",
                )

    def _row(self, id: str, one: BenchReading, verdict: Any, why: str) -> None:
        unit = self._shop.unit
        with box("tr"):
            with box("th", scope="row"):
                Words("span", self._of(one))
                Words("span", one.day.isoformat(), "when")
            Words("td", read_words(one, unit))
            with box("td"):
                if verdict is not None:
                    self._foretold(one, verdict.foretold)
            with box("td"):
                Words("span", self._state(one, verdict, why), "standing")
                to: Standing = "counts" if one.standing == "withdrawn" else "withdrawn"
                words = "Count it again" if one.standing == "withdrawn" else "Withdraw"
                press(
                    words,
                    partial(self._stand, id, to),
                    "quiet",
                    aria_label=f"{words} {self._of(one)}, {one.day.isoformat()}",
                )

    def _foretold(self, one: BenchReading, foretold: Interval) -> None:
        likely, _, rest = foretold_words(one, foretold, self._shop.unit).partition(", ")
        Words("span", likely)
        Words("span", rest, "when")

    def _state(self, one: BenchReading, verdict: Any, why: str) -> str:
        if one.standing == "withdrawn":
            return "withdrawn"
        if why:
            return why
        if verdict is None:
            return "not reckoned yet"
        if verdict.questioned:
            return "questioned"
        return "kept" if one.standing == "kept" else "counts"

    def _of(self, one: BenchReading) -> str:
        where = ""
        if one.kind.pressed:
            where = f" of {self._found.designs.get(one.design, 'the test plug')}"
            if not one.design and not one.kind.cracks and one.depth_mm:
                where += f" {told_reading(one.depth_mm, 'mm', self._shop.unit)} deep"
        lot = f", {one.lot}" if one.lot else ""
        return f"{one.what}{where}: {one.subject}{lot}"

    def _turn(self) -> None:
        self._all = not self._all
        self._list_anew()

    async def _stand(self, id: str, standing: Standing) -> None:
        if await self.write(lambda: stand(self._shop.book, id, standing), None, READINGS.kind):
            self._shop.knows.learn()

    async def _demo(self) -> None:
        ids = {name: id for id, name in self._found.designs.items()}
        if await self.write(lambda: add_demo_readings(self._shop.book, ids), None, READINGS.kind):
            self._shop.knows.learn()

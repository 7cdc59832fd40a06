"""The workshop's settings on the page of the batch: hands, stations, moulds, goals."""

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from typing import Any, get_args, get_type_hints

from hidewright.app.components.bring import Bring
from hidewright.app.components.entries import chosen, entry
from hidewright.app.pages.batch_steps import StepsPart
from hidewright.app.parts import Words, box, press
from hidewright.app.shop import Shop
from hidewright.errors import RequestError
from hidewright.planning.hands import Hands
from hidewright.planning.known_steps import KnownSteps
from hidewright.planning.own_step import OwnStep
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.workshop import GOALS, Means, Moulds, Workshop
from hidewright.store.book_workshop import keep_workshop, workshop_of
from hidewright.store.holidays import LARGEST_BYTES, read_holidays
from hidewright.units.minutes import format_minutes, parse_minutes
from hidewright.workshop.batch import settings_words as words_of
from hidewright.workshop.batch import times_words

#: Holidays are brought for so long.
HOLIDAYS_AHEAD = timedelta(days=800)
COUNTS = (("vises", "Vises"), ("clamps", "Sets of clamps"), ("drying_places", "Drying places"))
HOLDS = (("tub_holds", "Blanks in the tub at once"), ("booth_holds", "Pieces in the booth at once"))
AIR = (("air_C", "Air, degrees Celsius"), ("humidity", "Its humidity, 0 to 1"))
#: Tells whether something that opens is open.
IS_OPEN = "(e) => emit(e.target.open)"
#: Enters the zone of the browser as if it were typed.
ENTER_ZONE = """() => {
    const field = document.getElementById('batch-zone');
    field.value = Intl.DateTimeFormat().resolvedOptions().timeZone;
    field.dispatchEvent(new Event('change', {bubbles: true}));
}"""
Change = Callable[[Workshop], Workshop]


class WorkshopPart:
    """The settings, each kept as soon as it is entered.

    Args:
        shop: The book.
        today: Returns the day.
        changed: Called after something was kept.
        show_again: Called when the fields are others than before.

    Attributes:
        kept: The settings that were kept last; None before any were.
    """

    def __init__(
        self,
        shop: Shop,
        today: Callable[[], date],
        changed: Callable[[], Any],
        show_again: Callable[[], Any],
    ) -> None:
        self._shop, self._today, self._changed = shop, today, changed
        self._show_again = show_again
        self._blanks: Mapping[str, tuple[str, ...]] = {}
        self._designs: Mapping[str, str] = {}
        self._steps: Mapping[str, KnownSteps] = {}
        self.kept: Workshop | None = None
        self._workshop: Workshop | None = None
        self._is_open = self._is_old = False

    def build(self) -> None:
        """Build it in the current place, empty."""
        with box("details", "batch-more") as shut:
            Words("summary", "The workshop: hands and hours, stations, moulds, goals")
            self._place = box("div", "panel-many")
            Words("h3", "Holidays from a calendar file")
            Words("p", "All-day events of an .ics file are days off of everybody.", "lead")
            self._trouble = Words("p", "", "trouble", role="alert")
            Bring("/bring", LARGEST_BYTES, ".ics", self._brought)
        shut.on("toggle", lambda event: self._turned(bool(event.args)), js_handler=IS_OPEN)

    def show(
        self,
        workshop: Workshop,
        designs: Mapping[str, str],
        blanks: Mapping[str, tuple[str, ...]],
        steps: Mapping[str, KnownSteps],
    ) -> None:
        """Show the settings.

        Args:
            workshop: As it is.
            designs: Names of what is ordered, by id.
            blanks: What is pressed in them, by id; empty until it is known.
            steps: How they are made, by id; empty until it is known.
        """
        self._workshop, self._designs, self._blanks, self._steps = workshop, designs, blanks, steps
        self._is_old = True
        if self._is_open:
            self._draw(workshop)

    def _turned(self, is_open: bool) -> None:
        """Build the fields when they are first looked at; they are many."""
        self._is_open = is_open
        if is_open and self._is_old and self._workshop is not None:
            self._draw(self._workshop)

    def _draw(self, workshop: Workshop) -> None:
        self._is_old = False
        self._place.clear()
        with self._place:
            for number, hands in enumerate(workshop.hands):
                self._hands(number, hands, len(workshop.hands))
            self._stations(workshop)
            self._times(workshop)
            for number, (id, name) in enumerate(self._designs.items()):
                self._design(number, workshop.of(id), name)

    def _hands(self, number: int, hands: Hands, count: int) -> None:
        with box("section", "batch-set", aria_label=f"Hands of {hands.name}"):
            Words("h3", f"Hands: {hands.name}")
            self._entry("Name", f"hands-{number}-name", hands.name, partial(self._named, number))
            self._entry(
                "Hours of the week",
                f"hands-{number}-week",
                words_of.week_words(hands.week),
                partial(self._of_hands, number, "week", words_of.week_of, words_of.week_words),
                lines=7,
            )
            self._entry(
                "Days off",
                f"hands-{number}-off",
                words_of.days_off_words(hands.days_off),
                partial(
                    self._of_hands,
                    number,
                    "days_off",
                    words_of.days_off_lines,
                    words_of.days_off_words,
                ),
                lines=2,
                says="A line each: 2026-12-24, or 2026-12-24 to 2026-12-26, why",
            )
            with box("p", "card-actions"):
                if number == count - 1:
                    press("Another pair of hands", self._add_hands, "quiet")
                if count > 1:
                    press(f"Without {hands.name}", partial(self._drop_hands, number), "quiet")

    def _stations(self, workshop: Workshop) -> None:
        bench = workshop.bench
        with box("section", "batch-set", aria_label="Stations"):
            Words("h3", "Stations")
            Words(
                "p",
                "Tub, booth and air hold for prices, packs and the steps on a phone, too; all else "
                "here for the plan alone. What is dyed is said by an order's colour.",
                "lead",
            )
            for name, label in COUNTS:
                self._count(label, name, getattr(workshop, name), partial(self._plain, name))
            for name, label in HOLDS:
                self._count(label, name, getattr(bench, name), partial(self._of_bench, name, int))
            for name, label in AIR:
                value = f"{getattr(bench, name):g}"
                self._entry(label, f"bench-{name}", value, partial(self._bench, name, float))
            self._minutes("Wet leather stays closed at most", "wet_limit_minutes", workshop)
            self._minutes(
                "What is dyed waits for its next step at most (0 min: any time)",
                "dyed_limit_minutes",
                workshop,
            )
            self._minutes(
                "A step that pauses for a break has parts of at least",
                "least_part_minutes",
                workshop,
            )
            self._minutes("To change the colour in the booth", "flush_minutes", workshop)
            self._minutes("To lay another board on the laser", "board_minutes", workshop)
            self._entry(
                "Time zone",
                "zone",
                workshop.zone,
                self._zone,
                says="Such as Europe/Vienna, for the nights in which clocks are changed; or empty",
            )
            here = Words("button", "Take the zone of this computer", "quiet", type="button")
            here.on("click", js_handler=ENTER_ZONE)
            hints = get_type_hints(BenchChoice)
            for name, label in (("dye", "Leather is dyed"), ("dye_base", "Base of the dye")):
                chosen(
                    label,
                    f"bench-{name}",
                    getattr(bench, name),
                    get_args(hints[name]),
                    partial(self._of_bench, name, str),
                    self._changed,
                )
        with box("section", "batch-set", aria_label="Goals and holidays"):
            Words("h3", "Goals and holidays")
            self._entry(
                "Goals in order",
                "goals",
                ", ".join(workshop.goals),
                self._goals,
                lines=2,
                says=f"Some of: {', '.join(GOALS)}",
            )
            self._entry(
                "Holidays of everybody",
                "holidays",
                words_of.days_off_words(workshop.holidays),
                self._holidays,
                lines=4,
                says="A line each: 2026-12-24, or 2026-12-24 to 2026-12-26, why",
            )

    def _times(self, workshop: Workshop) -> None:
        with box("section", "batch-set", aria_label="Times of the steps"):
            Words("h3", "Times of the steps")
            Words(
                "p",
                "They hold for plans, prices, packs and the steps on a phone, before those that "
                "were timed here.",
                "lead",
            )
            self._entry(
                "Your own times",
                "times",
                times_words.own_time_words(workshop.bench.times),
                self._own_times,
                lines=4,
                says=f"A line each: {times_words.EXAMPLE}; rest 1 h, or rest 1 h to 8 h",
            )
            with box("details"):
                Words("summary", "Times that come with the program")
                for line in times_words.built_in_time_words().splitlines():
                    Words("p", line, "lead")

    def _design(self, number: int, means: Means, name: str) -> None:
        with box("section", "batch-set", aria_label=f"For {name}"):
            Words("h3", f"For {name}")
            Words(
                "p",
                "First-off, loads and moulds hold for the plan alone; what you change of its steps "
                "for its price, pack and steps on a phone, too.",
                "lead",
            )
            chosen(
                "First-off",
                f"proven-{number}",
                "measured" if means.proven else "to be made first",
                ("measured", "to be made first"),
                partial(self._means, means.design, "proven", lambda text: text == "measured"),
                self._changed,
            )
            self._entry(
                "Articles in a load",
                f"load-{number}",
                f"{means.load or ''}",
                partial(self._load, means.design),
                says="Empty: as the plugs suggest",
            )
            for k, blank in enumerate(self._blanks.get(means.design, ())):
                moulds = means.moulds_of(blank)
                for field in ("plugs", "frames", "rings"):
                    self._count(
                        f"{field.capitalize()} of the {blank}",
                        f"{field}-{number}-{k}",
                        getattr(moulds, field),
                        partial(self._moulds, means.design, blank, field),
                    )
            if means.design not in self._blanks:
                Words("p", "Its moulds and steps are shown as soon as they are known.", "lead")
        if means.design in self._steps:
            keep = partial(self._own_steps, means.design)
            steps = self._steps[means.design]
            StepsPart(number, name, steps, means.own_steps, keep, self._changed).build()

    # -- fields -----------------------------------------------------------------------------------

    def _entry(
        self, label: str, id: str, value: str, keep: Callable[[str], str], **more: Any
    ) -> None:
        entry(label, f"batch-{id}", value, keep, self._changed, **more)

    def _count(self, label: str, id: str, value: int, keep: Callable[[str], object]) -> None:
        def kept(text: str) -> str:
            _whole(text)
            keep(text.strip())
            return text.strip()

        self._entry(label, id, f"{value}", kept)

    def _minutes(self, label: str, name: str, workshop: Workshop) -> None:
        def keep(text: str) -> str:
            minutes = parse_minutes(text)
            self._keep(lambda shop: replace(shop, **{name: minutes}))  # type: ignore[arg-type]
            return format_minutes(minutes)

        self._entry(label, name, format_minutes(getattr(workshop, name)), keep)

    def _keep(self, change: Change) -> Workshop:
        """Change the settings in the book, off the event loop."""
        workshop = change(workshop_of(self._shop.book))
        keep_workshop(self._shop.book, workshop)
        self.kept = workshop
        return workshop

    def _plain(self, name: str, text: str) -> None:
        self._keep(lambda shop: replace(shop, **{name: int(text)}))  # type: ignore[arg-type]

    def _zone(self, text: str) -> str:
        self._keep(lambda shop: replace(shop, zone=text.strip()))
        return text.strip()

    def _of_bench(self, name: str, sort: Callable[[str], Any], text: str) -> None:
        value = sort(text)
        self._keep(lambda shop: replace(shop, bench=replace(shop.bench, **{name: value})))

    def _bench(self, name: str, sort: Callable[[str], Any], text: str) -> str:
        try:
            value = sort(text)
        except ValueError:
            raise RequestError(f"{text!r} is no number") from None
        if name == "humidity" and not 0.0 <= value < 1.0:
            raise RequestError(f"humidity of {text}", mend="Give a share such as 0.5")
        self._of_bench(name, sort, text)
        return text.strip()

    def _named(self, number: int, text: str) -> str:
        self._hands_with(number, name=text.strip())
        return text.strip()

    def _of_hands(
        self,
        number: int,
        field: str,
        read: Callable[[str], Any],
        write: Callable[[Any], str],
        text: str,
    ) -> str:
        value = read(text)
        self._hands_with(number, **{field: value})
        return write(value)

    def _hands_with(self, number: int, **fields: Any) -> None:
        def change(shop: Workshop) -> Workshop:
            if number >= len(shop.hands):
                raise RequestError("these hands are no longer in the book")
            some = list(shop.hands)
            some[number] = replace(some[number], **fields)
            return replace(shop, hands=tuple(some))

        self._keep(change)

    def _goals(self, text: str) -> str:
        goals = words_of.goals_of(text)
        self._keep(lambda shop: replace(shop, goals=goals))
        return ", ".join(goals)

    def _holidays(self, text: str) -> str:
        days = words_of.days_off_lines(text)
        self._keep(lambda shop: replace(shop, holidays=days))
        return words_of.days_off_words(days)

    def _means(self, design: str, field: str, read: Callable[[str], Any], text: str) -> None:
        value = read(text)
        self._keep(lambda shop: shop.with_means(replace(shop.of(design), **{field: value})))

    def _load(self, design: str, text: str) -> str:
        self._means(design, "load", lambda one: _whole(one) if one.strip() else None, text)
        return text.strip()

    def _own_steps(self, design: str, own: tuple[OwnStep, ...]) -> None:
        self._keep(lambda shop: shop.with_means(replace(shop.of(design), own_steps=own)))

    def _own_times(self, text: str) -> str:
        times = times_words.own_times_of(text)
        self._keep(lambda shop: replace(shop, bench=replace(shop.bench, times=times)))
        return times_words.own_time_words(times)

    def _moulds(self, design: str, blank: str, field: str, text: str) -> None:
        def change(shop: Workshop) -> Workshop:
            return with_moulds(shop, design, blank, **{field: int(text)})

        self._keep(change)

    async def _add_hands(self) -> None:
        def change(shop: Workshop) -> Workshop:
            name = f"hands {len(shop.hands) + 1}"
            return replace(shop, hands=(*shop.hands, replace(shop.hands[-1], name=name)))

        await self._kept(change)

    async def _drop_hands(self, number: int) -> None:
        await self._kept(
            lambda shop: replace(
                shop, hands=tuple(one for k, one in enumerate(shop.hands) if k != number)
            )
        )

    async def _kept(self, change: Change) -> None:
        try:
            await asyncio.to_thread(self._keep, change)
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        self._trouble.text = ""
        self._show_again()

    async def _brought(self, token: str) -> None:
        held = self._shop.held(token)
        if held is None:
            return
        data, name = held
        today = self._today()

        def change(shop: Workshop) -> Workshop:
            days = read_holidays(data, name=name, first=today, last=today + HOLIDAYS_AHEAD)
            new = (one for one in days if one not in shop.holidays)
            return replace(shop, holidays=tuple(sorted((*shop.holidays, *new), key=_first)))

        await self._kept(change)


def with_moulds(shop: Workshop, design: str, blank: str, **counts: int) -> Workshop:
    """Return the workshop with other numbers of the moulds of a blank."""
    means = shop.of(design)
    others = tuple(one for one in means.moulds if one.blank != blank)
    fields: dict[str, Any] = dict(counts)
    moulds: Moulds = replace(means.moulds_of(blank), **fields)
    return shop.with_means(replace(means, moulds=(*others, moulds)))


def _first(days: Any) -> date:
    first: date = days.first
    return first


def _whole(text: str) -> int:
    if not text.strip().isdecimal() or len(text.strip()) > 6:
        raise RequestError(f"{text!r} is no whole number", mend="Give such as 4")
    return int(text)

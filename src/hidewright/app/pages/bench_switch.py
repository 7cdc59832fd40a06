"""The switch of the bench view: a design's steps on a phone in the same network, while it is on."""

from datetime import date

from nicegui import background_tasks, ui

from hidewright.app.asked_money import MONEY, BenchAsked
from hidewright.app.bench import BenchPage
from hidewright.app.desk import Desk
from hidewright.app.parts import Words, box, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.worker import Done, Part, Progress
from hidewright.costing.quote import day_in_words
from hidewright.errors import RequestError
from hidewright.store.book_rates import rates_in
from hidewright.store.book_workshop import plan_of, workshop_of
from hidewright.units.written import Written


class BenchSwitch:
    """The part of the Papers page that shows a design's steps to phones."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        """Build it in the current place."""
        self._shop, self._desk = shop, desk
        self._client = ui.context.client
        self._key = f"bench {self._client.id}"
        Words("h2", "At the bench, on a phone")
        Words(
            "p",
            "Steps with ticks and timers, on a phone in the same network. Whoever has the address "
            "can read these pages, nobody can change anything, and your designs stay on this "
            "machine. It ends when you switch it off or close the app.",
            "lead",
        )
        with box("p", "actions"):
            self._show = press("Show these steps to phones", self._ask, "button")
            self._off = press("Switch it off", self._close, "button")
        self._words = Words("p", "", "state", role="status")
        self._code = box("div", "bench-code")
        self._tell()

    def left(self) -> None:
        """The window has gone."""
        self._shop.give_up(MONEY, self._key)

    def _ask(self) -> None:
        self._words.text = "Drawing the steps ..."
        day = day_in_words(date.fromisoformat(self._shop.now()[:10]))
        spec = self._shop.knows.reckoned(self._desk.spec)
        written = Written(lengths=self._shop.unit)
        asked = BenchAsked(
            spec=spec,
            key=self._desk.id,
            day=day,
            laser_speed=rates_in(self._shop.book).rates.laser_speed,
            bench=self._shop.knows.bench(workshop_of(self._shop.book).bench_of(self._desk.id)),
            written=written,
        )
        self._shop.ask(MONEY, self._key, asked, self._told)

    def _told(self, what: Part | Progress | Done) -> None:
        with self._client:
            match what:
                case Part(value=bytes() as page):
                    name = self._desk.spec.brief.name
                    shown = BenchPage(words=name, render=lambda: page)
                    self._shop.bench.put(self._desk.id, shown)
                    background_tasks.create(self._open())
                case Progress(words=words):
                    self._words.text = f"Working on: {words}"
                case Done() as done if (trouble := trouble_of(done)) is not None:
                    self._words.text = trouble.words

    async def _open(self) -> None:
        trouble = ""
        try:
            self._shop.bench.put("day", BenchPage(words="The day's list", render=self._today))
            await self._shop.bench.open()
        except RequestError as refused:
            trouble = refused.sentence
        with self._client:
            self._tell()
            self._words.text = trouble or self._words.text

    def _today(self) -> bytes:
        """Return the list of the day that it is now, by the plan that is in the book now."""
        from hidewright.drawing.bench_page import day_page
        from hidewright.workshop.batch.day_list import day_list_page

        plan = plan_of(self._shop.book)
        day = date.fromisoformat(self._shop.now()[:10])
        if plan is None:
            return day_page("The workshop", day_in_words(day), ())
        return day_list_page(plan, day)

    async def _close(self) -> None:
        await self._shop.bench.close()
        self._tell()

    def _tell(self) -> None:
        from hidewright.drawing.qr import qr_svg

        bench = self._shop.bench
        self._off.set_visibility(bench.is_on)
        self._code.clear()
        if not bench.is_on:
            self._words.text = "It is off."
            return
        shown = ", ".join(page.words for page in bench.pages.values())
        self._words.text = f"It is on and shows: {shown}."
        with self._code:
            ui.html(qr_svg(bench.address, 220), sanitize=False)
            link(bench.address, bench.address, target="_blank", rel="noreferrer")

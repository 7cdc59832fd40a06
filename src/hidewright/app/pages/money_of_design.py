"""What one article costs and what to ask: batch, what-if, lines, ladder, what moves the price."""

import asyncio
import uuid
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from nicegui import background_tasks, ui

from hidewright.app.asked_money import MONEY, MoneyAsked, Yields
from hidewright.app.components.entries import BEGINS_WITH, tell
from hidewright.app.desk import Desk, What
from hidewright.app.pages.design_frame import design_frame
from hidewright.app.pages.money_own_price import OwnPrice
from hidewright.app.parts import VALUE, Words, box, given, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.while_open import while_open
from hidewright.app.worker import Done, Part, Progress
from hidewright.costing.charges import AS_IT_IS
from hidewright.costing.ladder import BATCHES
from hidewright.costing.tornado import BY
from hidewright.costing.unpriced import Unpriced
from hidewright.design.customer_order import CustomerOrder
from hidewright.design.cut_layout import yields_of
from hidewright.errors import RequestError
from hidewright.planning.steps_choice import BenchChoice
from hidewright.store.book_layouts import LAYOUTS
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_rates import OWN_PRICES, RATES, rates_in
from hidewright.store.book_settings import put_setting, setting
from hidewright.store.book_workshop import WORKSHOPS, workshop_of
from hidewright.store.rates_file import RatesFile
from hidewright.units.minutes import format_minutes
from hidewright.workshop.learned_minutes import minutes_words
from hidewright.workshop.money.pictures import ladder_picture, tornado_picture
from hidewright.workshop.money.priced import CAUSES, Priced
from hidewright.workshop.money.tables import (
    build_up_table,
    in_currency,
    ladder_table,
    lines_table,
)
from hidewright.workshop.paper_choice import USUAL_BATCH

#: Ends of a what-if slider, per cent of what it is.
LEAST, MOST = 50, 200
#: Sentences under the pictures.
FACTS = 3
#: Orders whose price may still be set.
OPEN = ("asked", "quoted", "agreed")
#: What a price goes by besides the design.
READ = frozenset({RATES.kind, OWN_PRICES.kind, WORKSHOPS.kind, LAYOUTS.kind, ORDERS.kind})
#: Shown until the first price is there.
WAITING = "Reckoning the steps and what they cost ..."


class MoneyOfDesignPage:
    """What one window shows of a design's money."""

    def __init__(self, shop: Shop, desk: Desk) -> None:
        """Build the page in the current window."""
        self._shop, self._desk = shop, desk
        self._client = ui.context.client
        self._key = f"money {self._client.id}"
        self._own: RatesFile | None = None
        self._bench = BenchChoice()
        self._yields: Yields = ()
        self._batch = self._kept_batch = USUAL_BATCH
        self._what_if = AS_IT_IS
        self._priced: Priced | None = None
        self._orders: dict[str, CustomerOrder] = {}
        self._missing: tuple[Unpriced, ...] = ()
        self._gone = False
        self._marks: dict[str, Words] = {}
        with design_frame(shop, desk, "money") as self._tell_frame:
            with box("section", "measures", aria_label="Batch and what if"):
                self._build_sliders()
            with box("section", "showing", aria_label="Price"):
                self._price = Words("p", "", "price-now")
                self._likely = Words("p", "", "when")
                self._words = Words("p", WAITING, "state", role="status")
                self._why = Words("p", "", "why", role="alert")
                self._forms = box("div")
                self._result = box("div", "money-result")
                with self._result:
                    self._build_result()
            with box("section", "aside", aria_label="Use this price"):
                self._build_use()
            with box("section", "whole", aria_label="Line by line"):
                self._lines, self._rungs = (_table(x) for x in ("Cost lines", "By batch size"))
        self._reveal(False)
        stops = (
            desk.listen(while_open(self._client, self._heard)),
            shop.listen(while_open(self._client, self._others)),
        )
        self._client.on_delete(lambda: self._left(stops))
        background_tasks.create(self._begin())

    # --- how it is laid out ----------------------------------------------------------------------

    def _build_sliders(self) -> None:
        Words("p", "What a batch of this article costs, and what to ask for one.", "lead")
        with box("fieldset", "group"):
            Words("legend", "Batch")
            self._slider("batch", "made at a time", BATCHES[0], BATCHES[-1], USUAL_BATCH)
        with box("fieldset", "group"):
            Words("legend", "What if")
            for cause, words in CAUSES.items():
                self._slider(cause, words, LEAST, MOST, 100)
            self._here = Words("p", "", "price-here")
            with box("p", "actions"):
                press("As it is", self._as_it_is, "button")
        with box("p", "actions"):
            link("Rates and prices of the workshop", "/money", "button")

    def _slider(self, name: str, words: str, low: int, high: int, value: int) -> None:
        with box("div", "field"):
            Words("label", words, for_=f"money-{name}")
            self._marks[name] = Words("output", "", "figure", for_=f"money-{name}")
            slider = box("input", type="range", id=f"money-{name}", min=low, max=high, step=1)
            slider.props[BEGINS_WITH] = value
            slider.on("input", partial(self._slid, name), js_handler=VALUE)

    def _build_result(self) -> None:
        self._build_up = _table("How the price is built up")
        with box("div", "money-pictures"):
            with box("figure"):
                Words("figcaption", "Price and cost by batch size")
                self._ladder = ui.html("", sanitize=False)
            with box("figure"):
                self._moves = Words("figcaption", "What moves the price most")
                self._tornado = ui.html("", sanitize=False)
        with box("ul", "said"):
            self._facts = tuple(Words("li", "") for _ in range(FACTS))

    def _build_use(self) -> None:
        Words("h2", "Use this price")
        self._open_orders = box("div", "orders-of")
        with box("fieldset", "group"):
            Words("legend", "A new order")
            held = {"customer": "", "quantity": ""}
            for name, words in (("customer", "Customer"), ("quantity", "How many")):
                with box("div", "field"):
                    Words("label", words, for_=f"new-{name}")
                    field = box(
                        "input", type="text", id=f"new-{name}", maxlength=200, autocomplete="off"
                    )
                    field.on("input", partial(_hold, held, name), js_handler=VALUE)
            self._trouble = Words("p", "", "trouble", role="alert")
            with box("p", "actions"):
                press("Write it down at this price", partial(self._new_order, held), "button")

    # --- asking ----------------------------------------------------------------------------------

    async def _begin(self) -> None:
        """Begin with the batch that was looked at last, once the book is read."""
        key = f"batch {self._desk.id}"
        batch = await asyncio.to_thread(setting, self._shop.book, key, USUAL_BATCH)
        if isinstance(batch, int) and batch in BATCHES and not self._gone:
            self._batch = self._kept_batch = batch
            with self._client:
                tell("money-batch", f"{batch}")
        await self._read()

    async def _read(self) -> None:
        """Read rates, prices and orders, and reckon with them."""

        def read() -> tuple[RatesFile, BenchChoice, Yields, dict[str, CustomerOrder]]:
            book = self._shop.book
            bench = workshop_of(book).bench_of(self._desk.id)
            return rates_in(book), bench, yields_of(LAYOUTS.rows(book).values()), ORDERS.rows(book)

        try:
            self._own, self._bench, self._yields, self._orders = await asyncio.to_thread(read)
        except RequestError as refused:
            self._refused(refused.sentence)
            return
        if self._gone:
            return
        with self._client:
            self._show_orders()
            self._mark()
        self._ask()

    def _ask(self) -> None:
        if self._own is None or self._gone:
            return
        asked = MoneyAsked(
            spec=self._shop.knows.reckoned(self._desk.spec),
            rates=self._shop.knows.rates(self._own.rates),
            prices=self._own.prices,
            batch=self._batch,
            bench=self._shop.knows.bench(self._bench),
            yields=self._yields,
            what_if=self._what_if,
            learned=self._shop.knows.used(),
        )
        self._shop.ask(MONEY, self._key, asked, self._told)

    def _slid(self, name: str, event: Any) -> None:
        try:
            value = int(float(event.args))
        except (TypeError, ValueError):
            return
        if name == "batch":
            self._batch = min(max(value, BATCHES[0]), BATCHES[-1])
        else:
            share = min(max(value, LEAST), MOST) / 100
            changed: dict[str, float] = {name: share}
            self._what_if = replace(self._what_if, **changed)
        self._mark()
        self._ask()

    def _as_it_is(self) -> None:
        self._what_if = AS_IT_IS
        for cause in CAUSES:
            tell(f"money-{cause}", "100")
        self._mark()
        self._ask()

    def _mark(self) -> None:
        self._marks["batch"].text = f"{self._batch}"
        for cause in CAUSES:
            share = round(100 * getattr(self._what_if, cause)) - 100
            self._marks[cause].text = f"{share:+d} %" if share else "as it is"

    def _told(self, what: Part | Progress | Done) -> None:
        if self._gone:
            return
        with self._client:
            match what:
                case Part(value=Priced() as found):
                    self._show(found)
                case Part(value=tuple() as missing):
                    self._ask_prices(missing)
                case Progress(words=words) if self._priced is None:
                    self._words.text = f"Working on: {words}"
                case Done() as done if not done.dropped:
                    self._words.text = ""
                    trouble = trouble_of(done)
                    if trouble is not None:
                        self._refused(trouble.words)

    # --- showing ---------------------------------------------------------------------------------

    def _reveal(self, there: bool) -> None:
        for part in (self._result, self._lines, self._rungs):
            part.set_visibility(there)

    def _refused(self, words: str) -> None:
        with self._client:
            self._why.text = words
            self._price.text = self._likely.text = ""
            self._reveal(False)
            self._priced = None

    def _ask_prices(self, missing: tuple[Unpriced, ...]) -> None:
        """Show a form for each price that is missing; what is typed stays while it is the same."""
        if missing == self._missing:
            return
        self._missing = missing
        self._forms.clear()
        with self._forms:
            for number, one in enumerate(missing):
                OwnPrice(self._shop, f"missing-{number}", one)

    def _show(self, found: Priced) -> None:
        said = in_currency(found.cost.currency)
        self._priced = found
        self._why.text = ""
        self._ask_prices(())
        self._reveal(True)
        self._price.text = f"{said(found.asked.gross_minor)} for one"
        self._here.text = self._price.text
        if found.ladder:
            code = found.cost.currency
            self._ladder.content = ladder_picture(found.ladder, found.cost.batch, code)
            self._rungs.content = ladder_table(found.ladder, found.cost.batch, code)
            self._tornado.content = tornado_picture(found.tornado, code)
            self._remember(found.cost.batch)
            cause = CAUSES[found.tornado[0].cause]
            self._moves.text = f"What moves the price before tax most, {BY:.0%} up or down: {cause}"
            self._likely.text = _ranges(found)
            return
        self._lines.content = lines_table(found.cost)
        self._build_up.content = build_up_table(found.asked, found.cost.currency)
        for item, words in zip(self._facts, _facts(found), strict=True):
            item.text = words
            item.set_visibility(bool(words))

    def _remember(self, batch: int) -> None:
        """Keep the batch that is looked at, once the slider rests."""
        if batch != self._kept_batch:
            self._kept_batch = batch
            key = f"batch {self._desk.id}"
            background_tasks.create(asyncio.to_thread(put_setting, self._shop.book, key, batch))

    def _show_orders(self) -> None:
        self._open_orders.clear()
        rows = [
            (id, one)
            for id, one in self._orders.items()
            if one.design == self._desk.id and one.status in OPEN
        ]
        with self._open_orders:
            if not rows:
                Words("p", "No order for this design waits for a price.", "lead")
            for id, order in rows:
                now = (
                    "no price yet"
                    if order.price_minor is None
                    else in_currency(order.currency)(order.price_minor)
                )
                with box("div", "order-of"):
                    who = order.customer.splitlines()[0]
                    Words("p", f"{order.quantity} for {who}, {order.status}: {now}")
                    press(
                        "Give it this price",
                        partial(self._use, id),
                        "button",
                        aria_label=f"Give the order of {who} this price",
                    )

    # --- orders ----------------------------------------------------------------------------------

    async def _use(self, id: str) -> None:
        if self._priced is None:
            return
        price, code = self._priced.asked.gross_minor, self._priced.cost.currency

        def change(order: CustomerOrder) -> CustomerOrder:
            return replace(order, price_minor=price, currency=code)

        await self._write(partial(ORDERS.edit, self._shop.book, id, change))

    async def _new_order(self, held: dict[str, str]) -> None:
        if self._priced is None:
            return
        try:
            order = CustomerOrder(
                customer=held["customer"].strip(),
                design=self._desk.id,
                article=self._desk.spec.brief.name,
                quantity=_count(held["quantity"] or str(self._batch)),
                received=date.fromisoformat(self._shop.now()[:10]),
                currency=self._priced.cost.currency,
                price_minor=self._priced.asked.gross_minor,
            )
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        await self._write(partial(ORDERS.put, self._shop.book, str(uuid.uuid4()), order))

    async def _write(self, write: Any) -> None:
        try:
            await asyncio.to_thread(write)
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        self._trouble.text = ""
        self._shop.tell(ORDERS.kind)
        ui.notify("Written down; the Money page writes its quote.")

    # --- hearing ---------------------------------------------------------------------------------

    def _heard(self, what: What) -> None:
        with self._client:
            self._tell_frame()
        if what == "design":
            self._ask()

    def _others(self, kinds: frozenset[str]) -> None:
        if kinds & READ:
            background_tasks.create(self._read())

    def _left(self, stops: tuple[Any, ...]) -> None:
        self._gone = True
        for stop in stops:
            stop()
        self._shop.give_up(MONEY, self._key)
        background_tasks.create(self._shop.close_desk(self._desk.id))


def _table(label: str) -> ui.html:
    """Return the place of a table that the keyboard too can scroll where it is too wide."""
    place = ui.html("", sanitize=False).classes("scrolls")
    given(place, {"tabindex": "0", "role": "region", "aria_label": label})
    return place


def _hold(held: dict[str, str], name: str, event: Any) -> None:
    held[name] = str(event.args)


def _count(text: str) -> int:
    if not text.strip().isdecimal():
        raise RequestError(f"{text!r} articles", mend="Give a whole number, such as 12")
    return int(text)


def _ranges(found: Priced) -> str:
    """Return the likely ranges of price and minutes, in words."""
    if found.likely is None:
        return ""
    said, price = in_currency(found.cost.currency), found.likely.price
    return (
        f"Likely {said(round(price.low))} to {said(round(price.high))}, by how long the work takes:"
        f" {minutes_words(found.likely.minutes)} for one. How large the blank must be is not in it:"
        " that may move the price by a few hundredths of what the leather costs."
    )


def _facts(found: Priced) -> tuple[str, ...]:
    """Return tools, minutes and the batch that costs least, in words; empty for no such batch."""
    said = in_currency(found.cost.currency)
    minutes = sum(one.total for one in found.steps) / found.cost.batch
    pays = found.break_even
    paid = f"paid when {pays} are sold" if pays is not None else "not paid at this price"
    least = found.economic_batch
    return (
        f"Hands on: {format_minutes(round(minutes))} for one.",
        f"Tools: {said(found.cost.tooling_minor)} to make, {paid}.",
        "" if least is None else f"Setting up and holding cost least in batches of {least:.0f}.",
    )

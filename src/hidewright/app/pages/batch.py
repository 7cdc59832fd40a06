"""The batch: orders in, the plan of the week out, ticked and planned again as the days go."""

import asyncio
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from typing import Literal

from nicegui import background_tasks, ui

from hidewright.app.asked_batch import (
    Blanks,
    PlanAsked,
    Planned,
    PromiseAsked,
    ReliefsAsked,
    Shown,
    StepsAsked,
)
from hidewright.app.pages.batch_days import rows_of
from hidewright.app.pages.batch_found import Found, Reader
from hidewright.app.pages.batch_mishaps import MishapsPart
from hidewright.app.pages.batch_orders import OrdersPart
from hidewright.app.pages.batch_questions import Questions
from hidewright.app.pages.batch_shown import ENDINGS, ShownPlan, written
from hidewright.app.pages.batch_workshop import WorkshopPart
from hidewright.app.parts import Words, box, frame, link, press
from hidewright.app.shop import Shop, trouble_of
from hidewright.app.while_open import while_open
from hidewright.app.worker import Done
from hidewright.design.customer_order import TO_BE_MADE, CustomerOrder
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan, State
from hidewright.planning.batch_problem import MEASURED
from hidewright.planning.hands import minute_of, monday_of
from hidewright.planning.known_steps import KnownSteps
from hidewright.planning.workshop import Workshop
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_rates import RATES
from hidewright.store.book_versions import specification_of
from hidewright.store.book_workshop import (
    PLANS,
    WORKSHOPS,
    keep_plan,
    keep_workshop,
    swap_plan,
    workshop_of,
)
from hidewright.store.plan_ticks import keep_ticks
from hidewright.workshop.batch.otherwise import asked_for, difference, newly_made, ticked
from hidewright.workshop.batch.relief import Relief
from hidewright.workshop.batch.week import shifted

KINDS = frozenset({ORDERS.kind, WORKSHOPS.kind, PLANS.kind, RATES.kind, "design"})


class BatchPage:
    """The batch in one window."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._client = ui.context.client
        self._reader = Reader(shop)
        self._questions = Questions(shop)
        self._found: Found | None = None
        self._blanks: dict[str, tuple[str, ...]] = {}
        self._steps: dict[str, KnownSteps] = {}
        self._shown_designs: dict[str, str] = {}
        self._listed: tuple[object, ...] | None = None
        self._keeping, self._loading = asyncio.Lock(), asyncio.Lock()
        self._asked_steps_of: object = None
        #: The plan that the process was told of; another one in the book has ticks it knows not.
        self._base: BatchPlan | None = None
        self._from: BatchPlan | None = None
        #: What is on the page: the plan, the settings beside it, the minute.
        self._showing: tuple[BatchPlan, Workshop, int] | None = None
        self._moved, self._day = "", 0
        self._undo: BatchPlan | None = None
        self._said = ""
        #: Whether there are a plan and open orders, as the page's beginning was last shown for.
        self._begun: tuple[bool, bool] | None = None

    async def build(self) -> None:
        """Build the page."""
        today = self._today
        self._orders = OrdersPart(self._shop, today, self._promise, self._changed)
        self._workshop = WorkshopPart(self._shop, today, self._kept, self._changed)
        self._mishaps = MishapsPart(today, self._happened)
        self._plan = ShownPlan(self._tick, self._move)
        found = await asyncio.to_thread(self._reader.read)
        with frame(self._shop, "Batch"):
            with box("section", "hero"):
                Words("h1", "What is done on which day")
                self._begin = box("div")
                self._to_day = link("", "#plan", "batch-to-day")
            # once there is a plan, the days come first
            parts = (self._build_orders, self._build_plan)
            for part in reversed(parts) if found.plan is not None else parts:
                part()
        stop = self._shop.listen(while_open(self._client, self._heard))
        self._client.on_delete(lambda: self._left(stop))
        self._work(False)
        await self.load()

    def _build_orders(self) -> None:
        with box("section", "batch-part", aria_label="Orders"):
            self._orders.build()
        with box("section", "batch-part", aria_label="The workshop"):
            self._workshop.build()

    def _build_plan(self) -> None:
        with box("section", "batch-part", aria_label="Plan") as self._planning:
            Words("h2", "Plan")
            with box("p", "actions"):
                self._anew = press("Plan it", partial(self._ask, "anew"), "button main")
                self._near = press(
                    "Today went otherwise: plan the rest", partial(self._ask, "near"), "button"
                )
                self._sooner = press("What would make it sooner?", self._reliefs, "button")
                self._stop = press("Stop", self._cancel, "button")
            self._words = Words("p", "", "batch-words", role="status")
            self._bar = box("progress", "bar", aria_label="Working")
            self._told = box("div", "batch-told")
            with box("div") as self._with_plan:
                self._mishaps.build()
                self._plan.build(self._download)

    # -- what the book holds ----------------------------------------------------------------------

    async def load(self) -> None:
        """Show what the book holds, what has changed of it."""
        async with self._loading:
            await self._load()

    async def _load(self) -> None:
        found = await asyncio.to_thread(self._reader.read)
        before, self._found = self._found, found
        ordered = {
            id: found.names[id]
            for id in dict.fromkeys(o.design for o in found.orders.values() if _open(o))
            if id in found.names
        }
        # what is shown already and has not changed stays, with what is being entered in it
        listed = (found.orders, found.names, found.plan)
        if listed != self._listed:
            self._listed = listed
            self._orders.show(*listed)
        if before is None or before.workshop != found.workshop or ordered != self._shown_designs:
            self._workshop.show(found.workshop, ordered, self._blanks, self._steps)
        self._shown_designs = ordered
        self._show_begin(found)
        self._planning.set_visibility(bool(found.plan) or any(map(_open, found.orders.values())))
        self._show_plan(found)
        self._learn_steps(found)

    def _show_begin(self, found: Found) -> None:
        state = (found.plan is not None, any(map(_open, found.orders.values())))
        if state == self._begun:
            return
        self._begun = state
        self._begin.clear()
        with self._begin:
            if found.plan is not None:
                Words("p", "Tick off what is done; the rest is planned again when days change.")
            elif any(map(_open, found.orders.values())):
                Words("p", "Say who works when under The workshop, then plan the orders.")
            else:
                Words(
                    "p",
                    "Add an order: who wants which design, how many, by when. You are told the "
                    "earliest day before you agree to it. Then the week is planned.",
                )
                with box("p", "actions"):
                    press("Try it with the orders of Alder Row", self._demo, "button main")

    def _show_plan(self, found: Found) -> None:
        plan = found.plan
        self._anew.text = "Plan it anew" if plan else "Plan it"
        for one in (self._near, self._sooner, self._with_plan):
            one.set_visibility(plan is not None)
        if plan is None:
            self._to_day.set_visibility(False)
            self._showing = None
            return
        now = self._now_in(plan)
        if self._showing != (plan, found.workshop, now):
            self._showing = (plan, found.workshop, now)
            self._mishaps.show(found.workshop, plan, self._blanks)
            days = rows_of(plan, now)
            self._plan.show(plan, now, days)
            ahead = next((day for day in days if not day["gone"]), None)
            self._to_day.set_visibility(ahead is not None)
            if ahead is not None:
                self._to_day.text = f"To the steps of {ahead['title']}"
                self._to_day.props(f"href=#day-{ahead['day']}")

    def _heard(self, kinds: frozenset[str]) -> None:
        if kinds & KINDS:
            self._changed()

    def _changed(self) -> None:
        with self._client:
            background_tasks.create(self.load())

    def _kept(self) -> None:
        """Know the settings that were just entered, without building their fields again."""
        workshop = self._workshop.kept
        if self._found is not None and workshop is not None:
            self._found = replace(self._found, workshop=workshop)

    def _left(self, stop: Callable[[], None]) -> None:
        stop()
        self._questions.give_up()

    # -- time -------------------------------------------------------------------------------------

    def _now(self) -> datetime:
        return datetime.fromisoformat(self._shop.now()).replace(tzinfo=None)

    def _today(self) -> date:
        return self._now().date()

    def _now_in(self, plan: BatchPlan) -> int:
        return minute_of(self._now(), plan.monday)

    # -- asking -----------------------------------------------------------------------------------

    def _shown(
        self, *, before: BatchPlan | None = None, workshop: Workshop | None = None
    ) -> Shown | None:
        found = self._found
        if found is None:
            return None
        workshop = workshop or found.workshop
        knows = self._shop.knows
        return Shown(
            orders=found.orders,
            designs={id: knows.reckoned(spec) for id, spec in found.designs.items()},
            workshop=replace(workshop, bench=knows.bench(workshop.bench)),
            now=self._now().replace(second=0, microsecond=0),
            before=before or found.plan,
            laser_speed=found.laser_speed,
            known=self._reader.known or {},
            learned=knows.used(),
        )

    def _learn_steps(self, found: Found) -> None:
        """Have the steps of what is ordered known, so that a plan need not wait for them."""
        kinds = {(o.design, o.colour) for o in found.orders.values() if o.status in TO_BE_MADE}
        key = (frozenset(kinds), found.workshop.bench, found.laser_speed)
        shown = self._shown()
        if not kinds or key == self._asked_steps_of or shown is None:
            return
        self._asked_steps_of = key
        self._questions.ask("steps", StepsAsked(shown=shown), self._know_blanks)

    def _know_blanks(self, known: Blanks) -> None:
        if known.worked_out:
            background_tasks.create(asyncio.to_thread(self._reader.keep, known.worked_out))
        found = self._found
        if found is None or (dict(known.of), dict(known.steps)) == (self._blanks, self._steps):
            return
        self._blanks, self._steps = dict(known.of), dict(known.steps)
        self._workshop.show(found.workshop, self._shown_designs, self._blanks, self._steps)
        if found.plan is not None:
            self._mishaps.show(found.workshop, found.plan, self._blanks)

    def _ask(
        self,
        how: Literal["anew", "near"],
        *,
        before: BatchPlan | None = None,
        moved: str = "",
        said: str = "",
        workshop: Workshop | None = None,
    ) -> None:
        shown = self._shown(before=before, workshop=workshop)
        if shown is None:
            return
        self._questions.give_up("reliefs")
        self._base = self._from = self._found.plan if self._found else None
        self._moved, self._said = moved, said
        self._told.clear()
        self._words.text = "Planning ..."
        self._work(True)
        self._questions.ask(
            "plan",
            PlanAsked(shown=shown, how=how),
            lambda planned: background_tasks.create(self._in_turn(planned)),
            partial(self._done, "Stopped; the plan is the last one that was found."),
            self._says,
        )

    def _says(self, words: str) -> None:
        self._words.text = f"Working on: {words}"

    async def _in_turn(self, planned: Planned) -> None:
        async with self._keeping:
            await self._planned(planned)

    async def _planned(self, planned: Planned) -> None:
        """Keep a plan, unless something was ticked while it was made."""
        with self._client:
            said = [self._said] if self._said else []
            if planned.plan is not None and self._from is not None:
                before = shifted(self._from, planned.plan.monday)
                found = difference(before, planned.plan, self._moved)
                if found.on_its_day is False:
                    self._tell([found.sentences[0], "Nothing was changed."])
                    return
                said += found.sentences
            kept = await asyncio.to_thread(swap_plan, self._shop.book, self._base, planned.plan)
            if not kept:
                await self.load()
                if self._moved:
                    await self._move(self._moved, self._day)
                else:
                    self._ask("near", said="Something was ticked meanwhile.")
                return
            if self._found is not None:
                self._found = replace(self._found, plan=planned.plan)
                self._show_plan(self._found)
            self._undo = self._from if self._moved else None
            self._base = planned.plan
            if planned.last:
                self._tell(said or ["The plan is made."])
            await self.load()

    def _tell(self, sentences: list[str]) -> None:
        self._words.text = sentences[0]
        self._told.clear()
        with self._told:
            if sentences[1:]:
                with box("ul", "said"):
                    for one in sentences[1:]:
                        Words("li", one)
            if self._undo is not None:
                with box("p", "actions"):
                    press("Take the move back", self._take_back, "button quiet")

    async def _take_back(self) -> None:
        undo, self._undo = self._undo, None
        await asyncio.to_thread(keep_plan, self._shop.book, undo)
        self._tell(["The move is taken back."])
        await self.load()

    def _work(self, busy: bool) -> None:
        """Show whether something is asked for that takes a while."""
        for one in (self._anew, self._near, self._sooner):
            one.props["disabled"] = busy
            one.update()
        self._stop.set_visibility(busy)
        self._bar.set_visibility(busy)

    def _cancel(self) -> None:
        self._words.text = "Stopping ..."
        self._questions.give_up("plan", "reliefs")

    def _done(self, dropped: str, done: Done) -> None:
        self._work(False)
        trouble = trouble_of(done)
        if done.dropped:
            self._words.text = dropped
        elif trouble is not None:
            self._words.text = trouble.words
            with self._told:
                if trouble.report:
                    Words("pre", trouble.report, "report", tabindex="0")

    def _promise(self, order: CustomerOrder) -> None:
        shown = self._shown()
        if shown is None:
            return
        background_tasks.create(self._promise_with(shown, order))

    async def _promise_with(self, shown: Shown, order: CustomerOrder) -> None:
        try:
            spec = await asyncio.to_thread(specification_of, self._shop.book, order.design)
        except RequestError as refused:
            self._orders.promised(refused.sentence)
            return
        spec = self._shop.knows.reckoned(spec)
        shown = replace(shown, designs={**shown.designs, order.design: spec})
        asked = PromiseAsked(shown=shown, order=order)
        self._questions.ask(
            "promise",
            asked,
            lambda found: self._orders.promised(found.words, found.day),
            self._no_promise,
        )

    def _no_promise(self, done: Done) -> None:
        if (trouble := trouble_of(done)) is not None:
            self._orders.promised(trouble.words)

    def _reliefs(self) -> None:
        shown = self._shown()
        if shown is None or shown.before is None:
            return
        self._words.text = "Trying what one more of each would bring ..."
        self._told.clear()
        self._work(True)
        asked = ReliefsAsked(shown=shown, plan=shown.before)
        self._questions.ask(
            "reliefs",
            asked,
            self._show_reliefs,
            partial(self._done, "Stopped looking."),
            self._says,
        )

    def _show_reliefs(self, found: tuple[Relief, ...]) -> None:
        self._told.clear()
        if not found:
            self._words.text = (
                "One more of anything brings nothing: the waits themselves are what takes long."
            )
            return
        self._words.text = f"The bottleneck: {found[0].what} would help most."
        with self._told, box("ul", "said"):
            for one in found:
                with box("li"):
                    Words("span", one.words)
                    press(
                        "Reckon with it",
                        partial(self._happened, f"With {one.what}.", partial(_given, one.workshop)),
                        "quiet",
                        aria_label=f"Reckon with {one.what}",
                    )

    # -- what the maker does ----------------------------------------------------------------------

    async def _tick(self, key: str, state: State) -> None:
        found = self._found
        if found is None or found.plan is None:
            return
        now = self._now_in(found.plan)
        task = found.plan.task(key)

        def keep() -> None:
            book = self._shop.book
            keep_ticks(book, lambda plan: ticked(plan, key, state, now, found.workshop), newly_made)
            if task is not None and task.step == MEASURED and state == "done":
                shop = workshop_of(book)
                design = found.plan.load(task.load).design if found.plan else ""
                keep_workshop(book, shop.with_means(replace(shop.of(design), proven=True)))

        try:
            await asyncio.to_thread(keep)
        except RequestError as refused:
            self._words.text = refused.sentence
        await self.load()

    async def _move(self, key: str, day: int) -> None:
        if self._found is None or self._found.plan is None:
            return
        try:
            wish = asked_for(self._found.plan, key, day)
        except RequestError as refused:
            self._words.text = refused.sentence
            return
        self._day = day
        self._ask("near", before=wish, moved=key)

    async def _happened(self, said: str, change: Callable[[Workshop], Workshop]) -> None:
        """Keep a change of the workshop, and plan the rest with it."""

        def keep() -> Workshop:
            workshop = change(workshop_of(self._shop.book))
            keep_workshop(self._shop.book, workshop)
            return workshop

        try:
            workshop = await asyncio.to_thread(keep)
        except RequestError as refused:
            self._words.text = refused.sentence
            return
        # what is shown is drawn anew while the plan is made
        self._ask("near", said=said, workshop=workshop)
        await self.load()

    async def _demo(self) -> None:
        try:
            await asyncio.to_thread(self._reader.take_the_demo, self._today())
        except RequestError as refused:
            with self._begin:
                Words("p", refused.sentence, "trouble", role="alert")
            return
        await self.load()

    async def _download(self, sort: str) -> None:
        plan = self._found.plan if self._found else None
        if plan is None:
            return
        data = await asyncio.to_thread(written, plan, sort)
        ui.download(data, f"week of {monday_of(self._today())}{ENDINGS[sort]}")


def _open(order: CustomerOrder) -> bool:
    return order.status in TO_BE_MADE


def _given(workshop: Workshop, _: Workshop) -> Workshop:
    return workshop

"""The page of the batch built in process: orders, plan, ticks, mishaps, and what the book keeps."""

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio
from nicegui import Client
from nicegui.testing import User

from hidewright.app import server
from hidewright.app.components.days import Days
from hidewright.app.pages.batch_days import rows_of
from hidewright.app.pages.batch_mishaps import losses
from hidewright.app.parts import Words
from hidewright.app.shop import Shop
from hidewright.planning.batch_plan import BatchPlan, Task
from hidewright.planning.calendar import DAY
from hidewright.planning.hands import minute_of
from hidewright.planning.own_step import OwnStep
from hidewright.store.book_designs import list_designs
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_steps import known_steps
from hidewright.store.book_workshop import keep_plan, keep_workshop, plan_of, workshop_of
from hidewright.store.demo import demo_orders
from hidewright.workshop.batch.otherwise import called_day
from hidewright.workshop.batch.settings_words import own_step_words
from page_here import app_here, seen

pytestmark = pytest.mark.asyncio
MONDAY = date(2026, 11, 30)


@dataclass
class At:
    """The app at a time, and a user of it."""

    shop: Shop
    user: User
    now: str = "2026-11-30T08:00:00+01:00"

    async def open(self) -> Client:
        return await self.user.open("/batch")

    def plan(self) -> BatchPlan:
        plan = plan_of(self.shop.book)
        assert plan is not None
        return plan

    def minute(self) -> int:
        return minute_of(datetime.fromisoformat(self.now), self.plan().monday)


@pytest_asyncio.fixture
async def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[At]:
    monkeypatch.setattr("hidewright.app.answers_batch.USUAL_ROUNDS", 3)
    monkeypatch.setattr(server, "now", lambda: At.now)
    async with app_here(tmp_path, monkeypatch) as (shop, user):
        here = At(shop, user)
        here.shop._clock = lambda: here.now
        yield here


def _with_demo(at: At) -> None:
    ids = {row.name: row.id for row in list_designs(at.shop.book)}
    shop, rows = demo_orders(ids, MONDAY)
    keep_workshop(at.shop.book, shop)
    for number, row in enumerate(rows[:2]):
        ORDERS.put(at.shop.book, f"order {number}", replace(row, quantity=4))


async def _planned(at: At) -> Client:
    _with_demo(at)
    page = await at.open()
    at.user.find("Plan it").click()
    await at.user.should_see("The plan is made.", retries=200)
    await seen(lambda: _days(page).props["days"])
    return page


def _days(page: Client) -> Days:
    return next(one for one in page.elements.values() if isinstance(one, Days))


async def _send(page: Client, event: str, **args: Any) -> None:
    """Send what the browser sends from the list of days."""
    days = _days(page)
    for listener in list(days._event_listeners.values()):
        if listener.type == event:
            days._handle_event({"listener_id": listener.id, "args": {"sent": 1, **args}})


async def _send_to(element: Any, args: Any) -> None:
    """Send what the browser sends from an element."""
    for listener in list(element._event_listeners.values()):
        element._handle_event({"listener_id": listener.id, "args": args})
    await asyncio.sleep(0)


async def _open_workshop(page: Client) -> None:
    (shut,) = [
        one
        for one in page.elements.values()
        if one.tag == "details"
        and any("hands and hours" in getattr(e, "text", "") for e in one.default_slot.children)
    ]
    await _send_to(shut, True)


def _named(page: Client, id: str) -> Any:
    return next(one for one in page.elements.values() if one.props.get("id") == id)


def _says(page: Client, words: str) -> bool:
    return any(isinstance(one, Words) and words in one.text for one in page.elements.values())


def _steps(page: Client) -> list[str]:
    """Return the names of the steps of the first design, in order."""
    lists = [one for one in page.elements.values() if "batch-step-list" in one.classes]
    if not lists:
        return []
    return [
        str(getattr(line, "text", "")).partition(":")[0] for line in lists[0].default_slot.children
    ]


def _buttons(page: Client, words: str) -> list[Any]:
    return [
        one
        for one in page.elements.values()
        if one.tag == "button" and getattr(one, "text", "") == words
    ]


def _button(page: Client, words: str) -> Any:
    (found,) = _buttons(page, words)
    return found


def _task(plan: BatchPlan, step: str) -> Task:
    return next(task for task in plan.tasks if task.step == step)


async def test_orders_say_when_they_are_ready_as_soon_as_the_plan_is_made(at: At) -> None:
    page = await _planned(at)
    plan = at.plan()
    days = sorted(called_day(plan, one.ready // DAY) for one in plan.orders)

    def told() -> list[str]:
        rows = (one for one in page.elements.values() if "batch-ready" in one.classes)
        return sorted(str(getattr(one, "text", "")).removeprefix("ready on ") for one in rows)

    await seen(lambda: told() == days)


async def test_an_empty_page_says_how_to_begin_and_offers_the_demo(at: At) -> None:
    await at.open()
    await at.user.should_see("Add an order: who wants which design")
    at.user.find("Try it with the orders of Alder Row").click()
    await at.user.should_see("16 Lens case, tan", retries=100)
    rows = ORDERS.rows(at.shop.book).values()
    assert sum(row.quantity for row in rows) == 36
    assert {row.status for row in rows} == {"agreed"}
    assert workshop_of(at.shop.book).vises == 2


async def test_a_day_is_told_before_an_order_is_accepted(at: At) -> None:
    page = await at.open()
    at.user.find("When could it be ready?").click()
    await at.user.should_see("It can be ready on", retries=200)
    assert not ORDERS.rows(at.shop.book)
    at.user.find("Add it as agreed").click()
    await seen(lambda: ORDERS.rows(at.shop.book))
    (row,) = ORDERS.rows(at.shop.book).values()
    assert (row.customer, row.quantity, row.status) == ("for stock", 4, "agreed")
    assert row.promised is not None
    assert row.promised > row.received
    assert page.elements


async def test_the_plan_is_made_kept_and_shown_again(at: At) -> None:
    page = await _planned(at)
    plan = at.plan()
    assert {one.customer for one in plan.orders} == {"Fen Naturalists' Society", "Harbour Books"}
    shown = _days(page).props["days"]
    assert shown == rows_of(plan, at.minute())
    assert sum(len(p["rows"]) for day in shown for p in day["people"]) == len(list(plan.entries()))
    again = await at.open()
    assert _days(again).props["days"] == shown
    for picture in ("By station", "By load", "Minutes a day"):
        at.user.find(picture).click()
        await seen(lambda: any("batch-chart" in str(getattr(e, "content", "")) for e in
                                again.elements.values()))  # fmt: skip


async def test_one_link_at_the_head_leads_to_the_steps_of_today(at: At) -> None:
    """On a phone what was to be done before, and all that can be asked, stand over them."""

    def shown(page: Client) -> tuple[str, str, bool]:
        (one,) = [e for e in page.elements.values() if "batch-to-day" in e.classes]
        return getattr(one, "text", ""), str(one.props["href"]), one.visible

    page = await at.open()
    assert not shown(page)[2]
    page = await _planned(at)
    assert shown(page) == ("To the steps of Monday 30 November, today", "#day-0", True)
    at.now = "2026-12-02T12:00:00+01:00"
    page = await at.open()
    days = _days(page).props["days"]
    assert days[0]["gone"]
    assert shown(page) == ("To the steps of Wednesday 2 December, today", "#day-2", True)


@pytest.mark.slow
async def test_the_link_to_today_comes_back_with_a_plan_that_was_gone(at: At) -> None:
    page = await _planned(at)
    (link,) = [e for e in page.elements.values() if "batch-to-day" in e.classes]
    plan = plan_of(at.shop.book)
    keep_plan(at.shop.book, None)
    await seen(lambda: not link.visible)
    keep_plan(at.shop.book, plan)
    await seen(lambda: link.visible)


@pytest.mark.slow
async def test_what_is_pressed_stays_where_it_is_while_the_book_is_read_again(at: At) -> None:
    page = await _planned(at)
    tab = _button(page, "By load")
    at.now = "2026-11-30T12:00:00+01:00"
    before = _days(page).props["days"]
    await _send(page, "tick", key=_task(at.plan(), "soak pair of shells").key, state="done")
    await seen(lambda: _days(page).props["days"] != before)
    assert _button(page, "By load") is tab
    at.user.find("By load").click()
    await seen(lambda: tab.props["aria-pressed"] == "true")
    assert _button(page, "Days").props["aria-pressed"] == "false"


async def test_ticks_are_kept_and_count_what_is_made(at: At) -> None:
    page = await _planned(at)
    plan = at.plan()
    soak = _task(plan, "soak pair of shells")
    at.now = "2026-11-30T12:00:00+01:00"
    await _send(page, "tick", key=soak.key, state="done")
    await seen(lambda: at.plan().task(soak.key).state == "done")  # type: ignore[union-attr]
    before = at.plan().task(soak.after[0])
    assert before is not None
    assert before.state == "done"
    (order,) = {share.order for share in plan.load(soak.load).shares}
    assert ORDERS.get(at.shop.book, order).status == "in work"
    pack = next(t for t in plan.tasks if t.step == "pack" and t.load == soak.load)
    await _send(page, "tick", key=pack.key, state="done")
    await seen(lambda: ORDERS.get(at.shop.book, order).made == 4)
    assert ORDERS.get(at.shop.book, order).status == "ready"
    await _send(page, "tick", key=pack.key, state="planned")
    await seen(lambda: ORDERS.get(at.shop.book, order).made == 0)


async def test_a_plug_breaks_and_somebody_is_away(at: At) -> None:
    await _planned(at)
    design = next(iter(at.plan().loads)).design
    at.now = "2026-12-01T08:30:00+01:00"
    at.user.find("It is gone").click()
    await seen(lambda: workshop_of(at.shop.book).of(design).moulds[0].plugs == 3)
    await at.user.should_see("One plug of the pair of shells, Lens case less.", retries=200)
    await seen(lambda: dict(at.plan().stations)[f"plug of pair of shells, {design}"] == 3)
    at.user.find("Away that day").click()
    await seen(lambda: len(workshop_of(at.shop.book).hands[0].days_off) == 2)
    day = (date(2026, 12, 1) - at.plan().monday).days
    await seen(lambda: all(w.start // DAY != day for w, _, _ in at.plan().entries()))


async def test_a_step_is_moved_taken_back_or_refused_with_its_reason(at: At) -> None:
    page = await _planned(at)
    plan = at.plan()
    sew = _task(plan, "sew rim")
    await _send(page, "move", key=sew.key, day=sew.start // DAY + 1)
    await seen(lambda: at.plan() != plan)
    moved = at.plan().task(sew.key)
    assert moved is not None
    assert moved.start // DAY == sew.start // DAY + 1
    await at.user.should_see("Take the move back", retries=100)
    at.user.find("Take the move back").click()
    await seen(lambda: at.plan() == plan)
    await _send(page, "move", key=sew.key, day=0)
    await at.user.should_see("cannot be done on Monday 30 November", retries=200)
    assert at.plan() == plan


@pytest.mark.slow
async def test_what_would_make_it_sooner_is_a_button(at: At) -> None:
    _with_demo(at)
    shop = workshop_of(at.shop.book)
    means = tuple(
        replace(one, moulds=tuple(replace(m, plugs=1, rings=4, frames=4) for m in one.moulds))
        for one in shop.means
    )
    keep_workshop(at.shop.book, replace(shop, means=means, vises=4))
    await at.open()
    at.user.find("Plan it").click()
    await at.user.should_see("The plan is made.", retries=200)
    at.user.find("What would make it sooner?").click()
    await at.user.should_see("The bottleneck: a second plug for the pair of shells", retries=300)
    await at.user.should_see("in board.")
    before = at.plan().finish
    at.user.find("Reckon with it").click()
    await seen(lambda: at.plan().finish < before)


async def test_others_ticks_while_it_is_planned_are_not_lost(at: At) -> None:
    page = await _planned(at)
    plan = at.plan()
    cut = _task(plan, "cut blank pair of shells")
    at.user.find("Plan it anew").click()
    await _send(page, "tick", key=cut.key, state="done")
    await seen(lambda: at.plan().task(cut.key).state == "done")  # type: ignore[union-attr]
    await asyncio.sleep(1.0)
    kept = at.plan().task(cut.key)
    assert kept is not None
    assert kept.state == "done"


async def test_a_plan_that_cannot_be_is_told_in_words(at: At) -> None:
    _with_demo(at)
    shop = workshop_of(at.shop.book)
    keep_workshop(at.shop.book, replace(shop, vises=0))
    await at.open()
    at.user.find("Plan it").click()
    await at.user.should_see("needs a vise", retries=200)
    assert plan_of(at.shop.book) is None


async def test_settings_are_kept_or_refused_beside_their_field(at: At) -> None:
    _with_demo(at)
    page = await at.open()

    async def enter(id: str, text: str) -> None:
        await _send_to(_named(page, f"batch-{id}"), text)

    await _open_workshop(page)
    await enter("vises", "3")
    await seen(lambda: workshop_of(at.shop.book).vises == 3)
    await enter("hands-0-week", "Monday: 8-12")
    await seen(lambda: workshop_of(at.shop.book).hands[0].week[0] == ((480, 720),))
    assert workshop_of(at.shop.book).hands[0].week[1] == ()
    await enter("wet_limit_minutes", "10 h")
    await seen(lambda: workshop_of(at.shop.book).wet_limit_minutes == 600)
    await enter("zone", "Europe/Nowhere")
    await seen(lambda: _says(page, "no time zone 'Europe/Nowhere'"))
    await enter("zone", "Europe/Vienna")
    await seen(lambda: workshop_of(at.shop.book).zone == "Europe/Vienna")
    await enter("least_part_minutes", "15 min")
    await seen(lambda: workshop_of(at.shop.book).least_part_minutes == 15)
    await enter("dyed_limit_minutes", "36 h")
    await seen(lambda: workshop_of(at.shop.book).dyed_limit_minutes == 36 * 60)
    await enter("times", "sew: 0.3 min for each stitch\nsoak: 2 min a load")
    await seen(lambda: len(workshop_of(at.shop.book).bench.times) == 2)
    sew, soak = workshop_of(at.shop.book).bench.times
    assert (sew.name, sew.unit_minutes, soak.load_minutes) == ("sew", 0.3, 2.0)
    await enter("goals", "cheap")
    await seen(lambda: _says(page, "No goal is 'cheap'"))
    assert workshop_of(at.shop.book).goals == ("on time", "finish", "flushes")


async def test_steps_are_moved_left_out_added_and_taken_back_where_nothing_forbids_it(
    at: At,
) -> None:
    page = await _planned(at)
    await _open_workshop(page)
    await seen(lambda: _steps(page))
    design = next(iter(at.plan().loads)).design

    def kept() -> list[str]:
        return [own_step_words((one,)) for one in workshop_of(at.shop.book).of(design).own_steps]

    async def take(step: str, words: str) -> None:
        await _send_to(_named(page, "batch-steps-0"), step)
        await _send_to(_buttons(page, words)[0], None)

    steps = _steps(page)
    assert steps[:2] == ["cut piece strap", "cut blank pair of shells"]
    await take("cut piece strap", "Do it earlier")
    await seen(lambda: _says(page, "cut piece strap cannot go further"))
    await take("cut piece strap", "Do it later")
    await seen(lambda: kept() == ["move: cut piece strap behind cut blank pair of shells"])
    await seen(lambda: _steps(page)[:2] == ["cut blank pair of shells", "cut piece strap"])
    # going on moves the same step: one change, not two; then time forbids it
    await take("cut piece strap", "Do it later")
    await seen(lambda: _says(page, "Nothing can be put behind soak pair of shells"))
    assert len(kept()) == 1
    await take("press pair of shells", "Leave it out")
    await seen(lambda: _says(page, "Press pair of shells cannot be left out"))
    await take("condition again", "Leave it out")
    await seen(lambda: kept()[1:] == ["leave out: condition again"])
    await seen(lambda: "condition again" not in _steps(page))
    for field, text in (("name", "stamp the mark"), ("minutes", "5 min")):
        await _send_to(_named(page, f"batch-steps-0-{field}"), text)
    await take("cut pair of shells apart", "Put it behind that step")
    added = "add: stamp the mark behind cut pair of shells apart, 5 min"
    await seen(lambda: kept()[2:] == [added])
    await seen(lambda: "stamp the mark" in _steps(page))
    at.user.find("Plan it anew").click()
    await seen(lambda: "stamp the mark" in {task.step for task in at.plan().tasks})
    assert "condition again" not in {task.step for task in at.plan().tasks}
    await _send_to(_buttons(page, "Take back")[1], None)
    await seen(lambda: kept()[1:] == [added])
    await seen(lambda: "condition again" in _steps(page))


async def test_a_change_of_steps_that_fits_no_more_is_told_and_can_be_taken_back(at: At) -> None:
    _with_demo(at)
    shop = workshop_of(at.shop.book)
    design = next(iter(ORDERS.rows(at.shop.book).values())).design
    gone = OwnStep(what="leave out", step="gild it")
    keep_workshop(at.shop.book, shop.with_means(replace(shop.of(design), own_steps=(gone,))))
    page = await at.open()
    await _open_workshop(page)
    await seen(lambda: _steps(page))
    assert _says(page, "No step 'gild it'")
    await _send_to(_buttons(page, "Take back")[0], None)
    await seen(lambda: workshop_of(at.shop.book).of(design).own_steps == ())
    await seen(lambda: not _says(page, "No step 'gild it'"))


async def test_steps_that_were_worked_out_are_in_the_book_for_the_next_start(at: At) -> None:
    await _planned(at)
    await seen(lambda: bool(known_steps(at.shop.book)))
    known = known_steps(at.shop.book)
    # other benches and designs may have been worked out for the same book before
    assert len(known) >= len(
        {(one.design, one.colour) for one in ORDERS.rows(at.shop.book).values()}
    )
    names = {step.name for one in known.values() for step in one.steps}
    assert {one.step for one in at.plan().tasks} <= names


async def test_everything_that_there_is_can_be_lost(at: At) -> None:
    await _planned(at)
    shop, plan = workshop_of(at.shop.book), at.plan()
    design = plan.loads[0].design
    found = dict(losses(shop, plan, {design: ("pair of shells",)}))
    assert len(found) == 5
    for change in found.values():
        assert change(shop) != shop

"""Nights in which clocks are changed: what dries by minutes that pass, what works by the clock."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
import vobject  # type: ignore[import-untyped]

from hidewright.design.customer_order import CustomerOrder
from hidewright.design.step import Rest, Step
from hidewright.drawing.plan_calendar import plan_calendar
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.batch_problem import Recipe
from hidewright.planning.calendar import DAY
from hidewright.planning.hands import Hands, Week, minute_of, time_of
from hidewright.planning.schedule import Budget
from hidewright.planning.wall_clock import WallClock
from hidewright.planning.workshop import Means, Workshop
from hidewright.workshop.batch.otherwise import ticked
from hidewright.workshop.batch.week import Batch, plan_batch

#: (zone, the Sunday in whose night clocks are changed, minutes by which they go forward).
#: Union: last Sundays of March and October (Directive 2000/84/EC); United States: second Sunday of
#: March and first of November (Energy Policy Act of 2005, section 110).
CHANGES = (
    ("Europe/Vienna", date(2027, 3, 28), 60),
    ("Europe/Vienna", date(2026, 10, 25), -60),
    ("America/Chicago", date(2027, 3, 14), 60),
    ("America/Chicago", date(2026, 11, 1), -60),
    ("Asia/Tokyo", date(2027, 3, 28), 0),
    ("", date(2027, 3, 28), 0),
)
ALWAYS: Week = (((0, DAY),),) * 7
DRY = 12 * 60


@pytest.mark.parametrize(("zone", "sunday", "forward"), CHANGES)
def test_the_day_of_a_change_has_an_hour_less_or_more(
    zone: str, sunday: date, forward: int
) -> None:
    clock = WallClock(zone, sunday - timedelta(days=6))
    assert clock.passed(6 * DAY) == 6 * DAY
    assert clock.passed(7 * DAY) == 7 * DAY - forward
    assert clock.shifts()[:1] == (((6, -forward),) if forward else ())
    for minute in (0, 6 * DAY + 59, 6 * DAY + 600, 9 * DAY + 1):
        assert clock.shown(clock.passed(minute)) == minute


def test_a_change_before_the_monday_changes_nothing() -> None:
    clock = WallClock("Europe/Vienna", date(2027, 3, 29))
    assert clock.passed(20 * DAY + 7) == 20 * DAY + 7
    (first, second, *_) = clock.shifts()
    assert (first[1], second[1]) == (60, 0)


def test_a_zone_that_is_not_there_is_refused() -> None:
    with pytest.raises(RequestError, match=r"no time zone 'Europe/Nowhere'.*Europe/Vienna"):
        Workshop(zone="Europe/Nowhere")


def batch(zone: str, now: datetime, week: Week = ALWAYS) -> Batch:
    """Return one article: ten minutes of pressing, twelve hours to dry, then ten of trimming."""

    def step(name: str, after: tuple[str, ...], rest: Rest | None) -> Step:
        return Step(
            name=name,
            work=name,
            place_kind="article",
            place="",
            how=name,
            after=after,
            thing_minutes=10,
            interrupt="never",
            rest=rest,
            source="made up",
        )

    steps = (
        step("press", (), Rest(what="drying", least_minutes=DRY)),
        step("trim", ("press",), None),
    )
    order = CustomerOrder(
        customer="A",
        design="d",
        article="case",
        colour="tan",
        quantity=1,
        received=now.date(),
        status="agreed",
    )
    return Batch(
        orders={"one": order},
        articles={"d": "case"},
        recipes=(Recipe(design="d", colour="tan", steps=steps, first_off=steps),),
        workshop=Workshop(
            zone=zone,
            hands=(Hands(name="me", week=week),),
            means=(Means(design="d", proven=True),),
        ),
        now=now,
    )


def planned(one: Batch) -> BatchPlan:
    plan = plan_batch(one, budget=Budget(rounds=2))
    assert plan is not None
    return plan


@pytest.mark.parametrize(("zone", "sunday", "forward"), CHANGES)
def test_what_dries_over_the_night_dries_for_minutes_that_pass(
    zone: str, sunday: date, forward: int
) -> None:
    """Pressed until 20:10: after 12 h the clock shows 09:10 if it went forward, 07:10 if back."""
    evening = datetime.combine(sunday - timedelta(days=1), datetime.min.time()).replace(hour=20)
    plan = planned(batch(zone, evening))
    press, trim = plan.tasks
    morning = datetime.combine(sunday, datetime.min.time()) + timedelta(minutes=490 + forward)
    assert time_of(press.start, plan.monday) == evening
    assert time_of(press.ready or 0, plan.monday) == morning
    assert time_of(trim.start, plan.monday) == morning
    assert trim.end - trim.start == 10
    if not zone:
        return
    events = vobject.readOne(plan_calendar(plan).decode()).vevent_list
    begins = {one.summary.value.split(",")[0]: one for one in events}
    pressed, trimmed = begins["press"], begins["trim"]
    assert pressed.dtstart.value == evening.replace(tzinfo=ZoneInfo(zone))
    dried = trimmed.dtstart.value - pressed.dtend.value
    assert dried == timedelta(minutes=DRY)
    assert pressed.valarm.trigger.value == timedelta(minutes=DRY)


@pytest.mark.parametrize(("zone", "sunday", "forward"), CHANGES)
def test_work_goes_by_the_clock_on_the_wall_also_after_a_change(
    zone: str, sunday: date, forward: int
) -> None:
    day = ((9 * 60, 17 * 60),)
    friday = datetime.combine(sunday - timedelta(days=2), datetime.min.time()).replace(hour=16)
    plan = planned(batch(zone, friday, (day, day, day, day, day, (), ())))
    press, trim = plan.tasks
    assert time_of(press.start, plan.monday) == friday
    monday = datetime.combine(sunday + timedelta(days=1), datetime.min.time()).replace(hour=9)
    assert time_of(trim.start, plan.monday) == monday
    assert plan.off == (5, 6, 12, 13)[: len(plan.off)]
    assert {5, 6} <= set(plan.off)


def test_what_is_done_since_a_change_stays_where_it_was() -> None:
    sunday = datetime.fromisoformat("2027-03-28T11:00")
    one = batch("Europe/Vienna", sunday)
    plan = planned(one)
    done = ticked(plan, plan.tasks[0].key, "done", plan.tasks[0].end, one.workshop)
    monday = datetime.fromisoformat("2027-03-29T08:00")
    again = plan_batch(replace(one, now=monday, before=done), budget=Budget(rounds=2), anew=False)
    assert again is not None
    assert again.monday == plan.monday
    assert again.tasks[0].times == plan.tasks[0].times
    assert time_of(again.tasks[0].start, again.monday) == sunday
    assert again.tasks[1].start == minute_of(monday, again.monday)


def test_a_plan_made_again_since_a_change_moves_nothing() -> None:
    sunday = datetime.fromisoformat("2027-03-28T11:00")
    one = batch("Europe/Vienna", sunday)
    plan = planned(one)
    again = plan_batch(replace(one, before=plan), budget=Budget(rounds=2), anew=False)
    assert again is not None
    assert [task.times for task in again.tasks] == [task.times for task in plan.tasks]

"""Replanning, the date for a new order, and what one more of a station would bring."""

from dataclasses import replace

import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.calendar import DAY, every_day
from hidewright.planning.outlook import promise, reliefs
from hidewright.planning.plan import Plan
from hidewright.planning.problem import (
    Hold,
    Operation,
    Order,
    Person,
    Problem,
    Station,
    Wait,
)
from hidewright.planning.replan import replan
from hidewright.planning.schedule import Budget, schedule

HOURS = every_day(((540, 750), (810, 1020)), range(5))
FEW = Budget(rounds=40)


def batch(loads: int, moulds: int, orders: tuple[Order, ...] = (Order(),)) -> Problem:
    """Return loads that hold a mould overnight, are sewn and waxed."""
    operations: list[Operation] = []
    waits: list[Wait] = []
    holds: list[Hold] = []
    for load in range(loads):
        first = len(operations)
        for k, (step, minutes, least) in enumerate(
            (("press", 15, 0), ("demould", 5, 720), ("sew", 120, 60), ("wax", 20, 30))
        ):
            if k:
                waits.append(Wait(before=first + k - 1, after=first + k, least=least))
            operations.append(
                Operation(
                    load=load,
                    step=step,
                    minutes=minutes,
                    kind="any" if step == "sew" else "never",
                    order=load % len(orders),
                )
            )
        holds.append(Hold(station="mould", first=first, last=first + 1))
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        stations=(Station(name="mould", capacity=moulds), Station(name="press", capacity=9)),
        holds=tuple(holds),
        persons=(Person(name="one", calendar=HOURS),),
        orders=orders,
    )


def planned(problem: Problem) -> Plan:
    answer = schedule(problem, seed=0, budget=FEW)
    assert answer.plan is not None
    return answer.plan


def at(problem: Problem, plan: Plan, now: int) -> Problem:
    """Return the problem at a later time, with what the plan has begun by then as it went."""
    fixed = tuple(
        span if span.end <= now or whole(problem, span.operation) else replace(span, end=now)
        for span in plan.spans
        if span.start < now
    )
    return replace(problem, fixed=fixed, now=now)


def whole(problem: Problem, operation: int) -> bool:
    return problem.operations[operation].kind == "never"


@pytest.mark.parametrize("now", [600, 1980, 2 * DAY + 845])
def test_where_nothing_went_otherwise_nothing_moves(now: int) -> None:
    problem = batch(6, 2)
    plan = planned(problem)
    again = replan(at(problem, plan, now), plan, seed=0, budget=FEW)
    assert again.plan is not None
    assert breaches(at(problem, plan, now), again.plan) == ()
    assert (again.moved, again.other_day) == ((), ())
    assert again.plan.finish == plan.finish


@pytest.mark.parametrize("day", [1, 3, 8])
def test_what_stood_still_for_other_work_stays_so(day: int) -> None:
    free = batch(12, 3)
    soon = tuple(replace(w, least=90, most=100) if w.least == 720 else w for w in free.waits)
    problem = replace(free, waits=soon)
    plan = planned(problem)
    assert any(len(spans) > 2 for spans in plan.spans_of().values())
    found = replan(at(problem, plan, day * DAY), plan, seed=0, budget=Budget(rounds=2))
    assert (found.moved, found.other_day) == ((), ())


def test_a_day_ill_moves_what_was_on_it_and_keeps_what_is_done() -> None:
    problem = batch(6, 2)
    plan = planned(problem)
    ill = replace(problem.persons[0], calendar=replace(HOURS, special=((2, ()),)))
    now = at(replace(problem, persons=(ill,)), plan, 2 * DAY)
    again = replan(now, plan, seed=0, budget=FEW)
    assert again.plan is not None
    assert breaches(now, again.plan) == ()
    assert set(now.fixed) <= set(again.plan.spans)
    assert not any(2 * DAY <= span.start < 3 * DAY for span in again.plan.spans)
    ill_day = {s.operation for s in plan.spans if 2 * DAY <= s.start < 3 * DAY}
    assert ill_day & set(again.other_day)
    assert again.plan.finish <= plan.finish + 2 * DAY


def test_a_mould_that_breaks_is_planned_around() -> None:
    problem = batch(6, 2)
    plan = planned(problem)
    begun = at(problem, plan, 2 * DAY)
    broken = replace(begun, stations=(Station(name="mould", capacity=1), problem.stations[1]))
    again = replan(broken, plan, seed=0, budget=FEW)
    assert again.plan is not None
    assert breaches(broken, again.plan) == ()
    assert again.plan.finish > plan.finish


def test_a_pinned_step_stays_and_the_rest_goes_around_it() -> None:
    problem = batch(4, 2)
    plan = planned(problem)
    wax = 3
    day = 9 * DAY
    pinned = replace(plan.spans_of()[wax][0], start=day + 600, end=day + 620)
    asked = replace(problem, fixed=(pinned,))
    again = replan(asked, plan, seed=0, budget=FEW)
    assert again.plan is not None
    assert breaches(asked, again.plan) == ()
    assert pinned in again.plan.spans


def test_a_new_order_is_promised_for_when_it_can_be_and_makes_no_other_late() -> None:
    known = batch(4, 2)
    finish = planned(known).finish
    both = batch(8, 2, (Order(name="old", due=finish + DAY), Order(name="new")))
    told = promise(both, 1, seed=0, budget=FEW)
    assert told.finish is not None
    assert told.plan is not None
    assert told.late == ()
    ends = told.plan.order_finish(both)
    assert ends[1] == told.finish
    assert ends[0] <= finish + DAY
    alone = replace(
        both,
        orders=(replace(both.orders[0], due=None), both.orders[1]),
    )
    sooner = promise(alone, 1, seed=0, budget=FEW)
    assert sooner.finish is not None
    assert sooner.finish <= told.finish


def test_the_bottleneck_is_the_mould_where_it_binds_and_the_hands_where_they_do() -> None:
    bound_by_moulds = batch(6, 1)
    told = reliefs(bound_by_moulds, planned(bound_by_moulds).finish, seed=0, rounds=20)
    assert told[0].name == "mould"
    assert told[0].sooner >= DAY
    assert {one.name: one.sooner for one in told}["press"] == 0
    plenty = batch(12, 12)
    assert reliefs(plenty, planned(plenty).finish, seed=0, rounds=20)[0].name == "one"


def test_an_order_that_is_due_goes_first() -> None:
    orders = (Order(name="any day"), Order(name="soon", due=1 * DAY + 1020))
    problem = batch(8, 2, orders)
    plan = planned(problem)
    ends = plan.order_finish(problem)
    usual = planned(batch(8, 2, (Order(), Order()))).order_finish(problem)
    assert ends[1] < ends[0]
    assert ends[1] <= usual[1]

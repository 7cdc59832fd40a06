"""Replanning, the date for a new order, and what one more of a station would bring."""

import math
import random
from dataclasses import replace

import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.calendar import DAY, every_day
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft
from hidewright.planning.outlook import promise, reliefs
from hidewright.planning.plan import Plan, late_by_order
from hidewright.planning.problem import (
    Hold,
    Operation,
    Order,
    Person,
    Problem,
    Span,
    Station,
    Wait,
)
from hidewright.planning.repair import Repair, Since, Turn
from hidewright.planning.replan import PUSHING, UNSHARED, replan
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


def asked_on(problem: Problem, operation: int, day: int) -> Problem:
    """Return the problem with the wish that an operation be done on a day."""
    wish = Order(name="asked", release=day * DAY, due=(day + 1) * DAY, weight=50)
    operations = list(problem.operations)
    operations[operation] = replace(operations[operation], order=len(problem.orders))
    return replace(problem, operations=tuple(operations), orders=(*problem.orders, wish))


def full_days(days: int) -> Problem:
    """Return days full of steps of ten minutes that wait for nothing, and an empty one behind."""
    minutes = days * 420
    steps = tuple(Operation(load=k, step="one", minutes=10) for k in range(minutes // 10))
    return Problem(operations=steps, persons=(Person(name="one", calendar=HOURS),))


@pytest.mark.parametrize(("operation", "day"), [(3, 2), (100, 0), (200, 1), (60, 4)])
def test_for_a_step_on_a_full_day_one_other_gives_way(operation: int, day: int) -> None:
    """The other one takes the place that was left: no day has more or less to do than before."""
    problem = full_days(5)
    plan = planned(problem)
    assert plan.finish == 4 * DAY + 1020
    was = plan.spans_of()[operation][0].start // DAY
    assert was != day
    found = replan(asked_on(problem, operation, day), plan, seed=0, budget=FEW)
    assert found.plan is not None
    assert len(found.other_day) == 2
    assert found.plan.spans_of()[operation][0].start // DAY == day
    assert found.plan.day_loads() == plan.day_loads()


@pytest.mark.parametrize(("days", "stays"), [(108, True), (18, False)])
def test_a_long_batch_stays_where_a_fiftieth_is_all_that_could_be_won(
    days: int, stays: bool
) -> None:
    """All was planned two working days later than it could be: 2 of 150 days, and of 24."""
    problem = Problem(
        operations=tuple(Operation(load=k, step="one", minutes=210) for k in range(2 * days)),
        persons=(Person(name="one", calendar=HOURS),),
    )
    weekdays = [day for day in range(2 * days) if day % 7 < 5][2 : days + 2]
    starts = [day * DAY + begin for day in weekdays for begin in (540, 810)]
    before = Plan(
        spans=tuple(
            Span(start=start, end=start + 210, operation=i, person=0)
            for i, start in enumerate(starts)
        )
    )
    found = replan(problem, before, seed=0, budget=FEW)
    assert (found.moved == ()) is stays


@pytest.mark.parametrize(("since", "turn"), [*PUSHING, *UNSHARED])
def test_a_plan_is_given_up_only_where_it_moves_too_much(since: Since, turn: Turn) -> None:
    problem = batch(8, 3)
    plan = planned(problem)
    wish = asked_on(problem, 20, plan.spans_of()[20][0].start // DAY + 1)

    def laid(most: float) -> Draft | None:
        return Repair(Dispatcher(Bench(wish)), plan).draft(since, turn, most)

    draft = laid(math.inf)
    assert draft is not None
    was, now = plan.spans_of(), draft.plan().spans_of()
    other = [i for i in was if was[i][0].start // DAY != now[i][0].start // DAY]
    whole_ones = sum(problem.operations[i].kind == "never" for i in other)
    assert whole_ones > 0
    assert laid(whole_ones) == draft
    assert laid(whole_ones - 1) is None


@pytest.mark.parametrize("first", ["A", "B1"])
def test_the_load_that_is_not_asked_for_gives_its_night_on_the_mould(first: str) -> None:
    """A join of B1 and B2 is asked for on the day between: A and B2 change nights, and no other.

    Two moulds are held by A and B1 in the first night, by B2 and C in the second.
    """
    names = ("A", "B1", "B2", "C")
    groups = [
        Operation(load=names.index(name), step=step, minutes=minutes)
        for name in names
        for step, minutes in (("press", 30), ("demould", 10))
    ]
    fill = [Operation(load=4, step="trim", minutes=10) for _ in range(40)]
    join = len(groups)
    problem = Problem(
        operations=(*groups, Operation(load=1, step="join", minutes=20), *fill),
        waits=(
            *(Wait(before=2 * k, after=2 * k + 1, least=720) for k in range(4)),
            *(Wait(before=k, after=join) for k in (3, 5)),
        ),
        stations=(Station(name="mould", capacity=2),),
        holds=tuple(Hold(station="mould", first=2 * k, last=2 * k + 1) for k in range(4)),
        persons=(Person(name="one", calendar=HOURS),),
    )
    a, b1 = (540, 600) if first == "A" else (600, 540)
    starts = [a, DAY + 540, b1, DAY + 560, DAY + 600, 2 * DAY + 540, DAY + 640, 2 * DAY + 560]
    starts += [2 * DAY + 600, *((k % 2 + 3) * DAY + 540 + 5 * k - k % 2 * 5 for k in range(40))]
    plan = one_by_one(problem, starts)
    wish = asked_on(problem, join, 1)
    found = replan(wish, plan, seed=0, budget=FEW, keep_within=7 * DAY)
    assert found.plan is not None
    assert breaches(wish, found.plan) == ()
    assert found.other_day == (0, 1, 4, 5, join)
    assert late_days(wish, found.plan) == 0


def test_a_mould_is_given_back_sooner_on_its_day_for_what_is_asked_for() -> None:
    """The only mould is emptied last on the full day on which the next press is asked for.

    Three others, which hold a table and so do not give way before, are done on the next day.
    """
    steps = (("press", 30), ("demould", 10), ("press", 30), ("demould", 10))
    wet = [Operation(load=k // 2, step=s, minutes=m) for k, (s, m) in enumerate(steps)]
    trims = range(4, 4 + 41)
    problem = Problem(
        operations=(*wet, *(Operation(load=2, step="trim", minutes=10) for _ in trims)),
        waits=tuple(Wait(before=k, after=k + 1, least=720) for k in (0, 2)),
        stations=(Station(name="mould", capacity=1), Station(name="table", capacity=1)),
        holds=(
            *(Hold(station="mould", first=k, last=k + 1) for k in (0, 2)),
            *(Hold(station="table", first=k, last=k) for k in trims),
        ),
        persons=(Person(name="one", calendar=HOURS),),
    )
    starts = [540, DAY + 1010, 2 * DAY + 540, 3 * DAY + 540]
    starts += [DAY + (540 if k < 21 else 600) + 10 * k for k in range(41)]
    plan = one_by_one(problem, starts)
    wish = asked_on(problem, 2, 1)
    found = replan(wish, plan, seed=0, budget=FEW, keep_within=7 * DAY)
    assert found.plan is not None
    assert breaches(wish, found.plan) == ()
    assert late_days(wish, found.plan) == 0
    assert 2 in found.other_day
    assert len(found.other_day) == 4


def test_a_vise_held_overnight_sends_two_groups_away_and_pushes_nothing() -> None:
    """Two groups a day share the vise, then hold both moulds overnight, for eight working days.

    The first group of Tuesday is to be unvised on Wednesday. So the second of Tuesday cannot be
    pressed, and one of Wednesday finds no mould: both go behind the last, by all their three steps.
    """
    steps = (("press", 30), ("unvise", 10), ("demould", 10))
    problem = Problem(
        operations=tuple(
            Operation(load=k, step=step, minutes=minutes)
            for k in range(16)
            for step, minutes in steps
        ),
        waits=tuple(
            Wait(before=3 * k + n, after=3 * k + n + 1, least=least)
            for k in range(16)
            for n, least in ((0, 20), (1, 720))
        ),
        stations=(Station(name="vise", capacity=1), Station(name="mould", capacity=2)),
        holds=tuple(
            Hold(station=station, first=3 * k, last=3 * k + n)
            for k in range(16)
            for station, n in (("vise", 1), ("mould", 2))
        ),
        persons=(Person(name="one", calendar=HOURS),),
    )
    days = [day for day in range(14) if day % 7 < 5]
    starts = [
        begin
        for k in range(16)
        for begin in (
            days[k // 2] * DAY + 600 + k % 2 * 80,
            days[k // 2] * DAY + 650 + k % 2 * 80,
            days[k // 2 + 1] * DAY + 540 + k % 2 * 10,
        )
    ]
    plan = one_by_one(problem, starts)
    assert breaches(problem, plan) == ()
    wish = asked_on(problem, 7, 2)
    found = replan(wish, plan, seed=0, budget=FEW, keep_within=7 * DAY)
    assert found.plan is not None
    assert late_days(wish, found.plan) == 0
    assert {7, 8, 9, 10, 11} < set(found.other_day)
    assert len(found.other_day) == 8


def one_by_one(problem: Problem, starts: list[int]) -> Plan:
    """Return a plan in which each operation is done in one go."""
    spans = (
        Span(operation=i, start=start, end=start + one.minutes, person=0)
        for i, (one, start) in enumerate(zip(problem.operations, starts, strict=True))
    )
    plan = Plan(spans=tuple(sorted(spans)))
    assert breaches(problem, plan) == ()
    return plan


@pytest.mark.parametrize("day", [1, 2, 3])
def test_what_comes_before_on_the_same_day_goes_sooner_on_it(day: int) -> None:
    """Three steps that open a day go to the full one before, where the last waits for one more.

    That one is nearly the last of its day. Three others are done on the day after instead.
    """
    free = full_days(5)
    count = len(free.operations)
    problem = replace(
        free,
        stations=(Station(name="table", capacity=1),),
        holds=tuple(Hold(station="table", first=k, last=k) for k in range(count)),
    )
    begin = [k // 42 * DAY + (540 if k % 42 < 21 else 600) + k % 42 * 10 for k in range(count)]
    plan = one_by_one(problem, begin[::-1])
    late, one, two, asked = (count - 1 - day * 42 - k for k in (-2, 0, 1, 2))
    tied = replace(problem, waits=tuple(Wait(before=k, after=asked) for k in (late, one, two)))
    wish = asked_on(tied, asked, day - 1)
    found = replan(wish, plan, seed=0, budget=FEW)
    assert found.plan is not None
    assert breaches(wish, found.plan) == ()
    assert late_days(wish, found.plan) == 0
    assert len(found.other_day) == 6
    assert {one, two, asked} < set(found.other_day)
    assert late not in found.other_day


@pytest.mark.parametrize("lost", [10, 60, 200])
def test_time_lost_moves_what_did_not_fit_and_nothing_day_by_day(lost: int) -> None:
    """What is lost of full days goes right behind them, so many minutes of it and no more."""
    problem = full_days(5)
    plan = planned(problem)
    now = DAY + 540
    began = at(problem, plan, now)
    found = replan(replace(began, now=now + lost), plan, seed=0, budget=FEW)
    assert found.plan is not None
    assert breaches(replace(began, now=now + lost), found.plan) == ()
    assert len(found.other_day) == lost // 10


@pytest.mark.parametrize("seed", range(12))
def test_a_move_into_free_time_moves_nothing_else(seed: int) -> None:
    draw = random.Random(seed)
    problem = batch(draw.randint(3, 8), draw.randint(1, 4))
    plan = planned(problem)
    spans = plan.spans_of()
    waxed = [i for i, one in enumerate(problem.operations) if one.step == "wax"]
    for operation in draw.sample(waxed, 2):
        free = [day for day in range(1, 40) if day % 7 < 5 and has_room(problem, plan, day)]
        later = [day for day in free if day > spans[operation][0].start // DAY]
        wish = asked_on(problem, operation, draw.choice(later[:3]))
        found = replan(wish, plan, seed=0, budget=FEW)
        assert found.plan is not None
        assert breaches(wish, found.plan) == ()
        assert found.moved == (operation,)
        assert late_days(wish, found.plan) == 0


def has_room(problem: Problem, plan: Plan, day: int) -> bool:
    """Whether 20 minutes in one go are left somewhere in a day."""
    for begin, end in problem.persons[0].calendar.week[day % 7]:
        taken = sorted((s.start, s.end) for s in plan.spans)
        edges = [day * DAY + begin, *(e for _, e in taken), day * DAY + end]
        for start in edges:
            inside = day * DAY + begin <= start and start + 20 <= day * DAY + end
            if inside and all(e <= start or start + 20 <= s for s, e in taken):
                return True
    return False


@pytest.mark.parametrize("seed", range(8))
def test_any_move_is_accepted_and_makes_orders_no_later_than_a_plan_anew(seed: int) -> None:
    draw = random.Random(seed)
    dues = tuple(
        Order(name=str(k), due=draw.randint(4, 9) * DAY, weight=draw.randint(1, 3))
        for k in range(2)
    )
    problem = batch(draw.randint(4, 8), draw.randint(1, 3), dues)
    people = (problem.persons[0], Person(name="two", calendar=HOURS))
    problem = replace(problem, persons=people[: draw.randint(1, 2)])
    plan = planned(problem)
    for _ in range(4):
        operation = draw.randrange(len(problem.operations))
        day = max(0, plan.spans_of()[operation][0].start // DAY + draw.choice((-2, -1, 1, 2)))
        wish = asked_on(problem, operation, day)
        found = replan(wish, plan, seed=0, budget=FEW)
        assert found.plan is not None
        assert breaches(wish, found.plan) == ()
        anew = planned(wish)
        assert late_days(wish, found.plan) <= late_days(wish, anew)
        if late_days(wish, found.plan) == late_days(wish, anew):
            moved = {
                i
                for i, s in anew.spans_of().items()
                if s[0].start // DAY != plan.spans_of()[i][0].start // DAY
            }
            assert len(found.other_day) <= len(moved)


def late_days(problem: Problem, plan: Plan) -> int:
    late = late_by_order(problem, plan.order_finish(problem))
    return sum(one.weight * -(-by // DAY) for one, by in zip(problem.orders, late, strict=True))


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

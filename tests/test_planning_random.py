"""Plans of made-up workshops: the checker accepts them, and they do all that is asked."""

import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.beginnings import AIMS, RULES
from hidewright.planning.calendar import DAY, Calendar, Windows
from hidewright.planning.goals import USUAL_GOALS, Goal
from hidewright.planning.plan import Plan
from hidewright.planning.problem import (
    Hold,
    Kind,
    Operation,
    Order,
    Person,
    Problem,
    Station,
    Wait,
)
from hidewright.planning.schedule import Budget, schedule

WINDOWS: tuple[Windows, ...] = (
    ((540, 750), (810, 1020)),
    ((480, 720),),
    ((1080, 1320),),
    ((360, 400), (600, 840)),
)


def made_up(seed: int) -> Problem:
    """Return a workshop with random orders, loads, calendars, waits, stations and colours."""
    draw = random.Random(seed)
    persons = tuple(
        Person(name=f"person {k}", calendar=_calendar(draw)) for k in range(draw.randint(1, 3))
    )
    orders = tuple(
        Order(
            name=f"order {k}",
            release=draw.randrange(4 * DAY),
            due=draw.choice((None, draw.randint(5, 30) * DAY)),
            weight=draw.randint(1, 3),
        )
        for k in range(draw.randint(1, 3))
    )
    stations = (
        Station(name="mould", capacity=draw.randint(1, 4)),
        Station(name="vise", capacity=draw.randint(1, 2)),
        Station(name="clamp", capacity=draw.randint(1, 3)),
        Station(name="stitching horse", capacity=draw.randint(1, 2)),
    )
    operations: list[Operation] = []
    waits: list[Wait] = []
    holds: list[Hold] = []
    route = list(_route(draw))
    for load in range(draw.randint(1, 7)):
        first = len(operations)
        order, colour = draw.randrange(len(orders)), draw.choice(("black", "brown", "green"))
        for k, (step, minutes, kind, least, most) in enumerate(route):
            if k:
                waits.append(Wait(before=first + k - 1, after=first + k, least=least, most=most))
            operations.append(
                Operation(
                    load=load,
                    step=step,
                    minutes=minutes + draw.randint(0, 6),
                    kind=kind,
                    pieces=draw.randint(1, 3),
                    order=order,
                    colour=colour if step == "dye" else None,
                    least_part=7,
                )
            )
        holds += [
            Hold(station="vise", first=first + 2, last=first + 3),
            Hold(station="mould", first=first + 2, last=first + 4),
            Hold(station="clamp", first=first + 7, last=first + 8),
            Hold(station="stitching horse", first=first + 9, last=first + 10),
        ]
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        stations=stations,
        holds=tuple(holds),
        persons=persons,
        flush_minutes=draw.choice((0, 5, 12)),
        orders=orders,
        now=draw.randrange(2 * DAY),
    )


def _calendar(draw: random.Random) -> Calendar:
    days = [draw.choice(WINDOWS) if draw.random() < 0.75 else () for _ in range(7)]
    days[draw.randrange(7)] = WINDOWS[0]
    off = tuple((draw.randrange(20), ()) for _ in range(draw.randint(0, 2)))
    return Calendar(
        week=(days[0], days[1], days[2], days[3], days[4], days[5], days[6]), special=off
    )


def _route(draw: random.Random) -> Iterator[tuple[str, int, Kind, int, int | None]]:
    """Yield (step, minutes, kind, wait before it at least, at most)."""
    any_: Kind = "any"
    yield "cut", draw.randint(4, 40), any_, 0, None
    yield "soak", 3, "never", 0, None
    yield "press", 8, "never", draw.randint(0, 10), draw.randint(10, 30)
    yield "unvise", 4, "never", 20, None
    yield "demould", 4, "never", draw.choice((60, 720)), None
    yield "dye", draw.randint(5, 18), draw.choice(("never", "breaks", "any")), 0, None
    yield "glue", 7, "never", 90, None
    yield "clamp", 6, draw.choice(("never", "breaks")), 5, 25
    yield "unclamp", 2, "never", 45, None
    yield "sew", draw.randint(10, 200), any_, 0, None
    yield "wax", 9, "breaks", 0, None
    yield "wax again", 9, "never", 2 * DAY, 9 * DAY


def planned(problem: Problem, rounds: int = 12, goals: tuple[Goal, ...] = USUAL_GOALS) -> Plan:
    answer = schedule(problem, seed=3, budget=Budget(rounds=rounds), goals=goals)
    assert answer.plan is not None
    assert answer.bound <= answer.plan.finish
    return answer.plan


@pytest.mark.parametrize("seed", range(40))
def test_a_plan_keeps_every_rule_and_does_every_piece_once(seed: int) -> None:
    problem = made_up(seed)
    plan = planned(problem)
    assert breaches(problem, plan) == ()
    spans = plan.spans_of()
    assert set(spans) == set(range(len(problem.operations)))
    flushes = plan.flushes(problem) * problem.flush_minutes
    worked = sum(one.end - one.start for one in plan.spans)
    assert worked == sum(one.minutes for one in problem.operations) + flushes
    for i, one in enumerate(problem.operations):
        assert spans[i][0].start >= max(problem.now, problem.orders[one.order].release)


@pytest.mark.parametrize("seed", range(0, 40, 4))
def test_the_laser_is_set_up_wherever_the_board_on_it_changes(seed: int) -> None:
    """Set-ups are counted here from the order of the cuts, those of the booth apart from them."""
    draw, plain = random.Random(seed), made_up(seed)
    problem = replace(
        plain,
        board_minutes=7,
        operations=tuple(
            replace(one, kind="breaks", colour=draw.choice(("card", "MDF")), machine="laser")
            if one.step == "cut"
            else one
            for one in plain.operations
        ),
    )
    plan = planned(problem)
    assert breaches(problem, plan) == ()
    spans = plan.spans_of()
    cuts = sorted((spans[i][0].start, spans[i][-1].end, i) for i in problem.at("laser"))
    assert all(end <= start for (_, end, _), (start, _, _) in pairwise(cuts))
    longer = {
        i: sum(s.end - s.start for s in spans[i]) - problem.operations[i].minutes for i in spans
    }
    boards = [problem.operations[i].colour for _, _, i in cuts]
    assert [longer[i] for _, _, i in cuts] == [
        0,
        *(7 * (a != b) for a, b in pairwise(boards)),
    ]
    assert sum(longer[i] for i in problem.at("booth")) == (
        plan.flushes(problem) * problem.flush_minutes
    )
    slower = replace(problem, board_minutes=8)
    assert bool(breaches(slower, plan)) == any(a != b for a, b in pairwise(boards))


@pytest.mark.parametrize("seed", [40, 51, 54, 74, 133, 145])
def test_dates_that_all_are_kept_make_no_finish_later(seed: int) -> None:
    """Rules that go by dates come beside those that do not: they only add plans to choose from."""
    problem = made_up(seed)
    undated = replace(problem, orders=tuple(replace(one, due=None) for one in problem.orders))
    by_rules = len(RULES)
    finish = planned(undated, by_rules).finish
    dated = replace(
        problem,
        orders=tuple(
            replace(one, due=finish + 7 * DAY * (len(problem.orders) - k))
            for k, one in enumerate(problem.orders)
        ),
    )
    assert planned(dated, by_rules * len(AIMS)).finish <= finish


@pytest.mark.parametrize("seed", range(0, 40, 8))
def test_the_same_seed_and_rounds_give_the_same_plan_and_more_rounds_none_worse(seed: int) -> None:
    problem = made_up(seed)
    few = planned(problem, 8)
    assert few == planned(problem, 8)
    late = [0 if o.due is None else o.due for o in problem.orders]

    def worth(plan: Plan) -> tuple[int, int]:
        ends = plan.order_finish(problem)
        return (
            sum(
                order.weight * max(0, end - due)
                for order, end, due in zip(problem.orders, ends, late, strict=True)
                if order.due is not None
            ),
            plan.finish,
        )

    assert worth(planned(problem, 60)) <= worth(few)


def test_smooth_days_spread_the_work_over_the_slack_of_the_finish() -> None:
    """900 minutes of 420 a day end on the third day at 10:00, minute 60 of that day.

    Three days later five days are whole and the sixth has 60 minutes: days of c minutes do if
    5 c + 60 >= 900, so c is 168, or 170 in steps of five.
    """
    hours = ((540, 750), (810, 1020))
    week = (hours, hours, hours, hours, hours, hours, hours)
    problem = Problem(
        operations=tuple(Operation(load=k, step="sew", minutes=100, kind="any") for k in range(9)),
        persons=(Person(name="one", calendar=Calendar(week=week)),),
    )
    usual = planned(problem, 3)
    assert (usual.finish, max(usual.day_loads().values())) == (2 * DAY + 600, 420)
    smooth = planned(problem, 3, (Goal(name="finish", slack=3 * DAY), Goal(name="smooth days")))
    assert max(smooth.day_loads().values()) == 170
    assert smooth.finish <= usual.finish + 3 * DAY
    assert breaches(problem, smooth) == ()


def test_as_few_flushes_as_there_are_colours_less_one_where_they_come_first() -> None:
    operations = []
    for load in range(9):
        colour = ("black", "brown", "green")[load % 3]
        operations += [
            Operation(load=load, step="trim", minutes=25),
            Operation(load=load, step="dye", minutes=12, colour=colour),
        ]
    problem = Problem(
        operations=tuple(operations),
        waits=tuple(Wait(before=2 * k, after=2 * k + 1, least=30) for k in range(9)),
        persons=made_up(0).persons,
        flush_minutes=20,
    )
    plan = planned(problem, 60, (Goal(name="flushes"), Goal(name="finish")))
    assert plan.flushes(problem) == 2

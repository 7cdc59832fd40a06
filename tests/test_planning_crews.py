"""Small batches of persons who keep different hours, held against every order and every piece."""

import random
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from hidewright.planning.calendar import DAY, every_day
from hidewright.planning.exact import prove
from hidewright.planning.goals import USUAL_GOALS
from hidewright.planning.pieces import given_out, joined_up
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Kind, Operation, Person, Problem
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.small_batch import provable
from test_planning_pauses import (
    begun_with,
    holds_as_by_every_piece,
    holds_at_the_best_order,
    mixed,
    whole_work,
)

Windows = tuple[tuple[int, int], ...]
#: Hours that overlap, follow one another, or lie apart.
DAYS: tuple[Windows, ...] = (
    ((30, 70), (80, 130), (150, 190)),
    ((60, 120), (150, 200)),
    ((100, 160),),
    ((130, 150), (190, 240)),
    ((0, 45), (120, 175)),
)


def different(draw: random.Random, persons: int) -> tuple[Person, ...]:
    """Return persons of whom two at least keep different hours, on all days or on some."""
    hours = draw.sample(DAYS, 2) + [draw.choice(DAYS) for _ in range(persons - 2)]
    return tuple(
        Person(
            name=f"person {k}",
            calendar=every_day(one, range(7) if draw.random() < 0.7 else (1, 2, 4)),
        )
        for k, one in enumerate(hours)
    )


def in_one_go(seed: int) -> Problem:
    """Return three or four operations, none of which other work may split, for two persons."""
    return whole_work(random.Random(seed), 4, ("never", "breaks"), partial(different, persons=2))


def of_all_kinds(seed: int) -> Problem:
    """Return loads of all kinds of work, at machines and with holds, for two or three persons."""
    draw, plain = random.Random(seed), mixed(seed)
    persons = different(draw, draw.choice((2, 2, 3)))
    longest = max(one.calendar.longest() for one in persons)
    operations = tuple(
        replace(one, minutes=min(one.minutes, longest - 12)) if one.kind == "never" else one
        for one in plain.operations
    )
    return replace(plain, operations=operations, persons=persons)


def in_sweeps(count: int, each_run: Sequence[int]) -> list[Any]:
    """Return seeds, those that are not for each run marked so."""
    seeds = range(count)
    return [k if k in each_run else pytest.param(k, marks=pytest.mark.sweep) for k in seeds]


def begun_late(problem: Problem) -> Plan | None:
    """Return a plan that begins days too late, so that all is left to the proof."""
    return begun_with(replace(problem, now=3 * DAY))


@pytest.mark.parametrize(
    "seed",
    in_sweeps(200, (*range(20), 67)),
)
def test_two_of_different_hours_are_proven_at_the_finish_of_the_best_order(seed: int) -> None:
    problem = in_one_go(seed)
    holds_at_the_best_order(problem, begun_late(problem))


@pytest.mark.parametrize(
    "seed",
    in_sweeps(300, (0, *range(3, 12), 68, 79)),
)
def test_work_of_all_kinds_is_proven_as_by_every_piece(seed: int) -> None:
    problem = of_all_kinds(seed)
    hint = begun_late(problem)
    if hint is None:
        pytest.skip("no plan by rules alone")
    holds_as_by_every_piece(problem, hint)


NINE, NOON, THREE = 540, 720, 900
BY_TURNS = tuple(
    Person(name=name, calendar=every_day((window,), range(7)))
    for name, window in (("Wren", (NINE, NOON)), ("Robin", (NOON, THREE)))
)


@pytest.mark.parametrize(
    ("kind", "minutes", "ready", "finish"),
    [
        # it is handed over at noon
        ("any", 300, 0, NINE + 300),
        # two hours are left before noon: who begins then goes on the next day, as who begins at
        # noon does, but in the morning
        ("breaks", 300, 0, DAY + NINE + 120),
        ("breaks", 181, NINE, DAY + NINE + 1),
        # of what is left of the morning 10 minutes are missing
        ("never", 130, NINE + 60, NOON + 130),
        # a piece of five minutes at noon would be too short
        ("any", 30, NOON - 5, NOON + 30),
    ],
)
def test_work_is_handed_over_where_it_may_be(
    kind: Kind, minutes: int, ready: int, finish: int
) -> None:
    problem = Problem(
        operations=(Operation(load=0, step="sew", minutes=minutes, kind=kind, least_part=1),),
        persons=BY_TURNS,
        now=ready,
    )
    assert provable(problem, USUAL_GOALS)
    answer = schedule(problem, seed=0, budget=Budget(rounds=1, proof_rounds=3000))
    assert (answer.status, answer.bound) == ("optimal", finish)
    pieces = prove(problem, bound=0, hint=None, latest=5 * DAY, seed=0, effort=500)
    assert (pieces.status, pieces.bound) == ("optimal", finish)


def test_pieces_that_touch_stay_apart_where_they_change_hands() -> None:
    problem = Problem(
        operations=(Operation(load=0, step="sew", minutes=100, kind="any"),), persons=BY_TURNS
    )
    pieces = joined_up([(650, 690, 0, 0), (690, 720, 0, 0), (720, 750, 0, 1)])
    spans = given_out(pieces, problem)
    assert [(one.start, one.end, one.person) for one in spans] == [(650, 720, 0), (720, 750, 1)]

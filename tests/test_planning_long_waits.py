"""Waits of days, and plans laid down backwards: what is free to choose is left to choose."""

import random
from collections.abc import Sequence

import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY, every_day
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Wishes
from hidewright.planning.mirror import Mirror
from hidewright.planning.problem import Kind, Operation, Order, Person, Problem, Span, Wait

HOURS = ((540, 750), (810, 1020))
KINDS: tuple[Kind, ...] = ("never", "breaks", "any")


def one_person(operations: Sequence[Operation], waits: Sequence[Wait], **more: object) -> Problem:
    wren = Person(name="Wren", calendar=every_day(more.pop("hours", HOURS)))  # type: ignore[arg-type]
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        persons=(wren,) * more.pop("persons", 1),  # type: ignore[operator]
        **more,  # type: ignore[arg-type]
    )


def wished(keys: Sequence[float]) -> Wishes:
    return Wishes(keys=keys, stretch=[0] * len(keys), flush_key=0.0, scrap_key=0.0)


def test_what_has_days_to_follow_waits_for_what_all_else_waits_for() -> None:
    """Conditioned on Monday, again from Tuesday 9:10; but Tuesday's sewing is checked on Wednesday.

    So sewing has all of Tuesday, its check the last minutes of Wednesday, and conditioning again
    comes on Wednesday morning, though it could come first.
    """
    day = 420
    problem = one_person(
        (
            Operation(load=0, step="condition", minutes=10),
            Operation(load=0, step="condition again", minutes=10),
            Operation(load=1, step="cut", minutes=day - 10, kind="any"),
            Operation(load=1, step="sew", minutes=day, kind="any"),
            Operation(load=1, step="check", minutes=20),
        ),
        (
            Wait(before=0, after=1, least=DAY, most=7 * DAY),
            Wait(before=2, after=3),
            Wait(before=3, after=4, least=DAY - 20),
        ),
    )
    draft = Dispatcher(Bench(problem)).run(wished([0.0, 3.0, 1.0, 2.0, 4.0]))
    assert draft is not None
    assert draft.ends == [550, 2 * DAY + 550, 1020, DAY + 1020, 2 * DAY + 1020]


def long_waits(seed: int) -> tuple[Problem, random.Random]:
    """Return loads with a step some days behind another, and work that fills most of the time."""
    draw = random.Random(seed)
    operations: list[Operation] = []
    waits: list[Wait] = []
    for load in range(draw.randint(1, 6)):
        first = len(operations)
        operations += [
            Operation(load=load, step="finish", minutes=30, kind=draw.choice(KINDS[:2])),
            Operation(load=load, step="condition", minutes=15, kind=draw.choice(KINDS[:2])),
            Operation(
                load=load, step="again", minutes=draw.choice((5, 40)), kind=draw.choice(KINDS)
            ),
            Operation(load=load, step="check", minutes=10),
        ]
        least = draw.choice((0, 600, DAY, 3 * DAY))
        waits += [
            Wait(before=first, after=first + 1, least=10, most=draw.choice((None, 200))),
            Wait(
                before=first + 1,
                after=first + 2,
                least=least,
                most=least + draw.randint(2, 4) * DAY,
            ),
            Wait(before=first + 2, after=first + 3, least=DAY),
        ]
    operations += [
        Operation(load=100 + k, step="sew", minutes=draw.randint(100, 400), kind="any")
        for k in range(draw.randint(4, 16))
    ]
    return one_person(operations, waits, persons=draw.randint(1, 2)), draw


@pytest.mark.parametrize("seed", range(30))
def test_the_longest_wait_is_kept_whatever_is_wished(seed: int) -> None:
    problem, draw = long_waits(seed)
    bench = Bench(problem)
    ends = {wait.before: wait for wait in problem.waits if wait.before in bench.loose}
    assert ends
    latest = [i for i, one in enumerate(problem.operations) if one.step == "again"]
    for _ in range(10):
        keys = [draw.uniform(-1.0, 1.0) * 1e4 for _ in problem.operations]
        for i in latest:  # all else goes first
            keys[i] = 1e6
        draft = Dispatcher(bench).run(wished(keys))
        assert draft is not None
        assert breaches(problem, draft.plan()) == ()


@pytest.mark.parametrize("seed", range(10))
def test_the_longest_wait_is_kept_behind_what_is_done(seed: int) -> None:
    problem, _ = long_waits(seed)
    draft = Dispatcher(Bench(problem)).run(wished([0.0] * len(problem.operations)))
    assert draft is not None
    now = sorted(draft.ends)[len(draft.ends) // 3]
    done = tuple(
        Span(start=start, end=end, operation=i, person=person)
        for start, end, i, person in draft.pieces
        if draft.ends[i] <= now
    )
    begun = Problem(
        operations=problem.operations,
        waits=problem.waits,
        persons=problem.persons,
        fixed=done,
        now=now,
    )
    keys = [1e6 if one.step == "again" else 0.0 for one in problem.operations]
    then = Dispatcher(Bench(begun)).run(wished(keys))
    assert then is not None
    assert breaches(begun, then.plan()) == ()


def test_a_plan_laid_down_backwards_has_all_as_late_as_can_be() -> None:
    problem = one_person(
        (
            Operation(load=0, step="glue", minutes=30),
            Operation(load=0, step="sew", minutes=30),
            Operation(load=1, step="cut", minutes=20),
        ),
        (Wait(before=0, after=1, least=60),),
        hours=((540, 1020),),
    )
    bench, wishes = Bench(problem), wished([0.0, 1.0, 2.0])
    draft = Dispatcher(bench).run(wishes)
    assert draft is not None
    assert draft.ends == [570, 660, 590]
    assert Mirror(problem, bench).latest_starts(draft, wishes) == [540.0, 630.0, 610.0]


@pytest.mark.parametrize(("late", "finish"), [(None, 1110), (0, 1170), (59, 1170), (60, 1110)])
def test_the_soonest_finish_of_those_plans_that_are_no_later(late: int | None, finish: int) -> None:
    """An hour due at 10:00, and one with 510 minutes behind it: one of them is an hour later."""
    problem = one_person(
        (
            Operation(load=0, step="sew", minutes=60, order=0),
            Operation(load=1, step="glue", minutes=60, order=1),
            Operation(load=1, step="pack", minutes=10, order=1),
        ),
        (Wait(before=1, after=2, least=500),),
        hours=((540, 1400),),
        orders=(Order(due=600), Order()),
    )
    assert Bounds(problem, Bench(problem)).finish(5000, late) == finish

"""Bounds no plan beats, held against proven optima and a closed form."""

import random
from dataclasses import replace

import numpy as np
import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY, WorkAxis, every_day
from hidewright.planning.exact import prove
from hidewright.planning.hours import Hours
from hidewright.planning.hours_kernels import last_before, not_after
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Hold, Kind, Operation, Person, Problem, Station, Wait
from hidewright.planning.rules import Rules
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.shaving import shaved

SHOP_HOURS = ((540, 750), (810, 1020))


def small(seed: int) -> Problem:
    """Return a few uneven loads on few moulds, small enough to be solved whole."""
    draw = random.Random(seed)
    operations: list[Operation] = []
    waits: list[Wait] = []
    holds: list[Hold] = []
    amount = [draw.randint(1, 2) for _ in range(draw.randint(3, 5))]
    for load, pieces in enumerate(amount):
        first = len(operations)
        route: tuple[tuple[str, int, Kind, int, int | None], ...] = (
            ("cut", 12 * pieces, "any", 0, None),
            ("soak", 3, "never", 0, None),
            ("press", 8 * pieces, "never", 10, 25),
            ("demould", 4, "never", 300, None),
            ("glue", 9 + pieces, "never", 30, None),
            ("sew", 18 * pieces, "any", 5, None),
        )
        for k, (step, minutes, kind, least, most) in enumerate(route):
            if k:
                waits.append(Wait(before=first + k - 1, after=first + k, least=least, most=most))
            operations.append(
                Operation(
                    load=load,
                    step=step,
                    minutes=minutes + draw.randint(0, 5),
                    kind=kind,
                    pieces=pieces,
                    colour=draw.choice(("black", "brown")) if step == "glue" else None,
                )
            )
        holds.append(Hold(station="mould", first=first + 2, last=first + 3, amount=pieces))
    calendar = every_day(((540, 720), (780, 900)), range(5))
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        stations=(Station(name="mould", capacity=2),),
        holds=tuple(holds),
        persons=tuple(
            Person(name=str(k), calendar=calendar) for k in range(draw.choice((1, 1, 2)))
        ),
        flush_minutes=10,
    )


@pytest.mark.parametrize(
    "seed", [*range(12), *(pytest.param(k, marks=pytest.mark.slow) for k in range(12, 40))]
)
def test_the_bound_is_not_above_what_a_solver_without_it_proves_or_finds(seed: int) -> None:
    problem = small(seed)
    answer = schedule(problem, seed=seed, budget=Budget(rounds=100))
    assert answer.plan is not None
    latest = answer.plan.finish + DAY
    bounds = Bounds(problem, Bench(problem))
    bound = bounds.finish(latest)
    proof = prove(problem, bound=0, hint=answer.plan, latest=latest, seed=seed, effort=100)
    assert proof.plan is not None
    best = min(proof.plan.finish, answer.plan.finish)
    assert bound <= best
    assert proof.bound <= answer.plan.finish
    shaved(Rules(problem), [best] * len(problem.operations))  # leaves time to all


@pytest.mark.parametrize("seed", range(6))
def test_the_bound_with_boards_on_the_laser_is_not_above_what_a_solver_finds(seed: int) -> None:
    draw, plain = random.Random(seed), small(seed)
    problem = replace(
        plain,
        board_minutes=25,
        operations=tuple(
            replace(one, kind="never", colour=draw.choice(("card", "MDF")), machine="laser")
            if one.step == "cut"
            else one
            for one in plain.operations
        ),
    )
    answer = schedule(problem, seed=seed, budget=Budget(rounds=60))
    assert answer.plan is not None
    latest = answer.plan.finish + DAY
    bound = Bounds(problem, Bench(problem)).finish(latest)
    proof = prove(problem, bound=0, hint=answer.plan, latest=latest, seed=seed, effort=60)
    assert proof.plan is not None
    assert breaches(problem, proof.plan) == ()
    assert bound <= min(proof.plan.finish, answer.plan.finish)


@pytest.mark.parametrize(("moulds", "dry"), [(1, 720), (2, 720), (3, 1500), (2, 180), (4, 300)])
def test_days_of_a_mould_bound_batch_are_its_pieces_over_what_the_moulds_give_a_day(
    moulds: int, dry: int
) -> None:
    """Output per day = moulds x floor(24 h / (load + dry)), hands and hours without limit.

    The load takes 30 minutes, and unloading none that counts; cycles go on day and night, so that
    n pieces need ceil(n / moulds) cycles back to back.
    """
    load, pieces = 30, 12
    operations = []
    for k in range(pieces):
        operations += [
            Operation(load=k, step="press", minutes=load),
            Operation(load=k, step="demould", minutes=1),
        ]
    problem = Problem(
        operations=tuple(operations),
        waits=tuple(Wait(before=2 * k, after=2 * k + 1, least=dry - 1) for k in range(pieces)),
        stations=(Station(name="mould", capacity=moulds),),
        holds=tuple(Hold(station="mould", first=2 * k, last=2 * k + 1) for k in range(pieces)),
        persons=tuple(Person(name=str(k), calendar=every_day(((0, DAY),))) for k in range(moulds)),
    )
    answer = schedule(problem, seed=0, budget=Budget(rounds=20))
    assert answer.plan is not None
    cycles = -(-pieces // moulds)
    assert answer.plan.finish == answer.bound == cycles * (load + dry)
    ends = [span.end for span in answer.plan.spans if span.operation % 2]
    per_day = moulds * (DAY // (load + dry))
    assert sum(end <= DAY for end in ends) == min(pieces, per_day)


def test_a_batch_has_the_mould_only_from_when_its_first_off_is_measured() -> None:
    """First-off and batch on one mould: release + pieces x (load + dry), not one cycle after all.

    The first-off is on the mould at once; measuring it takes until long behind that.
    """
    load, dry, measuring, pieces = 30, 600, 2000, 5
    operations = [
        Operation(load=k // 2, step=("press", "demould")[k % 2], minutes=(load, 1)[k % 2])
        for k in range(2 * (pieces + 1))
    ]
    measured = len(operations)
    operations.append(Operation(load=0, step="measure", minutes=measuring))
    presses = range(0, measured, 2)
    problem = Problem(
        operations=tuple(operations),
        waits=(
            *(Wait(before=k, after=k + 1, least=dry - 1) for k in presses),
            Wait(before=1, after=measured),
            *(Wait(before=measured, after=k) for k in presses if k),
        ),
        stations=(Station(name="mould", capacity=1),),
        holds=tuple(Hold(station="mould", first=k, last=k + 1) for k in presses),
        persons=(Person(name="one", calendar=every_day(((0, DAY),))),),
    )
    answer = schedule(problem, seed=0, budget=Budget(rounds=5))
    assert answer.plan is not None
    release = load + dry + measuring
    assert answer.plan.finish == answer.bound == release + pieces * (load + dry)


def test_halving_the_drying_time_doubles_what_the_moulds_give() -> None:
    def finish(dry: int) -> int:
        load = 60
        operations = [
            Operation(load=k // 2, step=("press", "demould")[k % 2], minutes=(load, 1)[k % 2])
            for k in range(16)
        ]
        problem = Problem(
            operations=tuple(operations),
            waits=tuple(Wait(before=k, after=k + 1, least=dry - 1) for k in range(0, 16, 2)),
            stations=(Station(name="mould", capacity=1),),
            holds=tuple(Hold(station="mould", first=k, last=k + 1) for k in range(0, 16, 2)),
            persons=(Person(name="one", calendar=every_day(((0, DAY),))),),
        )
        answer = schedule(problem, seed=0, budget=Budget(rounds=5))
        assert answer.status == "optimal"
        return answer.bound

    assert finish(1380) == 8 * 1440
    assert finish(660) == 8 * 720


def latest(hours: Hours, end: int, minutes: int, kind: Kind) -> int:
    """Return the latest start of work that must end at a time."""
    if kind == "any":
        return int(last_before(hours.table, end, minutes))
    return int(not_after(np.array((0, len(hours.table))), hours.table, end, minutes))


@pytest.mark.parametrize("seed", range(20))
def test_soonest_and_latest_are_each_other_backwards(seed: int) -> None:
    draw = random.Random(seed)
    windows = every_day(SHOP_HOURS, draw.sample(range(7), 4)).until(20 * DAY)
    hours = Hours([windows])
    axis = WorkAxis([windows])
    for _ in range(50):
        ready, minutes = draw.randrange(6 * DAY), draw.randint(1, 200)
        kind: Kind = draw.choice(("never", "any"))
        end = hours.soonest(ready, minutes, kind)
        start = latest(hours, end, minutes, kind)
        assert ready <= start
        assert axis.worked(end) - axis.worked(start) == minutes
        assert hours.soonest(start, minutes, kind) == end
        # a minute sooner is not possible
        assert latest(hours, end - 1, minutes, kind) < ready or ready == start


def test_work_that_fills_a_window_whole_is_done_in_it() -> None:
    hours = Hours([[(540, 750), (810, 1020)]])
    assert hours.soonest(100, 210, "never") == 750
    assert hours.soonest(541, 210, "never") == 1020
    assert latest(hours, 1020, 210, "never") == 810
    assert latest(hours, 1019, 210, "never") == 540
    assert hours.soonest(600, 300, "any") == 960
    assert latest(hours, 960, 300, "any") == 600


def test_a_bound_of_nothing_to_wait_for_is_the_work_itself() -> None:
    problem = Problem(
        operations=tuple(Operation(load=k, step="sew", minutes=100, kind="any") for k in range(9)),
        persons=(Person(name="one", calendar=every_day(SHOP_HOURS)),),
    )
    answer = schedule(problem, seed=0, budget=Budget(rounds=3))
    assert isinstance(answer.plan, Plan)
    # 900 minutes at 420 a day: two days, and an hour of the third
    assert answer.plan.finish == answer.bound == 2 * DAY + 540 + 60

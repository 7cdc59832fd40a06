"""What is proven of small batches, held against all plans there are."""

import random
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pytest

from hidewright.planning.bench import NEVER, Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY, every_day
from hidewright.planning.exact import prove_in_spans
from hidewright.planning.exact_model import Least
from hidewright.planning.hours import Hours
from hidewright.planning.hours_by_minute import hours_by_minute
from hidewright.planning.hours_kernels import not_after, not_before
from hidewright.planning.narrowing import OutOfTime
from hidewright.planning.plan import lateness
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
from hidewright.planning.rules import Rules
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.shaving import in_time, shaved
from hidewright.planning.twins import in_order, twins

HOURS = ((540, 600), (660, 720))


def tiny(seed: int) -> Problem:
    """Return two or three loads of press, open, dye and paint in one go, for one pair of hands."""
    draw = random.Random(seed)
    operations: list[Operation] = []
    waits: list[Wait] = []
    holds: list[Hold] = []
    loads = draw.choice((2, 2, 3))
    steps = ("press", "open", "dye", "paint")[: 3 if loads == 3 else 4]
    same = draw.random() < 0.4
    minutes = [draw.randint(5, 30) for _ in steps]
    for load in range(loads):
        first = len(operations)
        for k, step in enumerate(steps):
            if k:
                least = (40, 0, 25)[k - 1]
                waits.append(Wait(before=first + k - 1, after=first + k, least=least))
            operations.append(
                Operation(
                    load=load,
                    step=step,
                    minutes=minutes[k] + (0 if same else draw.randint(0, 8)),
                    order=load,
                    colour=("black", "brown")[load % 2] if step == "dye" and not same else None,
                )
            )
        holds.append(Hold(station="mould", first=first, last=first + 1))
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        stations=(Station(name="mould", capacity=draw.choice((1, 2))),),
        holds=tuple(holds),
        persons=(Person(name="one", calendar=every_day(HOURS)),),
        flush_minutes=12,
        orders=tuple(
            Order(name=f"{k}", due=draw.randint(560, 2000), weight=draw.randint(1, 3))
            for k in range(loads)
        ),
    )


def lines(problem: Problem) -> Iterator[list[int]]:
    """Yield all orders in which one pair of hands can begin the operations."""
    before: dict[int, set[int]] = {i: set() for i in range(len(problem.operations))}
    for wait in problem.waits:
        before[wait.after].add(wait.before)

    def behind(line: list[int]) -> Iterator[list[int]]:
        if len(line) == len(before):
            yield line
        for i in before:
            if i not in line and before[i] <= set(line):
                yield from behind([*line, i])

    return behind([])


def ends_of(problem: Problem, line: list[int]) -> list[int] | None:
    """Return the ends of operations that are begun in some order, each as soon as can be."""
    hours = Hours([problem.persons[0].calendar.until(30 * DAY)])
    ends = [0] * len(line)
    colour, now = None, 0
    held: set[int] = set()
    for i in line:
        ready = max([now, *(ends[w.before] + w.least for w in problem.waits if w.after == i)])
        one, minutes = problem.operations[i], problem.operations[i].minutes
        if one.colour is not None:
            minutes += problem.flush_minutes * (colour not in (None, one.colour))
            colour = one.colour
        for hold in problem.holds:
            if hold.first == i:
                held.add(hold.last)
                if len(held) > problem.stations[0].capacity:
                    return None
        ends[i] = now = hours.soonest(ready, minutes, "never")
        held.discard(i)
    return ends


def all_plans(problem: Problem) -> list[list[int]]:
    """Return when each order is finished, in every plan that begins all as soon as can be."""
    every = [ends for ends in (ends_of(problem, line) for line in lines(problem)) if ends]
    return [
        [
            max(end for one, end in zip(problem.operations, ends, strict=True) if one.order == k)
            for k in range(len(problem.orders))
        ]
        for ends in every
    ]


def late_by_weight(problem: Problem, last: list[int]) -> int:
    orders = zip(problem.orders, last, strict=True)
    return sum(order.weight * max(0, end - (order.due or 0)) for order, end in orders)


def best_of_all(problem: Problem) -> tuple[int, int]:
    """Return the soonest finish, and the least late minutes by weight, of all plans."""
    every = all_plans(problem)
    return min(map(max, every)), min(late_by_weight(problem, last) for last in every)


def refuted(problem: Problem, until: list[int], late_at_most: int | None = None) -> bool:
    """Whether nothing is left of the times of some operation."""
    try:
        shaved(Rules(problem), until, late_at_most)
    except OutOfTime:
        return True
    return False


@pytest.mark.parametrize("seed", range(30))
def test_what_no_plan_beats_is_the_best_of_all_orders_of_the_work(seed: int) -> None:
    problem = tiny(seed)
    count = len(problem.operations)
    finish, late = best_of_all(problem)
    answer = schedule(problem, seed=seed, budget=Budget(rounds=2))
    assert answer.plan is not None
    goals: tuple[tuple[Least, int, int | None], ...] = (
        ("finish", finish, None),
        ("late", late, lateness(problem, answer.plan)),
    )
    for least, best, most in goals:
        proof = prove_in_spans(
            Rules(problem),
            bound=0,
            hint=answer.plan,
            seed=seed,
            effort=100,
            least=least,
            late_at_most=most,
        )
        assert (proof.status, proof.bound) == ("optimal", best)
    for more in (0, 7):
        assert not refuted(problem, [finish + more] * count)
        dues = [
            (order.due or 0) + (late + more) // order.weight
            for order in (problem.orders[one.order] for one in problem.operations)
        ]
        assert not refuted(problem, dues, late + more)


@pytest.mark.parametrize("seed", range(8))
def test_no_plan_is_less_late_than_the_orders_together_must_be_nor_ends_behind_its_dates(
    seed: int,
) -> None:
    problem = tiny(seed)
    bounds, every = Bounds(problem, Bench(problem)), all_plans(problem)
    least = min(late_by_weight(problem, last) for last in every)
    for more in (0, 1, 60, 600):
        assert bounds.least_late(least + more) <= least
        dates = bounds.dates(NEVER, least + more)
        for last in every:
            if late_by_weight(problem, last) <= least + more:
                assert all(map(int.__le__, last, dates))


@pytest.mark.parametrize("seed", range(20))
def test_two_orders_of_one_step_are_late_as_one_behind_the_other(seed: int) -> None:
    """Due at once and split at will: the lighter by its minutes is done behind the other."""
    draw = random.Random(seed)
    minutes, weights = ([draw.randint(10, 90) for _ in range(2)] for _ in range(2))
    problem = Problem(
        operations=tuple(
            Operation(load=k, step="sew", minutes=m, kind="any", order=k)
            for k, m in enumerate(minutes)
        ),
        persons=(Person(name="one", calendar=every_day(((0, DAY),))),),
        orders=tuple(Order(due=1, weight=weight) for weight in weights),
    )
    both = sum(minutes) - 1
    least = min(weights[a] * (minutes[a] - 1) + weights[1 - a] * both for a in range(2))
    assert Bounds(problem, Bench(problem)).least_late(least + draw.randint(0, 5000)) == least


@pytest.mark.parametrize("seed", range(12))
def test_times_drawn_together_again_leave_no_more_and_the_best_finish(seed: int) -> None:
    problem = tiny(seed)
    rules, (finish, _) = Rules(problem), best_of_all(problem)
    later = in_time(rules, finish + 40, None)
    times = in_time(rules, finish, None, within=later)
    assert max(times.latest_end) == finish
    assert all(map(int.__ge__, times.soonest, later.soonest))
    assert all(map(int.__le__, times.latest_end, later.latest_end))
    anew = in_time(rules, finish, None)
    assert all(map(int.__ge__, times.soonest, anew.soonest))
    assert all(map(int.__le__, times.latest_end, anew.latest_end))


def test_two_loads_end_one_behind_the_other() -> None:
    """Two loads that are the same, painted and waxed between waits: one is behind the other."""
    operations: list[Operation] = []
    waits: list[Wait] = []
    for load in range(2):
        first = len(operations)
        for k, (step, minutes, least) in enumerate(
            (("paint", 30, 0), ("second coat", 7, 60), ("third coat", 7, 60), ("wax", 3, 120))
        ):
            operations.append(Operation(load=load, step=step, minutes=minutes))
            if k:
                waits.append(Wait(before=first + k - 1, after=first + k, least=least))
    problem = Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        persons=(Person(name="one", calendar=every_day(((540, 1020),))),),
    )
    answer = schedule(problem, seed=0, budget=Budget(rounds=2400))
    assert answer.plan is not None
    # one behind the other: 30 + 30, then the second load's coats and waits
    assert answer.plan.finish == answer.bound == 540 + 60 + 60 + 7 + 60 + 7 + 120 + 3
    assert answer.status == "optimal"


def test_setting_up_is_done_in_one_go_with_the_work() -> None:
    """45 minutes of brown leave 15 of the first hour: not enough for 12 + 10 of black.

    So black ends at 660 + 22; the other way round brown ends at 660 + 12 + 45.
    """
    problem = Problem(
        operations=(
            Operation(load=0, step="dye", minutes=10, colour="black"),
            Operation(load=1, step="dye", minutes=45, colour="brown"),
        ),
        persons=(Person(name="one", calendar=every_day(HOURS)),),
        flush_minutes=12,
    )
    assert refuted(problem, [681] * 2)
    assert not refuted(problem, [682] * 2)


def route(*kinds: Kind, minutes: int = 40) -> Problem:
    """Return two loads of a route that are the same."""
    count = len(kinds)
    return Problem(
        operations=tuple(
            Operation(load=load, step=f"step {k}", minutes=minutes, kind=kind)
            for load in range(2)
            for k, kind in enumerate(kinds)
        ),
        waits=tuple(
            Wait(before=load * count + a, after=load * count + b)
            for load in range(2)
            for a, b in pairwise(range(count))
        ),
        persons=(Person(name="one", calendar=every_day(((0, DAY),))),),
    )


def test_loads_that_are_the_same_are_twins_and_others_are_not() -> None:
    problem = route("never", "any")
    assert twins(problem) == [([0, 1], [2, 3])]
    ops = list(problem.operations)
    ops[3] = Operation(load=1, step="step 1", minutes=41, kind="any")
    other = Problem(operations=tuple(ops), waits=problem.waits, persons=problem.persons)
    assert twins(other) == []
    # each waits for the other: exchanged they are the same, but not put in order at every step
    crossed = Problem(
        operations=problem.operations,
        waits=(Wait(before=0, after=3), Wait(before=2, after=1)),
        persons=problem.persons,
    )
    assert twins(crossed) == []


def test_the_parts_of_a_load_are_twins_between_the_steps_they_share() -> None:
    """Cut, then two presses and openings, then sew."""
    steps = ("cut", "press", "open", "press", "open", "sew")
    ties = ((0, 1), (1, 2), (0, 3), (3, 4), (2, 5), (4, 5))
    problem = Problem(
        operations=tuple(Operation(load=0, step=step, minutes=9) for step in steps),
        waits=tuple(Wait(before=a, after=b) for a, b in ties),
        persons=(Person(name="one", calendar=every_day(HOURS)),),
    )
    assert twins(problem) == [([1, 2], [3, 4])]


def test_what_may_be_split_goes_along_with_the_step_it_hangs_on() -> None:
    """Of a route with splits the longest run in one go is put in order, the rest goes along."""
    problem = route("never", "any", "never", "never", "any")
    assert in_order(problem, [0, 1, 2, 3, 4]) == [
        ([2], (2, False)),
        ([3], (3, False)),
        ([0, 1], (1, True)),
        ([4], (4, False)),
    ]
    # too short to be split: all in one go
    short = route("never", "any", "never", minutes=19)
    assert in_order(short, [0, 1, 2]) == [([k], (k, False)) for k in range(3)]


def test_a_chain_that_hangs_on_two_steps_goes_as_a_whole() -> None:
    """Two runs in one go, tied past the splits between them."""
    problem = route("never", "any", "never")
    tied = Problem(
        operations=problem.operations,
        waits=(
            *problem.waits,
            Wait(before=0, after=2, least=500),
            Wait(before=3, after=5, least=500),
        ),
        persons=problem.persons,
    )
    assert in_order(tied, [0, 1, 2]) == [([0, 1, 2], (0, False))]


@pytest.mark.parametrize("seed", range(10))
def test_hours_by_the_minute_are_the_hours(seed: int) -> None:
    draw = random.Random(seed)
    windows_of = [
        every_day(((begin, 750), (810, 1020)), draw.sample(range(7), 4)).until(9 * DAY)
        for begin in draw.sample((480, 540, 700), draw.randint(1, 2))
    ]
    last = draw.randint(5 * DAY, 9 * DAY)
    clipped = [[(a, min(b, last)) for a, b in windows if a < last] for windows in windows_of]
    first = np.cumsum([0, *map(len, clipped)])
    table = np.array([window for windows in clipped for window in windows])
    each = [Hours([windows]) for windows in windows_of]
    together = Hours(windows_of)
    worked, first_at, last_at = hours_by_minute(together.windows, last)
    for _ in range(200):
        time, minutes = draw.randrange(last), draw.randint(1, 200)
        start = not_before(first, table, time, minutes)
        end = min(one.soonest(time, minutes, "never") for one in each)
        assert start == end - minutes if end <= last else start > last
        latest = [min(time, b) - minutes for a, b in table.tolist() if min(time, b) - minutes >= a]
        assert not_after(first, table, time, minutes) == max(latest, default=-NEVER)
        done = worked[time]
        assert done == together.axis.worked(time)
        assert first_at[done] <= time <= last_at[done]
        assert worked[first_at[done]] == done
        assert worked[last_at[done]] == done


def test_a_scrap_that_no_piece_fits_into_is_of_no_use() -> None:
    """Soaked for 5 minutes, pressed 5 minutes later for 10: a piece of sewing is longer than 5.

    So the 40 minutes of work take 45, whatever is first.
    """
    problem = Problem(
        operations=(
            Operation(load=0, step="soak", minutes=5),
            Operation(load=0, step="press", minutes=10),
            Operation(load=1, step="sew", minutes=25, kind="any"),
        ),
        waits=(Wait(before=0, after=1, least=5, most=5),),
        persons=(Person(name="Wren", calendar=every_day(((540, 720),))),),
    )
    assert refuted(problem, [584] * 3)
    assert not refuted(problem, [585] * 3)

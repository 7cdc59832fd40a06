"""Small batches with due dates: the least lateness is proven first, then the finish."""

import random
from dataclasses import replace
from itertools import permutations

import pytest

from hidewright.planning.beginnings import AIMS, RULES
from hidewright.planning.calendar import DAY, every_day
from hidewright.planning.goals import Goal
from hidewright.planning.leaning import Changes, plain
from hidewright.planning.plan import late_by_order, lateness
from hidewright.planning.problem import Operation, Order, Person, Problem, Wait
from hidewright.planning.schedule import Budget, schedule

ALL_DAY = every_day(((0, DAY),))
ROUNDS = Budget(rounds=3500)


def jobs(seed: int, count: int = 5) -> Problem:
    """Return jobs of one step each for one pair of hands, with due dates and weights."""
    draw = random.Random(seed)
    minutes = [draw.randint(20, 90) for _ in range(count)]
    return Problem(
        operations=tuple(
            Operation(load=k, step=f"step {k}", minutes=m, order=k) for k, m in enumerate(minutes)
        ),
        persons=(Person(name="me", calendar=ALL_DAY),),
        orders=tuple(
            Order(name=f"{k}", due=draw.randint(20, sum(minutes)), weight=draw.randint(1, 3))
            for k in range(count)
        ),
    )


def least_late(problem: Problem) -> int:
    """Return the least late minutes by weight of jobs of one step: all orders of them tried."""
    best = None
    for line in permutations(range(len(problem.operations))):
        now = late = 0
        for k in line:
            now += problem.operations[k].minutes
            order = problem.orders[k]
            late += order.weight * max(0, now - (order.due or 0))
        best = late if best is None else min(best, late)
    assert best is not None
    return best


@pytest.mark.parametrize("seed", range(8))
def test_weighted_lateness_of_single_steps_is_the_best_of_all_orders(seed: int) -> None:
    problem = jobs(seed)
    answer = schedule(problem, seed=0, budget=ROUNDS)
    assert answer.plan is not None
    assert answer.status == "optimal"
    assert lateness(problem, answer.plan) == least_late(problem)
    assert answer.plan.finish == sum(one.minutes for one in problem.operations)


@pytest.mark.parametrize("seed", range(8))
def test_where_all_are_late_the_least_work_by_weight_goes_first_at_once(seed: int) -> None:
    """Smith's rule (1956) is the best there is, and among what a search begins with."""
    free = jobs(seed, 7)
    problem = replace(free, orders=tuple(replace(one, due=1) for one in free.orders))
    answer = schedule(problem, seed=0, budget=Budget(rounds=len(RULES) * (len(AIMS) + 1)))
    assert answer.plan is not None
    assert lateness(problem, answer.plan) == least_late(problem)


def test_now_and_then_all_loads_of_an_order_are_moved_alike() -> None:
    changes = Changes(random.Random(0), range(6), [0, 0, 1, 1, 2, 2])
    begun = plain(steps=1, operations=6, places=[0, 1, 2], stretch=0)

    def moved() -> set[tuple[int, ...]]:
        some = [changes.changed(begun, None).loads for _ in range(300)]
        return {tuple(k for k in range(3) if one[k]) for one in some if len({*one, 0.0}) == 2}

    assert moved() == {(0,), (1,), (2,)}
    changes.together = [[0, 2], [1]]
    assert moved() == {(0,), (1,), (2,), (0, 2)}


def two_loads(due: int) -> Problem:
    """Return a short load that is due, and one whose long wait must begin first to finish soon.

    First the long one: finished at 30 + 300 + 10 = 340, the short one at 30 + 20 = 50. First the
    short one: it is done at 20, the long one at 20 + 340 = 360.
    """
    return Problem(
        operations=(
            Operation(load=0, step="press", minutes=30, order=0),
            Operation(load=0, step="open", minutes=10, order=0),
            Operation(load=1, step="sew", minutes=20, order=1),
        ),
        waits=(Wait(before=0, after=1, least=300),),
        persons=(Person(name="me", calendar=ALL_DAY),),
        orders=(Order(name="long", due=1000), Order(name="short", due=due)),
    )


@pytest.mark.parametrize(("due", "late", "finish"), [(50, 0, 340), (49, 0, 360), (15, 5, 360)])
def test_the_finish_is_the_soonest_of_the_plans_that_are_least_late(
    due: int, late: int, finish: int
) -> None:
    problem = two_loads(due)
    answer = schedule(problem, seed=0, budget=ROUNDS)
    assert answer.plan is not None
    assert answer.status == "optimal"
    assert (lateness(problem, answer.plan), answer.plan.finish) == (late, finish)
    assert answer.bound == finish


def test_where_the_finish_comes_first_dates_do_not_hold_it_up() -> None:
    problem = two_loads(15)
    goals = (Goal(name="finish"), Goal(name="on time"))
    answer = schedule(problem, seed=0, budget=ROUNDS, goals=goals)
    assert answer.plan is not None
    assert answer.plan.finish == 340
    assert late_by_order(problem, answer.plan.order_finish(problem)) == [0, 35]


def test_a_late_batch_with_an_order_without_a_date_is_no_later_than_it_must_be() -> None:
    problem = two_loads(15)
    orders = (replace(problem.orders[0], due=None), problem.orders[1])
    answer = schedule(replace(problem, orders=orders), seed=0, budget=Budget(rounds=400))
    assert answer.plan is not None
    assert lateness(problem, answer.plan) == 5

"""What would be: the earliest date for a new order, and what one more of a station would bring."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from hidewright.planning.goals import Goal
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Person, Problem, Station
from hidewright.planning.schedule import Budget, schedule

#: Dates tried for a new order.
TRIES = 8
GOALS = (Goal(name="on time"), Goal(name="finish"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """The earliest date for a new order.

    Attributes:
        finish: Minute at which it would be done; None when no plan was found.
        late: Names of the other orders that would be late.
        plan: That plan.
    """

    finish: int | None
    late: tuple[str, ...] = ()
    plan: Plan | None = None


def promise(problem: Problem, order: int, *, seed: int, budget: Budget) -> Promise:
    """Return when an order can be done without making the others later.

    First it is planned behind the others; then earlier dates are tried, by halving.

    Args:
        problem: With the new order among its orders, and its operations.
        order: Number of the new order.
        seed: Of the searches.
        budget: Of each search.
    """
    best = _planned(problem, order, None, seed, budget)
    if best is None:
        return Promise(finish=None)
    low, high = max(problem.now, problem.orders[order].release), best.order_finish(problem)[order]
    for _ in range(TRIES):
        if high - low < 2 or (budget.seconds_left is not None and budget.seconds_left() <= 0.0):
            break
        date = (low + high) // 2
        plan = _planned(problem, order, date, seed, budget)
        finish = high if plan is None else plan.order_finish(problem)[order]
        if (
            plan is None
            or finish >= high
            or _late(problem, order, plan) > _late(problem, order, best)
        ):
            low = date
        else:
            best, high = plan, finish
            low = min(low, high)
    ends = best.order_finish(problem)
    late = tuple(
        one.name
        for number, one in enumerate(problem.orders)
        if number != order and one.due is not None and ends[number] > one.due
    )
    return Promise(finish=high, late=late, plan=best)


def _planned(
    problem: Problem, order: int, due: int | None, seed: int, budget: Budget
) -> Plan | None:
    orders = tuple(
        replace(one, due=due) if number == order else one
        for number, one in enumerate(problem.orders)
    )
    dated = replace(problem, orders=orders)
    return schedule(dated, seed=seed, budget=budget, goals=GOALS, bounded=False).plan


def _late(problem: Problem, order: int, plan: Plan) -> int:
    """Return how late the other orders are, by weight."""
    ends = plan.order_finish(problem)
    return sum(
        one.weight * max(0, ends[number] - one.due)
        for number, one in enumerate(problem.orders)
        if number != order and one.due is not None
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """What one more of something would bring.

    Attributes:
        name: Of the station, or of a person with whose hours a second one would work.
        finish: Minute of the finish with one more.
        sooner: Minutes by which that is sooner than now.
    """

    name: str
    finish: int
    sooner: int


def reliefs(
    problem: Problem, finish: int, *, seed: int, rounds: int, names: Sequence[str] | None = None
) -> tuple[Relief, ...]:
    """Return what one more of each station, and one more pair of hands, would bring.

    The bottleneck is the first one, if it brings anything.

    Args:
        problem: As it is.
        finish: Of its plan.
        seed: Of the searches.
        rounds: Of each search.
        names: Only of these stations; all, and the hands, when left out.
    """
    cases: list[tuple[str, Problem]] = []
    for number, station in enumerate(problem.stations):
        if names is None or station.name in names:
            more = replace(station, capacity=station.capacity + 1)
            stations: tuple[Station, ...] = (
                *problem.stations[:number],
                more,
                *problem.stations[number + 1 :],
            )
            cases.append((station.name, replace(problem, stations=stations)))
    if names is None and problem.persons:
        first = problem.persons[0]
        persons: tuple[Person, ...] = (*problem.persons, replace(first, name="one more"))
        cases.append((first.name, replace(problem, persons=persons)))
    out = []
    for name, case in cases:
        answer = schedule(case, seed=seed, budget=Budget(rounds=rounds))
        if answer.plan is not None:
            then = answer.plan.finish
            out.append(Relief(name=name, finish=then, sooner=max(0, finish - then)))
    return tuple(sorted(out, key=lambda one: (-one.sooner, one.name)))

"""What would be: the earliest date for a new order, and what one more of a station would bring."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from hidewright.planning.goals import Goal
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Person, Problem, Station
from hidewright.planning.schedule import Budget, schedule

#: Lateness of the orders there are counts so many times that of a new one.
OLD_ORDERS_FIRST = 1000


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
    """Return when an order can be done without making the others late.

    Args:
        problem: With the new order among its orders, and its operations.
        order: Number of the new order.
        seed: Of the search.
        budget: Of the search.
    """
    orders = tuple(
        replace(one, due=max(problem.now, one.release) + 1, weight=1)
        if number == order
        else replace(one, weight=one.weight * OLD_ORDERS_FIRST)
        for number, one in enumerate(problem.orders)
    )
    goals = (Goal(name="on time"), Goal(name="finish"))
    answer = schedule(replace(problem, orders=orders), seed=seed, budget=budget, goals=goals)
    if answer.plan is None:
        return Promise(finish=None)
    finish = answer.plan.order_finish(problem)
    late = tuple(
        one.name
        for number, one in enumerate(problem.orders)
        if number != order and one.due is not None and finish[number] > one.due
    )
    return Promise(finish=finish[order], late=late, plan=answer.plan)


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

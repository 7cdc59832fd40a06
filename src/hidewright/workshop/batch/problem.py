"""From a planning problem to its plan, as a machine reads it."""

from typing import Any

from hidewright.planning.schedule import Told, schedule
from hidewright.store.plan_problem import ProblemFile
from hidewright.workshop.batch.budget import budget_for
from hidewright.workshop.uncollected import uncollected

#: Rounds done when neither rounds nor seconds are asked for.
USUAL_ROUNDS = 2000


@uncollected()
def plan_problem(
    asked: ProblemFile,
    *,
    seed: int = 0,
    rounds: int | None = None,
    seconds: float | None = None,
    told: Told | None = None,
) -> dict[str, Any]:
    """Return the plan of a problem: times of each operation, finish, bound and status.

    Args:
        asked: What a file asks for.
        seed: For all that is random, 0 or more.
        rounds: Of search at most; some when no seconds are given either.
        seconds: Stop after so many by the clock; the rounds told then give the same plan again.
        told: How far the search is.

    Raises:
        RequestError: When rounds, seconds or seed are no such numbers.
    """
    budget = budget_for(seed=seed, rounds=rounds, seconds=seconds, usual_rounds=USUAL_ROUNDS)
    answer = schedule(asked.problem, seed=seed, budget=budget(told))
    starts: list[list[Any]] = []
    if answer.plan is not None:
        spans = answer.plan.spans_of()
        starts = [
            [number, [[one.start, one.end] for one in spans[i]]]
            for i, number in enumerate(asked.numbers)
        ]
    return {
        "name": asked.name,
        "starts": starts,
        "value": None if answer.plan is None else answer.plan.finish,
        "bound": answer.bound,
        "status": answer.status,
        "rounds": answer.rounds,
        "seed": seed,
        "seconds": seconds,
        "checked": answer.plan is not None,
    }

"""How soon the first plan is there, and how near to the bound it comes: the table of targets.

Run on a quiet machine: python benchmarks/planning.py [--quick]

Gaps are taken on the axis of working minutes, against a bound no plan beats: there a night or a
weekend is no step. Workshops are made up; all plans are looked over by the checker.
"""

import json
import sys
import time
from dataclasses import dataclass

from planning_workshops import workshop

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.goals import USUAL_GOALS
from hidewright.planning.problem import Problem
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.search import Search
from hidewright.store.plan_problem import read_problem


@dataclass(frozen=True, kw_only=True)
class Task:
    """What is planned, and the targets: seconds to the first plan, gap in % at 5 s and at 30 s."""

    articles: int
    persons: int
    models: str
    first_s: float
    gaps: tuple[float, float]


TASKS = (
    Task(articles=8, persons=1, models="M", first_s=0.1, gaps=(0.0, 0.0)),
    Task(articles=24, persons=1, models="M", first_s=0.1, gaps=(2.5, 2.5)),
    Task(articles=24, persons=2, models="M", first_s=0.1, gaps=(0.0, 0.0)),
    Task(articles=36, persons=1, models="ML", first_s=0.1, gaps=(2.5, 2.5)),
    Task(articles=60, persons=1, models="M", first_s=0.3, gaps=(2.5, 2.5)),
    Task(articles=60, persons=2, models="SM", first_s=0.3, gaps=(2.5, 2.5)),
    Task(articles=120, persons=1, models="M", first_s=0.3, gaps=(2.5, 1.75)),
    Task(articles=120, persons=1, models="SML", first_s=0.3, gaps=(2.5, 1.75)),
    Task(articles=120, persons=2, models="M", first_s=0.3, gaps=(0.0, 0.0)),
    Task(articles=480, persons=1, models="M", first_s=1.0, gaps=(2.5, 2.5)),
)
LIMITS_S = (5.0, 30.0)


def main() -> None:
    limits = LIMITS_S[:1] if "--quick" in sys.argv else LIMITS_S
    print("articles  persons  models  first s (target)   gap at", end="")
    print("".join(f"  {limit:g} s (target)" for limit in limits), "   status, rounds")
    for task in TASKS:
        print(row(task, limits), flush=True)


def row(task: Task, limits: tuple[float, ...]) -> str:
    data = json.dumps(workshop(task.articles, task.persons, task.models)).encode()
    problem = read_problem(data, name="made up").problem
    out = f"{task.articles:8}{task.persons:9}{task.models:>8}"
    out += f"{first_seconds(problem):9.2f} ({task.first_s:g})       "
    for limit, target in zip(limits, task.gaps, strict=False):
        gap, told = gap_at(problem, limit)
        out += f"  {gap:6.2f} ({target:g})"
    return f"{out}     {told}"


def first_seconds(problem: Problem) -> float:
    begun = time.perf_counter()
    bench = Bench(problem)
    search = Search(problem, bench, Bounds(problem, bench), USUAL_GOALS, seed=0)
    found = next(search.rounds())
    taken = time.perf_counter() - begun
    assert found.draft is not None
    assert not breaches(problem, found.draft.plan())
    return taken


def gap_at(problem: Problem, limit: float) -> tuple[float, str]:
    begun = time.perf_counter()
    budget = Budget(seconds_left=lambda: limit - (time.perf_counter() - begun))
    answer = schedule(problem, seed=0, budget=budget)
    assert answer.plan is not None
    worked = Bounds(problem, Bench(problem)).axis.worked
    gap = 100.0 * (worked(answer.plan.finish) / worked(answer.bound) - 1.0)
    return gap, f"{answer.status}, {answer.rounds}"


if __name__ == "__main__":
    main()

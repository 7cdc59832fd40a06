"""How long it takes to plan anew after a change, and how much of the old plan stays.

Batches of the demo's articles, undated where they are larger than the demo's own; then made-up
workshops of many loads. The change comes when a fifth of the time has passed: none at all, a day on
which nobody works, a step that is wanted two working days later, a mould that is lost for good.
Seconds are those of this process, medians of three, until there is a new plan that the checker
accepts: for the demo's from orders and workshop on, what the maker waits for. One second is the
target.

Run: python benchmarks/replanning.py
"""

import json
import statistics
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from datetime import time as time_of_day
from functools import partial
from typing import Any

from planning_workshops import demo_batch, workshop

from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.calendar import DAY, Calendar
from hidewright.planning.hands import DaysOff
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Order, Problem
from hidewright.planning.replan import replan
from hidewright.planning.schedule import Budget, schedule
from hidewright.store.plan_problem import read_problem
from hidewright.workshop.batch.otherwise import asked_for
from hidewright.workshop.batch.week import REPLAN_ROUNDS, USUAL_ROUNDS, Batch, plan_batch
from hidewright.workshop.uncollected import uncollected

TIMES = 3
BEGUN = 0.2
MORNING = 540
FIRST = Budget(rounds=USUAL_ROUNDS)
THEN = Budget(rounds=REPLAN_ROUNDS)
DEMO_SIZES = (None, 120, 480)
MADE_UP = ((120, 1, "SML"), (480, 1, "M"), (480, 2, "SML"))


@dataclass(frozen=True, kw_only=True)
class Days:
    """Days on which all steps of a plan begin, by what names them, and that of the last one."""

    of: Mapping[Any, int]
    last: int


Change = tuple[str, Days, Callable[[], Days]]


def main() -> None:
    print("articles  what          change              s (target 1)   steps  other day  days later")
    for articles in DEMO_SIZES:
        for change in changes_of_batch(demo_batch(proven=True, articles=articles)):
            tell(f"{articles or 36:8}  {'demo':14}", change)
    for articles, persons, models in MADE_UP:
        data = json.dumps(workshop(articles, persons, models)).encode()
        for change in changes_of_problem(read_problem(data, name="made up").problem):
            tell(f"{articles:8}  {f'{models}, {persons} work':14}", change)


def tell(head: str, change: Change) -> None:
    name, old, new = change
    taken = []
    for _ in range(TIMES):
        begun = time.process_time()
        days = new()
        taken.append(time.process_time() - begun)
    moved = sum(key in old.of and old.of[key] != day for key, day in days.of.items())
    print(
        f"{head}{name:19}{statistics.median(taken):9.2f}{len(days.of):11}{moved:11}"
        f"{days.last - old.last:12}",
        flush=True,
    )


def changes_of_batch(batch: Batch) -> Iterator[Change]:
    """Yield the changes of a batch as the maker tells them."""
    plan = plan_batch(batch, budget=FIRST)
    assert plan is not None
    day = next(day for day in range(int(BEGUN * plan.finish) // DAY, 9999) if day not in plan.off)
    minute = day * DAY + MORNING
    done = replace(
        plan,
        tasks=tuple(replace(one, state="done") if one.end <= minute else one for one in plan.tasks),
    )
    now = datetime.combine(plan.monday, time_of_day()) + timedelta(minutes=minute)
    then, shop = replace(batch, now=now, before=done), batch.workshop
    later = [day for day in range(day + 1, day + 20) if day not in plan.off]
    step = next(one for one in plan.tasks if one.start // DAY == later[0])
    today = DaysOff(first=now.date(), last=now.date())
    means = max(shop.means, key=lambda one: one.moulds[0].plugs)
    fewer = tuple(replace(one, plugs=one.plugs - 1) for one in means.moulds)
    changes = {
        "nothing otherwise": then,
        "a day ill": replace(then, workshop=replace(shop, holidays=(*shop.holidays, today))),
        "a step later": replace(then, before=asked_for(done, step.key, later[2])),
        "a mould lost": replace(then, workshop=shop.with_means(replace(means, moulds=fewer))),
    }

    def new(changed: Batch) -> Days:
        found = plan_batch(changed, budget=THEN, anew=False)
        assert found is not None
        return days_of_batch(found)

    for name, changed in changes.items():
        yield name, days_of_batch(plan), partial(new, changed)


def changes_of_problem(problem: Problem) -> Iterator[Change]:
    """Yield the changes of a problem."""
    plan = schedule(problem, seed=0, budget=FIRST, bounded=False).plan
    assert plan is not None
    worked = sorted({span.start // DAY for span in plan.spans})
    today = next(at for at, day in enumerate(worked) if day >= int(BEGUN * plan.finish) // DAY)
    minute = worked[today] * DAY + MORNING
    then = replace(
        problem, now=minute, fixed=tuple(one for one in plan.spans if one.start < minute)
    )
    step = next(one.operation for one in plan.spans if one.start // DAY == worked[today + 1])
    asked = worked[today + 3]
    wish = Order(name="asked", release=asked * DAY, due=(asked + 1) * DAY, weight=50)
    operations = list(problem.operations)
    operations[step] = replace(operations[step], order=len(problem.orders))
    changes = {
        "nothing otherwise": then,
        "a day ill": replace(
            then,
            persons=tuple(
                replace(one, calendar=without(one.calendar, worked[today]))
                for one in problem.persons
            ),
        ),
        "a step later": replace(then, operations=tuple(operations), orders=(*problem.orders, wish)),
        "a mould lost": replace(
            then,
            stations=tuple(
                replace(one, capacity=one.capacity - (one.name == "mould"))
                for one in problem.stations
            ),
        ),
    }

    @uncollected()
    def new(changed: Problem) -> Days:
        found = replan(changed, plan, seed=0, budget=THEN).plan
        assert found is not None
        return days_of(found)

    for name, changed in changes.items():
        yield name, days_of(plan), partial(new, changed)


def without(calendar: Calendar, day: int) -> Calendar:
    return replace(calendar, special=(*calendar.special, (day, ())))


def days_of_batch(plan: BatchPlan) -> Days:
    return Days(of={one.key: one.start // DAY for one in plan.tasks}, last=plan.finish // DAY)


def days_of(plan: Plan) -> Days:
    of = {operation: start // DAY for operation, start in plan.starts().items()}
    return Days(of=of, last=plan.finish // DAY)


if __name__ == "__main__":
    main()

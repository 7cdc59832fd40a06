"""How long a batch is likely to take, and when its orders are ready if it goes slowly.

Hands and leather are both believed with a range. A plan is made once more with all work and all
drying so much slower that, of both together, one batch in twenty is slower still: each by the
1.645 deviations of that end over the root of two.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

from hidewright.catalogue.leathers import Leather
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.customer_order import CustomerOrder
from hidewright.design.interval import Interval
from hidewright.design.step import Rest, Step
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.calendar import DAY
from hidewright.planning.schedule import Budget
from hidewright.workshop.batch.otherwise import called_day
from hidewright.workshop.batch.promise import Promised, promised
from hidewright.workshop.batch.week import Batch, plan_batch
from hidewright.workshop.learned import NOTHING, LearnedShelf
from hidewright.workshop.learned_beliefs import leather_belief
from hidewright.workshop.learned_minutes import hands_on_range, minutes_words, slowed
from hidewright.workshop.uncollected import uncollected

#: Rounds of search for the plan of a slow batch.
SLOW = Budget(rounds=2)
SLOWLY = "with work and drying as slow as one time in twenty"


@uncollected()
def with_likely(
    plan: BatchPlan,
    batch: Batch,
    leathers: Iterable[Leather],
    shelf: LearnedShelf = NOTHING,
    *,
    seed: int = 0,
) -> BatchPlan:
    """Return a plan whose notes tell how long its work is likely to take and when it may be ready.

    Args:
        plan: Of the batch.
        batch: What it was made from.
        leathers: Of the designs in it.
        shelf: What the workshop has learned.
        seed: Of the search.
    """
    minutes = minutes_by_work(plan, batch)
    if not minutes:
        return plan
    hands = hands_on_range(minutes, WorkshopRates(), shelf)
    notes = (
        f"Hands-on work of this plan: {minutes_words(hands)}.",
        *_late_notes(plan, slow_batch(batch, minutes, leathers, shelf)),
    )
    told = tuple(dict.fromkeys((*plan.notes, *notes)))
    return replace(plan, notes=told)


def minutes_by_work(plan: BatchPlan, batch: Batch) -> dict[str, float]:
    """Return the hands-on minutes of what is not done yet, by kind of work."""
    works = {
        (one.design, one.colour, step.name): step.work
        for one in batch.recipes
        for step in (*one.steps, *one.first_off)
    }
    minutes: dict[str, float] = {}
    for task in plan.tasks:
        if task.state == "done":
            continue
        load = plan.load(task.load)
        work = works.get((load.design, load.colour, task.step))
        if work is not None:
            minutes[work] = minutes.get(work, 0.0) + task.minutes
    return minutes


def slow_batch(
    batch: Batch,
    minutes: Mapping[str, float],
    leathers: Iterable[Leather],
    shelf: LearnedShelf = NOTHING,
) -> Batch:
    """Return a batch that goes so slowly that one in twenty goes slower still.

    Args:
        batch: As it is reckoned with.
        minutes: Hands-on, by kind of work: they tell how their doubts add up.
        leathers: The slowest to dry tells how slow drying may be.
        shelf: What the workshop has learned.
    """
    hands = _shared(hands_on_range(minutes, WorkshopRates(), shelf))
    drying = max(
        (_shared(leather_belief(one, shelf).interval("drying_hours")) for one in leathers),
        default=1.0,
    )

    def slow(steps: tuple[Step, ...]) -> tuple[Step, ...]:
        every = {one.work: hands for one in steps}
        return tuple(_dries_slowly(one, drying) for one in slowed(steps, every))

    recipes = tuple(
        replace(one, steps=slow(one.steps), first_off=slow(one.first_off)) for one in batch.recipes
    )
    return replace(batch, recipes=recipes)


def slowly_promised(
    told: Promised,
    batch: Batch,
    order: CustomerOrder,
    leathers: Iterable[Leather],
    shelf: LearnedShelf = NOTHING,
) -> Promised:
    """Return a promise with the day by which the order is likely ready; as it is where none is.

    Args:
        told: The earliest day.
        batch: The agreed orders; its recipes hold the new order's too.
        order: The new one.
        leathers: Of the designs in it.
        shelf: What the workshop has learned.
    """
    minutes: dict[str, float] = {}
    for one in batch.recipes:
        if (one.design, one.colour) == (order.design, order.colour):
            for step in one.steps:
                minutes[step.work] = minutes.get(step.work, 0.0) + step.minutes(1)
    if not any(minutes.values()):
        return told
    try:
        slow = promised(slow_batch(batch, minutes, leathers, shelf), order)
    except RequestError:
        return told
    return replace(told, slow_day=slow.day)


def _late_notes(plan: BatchPlan, slow: Batch) -> tuple[str, ...]:
    try:
        other = plan_batch(slow, seed=plan.seed, budget=SLOW, bounded=False)
    except RequestError:
        other = None
    if other is None:
        return (f"There is no plan {SLOWLY}: give it longer hours or more hands.",)
    days = (other.monday - plan.monday).days
    ready = {one.order: one.ready // DAY + days for one in other.orders}
    later = [
        (one, ready[one.order]) for one in plan.orders if ready.get(one.order, 0) > one.ready // DAY
    ]
    if not later:
        return (f"Every order is ready on the same day {SLOWLY}.",)
    return tuple(
        f"{one.count} {one.article} for {one.customer}: likely by {called_day(plan, day)}, "
        f"{SLOWLY}."
        for one, day in later
    )


def _shared(value: Interval) -> float:
    return float((value.high / value.likely) ** math.sqrt(0.5))


def _dries_slowly(step: Step, by: float) -> Step:
    rest = step.rest
    if rest is None or not rest.what.startswith("drying on the plug"):
        return step
    return replace(step, rest=_longer(rest, by))


def _longer(rest: Rest, by: float) -> Rest:
    return replace(
        rest,
        least_minutes=math.ceil(rest.least_minutes * by),
        most_minutes=math.ceil(rest.most_minutes * by) if rest.most_minutes else rest.most_minutes,
    )

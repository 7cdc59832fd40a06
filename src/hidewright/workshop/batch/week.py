"""Orders, designs and the workshop to a plan of the week: what is done on which day, by whom."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import groupby

from hidewright.design.customer_order import TO_BE_MADE, CustomerOrder
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan, Outcome, Taken, Task, Work
from hidewright.planning.batch_problem import MEASURED, Recipe, lay_out, must_be_possible
from hidewright.planning.calendar import DAY
from hidewright.planning.goals import Goal
from hidewright.planning.hands import minute_of, monday_of
from hidewright.planning.laid import Laid, task_of
from hidewright.planning.loads import Load, Wanted, load_size, loads_for
from hidewright.planning.plan import Answer, Plan
from hidewright.planning.problem import Span
from hidewright.planning.replan import replan
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.workshop import Workshop
from hidewright.workshop.uncollected import uncollected

#: Rounds of search when neither rounds nor seconds are asked for.
USUAL_ROUNDS = 1000
#: Rounds of the search beside the plans that keep the old order, when today went otherwise.
REPLAN_ROUNDS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """What a plan is made from.

    Attributes:
        orders: By id; those that are not to be made are left out of the plan.
        articles: What each design is called, by id.
        recipes: How each article is made.
        workshop: Hands, stations, limits.
        now: The local time.
        before: The plan until now, with what is begun in it.
    """

    orders: Mapping[str, CustomerOrder]
    articles: Mapping[str, str]
    recipes: tuple[Recipe, ...]
    workshop: Workshop
    now: datetime
    before: BatchPlan | None = None


def kinds_of(orders: Iterable[CustomerOrder], before: BatchPlan | None) -> list[tuple[str, str]]:
    """Return (design, colour) of all that is to be made, or is in the plan already."""
    kinds = [(one.design, one.colour) for one in orders if one.status in TO_BE_MADE]
    kinds += [(load.design, load.colour) for load in (before.loads if before else ())]
    return list(dict.fromkeys(kinds))


@uncollected()
def plan_batch(
    batch: Batch, *, seed: int = 0, budget: Budget, anew: bool = True, bounded: bool = True
) -> BatchPlan | None:
    """Return the plan of a batch; None when nothing is to be made.

    Args:
        batch: What it is made from.
        seed: For all that is random: the same seed and rounds give the same plan.
        budget: When to stop searching.
        anew: Whether what is not begun may lie anywhere; else as little as possible moves.
        bounded: Whether to learn how soon any plan can finish, where it is made anew.

    Raises:
        RequestError: When it cannot be planned; it says why and what would mend it.
    """
    laid, monday_before = laid_out(batch)
    if laid is None:
        return None
    goals = [Goal(name=name) for name in batch.workshop.goals]
    old = None if anew else _old_plan(laid, monday_before)

    def planned(laid: Laid) -> Answer:
        if old is None:
            return schedule(laid.problem, seed=seed, budget=budget, goals=goals, bounded=bounded)
        found = replan(laid.problem, old, seed=seed, budget=budget, goals=goals)
        return Answer(
            status="feasible" if found.plan else "unknown",
            plan=found.plan,
            bound=laid.problem.now,
            rounds=budget.rounds or 0,
        )

    answer = planned(laid)
    for eased in (_without_days, _without_ends):
        if answer.plan is None and (other := eased(laid)).problem != laid.problem:
            laid = other
            answer = planned(laid)
    if answer.plan is None:
        raise _no_plan(laid)
    return _told(batch, laid, answer, answer.plan, monday_before, seed)


def wanted_of(batch: Batch) -> tuple[Wanted, ...]:
    """Return what is still to be made, with due minutes; what is finished in the plan is not."""
    monday = monday_for(batch)
    return tuple(
        Wanted(
            order=id,
            design=one.design,
            colour=one.colour,
            count=one.quantity - one.made,
            due=None if one.due is None else ((one.due - monday).days + 1) * DAY,
        )
        for id, one in batch.orders.items()
        if one.status in TO_BE_MADE and one.quantity > one.made
    )


def monday_for(batch: Batch) -> date:
    """Return the Monday that the plan's minutes are counted from: before all that is begun."""
    days = [batch.now.date()]
    if batch.before is not None:
        first = [task.start for task in batch.before.tasks if task.state != "planned"]
        if first:
            shifted = batch.before.monday.toordinal() + min(first) // DAY
            days.append(date.fromordinal(shifted))
    return monday_of(min(days))


def laid_out(batch: Batch, *, share: bool = True) -> tuple[Laid | None, BatchPlan | None]:
    """Return the problem, and the plan until now counted from the same Monday.

    Args:
        batch: What it is made from.
        share: Whether the last loads of orders may be put together, where that helps.

    Raises:
        RequestError: When something cannot be done at all.
    """
    must_be_possible(batch.workshop, batch.recipes)
    monday = monday_for(batch)
    now = minute_of(batch.now, monday)
    before = None if batch.before is None else _pruned(shifted(batch.before, monday), now)
    wanted = wanted_of(batch)
    shop = batch.workshop
    recipes = {(one.design, one.colour): one for one in batch.recipes}

    measured = set() if before is None else _measured(before)

    def loads(share: bool) -> tuple[Load, ...]:
        unfinished = (
            [one for one in before.loads if not before.is_finished(one.number)] if (before) else []
        )
        return loads_for(
            wanted,
            lambda design, colour: load_size(recipes[design, colour].steps, shop.of(design)),
            lambda design: shop.of(design).proven or design in measured,
            unfinished,
            lambda load: before is not None and before.is_begun(load.number),
            share=share,
        )

    def laid(some: Sequence[Load]) -> Laid:
        done = [one for one in before.loads if before.is_finished(one.number)] if before else []
        every = sorted((*done, *some), key=lambda one: one.number)
        return lay_out(every, batch.recipes, wanted, shop, monday, now, before)

    together, apart = loads(share), loads(False)
    if not together and not (before and before.loads):
        return None, before
    one = laid(together)
    if together != apart:
        other = laid(apart)
        if _quick(other, shop) < _quick(one, shop):
            one = other
    return one, before


def shifted(plan: BatchPlan, monday: date) -> BatchPlan:
    """Return a plan counted from another Monday."""
    by = (plan.monday - monday).days * DAY
    if not by:
        return plan
    days = by // DAY
    return replace(
        plan,
        monday=monday,
        made=plan.made + by,
        finish=plan.finish + by,
        bound=plan.bound + by,
        off=tuple(day + days for day in plan.off),
        tasks=tuple(
            replace(
                task,
                times=tuple(
                    replace(one, start=one.start + by, end=one.end + by) for one in task.times
                ),
                ready=None if task.ready is None else task.ready + by,
                day=None if task.day is None else task.day + days,
            )
            for task in plan.tasks
        ),
        taken=tuple(replace(one, start=one.start + by, end=one.end + by) for one in plan.taken),
        orders=tuple(
            replace(one, ready=one.ready + by, due=None if one.due is None else one.due + by)
            for one in plan.orders
        ),
    )


def _measured(plan: BatchPlan) -> set[str]:
    """Return the designs whose first-off is measured in a plan."""
    return {
        plan.load(task.load).design
        for task in plan.tasks
        if task.step == MEASURED and task.state == "done"
    }


def _pruned(plan: BatchPlan, now: int) -> BatchPlan:
    """Return a plan without loads that were finished before today, and without days gone by."""
    today = now // DAY
    gone = {
        load.number
        for load in plan.loads
        if plan.is_finished(load.number)
        and max(one.end for one in plan.tasks if one.load == load.number) // DAY < today
    }
    return replace(
        plan,
        loads=tuple(one for one in plan.loads if one.number not in gone),
        tasks=tuple(
            replace(one, day=None) if one.day is not None and one.day < today else one
            for one in plan.tasks
            if one.load not in gone
        ),
    )


def _quick(laid: Laid, shop: Workshop) -> tuple[int, ...]:
    """Return what the first plan of a problem is worth: lateness, then the finish."""
    plan = schedule(laid.problem, seed=0, budget=Budget(rounds=1), bounded=False).plan
    if plan is None:
        return (1 << 60,)
    ends = plan.order_finish(laid.problem)
    late = sum(
        max(0, end - one.due)
        for one, end in zip(laid.problem.orders, ends, strict=True)
        if one.due is not None
    )
    return late, plan.finish


def _old_plan(laid: Laid, before: BatchPlan | None) -> Plan | None:
    if before is None:
        return None
    number = {key: i for i, key in enumerate(laid.keys)}
    names = [one.name for one in laid.problem.persons]
    spans = tuple(
        sorted(
            Span(
                start=laid.clock.passed(work.start),
                end=laid.clock.passed(work.start) + work.end - work.start,
                operation=number[task.key],
                person=names.index(work.person) if work.person in names else 0,
            )
            for task in before.tasks
            if task.key in number
            for work in task.times
        )
    )
    return Plan(spans=spans) if spans else None


def _no_plan(laid: Laid) -> RequestError:
    if laid.problem.fixed:
        return RequestError(
            "no plan was found",
            because="what is begun and what must follow in time leave no room for one",
            mend="Give another pair of hands or longer hours, or take a tick back",
        )
    longest = max(one.calendar.longest() for one in laid.problem.persons)
    return RequestError(
        "no plan was found",
        because=f"nobody works longer than {longest} min in one go, and steps that must follow one "
        "another in time do not fit into that",
        mend="Give a longer window on at least one day of the week, or make the loads smaller",
    )


def _without_days(laid: Laid) -> Laid:
    """Return the problem without the soonest minutes of wishes: none may break a limit."""
    orders = tuple(
        replace(one, release=0) if one.name in laid.keys else one for one in laid.problem.orders
    )
    return replace(laid, problem=replace(laid.problem, orders=orders))


def _without_ends(laid: Laid) -> Laid:
    """Return the problem without the largest waits behind what is begun: better late than never."""
    fixed = {span.operation for span in laid.problem.fixed}
    waits = tuple(
        replace(one, most=None) if one.before in fixed and one.after not in fixed else one
        for one in laid.problem.waits
    )
    note = "What should follow in time upon what is begun comes later: look at the leather first."
    return replace(laid, problem=replace(laid.problem, waits=waits), notes=(*laid.notes, note))


def _told(
    batch: Batch,
    laid: Laid,
    answer: Answer,
    plan: Plan,
    before: BatchPlan | None,
    seed: int,
) -> BatchPlan:
    """Return the engine's plan as the maker keeps it."""
    problem = laid.problem
    spans = plan.spans_of()
    shown = laid.clock.shown
    after: dict[int, list[str]] = {}
    for wait in problem.waits:
        after.setdefault(wait.after, []).append(laid.keys[wait.before])
    known = {task.key: task for task in before.tasks} if before else {}
    tasks = [
        task_of(
            laid,
            i,
            tuple(
                Work(
                    start=shown(one.start),
                    end=shown(one.start) + one.end - one.start,
                    person=problem.persons[one.person].name,
                )
                for one in spans[i]
            ),
            known.get(key),
            tuple(dict.fromkeys(after.get(i, ()))),
        )
        for i, key in enumerate(laid.keys)
    ]
    taken = sorted(
        (
            Taken(
                station=hold.station,
                load=laid.loads[hold.first].number,
                count=hold.amount,
                start=shown(spans[hold.first][0].start),
                end=shown(spans[hold.last][-1].end),
            )
            for hold in problem.holds
        ),
        key=lambda one: (one.station, one.start, one.load),
    )
    numbered = sorted(laid.loads, key=lambda one: one.number)
    return BatchPlan(
        monday=monday_for(batch),
        made=shown(problem.now),
        loads=tuple(next(same) for _, same in groupby(numbered, key=lambda one: one.number)),
        articles=tuple(batch.articles.items()),
        tasks=tuple(sorted(tasks, key=lambda one: (one.start, one.key))),
        taken=tuple(taken),
        stations=tuple((one.name, one.capacity) for one in problem.stations),
        orders=outcomes(batch, tasks, laid),
        status=answer.status,
        finish=shown(plan.finish),
        bound=shown(answer.bound),
        rounds=answer.rounds,
        seed=seed,
        notes=laid.notes,
        off=_days_off(laid, plan.finish + 7 * DAY),
        zone=laid.clock.zone,
    )


def _days_off(laid: Laid, until: int) -> tuple[int, ...]:
    """Return the days before a minute on which nobody works."""
    persons, shown = laid.problem.persons, laid.clock.shown
    worked = {shown(begin) // DAY for one in persons for begin, _ in one.calendar.until(until)}
    return tuple(day for day in range(until // DAY) if day not in worked)


def outcomes(batch: Batch, tasks: Sequence[Task], laid: Laid) -> tuple[Outcome, ...]:
    """Return when each order is ready: when all loads that it has a share in are."""
    ends: dict[int, int] = {}
    for task in tasks:
        ends[task.load] = max(ends.get(task.load, 0), task.end)
    loads = {load.number: load for load in laid.loads}
    ready: dict[str, int] = {}
    for number, end in ends.items():
        for share in loads[number].shares:
            ready[share.order] = max(ready.get(share.order, 0), end)
    return tuple(
        Outcome(
            order=row.order,
            customer=batch.orders[row.order].customer,
            article=batch.articles.get(row.design, row.design),
            count=row.count,
            ready=ready.get(row.order, 0),
            due=row.due,
        )
        for row in wanted_of(batch)
    )

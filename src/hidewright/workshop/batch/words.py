"""A batch's plan in words and as plain figures."""

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

from hidewright.planning.batch_plan import BatchPlan, Task
from hidewright.planning.calendar import DAY, clock
from hidewright.planning.hands import day_of, time_of
from hidewright.planning.schedule import Standing, Told
from hidewright.units.minutes import format_minutes
from hidewright.workshop.batch.otherwise import called_day, day_loads

#: Rounds of search between two words on how far it is.
TOLD_EACH = 10


def in_words(plan: BatchPlan) -> Iterator[str]:
    """Yield the lines of a plan: orders, loads, then the days with who does what when."""
    for one in plan.orders:
        late = f", {one.late_words}" if one.late_words else ""
        ready = called_day(plan, one.ready // DAY)
        yield f"{one.count} {one.article} for {one.customer}: ready on {ready}{late}"
    yield from plan.notes
    yield f"{plan.status}: {plan.rounds} rounds of search, seed {plan.seed}; looked over"
    yield ""
    for load in plan.loads:
        yield plan.called(load)
    minutes = {(day, person): spent for day, person, spent in day_loads(plan)}
    last = (-1, "")
    for work, task, number in sorted(
        plan.entries(), key=lambda one: (one[0].start // DAY, one[0].person, one[0].start)
    ):
        day = (work.start // DAY, work.person)
        if day != last:
            last, spent = day, minutes[day]
            yield ""
            yield f"{called_day(plan, day[0])}, {work.person}: {format_minutes(spent)}"
        rest = rest_words(plan, task, number)
        yield (
            f"  {clock(work.start)}-{clock(work.end)}  {part_words(task, number)}, "
            f"load {task.load}{rest and f'; then {rest}'}"
        )


def telling(say: Callable[[str], None], monday: date | None = None) -> Told:
    """Return what says how far a search is, each ten rounds; nothing in between, to be heard by.

    Args:
        say: Given the words, or none where they are no others.
        monday: That minutes are counted from; None where they are told as they are.
    """
    last = ""

    def told(standing: Standing) -> None:
        nonlocal last
        is_due = standing.proving or standing.rounds % TOLD_EACH == 1
        words = _so_far(standing, monday) if is_due else last
        say("" if words == last else words)
        last = words

    return told


def _so_far(standing: Standing, monday: date | None) -> str:
    doing = "proof that no plan is better" if standing.proving else "a better plan"
    if standing.finish is None:
        return f"{doing}, round {standing.rounds}"
    found = f"minute {standing.finish}"
    if monday is not None:
        day = day_of(standing.finish, monday)
        found = f"{day:%A} {day.day} {day:%B}"
    return f"{doing}, round {standing.rounds}: so far finished on {found}"


def part_words(task: Task, number: int) -> str:
    """Return what a part of a task is called."""
    if len(task.times) == 1:
        return task.words
    return f"{task.words} (part {number + 1} of {len(task.times)})"


def rest_words(plan: BatchPlan, task: Task, number: int) -> str:
    """Return what must pass after a part of a task, and until when; empty for nothing."""
    if task.ready is None or number < len(task.times) - 1:
        return ""
    day = day_of(task.ready, plan.monday)
    at = clock(task.ready)
    return f"{task.rest} until {at if task.ready // DAY == task.end // DAY else f'{day:%A} {at}'}"


def plain_plan(plan: BatchPlan) -> dict[str, Any]:
    """Return a plan as plain values with local times (ISO 8601), for machines."""

    def at(minute: int) -> str:
        return time_of(minute, plan.monday).isoformat(timespec="minutes")

    return {
        "made": at(plan.made),
        "finish": at(plan.finish),
        "bound": at(plan.bound),
        "status": plan.status,
        "rounds": plan.rounds,
        "seed": plan.seed,
        "checked": True,
        "notes": list(plan.notes),
        "orders": [
            {
                "order": one.order,
                "customer": one.customer,
                "article": one.article,
                "count": one.count,
                "ready": at(one.ready),
                "due": None if one.due is None else at(one.due - 1)[:10],
                "late_days": one.late_days,
            }
            for one in plan.orders
        ],
        "loads": [
            {
                "load": one.number,
                "article": plan.article_of(one.design),
                "colour": one.colour,
                "count": one.count,
                "first_off": one.first_off,
                "orders": {share.order: share.count for share in one.shares},
            }
            for one in plan.loads
        ],
        "stations": dict(plan.stations),
        "taken": [
            {
                "station": one.station,
                "load": one.load,
                "count": one.count,
                "begin": at(one.start),
                "end": at(one.end),
            }
            for one in plan.taken
        ],
        "steps": [
            {
                "key": task.key,
                "load": task.load,
                "step": task.step,
                "what": task.words,
                "minutes": task.minutes,
                "state": task.state,
                "after": list(task.after),
                "then": task.rest,
                "ready": None if task.ready is None else at(task.ready),
                "times": [
                    {"begin": at(one.start), "end": at(one.end), "who": one.person}
                    for one in task.times
                ],
            }
            for task in plan.tasks
        ],
    }

"""Today went otherwise: ticks, a day asked for, and what a new plan changed, in words."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan, State, Task, Work
from hidewright.planning.calendar import DAY, Calendar, clock
from hidewright.planning.free_time import first_spans
from hidewright.planning.hands import WEEKDAYS, day_of
from hidewright.planning.workshop import Workshop

#: What is begun is brought to its end rather than left over a break, minutes.
OVERTIME = 15


def ticked(plan: BatchPlan, key: str, state: State, now: int, workshop: Workshop) -> BatchPlan:
    """Return the plan with a task begun, done, or not begun after all.

    What must come before what is begun is done, too; what comes after what is not begun is not
    begun either. Times that were planned and have passed are taken to be what really happened.

    Args:
        plan: As it was.
        key: Of the task.
        state: How far it is.
        now: Minute, counted from the plan's Monday.
        workshop: The hours of who does it.

    Raises:
        RequestError: When it is not in the plan.
    """
    task = plan.task(key)
    if task is None:
        raise RequestError(
            "this step is not in the plan any more", mend="Look at the new plan", where=key
        )
    by_key = {one.key: one for one in plan.tasks}
    changed: dict[str, Task] = {}
    if state == "planned":
        for other in (key, *_behind(plan, key)):
            changed[other] = replace(by_key[other], state="planned")
    else:
        for other in _before(by_key, key):
            if by_key[other].state != "done":
                changed[other] = _done(by_key[other], now)
        changed[key] = _done(task, now) if state == "done" else _started(plan, task, now, workshop)
    return replace(plan, tasks=tuple(changed.get(one.key, one) for one in plan.tasks))


def asked_for(plan: BatchPlan, key: str, day: int | None) -> BatchPlan:
    """Return the plan with the wish that a task be done on a day, from the plan's Monday.

    Raises:
        RequestError: When it is begun, or not in the plan.
    """
    task = plan.task(key)
    if task is None or task.state != "planned":
        raise RequestError(
            "this step is begun, or not in the plan any more", mend="Move one that is to come"
        )
    return replace(
        plan,
        tasks=tuple(replace(one, day=day) if one.key == key else one for one in plan.tasks),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What another plan changes.

    Attributes:
        sentences: For the maker.
        on_its_day: Whether the task that was asked for is on its day; None when none was.
    """

    sentences: tuple[str, ...]
    on_its_day: bool | None = None


def difference(before: BatchPlan, after: BatchPlan, moved: str = "") -> Difference:
    """Return what a new plan changes, both counted from the same Monday.

    Args:
        before: The plan until now.
        after: The new one.
        moved: Key of the task that the maker moved; empty for none.
    """
    old = {one.key: one for one in before.tasks}
    other_day = [
        one
        for one in after.tasks
        if one.key in old and one.key != moved and one.start // DAY != old[one.key].start // DAY
    ]
    told: list[str] = []
    task = after.task(moved) if moved else None
    on_its_day = None
    if task is not None and task.day is not None:
        on_its_day = all(work.start // DAY == task.day for work in task.times)
        if not on_its_day:
            told.append(_why_not(before, after, task))
    if other_day:
        steps = "1 other step is" if len(other_day) == 1 else f"{len(other_day)} other steps are"
        told.append(f"{steps} on another day.")
    then = {one.order: one for one in after.orders}
    for was in before.orders:
        now = then.get(was.order)
        if now is None or now.ready // DAY == was.ready // DAY:
            continue
        later = "later" if now.ready > was.ready else "sooner"
        late = f", {now.late_words}" if now.late_words else ""
        told.append(
            f"{now.count} {now.article} for {now.customer}: ready {later}, on "
            f"{called_day(after, now.ready // DAY)} instead of "
            f"{called_day(before, was.ready // DAY)}{late}."
        )
    return Difference(
        sentences=tuple(told) or ("Nothing moves to another day.",), on_its_day=on_its_day
    )


def called_day(plan: BatchPlan, day: int) -> str:
    """Return a day in words, such as ``Tuesday 1 December``."""
    found = day_of(day * DAY, plan.monday)
    return f"{WEEKDAYS[found.weekday()]} {found.day} {found:%B}"


def _why_not(before: BatchPlan, after: BatchPlan, task: Task) -> str:
    """Return why a task cannot be on the day that it is wanted on."""
    assert task.day is not None
    asked = called_day(after, task.day)
    said = f"{task.words} cannot be done on {asked}"
    by_key = {one.key: one for one in after.tasks}
    waits = [by_key[key] for key in task.after if key in by_key]
    last = max(waits, key=lambda one: one.ready or one.end, default=None)
    ready = 0 if last is None else last.ready or last.end
    if last is not None and ready > (task.day + 1) * DAY - 1:
        what = f"{last.rest} after {last.step}" if last.rest else last.step
        done = f"{called_day(after, ready // DAY)} {clock(ready)}"
        return f"{said}: {what} is over on {done} at the soonest in any near plan."
    return (
        f"{said}: nobody works then, the stations are taken, or what must follow upon it in time "
        f"would not. The soonest is {called_day(after, task.start // DAY)} {clock(task.start)}."
    )


def _before(tasks: dict[str, Task], key: str) -> tuple[str, ...]:
    """Return the keys of all that must come before a task."""
    found: dict[str, None] = {}
    todo = list(tasks[key].after)
    while todo:
        one = todo.pop()
        if one not in found and one in tasks:
            found[one] = None
            todo += tasks[one].after
    return tuple(found)


def _behind(plan: BatchPlan, key: str) -> tuple[str, ...]:
    after: dict[str, list[str]] = {}
    for task in plan.tasks:
        for one in task.after:
            after.setdefault(one, []).append(task.key)
    found: dict[str, None] = {}
    todo = list(after.get(key, ()))
    while todo:
        one = todo.pop()
        if one not in found:
            found[one] = None
            todo += after.get(one, ())
    return tuple(found)


def _done(task: Task, now: int) -> Task:
    """Return a task that is done: as planned if that has passed, else until now."""
    if task.end <= now:
        return replace(task, state="done")
    begin = min(task.start, max(0, now - task.minutes))
    times = [replace(one, end=min(one.end, now)) for one in task.times if one.start < now]
    if sum(one.end - one.start for one in times) < task.minutes:
        person = task.times[0].person
        begin = max(0, now - task.minutes)
        times = [Work(start=begin, end=begin + task.minutes, person=person)]
    return replace(task, state="done", times=tuple(times), day=None)


def _started(plan: BatchPlan, task: Task, now: int, workshop: Workshop) -> Task:
    """Return a task that is being done: as planned if that has begun, else from now on."""
    if task.start <= now < task.end:
        return replace(task, state="started")
    person = task.times[0].person
    hands = next((one for one in workshop.hands if one.name == person), workshop.hands[0])
    calendar: Calendar = hands.calendar(plan.monday, workshop.holidays)
    windows = calendar.until(now + 28 * DAY)
    shuts = next((end for begin, end in windows if begin <= now < end), now)
    found = [(now, now + task.minutes)]
    if found[0][1] > shuts + OVERTIME and shuts > now:
        found = first_spans(windows, 0, [], now, task.minutes, 1, False, True)
    times = tuple(Work(start=start, end=end, person=person) for start, end in found)
    return replace(task, state="started", times=times, day=None)


def day_loads(plan: BatchPlan) -> Iterable[tuple[int, str, int]]:
    """Yield (day, person, hands-on minutes), in order."""
    minutes: dict[tuple[int, str], int] = {}
    for work, _, _ in plan.entries():
        key = (work.start // DAY, work.person)
        minutes[key] = minutes.get(key, 0) + work.end - work.start
    for (day, person), spent in sorted(minutes.items()):
        yield day, person, spent


def newly_made(before: BatchPlan, after: BatchPlan) -> dict[str, int]:
    """Return how many articles more of each order are made, by its id; below 0 for fewer."""
    out: dict[str, int] = {}
    for load in after.loads:
        more = after.is_finished(load.number) - before.is_finished(load.number)
        for share in load.shares if more else ():
            out[share.order] = out.get(share.order, 0) + more * share.count
    return out


def overdue(plan: BatchPlan, now: int) -> tuple[Task, ...]:
    """Return tasks that should be done by a minute and are not, in order."""
    return tuple(task for task in plan.tasks if task.state != "done" and task.end <= now)

"""A plan as an iCalendar file: each time at the bench, and an alarm where a hands-off wait ends.

Times of a plan that knows its time zone are written as instants (UTC); else they are local and name
no zone: the calendar shows them by the clock on the wall.
"""

from datetime import UTC, datetime

from hidewright.planning.batch_plan import BatchPlan, Task
from hidewright.planning.hands import time_of
from hidewright.planning.wall_clock import zone_called

#: An alarm in the night wakes nobody who could do anything: it goes when work goes on.
DAY_BEGINS, DAY_ENDS = 7 * 60, 21 * 60


def plan_calendar(plan: BatchPlan) -> bytes:
    """Return the plan as an iCalendar file (RFC 5545); equal plans give equal bytes."""
    from icalendar import Alarm, Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//hidewright//batch//EN")
    calendar.add("version", "2.0")
    stamp = time_of(plan.made, plan.monday).replace(tzinfo=UTC)
    zone = zone_called(plan.zone)

    def when(minute: int) -> datetime:
        local = time_of(minute, plan.monday)
        return local if zone is None else local.replace(tzinfo=zone).astimezone(UTC)

    then: dict[str, int] = {}
    for task in plan.tasks:
        for key in task.after:
            then[key] = min(then.get(key, task.start), task.start)
    for work, task, number in plan.entries():
        event = Event()
        event.add("uid", f"{_uid(task.key)}-{number + 1}@hidewright")
        event.add("dtstamp", stamp)
        event.add("dtstart", when(work.start))
        event.add("dtend", when(work.end))
        event.add("summary", f"{task.words} ({work.person})")
        event.add("description", f"{plan.called(plan.load(task.load))}. {task.how}")
        if number == len(task.times) - 1 and task.ready is not None and task.state != "done":
            alarm = Alarm()
            alarm.add("action", "DISPLAY")
            alarm.add("description", f"{task.rest} is over ({task.words})")
            wait = when(_alarm(task, then)) - when(task.end)
            alarm.add("trigger", wait, parameters={"RELATED": "END"})
            event.add_component(alarm)
        calendar.add_component(event)
    data: bytes = calendar.to_ical()
    return data


def _alarm(task: Task, then: dict[str, int]) -> int:
    """Return the minute at which it is told that a rest is over."""
    assert task.ready is not None
    if DAY_BEGINS <= task.ready % 1440 <= DAY_ENDS:
        return task.ready
    return max(task.ready, then.get(task.key, task.ready))


def _uid(key: str) -> str:
    return "".join(one if one.isalnum() else "-" for one in key)

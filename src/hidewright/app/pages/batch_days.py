"""A plan as rows of days, for the page that shows them."""

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from hidewright.planning.batch_plan import BatchPlan, Task, Work
from hidewright.planning.calendar import DAY, clock
from hidewright.units.minutes import format_minutes
from hidewright.workshop.batch.otherwise import called_day
from hidewright.workshop.batch.words import part_words, rest_words

#: Days that are open when the page is: today, or the next with work, and the one behind it.
OPEN = 2
#: A step can be sent so far.
CHOICES = 28

Row = dict[str, Any]


def rows_of(plan: BatchPlan, now: int) -> list[Row]:
    """Return the days of a plan; those that have gone by only where something is not done."""
    today = now // DAY
    entries = sorted(
        plan.entries(), key=lambda one: (one[0].start // DAY, one[0].person, one[0].start)
    )
    several = len({work.person for work, _, _ in entries}) > 1
    out: list[Row] = []
    opened = 0
    for day, of_day in groupby(entries, key=lambda one: one[0].start // DAY):
        rows = list(of_day)
        gone = day < today
        if gone and all(task.state == "done" for _, task, _ in rows):
            continue
        opened += not gone
        out.append(
            {
                "day": day,
                "title": called_day(plan, day) + (", today" if day == today else ""),
                "told": _told(rows),
                "open": gone or opened <= OPEN,
                "gone": gone,
                "people": list(_people(plan, rows, several)),
            }
        )
    return out


def choices_of(plan: BatchPlan, now: int) -> list[Row]:
    """Return the days that a step can be sent to."""
    today = now // DAY
    return [{"day": day, "title": called_day(plan, day)} for day in range(today, today + CHOICES)]


def _told(rows: list[tuple[Work, Task, int]]) -> str:
    minutes = sum(work.end - work.start for work, _, _ in rows)
    done = sum(task.state == "done" for _, task, _ in rows)
    steps = "1 step" if len(rows) == 1 else f"{len(rows)} steps"
    return f"{steps}, {format_minutes(minutes)}" + (f", {done} done" if done else "")


def _people(plan: BatchPlan, rows: list[tuple[Work, Task, int]], several: bool) -> Iterator[Row]:
    for person, of_person in groupby(rows, key=lambda one: one[0].person):
        some = list(of_person)
        minutes = sum(work.end - work.start for work, _, _ in some)
        yield {
            "name": person,
            "title": f"{person}, {format_minutes(minutes)}" if several else "",
            "rows": [_row(plan, work, task, number) for work, task, number in some],
        }


def _row(plan: BatchPlan, work: Work, task: Task, number: int) -> Row:
    return {
        "key": task.key,
        "part": number,
        "from": clock(work.start),
        "to": clock(work.end),
        "words": part_words(task, number),
        "load": plan.called(plan.load(task.load)),
        "state": task.state,
        "then": rest_words(plan, task, number),
    }

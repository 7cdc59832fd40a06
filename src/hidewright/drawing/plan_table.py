"""A plan as a table for spreadsheets: a row for each time at the bench."""

import csv
import io

from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.hands import WEEKDAYS, time_of

COLUMNS = (
    "day",
    "weekday",
    "begin",
    "end",
    "minutes",
    "who",
    "what",
    "load",
    "article",
    "colour",
    "state",
    "then",
    "ready",
)


def plan_table(plan: BatchPlan) -> bytes:
    """Return the plan as CSV (RFC 4180), UTF-8 with a byte order mark for spreadsheets."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for work, task, number in plan.entries():
        begin, end = time_of(work.start, plan.monday), time_of(work.end, plan.monday)
        load = plan.load(task.load)
        ready = ""
        if task.ready is not None and number == len(task.times) - 1:
            ready = f"{time_of(task.ready, plan.monday):%Y-%m-%d %H:%M}"
        row = (
            f"{begin:%Y-%m-%d}",
            WEEKDAYS[begin.weekday()],
            f"{begin:%H:%M}",
            f"{end:%H:%M}",
            f"{work.end - work.start}",
            work.person,
            task.words,
            f"{load.number}",
            plan.article_of(load.design),
            load.colour,
            task.state,
            task.rest if ready else "",
            ready,
        )
        writer.writerow([_plain(one) for one in row])
    return out.getvalue().encode("utf-8-sig")


def _plain(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text

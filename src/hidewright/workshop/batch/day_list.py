"""What a day's plan asks of the hands, as the list that a phone shows at the bench."""

from datetime import date

from hidewright.costing.quote import day_in_words
from hidewright.drawing.bench_page import DayLine, day_page
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.calendar import DAY, clock


def day_list(plan: BatchPlan, day: date) -> tuple[DayLine, ...]:
    """Return what is to be done on a day, in order, but for what is done already."""
    number = (day - plan.monday).days
    return tuple(
        DayLine(
            start=clock(work.start),
            what=f"{task.words} ({plan.called(plan.load(task.load))})",
            minutes=work.end - work.start,
        )
        for work, task, _ in plan.entries()
        if work.start // DAY == number and task.state != "done"
    )


def day_list_page(plan: BatchPlan, day: date) -> bytes:
    """Return that list as a page."""
    return day_page("The workshop", day_in_words(day), day_list(plan, day))

"""What a day's plan asks of the hands, as the list that a phone shows at the bench."""

from datetime import date

from hidewright.costing.quote import day_in_words
from hidewright.drawing.bench_page import DayLine, day_page
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.calendar import DAY, clock
from hidewright.workshop.batch.words import part_words, rest_words


def day_list(plan: BatchPlan, day: date) -> tuple[DayLine, ...]:
    """Return what is to be done on a day, in order, but for what is done already."""
    number = (day - plan.monday).days
    entries = [one for one in plan.entries() if one[0].start // DAY == number]
    several = len({work.person for work, _, _ in entries}) > 1
    return tuple(
        DayLine(
            start=clock(work.start),
            what=f"{f'{work.person}: ' if several else ''}{part_words(task, part)} "
            f"({plan.called(plan.load(task.load))})",
            minutes=work.end - work.start,
            then=rest_words(plan, task, part),
        )
        for work, task, part in entries
        if task.state != "done"
    )


def day_list_page(plan: BatchPlan, day: date) -> bytes:
    """Return that list as a page."""
    return day_page("The workshop", day_in_words(day), day_list(plan, day))

"""The days of a plan on paper: who does what when, with boxes to tick; when orders are ready."""

from collections.abc import Iterator
from itertools import groupby

from hidewright.drawing.blocks import Block, Margins, draw_blocks
from hidewright.drawing.build_sheet import paper_size
from hidewright.drawing.paper_text import LEADING, paragraph
from hidewright.drawing.pdf_page import Book, Page
from hidewright.drawing.tiles import Paper
from hidewright.planning.batch_plan import BatchPlan, Task, Work
from hidewright.planning.calendar import DAY, clock
from hidewright.planning.hands import WEEKDAYS, day_of
from hidewright.units.minutes import format_minutes

SIDE_MM, TOP_MM, BOTTOM_MM = 18.0, 18.0, 20.0
_TITLE, _HEADING, _WORDS, _SMALL = 4.2, 2.9, 2.2, 1.9
_PAD_MM = 1.3
_GREY = 0.55
#: From the left: box, begin and end, what, load; share of the width but for the first two.
_BOX_MM, _TIME_MM = 6.0, 24.0
_WHAT, _LOAD = 0.62, 0.38


def day_list(plan: BatchPlan, paper: Paper) -> bytes:
    """Return the days as PDF; no row is broken, and each page has its number.

    Raises:
        RequestError: When the paper is not known.
    """
    size = paper_size(paper)
    book = Book("Day list")
    width = size[0] - 2 * SIDE_MM
    made = f"{day_of(plan.made, plan.monday)} {clock(plan.made)}"
    draw_blocks(
        book,
        (*_orders(plan, width), *_days(plan, width)),
        size,
        Margins(side=SIDE_MM, top=TOP_MM, bottom=BOTTOM_MM),
        lambda page: f"Day list · planned on {made} · {page}",
        _SMALL,
    )
    return book.to_bytes()


def _orders(plan: BatchPlan, width: float) -> Iterator[Block]:
    yield _line("What is done on which day", width, _TITLE, after=2.0, keep=True)
    for note in plan.notes:
        yield _line(note, width, _WORDS, after=1.0)
    for one in plan.orders:
        ready = day_of(one.ready, plan.monday)
        due = "" if one.due is None else f", wanted by {day_of(one.due - 1, plan.monday)}"
        late = f": {one.late_words}" if one.late_words else ""
        told = f"{one.count} {one.article} for {one.customer}: ready on {ready}{due}{late}"
        yield _line(told, width, _WORDS, after=0.8)


def _days(plan: BatchPlan, width: float) -> Iterator[Block]:
    entries = [one for one in plan.entries() if one[1].state != "done"]
    for (day, person), some in groupby(
        sorted(entries, key=lambda one: (one[0].start // DAY, one[0].person, one[0].start)),
        key=lambda one: (one[0].start // DAY, one[0].person),
    ):
        date = day_of(day * DAY, plan.monday)
        rows = list(some)
        minutes = sum(work.end - work.start for work, _, _ in rows)
        said = f"{WEEKDAYS[date.weekday()]} {date} · {person} · {format_minutes(minutes)}"
        heading = _line(said, width, _HEADING, before=5.0, after=1.5, keep=True)
        yield heading
        again = _line(f"{said}, continued", width, _HEADING, after=1.5)
        for work, task, number in rows:
            yield _row(plan, work, task, number, width, again)


def _line(
    words: str,
    width: float,
    capital: float,
    *,
    before: float = 0.0,
    after: float = 0.0,
    keep: bool = False,
) -> Block:
    text = paragraph(words, width, capital)

    def draw(page: Page, top: float) -> None:
        text.draw(page, SIDE_MM, top - before)

    return Block(height=before + text.height_mm + after, draw=draw, keep=keep)


def _row(plan: BatchPlan, work: Work, task: Task, number: int, width: float, again: Block) -> Block:
    room = width - _BOX_MM - _TIME_MM
    said = task.words
    if len(task.times) > 1:
        said += f" (part {number + 1} of {len(task.times)})"
    if task.ready is not None and number == len(task.times) - 1:
        day = day_of(task.ready, plan.monday)
        said += f". Then {task.rest} until {WEEKDAYS[day.weekday()]} {clock(task.ready)}"
    what = paragraph(said, _WHAT * room - _PAD_MM, _WORDS)
    load = paragraph(plan.called(plan.load(task.load)), _LOAD * room - _PAD_MM, _SMALL)
    height = max(what.height_mm, load.height_mm) + 2 * _PAD_MM

    def draw(page: Page, top: float) -> None:
        page.pen(0.2)
        side = LEADING * _WORDS - 1.0
        page.box((SIDE_MM, top - _PAD_MM - side, SIDE_MM + side, top - _PAD_MM))
        at = (SIDE_MM + _BOX_MM, top - _PAD_MM - _WORDS)
        page.words(f"{clock(work.start)}-{clock(work.end)}", at, capital_mm=_WORDS)
        left = SIDE_MM + _BOX_MM + _TIME_MM
        what.draw(page, left, top - _PAD_MM)
        load.draw(page, left + _WHAT * room, top - _PAD_MM)
        page.pen(0.1, grey=_GREY)
        page.line((SIDE_MM, top - height), (SIDE_MM + width, top - height))

    return Block(height=height, draw=draw, under=again)

"""Steps that were done, as rows of their own: a new plan forgets the loads that are finished."""

from hidewright.design.step_done import StepDone
from hidewright.planning.batch_plan import BatchPlan, Task
from hidewright.planning.hands import day_of
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer

DONE = Drawer(kind="step done", noun=StepDone)


def keep_done(book: Book, plan: BatchPlan) -> None:
    """Keep every step that a plan has as done, and drop those whose tick was taken back."""
    kept = DONE.rows(book)
    for task in plan.tasks:
        id = f"{day_of(task.end, plan.monday).isoformat()} {task.key}"
        if task.state == "done" and id not in kept:
            DONE.put(book, id, _done(plan, task))
        elif task.state != "done" and id in kept:
            DONE.drop(book, id)


def _done(plan: BatchPlan, task: Task) -> StepDone:
    load = plan.load(task.load)
    return StepDone(
        design=load.design,
        article=plan.article_of(load.design),
        colour=load.colour,
        load=load.number,
        count=load.count,
        orders=tuple(share.order for share in load.shares),
        step=task.step,
        words=task.words,
        day=day_of(task.end, plan.monday),
        minutes=task.minutes,
    )

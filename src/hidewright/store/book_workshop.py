"""The workshop's settings and its plan in the book: one row each."""

from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.workshop import Workshop
from hidewright.store.book import Book
from hidewright.store.book_drawers import Drawer

WORKSHOPS = Drawer(kind="workshop", noun=Workshop)
PLANS = Drawer(kind="plan", noun=BatchPlan)
#: There is one workshop, and it has one plan.
THE_ONE = "ours"


def workshop_of(book: Book) -> Workshop:
    """Return the workshop's settings; the usual ones for a book that has none."""
    return WORKSHOPS.rows(book).get(THE_ONE) or Workshop()


def keep_workshop(book: Book, workshop: Workshop) -> None:
    """Keep the workshop's settings."""
    WORKSHOPS.put(book, THE_ONE, workshop)


def plan_of(book: Book) -> BatchPlan | None:
    """Return the plan; None when none was made, or an older program's cannot be read."""
    try:
        return PLANS.rows(book).get(THE_ONE)
    except RequestError:
        return None


def keep_plan(book: Book, plan: BatchPlan | None) -> None:
    """Keep a plan in place of the one until now; None for no plan."""
    if plan is None:
        PLANS.drop(book, THE_ONE)
    else:
        PLANS.put(book, THE_ONE, plan)


def swap_plan(book: Book, known: BatchPlan | None, plan: BatchPlan | None) -> bool:
    """Keep a plan in place of one that is known; return whether that was still the one.

    Where it was not, something was ticked meanwhile, and nothing is changed.
    """
    if known is None or plan is None:
        if plan_of(book) != known:
            return False
        keep_plan(book, plan)
        return True
    try:
        PLANS.edit(book, THE_ONE, lambda row: _swapped(row, known, plan))
    except _OtherError:
        return False
    return True


class _OtherError(Exception):
    """The plan in the book is another one."""


def _swapped(row: BatchPlan, known: BatchPlan, plan: BatchPlan) -> BatchPlan:
    if row != known:
        raise _OtherError
    return plan

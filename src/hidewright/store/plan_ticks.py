"""Ticks on the plan in the book: with them, how many of each order are made."""

from collections.abc import Callable
from dataclasses import replace

from hidewright.design.customer_order import CustomerOrder
from hidewright.planning.batch_plan import BatchPlan
from hidewright.store.book import Book
from hidewright.store.book_done import keep_done
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_workshop import PLANS, THE_ONE


def keep_ticks(
    book: Book,
    tick: Callable[[BatchPlan], BatchPlan],
    made: Callable[[BatchPlan, BatchPlan], dict[str, int]],
) -> BatchPlan:
    """Change the plan in the book, keep what is done and count what is made; return the plan.

    Args:
        book: The workshop's.
        tick: Changes the plan.
        made: Returns how many more of each order are made between two plans.

    Raises:
        RequestError: When there is no plan, or the change refuses.
    """
    seen: list[BatchPlan] = []

    def change(plan: BatchPlan) -> BatchPlan:
        seen[:] = [plan]
        return tick(plan)

    plan = PLANS.edit(book, THE_ONE, change)
    keep_done(book, plan)
    begun = {
        share.order for load in plan.loads if plan.is_begun(load.number) for share in load.shares
    }
    more = made(seen[0], plan)
    for id, order in ORDERS.rows(book).items():
        if id in more or (id in begun and order.status == "agreed"):
            ORDERS.edit(book, id, lambda one, id=id: _counted(one, more.get(id, 0)))  # type: ignore[misc]
    return plan


def _counted(order: CustomerOrder, more: int) -> CustomerOrder:
    made = min(order.quantity, max(0, order.made + more))
    if order.status not in ("agreed", "in work", "ready"):
        return replace(order, made=made)
    return replace(order, made=made, status="ready" if made == order.quantity else "in work")

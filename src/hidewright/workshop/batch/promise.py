"""The earliest day that can be promised for a new order, before it is accepted."""

from dataclasses import dataclass, replace
from datetime import date

from hidewright.design.customer_order import CustomerOrder
from hidewright.errors import RequestError
from hidewright.planning.hands import day_of
from hidewright.planning.outlook import promise
from hidewright.planning.schedule import Budget
from hidewright.workshop.batch.week import Batch, laid_out, monday_for
from hidewright.workshop.uncollected import uncollected

#: Id of the order that is asked about.
NEW = "the new order"
#: Rounds of each of the searches; a handful of dates is tried.
USUAL = Budget(rounds=5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Promised:
    """When a new order can be ready.

    Attributes:
        day: The day on which its last article is.
        late: Customers whose orders are later than they were promised, with it or without it.
        in_time: Whether that is by the day that was asked for; None when none was.
        slow_day: The same when the work goes slowly; None where that was not asked.
    """

    day: date
    late: tuple[str, ...]
    in_time: bool | None
    slow_day: date | None = None

    @property
    def words(self) -> str:
        """Return it in words."""
        said = f"It can be ready on {self.day:%A} {self.day.day} {self.day:%B %Y}"
        if self.slow_day is not None and self.slow_day > self.day:
            said += f", likely by {self.slow_day:%A} {self.slow_day.day} {self.slow_day:%B}"
        if self.in_time is False:
            said += ", later than it is wanted"
        if self.late:
            return f"{said}. Late in that plan: {', '.join(self.late)}."
        return f"{said}; no other order would be late."


@uncollected()
def promised(
    batch: Batch, order: CustomerOrder, *, seed: int = 0, budget: Budget = USUAL
) -> Promised:
    """Return the earliest day for an order beside those that are agreed; nothing is changed.

    Args:
        batch: The agreed orders and the plan until now; its recipes hold the new order's too.
        order: The new one; its status and due day do not matter to the date.
        seed: Of the searches.
        budget: Of each search.

    Raises:
        RequestError: When it cannot be planned at all; it says why.
    """
    asked = replace(order, status="agreed", due=None, made=0)
    whole = replace(batch, orders={**batch.orders, NEW: asked})
    laid, _ = laid_out(whole, share=False)
    assert laid is not None  # there is at least the new order
    number = next(k for k, one in enumerate(laid.problem.orders) if one.name == NEW)
    found = promise(laid.problem, number, seed=seed, budget=budget)
    if found.finish is None:
        raise RequestError(
            "no day can be promised",
            because="what is begun and what must follow in time leave no room for a plan",
            mend="Plan the agreed orders first",
        )
    day = day_of(laid.clock.shown(found.finish), monday_for(whole))
    late = tuple(
        dict.fromkeys(batch.orders[one].customer for one in found.late if one in batch.orders)
    )
    return Promised(day=day, late=late, in_time=None if order.due is None else day <= order.due)

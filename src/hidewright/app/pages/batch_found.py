"""What the book holds about the batch, read off the event loop."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from hidewright.app.shop import Shop
from hidewright.design.customer_order import TO_BE_MADE, CustomerOrder
from hidewright.design.specification import Specification
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.known_steps import KnownSteps
from hidewright.planning.workshop import Workshop
from hidewright.store import book_designs
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_rates import rates_in
from hidewright.store.book_steps import keep_steps, known_steps
from hidewright.store.book_versions import specification_of
from hidewright.store.book_workshop import keep_workshop, plan_of, workshop_of
from hidewright.store.demo import demo_orders


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What the book holds about the batch.

    Attributes:
        orders: By id.
        names: Of all designs, by id.
        designs: Those that are to be made, by id.
        workshop: Hands, stations, limits.
        plan: None when none was made.
        laser_speed: Of the workshop's rates, mm/s.
    """

    orders: dict[str, CustomerOrder]
    names: dict[str, str]
    designs: dict[str, Specification[Any]]
    workshop: Workshop
    plan: BatchPlan | None
    laser_speed: float


class Reader:
    """Reads it; of each design the version that was read last is kept.

    Attributes:
        known: Steps that were worked out before; None until the book was read.
    """

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self.known: dict[str, KnownSteps] | None = None

    def read(self) -> Found:
        """Return what the book holds."""
        book = self._shop.book
        if self.known is None:
            self.known = known_steps(book)
        orders = ORDERS.rows(book)
        names = {row.id: row.name for row in book_designs.list_designs(book)}
        plan = plan_of(book)
        wanted = [one.design for one in orders.values() if one.status in TO_BE_MADE]
        wanted += [load.design for load in plan.loads] if plan else []
        designs: dict[str, Specification[Any]] = {}
        for id in dict.fromkeys(wanted):
            try:
                designs[id] = specification_of(book, id)
            except RequestError:
                continue  # told when the plan is asked for
        return Found(
            orders=orders,
            names=names,
            designs=designs,
            workshop=workshop_of(book),
            plan=plan,
            laser_speed=rates_in(book).rates.laser_speed,
        )

    def keep(self, worked_out: Mapping[str, KnownSteps]) -> None:
        """Keep steps that were worked out, in the book, too."""
        self.known = {**(self.known or {}), **worked_out}
        keep_steps(self._shop.book, worked_out)

    def take_the_demo(self, today: date) -> None:
        """Put the demo's orders and its workshop into the book.

        Raises:
            RequestError: When a design of the demo is not there.
        """
        book = self._shop.book
        ids = {row.name: row.id for row in book_designs.list_designs(book)}
        workshop, orders = demo_orders(ids, today)
        keep_workshop(book, workshop)
        for one in orders:
            ORDERS.put(book, str(uuid.uuid4()), one)

"""The orders on the page of the batch: what is wanted, by when, and whether it can be promised."""

import asyncio
import uuid
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from hidewright.app.parts import VALUE, Words, box, press
from hidewright.app.shop import Shop
from hidewright.design.customer_order import TO_BE_MADE, CustomerOrder, Status
from hidewright.errors import RequestError
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.calendar import DAY
from hidewright.planning.workshop import NATURAL
from hidewright.store.book_orders import ORDERS
from hidewright.workshop.batch.otherwise import called_day

#: Orders in these are still of some matter here.
OPEN = ("asked", "quoted", *TO_BE_MADE, "ready")


class OrdersPart:
    """Orders, and the form for a new one.

    Args:
        shop: The book.
        today: Returns the day.
        ask: Asks for the earliest day of an order; what comes of it is shown by ``promised``.
        changed: Called after an order was added, changed or called off.
    """

    def __init__(
        self,
        shop: Shop,
        today: Callable[[], date],
        ask: Callable[[CustomerOrder], None],
        changed: Callable[[], Any],
    ) -> None:
        self._shop, self._today, self._ask, self._changed = shop, today, ask, changed
        self._held: dict[str, str] = {}
        self._editing = ""
        self._promised: date | None = None
        self._designs: Mapping[str, str] = {}

    def build(self) -> None:
        """Build it in the current place, empty."""
        Words("h2", "Orders")
        self._list = box("ul", "batch-orders")
        with box("details", "batch-more") as self._form:
            Words("summary", "Add an order")
            self._fields = box("div", "panel-many")
            self._words = Words("p", "", "batch-promise", role="status")
            self._trouble = Words("p", "", "trouble", role="alert")
            with box("p", "actions"):
                press("When could it be ready?", self._when, "button")
                self._keep = press("Add it as agreed", self._add, "button main")
                press("Keep it as asked", partial(self._add, agreed=False), "button quiet")

    def show(
        self,
        orders: Mapping[str, CustomerOrder],
        designs: Mapping[str, str],
        plan: BatchPlan | None,
    ) -> None:
        """Show what is ordered.

        Args:
            orders: By id.
            designs: Names of what can be ordered, by id.
            plan: Which tells when each is ready.
        """
        ready = {one.order: one for one in plan.orders} if plan else {}
        self._list.clear()
        with self._list:
            for id, order in orders.items():
                if order.status in OPEN:
                    self._one(id, order, ready.get(id), plan)
            if not any(order.status in OPEN for order in orders.values()):
                Words("li", "No order stands open. Add one below; the plan is made from them.")
        if dict(designs) != dict(self._designs):
            self._designs = dict(designs)
            self._clean()

    def promised(self, words: str, day: date | None = None) -> None:
        """Tell when the order in the form could be ready; added, it is promised for that day."""
        self._words.text = words
        self._promised = day

    def _one(self, id: str, order: CustomerOrder, ready: Any, plan: BatchPlan | None) -> None:
        told = f"{order.quantity} {order.article}, {order.colour}"
        who = order.customer.splitlines()[0]
        with box("li", "batch-order", aria_label=f"{told}, for {who}"):
            Words("strong", told)
            due = f", wanted by {_day(order.due)}" if order.due else ""
            Words("span", f"for {who}{due}", "when")
            if ready is not None and plan is not None:
                late = f", {ready.late_words}" if ready.late_words else ""
                said = f"ready on {called_day(plan, ready.ready // DAY)}{late}"
                Words("span", said, "trouble" if ready.late_days else "batch-ready")
            Words("span", _state(order), "batch-state")
            with box("span", "card-actions"):
                if order.status in ("asked", "quoted"):
                    press(
                        "Agree",
                        partial(self._status, id, "agreed"),
                        "quiet",
                        aria_label=f"Agree: {told}, for {who}",
                    )
                press(
                    "Change",
                    partial(self._change, id, order),
                    "quiet",
                    aria_label=f"Change: {told}, for {who}",
                )
                press(
                    "Call off",
                    partial(self._status, id, "called off"),
                    "quiet",
                    aria_label=f"Call off: {told}, for {who}",
                )

    def _clean(self) -> None:
        self._editing = ""
        self._promised = None
        first = next(iter(self._designs), "")
        self._held = {
            "customer": "",
            "design": first,
            "quantity": "4",
            "colour": NATURAL,
            "due": "",
        }
        self._keep.text = "Add it as agreed"
        self._words.text = self._trouble.text = ""
        self._build_fields()

    def _build_fields(self) -> None:
        self._fields.clear()
        with self._fields:
            self._text("customer", "Customer")
            with box("div", "field"):
                Words("label", "Design", for_="batch-design")
                with box("select", id="batch-design") as control:
                    for id, name in self._designs.items():
                        more: dict[str, Any] = {}
                        if id == self._held["design"]:
                            more["selected"] = True
                        Words("option", name, value=id, **more)
                control.on("change", partial(self._typed, "design"), js_handler=VALUE)
            self._text("quantity", "How many", inputmode="numeric")
            self._text("colour", f"Colour ({NATURAL}: undyed)")
            self._text("due", "Wanted by", type="date")

    def _text(self, name: str, label: str, **more: Any) -> None:
        with box("div", "field"):
            Words("label", label, for_=f"batch-{name}")
            control = box(
                "input",
                id=f"batch-{name}",
                defaultValue=self._held[name],
                autocomplete="off",
                **{"type": "text", **more},
            )
        control.on("input", partial(self._typed, name), js_handler=VALUE)

    def _typed(self, name: str, event: Any) -> None:
        self._held[name] = str(event.args)
        self._words.text = ""
        self._promised = None

    def _order(self) -> CustomerOrder:
        """Return the order that is in the form.

        Raises:
            RequestError: When it is none.
        """
        held, today = self._held, self._today()
        if held["design"] not in self._designs:
            raise RequestError("there is no design", mend="Begin a design on the first page")
        if not held["quantity"].strip().isdecimal():
            raise RequestError(
                f"{held['quantity']!r} is no whole number", mend="Give how many, such as 12"
            )
        due = date.fromisoformat(held["due"]) if held["due"] else None
        if due is not None and due < today:
            raise RequestError(
                f"wanted by {_day(due)}",
                because="that is past",
                mend="Agree on a later day, or leave it empty to learn the earliest",
            )
        return CustomerOrder(
            customer=held["customer"].strip() or "for stock",
            design=held["design"],
            article=self._designs[held["design"]],
            quantity=int(held["quantity"]),
            colour=held["colour"].strip() or NATURAL,
            received=today,
            due=due,
        )

    def _when(self) -> None:
        try:
            order = self._order()
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        self._trouble.text = ""
        self._words.text = "Looking for the earliest day ..."
        self._ask(order)

    async def _add(self, *, agreed: bool = True) -> None:
        try:
            order = self._order()
            await asyncio.to_thread(self._kept, order, agreed)
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        self._clean()
        self._changed()

    def _kept(self, order: CustomerOrder, agreed: bool) -> None:
        book = self._shop.book
        if not self._editing:
            status: Status = "agreed" if agreed else "asked"
            new = replace(order, status=status, promised=self._promised)
            ORDERS.put(book, str(uuid.uuid4()), new)
            return

        def change(row: CustomerOrder) -> CustomerOrder:
            return replace(
                row,
                customer=order.customer,
                design=order.design,
                article=order.article,
                quantity=order.quantity,
                colour=order.colour,
                due=order.due,
                received=min(row.received, order.due or row.received),
                status="agreed" if agreed and row.status in ("asked", "quoted") else row.status,
            )

        ORDERS.edit(book, self._editing, change)

    def _change(self, id: str, order: CustomerOrder) -> None:
        self._clean()
        self._editing = id
        self._held = {
            "customer": order.customer,
            "design": order.design,
            "quantity": f"{order.quantity}",
            "colour": order.colour,
            "due": order.due.isoformat() if order.due else "",
        }
        self._keep.text = "Keep the change"
        self._build_fields()
        self._form.props["open"] = True
        self._form.update()

    async def _status(self, id: str, status: Any) -> None:
        try:
            await asyncio.to_thread(
                ORDERS.edit, self._shop.book, id, lambda one: replace(one, status=status)
            )
        except RequestError as refused:
            self._trouble.text = refused.sentence
            return
        self._changed()


def _state(order: CustomerOrder) -> str:
    if order.made:
        return f"{order.status}, {order.made} of {order.quantity} made"
    return order.status


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"

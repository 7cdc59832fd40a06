"""The ledger: what is promised, made, paid and owed, and each order's price, payment and status."""

import asyncio
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import partial
from html import escape
from typing import Any, get_args

from nicegui import ui

from hidewright.app.components.entries import chosen, entry
from hidewright.app.parts import MANY, Words, box, look_for, press
from hidewright.app.shop import Shop
from hidewright.catalogue.common_names import is_meant
from hidewright.costing.ledger import Totals, ledger_csv, owed_minor, sum_from, totals
from hidewright.costing.quote import day_in_words, quote_for
from hidewright.design.customer_order import CustomerOrder, Status
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError
from hidewright.store.book_orders import ORDERS
from hidewright.store.book_quotes import KeptQuote, give_quote, manner_in
from hidewright.store.book_rates import rates_in
from hidewright.workshop.money.tables import in_currency

#: Orders in these are over and shown only when asked for.
OVER: tuple[Status, ...] = ("paid", "called off")
SUM_FIELDS = (
    ("price_minor", "Price of one, with tax"),
    ("deposit_minor", "Deposit"),
    ("paid_minor", "Paid until now"),
)
NONE = "No order stands open. The Money stage of a design writes one down at its price."
Found = dict[str, CustomerOrder]


class Orders:
    """The panel of orders."""

    kinds = frozenset({ORDERS.kind})

    def __init__(self, shop: Shop) -> None:
        """Hold what the panel is built on."""
        self._shop = shop
        self.shown: Found | None = None
        self._owed: dict[str, Words] = {}
        self._all = False
        self._sought = ""

    def read(self) -> Found:
        """Return the orders in the book."""
        return ORDERS.rows(self._shop.book)

    def show(self, found: Found) -> None:
        """Show them in the current place."""
        self.shown = found
        with box("div", "panel-head"):
            self._totals = ui.html("", sanitize=False).classes("scrolls")
            self._totals.props["tabindex"] = "0"
            self._totals.props["role"] = "region"
            self._totals.props["aria-label"] = "Totals"
        with box("p", "actions"):
            press("Export as a table (CSV)", self._export, "button")
            self._more = press("", self._turn, "button quiet")
        with box("p", "search") as self._seeking:
            look_for("order-sought", self._look)
        self._list = box("div", "orders")
        self._show_totals()
        self._show_cards()

    def _turn(self) -> None:
        self._all = not self._all
        self._show_cards()

    def _look(self, sought: str) -> None:
        self._sought = sought
        self._show_cards()

    def _show_totals(self) -> None:
        self._totals.content = totals_table(totals((self.shown or {}).values()))

    def _show_cards(self) -> None:
        found = self.shown or {}
        shown = {
            id: order
            for id, order in found.items()
            if (self._all or order.status not in OVER)
            and is_meant(f"{order.article} {order.customer}", self._sought)
        }
        self._seeking.set_visibility(len(found) > MANY)
        over = len(found) - sum(o.status not in OVER for o in found.values())
        self._more.text = "Hide what is over" if self._all else f"Show what is over ({over})"
        self._more.set_visibility(bool(over))
        self._list.clear()
        self._owed = {}
        with self._list:
            for id, order in shown.items():
                self._card(id, order)
            if not shown:
                none = f"None shown is {self._sought}." if self._sought.strip() else NONE
                Words("p", none, "empty")

    def _card(self, id: str, order: CustomerOrder) -> None:
        who = order.customer.splitlines()[0]
        short = id[:8]
        with box("article", "card", aria_label=f"{order.article} for {who}"):
            Words("h2", f"{order.quantity} x {order.article}", "title")
            due = f", wanted by {day_in_words(order.due)}" if order.due else ""
            Words("p", f"{who}; asked on {day_in_words(order.received)}{due}", "when")
            Words("p", f"{order.made} of {order.quantity} made")
            for name, label in SUM_FIELDS:
                entry(
                    label,
                    f"{name}-{short}",
                    _written(order, name),
                    partial(self._keep_sum, id, name),
                    partial(self._changed, id),
                )
            chosen(
                "Status",
                f"status-{short}",
                order.status,
                get_args(Status),
                partial(self._keep_status, id),
                partial(self._changed, id),
            )
            self._owed[id] = Words("p", "", "owed")
            trouble = Words("p", "", "trouble", role="alert")
            with box("p", "card-actions"):
                for paper in ("A4", "Letter"):
                    press(
                        f"Write a quote, {paper}",
                        partial(self._quote, id, paper, trouble),
                        "quiet",
                        aria_label=f"Write a quote for {order.article} for {who} on {paper}",
                    )
        self._tell_owed(id)

    def _tell_owed(self, id: str) -> None:
        assert self.shown is not None
        order = self.shown[id]
        said = in_currency(order.currency)
        self._owed[id].text = (
            f"In all {said(order.total_minor)}, owed {said(owed_minor(order))}"
            if order.price_minor is not None
            else "No price is agreed yet."
        )

    def _changed(self, id: str) -> None:
        self._show_totals()
        self._tell_owed(id)
        self._shop.tell(ORDERS.kind)

    def _edit(self, id: str, change: Callable[[CustomerOrder], CustomerOrder]) -> CustomerOrder:
        order = ORDERS.edit(self._shop.book, id, change)
        assert self.shown is not None
        self.shown[id] = order
        return order

    def _keep_sum(self, id: str, name: str, text: str) -> str:
        def change(order: CustomerOrder) -> CustomerOrder:
            empty = None if name == "price_minor" else 0
            minor = sum_from(text, order.currency) if text.strip() else empty
            changed: dict[str, Any] = {name: minor}
            return replace(order, **changed)

        return _written(self._edit(id, change), name)

    def _keep_status(self, id: str, text: str) -> None:
        status: Status = next(one for one in get_args(Status) if one == text)
        self._edit(id, lambda order: replace(order, status=status))

    async def _quote(self, id: str, paper: Paper, trouble: Words) -> None:
        try:
            kept, data = await asyncio.to_thread(self._written_quote, id, paper)
        except RequestError as refused:
            trouble.text = refused.sentence
            return
        trouble.text = f"Quote {kept.quote.number} is written and kept under Quotes."
        trouble.classes(remove="trouble", add="when")
        self._shop.tell(ORDERS.kind, "quote")
        ui.download(data, f"quote {kept.quote.number}.pdf", "application/pdf")

    def _written_quote(self, id: str, paper: Paper) -> tuple[KeptQuote, bytes]:
        """Return the quote under its number and on paper; an order asked for is quoted by it."""
        from hidewright.drawing.quote import quote_pdf

        book = self._shop.book
        order, day = ORDERS.get(book, id), date.fromisoformat(self._shop.now()[:10])
        manner, rates = manner_in(book), rates_in(book).rates
        kept = give_quote(book, id, day, lambda n: quote_for(order, n, day, manner, rates))
        deposit = kept.quote.deposit_minor
        self._edit(
            id,
            lambda one: replace(
                one,
                deposit_minor=deposit,
                status="quoted" if one.status == "asked" else one.status,
            ),
        )
        return kept, quote_pdf(kept.quote, paper)

    def _export(self) -> None:
        ui.download(ledger_csv(self.shown or {}), "orders.csv", "text/csv")


def totals_table(rows: tuple[Totals, ...]) -> str:
    """Return the sums over promised orders as a table, one row a currency."""
    head = ("currency", "orders", "promised", "made", "paid", "owed")
    body = "".join(
        "<tr>"
        f'<th scope="row">{escape(row.currency)}</th><td>{row.orders}</td>'
        + "".join(
            f"<td>{escape(in_currency(row.currency)(minor).partition(' ')[0])}</td>"
            for minor in (row.promised_minor, row.made_minor, row.paid_minor, row.owed_minor)
        )
        + "</tr>"
        for row in rows
    )
    heads = "".join(f'<th scope="col">{words}</th>' for words in head)
    empty = '<tr><th scope="row" colspan="6">Nothing is promised yet.</th></tr>'
    return (
        '<table class="sums"><caption>Orders that are agreed or further</caption>'
        f"<thead><tr>{heads}</tr></thead><tbody>{body or empty}</tbody></table>"
    )


def _written(order: CustomerOrder, name: str) -> str:
    minor = getattr(order, name)
    return "" if minor is None else in_currency(order.currency)(minor)

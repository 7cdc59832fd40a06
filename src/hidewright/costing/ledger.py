"""The ledger: what was promised, made and paid, and what is still owed, to the cent."""

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from hidewright.design.customer_order import CustomerOrder, Status
from hidewright.errors import RequestError
from hidewright.units.money import decimals_of, format_money, parse_money

#: Orders in these are promised: made for their price, or made already.
PROMISED: tuple[Status, ...] = ("agreed", "in work", "ready", "delivered", "paid")
#: A cell that begins so could be taken for a formula by a program that opens tables.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
COLUMNS = (
    "order",
    "received",
    "due",
    "customer",
    "article",
    "colour",
    "quantity",
    "made",
    "status",
    "currency",
    "price",
    "total",
    "deposit",
    "paid",
    "owed",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Sums over promised orders in one currency, in the smallest coin.

    Attributes:
        currency: Three-letter code.
        orders: How many are promised.
        promised_minor: What they come to.
        made_minor: What is made of them already, at their prices.
        paid_minor: What is paid of them.
    """

    currency: str
    orders: int
    promised_minor: int
    made_minor: int
    paid_minor: int

    @property
    def owed_minor(self) -> int:
        """What is promised and not paid."""
        return self.promised_minor - self.paid_minor


def totals(orders: Iterable[CustomerOrder]) -> tuple[Totals, ...]:
    """Return the sums over promised orders, one row a currency: money is never exchanged."""
    by_currency: dict[str, list[CustomerOrder]] = {}
    for order in orders:
        if order.status in PROMISED:
            by_currency.setdefault(order.currency, []).append(order)
    return tuple(
        Totals(
            currency=currency,
            orders=len(some),
            promised_minor=sum(one.total_minor for one in some),
            made_minor=sum(one.made * (one.price_minor or 0) for one in some),
            paid_minor=sum(one.paid_minor for one in some),
        )
        for currency, some in sorted(by_currency.items())
    )


def owed_minor(order: CustomerOrder) -> int:
    """Return what an order still owes, below 0 when too much was paid: nothing until promised."""
    return order.total_minor - order.paid_minor if order.status in PROMISED else 0


def ledger_csv(orders: Mapping[str, CustomerOrder]) -> bytes:
    """Return orders as a table for any spreadsheet: UTF-8, commas, sums with decimal points."""
    sink = io.StringIO()
    table = csv.writer(sink)
    table.writerow(COLUMNS)
    for id, order in orders.items():
        sums = (
            order.price_minor,
            order.total_minor,
            order.deposit_minor,
            order.paid_minor,
            owed_minor(order),
        )
        table.writerow(
            (
                _plain(id),
                order.received.isoformat(),
                order.due.isoformat() if order.due else "",
                _plain(" ".join(order.customer.split())),
                _plain(order.article),
                _plain(order.colour),
                order.quantity,
                order.made,
                order.status,
                order.currency,
                *(_decimal(minor, order.currency) for minor in sums),
            )
        )
    return sink.getvalue().encode()


def _decimal(minor: int | None, currency: str) -> str:
    if minor is None:
        return ""
    places = decimals_of(currency)
    whole, rest = divmod(abs(minor), 10**places)
    return f"{'-' if minor < 0 else ''}{whole}" + (f".{rest:0{places}d}" if places else "")


def _plain(words: str) -> str:
    return f"'{words}" if words.startswith(_FORMULA) else words


def sum_from(text: str, currency: str) -> int:
    """Return a sum as it is typed, in the smallest coin; its currency may be left out.

    >>> sum_from("12.50", "EUR"), sum_from("12.50 EUR", "EUR")
    (1250, 1250)

    Raises:
        RequestError: When it is no sum, or in another currency.
    """
    written = text if any(letter.isalpha() for letter in text) else f"{text.strip()} {currency}"
    money = parse_money(written)
    if money.currency != currency:
        raise RequestError(
            f"{format_money(money)} for an order in {currency}",
            because="money is never exchanged here",
            mend=f"Give it in {currency}",
        )
    return money.minor

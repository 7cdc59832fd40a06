"""A quote: what is offered, for how much, until when, on which terms."""

from dataclasses import dataclass, fields
from datetime import date, timedelta
from fractions import Fraction

from hidewright.costing.asking import before_tax
from hidewright.costing.exact import exact, whole
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.customer_order import CustomerOrder
from hidewright.design.measure import check_limits, measure
from hidewright.errors import RequestError


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteItem:
    """One article offered.

    Attributes:
        what: In words.
        count: How many.
        net_minor: Price of one before tax, in the smallest coin.
        tax_minor: Tax on one.
    """

    what: str
    count: int
    net_minor: int
    tax_minor: int

    def __post_init__(self) -> None:
        if self.count < 1:
            raise RequestError(f"{self.count} of {self.what}", mend="Give 1 or more")

    @property
    def gross_minor(self) -> int:
        """Price of one with tax."""
        return self.net_minor + self.tax_minor

    @property
    def total_minor(self) -> int:
        """Price of all of them with tax."""
        return self.count * self.gross_minor


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """An offer to a buyer; every date is passed in as the maker writes dates.

    Attributes:
        number: Of the quote.
        day: On which it is written.
        valid_until: Last day on which it holds.
        lead_time: When it will be ready, in words.
        seller: Lines of name and address.
        buyer: Lines of name and address.
        items: What is offered.
        currency: Three-letter code.
        terms: The maker's own, one paragraph a line.
        deposit_minor: Paid with the order.
    """

    number: str
    day: str
    valid_until: str
    lead_time: str
    seller: tuple[str, ...]
    buyer: tuple[str, ...]
    items: tuple[QuoteItem, ...]
    currency: str
    terms: str = ""
    deposit_minor: int = 0

    def __post_init__(self) -> None:
        for field in fields(self):
            if not getattr(self, field.name) and field.name not in ("terms", "deposit_minor"):
                raise RequestError(
                    f"a quote without {field.name.replace('_', ' ')}",
                    mend="Fill it in",
                    where=f"quote.{field.name}",
                )
        if not 0 <= self.deposit_minor <= self.total_minor:
            raise RequestError(
                f"a deposit of {self.deposit_minor} on {self.total_minor}",
                because="it lies between nothing and the total",
                where="quote.deposit_minor",
            )

    @property
    def total_minor(self) -> int:
        """What the buyer pays: the sum of the items."""
        return sum(item.total_minor for item in self.items)

    @property
    def tax_minor(self) -> int:
        """Tax in that."""
        return sum(item.count * item.tax_minor for item in self.items)

    @property
    def net_minor(self) -> int:
        """The rest of it."""
        return self.total_minor - self.tax_minor


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteManner:
    """How the workshop writes its quotes; all of it is the maker's own.

    Attributes:
        seller: Name and address, a line each.
        terms: One paragraph a line.
        lead_time: When it will be ready, in words.
        valid_days: A quote holds so many days.
        deposit: Share of the total that is paid with the order.
    """

    seller: str = "Alder Row\n7 Alder Row, Northmere"
    terms: str = (
        "The deposit is paid with the order, the rest when it is ready.\n"
        "Leather is a grown material: grain and colour differ from piece to piece."
    )
    lead_time: str = "three weeks after the order"
    valid_days: int = measure("count", 30, "a quote holds so many days", low=1, high=3650)
    deposit: float = measure("ratio", 0.5, "share paid with the order", low=0.0, high=1.0)

    def __post_init__(self) -> None:
        check_limits(self, "quotes")


def quote_for(
    order: CustomerOrder, number: str, day: date, manner: QuoteManner, rates: WorkshopRates
) -> Quote:
    """Return the quote for an order with a price: number and day are the workshop's to give.

    Args:
        order: What is asked for, at its price with tax.
        number: Of the quote.
        day: On which it is written.
        manner: How the workshop writes quotes; its lead time holds where none was promised.
        rates: For the tax that the price holds.

    Raises:
        RequestError: When the order has no price yet, or the manner lacks something.
    """
    if order.price_minor is None:
        raise RequestError(
            f"no price for {order.article} of {order.customer}",
            because="a quote says what it costs",
            mend="Give the order a price: the Money stage of the design works one out",
            where="price",
        )
    net = before_tax(order.price_minor, rates)
    promised = f"ready by {day_in_words(order.promised)}" if order.promised else ""
    lead_time = promised or manner.lead_time
    colour = "" if order.colour == "natural" else f", {order.colour}"
    item = QuoteItem(
        what=f"{order.article}{colour}",
        count=order.quantity,
        net_minor=net,
        tax_minor=order.price_minor - net,
    )
    return Quote(
        number=number,
        day=day_in_words(day),
        valid_until=day_in_words(day + timedelta(days=manner.valid_days)),
        lead_time=lead_time,
        seller=tuple(manner.seller.splitlines()),
        buyer=tuple(order.customer.splitlines()),
        items=(item,),
        currency=order.currency,
        terms=manner.terms,
        deposit_minor=order.deposit_minor or deposit_of(item.total_minor, manner),
    )


def deposit_of(total_minor: int, manner: QuoteManner) -> int:
    """Return the deposit on a total, in whole coins."""
    return whole(Fraction(total_minor) * exact(manner.deposit))


def day_in_words(day: date) -> str:
    """Return a day as it is written on papers.

    >>> day_in_words(date(2026, 3, 1))
    '1 March 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

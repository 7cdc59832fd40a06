"""A quote: what is offered, for how much, until when, on which terms."""

from dataclasses import dataclass, fields

from hidewright.costing.asking import Asked
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


def quote_item(what: str, count: int, price: Asked) -> QuoteItem:
    """Return articles offered at a price."""
    return QuoteItem(what=what, count=count, net_minor=price.net_minor, tax_minor=price.tax_minor)

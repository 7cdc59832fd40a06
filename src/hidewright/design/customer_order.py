"""What a customer wants, by when, and how far it and its payment are."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from hidewright.errors import RequestError

#: From the first word to the last coin; a called-off order counts for nothing.
Status = Literal["asked", "quoted", "agreed", "in work", "ready", "delivered", "paid", "called off"]
#: Orders in these have a place in the week's plan.
TO_BE_MADE: tuple[Status, ...] = ("agreed", "in work")


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerOrder:
    """An order, as a row of the book.

    Attributes:
        customer: Who wants it.
        design: Id of the design in the book.
        article: What it is called, kept when the design goes.
        quantity: How many.
        colour: Of the dye; what the booth is set up for.
        received: Day on which it came in.
        due: Last day on which it should be ready; None for no matter when.
        promised: Day that the week's plan promised for it; None when it was not asked.
        status: How far it is.
        made: How many of them are ready.
        currency: Three-letter code of the sums.
        price_minor: Agreed price of one with tax, in the smallest coin; None until agreed.
        deposit_minor: Agreed to be paid with the order.
        paid_minor: Paid until now, the deposit with it.
        note: The maker's own words.
    """

    customer: str
    design: str
    article: str
    quantity: int
    colour: str = "natural"
    received: date
    due: date | None = None
    promised: date | None = None
    status: Status = "asked"
    made: int = 0
    currency: str = "EUR"
    price_minor: int | None = None
    deposit_minor: int = 0
    paid_minor: int = 0
    note: str = ""

    def __post_init__(self) -> None:
        if not self.customer.strip():
            raise RequestError("an order of nobody", mend="Write who wants it", where="customer")
        if not 1 <= self.quantity <= 100_000:
            raise RequestError(
                f"an order of {self.quantity}", mend="Give 1 to 100000", where="quantity"
            )
        if not 0 <= self.made <= self.quantity:
            raise RequestError(
                f"{self.made} of {self.quantity} made",
                mend=f"Give 0 to {self.quantity}",
                where="made",
            )
        if self.due is not None and self.due < self.received:
            raise RequestError(
                f"due on {self.due}, received on {self.received}",
                because="it would be late before it was asked for",
                mend="Give a later day",
                where="due",
            )
        for name in ("price_minor", "deposit_minor", "paid_minor"):
            if (getattr(self, name) or 0) < 0:
                raise RequestError("a sum below nothing", mend="Give 0 or more", where=name)

    @property
    def total_minor(self) -> int:
        """Price of all of them with tax; 0 until a price is agreed."""
        return self.quantity * (self.price_minor or 0)

"""What to ask for an article, and where the money goes."""

import math
from dataclasses import dataclass
from fractions import Fraction

from hidewright.costing.exact import exact, whole
from hidewright.costing.margin import markup_of, price_at_margin
from hidewright.costing.workshop_rates import WorkshopRates


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The price of one article in whole coins: cost, box, fee and profit are ``net``.

    Attributes:
        cost_minor: Of making it.
        box_minor: Of sending it, box and label.
        fee_minor: Taken by the market.
        profit_minor: Left.
        tax_minor: Passed on.
    """

    cost_minor: int
    box_minor: int
    fee_minor: int
    profit_minor: int
    tax_minor: int

    @property
    def net_minor(self) -> int:
        """Price before tax."""
        return self.cost_minor + self.box_minor + self.fee_minor + self.profit_minor

    @property
    def gross_minor(self) -> int:
        """Price with tax: what the buyer pays."""
        return self.net_minor + self.tax_minor

    @property
    def margin(self) -> Fraction:
        """Profit over the price before tax; 0 for a price of nothing."""
        return Fraction(self.profit_minor, self.net_minor) if self.net_minor else Fraction(0)

    @property
    def markup(self) -> Fraction | None:
        """Profit over all that is paid for the article; None when nothing is."""
        return markup_of(self.margin) if self.profit_minor != self.net_minor else None


def asked(cost_minor: int, rates: WorkshopRates) -> Asked:
    """Return the price that leaves the margin, rounded up to the next one with the wanted ending.

    Margin and fee are shares of the price before tax; the ending is that of the price with it.

    Args:
        cost_minor: Of making one.
        rates: Margin, fees, box, tax and ending.

    Raises:
        RequestError: When margin and fee leave nothing for the cost.
    """
    wanted = wanted_price(cost_minor, rates) * (1 + exact(rates.tax))
    gross = ending_in(wanted, rates.round_to.minor, rates.ending.minor)
    net = before_tax(gross, rates)
    fee = whole(net * exact(rates.sales_fee)) + rates.sales_fee_fixed.minor
    return Asked(
        cost_minor=cost_minor,
        box_minor=rates.box.minor,
        fee_minor=fee,
        profit_minor=net - cost_minor - rates.box.minor - fee,
        tax_minor=gross - net,
    )


def before_tax(gross_minor: int, rates: WorkshopRates) -> int:
    """Return what a price with tax is before it, in whole coins; the rest of it is tax."""
    return whole(gross_minor / (1 + exact(rates.tax)))


def wanted_price(cost_minor: int, rates: WorkshopRates) -> Fraction:
    """Return the price before tax that leaves the margin, to nothing rounded.

    Args:
        cost_minor: Of making one.
        rates: Margin, fees and box.
    """
    return price_at_margin(
        Fraction(cost_minor + rates.box.minor),
        exact(rates.margin),
        exact(rates.sales_fee),
        Fraction(rates.sales_fee_fixed.minor),
    )


def ending_in(price: Fraction, step: int, ending: int) -> int:
    """Return the least price not below one that is a whole number of steps and the ending.

    >>> ending_in(Fraction(1234), 100, 90), ending_in(Fraction(1290), 100, 90)
    (1290, 1290)
    """
    return math.ceil((price - ending) / step) * step + ending

"""Price from margin, which is a share of the price; markup is a share of the cost."""

from fractions import Fraction

from hidewright.errors import RequestError


def price_at_margin(
    cost: Fraction, margin: Fraction, fee: Fraction = Fraction(0), fixed_fee: Fraction = Fraction(0)
) -> Fraction:
    """Return the price, before tax, of which a share is left when cost and sales fee are paid.

    P = (C + fixed fee) / (1 - margin - fee), from P - fee P - fixed fee - C = margin P.

    >>> price_at_margin(Fraction(50), Fraction(1, 2))
    Fraction(100, 1)

    Raises:
        RequestError: When margin and fee together leave nothing of the price for the cost.
    """
    left = 1 - margin - fee
    if left <= 0:
        raise RequestError(
            f"a margin of {float(margin):.0%} with a sales fee of {float(fee):.0%}",
            because="together they take the whole price and leave nothing for the cost",
            mend="A margin is a share of the price: 30 % is a markup of 43 % on the cost",
            where="rates.margin",
        )
    return (cost + fixed_fee) / left


def markup_of(margin: Fraction) -> Fraction:
    """Return the markup on cost that a margin below 1 is, m / (1 - m).

    >>> markup_of(Fraction(1, 3))
    Fraction(1, 2)
    """
    return margin / (1 - margin)

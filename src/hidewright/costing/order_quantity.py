"""How many to make at a time when setting up costs money and finished goods lie about."""

import math
from fractions import Fraction


def order_quantity(wanted: Fraction, set_up: Fraction, holding: Fraction) -> float:
    """Return the number to make at a time that costs least over a year.

    sqrt(2 D S / H): setting up D / Q times and holding Q / 2 on average then cost the same
    (F. W. Harris, "How many parts to make at once", Factory 10 (1913) 135; from memory).

    Args:
        wanted: Wanted a year, D.
        set_up: Cost of one set-up, S.
        holding: Cost of holding one for a year, H, more than 0, in the same money.

    >>> order_quantity(Fraction(1000), Fraction(10), Fraction(1, 2))
    200.0
    """
    return math.sqrt(2 * wanted * set_up / holding)

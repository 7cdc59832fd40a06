"""Exact sums: no floats in money, and parts that add up to their whole to the cent."""

import math
from collections.abc import Sequence
from fractions import Fraction

#: Measured quantities count to a millionth of their unit: a square millimetre of a square metre.
_PARTS = 1_000_000


def exact(value: float | Fraction) -> Fraction:
    """Return a measured quantity as an exact number, rounded to a millionth.

    >>> exact(0.1)
    Fraction(1, 10)
    """
    return Fraction(round(value * _PARTS), _PARTS)


def whole(amount: Fraction) -> int:
    """Return an amount in whole cents, half a cent up.

    >>> whole(Fraction(5, 2)), whole(Fraction(-5, 2))
    (3, -2)
    """
    return math.floor(amount + Fraction(1, 2))


def allocated(amounts: Sequence[Fraction]) -> tuple[int, ...]:
    """Return amounts in whole cents that add up to their sum in whole cents.

    Each is its own amount rounded down or up: those with the largest remainders go up (the method
    of largest remainders), so none is off by a cent or more.

    >>> allocated([Fraction(1, 3)] * 3)
    (1, 0, 0)
    """
    down = [math.floor(amount) for amount in amounts]
    short = whole(sum(amounts, Fraction(0))) - sum(down)
    by_rest = sorted(range(len(down)), key=lambda i: down[i] - amounts[i])
    for i in by_rest[:short]:
        down[i] += 1
    return tuple(down)

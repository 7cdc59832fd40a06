"""How numbers are written by a maker: decimals, fractions, a unit behind; and how we refuse one."""

import math
import re
from collections.abc import Iterable
from fractions import Fraction
from typing import NoReturn

from hidewright.errors import RequestError

#: Nobody writes a longer measure; a longer text is not searched for one.
LONGEST_TEXT = 80
#: What examples of how to write something begin with.
ACCEPTED = "Accepted:"

_DECIMAL = r"[0-9]{1,15}(?:\.[0-9]{0,18})?|\.[0-9]{1,18}"
_FRACTION = r"(?:[0-9]{1,6}\s+)?[0-9]{1,6}/[0-9]{1,6}"
NUMBER = rf"[+-]?(?:{_FRACTION}|{_DECIMAL})"
#: ``2-1/2``, as makers in inches write two and a half. Nought and a fraction is no mixed number.
_DASHED = r"[+-]?[1-9][0-9]{0,5}-[0-9]{1,6}/[0-9]{1,6}"
_NUMBER_AND_UNIT = re.compile(
    rf"\s*(?P<number>{_DASHED}|{NUMBER})(?P<unit>(?![0-9.,:/]).*)", re.DOTALL
)


def number_and_unit(text: str, *, wanted: str, accepted: Iterable[str]) -> tuple[Fraction, str]:
    """Split ``"3 1/8 in"`` into its exact number and its unit; the unit is empty if there is none.

    Args:
        text: What the maker wrote.
        wanted: What it should be, with its article, such as ``a length``.
        accepted: Ways to write it, listed when it is refused.

    Raises:
        RequestError: When it does not begin with a number a maker would write.
    """
    match = _NUMBER_AND_UNIT.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        comma = re.match(r"\s*[+-]?[0-9]+,[0-9]", text)
        because = "a comma is not read as a decimal point" if comma else "it is not a plain number"
        refuse(text, wanted=wanted, because=because, accepted=accepted)
    number = exact_number(re.sub(r"(?<=[0-9])-", " ", match["number"]))
    if number is None:
        refuse(
            text,
            wanted=wanted,
            because="its fraction is not one between nought and one",
            accepted=accepted,
        )
    return number, match["unit"].strip()


def exact_number(text: str) -> Fraction | None:
    """Return the exact value of a matched NUMBER; None for 1/0 or an improper 3 9/8."""
    sign = -1 if text.startswith("-") else 1
    *whole, last = text.lstrip("+-").split()
    if "/" not in last:
        return sign * Fraction(last)
    over, under = (int(part) for part in last.split("/"))
    if under == 0 or (whole and over >= under):
        return None
    return sign * (Fraction(over, under) + (int(whole[0]) if whole else 0))


def refuse(text: str, *, wanted: str, because: str, accepted: Iterable[str]) -> NoReturn:
    """Refuse a text as what was wanted, and list how to write it."""
    shown = text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]}..."
    raise RequestError(
        f"{shown!r} is not {wanted}",
        because=because,
        mend=f"{ACCEPTED} {', '.join(accepted)}",
    )


def hundredths_down(value: float) -> str:
    """Return a limit as one may set it: in hundredths, none above it.

    >>> hundredths_down(9.67859), hundredths_down(0.29)
    ('9.67', '0.29')
    """
    return f"{math.floor(value * 100 + 1e-6) / 100:g}"


def decimal_text(value: float, places: int) -> str:
    """Write a number with at most so many decimals and no idle zeros: 1.50 as ``1.5``."""
    text = f"{value:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text

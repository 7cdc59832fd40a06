"""Sums of money in whole cents (or whatever the currency's smallest coin is on paper)."""

import re
from dataclasses import dataclass

from hidewright.errors import RequestError
from hidewright.units.number import number_and_unit, refuse

MONEY_EXAMPLES = ("12.50 EUR", "9 GBP", "1200 JPY")
_WANTED = "a sum of money"
_CODE = re.compile(r"[A-Z]{3}")
#: Currencies whose sums have not two decimals (ISO 4217 minor units, from memory).
_DECIMALS = (
    ("BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF", 0),
    ("BHD IQD JOD KWD LYD OMR TND", 3),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Money:
    """A sum of money.

    Attributes:
        minor: Whole cents, pence or the like; negative for money owed the other way.
        currency: Three-letter code, such as ``EUR``.
    """

    minor: int
    currency: str

    def __post_init__(self) -> None:
        if not _CODE.fullmatch(self.currency):
            raise RequestError(
                f"{self.currency!r} is not a currency",
                mend="Give its three-letter code in capitals, such as EUR, USD or GBP",
            )


def decimals_of(currency: str) -> int:
    """Return how many decimals sums in a currency have: 2 for nearly all."""
    return next((places for codes, places in _DECIMALS if currency in codes.split()), 2)


def parse_money(text: str) -> Money:
    """Read a sum of 0 or more with the currency's three-letter code behind it.

    >>> parse_money("12.50 EUR")
    Money(minor=1250, currency='EUR')
    """
    number, code = number_and_unit(text, wanted=_WANTED, accepted=MONEY_EXAMPLES)
    if not _CODE.fullmatch(code):
        said = f"{code!r} is not a three-letter currency code in capitals"
        because = said if code else "it names no currency, and none is guessed"
        refuse(text, wanted=_WANTED, because=because, accepted=MONEY_EXAMPLES)
    if number < 0:
        refuse(text, wanted=_WANTED, because="it is negative", accepted=MONEY_EXAMPLES)
    minor = number * 10 ** decimals_of(code)
    if minor.denominator != 1:
        because = f"sums in {code} have {decimals_of(code)} decimals"
        refuse(text, wanted=_WANTED, because=because, accepted=MONEY_EXAMPLES)
    return Money(minor=int(minor), currency=code)


def format_money(money: Money) -> str:
    """Write a sum with all its decimals.

    >>> format_money(Money(minor=1250, currency="EUR"))
    '12.50 EUR'
    """
    places = decimals_of(money.currency)
    sign = "-" if money.minor < 0 else ""
    whole, rest = divmod(abs(money.minor), 10**places)
    decimals = f".{rest:0{places}d}" if places else ""
    return f"{sign}{whole}{decimals} {money.currency}"

"""What materials are bought for: a price for a pack, and how much is in it."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_be_positive
from hidewright.catalogue.rows import Words, near, noun_from_row
from hidewright.catalogue.shelf import OWN_SOURCE
from hidewright.catalogue.strict_yaml import rows_from_yaml
from hidewright.errors import RequestError
from hidewright.units.money import Money, parse_money

PriceKind = Literal["leather", "board", "thread", "fitting", "magnet", "consumable"]
Unit = Literal["m2", "dm2", "ft2", "sheet", "m", "g", "kg", "ml", "l", "piece"]
#: What a thing is used by.
BaseUnit = Literal["m2", "sheet", "m", "g", "ml", "piece"]
#: What a unit is worth in the one it is used by; a foot is 0.3048 m by definition.
WORTH: MappingProxyType[Unit, tuple[BaseUnit, Fraction]] = MappingProxyType(
    {
        "m2": ("m2", Fraction(1)),
        "dm2": ("m2", Fraction(1, 100)),
        "ft2": ("m2", Fraction(3048, 10_000) ** 2),
        "sheet": ("sheet", Fraction(1)),
        "m": ("m", Fraction(1)),
        "g": ("g", Fraction(1)),
        "kg": ("g", Fraction(1000)),
        "ml": ("ml", Fraction(1)),
        "l": ("ml", Fraction(1000)),
        "piece": ("piece", Fraction(1)),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What a pack of something costs, without tax that comes back.

    Attributes:
        name: The row of the catalogue it is for, or the consumable's name.
        kind: On which shelf that row stands.
        price: Of a pack, with its currency, such as ``9.50 EUR``.
        amount: How much is in a pack.
        unit: What that is counted in.
        source: Where the figures come from.
    """

    name: str
    kind: PriceKind
    price: str
    amount: float = 1.0
    unit: Unit
    source: str

    def __post_init__(self) -> None:
        must_be_named("price", self.name, self.source)
        must_be_positive(self.name, amount=self.amount)
        try:
            parse_money(self.price)
        except RequestError as refused:
            raise refused.at(f"price of {self.name}") from None

    @property
    def money(self) -> Money:
        """The price of a pack."""
        return parse_money(self.price)

    @property
    def used_by(self) -> BaseUnit:
        """What it is used by."""
        return WORTH[self.unit][0]

    @property
    def minor_each(self) -> Fraction:
        """Price of one of what it is used by, in the currency's smallest coin, exact."""
        amount = Fraction(str(self.amount)) * WORTH[self.unit][1]
        return self.money.minor / amount


def price_of(prices: Sequence[Price], kind: PriceKind, name: str) -> Price:
    """Return the price of a row of the catalogue.

    Raises:
        RequestError: When there is none; none is guessed.
    """
    for row in prices:
        if row.kind == kind and row.name == name:
            return row
    known = [row.name for row in prices if row.kind == kind]
    raise RequestError(
        f"no price for the {kind} {name!r}",
        because="none is guessed",
        mend=f"Give it one under prices in your rates file. {near(name, known)}",
    )


def own_price(row: Words, *, where: str = "") -> Price:
    """Return the maker's own price from a row, keyed by its fields.

    Raises:
        RequestError: When it is incomplete or impossible.
    """
    price = row.get("price")
    if isinstance(price, float):
        raise RequestError(
            f"a price of {price:g}",
            because="it names no currency, and none is guessed",
            mend=f"Write it as price: {price:.2f} EUR",
            where=where,
        )
    return noun_from_row(Price, {"source": OWN_SOURCE, **row}, where=where)


def with_prices(prices: Sequence[Price], own: Sequence[Price]) -> tuple[Price, ...]:
    """Return prices with the maker's own laid over them, by kind and name.

    Raises:
        RequestError: When two of the own ones are for one thing.
    """
    nouns: dict[tuple[PriceKind, str], Price] = {}
    for one in own:
        if (one.kind, one.name) in nouns:
            raise RequestError(
                f"two prices for the {one.kind} {one.name!r}", mend="Leave one of them out"
            )
        nouns[one.kind, one.name] = one
    kept = [nouns.pop((old.kind, old.name), old) for old in prices]
    return (*kept, *nouns.values())


@cache
def built_in_prices() -> tuple[Price, ...]:
    """Return the prices that come with the package: invented ones, to show how it goes."""
    file = resources.files("hidewright.catalogue") / "data" / "prices.yaml"
    rows = rows_from_yaml(file.read_text(encoding="utf-8"), where="prices.yaml")
    return tuple(noun_from_row(Price, row, where=place) for place, row in rows)

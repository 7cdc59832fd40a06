"""What a batch takes of each material, what of it lies in stock, and what is to be bought."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from hidewright.catalogue.prices import WORTH, BaseUnit, Price, PriceKind
from hidewright.costing.charges import good_share
from hidewright.costing.exact import exact
from hidewright.costing.minutes import times_done
from hidewright.costing.needs import Needs, Use
from hidewright.costing.workshop_rates import WorkshopRates

#: Shelves in the order one walks past them.
SHELVES: tuple[PriceKind, ...] = (
    "leather",
    "thread",
    "fitting",
    "magnet",
    "consumable",
    "board",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """One material of a batch.

    Attributes:
        kind: On which shelf it stands.
        name: What it is.
        unit: What it is used by.
        needed: For the batch, with waste and rejects.
        stock: What there is.
        packs: To buy, whole ones; None where it has no price and so no pack.
        pack: How much is in one, in ``unit``.
        cost_minor: Of those packs, in the smallest coin.
    """

    kind: PriceKind
    name: str
    unit: BaseUnit
    needed: float
    stock: float
    packs: int | None
    pack: float
    cost_minor: int


def shopping(
    needs: Needs,
    rates: WorkshopRates,
    prices: Sequence[Price],
    batch: int,
    stock: Mapping[str, float],
    yields: Mapping[str, float] | None = None,
) -> tuple[Wanted, ...]:
    """Return all that a batch takes, by shelf and name, tools that are made for it with it.

    Leather is bought with the waste of its hide: area as cut over the yield. What is begun is more
    than what is sold by the share of rejects. Of sheets for tools as many are wanted as they are
    laid on, though a strip is left over of each.

    Args:
        needs: What one article takes.
        rates: Of the workshop.
        prices: Of materials, by the pack.
        batch: How many good articles.
        stock: What there is, by name, in the unit each is used by.
        yields: Share of a hide in pieces as cut, by leather, where a layout is known.
    """
    amounts: dict[tuple[PriceKind, str], Fraction] = {}
    units: dict[tuple[PriceKind, str], BaseUnit] = {}
    for use, amount in _amounts(needs, rates, batch, yields or {}):
        key = use.kind, use.name
        amounts[key] = amounts.get(key, Fraction(0)) + amount
        units[key] = use.unit
    ordered = sorted(amounts, key=lambda key: (SHELVES.index(key[0]), key[1]))
    return tuple(
        _wanted(key, units[key], amounts[key], exact(stock.get(key[1], 0.0)), prices)
        for key in ordered
        if amounts[key]
    )


def _amounts(
    needs: Needs, rates: WorkshopRates, batch: int, yields: Mapping[str, float]
) -> Iterator[tuple[Use, Fraction]]:
    for material in needs.materials:
        use = material.use
        amount = exact(use.quantity) * times_done(batch, use.articles) / good_share(rates)
        if use.kind == "leather":
            amount /= exact(yields.get(use.name, rates.leather_yield))
        yield use, amount
    for tools in needs.tools:
        for use in tools.laid or tools.sheets:
            yield use, exact(use.quantity)


def _wanted(
    key: tuple[PriceKind, str],
    unit: BaseUnit,
    needed: Fraction,
    stock: Fraction,
    prices: Sequence[Price],
) -> Wanted:
    price = next((row for row in prices if (row.kind, row.name) == key), None)
    packs: int | None = None
    pack, cost = Fraction(0), 0
    if price is not None and price.used_by == unit:
        pack = Fraction(str(price.amount)) * WORTH[price.unit][1]
        packs = math.ceil(max(needed - stock, Fraction(0)) / pack)
        cost = packs * price.money.minor
    return Wanted(
        kind=key[0],
        name=key[1],
        unit=unit,
        needed=float(needed),
        stock=float(stock),
        packs=packs,
        pack=float(pack),
        cost_minor=cost,
    )

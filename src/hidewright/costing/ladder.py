"""How cost and price fall with the batch, and when tools and batch pay."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from hidewright.catalogue.prices import Price
from hidewright.costing.asking import Asked, asked
from hidewright.costing.charges import (
    AS_IT_IS,
    Shop,
    WhatIf,
    batch_costs,
    charges_of,
    minute_cost,
)
from hidewright.costing.cost import Cost
from hidewright.costing.exact import exact, whole
from hidewright.costing.minutes import minutes_of
from hidewright.costing.needs import Needs
from hidewright.costing.order_quantity import order_quantity
from hidewright.costing.workshop_rates import WorkshopRates

#: Batches of a ladder.
BATCHES = tuple(range(1, 121))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rung:
    """One batch size of a ladder.

    Attributes:
        batch: How many good articles.
        asked: Cost and price of one.
    """

    batch: int
    asked: Asked


def ladder(
    needs: Needs,
    rates: WorkshopRates,
    prices: Sequence[Price],
    yields: Mapping[str, float] | None = None,
    what_if: WhatIf = AS_IT_IS,
    batches: Sequence[int] = BATCHES,
) -> tuple[Rung, ...]:
    """Return cost and price of one for each batch size; neither ever rises with it."""
    shop = Shop(rates=rates, prices=prices, yields=yields or {}, what_if=what_if)
    costs = batch_costs(charges_of(needs, shop), rates, batches)
    return tuple(
        Rung(batch=n, asked=asked(whole(cost / n), rates))
        for n, cost in zip(batches, costs, strict=True)
    )


def break_even(cost: Cost, price: Asked) -> int | None:
    """Return how many must be sold until the tools are paid; None when they never are.

    Each sale gives what is left of the price when fee, box and all costs but the wear of tools are
    paid: their whole cost is paid first.
    """
    gives = price.profit_minor + cost.wear_minor
    return -(-cost.tooling_minor // gives) if gives > 0 else None


def economic_batch(needs: Needs, rates: WorkshopRates, cost: Cost) -> float | None:
    """Return the batch at which setting up and holding articles in stock together cost least.

    None when an article costs nothing to hold.

    Args:
        needs: What one article takes.
        rates: Of the workshop, with what is sold a year.
        cost: Of an article that lies in stock.
    """
    if not cost.each_minor:
        return None
    once = sum((one.set_up for one in minutes_of(needs.steps, rates, 1)), Fraction(0))
    set_up = once * (1 + exact(rates.breaks)) * minute_cost(Shop(rates=rates, prices=(), yields={}))
    return order_quantity(
        Fraction(rates.sold_a_year), set_up, cost.each_minor * exact(rates.holding)
    )

"""What an article costs and what to ask for it, worked out over the graph."""

from collections.abc import Callable
from typing import Any

from hidewright.catalogue.prices import Price
from hidewright.costing.charges import AS_IT_IS, WhatIf
from hidewright.costing.cost import Cost
from hidewright.costing.ladder import break_even, economic_batch
from hidewright.costing.minutes import minutes_of
from hidewright.costing.needs import Needs
from hidewright.costing.unpriced import UnpricedError, unpriced
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.specification import Specification
from hidewright.planning.steps_choice import BenchChoice
from hidewright.workshop import article
from hidewright.workshop.cost_chain import Yields
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.learned import NOTHING, LearnedShelf
from hidewright.workshop.learned_minutes import likely_price
from hidewright.workshop.money.priced import Priced


def priced(
    spec: Specification[Any],
    rates: WorkshopRates,
    prices: tuple[Price, ...],
    batch: int,
    cache: Cache,
    progress: Callable[[str], None] = lambda _: None,
    *,
    bench: BenchChoice | None = None,
    yields: Yields = (),
    what_if: WhatIf = AS_IT_IS,
    alone: bool = False,
    learned: LearnedShelf = NOTHING,
) -> Priced:
    """Return what an article costs and what to ask for it.

    Once its needs are known and kept, only the reckoning is done again, whatever changes in rates,
    prices, batch or what-if.

    Args:
        spec: The article.
        rates: Of the workshop.
        prices: Of materials.
        batch: How many good articles are made at a time.
        cache: Kept between calls by the caller.
        progress: Called with words before each step.
        bench: How the maker works; with new tools and the usual choices when left out.
        yields: Share of a hide in pieces as cut, by leather, where a layout is known.
        what_if: Factors to try.
        alone: Cost and price alone, without ladder, tornado and ranges: the quickest answer.
        learned: What the workshop knows of its hands, for the ranges.

    Raises:
        UnpricedError: When materials have no price.
        RequestError: When part of the article cannot be computed, or priced as it is.
    """
    inputs = {
        **inputs_of(spec, "A4", laser_speed=rates.laser_speed, bench=bench),
        "rates": rates,
        "prices": prices,
        "batch": batch,
        "yields": yields,
        "what if": what_if,
    }
    wanted = ("needs", "cost", "asked", *(() if alone else ("ladder", "tornado")))
    values = evaluate(article.NODES, inputs, wanted, cache, progress).values
    if not isinstance(values["needs"], Missing) and (missing := unpriced(values["needs"], prices)):
        raise UnpricedError(missing)
    for value in values.values():
        if isinstance(value, Missing):
            raise value.because
    needs: Needs = values["needs"]
    cost: Cost = values["cost"]
    return Priced(
        name=spec.brief.name,
        cost=cost,
        asked=values["asked"],
        steps=minutes_of(needs.steps, rates, batch, what_if.minutes),
        ladder=values.get("ladder", ()),
        tornado=values.get("tornado", ()),
        break_even=break_even(cost, values["asked"]),
        economic_batch=economic_batch(needs, rates, cost),
        likely=None
        if alone
        else likely_price(
            needs, rates, prices, batch, dict(yields), what_if, values["asked"], learned
        ),
    )

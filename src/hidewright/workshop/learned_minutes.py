"""How long the hands are likely to take: minutes and price of an article, minutes of a batch."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from hidewright.catalogue.prices import Price
from hidewright.costing.asking import Asked, wanted_price
from hidewright.costing.charges import WhatIf
from hidewright.costing.cost import cost_of
from hidewright.costing.minutes import minutes_of
from hidewright.costing.needs import Needs
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.interval import Interval
from hidewright.design.step import Step
from hidewright.learning.belief import Belief
from hidewright.learning.priors import minutes_name, work_prior
from hidewright.learning.quantities import EXPONENT
from hidewright.learning.ranges import Shifted, likely_ranges
from hidewright.units.minutes import format_minutes
from hidewright.workshop.learned import HANDS, NOTHING, LearnedShelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Likely:
    """What follows from how long the hands are likely to take.

    Attributes:
        minutes: At the bench for one that is begun.
        price: Of one, in the smallest coin: what leaves the margin, not rounded to an ending.
    """

    minutes: Interval
    price: Interval


def hands_belief(
    works: Iterable[str], rates: WorkshopRates, shelf: LearnedShelf = NOTHING
) -> Belief:
    """Return what is believed of kinds of work, each over the minutes that are reckoned with.

    The middle of every factor is 1 and that of the curve is the rates'; the doubt is what readings
    leave, that of the catalogue where there are none.

    Args:
        works: Kinds of work.
        rates: With the learning curve that is reckoned with.
        shelf: What the workshop has learned.
    """
    belief = work_prior(tuple(dict.fromkeys(works)), rates.learning)
    about = shelf.of("work", HANDS)
    if about is None:
        return belief
    known = about.result.after
    names = [one.name for one in belief.quantities]
    shared = [one.name for one in known.quantities if one.name in names]
    spread = belief.spread.copy()
    at, of = ([one.place(name) for name in shared] for one in (belief, known))
    spread[np.ix_(at, at)] = known.spread[np.ix_(of, of)]
    return replace(belief, spread=spread)


def likely_price(
    needs: Needs,
    rates: WorkshopRates,
    prices: Sequence[Price],
    batch: int,
    yields: Mapping[str, float],
    what_if: WhatIf,
    asked: Asked,
    shelf: LearnedShelf = NOTHING,
) -> Likely:
    """Return minutes and price of one with their likely ranges, by the slopes of the reckoning.

    Args:
        needs: What one article takes.
        rates: Of the workshop, with the learning curve that is reckoned with.
        prices: Of materials.
        batch: How many good articles.
        yields: Share of a hide in pieces as cut, by leather.
        what_if: Factors to try.
        asked: The price, from which the range is told.
        shelf: What the workshop has learned.
    """
    belief = hands_belief((one.work for one in needs.steps), rates, shelf)

    def figures(own: Needs, at: WorkshopRates) -> dict[str, float]:
        minutes = minutes_of(own.steps, at, batch, what_if.minutes)
        cost = cost_of(own, at, prices, batch, yields, what_if)
        return {
            "minutes": float(sum(one.total for one in minutes)) / batch,
            "price": float(wanted_price(cost.each_minor, at)),
        }

    ends = []
    for quantity, deviation in zip(belief.quantities, belief.deviations, strict=True):
        for step in (-float(deviation), float(deviation)):
            if quantity.name == EXPONENT.name:
                exponent = -math.log2(min(rates.learning, 0.999)) * math.exp(step)
                found = figures(needs, replace(rates, learning=max(0.5, 2.0**-exponent)))
            else:
                slower = slowed(needs.steps, {quantity.words: math.exp(step)})
                found = figures(replace(needs, steps=slower), rates)
            ends.append(Shifted(name=quantity.name, step=step, figures=found))
    told = likely_ranges(belief, figures(needs, rates), ends)
    price = told["price"]
    return Likely(minutes=told["minutes"], price=price.times(asked.gross_minor / price.likely))


def slowed(steps: Sequence[Step], by: Mapping[str, float]) -> tuple[Step, ...]:
    """Return steps whose minutes are multiplied by a factor for their kind of work; 1 without."""
    return tuple(
        replace(
            one,
            load_minutes=one.load_minutes * by.get(one.work, 1.0),
            thing_minutes=one.thing_minutes * by.get(one.work, 1.0),
        )
        for one in steps
    )


def hands_on_range(
    minutes: Mapping[str, float], rates: WorkshopRates, shelf: LearnedShelf = NOTHING
) -> Interval:
    """Return how long so many minutes by kind of work are likely to take together."""
    belief = hands_belief(minutes, rates, shelf)
    factors = {one.name: one.words for one in belief.quantities if one.name != EXPONENT.name}
    assert set(factors) == {minutes_name(work) for work in minutes}
    total = sum(minutes.values())
    ends = [
        Shifted(
            name=name,
            step=step,
            figures={"all": total + minutes[work] * (math.exp(step) - 1.0)},
        )
        for name, work in factors.items()
        for step in (-0.1, 0.1)
    ]
    return likely_ranges(belief, {"all": total}, ends)["all"]


def minutes_words(value: Interval) -> str:
    """Return a time as ``2 h 5 min, likely 1 h 40 min to 2 h 36 min``."""
    likely, low, high = (format_minutes(round(x)) for x in (value.likely, value.low, value.high))
    return f"{likely}, likely {low} to {high}"

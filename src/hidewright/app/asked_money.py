"""What the pages of money and papers ask the process that reckons; nothing heavy in here."""

from dataclasses import dataclass, field
from typing import Any

from hidewright.catalogue.prices import Price
from hidewright.costing.charges import AS_IT_IS, WhatIf
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.specification import Specification
from hidewright.planning.steps_choice import BenchChoice
from hidewright.units.written import METRIC, Written
from hidewright.workshop.learned import NOTHING, LearnedShelf

#: (leather, share of a hide in pieces as cut).
Yields = tuple[tuple[str, float], ...]
#: What answers; loaded by the process alone.
MONEY = "hidewright.app.answers_money:money"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchAsked:
    """The page that a phone shows at the bench.

    Attributes:
        spec: The article.
        key: Under which the phone keeps ticks and timers.
        day: Written at its head.
        laser_speed: Of the workshop's rates, mm/s.
        bench: How it is made at the bench.
        written: How it writes measures.
    """

    spec: Specification[Any]
    key: str
    day: str
    laser_speed: float
    bench: BenchChoice = field(default_factory=BenchChoice)
    written: Written = METRIC


@dataclass(frozen=True, slots=True, kw_only=True)
class MoneyAsked:
    """What an article costs and what to ask for it.

    Attributes:
        spec: The article.
        rates: Of the workshop.
        prices: Of materials.
        batch: How many good articles are made at a time.
        bench: How it is made at the bench.
        yields: Share of a hide in pieces as cut, by leather, where a layout is known.
        what_if: Factors to try.
        learned: What the workshop knows of its hands, for the likely ranges.
    """

    spec: Specification[Any]
    rates: WorkshopRates
    prices: tuple[Price, ...]
    batch: int
    bench: BenchChoice = field(default_factory=BenchChoice)
    yields: Yields = ()
    what_if: WhatIf = AS_IT_IS
    learned: LearnedShelf = NOTHING

"""What the page of the batch asks the process that plans; nothing heavy in here."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

from hidewright.design.customer_order import CustomerOrder
from hidewright.design.specification import Specification
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.known_steps import KnownSteps
from hidewright.planning.workshop import Workshop
from hidewright.workshop.learned import NOTHING, LearnedShelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What the page knows when it asks.

    Attributes:
        orders: By id.
        designs: Of what is ordered, by id.
        workshop: Hands, stations, limits.
        now: The local time.
        before: The plan until now.
        laser_speed: Of the workshop's rates, mm/s.
        known: Steps that were worked out before, by what they were made from.
        learned: What the workshop knows of its hands and leather, for the likely ranges.
    """

    orders: Mapping[str, CustomerOrder]
    designs: Mapping[str, Specification[Any]]
    workshop: Workshop
    now: datetime
    before: BatchPlan | None
    laser_speed: float
    known: Mapping[str, KnownSteps] = field(default_factory=dict)
    learned: LearnedShelf = NOTHING


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAsked:
    """A plan.

    Attributes:
        shown: What it is made from.
        how: ``anew``: what is not begun may lie anywhere; ``near``: as little as possible moves.
    """

    shown: Shown
    how: Literal["anew", "near"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PromiseAsked:
    """The earliest day for an order that is not accepted yet."""

    shown: Shown
    order: CustomerOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class ReliefsAsked:
    """What would bring a plan's last delivery nearer."""

    shown: Shown
    plan: BatchPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class StepsAsked:
    """The steps of what is ordered, so that they are known when a plan is asked for."""

    shown: Shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A plan; a better one may follow.

    Attributes:
        plan: None when nothing is to be made.
        last: Whether no better one follows.
    """

    plan: BatchPlan | None
    last: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Blanks:
    """What is pressed: (design, blanks) of each design that is ordered, and how it is made.

    Attributes:
        of: Of each design.
        steps: (design, steps) in one colour, before the maker's own changes.
        worked_out: Steps that were not known when it was asked, by what they were made from.
    """

    of: tuple[tuple[str, tuple[str, ...]], ...]
    steps: tuple[tuple[str, KnownSteps], ...] = ()
    worked_out: Mapping[str, KnownSteps] = field(default_factory=dict)


BatchAsked = PlanAsked | PromiseAsked | ReliefsAsked | StepsAsked

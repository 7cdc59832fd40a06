"""What was done at the bench: a step of a load, as a row of the book that outlives its plan."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from hidewright.errors import RequestError


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDone:
    """A step that was ticked.

    Attributes:
        design: Id of the design.
        article: What it is called, kept when the design goes.
        colour: Of the dye.
        load: Its number in the plan of that time.
        count: Articles in the load.
        orders: Ids of the orders that the load was for.
        step: Name of the step.
        words: What was done to how many.
        day: On which day of the plan.
        minutes: Hands-on, as planned.
    """

    design: str
    article: str
    colour: str
    load: int
    count: int
    orders: tuple[str, ...]
    step: str
    words: str
    day: date
    minutes: int

    def __post_init__(self) -> None:
        if self.count < 1 or self.minutes < 0:
            raise RequestError(f"{self.words}: {self.count} articles in {self.minutes} minutes")


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchDone:
    """What was done of a load until now.

    Attributes:
        article: What.
        colour: Of the dye.
        count: How many.
        steps: That are done.
        first: Day of the first of them.
        last: Day of the last.
        minutes: Hands-on, as planned.
    """

    article: str
    colour: str
    count: int
    steps: int
    first: date
    last: date
    minutes: int


def batches_done(steps: Iterable[StepDone]) -> tuple[BatchDone, ...]:
    """Return what was done load by load, the newest first."""
    loads: dict[tuple[object, ...], list[StepDone]] = {}
    for one in steps:
        loads.setdefault((one.design, one.colour, one.load, one.orders), []).append(one)
    done = (
        BatchDone(
            article=some[0].article,
            colour=some[0].colour,
            count=some[0].count,
            steps=len(some),
            first=min(one.day for one in some),
            last=max(one.day for one in some),
            minutes=sum(one.minutes for one in some),
        )
        for some in loads.values()
    )
    return tuple(sorted(done, key=lambda one: (one.last, one.first), reverse=True))

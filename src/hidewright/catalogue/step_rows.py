"""How long each kind of work at the bench takes, and what must pass after it."""

from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_not_be_negative
from hidewright.catalogue.rows import noun_from_row
from hidewright.catalogue.strict_yaml import rows_from_yaml
from hidewright.errors import RequestError

#: ``never`` is done in one go, ``breaks`` may pause over a break, ``any`` may be split.
Interrupt = Literal["never", "breaks", "any"]
#: What there are more or fewer of on a thing, each taking its own time.
WorkUnit = Literal[
    "none",
    "100 mm of edge",
    "100 cm2",
    "stitch",
    "hole",
    "edge",
    "cover",
    "minute of laser",
    "m of cut",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkTime:
    """One kind of work: hands-on minutes, and the rest that follows it.

    Attributes:
        name: The kind of work, such as ``sew``.
        load_minutes: Once for a load: laying out, clearing away.
        thing_minutes: For each thing of the load.
        unit_minutes: For each unit on a thing.
        unit: What the units are.
        interrupt: Whether it may pause.
        rest: What must pass before anything that follows, such as ``drying``; ``none`` for nothing.
        rest_least_minutes: At least so long.
        rest_most_minutes: At most so long; 0 for no end.
        source: Where the figures come from.
    """

    name: str
    load_minutes: float = 0.0
    thing_minutes: float = 0.0
    unit_minutes: float = 0.0
    unit: WorkUnit = "none"
    interrupt: Interrupt = "breaks"
    rest: str = "none"
    rest_least_minutes: float = 0.0
    rest_most_minutes: float = 0.0
    source: str

    def __post_init__(self) -> None:
        must_be_named("kind of work", self.name, self.source)
        must_not_be_negative(
            self.name,
            load_minutes=self.load_minutes,
            thing_minutes=self.thing_minutes,
            unit_minutes=self.unit_minutes,
            rest_least_minutes=self.rest_least_minutes,
            rest_most_minutes=self.rest_most_minutes,
        )
        if self.unit == "none" and self.unit_minutes:
            raise RequestError(
                f"{self.name}: {self.unit_minutes:g} minutes a unit",
                because="nothing is counted on it",
                mend="Give thing_minutes",
            )
        if 0.0 < self.rest_most_minutes < self.rest_least_minutes:
            raise RequestError(
                f"{self.name}: rests at least {self.rest_least_minutes:g} and at most "
                f"{self.rest_most_minutes:g} minutes",
                mend="Give a most that is longer, or 0 for no end",
            )

    def minutes(self, units: float) -> float:
        """Return the hands-on minutes for one thing with so many units on it."""
        return self.thing_minutes + self.unit_minutes * units


@cache
def built_in_times() -> tuple[WorkTime, ...]:
    """Return the times that come with the package."""
    file = resources.files("hidewright.catalogue") / "data" / "steps.yaml"
    rows = rows_from_yaml(file.read_text(encoding="utf-8"), where="steps.yaml")
    return tuple(noun_from_row(WorkTime, row, where=place) for place, row in rows)

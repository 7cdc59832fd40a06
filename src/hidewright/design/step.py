"""One step at the bench: what is done to an article, how long, on what, and what must pass after.

Passive time (soaking, drying, glue setting) is no step: it takes nobody's hands. It is the rest of
the step before it, with a least and a most.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_not_be_negative
from hidewright.catalogue.step_rows import Interrupt
from hidewright.errors import RequestError

PlaceKind = Literal["tooling", "leather", "blank", "piece", "fitting", "seam", "article"]
StationKind = Literal[
    "plug",
    "frame",
    "hold-down ring",
    "vise",
    "tub",
    "drying place",
    "clamps",
    "booth",
    "laser",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number that the step is done by: (label, value with its unit)."""

    label: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What is measured on the first-off at a step.

    Attributes:
        what: What is measured, such as ``closed height``.
        where: On which spot.
        tool: With what.
        expected: What it should be, with its unit; empty when only the finding counts.
        into: Where it is typed in.
    """

    what: str
    where: str
    tool: str
    expected: str = ""
    into: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What must pass from the end of a step to the start of whatever follows it.

    Attributes:
        what: Drying, soaking, open time.
        least_minutes: At least, real minutes, through the night too.
        most_minutes: At most; None for no end.
    """

    what: str
    least_minutes: int = 0
    most_minutes: int | None = None

    def __post_init__(self) -> None:
        must_not_be_negative(self.what, least_minutes=self.least_minutes)
        if self.most_minutes is not None and self.most_minutes < self.least_minutes:
            raise RequestError(
                f"{self.what}: at least {self.least_minutes} and at most "
                f"{self.most_minutes} minutes",
                because="nothing can be both",
                mend="Give a most that is not below the least",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """From the end of one step to the start of one that follows it: no step between.

    Attributes:
        before: Name of the step that ends.
        then: Name of the step that may start after it.
        rest: What must pass; None when the next may start at once.
    """

    before: str
    then: str
    rest: Rest | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A station that is taken when a step starts, by each thing of the load.

    Attributes:
        station: What kind it is.
        of: The blank that it is made for; empty for one that serves all.
        until: The step at whose end it is free again; the step itself for one that is used only
            while hands are on.
    """

    station: StationKind
    of: str = ""
    until: str

    @property
    def name(self) -> str:
        """What it is counted under, such as ``plug of pair of fronts``."""
        return f"{self.station} of {self.of}" if self.of else self.station


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step at the bench.

    A load is a number of *things* that go through it together: blanks, pieces, seams or articles,
    as ``place_kind`` says.

    Attributes:
        name: Unique in an article and stable, such as ``press front``; never a number.
        work: The kind of work, a row of the times.
        place_kind: What kind of thing it is done to.
        place: Name of that thing.
        how: What to do, in words.
        after: Names of the steps that must be done before it.
        load_minutes: Hands-on, once for a load.
        thing_minutes: Hands-on, for each thing of the load.
        interrupt: Whether it may pause.
        rest: What must pass before anything that follows.
        holds: Stations that it takes.
        load_limit: Things that go through it at once at most; None for as many as there are.
        limited_by: What limits the load: the station, or hands.
        articles: How many articles one thing serves, 2 for a blank with two fronts.
        setup: What must not change without a set-up: the colour in the booth, the board on the
            laser; empty for none.
        cautions: Keys of the cautions that belong to it.
        figures: The numbers it is done by.
        readings: What is measured here on the first-off.
        first_off: Done once for a new tool, leather lot or thickness, not for each article.
        source: Where its minutes come from.
    """

    name: str
    work: str
    place_kind: PlaceKind
    place: str
    how: str
    after: tuple[str, ...] = ()
    load_minutes: float = 0.0
    thing_minutes: float = 0.0
    interrupt: Interrupt = "breaks"
    rest: Rest | None = None
    holds: tuple[Hold, ...] = ()
    load_limit: int | None = None
    limited_by: str = "hands"
    articles: int = 1
    setup: str = ""
    cautions: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    readings: tuple[Reading, ...] = ()
    first_off: bool = False
    source: str

    def __post_init__(self) -> None:
        must_not_be_negative(
            self.name, load_minutes=self.load_minutes, thing_minutes=self.thing_minutes
        )
        if self.load_limit is not None and self.load_limit < 1:
            raise RequestError(f"{self.name}: a load of {self.load_limit}", mend="Give 1 or more")
        if self.articles < 1:
            raise RequestError(f"{self.name}: serves {self.articles} articles")

    def minutes(self, things: int) -> int:
        """Return the hands-on minutes of a load of so many things, whole and not below."""
        return math.ceil(self.load_minutes + things * self.thing_minutes - 1e-9)


def waits(steps: Sequence[Step]) -> tuple[Wait, ...]:
    """Return every pair of steps of which one comes after the other, with what must pass between.

    Args:
        steps: In order, see ``must_be_in_order``.
    """
    by_name = {step.name: step for step in steps}
    return tuple(
        Wait(before=name, then=step.name, rest=by_name[name].rest)
        for step in steps
        for name in step.after
    )


def must_be_in_order(steps: Sequence[Step]) -> None:
    """Refuse steps of one article that cannot be done from first to last.

    Raises:
        RequestError: When two have one name, one comes before what it must come after, or holds a
            station until a step that is not there or earlier.
    """
    place: dict[str, int] = {}
    for number, step in enumerate(steps):
        if step.name in place:
            raise RequestError(f"two steps are called {step.name!r}")
        place[step.name] = number
    for number, step in enumerate(steps):
        for before in step.after:
            if before not in place:
                raise RequestError(
                    f"{step.name} comes after {before!r}", because="there is no such step"
                )
            if place[before] >= number:
                raise RequestError(
                    f"{step.name} stands before {before}",
                    because="it can only be done after it",
                    mend=f"Move {step.name} behind {before}",
                )
        for hold in step.holds:
            if place.get(hold.until, -1) < number:
                raise RequestError(
                    f"{step.name} holds the {hold.name} until {hold.until!r}",
                    because="no later step is called so",
                )

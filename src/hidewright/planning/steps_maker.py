"""Making one step: its minutes from the times, its rest, and how lengths and times are written."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from hidewright.catalogue.step_rows import WorkTime
from hidewright.design.step import Figure, PlaceKind, Rest, Step
from hidewright.planning.step_times import times_with
from hidewright.planning.steps_choice import BenchChoice
from hidewright.units.length import format_length
from hidewright.units.minutes import format_minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Maker:
    """The maker's choices, and the times by kind of work."""

    choice: BenchChoice
    times: Mapping[str, WorkTime]

    def step(
        self,
        work: str,
        kind: PlaceKind,
        place: str,
        how: str,
        *,
        name: str = "",
        units: float = 0.0,
        after: Iterable[str] = (),
        rest: Rest | None = None,
        **more: Any,
    ) -> Step:
        """Return a step with the minutes of its kind of work.

        Args:
            work: The kind of work.
            kind: What it is done to.
            place: Name of that.
            how: What to do.
            name: Its name; the work and the place when empty.
            units: How many stitches, holes, 100 mm of edge ... are on one thing.
            after: Steps before it; each counts once.
            rest: Instead of the rest of its kind of work.
            more: Further fields of ``Step``.
        """
        time = self.times[work]
        return Step(
            name=name or f"{work} {place}",
            work=work,
            place_kind=kind,
            place=place,
            how=how,
            after=tuple(dict.fromkeys(after)),
            load_minutes=time.load_minutes,
            thing_minutes=time.minutes(units),
            interrupt=time.interrupt,
            rest=rest or self.rest(work),
            source=time.source,
            **more,
        )

    def rest(self, work: str) -> Rest | None:
        """Return the rest that follows a kind of work."""
        time = self.times[work]
        if not time.rest_least_minutes and not time.rest_most_minutes:
            return None
        return Rest(
            what=time.rest,
            least_minutes=math.ceil(time.rest_least_minutes),
            most_minutes=math.floor(time.rest_most_minutes) or None,
        )

    def is_own(self, work: str) -> bool:
        """Whether the maker has given the time of a kind of work."""
        return any(row.name == work for row in self.choice.times)


def maker_for(choice: BenchChoice) -> Maker:
    """Return who makes the steps: the choices with the times they lay over the built-in ones."""
    return Maker(choice=choice, times=times_with(choice.times))


def figures(*rows: tuple[str, str]) -> tuple[Figure, ...]:
    """Return figures from (label, value), those without a value left out."""
    return tuple(Figure(label=label, value=value) for label, value in rows if value)


def mm(value: float, decimals: int = 1) -> str:
    """Return a length in words, such as ``12.5 mm``."""
    return format_length(round(value, decimals))


def span_of_time(rest: Rest) -> str:
    """Return a rest in words, such as ``12 min to 30 min`` or ``at least 12 h``."""
    least = _time(rest.least_minutes)
    if rest.most_minutes is None:
        return f"at least {least}"
    most = _time(rest.most_minutes)
    return f"{least} to {most}" if rest.least_minutes else f"at most {most}"


def between(low: float, high: float, decimals: int) -> str:
    """Return a range in mm, one number where its ends are written alike."""
    ends = dict.fromkeys(f"{value:.{decimals}f}" for value in (low, high))
    return f"{' to '.join(ends)} mm"


def _time(minutes: int) -> str:
    """Return minutes in words; whole days from two on as days."""
    days, rest = divmod(minutes, 24 * 60)
    return f"{days} days" if days >= 2 and not rest else format_minutes(minutes)

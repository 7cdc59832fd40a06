"""Who does what, said to the solver: a person keeps to working hours, and does one thing at a time.

Persons who keep the same hours are a crew. Of a crew it is enough that no more work than it has
hands; who does what is found later. Where there are several, each piece of work has its crew.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from hidewright.planning.calendar import WorkAxis, joined
from hidewright.planning.problem import Problem

#: Start, minutes, end and whether it is there, None for surely, of a piece of work.
Part = tuple[Any, Any, Any, Any]


class Hands:
    """Variables and constraints of the hands of a problem.

    Args:
        problem: See ``Model``.
        model: Of the solver.
        latest: All is to be finished by then.

    Attributes:
        crews: Persons of each crew.
        windows_of: Working windows of each crew.
        windows: Windows in which someone works.
        axis: Of the working minutes of all.
    """

    def __init__(self, problem: Problem, model: Any, latest: int) -> None:
        self.model, self.latest = model, latest
        self.crews = problem.crews
        self.windows_of = [
            [w for w in problem.persons[crew[0]].calendar.until(latest) if w[0] < latest]
            for crew in self.crews
        ]
        self.windows = joined(window for windows in self.windows_of for window in windows)
        rows = zip(self.crews, self.windows_of, strict=True)
        self.axis = WorkAxis([windows for crew, windows in rows for _ in crew])
        self._work: list[Any] = []
        self._work_of: list[list[Any]] = [[] for _ in self.crews]
        self._done_by: dict[tuple[int, int], list[Any]] = {}

    def rooms(self, since: int, upto: int, least: int) -> list[list[int]]:
        """Return from when to when work of so many minutes in one window may start."""
        return [
            [max(begin, since), min(end, upto) - least]
            for windows in self.windows_of
            for begin, end in windows
            if max(begin, since) + least <= min(end, upto)
        ]

    def do(self, number: int, place: int, part: Part, interval: Any) -> list[Any]:
        """Let some crew do a part of an operation; return whether it is which, for several crews.

        Args:
            number: Of the operation.
            place: Of the part within it.
            part: The part.
            interval: Of it.
        """
        self._work.append(interval)
        if len(self.crews) == 1:
            return []
        start, length, end, there = part
        by = self._done_by[number, place] = [self.model.new_bool_var("") for _ in self.crews]
        self.model.add(sum(by) == (1 if there is None else there))
        for work, done in zip(self._work_of, by, strict=True):
            work.append(self.model.new_optional_interval_var(start, length, end, done, ""))
        return by

    def add(self) -> None:
        """Let each work in its hours, and do one thing at a time."""
        if not self._work:
            return
        if len(self.crews) > 1:
            for crew, windows, work in zip(self.crews, self.windows_of, self._work_of, strict=True):
                self._no_more_than(len(crew), WorkAxis([windows for _ in crew]), work)
        self._no_more_than(sum(map(len, self.crews)), self.axis, self._work)

    def _no_more_than(self, persons: int, axis: WorkAxis, work: Sequence[Any]) -> None:
        """Let no more be done at once than there are persons at work."""
        away, amounts = [], []
        ends = [time for time in axis.times[1:] if time < self.latest] + [self.latest]
        for begin, end, there in zip(axis.times, ends, axis.counts, strict=False):
            if begin < end and there < persons:
                away.append(self.model.new_fixed_size_interval_var(begin, end - begin, f"b{begin}"))
                amounts.append(persons - there)
        if persons == 1:
            self.model.add_no_overlap([*work, *away])
        else:
            self.model.add_cumulative([*work, *away], [1] * len(work) + amounts, persons)

    # -- to and from plans -------------------------------------------------------------------------

    def hint(self, number: int, place: int, person: int | None) -> None:
        """Tell the solver who does a part; None if it is not there."""
        for crew, done in zip(self.crews, self._done_by.get((number, place), ()), strict=False):
            self.model.add_hint(done, person in crew)

    def crew_of(self, number: int, place: int, value: Callable[[Any], int]) -> int:
        """Return the number of the crew that does a part."""
        by: Iterable[Any] = self._done_by.get((number, place), ())
        return next((k for k, done in enumerate(by) if value(done)), 0)

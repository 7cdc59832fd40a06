"""When a pair of hands works: windows of a week, days off, days that are different.

Time is whole minutes from the Monday 00:00 that day 0 begins with; local dates are turned into such
minutes, and back, where dates are known.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.errors import RequestError

DAY = 1440
Windows = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calendar:
    """Working windows, as minutes of the day, in order and apart from one another.

    Attributes:
        week: Windows of Monday to Sunday.
        special: (day, windows) of days that are not as the week says: holidays have none.
        shifts: (day, minutes) by which all windows lie later from that day on, where the clock on
            the wall is changed in its night.
    """

    week: tuple[Windows, Windows, Windows, Windows, Windows, Windows, Windows]
    special: tuple[tuple[int, Windows], ...] = ()
    shifts: tuple[tuple[int, int], ...] = ()

    def __post_init__(self) -> None:
        for windows in (*self.week, *(windows for _, windows in self.special)):
            _check(windows)
        if not any(self.week):
            raise RequestError(
                "a week without working hours", mend="Give at least one window, such as 9:00-12:30"
            )

    def longest(self) -> int:
        """Return the minutes of the longest window that comes again every week."""
        return max(
            (end - begin for begin, end in joined(self.until(15 * DAY, special=False))), default=0
        )

    def until(self, last: int, *, special: bool = True) -> list[tuple[int, int]]:
        """Return the windows that begin before a minute, in order, those that touch joined.

        >>> nine = ((540, 750),)
        >>> Calendar(week=(nine, nine, (), (), (), (), ())).until(2000)
        [(540, 750), (1980, 2190)]
        """
        different = dict(self.special) if special else {}
        days = range(max(0, -(-last // DAY)))
        windows = (
            (day * DAY + later + begin, day * DAY + later + end)
            for day in days
            for later in (self._later(day),)
            for begin, end in different.get(day, self.week[day % 7])
            if day * DAY + later + begin < last
        )
        return joined(windows)

    def _later(self, day: int) -> int:
        return next((later for first, later in reversed(self.shifts) if first <= day), 0)


def every_day(windows: Windows, weekdays: Sequence[int] = range(7)) -> Calendar:
    """Return a calendar with the same windows on some weekdays, Monday being 0."""
    days = tuple(windows if day in weekdays else () for day in range(7))
    return Calendar(week=(days[0], days[1], days[2], days[3], days[4], days[5], days[6]))


def joined(windows: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return windows in order of their begin, with those that touch or overlap made one."""
    out: list[tuple[int, int]] = []
    for begin, end in sorted(windows):
        if out and begin <= out[-1][1]:
            out[-1] = (out[-1][0], max(end, out[-1][1]))
        else:
            out.append((begin, end))
    return out


def clock(minute: int) -> str:
    """Return the time of day of a minute.

    >>> clock(1440 + 545)
    '09:05'
    """
    return f"{minute % DAY // 60:02}:{minute % 60:02}"


def _check(windows: Windows) -> None:
    before = 0
    for begin, end in windows:
        if not before <= begin < end <= DAY:
            raise RequestError(
                f"working hours from {clock(begin)} to {clock(end)}",
                because="windows lie within one day, in order, and do not overlap",
                mend="Give such as 09:00-12:30 and 13:30-17:00",
            )
        before = end


class WorkAxis:
    """The axis on which only working minutes count, the hands of several persons added up.

    Attributes:
        times: Minutes at which the number of persons at work changes, ascending, from 0.
        counts: How many are at work from each of them on.
        done: Working minutes before each of them.
    """

    def __init__(self, windows_of: Sequence[Sequence[tuple[int, int]]]) -> None:
        changes: dict[int, int] = {0: 0}
        for windows in windows_of:
            for begin, end in windows:
                changes[begin] = changes.get(begin, 0) + 1
                changes[end] = changes.get(end, 0) - 1
        self.times = sorted(changes)
        self.counts: list[int] = []
        self.done: list[int] = []
        count = done = before = 0
        for time in self.times:
            done += count * (time - before)
            count += changes[time]
            before = time
            self.counts.append(count)
            self.done.append(done)
        self._table: np.ndarray | None = None

    def worked(self, time: int) -> int:
        """Return the working minutes before a time.

        >>> WorkAxis([[(10, 20), (30, 40)], [(15, 40)]]).worked(35)
        35
        """
        at = bisect_right(self.times, time) - 1
        return self.done[at] + self.counts[at] * (time - self.times[at]) if at >= 0 else 0

    def most_from(self, time: int) -> int:
        """Return how many are at work at once at most from a time on."""
        return max(self.counts[bisect_right(self.times, time) - 1 :])

    def all_worked(self, times: Sequence[int] | np.ndarray) -> np.ndarray:
        """Return the same for each of many times, in their shape."""
        if self._table is None:
            self._table = np.array((self.times, self.counts, self.done), np.int64)
        changes, counts, done = self._table
        late = np.maximum(np.array(times, np.int64), 0)
        at = np.searchsorted(changes, late, "right") - 1
        worked: np.ndarray = done[at] + counts[at] * (late - changes[at])
        return worked

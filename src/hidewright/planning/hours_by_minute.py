"""Working hours minute by minute, for what is asked of them many thousand times."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from hidewright.planning.bench import NEVER
from hidewright.planning.calendar import joined


class HoursByMinute:
    """The hours of one person, or in which one of several works, up to a minute.

    Args:
        windows_of: Those of each person, in order and apart.
        last: Nothing behind it is of any use.

    Attributes:
        opens: Begin of each window in which someone works.
        worked: Working minutes before each minute.
        first_at: First time before which so many minutes are worked.
        last_at: Last such time.
    """

    def __init__(self, windows_of: Sequence[Sequence[tuple[int, int]]], last: int) -> None:
        self.last = last
        self.windows_of = [
            [(begin, min(end, last)) for begin, end in windows if begin < last]
            for windows in windows_of
        ]
        together = joined(window for windows in self.windows_of for window in windows)
        self.opens = [begin for begin, _ in together]
        self.shuts = [end for _, end in together]
        self.worked: list[int] = []
        done = 0
        for begin, end in zip(self.opens, self.shuts, strict=True):
            self.worked += [done] * (begin + 1 - len(self.worked))
            self.worked += range(done + 1, done + 1 + end - begin)
            done += end - begin
        self.worked += [done] * (last + 1 - len(self.worked))
        self.first_at, self.last_at = [0] * (done + 1), [0] * (done + 1)
        for time, before in enumerate(self.worked):
            self.last_at[before] = time
        for time in range(last, -1, -1):
            self.first_at[self.worked[time]] = time
        self._soonest: dict[tuple[int, int], int] = {}
        self._latest: dict[tuple[int, int], int] = {}

    def not_before(self, time: int, minutes: int) -> int:
        """Return the soonest start of work in one go; ``NEVER`` if it has none.

        >>> HoursByMinute([[(10, 20), (30, 60)]], 50).not_before(12, 9)
        30
        """
        found = self._soonest.get((time, minutes))
        if found is None:
            starts = (_not_before(windows, time, minutes) for windows in self.windows_of)
            found = self._soonest[time, minutes] = min(starts)
        return found

    def not_after(self, time: int, minutes: int) -> int:
        """Return the latest start of work in one go that ends by a time; -``NEVER`` if none.

        >>> HoursByMinute([[(10, 20), (30, 60)]], 50).not_after(38, 9)
        11
        """
        found = self._latest.get((time, minutes))
        if found is None:
            starts = (_not_after(windows, time, minutes) for windows in self.windows_of)
            found = self._latest[time, minutes] = max(starts)
        return found


def _not_before(windows: Sequence[tuple[int, int]], time: int, minutes: int) -> int:
    for begin, end in windows[bisect_right(windows, time, key=_end) :]:
        if max(time, begin) + minutes <= end:
            return max(time, begin)
    return NEVER


def _not_after(windows: Sequence[tuple[int, int]], time: int, minutes: int) -> int:
    for begin, end in reversed(windows[: bisect_left(windows, time, key=_begin)]):
        if min(time, end) - minutes >= begin:
            return min(time, end) - minutes
    return -NEVER


def _begin(window: tuple[int, int]) -> int:
    return window[0]


def _end(window: tuple[int, int]) -> int:
    return window[1]

"""Working hours minute by minute, for what is asked of them many thousand times."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from hidewright.planning.bench import NEVER


class HoursByMinute:
    """The hours of one person up to a minute.

    Args:
        windows: In order and apart.
        last: Nothing behind it is of any use.

    Attributes:
        opens: Begin of each window.
        worked: Working minutes before each minute.
        first_at: First time before which so many minutes are worked.
        last_at: Last such time.
    """

    def __init__(self, windows: Sequence[tuple[int, int]], last: int) -> None:
        self.last = last
        self.opens = [begin for begin, _ in windows if begin < last]
        self.shuts = [min(end, last) for begin, end in windows if begin < last]
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

        >>> HoursByMinute([(10, 20), (30, 60)], 50).not_before(12, 9)
        30
        """
        found = self._soonest.get((time, minutes))
        if found is None:
            found = NEVER
            for at in range(bisect_right(self.shuts, time), len(self.shuts)):
                start = max(time, self.opens[at])
                if start + minutes <= self.shuts[at]:
                    found = start
                    break
            self._soonest[time, minutes] = found
        return found

    def not_after(self, time: int, minutes: int) -> int:
        """Return the latest start of work in one go that ends by a time; -``NEVER`` if none.

        >>> HoursByMinute([(10, 20), (30, 60)], 50).not_after(38, 9)
        11
        """
        found = self._latest.get((time, minutes))
        if found is None:
            found = -NEVER
            for at in range(bisect_left(self.opens, time) - 1, -1, -1):
                start = min(time, self.shuts[at]) - minutes
                if start >= self.opens[at]:
                    found = start
                    break
            self._latest[time, minutes] = found
        return found

"""How soon work can be done, and how late it may begin, if someone is always free for it."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from hidewright.planning.bench import NEVER
from hidewright.planning.calendar import WorkAxis, joined
from hidewright.planning.problem import Kind


class Hours:
    """The hours in which at least one person works, seen as the hours of one who is never busy.

    Nobody can be sooner: this is what the bounds are made of.
    """

    def __init__(self, windows_of: Sequence[Sequence[tuple[int, int]]]) -> None:
        self.windows = joined(window for windows in windows_of for window in windows)
        self.axis = WorkAxis([self.windows])
        self.opens = [begin for begin, _ in self.windows]
        self.shuts = [end for _, end in self.windows]
        self.before = [self.axis.worked(begin) for begin in self.opens]

    def soonest(self, ready: int, minutes: int, kind: Kind) -> int:
        """Return the earliest end of work that can begin at a time; ``NEVER`` if it has none."""
        at = bisect_right(self.shuts, ready)
        if kind != "never":
            return self._after(self.axis.worked(ready) + minutes)
        while at < len(self.windows):
            begin = max(ready, self.opens[at])
            if begin + minutes <= self.shuts[at]:
                return begin + minutes
            at += 1
        return NEVER

    def latest(self, end: int, minutes: int, kind: Kind) -> int:
        """Return the latest start of work that must end at a time; -``NEVER`` if it has none."""
        at = bisect_left(self.opens, end) - 1
        if kind != "never":
            return self._before(self.axis.worked(end) - minutes)
        while at >= 0:
            stop = min(end, self.shuts[at])
            if stop - minutes >= self.opens[at]:
                return stop - minutes
            at -= 1
        return -NEVER

    def _after(self, worked: int) -> int:
        """Return the first time before which so many minutes are worked."""
        at = bisect_left(self.before, worked) - 1
        if at < 0:
            return self.opens[0] if self.opens else NEVER
        time = self.opens[at] + worked - self.before[at]
        return time if time <= self.shuts[at] else NEVER

    def _before(self, worked: int) -> int:
        """Return the last time before which no more than so many minutes are worked."""
        if worked < 0:
            return -NEVER
        at = bisect_right(self.before, worked) - 1
        return self.opens[at] + worked - self.before[at] if at >= 0 else -NEVER

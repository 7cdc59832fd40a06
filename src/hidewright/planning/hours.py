"""How soon work can be done if someone is always free for it."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

import numpy as np

from hidewright.planning.bench import NEVER
from hidewright.planning.calendar import WorkAxis, joined
from hidewright.planning.problem import Kind


class Hours:
    """The hours in which at least one person works, seen as the hours of one who is never busy.

    Nobody can be sooner: this is what the bounds are made of.

    Attributes:
        windows: (begin, end) of each.
        axis: Of the working minutes.
        table: ``(windows, 3) int64``: begin, end, minutes in the windows before it.
    """

    def __init__(self, windows_of: Sequence[Sequence[tuple[int, int]]]) -> None:
        self.windows = joined(window for windows in windows_of for window in windows)
        self.axis = WorkAxis([self.windows])
        self.opens = [begin for begin, _ in self.windows]
        self.shuts = [end for _, end in self.windows]
        self.before = [self.axis.worked(begin) for begin in self.opens]
        rows = list(zip(self.opens, self.shuts, self.before, strict=True))
        self.table = np.array(rows, np.int64).reshape(-1, 3)

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

    def _after(self, worked: int) -> int:
        """Return the first time before which so many minutes are worked."""
        at = bisect_left(self.before, worked) - 1
        if at < 0:
            return self.opens[0] if self.opens else NEVER
        time = self.opens[at] + worked - self.before[at]
        return time if time <= self.shuts[at] else NEVER

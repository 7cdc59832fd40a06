"""What the dispatcher is told, and what it gives: plans in plain lists."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from hidewright.planning.plan import Plan
from hidewright.planning.problem import Problem, Span

#: [start, end, operation, person]
Piece = list[int]


@dataclass(slots=True)
class Draft:
    """A plan in plain lists.

    Attributes:
        ends: Minute at which each operation ends.
        pieces: (start, end, operation, person) of all spans, not in order.
        flushes: How often a machine was set up anew: the booth for a colour, the laser for a board.
    """

    ends: list[int]
    pieces: list[Piece]
    flushes: int
    _order_finish: list[int] = field(default_factory=list, init=False, repr=False, compare=False)

    @property
    def finish(self) -> int:
        """Minute at which the last operation ends."""
        return max(self.ends, default=0)

    def starts(self) -> dict[int, int]:
        """Return the minute at which each operation begins."""
        out: dict[int, int] = {}
        for start, _, operation, _ in self.pieces:
            if start < out.get(operation, start + 1):
                out[operation] = start
        return out

    def order_finish(self, problem: Problem) -> list[int]:
        """Return the minute at which each order is finished; 0 for an order without work.

        Args:
            problem: That it is a plan of.
        """
        if not self._order_finish:
            self._order_finish = [0] * len(problem.orders)
            out = self._order_finish
            for operation, end in zip(problem.operations, self.ends, strict=True):
                if end > out[operation.order]:
                    out[operation.order] = end
        return self._order_finish

    def plan(self) -> Plan:
        """Return it as a plan."""
        return Plan(
            spans=tuple(
                Span(start=s, end=e, operation=i, person=p) for s, e, i, p in sorted(self.pieces)
            )
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What a dispatcher is to put first.

    Attributes:
        keys: For each operation; of what can start, the one with the smallest key does.
        stretch: For each operation, minutes by which a wait with an upper limit before it is
            longer than it must be, so that other work fits into it.
        flush_key: Added to the key of what needs a change of colour first.
        scrap_key: Added to the key of what leaves a scrap of time before a break that is of no use.
        release: For each operation, the minute before which it is not to start; empty: as soon as
            the problem lets it.
        days: For each operation in one go, the day on which it is to be; -1 for any day. Empty: all
            may be on any.
        elsewhere: Where more operations than so many are on another day, the run is given up.
    """

    keys: Sequence[float] | np.ndarray
    stretch: Sequence[int] | np.ndarray
    flush_key: float
    scrap_key: float
    release: Sequence[int] = ()
    days: Sequence[int] = ()
    elsewhere: float = math.inf

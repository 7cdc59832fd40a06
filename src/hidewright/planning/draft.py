"""What the dispatcher is told, and what it gives: plans in plain lists."""

from collections.abc import Sequence
from dataclasses import dataclass

from hidewright.planning.plan import Plan
from hidewright.planning.problem import Span

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
    """

    keys: Sequence[float]
    stretch: Sequence[int]
    flush_key: float
    scrap_key: float

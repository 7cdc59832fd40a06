"""Where in a person's free time a piece of work fits first."""

from bisect import bisect_right
from collections.abc import Sequence

from hidewright.planning.bench import NEVER
from hidewright.planning.problem import Kind

Span = tuple[int, int]


def first_spans(
    windows: Sequence[Span],
    at: int,
    busy: Sequence[Span],
    soonest: int,
    minutes: int,
    kind: Kind,
    shortest: int,
) -> list[Span]:
    """Return the earliest spans of some work; empty when there are none.

    Args:
        windows: Working windows in order.
        at: Number of the window that holds ``soonest``, or of the next one.
        busy: Times already taken, in order.
        soonest: Minute before which it cannot begin.
        minutes: How long it takes.
        kind: How it may be split; over breaks it pauses for breaks alone, not for what is taken.
        shortest: Minutes that a piece has at least, where any other work may split it; that its
            first and its last part have, where it pauses over breaks.

    >>> first_spans([(0, 60), (90, 150)], 0, [(20, 30)], 10, 45, "any", 10)
    [(10, 20), (30, 55), (90, 100)]
    >>> first_spans([(0, 60), (90, 150)], 0, [(20, 30)], 10, 45, "breaks", 10)
    [(30, 60), (90, 105)]
    >>> first_spans([(0, 60), (90, 150)], 0, [(20, 30)], 10, 35, "breaks", 10)
    [(35, 60), (90, 100)]
    """
    taken = bisect_right(busy, (soonest, NEVER))
    if taken and busy[taken - 1][1] > soonest:
        soonest = busy[taken - 1][1]
    out: list[Span] = []
    left, first = minutes, at
    while at < len(windows):
        begin, end = max(windows[at][0], soonest), windows[at][1]
        blocked = taken < len(busy) and busy[taken][0] < end
        stop = busy[taken][0] if blocked else end
        room = stop - begin
        if room >= left:
            if kind == "breaks" and out and left < shortest:  # less before, so that this is enough
                soonest, at = out[0][0] + shortest - left, first
                taken = bisect_right(busy, (soonest, NEVER))
                out, left = [], minutes
                continue
            out.append((begin, begin + left))
            return out
        if kind == "any":
            room = min(room, left - shortest)
            if room >= shortest:
                out.append((begin, begin + room))
                left -= room
        elif kind == "breaks":
            if blocked:
                out, left = [], minutes
            elif room >= (1 if out else shortest):
                first = first if out else at
                out.append((begin, stop))
                left -= room
        if blocked:
            soonest = max(soonest, busy[taken][1])
            taken += 1
        if not blocked or soonest >= end:
            at += 1
    return []

"""Where in a person's free time a piece of work fits first."""

from collections.abc import Sequence

Span = tuple[int, int]


def first_spans(
    windows: Sequence[Span],
    at: int,
    busy: Sequence[Span],
    soonest: int,
    minutes: int,
    shortest: int,
    splits: bool,
    pauses: bool,
) -> list[Span]:
    """Return the earliest spans of some work; empty when there are none.

    Args:
        windows: Working windows in order.
        at: Number of the window that holds ``soonest``, or of the next one.
        busy: Times already taken, in order.
        soonest: Minute before which it cannot begin.
        minutes: How long it takes.
        shortest: Minutes that a piece has at least, where any other work may split it; that its
            first and its last part have, where it pauses over breaks.
        splits: Whether any other work may split it.
        pauses: Whether it pauses over breaks, not for what is taken.

    >>> first_spans([(0, 60), (90, 150)], 0, [(20, 30)], 10, 45, 10, True, False)
    [(10, 20), (30, 55), (90, 100)]
    >>> first_spans([(0, 60), (90, 150)], 0, [(20, 30)], 10, 45, 10, False, True)
    [(30, 60), (90, 105)]
    >>> first_spans([(0, 60), (90, 150)], 0, [(20, 30)], 10, 35, 10, False, True)
    [(35, 60), (90, 100)]
    """
    out = [(soonest, soonest) for _ in range(0)]  # so, a compiler knows what it will hold
    taken, left, first = 0, minutes, at
    while at < len(windows):
        while taken < len(busy) and busy[taken][1] <= soonest:
            taken += 1
        begin, end = max(windows[at][0], soonest), windows[at][1]
        blocked = taken < len(busy) and busy[taken][0] < end
        stop = busy[taken][0] if blocked else end
        room = stop - begin
        if room >= left:
            if pauses and out and left < shortest:  # less before, so that this is enough
                soonest, at, left = out[0][0] + shortest - left, first, minutes
                out.clear()
                continue
            out.append((begin, begin + left))
            return out
        if splits:
            room = min(room, left - shortest)
            if room >= shortest:
                out.append((begin, begin + room))
                left -= room
        elif pauses:
            if blocked:
                out.clear()
                left = minutes
            elif room >= (1 if out else shortest):
                first = first if out else at
                out.append((begin, stop))
                left -= room
        if blocked:
            soonest = max(soonest, busy[taken][1])
        if not blocked or soonest >= end:
            at += 1
    out.clear()
    return out

"""When work may begin by the working hours, compiled.

Where this file changes those that call it must, too: what is kept of them compiled is kept by their
dates.
"""

# mypy: disable-error-code="misc,no-untyped-def,untyped-decorator,import-untyped,assignment"

import numpy as np
from numba import njit

from hidewright.planning.bench import NEVER


@njit(cache=True, nogil=True)
def latest_ends(ends, ties, minutes, whole, windows):
    """Lower latest ends to those that let what waits be done in time.

    Args:
        ends: ``(operations,) int64``, lowered in place.
        ties: ``(ties, 3) int64``: operation, another one that waits for it, minutes at least; the
            ties behind an operation stand before those in front of it.
        minutes: ``(operations,) int64``.
        whole: ``(operations,) bool``, whether it is done in one window.
        windows: ``(windows, 3) int64``: begin, end, minutes in the windows before it.
    """
    first = np.array((0, len(windows)))
    for k in range(len(ties)):
        i, then, least = ties[k, 0], ties[k, 1], ties[k, 2]
        if whole[then]:
            start = not_after(first, windows, ends[then], minutes[then])
        else:
            start = last_before(windows, ends[then], minutes[then])
        ends[i] = min(ends[i], start - least)


@njit(cache=True, nogil=True)
def last_before(windows, time, minutes):
    """Return the last time before which so many minutes less are worked; -``NEVER`` for none.

    Args:
        windows: See ``latest_ends``.
        time: As by this minute.
        minutes: So many less.
    """
    low, high = 0, len(windows)
    while low < high:
        middle = (low + high) // 2
        if windows[middle, 0] <= time:
            low = middle + 1
        else:
            high = middle
    if low:
        last = windows[low - 1]
        left = last[2] + min(time, last[1]) - last[0] - minutes
    else:
        left = -minutes
    if left < 0 or not len(windows):
        return -NEVER
    low, high = 0, len(windows)
    while low < high:
        middle = (low + high) // 2
        if windows[middle, 2] <= left:
            low = middle + 1
        else:
            high = middle
    return windows[low - 1, 0] + left - windows[low - 1, 2]


@njit(cache=True, nogil=True)
def not_before(first, windows, time, minutes):
    """Return the soonest start of work that some crew does in one go; ``NEVER`` if it has none.

    Args:
        first: (crews + 1,) where the windows of each crew begin.
        windows: (begin, end) of each.
        time: Not before this minute.
        minutes: Of the work.
    """
    found = NEVER
    for crew in range(len(first) - 1):
        low, high = first[crew], first[crew + 1]
        while low < high:
            middle = (low + high) // 2
            if windows[middle, 1] > time:
                high = middle
            else:
                low = middle + 1
        for k in range(low, first[crew + 1]):
            start = max(time, windows[k, 0])
            if start >= found:
                break
            if start + minutes <= windows[k, 1]:
                found = start
    return found


@njit(cache=True, nogil=True)
def not_after(first, windows, time, minutes):
    """Return the latest start of such work that ends by a time; -``NEVER`` if it has none."""
    found = -NEVER
    for crew in range(len(first) - 1):
        low, high = first[crew], first[crew + 1]
        while low < high:
            middle = (low + high) // 2
            if windows[middle, 0] >= time:
                high = middle
            else:
                low = middle + 1
        for k in range(low - 1, first[crew] - 1, -1):
            start = min(time, windows[k, 1]) - minutes
            if start <= found:
                break
            if start >= windows[k, 0]:
                found = start
    return found

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
    begun = _rows_up_to(windows, 0, 0, len(windows), time)
    left = -minutes
    if begun:
        last = windows[begun - 1]
        left += last[2] + min(time, last[1]) - last[0]
    if left < 0 or not len(windows):
        return -NEVER
    within = windows[_rows_up_to(windows, 2, 0, len(windows), left) - 1]
    return within[0] + left - within[2]


@njit(cache=True, nogil=True)
def _rows_up_to(table, column, first, last, value):
    """Return the row behind those, of some in order, that have no more than a value in a column."""
    while first < last:
        middle = (first + last) // 2
        if table[middle, column] <= value:
            first = middle + 1
        else:
            last = middle
    return first


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
        begin, end = first[crew], first[crew + 1]
        for k in range(_rows_up_to(windows, 1, begin, end, time), end):
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
        begin, end = first[crew], first[crew + 1]
        for k in range(_rows_up_to(windows, 0, begin, end, time - 1) - 1, begin - 1, -1):
            start = min(time, windows[k, 1]) - minutes
            if start <= found:
                break
            if start >= windows[k, 0]:
                found = start
    return found

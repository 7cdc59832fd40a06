"""Working hours minute by minute, for what is asked of them many thousand times."""

from collections.abc import Sequence

import numpy as np

from hidewright.planning.calendar import joined


def hours_by_minute(windows: Sequence[tuple[int, int]], last: int) -> np.ndarray:
    """Return the hours in which it is some window, up to a minute; nothing behind it is of any use.

    Returns:
        ``(3, last + 2) int64``: working minutes before each minute, first time before which so many
        minutes are worked, last such time.

    >>> hours_by_minute([(1, 3), (4, 9)], 5)[:, :4].tolist()
    [[0, 0, 1, 2], [0, 2, 3, 5], [1, 2, 4, 5]]
    """
    works = np.zeros(last + 1, np.int64)
    for begin, end in joined(windows):
        works[begin : min(end, last)] = 1
    worked = np.concatenate(([0], np.cumsum(works)))
    minutes = np.arange(last + 2)
    first_at = np.searchsorted(worked[:-1], minutes)
    last_at = np.searchsorted(worked[:-1], minutes, "right") - 1
    return np.array((worked, first_at, last_at))

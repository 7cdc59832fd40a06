"""Working hours minute by minute, for what is asked of them many thousand times."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.planning.calendar import joined


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursByMinute:
    """Hours up to a last minute.

    Attributes:
        worked: (last + 1,) working minutes before each minute.
        first_at: (last + 2,) first time before which so many minutes are worked.
        last_at: (last + 2,) last such time.
    """

    worked: np.ndarray
    first_at: np.ndarray
    last_at: np.ndarray


def hours_by_minute(windows: Sequence[tuple[int, int]], last: int) -> HoursByMinute:
    """Return the hours in which it is some window; nothing behind the last minute is of any use.

    >>> hours = hours_by_minute([(1, 3), (4, 9)], 5)
    >>> hours.worked.tolist(), hours.first_at[2], hours.last_at[2]
    ([0, 0, 1, 2, 2, 3], np.int64(3), np.int64(4))
    """
    works = np.zeros(last, np.int64)
    for begin, end in joined(windows):
        works[begin:end] = 1
    worked = np.concatenate(([0], np.cumsum(works)))
    minutes = np.arange(last + 2)
    first_at = np.searchsorted(worked, minutes)
    last_at = np.searchsorted(worked, minutes, "right") - 1
    return HoursByMinute(worked=worked, first_at=first_at, last_at=last_at)

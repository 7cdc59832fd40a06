"""How far a plan is behind the finish it should reach, step by step.

A finish says little of how near a plan is to a better one: where a wait of days falls across a
weekend, plans whose last steps lie a day apart finish at the same minute. So each step is held
against its latest end for the finish that no plan beats.
"""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.planning.bounds import Bounds


class Pressure:
    """Latest ends of all operations for the best finish there could be.

    Args:
        bounds: Of the problem.
        finish: Of a plan there is.
        late: Late minutes by weight that every plan has, where dates come first; None where they do
            not.
    """

    def __init__(self, bounds: Bounds, finish: int, late: int | None) -> None:
        self._axis = bounds.axis
        self.target = bounds.finish(finish, late)
        latest = bounds.latest_ends(bounds.dates(self.target, late))
        self._latest = bounds.axis.all_worked(latest)

    def behind(self, ends: Sequence[int]) -> np.ndarray:
        """Return the working minutes by which each operation ends after its latest end."""
        behind: np.ndarray = np.maximum(0, self._axis.all_worked(ends) - self._latest)
        return behind


def root_mean_square(values: np.ndarray) -> float:
    """Return the root of the mean of the squares of whole numbers.

    >>> root_mean_square(np.array([3, 4, 0, 0]))
    2.5
    """
    return math.sqrt(int(values @ values) / len(values))

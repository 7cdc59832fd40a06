"""How far a plan is behind the finish it should reach, step by step.

A finish says little of how near a plan is to a better one: where a wait of days falls across a
weekend, plans whose last steps lie a day apart finish at the same minute. So each step is held
against its latest end for the finish that no plan beats.
"""

import math

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
        self._worked = bounds.axis.worked
        self.target = bounds.finish(finish, late)
        latest = bounds.latest_ends(bounds.dates(self.target, late))
        self._latest = [self._worked(end) for end in latest]

    def behind(self, ends: list[int]) -> list[int]:
        """Return the working minutes by which each operation ends after its latest end."""
        worked = self._worked
        return [
            max(0, worked(end) - latest) for end, latest in zip(ends, self._latest, strict=True)
        ]


def root_mean_square(values: list[int]) -> float:
    """Return the root of the mean of the squares.

    >>> root_mean_square([3, 4, 0, 0])
    2.5
    """
    return math.sqrt(sum(one * one for one in values) / len(values))

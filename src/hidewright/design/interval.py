"""A likely value and where it lies."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A likely value and where it lies nine times in ten.

    Attributes:
        likely: The median.
        low: Below it in 5 of 100.
        high: Above it in 5 of 100.
    """

    likely: float
    low: float
    high: float

    def times(self, factor: float) -> "Interval":
        """Return it times a factor above 0.

        >>> Interval(likely=2.0, low=1.0, high=4.0).times(3.0)
        Interval(likely=6.0, low=3.0, high=12.0)
        """
        return Interval(likely=factor * self.likely, low=factor * self.low, high=factor * self.high)

"""What is believed of some quantities: a Gaussian on their logarithms, and what follows from it."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from hidewright.design.interval import Interval
from hidewright.geometry.segment import Floats
from hidewright.learning.quantities import Quantity

#: Likely ranges hold the truth so often.
SHARE = 0.9
#: Step of a logarithm to find how much a prediction changes with it.
STEP = 1e-4

Values = Mapping[str, float]
#: What a reading should be, given the value of every quantity, in the reading's own unit.
Predict = Callable[[Values], float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Belief:
    """A Gaussian on logarithms.

    Attributes:
        quantities: What is believed about, k of them, with the scale of each.
        mean: (k,) middle of each logarithm.
        spread: (k, k) covariance.
    """

    quantities: tuple[Quantity, ...]
    mean: Floats
    spread: Floats

    @property
    def deviations(self) -> Floats:
        """(k,) standard deviation of each logarithm."""
        deviations: Floats = np.sqrt(np.diag(self.spread))
        return deviations

    @property
    def values(self) -> dict[str, float]:
        """The median of every quantity by name."""
        return self.values_at(self.mean)

    def values_at(self, logs: Floats) -> dict[str, float]:
        """Return the quantities by name at (k,) logarithms."""
        return {
            one.name: one.from_log(float(x)) for one, x in zip(self.quantities, logs, strict=True)
        }

    def place(self, name: str) -> int:
        """Return the row of a quantity."""
        return [one.name for one in self.quantities].index(name)

    def interval(self, name: str, share: float = SHARE) -> Interval:
        """Return where a quantity lies with a probability."""
        i = self.place(name)
        middle, deviation = float(self.mean[i]), float(self.deviations[i])
        return range_about(middle, deviation, share, self.quantities[i].from_log)

    def slopes(self, predictions: Sequence[Predict], logs: Floats) -> Floats:
        """Return (n, k) change of n predictions with each logarithm, by central differences."""
        at = self.values_at(logs)
        found = np.zeros((len(predictions), len(logs)))
        for i, (one, x) in enumerate(zip(self.quantities, logs.tolist(), strict=True)):
            above, below = ({**at, one.name: one.from_log(x + by)} for by in (STEP, -STEP))
            found[:, i] = [predict(above) - predict(below) for predict in predictions]
        return found / (2.0 * STEP)

    def foretold(self, predict: Predict, *, error: float = 0.0, share: float = SHARE) -> Interval:
        """Return a prediction with its likely range, linearised about the medians.

        Args:
            predict: What is foretold.
            error: Deviation of one more reading or piece about what is foretold.
            share: Probability of the range.
        """
        return range_about(predict(self.values), math.hypot(self.doubt(predict), error), share)

    def doubt(self, predict: Predict) -> float:
        """Return the standard deviation of a prediction."""
        (slopes,) = self.slopes([predict], self.mean)
        return math.sqrt(float(slopes @ self.spread @ slopes))


def prior(values: Values, quantities: tuple[Quantity, ...], **known: float) -> Belief:
    """Return what is believed before any reading: the catalogue's values, each by itself.

    Args:
        values: The catalogue's, by name.
        quantities: What is believed about.
        known: Spreads that the catalogue itself states, by name, in place of the assumed ones.
    """
    stated = tuple(replace(one, spread=known.get(one.name, one.spread)) for one in quantities)
    return Belief(
        quantities=stated,
        mean=np.array([one.to_log(values[one.name]) for one in stated]),
        spread=np.diag([one.spread**2 for one in stated]),
    )


def range_about(
    middle: float, deviation: float, share: float = SHARE, value: Callable[[float], float] = float
) -> Interval:
    """Return where a Gaussian number lies with a probability, or what it is the coordinate of."""
    away = NormalDist().inv_cdf(0.5 + share / 2.0) * deviation
    low, high = sorted((value(middle - away), value(middle + away)))
    return Interval(likely=value(middle), low=low, high=high)

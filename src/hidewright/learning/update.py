"""From a belief and readings to a new belief; odd readings are questioned, not swallowed.

A reading y = h(x) + error, the error Gaussian with the deviation of the tool, h given as a
function. The new middle is the most probable x: the least squares of what readings and prior are
off, each in its own deviation. The new spread is that of h made linear there (Laplace's method;
for linear h it is the closed form of Gauss and Bayes). So neither order nor grouping of the
readings matters.

Before that each reading is held against what those before it foretell. One that is further off
than ``ODD`` deviations is questioned and left out, until the maker says that it is to be kept.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.geometry.segment import Floats
from hidewright.learning.belief import Belief, Interval, Predict

#: A reading this many deviations off what is foretold is questioned: 1 of 370 honest ones.
ODD = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """A reading as the inference takes it.

    Attributes:
        key: Its id.
        value: What was read, in the unit of ``predict``.
        error: Standard deviation of the tool and the hand, same unit.
        predict: What it should be, given all quantities.
        keep: The maker has said that it counts, however odd.
    """

    key: str
    value: float
    error: float
    predict: Predict
    keep: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A reading held against what was known before it.

    Attributes:
        key: Its id.
        foretold: From the readings before it, its likely range with the tool's error in it.
        off: How many deviations it is off, with its sign.
        questioned: It is odd, and does not count until the maker keeps it.
    """

    key: str
    foretold: Interval
    off: float
    questioned: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Learned:
    """What is believed after readings, and how each of them was taken."""

    before: Belief
    after: Belief
    judged: tuple[Judged, ...]

    @property
    def informed(self) -> tuple[str, ...]:
        """Quantities on which the readings bear: a spread at least 2 % narrower than before."""
        narrower = self.after.deviations < 0.98 * self.before.deviations
        return tuple(
            one.name for one, told in zip(self.after.quantities, narrower, strict=True) if told
        )


def learned(before: Belief, observations: Sequence[Observation]) -> Learned:
    """Return what observations, in the order in which they were made, do to a belief."""
    belief = before
    judged: list[Judged] = []
    counted: list[Observation] = []
    for one in observations:
        verdict = _judged(belief, one)
        judged.append(verdict)
        if not verdict.questioned:
            counted.append(one)
            belief = updated(belief, (one,))
    return Learned(before=before, after=updated(before, counted), judged=tuple(judged))


def updated(before: Belief, observations: Sequence[Observation]) -> Belief:
    """Return the belief after observations, all of which count; their order does not matter."""
    from scipy.optimize import least_squares  # the server foretells nothing, so it need not wait

    if not observations:
        return before
    whiten = np.linalg.inv(np.linalg.cholesky(before.spread))
    values = np.array([one.value for one in observations])
    errors = np.array([one.error for one in observations])

    def off(logs: Floats) -> Floats:
        at = before.values_at(logs)
        told = np.array([one.predict(at) for one in observations])
        return np.concatenate([whiten @ (logs - before.mean), (told - values) / errors])

    def slopes(logs: Floats) -> Floats:
        rows = np.array([before.slopes(one.predict, logs) for one in observations])
        return np.vstack([whiten, rows / errors[:, None]])

    found = least_squares(off, before.mean, slopes, method="lm", xtol=1e-12, ftol=1e-12)
    jacobian = slopes(found.x)
    spread = np.linalg.inv(jacobian.T @ jacobian)
    return Belief(quantities=before.quantities, mean=found.x, spread=(spread + spread.T) / 2.0)


def _judged(belief: Belief, one: Observation) -> Judged:
    foretold = belief.foretold(one.predict, error=one.error)
    off = (one.value - foretold.likely) / math.hypot(belief.doubt(one.predict), one.error)
    return Judged(
        key=one.key,
        foretold=foretold,
        off=off,
        questioned=abs(off) > ODD and not one.keep,
    )

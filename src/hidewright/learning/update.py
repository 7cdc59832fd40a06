"""From a belief and readings to a new belief; odd readings are questioned, not swallowed.

A reading y = h(x) + error, the error Gaussian with the deviation of the tool, h given as a
function. The new middle is the most probable x: the least squares of what readings and prior are
off, each in its own deviation. The new spread is that of h made linear there (Laplace's method;
for linear h it is the closed form of Gauss and Bayes). So neither order nor grouping of the
readings matters.

Before that each reading is held against what those before it foretell. One that is further off
than ``ODD`` deviations is questioned and left out, until the maker says that it is to be kept.

How far the prior may be off is itself assumed. Where the readings together lie further from it
than it says, all its deviations are taken to be wider by one factor, see ``prior_wider_by``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from hidewright.design.interval import Interval
from hidewright.geometry.segment import Floats
from hidewright.learning.belief import Belief, Predict

#: A reading this many deviations off what is foretold is questioned: 1 of 370 honest ones.
ODD = 3.0
#: A prior is never taken to be further off than so many times what it says.
MOST_WIDER = 3.0


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
    """What is believed after readings, and how each of them was taken.

    Attributes:
        before: As the catalogue states it.
        after: With the readings that count.
        judged: Every reading.
        wider: Times that the prior's deviations were taken to be as wide as stated, 1 or more.
    """

    before: Belief
    after: Belief
    judged: tuple[Judged, ...]
    wider: float = 1.0

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
    wider, after = adapted(before, counted)
    return Learned(before=before, after=after, judged=tuple(judged), wider=wider)


def adapted(before: Belief, observations: Sequence[Observation]) -> tuple[float, Belief]:
    """Return how many times wider than stated the prior was taken, and the belief after that."""
    after = updated(before, observations)
    wider = prior_wider_by(before, after, observations)
    if wider == 1.0:
        return wider, after
    return wider, updated(replace(before, spread=wider**2 * before.spread), observations)


def prior_wider_by(before: Belief, after: Belief, observations: Sequence[Observation]) -> float:
    """Return by which factor the prior's deviations are taken to be wider than it states.

    Readings made linear at ``after`` lie r off what the prior's middle foretells, and r is Gaussian
    of covariance f^2 A + R: A from the prior's spread, R of tools and hands. While readings are no
    further off than that at f = 1, the factor is 1; where they are likelier at a larger one, it is
    the largest that explains them as well as 1 does (empirical Bayes, at the upper end of what the
    likelihood bears: its maximum alone would leave the ranges too narrow). It grows from 1 without
    a step and is at most ``MOST_WIDER``.
    """
    if not observations:
        return 1.0
    errors = np.array([one.error for one in observations])
    told = np.array([one.predict(after.values) for one in observations])
    slopes = np.array([before.slopes(one.predict, after.mean) for one in observations])
    off = np.array([one.value for one in observations]) - told - slopes @ (before.mean - after.mean)
    shares, axes = np.linalg.eigh((slopes @ before.spread @ slopes.T) / np.outer(errors, errors))
    squares = (axes.T @ (off / errors)) ** 2
    factors = np.linspace(1.0, MOST_WIDER, 401)
    variances = 1.0 + factors[:, None] ** 2 * np.maximum(shares, 0.0)
    unlikely = (np.log(variances) + squares / variances).sum(axis=1)
    return float(factors[np.flatnonzero(unlikely <= unlikely[0])[-1]])


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

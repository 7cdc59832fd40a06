"""From a belief and readings to a new belief; odd readings are questioned, not swallowed.

A reading y = h(x) + error, the error Gaussian with the deviation of the tool, h given as a
function. The new middle is the most probable x: the least squares of what readings and prior are
off, each in its own deviation. The new spread is that of h made linear there (Laplace's method;
for linear h it is the closed form of Gauss and Bayes). So neither order nor grouping of the
readings matters.

Of some readings only a side is known: a disc that cracked bore less than its depth asks for. Such a
one has the probability Phi(z) of the Gaussian integral, z what the prediction is beyond the value,
in deviations (the probit). It enters both sums with its own slope and curvature.

Before that each reading is held against what those before it foretell. One that is further off
than ``ODD`` deviations is questioned and left out, until the maker says that it is to be kept.

How far the prior may be off is itself assumed. Where the readings together lie further from it
than it says, all its deviations are taken to be wider by one factor, see ``prior_wider_by``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from hidewright.design.bench_reading import Bound
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
        bound: All that is known is that what is foretold lies, but for the error, above or below
            the value; empty where the value itself was read.
        keep: The maker has said that it counts, however odd.
    """

    key: str
    value: float
    error: float
    predict: Predict
    bound: Bound = ""
    keep: bool = False

    @property
    def side(self) -> float:
        """1 where what is foretold lies above the value, -1 below it, 0 where it is the value."""
        return {"": 0.0, "above": 1.0, "below": -1.0}[self.bound]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A reading held against what was known before it.

    Attributes:
        key: Its id.
        foretold: From the readings before it, its likely range with the tool's error in it.
        off: How many deviations it is off, with its sign; 0 on the side that it only names.
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
    a step and is at most ``MOST_WIDER``. Readings of which only a side is known do not bear on it.
    """
    exact = [one for one in observations if not one.bound]
    if not exact:
        return 1.0
    errors = np.array([one.error for one in exact])
    told = np.array([one.predict(after.values) for one in exact])
    slopes = np.array([before.slopes(one.predict, after.mean) for one in exact])
    off = np.array([one.value for one in exact]) - told - slopes @ (before.mean - after.mean)
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
    sides = np.array([one.side for one in observations])

    def beyond(logs: Floats) -> Floats:
        at = before.values_at(logs)
        off: Floats = (np.array([one.predict(at) for one in observations]) - values) / errors
        return off

    def slopes(logs: Floats) -> Floats:
        rows: Floats = np.array([before.slopes(one.predict, logs) for one in observations])
        return np.asarray(rows / errors[:, None])

    def off(logs: Floats) -> Floats:
        return np.concatenate([whiten @ (logs - before.mean), _sided(beyond(logs), sides)[0]])

    def steps(logs: Floats) -> Floats:
        return np.vstack([whiten, _sided(beyond(logs), sides)[1][:, None] * slopes(logs)])

    found = least_squares(off, before.mean, steps, method="lm", xtol=1e-12, ftol=1e-12)
    rows = slopes(found.x)
    weights = _sided(beyond(found.x), sides)[2]
    spread = np.linalg.inv(whiten.T @ whiten + (weights[:, None] * rows).T @ rows)
    return Belief(quantities=before.quantities, mean=found.x, spread=(spread + spread.T) / 2.0)


def _sided(beyond: Floats, sides: Floats) -> tuple[Floats, Floats, Floats]:
    """Return what readings add to the least squares, its slope, and their own curvature, (n,) each.

    Half the square of what is added is -log Phi(z), z = side x beyond; its curvature is w (w + z),
    w = phi(z) / Phi(z). Readings that name no side add what they are off.

    Args:
        beyond: What predictions are beyond the values, in deviations.
        sides: As ``Observation.side``.
    """
    from scipy.special import log_ndtr

    named = sides != 0.0
    z = sides * beyond
    log_share = log_ndtr(z)
    added = np.sqrt(np.maximum(-2.0 * log_share, 1e-300))
    w = np.exp(-0.5 * z**2 - 0.5 * math.log(2.0 * math.pi) - log_share)
    return (
        np.where(named, added, beyond),
        np.where(named, -sides * w / added, 1.0),
        np.where(named, w * (w + z), 1.0),
    )


def _judged(belief: Belief, one: Observation) -> Judged:
    foretold = belief.foretold(one.predict, error=one.error)
    off = (one.value - foretold.likely) / math.hypot(belief.doubt(one.predict), one.error)
    if one.bound and off * one.side < 0.0:
        off = 0.0
    return Judged(
        key=one.key,
        foretold=foretold,
        off=off,
        questioned=abs(off) > ODD and not one.keep,
    )

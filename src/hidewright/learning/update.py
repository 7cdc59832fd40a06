"""From a belief and readings to a new belief; odd readings are questioned, not swallowed.

A reading y = h(x) + error, the error Gaussian with the deviation of the tool, h given as a
function. The new middle is the most probable x: the least squares of what readings and prior are
off, each in its own deviation. The new spread is that of h made linear there (Laplace's method;
for linear h it is the closed form of Gauss and Bayes). So neither order nor grouping of the
readings matters.

Of some readings only a side is known: a disc that cracked bore less than its depth asks for. Such a
one has the probability Phi(z) of the Gaussian integral, z what the prediction is beyond the value,
in deviations (the probit). Of others it is known that they lie within h either way of a value: a
disc that was sound at one depth and cracked at the next; they have Phi(z + h) - Phi(z - h). Both
enter the sums with their own slope and curvature.

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
from hidewright.learning.belief import Belief, Predict, range_about

#: A reading this many deviations off what is foretold is questioned: 1 of 370 honest ones.
ODD = 3.0
#: A prior is never taken to be further off than so many times what it says.
MOST_WIDER = 3.0
#: Below so many deviations a stretch is as good as a value, and its loss a parabola.
NEAR = 1e-3
_LOG_PHI = -0.5 * math.log(2.0 * math.pi)


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
        half: The value was only read to lie within so much either way, same unit; 0 for a value
            that was read itself.
        keep: The maker has said that it counts, however odd.
    """

    key: str
    value: float
    error: float
    predict: Predict
    bound: Bound = ""
    half: float = 0.0
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
        off: How many deviations it is off, with its sign; 0 on the side, or within the stretch,
            that it only names.
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
    a step and is at most ``MOST_WIDER``. A reading of which only a side or a stretch is known
    counts as the exact one that has the same slope and curvature at ``after``.
    """
    if not observations:
        return 1.0
    errors = np.array([one.error for one in observations])
    told = np.array([one.predict(after.values) for one in observations])
    values = np.array([one.value for one in observations])
    slopes = before.slopes([one.predict for one in observations], after.mean)
    beyond = (told - values) / errors
    _, fall, bend = _losses(beyond, *_known(observations))
    firm = np.sqrt(np.maximum(bend, 1e-12))
    target = beyond - fall / firm**2
    off = firm * (target - beyond + slopes @ (after.mean - before.mean) / errors)
    rows = slopes * (firm / errors)[:, None]
    # A has no more axes than there are quantities; across them no factor makes a difference
    axes, roots, _ = np.linalg.svd(rows @ np.linalg.cholesky(before.spread), full_matrices=False)
    squares = (axes.T @ off) ** 2
    factors = np.linspace(1.0, MOST_WIDER, 401)
    variances = 1.0 + factors[:, None] ** 2 * roots**2
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
    predictions = [one.predict for one in observations]
    known = _known(observations)

    def beyond(logs: Floats) -> Floats:
        at = before.values_at(logs)
        off: Floats = (np.array([predict(at) for predict in predictions]) - values) / errors
        return off

    def slopes(logs: Floats) -> Floats:
        return np.asarray(before.slopes(predictions, logs) / errors[:, None])

    def off(logs: Floats) -> Floats:
        return np.concatenate([whiten @ (logs - before.mean), _added(beyond(logs), *known)[0]])

    def steps(logs: Floats) -> Floats:
        return np.vstack([whiten, _added(beyond(logs), *known)[1][:, None] * slopes(logs)])

    found = least_squares(off, before.mean, steps, method="lm", xtol=1e-12, ftol=1e-12)
    rows = slopes(found.x)
    _, _, bend = _losses(beyond(found.x), *known)
    spread = np.linalg.inv(whiten.T @ whiten + (bend[:, None] * rows).T @ rows)
    return Belief(quantities=before.quantities, mean=found.x, spread=(spread + spread.T) / 2.0)


def _known(observations: Sequence[Observation]) -> tuple[Floats, Floats]:
    """Return (n,) sides as ``Observation.side`` and half widths of stretches, in deviations."""
    sides = np.array([one.side for one in observations])
    return sides, np.array([one.half / one.error for one in observations])


def _added(beyond: Floats, sides: Floats, halves: Floats) -> tuple[Floats, Floats]:
    """Return what readings add to the least squares, whose half square is lost, and its slope."""
    lost, fall, bend = _losses(beyond, sides, halves)
    near = (sides == 0.0) & (np.abs(beyond) < NEAR)
    sign = np.where(sides == 0.0, np.sign(beyond), 1.0)
    added = sign * np.sqrt(np.maximum(2.0 * lost, 1e-300))
    root = np.sqrt(bend)
    return np.where(near, root * beyond, added), np.where(
        near, root, fall / np.where(near, 1.0, added)
    )


def _losses(beyond: Floats, sides: Floats, halves: Floats) -> tuple[Floats, Floats, Floats]:
    """Return -log of how likely each reading is over its likeliest, its slope and curvature, (n,).

    Of a side, -log Phi(s), s = side x beyond: slope -w and curvature w (w + s), w = phi(s) /
    Phi(s). Of a stretch, -log A, A = Phi(z + h) - Phi(z - h): slope g = -(phi(z + h) - phi(z - h))
    / A and curvature g^2 + ((z + h) phi(z + h) - (z - h) phi(z - h)) / A. Else z^2 / 2.

    Args:
        beyond: z, what predictions are beyond the values, in deviations.
        sides: As ``Observation.side``.
        halves: h, half widths of stretches, in deviations; below ``NEAR`` the value itself.
    """
    lost, fall, bend = 0.5 * beyond**2, beyond.copy(), np.ones(len(beyond))
    one = sides != 0.0
    lost[one], fall[one], bend[one] = _of_sides(sides[one] * beyond[one])
    fall[one] *= sides[one]
    two = ~one & (halves > NEAR)
    lost[two], fall[two], bend[two] = _of_stretches(np.abs(beyond[two]), halves[two])
    fall[two] *= np.sign(beyond[two])
    return lost, fall, bend


def _of_sides(s: Floats) -> tuple[Floats, Floats, Floats]:
    from scipy.special import log_ndtr

    log_share = log_ndtr(s)
    w = np.exp(_LOG_PHI - 0.5 * s**2 - log_share)
    return -log_share, -w, w * (w + s)


def _of_stretches(z: Floats, h: Floats) -> tuple[Floats, Floats, Floats]:
    from scipy.special import log_ndtr

    upper = log_ndtr(h - z)
    log_share = upper + np.log1p(-np.exp(log_ndtr(-h - z) - upper))
    most = log_ndtr(h) + np.log1p(-np.exp(log_ndtr(-h) - log_ndtr(h)))
    above, below = (np.exp(_LOG_PHI - 0.5 * x**2 - log_share) for x in (z + h, z - h))
    fall = below - above
    return most - log_share, fall, fall**2 + (z + h) * above - (z - h) * below


def _judged(belief: Belief, one: Observation) -> Judged:
    likely = one.predict(belief.values)
    deviation = math.hypot(belief.doubt(one.predict), one.error)
    away = one.value - likely
    if one.bound and away * one.side < 0.0:
        away = 0.0
    away = math.copysign(max(abs(away) - one.half, 0.0), away)
    off = away / deviation
    return Judged(
        key=one.key,
        foretold=range_about(likely, deviation),
        off=off,
        questioned=abs(off) > ODD and not one.keep,
    )

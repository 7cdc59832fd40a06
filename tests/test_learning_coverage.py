"""How often the truth lies in the likely range: 2,000 simulated workshops on a fitted press."""

import math
from collections.abc import Callable
from datetime import date

import numpy as np
import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.bench_reading import BenchReading, ReadingKind
from hidewright.forming.limits import use_of
from hidewright.geometry.segment import Floats
from hidewright.learning.belief import Belief, Values
from hidewright.learning.models import Catalogues, free_shrinkage, observation
from hidewright.learning.priors import leather_prior, leather_with
from hidewright.learning.update import MOST_WIDER, Observation, adapted
from hidewright.tooling.bench_pieces import SHARP_MM
from hidewright.workshop.learned_pressing import (
    DRY,
    LIE,
    SheetForetold,
    disc,
    measures_of,
    plug_sheet,
    sheet_foretold,
    used_at,
)

LEATHER = find(built_in_catalogue().leathers, "vegetable-tanned shoulder 1.4-1.6 mm")
NAMES = (*LIE, *DRY, "pull_in_factor")
WORKSHOPS, SEED = 2000, 8
NORMAL_95 = 1.6448536269514722
#: (what, of which size, deviation), as they are read on test plug and square.
READ = (
    ("along 0", 40.0, 0.15),
    ("across 0", 40.0, 0.15),
    ("pull-in along", 1.0, 0.3),
    ("pull-in across", 1.0, 0.3),
    ("free along", 100.0, 0.15),
    ("free across", 100.0, 0.15),
)


@pytest.fixture(scope="module")
def press() -> SheetForetold:
    """The round test plug at 12 mm, fitted once."""
    sheet = plug_sheet(LEATHER, 12.0)
    return sheet_foretold(sheet, LEATHER, leather_prior(LEATHER), disc())


class Batch:
    """Readings of many workshops at once: an independent way to the same posterior."""

    def __init__(self, press: SheetForetold) -> None:
        curve = press.surrogate
        belief = curve.belief
        self.rows = [belief.place(name) for name in NAMES]
        self.start, self.sd = belief.mean[self.rows], belief.deviations[self.rows]
        self.fitted = len((*LIE, *DRY))
        fixed = len(curve.over) - self.fitted
        assert (*curve.over[: self.fitted], "pull_in_factor") == NAMES
        self.pairs = [(i, j) for i in range(len(curve.over)) for j in range(i, len(curve.over))]
        self.terms = curve.terms
        self.fixed = fixed
        self.plain = np.array([name in DRY for name in curve.over[: self.fitted]])

    def predict(self, logs: Floats) -> Floats:
        """Return (n, readings) what (n, k) workshops read without error."""
        off, sd = (logs - self.start)[:, : self.fitted], self.sd[: self.fitted]
        x = np.where(self.plain, np.exp(off) - 1.0, off) / sd
        x = np.hstack([x, np.zeros((len(logs), self.fixed))])
        drawn = np.exp(logs[:, NAMES.index("pull_in_factor")])
        ones = np.column_stack([np.ones(len(x)), x, *(x[:, i] * x[:, j] for i, j in self.pairs)])
        held, along, across = (
            np.exp(logs[:, NAMES.index(name)])
            for name in ("held_shrinkage", "shrinkage_along", "shrinkage_across")
        )  # held is learned on what lacks to 1
        free = {"free along": (1 - along) ** (1 / held), "free across": (1 - across) ** (1 / held)}
        told: Floats = np.column_stack(
            [
                size
                * (free[what] if what in free else ones @ self.terms[what])
                * (drawn if what.startswith("pull-in") else 1.0)
                for what, size, _ in READ
            ]
        )
        return told

    def slopes(self, logs: Floats, step: float = 1e-5) -> Floats:
        """Return (n, readings, k) slopes."""
        found = np.zeros((len(logs), len(READ), logs.shape[1]))
        for k in range(logs.shape[1]):
            off = np.zeros(logs.shape[1])
            off[k] = step
            found[:, :, k] = (self.predict(logs + off) - self.predict(logs - off)) / (2 * step)
        return found

    def posterior(self, read: Floats, steps: int = 101) -> tuple[Floats, Floats]:
        """Return (n, k) most probable logarithms and (n, k, k) covariances, the prior widened."""
        logs, _ = self.with_prior(read, np.ones(len(read)))
        return self.with_prior(read, self.wider(read, logs, steps))

    def wider(self, read: Floats, logs: Floats, steps: int) -> Floats:
        """Return (n,) the largest factor that explains the readings as well as 1 does.

        By determinants of the readings' own covariance, factor by factor.
        """
        error = np.array([e for _, _, e in READ])
        slope = self.slopes(logs)
        off = read - self.predict(logs) - np.einsum("nrk,nk->nr", slope, self.start - logs)
        from_prior = np.einsum("nrk,k,nsk->nrs", slope, self.sd**2, slope)

        def unlikely(factor: float) -> Floats:
            spread = factor**2 * from_prior + np.diag(error**2)
            solved = np.linalg.solve(spread, off[:, :, None])[:, :, 0]
            told: Floats = np.linalg.slogdet(spread)[1] + (off * solved).sum(axis=1)
            return told

        best, at_one = np.ones(len(read)), unlikely(1.0)
        for factor in np.linspace(1.0, MOST_WIDER, steps)[1:]:
            best[unlikely(float(factor)) <= at_one] = factor
        return best

    def with_prior(self, read: Floats, wider: Floats) -> tuple[Floats, Floats]:
        """Return the posterior of a prior (n,) times as wide as stated, by short steps."""
        error = np.array([e for _, _, e in READ])
        precision = np.einsum("n,kl->nkl", wider**-2, np.diag(self.sd**-2))
        logs = np.tile(self.start, (len(read), 1))
        for _ in range(100):
            slope = self.slopes(logs) / error[:, None]
            off = (read - self.predict(logs)) / error
            hessian = np.einsum("nri,nrj->nij", slope, slope) + precision
            gradient = np.einsum("nri,nr->ni", slope, off)
            gradient -= np.einsum("nkl,nl->nk", precision, logs - self.start)
            step = np.linalg.solve(hessian, gradient[:, :, None])[:, :, 0]
            far = np.abs(step / self.sd).max(axis=1, keepdims=True)
            logs = logs + step * np.minimum(0.7, 0.3 / np.maximum(far, 1e-12))
        return logs, np.linalg.inv(hessian)


def simulated(batch: Batch, prior_off: float = 0.0) -> tuple[Floats, Floats]:
    """Return true logarithms of all workshops, drawn from the prior or beside it, and readings."""
    draw = np.random.default_rng(SEED)
    truth = batch.start + batch.sd * (draw.standard_normal((WORKSHOPS, len(NAMES))) + prior_off)
    error = np.array([e for _, _, e in READ])
    return truth, batch.predict(truth) + error * draw.standard_normal((WORKSHOPS, len(READ)))


@pytest.mark.parametrize("prior_off", [0.0, pytest.param(1.0, marks=pytest.mark.slow)])
def test_nine_times_in_ten_the_truth_lies_in_the_likely_range(
    press: SheetForetold, prior_off: float
) -> None:
    """Truths drawn from the prior; and all of them a deviation beside it: a wrong prior."""
    batch = Batch(press)
    truth, read = simulated(batch, prior_off)
    mean, spread = batch.posterior(read)
    sd = np.sqrt(np.diagonal(spread, axis1=1, axis2=2))
    inside = np.abs(truth - mean) <= NORMAL_95 * sd
    for name, share in zip(NAMES, inside.mean(axis=0), strict=True):
        assert 0.85 <= share <= 0.95, f"{name}: {share:.3f}"
    # and so does the next dry size, read with the calliper's error
    draw = np.random.default_rng(SEED + 1)
    slope = batch.slopes(mean)[:, 1, :]
    doubt = np.sqrt(np.einsum("ni,nij,nj->n", slope, spread, slope) + 0.15**2)
    following = batch.predict(truth)[:, 1] + 0.15 * draw.standard_normal(WORKSHOPS)
    share = float((np.abs(following - batch.predict(mean)[:, 1]) <= NORMAL_95 * doubt).mean())
    assert 0.85 <= share <= 0.95, share


@pytest.mark.slow
def test_what_is_read_is_foretold_even_where_the_catalogue_is_wrong(press: SheetForetold) -> None:
    """Every truth a deviation beside its prior: the dry size is still found."""
    batch = Batch(press)
    truth, read = simulated(batch, prior_off=1.0)
    mean, _ = batch.posterior(read)
    off = np.abs(batch.predict(truth) - batch.predict(mean))[:, :2]
    before = np.abs(batch.predict(truth) - batch.predict(batch.start[None, :]))[:, :2]
    assert np.median(off) < 0.25 * np.median(before)


def test_the_batch_of_this_test_and_the_workshops_own_inference_agree(
    press: SheetForetold,
) -> None:
    batch = Batch(press)
    _, read = simulated(batch)
    mean, spread = batch.posterior(read[:5], steps=401)
    belief = press.surrogate.belief
    for n in range(5):
        _, after = adapted(belief, _observations(press, read[n]))
        assert after.mean[batch.rows] == pytest.approx(mean[n], abs=2e-4)
        own = after.spread[np.ix_(batch.rows, batch.rows)]
        assert own == pytest.approx(spread[n], abs=2e-4)


def _observations(press: SheetForetold, read: Floats) -> list[Observation]:
    def free(name: str, size: float) -> Callable[[Values], float]:
        return lambda v: size * free_shrinkage(v[f"shrinkage_{name}"], v["held_shrinkage"])

    def pressed(name: str, size: float) -> Callable[[Values], float]:
        predict = press.prediction(name)
        return lambda v: size * predict(v)

    return [
        Observation(
            key=what,
            value=float(value),
            error=error,
            predict=free(what.removeprefix("free "), size)
            if what.startswith("free")
            else pressed(what, size),
        )
        for (what, size, error), value in zip(READ, read, strict=True)
    ]


def test_the_fitted_press_agrees_with_solving_it_anew(press: SheetForetold) -> None:
    """Half a deviation off in everything: pull-in within 0.05 mm, dry over plug within 5e-4."""
    belief: Belief = press.surrogate.belief
    logs = belief.mean.copy()
    logs[[belief.place(name) for name in NAMES]] += (
        0.5
        * belief.deviations[[belief.place(name) for name in NAMES]]
        * np.array([1, -1, 1, -1, 1, -1, -1])
    )
    values = belief.values_at(logs)
    solved = measures_of(
        plug_sheet(leather_with(LEATHER, values), 12.0), leather_with(LEATHER, values)
    )
    for name in ("along 0", "across 0", "height 0"):
        assert press.prediction(name)(values) == pytest.approx(solved[name], abs=5e-4)
    for name in ("pull-in along", "pull-in across"):
        assert press.prediction(name)(values) == pytest.approx(solved[name], abs=0.05)
    for name in ("log stretch use", "log grain strain"):
        assert math.exp(press.prediction(name)(values)) == pytest.approx(
            math.exp(solved[name]), rel=0.02
        )


@pytest.fixture(scope="module")
def sharp() -> Callable[[float], SheetForetold]:
    """The sharp top at three depths."""
    belief = leather_prior(LEATHER)
    solved = {d: plug_sheet(LEATHER, d, SHARP_MM) for d in (6.0, 8.0, 10.0)}
    plugs = {d: sheet_foretold(one, LEATHER, belief, disc()) for d, one in solved.items()}
    return plugs.__getitem__


def test_what_a_disc_uses_of_its_limits_is_what_the_solver_says_whatever_its_grain_bears(
    sharp: Callable[[float], SheetForetold],
) -> None:
    """At a depth that is solved, for a grain that bears less: 3 % of the share, the fit's own."""
    belief = leather_prior(LEATHER)
    values = belief.values | {"grain_limit": 1.35}
    weak = leather_with(LEATHER, {"grain_limit": 1.35})
    grains = []
    for depth in (8.0, 10.0):
        use = use_of(plug_sheet(LEATHER, depth, SHARP_MM), weak)
        grain, sheet, either = (
            used_at(sharp, depth, of)(values) for of in ("grain", "sheet", "either")
        )
        assert grain == pytest.approx(math.log(use.grain.max()), abs=0.03)
        assert sheet == pytest.approx(math.log(use.stretch.max()), abs=0.03)
        assert either == max(grain, sheet)
        assert grain > 0.15 + used_at(sharp, depth, "grain")(belief.values)
        grains.append(grain)
    # half way on the logarithm of the depth it is half way on the logarithm of the share
    middle = used_at(sharp, math.sqrt(80.0), "grain")(values)
    assert middle == pytest.approx(sum(grains) / 2.0, rel=1e-9)


def test_a_disc_that_cracked_between_two_depths_is_read_half_way(
    sharp: Callable[[float], SheetForetold],
) -> None:
    """It says that all of the grain's share was used there, but for half the step either way."""
    belief = leather_prior(LEATHER)

    def pressed(one: BenchReading) -> Callable[[Values], float]:
        return used_at(sharp, one.value, one.kind.cracks)

    def seen(what: ReadingKind, value: float, of: float | None = None) -> Observation:
        one = BenchReading(what=what, subject="leather", value=value, of=of, day=date(2026, 1, 1))
        return observation("", one, pressed, Catalogues(), belief.values)

    at = {d: used_at(sharp, d, "grain")(belief.values) for d in (8.0, 9.0)}
    between = seen("first crack at depth", 9.0, 8.0)
    assert (between.value, between.bound, between.error) == (0.0, "", 0.12)
    assert between.half == pytest.approx((at[9.0] - at[8.0]) / 2.0)
    assert between.predict(belief.values) == pytest.approx((at[9.0] + at[8.0]) / 2.0)
    for what, bound in (("first crack at depth", "above"), ("no crack to depth", "below")):
        one = seen(what, 9.0)  # type: ignore[arg-type]
        assert (one.bound, one.half, one.predict(belief.values)) == (bound, 0.0, at[9.0])
    torn = seen("torn at depth", 9.0, 8.0)
    assert torn.predict(belief.values) < between.predict(belief.values) - 0.2


def test_dry_sizes_are_foretold_far_from_the_middle_too(press: SheetForetold) -> None:
    """Shrinkage, restraint and set two deviations off: 0.03 mm over 40, a fifth of a calliper's.

    A parabola of their logarithms is further off.
    """
    belief: Belief = press.surrogate.belief
    for side in (-2.0, 2.0):
        logs = belief.mean.copy()
        rows = [belief.place(name) for name in DRY]
        logs[rows] += side * belief.deviations[rows]
        values = belief.values_at(logs)
        own = leather_with(LEATHER, values)
        solved = measures_of(plug_sheet(own, 12.0), own)
        for name in ("along 0", "across 0"):
            assert 40.0 * press.prediction(name)(values) == pytest.approx(
                40.0 * solved[name], abs=0.03
            )

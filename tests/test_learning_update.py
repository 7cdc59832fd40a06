"""Beliefs after readings: closed forms, an independent regression, a grid; odd readings."""

import functools
import math
from dataclasses import replace
from itertools import permutations
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.design.bench_reading import Bound
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats
from hidewright.learning.belief import Belief, Predict, prior
from hidewright.learning.quantities import BOARD, EXPONENT, LEATHER, Quantity
from hidewright.learning.update import MOST_WIDER, ODD, Observation, adapted, learned, updated

KERF = BOARD[0]
LIKELY = NormalDist().inv_cdf(0.95)
THREE = tuple(
    Quantity(name=name, words=name, unit="", spread=s)
    for name, s in zip("abc", (0.3, 0.5, 0.2), strict=True)
)


def kerf(likely: float = 0.2, spread: float = 0.25) -> Belief:
    return prior({"kerf_mm": likely}, (KERF,), kerf_mm=spread)


def of_log(key: str, value: float, error: float, *, keep: bool = False) -> Observation:
    """A reading of the logarithm itself: linear, so that the closed form is exact."""
    return Observation(
        key=key, value=value, error=error, predict=lambda v: math.log(v["kerf_mm"]), keep=keep
    )


def linear(row: Floats) -> Predict:
    return lambda v: float(sum(x * math.log(v[n]) for x, n in zip(row, "abc", strict=True)))


def test_readings_of_a_logarithm_give_the_conjugate_posterior_of_a_normal_mean() -> None:
    before = kerf()
    readings = [math.log(0.17), math.log(0.18), math.log(0.165)]
    after = updated(before, [of_log(str(k), y, 0.08) for k, y in enumerate(readings)])
    # normal mean, known variance: precisions add, the mean is weighted by them
    precision = 1 / 0.25**2 + 3 / 0.08**2
    mean = (math.log(0.2) / 0.25**2 + sum(readings) / 0.08**2) / precision
    assert after.mean[0] == pytest.approx(mean, abs=1e-9)
    assert after.spread[0, 0] == pytest.approx(1 / precision, rel=1e-9)
    told = after.interval("kerf_mm")
    away = LIKELY / math.sqrt(precision)
    assert told.likely == pytest.approx(math.exp(mean), rel=1e-9)  # the lognormal's median
    assert (told.low, told.high) == pytest.approx((math.exp(mean - away), math.exp(mean + away)))


def test_few_readings_move_a_belief_a_little_and_many_decide() -> None:
    before, read = kerf(0.2, 0.25), math.log(0.15)
    moved = []
    for count in (1, 4, 100):
        after = updated(before, [of_log(str(k), read, 0.5) for k in range(count)])
        moved.append((after.mean[0] - math.log(0.2)) / (read - math.log(0.2)))
    # weight of n readings of error e against a prior of spread s: n s^2 / (n s^2 + e^2)
    assert moved == pytest.approx([n * 0.0625 / (n * 0.0625 + 0.25) for n in (1, 4, 100)], abs=1e-8)
    assert moved[0] < 0.25 < 0.95 < moved[2]


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 5))
def test_linear_readings_agree_with_a_gaussian_regression_in_any_order_and_grouping(
    seed: int, count: int
) -> None:
    draw = np.random.default_rng(seed)
    rows, values = draw.normal(size=(count, 3)), draw.normal(size=count)
    errors = draw.uniform(0.05, 1.0, count)
    before = prior({"a": 1.0, "b": 2.0, "c": 0.5}, THREE)
    seen = [
        Observation(key=str(k), value=values[k], error=errors[k], predict=linear(rows[k]))
        for k in range(count)
    ]
    # least squares of the stacked system, by numpy alone
    start, sd = np.log([1.0, 2.0, 0.5]), np.array([0.3, 0.5, 0.2])
    matrix = np.vstack([np.diag(1 / sd), rows / errors[:, None]])
    right = np.concatenate([start / sd, values / errors])
    mean = np.linalg.lstsq(matrix, right, rcond=None)[0]
    spread = np.linalg.inv(matrix.T @ matrix)
    for order in list(permutations(range(count)))[:6]:
        batch = updated(before, [seen[k] for k in order])
        one_by_one = before
        for k in order:
            one_by_one = updated(one_by_one, [seen[k]])
        for after in (batch, one_by_one):
            assert after.mean == pytest.approx(mean, abs=1e-7)
            assert after.spread == pytest.approx(spread, abs=1e-7)


def test_a_reading_in_mm_agrees_with_the_posterior_on_a_grid() -> None:
    before = kerf(0.203, 0.25)
    seen = [
        Observation(key=str(k), value=y, error=0.02, predict=lambda v: v["kerf_mm"])
        for k, y in enumerate((0.16, 0.175, 0.17))
    ]
    after = updated(before, seen)
    logs = np.linspace(math.log(0.203) - 2, math.log(0.203) + 2, 200_001)
    weight = -0.5 * ((logs - math.log(0.203)) / 0.25) ** 2
    for one in seen:
        weight = weight - 0.5 * ((one.value - np.exp(logs)) / one.error) ** 2
    weight = np.exp(weight - weight.max())
    total = np.cumsum(weight) / weight.sum()
    grid = np.exp(np.interp([0.05, 0.5, 0.95], total, logs))
    told = after.interval("kerf_mm")
    assert (told.low, told.likely, told.high) == pytest.approx(grid, rel=0.01)


def test_a_growth_that_reads_below_nothing_stays_above_nothing() -> None:
    growth = next(q for q in LEATHER if q.name == "soak_growth_along")
    before = prior({"soak_growth_along": 0.005}, (growth,))
    reading = Observation(
        key="r", value=99.9, error=0.15, predict=lambda v: 100 * (1 + v["soak_growth_along"])
    )
    told = updated(before, [reading]).interval("soak_growth_along")
    assert 0.0 < told.low < told.likely < 0.005


def test_a_reading_is_judged_by_those_before_it_and_an_odd_one_left_out() -> None:
    before = kerf()
    good, slip = of_log("good", math.log(0.18), 0.1), of_log("slip", math.log(0.5), 0.1)
    result = learned(before, [good, slip])
    alone = learned(before, [good])
    one, two = result.judged
    assert not one.questioned
    assert one.off == pytest.approx((math.log(0.18) - math.log(0.2)) / math.hypot(0.25, 0.1))
    assert two.questioned
    deviation = math.hypot(float(alone.after.deviations[0]), 0.1)
    assert two.off == pytest.approx((math.log(0.5) - float(alone.after.mean[0])) / deviation)
    assert two.foretold.low == pytest.approx(alone.after.mean[0] - LIKELY * deviation)
    assert result.after.mean.tobytes() == alone.after.mean.tobytes()
    assert result.after.spread.tobytes() == alone.after.spread.tobytes()


@pytest.mark.parametrize(("share", "questioned"), [(0.999, False), (1.001, True)])
def test_the_line_between_honest_and_odd_is_three_deviations(
    share: float, *, questioned: bool
) -> None:
    away = share * ODD * math.hypot(0.25, 0.1)
    (verdict,) = learned(kerf(), [of_log("r", math.log(0.2) + away, 0.1)]).judged
    assert verdict.questioned is questioned


def test_an_odd_reading_that_the_maker_keeps_counts_as_any_other() -> None:
    before = kerf()
    slip = of_log("slip", math.log(0.5), 0.1)
    kept = learned(before, [replace(slip, keep=True)])
    assert not kept.judged[0].questioned
    assert kept.after.mean.tolist() == adapted(before, [slip])[1].mean.tolist()
    assert abs(kept.judged[0].off) > ODD


@given(st.floats(0.0, 3.0), st.floats(0.02, 1.0))
def test_a_prior_is_widened_to_the_largest_factor_that_explains_a_reading_as_well(
    deviations: float, error: float
) -> None:
    """One reading r of variance v(f) = f^2 s^2 + e^2: log v(f) + r^2 / v(f) is as at f = 1."""
    r = deviations * math.hypot(0.25, error)
    wider, after = adapted(kerf(), [of_log("r", math.log(0.2) + r, error)])

    def unlikely(factor: float) -> float:
        variance = (factor * 0.25) ** 2 + error**2
        return math.log(variance) + r**2 / variance

    step = (MOST_WIDER - 1.0) / 400
    assert unlikely(wider) <= unlikely(1.0) + 1e-9
    assert wider > MOST_WIDER - step / 2 or unlikely(wider + step) > unlikely(1.0)
    # ... and the reading then counts against a prior so much wider, by the conjugate form
    variance = (wider * 0.25) ** 2
    assert after.mean[0] - math.log(0.2) == pytest.approx(
        r * variance / (variance + error**2), abs=1e-7
    )
    assert after.spread[0, 0] == pytest.approx(1 / (1 / variance + 1 / error**2), rel=1e-6)


def test_readings_no_further_off_than_the_prior_says_leave_it_as_it_states() -> None:
    """Below one deviation the likelihood falls with the factor at 1 already."""
    inside = of_log("r", math.log(0.2) + 0.99 * math.hypot(0.25, 0.1), 0.1)
    outside = of_log("r", math.log(0.2) + 1.2 * math.hypot(0.25, 0.1), 0.1)
    assert learned(kerf(), [inside]).wider == 1.0
    assert learned(kerf(), [outside]).wider > 1.0
    assert learned(kerf(), []).wider == 1.0
    assert learned(kerf(), [inside]).after.mean.tolist() == updated(kerf(), [inside]).mean.tolist()


def test_only_quantities_that_readings_bear_on_are_informed() -> None:
    before = prior({"a": 1.0, "b": 2.0, "c": 0.5}, THREE)
    seen = Observation(key="r", value=0.1, error=0.1, predict=linear(np.array([1.0, 0.0, 0.0])))
    assert learned(before, [seen]).informed == ("a",)
    assert learned(before, []).informed == ()


def test_a_prediction_has_the_doubt_of_what_it_depends_on_and_of_the_next_reading() -> None:
    before = prior({"a": 1.0, "b": 2.0, "c": 0.5}, THREE)
    told = before.foretold(linear(np.array([2.0, -1.0, 0.0])), error=0.4)
    deviation = math.sqrt((2 * 0.3) ** 2 + 0.5**2 + 0.4**2)
    assert told.likely == pytest.approx(-math.log(2.0))
    assert told.high - told.likely == pytest.approx(LIKELY * deviation, rel=1e-6)
    half = before.foretold(linear(np.array([2.0, -1.0, 0.0])), share=0.5)
    assert half.high - half.likely == pytest.approx(
        NormalDist().inv_cdf(0.75) * math.hypot(0.6, 0.5), rel=1e-6
    )


@given(st.sampled_from((*BOARD, *LEATHER, EXPONENT)), st.floats(-8.0, -0.01))
def test_a_quantity_never_leaves_what_it_can_be_and_comes_back_from_its_logarithm(
    quantity: Quantity, log: float
) -> None:
    value = quantity.from_log(log)
    assert {"value": value > 0, "1 - value": value < 1, "value - 1": value > 1}[quantity.scale]
    assert quantity.to_log(value) == pytest.approx(log, rel=1e-6, abs=1e-9)


def test_an_impossible_value_is_refused_in_words() -> None:
    with pytest.raises(RequestError, match=r"kerf of 0: it is above 0"):
        KERF.to_log(0.0)
    with pytest.raises(RequestError, match="it is below 1"):
        next(q for q in LEATHER if q.name == "set_ratio").to_log(1.0)


LIMIT = Quantity(name="limit", words="limit", unit="x", spread=0.2)
SCATTER = 0.12


def discs(*seen: tuple[float, Bound]) -> list[Observation]:
    """Discs of test plugs, (log share of a usual limit that is used there, how it came out)."""
    return [
        Observation(
            key=str(k),
            value=0.0,
            error=SCATTER,
            predict=lambda v, used=used: used - math.log(v["limit"]),  # type: ignore[misc]
            bound=bound,
        )
        for k, (used, bound) in enumerate(seen)
    ]


def limit(spread: float = 0.2) -> Belief:
    return prior({"limit": 1.0}, (LIMIT,), limit=spread)


def on_grid(seen: list[Observation]) -> tuple[Floats, Floats]:
    """Logarithms of the limit, and the exact density there: Gaussian times Gaussian integrals."""
    x = np.linspace(-1.5, 1.5, 6001)
    log_density = -0.5 * (x / 0.2) ** 2
    for one in seen:
        used = one.predict({"limit": 1.0})
        share = NormalDist()
        z = (used - x) / SCATTER * (1.0 if one.bound == "above" else -1.0)
        log_density += np.log([max(share.cdf(each), 1e-300) for each in z])
    density = np.exp(log_density - log_density.max())
    return x, density / density.sum()


def test_a_disc_that_cracked_moves_the_limit_as_the_probit_does() -> None:
    """One reading of a side, Gaussian prior: mean m + s^2 / d phi(z) / Phi(z), z = (u - m) / d.

    d^2 = s^2 + e^2, with the sign of the side (C. E. Rasmussen, C. K. I. Williams, Gaussian
    Processes for Machine Learning, 2006, eq. 3.85). The most probable value, which is what is
    learned, lies beside that mean by its skewness: by less than a fifth of the prior's deviation
    while the reading is one that was to be expected.
    """
    for used, bound, side in ((0.1, "above", -1.0), (-0.1, "below", 1.0), (0.0, "above", -1.0)):
        seen = discs((used, bound))  # type: ignore[arg-type]
        d = math.hypot(0.2, SCATTER)
        z = -side * used / d
        w = NormalDist().pdf(z) / NormalDist().cdf(z)
        x, share = on_grid(seen)
        assert float(x @ share) == pytest.approx(side * 0.04 / d * w, abs=1e-6)  # the grid is right
        after = updated(limit(), seen)
        assert float(after.mean[0]) == pytest.approx(float(x[share.argmax()]), abs=5e-4)
        assert float(after.mean[0]) == pytest.approx(side * 0.04 / d * w, abs=0.04)


def test_a_limit_between_a_sound_disc_and_a_cracked_one_has_the_exact_curvature() -> None:
    seen = discs((-0.05, "below"), (0.2, "above"), (0.3, "above"))
    after = updated(limit(), seen)
    x, share = on_grid(seen)
    assert float(after.mean[0]) == pytest.approx(float(x[share.argmax()]), abs=5e-4)
    k, step = int(share.argmax()), x[1] - x[0]
    bent = (math.log(share[k - 40]) - 2 * math.log(share[k]) + math.log(share[k + 40])) / (
        (40 * step) ** 2
    )
    assert float(after.spread[0, 0]) == pytest.approx(-1.0 / bent, rel=2e-3)
    mean = float(x @ share)
    assert float(after.deviations[0]) == pytest.approx(
        math.sqrt(float((x - mean) ** 2 @ share)), rel=0.05
    )


def test_the_order_of_discs_does_not_matter_and_unsurprising_ones_leave_the_prior() -> None:
    seen = discs((-0.3, "below"), (0.1, "below"), (0.4, "above"))
    means = [float(updated(limit(), list(one)).mean[0]) for one in permutations(seen)]
    assert means == pytest.approx([means[0]] * 6, abs=1e-9)
    assert adapted(limit(), seen)[0] == 1.0


def test_a_disc_on_its_own_side_is_never_odd_and_far_on_the_other_it_is() -> None:
    far = 3.1 * math.hypot(0.2, SCATTER)
    verdicts = [
        learned(limit(), discs(one)).judged[0]
        for one in ((-9.0, "below"), (9.0, "above"), (far, "below"), (-far, "above"))
    ]
    assert [one.questioned for one in verdicts] == [False, False, True, True]
    assert [one.off for one in verdicts] == pytest.approx([0.0, 0.0, -3.1, 3.1], abs=1e-6)


def pressed_deeper(middle: float, half: float, error: float = SCATTER) -> Observation:
    """A disc that was sound at a share of a usual limit and cracked at a larger one, logarithms."""
    return Observation(
        key="",
        value=0.0,
        error=error,
        predict=lambda v: middle - math.log(v["limit"]),
        half=half,
    )


def of_stretch(middle: float, half: float) -> tuple[Floats, Floats]:
    """Logarithms of the limit, and the density there: Gaussian times a Gaussian over a stretch."""
    x, cdf = np.linspace(-1.5, 1.5, 6001), NormalDist().cdf
    share = [cdf((middle + half - y) / SCATTER) - cdf((middle - half - y) / SCATTER) for y in x]
    density = np.exp(-0.5 * (x / 0.2) ** 2) * np.array(share)
    return x, density / density.sum()


@pytest.mark.parametrize("half", [0.01, 0.05, 0.2, 0.4])
@pytest.mark.parametrize("middle", [-0.5, -0.1, 0.0, 0.3])
def test_a_limit_that_lies_in_a_stretch_is_the_most_probable_one_with_its_own_curvature(
    middle: float, half: float
) -> None:
    after = updated(limit(), [pressed_deeper(middle, half)])
    x, share = of_stretch(middle, half)
    k, step = int(share.argmax()), x[1] - x[0]
    assert float(after.mean[0]) == pytest.approx(float(x[k]), abs=step)
    bent = np.log(share[[k - 20, k, k + 20]]) @ [1.0, -2.0, 1.0] / (20 * step) ** 2
    assert float(after.spread[0, 0]) == pytest.approx(-1.0 / bent, rel=5e-3)


def test_a_stretch_of_no_width_is_a_value_and_a_wide_one_says_nothing_in_its_middle() -> None:
    value = updated(limit(), [pressed_deeper(0.3, 0.0)])
    assert float(value.mean[0]) == pytest.approx(0.3 * 0.04 / (0.04 + SCATTER**2), abs=1e-7)
    for half in (1e-5, 2e-3):  # on both sides of where it is taken to be a value
        narrow = updated(limit(), [pressed_deeper(0.3, half * SCATTER)])
        assert float(narrow.mean[0]) == pytest.approx(float(value.mean[0]), abs=1e-6)
        assert float(narrow.spread[0, 0]) == pytest.approx(float(value.spread[0, 0]), rel=1e-5)
    wide = updated(limit(), [pressed_deeper(0.1, 3.0)])
    assert float(wide.mean[0]) == pytest.approx(0.0, abs=1e-9)
    assert float(wide.spread[0, 0]) == pytest.approx(0.04, rel=1e-9)


def test_a_disc_is_no_odder_than_its_stretch_is_far_off() -> None:
    d = math.hypot(0.2, SCATTER)
    inside, near, far = (
        learned(limit(), [pressed_deeper(middle, 0.1)]).judged[0]
        for middle in (0.09, 0.1 + 2.9 * d, 0.1 + 3.1 * d)
    )
    assert (inside.off, near.questioned, far.questioned) == (0.0, False, True)
    assert (near.off, far.off) == pytest.approx((-2.9, -3.1), abs=1e-6)


def test_discs_widen_a_prior_as_the_exact_readings_of_their_slope_and_curvature_do() -> None:
    """A stretch of h deviations at z, slope g, curvature c: a value at z - g / c, as firm."""
    seen = [pressed_deeper(0.34, 0.1), pressed_deeper(0.2, 0.05)]
    wider, _ = adapted(limit(), seen)
    assert 1.2 < wider < MOST_WIDER
    at, pdf, cdf = updated(limit(), seen), NormalDist().pdf, NormalDist().cdf
    exact = []
    for one in seen:
        z, h = one.predict(at.values) / SCATTER, one.half / SCATTER
        share = cdf(z + h) - cdf(z - h)
        g = -(pdf(z + h) - pdf(z - h)) / share
        c = g**2 + ((z + h) * pdf(z + h) - (z - h) * pdf(z - h)) / share
        exact.append(
            replace(one, half=0.0, value=SCATTER * (z - g / c), error=SCATTER / math.sqrt(c))
        )
    assert adapted(limit(), exact)[0] == pytest.approx(wider, abs=0.011)
    # a disc that only names its side, far off, does so too; an expected one does not
    assert adapted(limit(), discs((1.0, "below"), (0.9, "below")))[0] > 1.2
    assert adapted(limit(), discs((-1.0, "below"), (0.9, "above")))[0] == 1.0


#: What the sharp top uses of a usual grain's limit at 2, 3 ... 18 mm, as solved.
SHARP = np.log(np.interp(
    np.log(np.arange(2, 19)),
    np.log([2, 3, 4, 5, 6, 8, 10, 12, 14, 16, 18]),
    [0.75, 0.78, 0.82, 0.87, 0.92, 1.07, 1.17, 1.23, 1.28, 1.32, 1.34],
))  # fmt: skip


@functools.cache
def range_of(firsts: tuple[int, ...]) -> tuple[float, float]:
    """Middle and deviation that discs leave whose first cracks were at these steps; 17 is none."""
    seen: list[Observation] = []
    for k in firsts:
        if 0 < k < len(SHARP):
            low, high = SHARP[k - 1], SHARP[k]
            seen.append(pressed_deeper((high + low) / 2.0, (high - low) / 2.0))
        else:
            seen += discs((SHARP[k], "above") if k == 0 else (SHARP[-1], "below"))
    after = adapted(limit(), seen)[1]
    return float(after.mean[0]), float(after.deviations[0])


@pytest.mark.parametrize("beside", [-1.0, 0.0, 1.0])
def test_nine_times_in_ten_the_true_limit_lies_in_the_range_of_three_discs(beside: float) -> None:
    """2,000 workshops; limits from the prior, and all of them a deviation to either side of it."""
    draw = np.random.default_rng(8)
    inside = 0
    for _ in range(2000):
        truth = 0.2 * (draw.standard_normal() + beside)
        bears = truth + SCATTER * draw.standard_normal(3)
        firsts = tuple(sorted(int(np.searchsorted(SHARP, one)) for one in bears))
        mean, deviation = range_of(firsts)
        inside += abs(truth - mean) <= LIKELY * deviation
    assert 0.85 <= inside / 2000 <= 0.95, inside / 2000


def test_of_books_of_old_three_discs_of_yes_and_no_hold_the_limit_too() -> None:
    """Used as the plug of 6, 12 and 18 mm is with its round top; the prior right, and as wrong."""
    kept: dict[tuple[bool, ...], tuple[float, float]] = {}
    for beside, least in ((0.0, 0.85), (1.0, 0.70)):
        draw = np.random.default_rng(8)
        inside = 0
        # what readings say depends on which discs cracked alone: 8 answers, each learned once
        for _ in range(2000):
            truth = 0.2 * (draw.standard_normal() + beside)
            shares = np.log([0.61, 0.93, 1.07])
            cracked = tuple(shares - truth + SCATTER * draw.standard_normal(3) > 0.0)
            if cracked not in kept:
                seen = discs(
                    *((u, "above" if c else "below") for u, c in zip(shares, cracked, strict=True))
                )
                after = adapted(limit(), seen)[1]
                kept[cracked] = float(after.mean[0]), float(after.deviations[0])
            mean, deviation = kept[cracked]
            inside += abs(truth - mean) <= LIKELY * deviation
        assert least <= inside / 2000 <= 0.95, inside / 2000

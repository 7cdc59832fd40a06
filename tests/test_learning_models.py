"""What a reading should be, priors of the catalogue, and curves fitted to slow predictions."""

import math
from datetime import date
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.costing.learning import mean_time
from hidewright.design.bench_reading import BenchReading, ReadingKind
from hidewright.forming.on_blank import behaviour_of
from hidewright.learning.belief import Predict, Values, prior
from hidewright.learning.models import Catalogues, free_shrinkage, observation
from hidewright.learning.priors import (
    board_prior,
    leather_prior,
    leather_values,
    leather_with,
    work_prior,
)
from hidewright.learning.quantities import Quantity
from hidewright.learning.surrogate import REACH, fitted
from hidewright.learning.update import Observation, adapted

SHELF = built_in_catalogue()
LEATHER = find(SHELF.leathers, "vegetable-tanned shoulder 1.4-1.6 mm")
DAY = date(2026, 3, 2)


def expected(what: ReadingKind, values: dict[str, float], of: float | None = None) -> float:
    def none(_: BenchReading) -> Predict:
        raise AssertionError("nothing is pressed")

    reading = BenchReading(what=what, subject="s", value=1.0, of=of, day=DAY)
    return observation("k", reading, none, Catalogues(), {}).predict(values)


def test_a_square_dried_free_is_foretold_as_the_forming_craft_dries_it() -> None:
    values = leather_values(LEATHER)
    dries = behaviour_of(LEATHER)
    assert expected("dried length along", values, 100.0) == pytest.approx(
        100.0 * math.exp(-dries.shrink_along), rel=1e-12
    )
    assert expected("dried length across", values, 101.0) == pytest.approx(
        101.0 * math.exp(-dries.shrink_across), rel=1e-12
    )


def test_growth_thickness_and_kerf_are_foretold_as_what_they_mean() -> None:
    values = leather_values(LEATHER) | {"kerf_mm": 0.2}
    assert expected("soaked length along", values, 100.0) == pytest.approx(100.5)
    assert expected("soaked length across", values, 100.0) == pytest.approx(101.0)
    assert expected("soaked thickness", values, 1.5) == pytest.approx(1.575)
    assert expected("leather thickness", values) == 1.5
    assert expected("kerf", values) == 0.2
    assert expected("drying hours", values | {"drying_hours": 1.6}, 9.0) == pytest.approx(4.5)


@pytest.mark.parametrize("count", [1, 2, 10, 24])
def test_minutes_of_a_batch_are_foretold_by_the_same_curve_as_the_price(count: int) -> None:
    reading = BenchReading(
        what="minutes", subject="sew", value=1.0, of=20.0 * count, count=count, day=DAY
    )
    belief = work_prior(("sew",), 0.95)
    at = observation("k", reading, lambda r: lambda v: 0.0, Catalogues(times_hold_at=10), {})
    usual = mean_time(0.95, Fraction(1), 10)
    assert at.predict(belief.values) == pytest.approx(
        20.0 * count * float(mean_time(0.95, Fraction(1), count) / usual)
    )


def test_the_catalogues_own_values_change_nothing_in_any_leather() -> None:
    for leather in SHELF.leathers:
        if leather.tannage != "vegetable":
            continue
        same = leather_with(leather, leather_values(leather))
        for name in ("thickness_min_mm", "thickness_max_mm", "stretch_limit_along", "set_ratio"):
            assert getattr(same, name) == pytest.approx(getattr(leather, name), rel=1e-12)


def test_learned_values_go_where_they_belong_in_a_row() -> None:
    own = leather_with(LEATHER, {"thickness_mm": 1.6, "stiffness": 2.0, "stretch_limit": 1.2})
    assert (own.thickness_min_mm, own.thickness_max_mm) == pytest.approx((1.5, 1.7))
    assert own.wet_matrix_MPa == 2 * LEATHER.wet_matrix_MPa
    assert own.wet_fibre_across_MPa == 2 * LEATHER.wet_fibre_across_MPa
    assert own.stretch_limit_across == 1.2
    # along keeps its share of the strain across: ln along / ln across
    assert math.log(own.stretch_limit_along) / math.log(1.2) == pytest.approx(
        math.log(1.3) / math.log(1.35)
    )
    assert own.wet_friction == LEATHER.wet_friction


def test_no_belief_is_so_wild_that_the_forming_craft_refuses_it() -> None:
    wild = leather_with(LEATHER, {"shrinkage_across": 0.15, "held_shrinkage": 0.95})
    assert behaviour_of(wild).shrink_across == pytest.approx(0.29, abs=1e-4)
    assert behaviour_of(wild).shrink_along == pytest.approx(-math.log(0.99) / 0.05, rel=1e-6)


def test_a_prior_is_as_wide_as_the_catalogue_says_where_it_says_so() -> None:
    board = find(SHELF.boards, "clear acrylic 5 mm")
    told = board_prior(board)
    assert told.deviations[told.place("thickness_mm")] == pytest.approx(0.9 / 2 / 5)
    leather = leather_prior(LEATHER)
    assert leather.interval("thickness_mm").low == pytest.approx(1.4, abs=0.004)
    assert leather.interval("thickness_mm").high == pytest.approx(1.6, abs=0.004)
    assert leather.values == pytest.approx(leather_values(LEATHER))


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_a_curve_runs_through_every_quadratic_of_logarithms(seed: int) -> None:
    draw = np.random.default_rng(seed)
    names = ("a", "b", "c")
    quantities = tuple(Quantity(name=n, words=n, unit="", spread=0.2) for n in names)
    belief = prior({"a": 1.0, "b": 2.0, "c": 0.7}, quantities)
    full, slope, at = draw.normal(size=(3, 3)), draw.normal(size=3), draw.normal(size=3)

    def truth(values: dict[str, float]) -> dict[str, float]:
        x = np.log([values[n] for n in names])
        return {"y": float(1.0 + slope @ x + x @ full @ x)}

    curve = fitted(belief, names, lambda v: truth(dict(v)))
    values = belief.values_at(belief.mean + 0.3 * REACH * at)
    assert curve.predict("y", values) == pytest.approx(truth(values)["y"], rel=1e-7, abs=1e-7)


def test_a_curve_does_not_depend_on_what_its_prediction_does_not_depend_on() -> None:
    names = ("a", "b", "c")
    quantities = tuple(Quantity(name=n, words=n, unit="", spread=0.4) for n in names)
    belief = prior({"a": 1.0, "b": 2.0, "c": 0.7}, quantities)
    # far from a quadratic in a and c, and nothing to do with b
    curve = fitted(belief, names, lambda v: {"y": v["a"] ** 5 + math.sin(9.0 * v["c"])})
    at = belief.values_at(belief.mean + np.array([0.2, 0.0, -0.3]))
    with_b = belief.values_at(belief.mean + np.array([0.2, 0.5, -0.3]))
    assert curve.predict("y", at) == pytest.approx(curve.predict("y", with_b), rel=1e-12)


@pytest.mark.parametrize("read", [40.0, 48.0, 60.0, 96.0])
def test_a_square_that_is_read_however_small_is_learned_from(read: float) -> None:
    """Of 100 mm; on the way to the answer shrinkages are tried that leave no leather at all.

    What is learned foretells the reading: the tool's error is far less than the prior's doubt.
    """
    belief = leather_prior(LEATHER)

    def dry(values: Values) -> float:
        return 100.0 * free_shrinkage(values["shrinkage_across"], values["held_shrinkage"])

    _, after = adapted(belief, [Observation(key="r", value=read, error=0.15, predict=dry)])
    assert dry(after.values) == pytest.approx(read, abs=0.05)

"""Set, shrinkage and spring-back: every way with its inverse."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.linalg import expm

from hidewright.errors import RequestError
from hidewright.forming.drying_time import DryingStage, TimeLaw
from hidewright.forming.set import (
    PARAMETERS,
    DryingBehaviour,
    dry_thickness,
    dryness_to_unmould,
    formed_strain,
    log_strain,
    natural_strain,
    soaked_thickness,
)
from hidewright.geometry.segment import Floats

SHARES = st.floats(0.05, 0.95)
BEHAVIOURS = st.builds(
    DryingBehaviour,
    set_ratio=st.floats(0.5, 0.99),
    restraint=SHARES,
    shrink_along=st.floats(0.005, 0.15),
    shrink_across=st.floats(0.005, 0.15),
    shrink_thickness=st.floats(0.0, 0.3),
    time=st.builds(TimeLaw, tau_hours=st.floats(1, 10)),
)
STRAINS = arrays(np.float64, (5, 2, 2), elements=st.floats(-0.4, 0.4)).map(
    lambda a: (a + np.swapaxes(a, 1, 2)) / 2
)
DRYNESS = arrays(np.float64, 5, elements=st.floats(0, 1))
STAGES = (
    DryingStage(name="pressed", hours=2, faces="vents", vent_share=0.4),
    DryingStage(name="on the plug", hours=5, faces="one", humidity=0.45),
)


@given(STRAINS, BEHAVIOURS, DRYNESS)
@settings(deadline=None)
def test_what_to_form_is_the_inverse_of_what_it_dries_to(
    strain: Floats, behaviour: DryingBehaviour, dryness: Floats
) -> None:
    natural = natural_strain(strain, behaviour, dryness)
    assert formed_strain(natural, behaviour, dryness) == pytest.approx(strain, abs=1e-12)


@given(STRAINS, BEHAVIOURS, arrays(np.float64, 5, elements=st.floats(0.5, 6)))
@settings(deadline=None)
def test_the_soaked_thickness_is_the_inverse_of_the_dry_one(
    strain: Floats, behaviour: DryingBehaviour, thickness: Floats
) -> None:
    dry = dry_thickness(thickness, strain, behaviour)
    assert soaked_thickness(dry, strain, behaviour) == pytest.approx(thickness, rel=1e-12)


def test_a_stretched_sheet_dries_as_the_formula_says_by_hand() -> None:
    behaviour = DryingBehaviour(
        set_ratio=0.8, restraint=0.5, shrink_along=0.04, shrink_across=0.06, shrink_thickness=0.1
    )
    strain = np.array([[0.10, 0.02], [0.02, 0.20]])
    wanted = [[0.08 - 0.75 * 0.04, 0.016], [0.016, 0.16 - 0.75 * 0.06]]
    assert natural_strain(strain, behaviour, 0.5) == pytest.approx(np.array(wanted))
    assert dry_thickness(np.array(2.0), strain, behaviour) == pytest.approx(
        2.0 * math.exp(-0.8 * 0.3 - 0.1)
    )


def test_leather_that_sets_wholly_and_does_not_shrink_dries_as_it_was_formed() -> None:
    behaviour = DryingBehaviour(set_ratio=1, shrink_along=0, shrink_across=0, shrink_thickness=0)
    strain = np.array([[[0.1, 0.03], [0.03, -0.05]]])
    assert natural_strain(strain, behaviour, 0.3) == pytest.approx(strain)


def test_flat_leather_shrinks_freely_unless_held_and_less_the_longer_it_is_held() -> None:
    behaviour = DryingBehaviour()
    flat = np.zeros((4, 2, 2))
    natural = natural_strain(flat, behaviour, np.array([0.0, 0.4, 0.8, 1.0]))
    assert natural[0] == pytest.approx(-np.diag([0.04, 0.06]))
    assert natural[3] == pytest.approx(-(1 - 0.8) * np.diag([0.04, 0.06]))
    assert (np.diff(natural[:, 0, 0]) > 0).all()


@given(STRAINS)
@settings(deadline=None)
def test_a_log_strain_is_the_logarithm_of_the_stretch(strain: Floats) -> None:
    cauchy_green = np.array([expm(2 * e) for e in strain])
    assert log_strain(cauchy_green) == pytest.approx(strain, abs=1e-12)


@given(BEHAVIOURS, st.floats(20, 300), st.floats(20, 300), st.floats(0.05, 3))
@settings(deadline=None)
def test_at_the_dryness_to_unmould_the_size_lost_is_what_was_allowed(
    behaviour: DryingBehaviour, along: float, across: float, allowed: float
) -> None:
    dryness = dryness_to_unmould(behaviour, along, across, allowed)
    assert 0 <= dryness < 1
    size = np.array([along, across])
    flat = np.zeros((2, 2))

    def measures(d: float) -> Floats:
        kept: Floats = size * np.exp(np.diagonal(natural_strain(flat, behaviour, d)))
        return kept

    lost = (measures(1.0) - measures(dryness)).max()
    if dryness > 0:
        assert lost == pytest.approx(allowed, rel=1e-6)
    else:
        assert lost <= allowed * (1 + 1e-9)


def test_each_parameter_is_assumed_until_it_is_measured() -> None:
    assert DryingBehaviour().assumed == PARAMETERS
    some = DryingBehaviour(measured=frozenset({"restraint", "tau_hours"}))
    assert set(some.assumed) == set(PARAMETERS) - {"restraint", "tau_hours"}
    with pytest.raises(RequestError, match="measured names colour"):
        DryingBehaviour(measured=frozenset({"colour"}))


@pytest.mark.parametrize(
    "wrong",
    [
        {"set_ratio": 0.0},
        {"set_ratio": 1.01},
        {"restraint": 1.2},
        {"shrink_along": -0.01},
        {"shrink_across": 4.0},
        {"shrink_thickness": math.nan},
    ],
)
def test_a_behaviour_out_of_its_limits_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(RequestError, match=next(iter(wrong))):
        DryingBehaviour(**wrong)

"""Drying in stages: paths and their inverses, doubling rules, what is held, remarks."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.forming.drying_time import (
    STILL_AIR_M_S,
    DryingStage,
    TimeLaw,
    dryness_path,
    hours_until,
    slab_fourier,
    slab_moisture,
    stage_remarks,
    time_factor,
    vapour_deficit,
)

THICKNESS = st.floats(0.6, 5.0)
LAWS = st.builds(TimeLaw, tau_hours=st.floats(0.5, 20), thickness_slope=st.floats(1, 2))
STAGES = st.one_of(
    st.builds(
        DryingStage,
        name=st.just("open"),
        hours=st.floats(0.1, 30),
        faces=st.sampled_from(["one", "two"]),
        temperature_C=st.floats(5, 40),
        humidity=st.floats(0.1, 0.9),
        air_speed_m_s=st.floats(0, 5),
    ),
    st.builds(
        DryingStage,
        name=st.just("pressed"),
        hours=st.floats(0.1, 12),
        faces=st.just("vents"),
        vent_share=st.floats(0.05, 1),
    ),
)

RACK = DryingStage(name="rack", hours=1, faces="two")
PRESSED = DryingStage(name="pressed", hours=8, faces="edges", edge_to_edge_mm=90)
ON_PLUG = DryingStage(name="on the plug", hours=10, faces="one", holds=frozenset({"zone"}))


@given(st.floats(1e-9, 1.0))
@settings(deadline=None)
def test_the_fourier_number_of_a_slab_is_the_inverse_of_its_moisture(moisture: float) -> None:
    assert slab_moisture(slab_fourier(moisture)) == pytest.approx(moisture, rel=1e-7, abs=1e-12)


@pytest.mark.parametrize("moisture", [0.0, -0.1, 1.1])
def test_a_slab_is_never_wholly_dry_nor_wetter_than_wet(moisture: float) -> None:
    with pytest.raises(RequestError, match="never wholly dry"):
        slab_fourier(moisture)


@given(st.floats(0.02, 0.98), st.floats(0, 0.9), STAGES, THICKNESS, LAWS)
@settings(deadline=None)
def test_the_hours_until_a_dryness_are_the_inverse_of_the_path(
    dryness: float, share: float, stage: DryingStage, thickness: float, law: TimeLaw
) -> None:
    begun = share * dryness
    first = replace(RACK, hours=hours_until(begun, RACK, thickness, law))
    second = replace(stage, hours=hours_until(dryness, stage, thickness, law, begun))
    path = dryness_path([first, second], thickness, law)
    assert path == pytest.approx([begun, dryness], abs=1e-9)
    assert hours_until(begun, stage, thickness, law, dryness) == 0.0


@given(STAGES, THICKNESS, LAWS, st.floats(0.01, 0.99))
@settings(deadline=None)
def test_a_stage_cut_in_two_dries_as_one(
    stage: DryingStage, thickness: float, law: TimeLaw, share: float
) -> None:
    parts = [
        replace(stage, hours=stage.hours * share),
        replace(stage, hours=stage.hours * (1 - share)),
    ]
    whole = dryness_path([stage], thickness, law)[-1]
    assert dryness_path(parts, thickness, law)[-1] == pytest.approx(whole, abs=1e-9)


def test_leather_at_the_reference_dries_as_a_slab_with_its_time_constant() -> None:
    law = TimeLaw(tau_hours=5)
    dried = dryness_path([replace(RACK, hours=7)], 2.0, law)
    assert dried == pytest.approx(1 - slab_moisture(7 / (math.pi**2 * 5)), abs=1e-14)
    late = dryness_path([replace(RACK, hours=h) for h in (20, 5)], 2.0, law)
    assert (1 - late[1]) / (1 - late[0]) == pytest.approx(math.exp(-1), rel=1e-6)


@given(THICKNESS, st.floats(1, 2), st.floats(0.05, 1))
@settings(deadline=None)
def test_one_open_face_counts_as_twice_the_thickness_and_vents_as_their_share_of_it(
    thickness: float, slope: float, share: float
) -> None:
    one = time_factor(replace(RACK, faces="one"), thickness, slope)
    assert one == pytest.approx(time_factor(RACK, 2 * thickness, slope))
    vents = time_factor(replace(RACK, faces="vents", vent_share=share), thickness, slope)
    assert vents == pytest.approx(one / share)


def test_the_slope_is_the_steepness_of_time_in_thickness_at_two_millimetres() -> None:
    for slope in (1.0, 1.5, 2.0):
        thicker = time_factor(RACK, 2.0 * 1.001, slope)
        assert (thicker - time_factor(RACK, 2.0, slope)) / 0.001 == pytest.approx(slope)
    assert time_factor(RACK, 1.0, 1.7) == pytest.approx(0.5)


def test_only_from_the_edges_time_goes_with_the_square_of_the_width() -> None:
    """As thick a slab as the sheet is wide: at a width of 2 mm it is the reference itself."""
    narrow, wide = (replace(PRESSED, edge_to_edge_mm=w) for w in (2.0, 80.0))
    assert time_factor(narrow, 3.0, 1.5) == pytest.approx(1.0)
    assert time_factor(wide, 3.0, 1.5) == pytest.approx(40.0**2)


def test_half_the_vapour_deficit_takes_twice_the_time() -> None:
    damp = replace(RACK, temperature_C=12, humidity=0.8)
    ratio = vapour_deficit(20, 0.5) / vapour_deficit(12, 0.8)
    assert ratio > 2
    assert time_factor(damp, 2.0, 1.5) == pytest.approx(ratio)


def test_still_air_counts_as_the_least_draught_of_a_room() -> None:
    still = replace(RACK, air_speed_m_s=0.0)
    assert time_factor(still, 2.0, 1.5) == pytest.approx(1.0)
    windy = replace(RACK, air_speed_m_s=10 * STILL_AIR_M_S)
    assert time_factor(windy, 2.0, 1.5) == pytest.approx(10**-0.6)


def test_a_region_is_held_for_the_drying_of_the_stages_that_hold_it() -> None:
    stages = [replace(PRESSED, faces="vents", vent_share=0.3), ON_PLUG, replace(RACK, hours=5)]
    stages[2] = replace(stages[2], holds=frozenset())
    path = dryness_path(stages, 2.0, TimeLaw())
    assert 0.1 < path[0] < path[1] < path[2] < 1


def test_pressed_between_boards_leather_dries_hardly_at_all() -> None:
    path = dryness_path([PRESSED, ON_PLUG], 2.0, TimeLaw())
    assert path[0] < 0.05 < 0.5 < path[1]


def test_closed_for_more_than_twelve_hours_is_a_warning_with_the_makers_limit() -> None:
    assert stage_remarks([replace(PRESSED, hours=12)], "front") == ()
    assert stage_remarks([replace(PRESSED, hours=8), replace(ON_PLUG, hours=30)], "front") == ()
    halves = [replace(PRESSED, hours=7), replace(PRESSED, hours=6)]
    (remark,) = stage_remarks(halves, "front")
    assert (remark.code, remark.severity) == ("closed-too-long", "warning")
    assert (remark.amount, remark.limit) == (13, 12)
    assert stage_remarks(halves, "front", closed_at_most_h=13) == ()
    assert stage_remarks([], "front") == ()


def test_air_above_forty_degrees_is_a_warning() -> None:
    assert stage_remarks([replace(ON_PLUG, temperature_C=40)], "front") == ()
    (remark,) = stage_remarks([replace(ON_PLUG, temperature_C=48), ON_PLUG], "front")
    assert (remark.code, remark.amount) == ("drying-air-hot", 48)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"hours": -1.0}, "hours is -1"),
        ({"temperature_C": 70.0}, "between 0 and 60"),
        ({"humidity": 50.0}, "Write 50 % as 0.5"),
        ({"faces": "vents"}, "vent_share above 0"),
        ({"faces": "vents", "vent_share": 1.05}, "vent_share above 0"),
        ({"faces": "edges"}, "edge_to_edge_mm"),
        ({"air_speed_m_s": np.nan}, "air_speed_m_s is nan"),
    ],
)
def test_a_stage_that_cannot_be_is_refused(wrong: dict[str, Any], words: str) -> None:
    with pytest.raises(RequestError, match=words):
        replace(RACK, **wrong)


@pytest.mark.parametrize("wrong", [{"tau_hours": 0.0}, {"thickness_slope": 0.9}])
def test_a_time_law_out_of_its_limits_is_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(RequestError, match=next(iter(wrong))):
        replace(TimeLaw(), **wrong)

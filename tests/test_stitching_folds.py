import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.design.folds import bend_allowance, hinge_strip, strip_round
from hidewright.design.pose import Assembly, Hinge, Panel
from hidewright.errors import RequestError


@given(
    radius=st.floats(0.2, 8.0),
    straight=st.floats(0.0, 30.0),
    k=st.floats(0.0, 0.6),
    thickness=st.floats(0.8, 4.0),
)
def test_a_hinge_strip_rolled_up_brings_the_flap_to_its_height_and_back_over_the_body(
    radius: float, straight: float, k: float, thickness: float
) -> None:
    height = 2 * radius + straight
    strip = hinge_strip(
        height_mm=height, inside_radius_mm=radius, k_factor=k, thickness_mm=thickness
    )
    assert strip.straight_mm == pytest.approx(straight, abs=1e-9)
    low = strip.bend_mm
    high = low + strip.straight_mm

    def hinge(parent: str, y: float) -> Hinge:
        return Hinge(
            parent=parent,
            start=(0.0, y),
            direction=(1.0, 0.0),
            angle=math.pi / 2,
            strip_mm=strip.bend_mm,
            neutral_mm=strip.neutral_mm,
        )

    flap = Panel(name="flap", piece="p", low_y=high + low, hinge=hinge("up", high))
    panels = (
        Panel(name="body", piece="p", high_y=0.0),
        Panel(name="up", piece="p", low_y=low, high_y=high, hinge=hinge("body", 0.0)),
        flap,
    )
    pose = Assembly(panels=panels).pose_of(flap, 1.0)
    # flesh face of the flap: at its hinge and 20 mm further
    edge = strip.developed_mm
    closed = pose.of_points(np.array([[0.0, edge, 0.0], [5.0, edge + 20.0, 0.0]]))
    expected = np.array([[0.0, 0.0, -height], [5.0, -20.0, -height]])
    assert closed == pytest.approx(expected, abs=1e-9)


@given(
    radius=st.floats(0.2, 8.0),
    straight=st.floats(0.0, 30.0),
    lining=st.floats(0.4, 2.0),
    outer=st.floats(0.8, 4.0),
)
def test_a_strip_round_a_lining_is_the_hinge_strip_of_its_own_height_and_radius(
    radius: float, straight: float, lining: float, outer: float
) -> None:
    height = 2 * radius + straight
    inside = hinge_strip(
        height_mm=height, inside_radius_mm=radius, k_factor=0.5, thickness_mm=lining
    )
    round_it = strip_round(inside, lining_mm=lining, outer_mm=outer)
    own = hinge_strip(
        height_mm=height + 2 * lining,
        inside_radius_mm=radius + lining,
        k_factor=0.5,
        thickness_mm=outer,
    )
    for name in ("height_mm", "inside_radius_mm", "bend_mm", "straight_mm", "neutral_mm"):
        assert getattr(round_it, name) == pytest.approx(getattr(own, name), abs=1e-9)


def test_half_the_height_as_radius_makes_one_half_circle() -> None:
    strip = hinge_strip(height_mm=6.0, inside_radius_mm=3.0, k_factor=0.5, thickness_mm=2.0)
    assert strip.straight_mm == 0.0
    assert strip.developed_mm == pytest.approx(math.pi * 4.0, abs=1e-12)
    assert strip.glue_free_mm == pytest.approx(math.pi * 4.0 + 6.0, abs=1e-12)


def test_a_radius_over_half_the_height_is_refused_with_the_largest_that_does() -> None:
    with pytest.raises(RequestError, match=r"at most 2\.55 mm") as refused:
        hinge_strip(height_mm=5.109, inside_radius_mm=3.0, k_factor=0.5, thickness_mm=2.0)
    assert "5.11 mm" in refused.value.because
    hinge_strip(height_mm=5.109, inside_radius_mm=2.55, k_factor=0.5, thickness_mm=2.0)


@pytest.mark.parametrize(
    ("radius", "k", "thickness", "words"),
    [(-0.1, 0.5, 2.0, "fold radius"), (1.0, 1.1, 2.0, "K factor"), (1.0, 0.5, 0.0, "leather of 0")],
)
def test_impossible_folds_are_refused_in_words(
    radius: float, k: float, thickness: float, words: str
) -> None:
    with pytest.raises(RequestError, match=words):
        bend_allowance(1.0, radius, k, thickness)


def test_the_sense_of_a_fold_does_not_change_its_length() -> None:
    assert bend_allowance(-1.2, 2.0, 0.4, 1.5) == bend_allowance(1.2, 2.0, 0.4, 1.5) > 0

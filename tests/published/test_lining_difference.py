"""How much layers differ at a fold: geometry of concentric arcs, worked numbers by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.design.folds import bend_allowance, lining_shorter_by


@pytest.mark.parametrize(("degrees", "shorter"), [(90, 2.356), (180, 4.712)])
def test_a_1_mm_lining_in_2_mm_leather(degrees: float, shorter: float) -> None:
    assert lining_shorter_by(math.radians(degrees), 2.0, 1.0) == pytest.approx(shorter, abs=5e-4)


@given(
    angle=st.floats(0.1, math.pi),
    radius=st.floats(0.0, 20.0),
    outer=st.floats(0.4, 5.0),
    lining=st.floats(0.4, 5.0),
)
def test_whatever_the_radius_the_middles_differ_by_half_of_both_thicknesses_through_the_angle(
    angle: float, radius: float, outer: float, lining: float
) -> None:
    # the lining lies inside; the outer layer's inside radius is the lining's outside
    inner_middle = bend_allowance(angle, radius, 0.5, lining)
    outer_middle = bend_allowance(angle, radius + lining, 0.5, outer)
    assert lining_shorter_by(angle, outer, lining) == pytest.approx(
        outer_middle - inner_middle, abs=1e-9
    )

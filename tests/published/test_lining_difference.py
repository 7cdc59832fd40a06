"""How much layers differ at a fold: geometry of concentric arcs, worked numbers by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.design.folds import (
    bend_allowance,
    fold_line_moves_by,
    lining_shorter_by,
    outside_longer_by,
)


@pytest.mark.parametrize(("degrees", "shorter"), [(90, 2.356), (180, 4.712)])
def test_a_1_mm_lining_in_2_mm_leather(degrees: float, shorter: float) -> None:
    assert lining_shorter_by(math.radians(degrees), 2.0, 1.0) == pytest.approx(shorter, abs=5e-4)


@pytest.mark.parametrize(("degrees", "longer"), [(90, 3.142), (180, 6.283)])
def test_the_faces_of_2_mm_leather(degrees: float, longer: float) -> None:
    assert outside_longer_by(math.radians(degrees), 2.0) == pytest.approx(longer, abs=5e-4)


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


def test_a_fold_line_over_a_flat_layer_moves_by_that_layers_thickness_at_a_right_angle() -> None:
    assert fold_line_moves_by(math.pi / 2, 1.6) == pytest.approx(1.6, abs=1e-12)
    # the corner of two lines offset by t lies t / cos(angle / 2) from theirs, square to the
    # bisector: along the leg that is t tan(angle / 2)
    angle, t = math.radians(70), 1.6
    corner = t / math.cos(angle / 2)
    assert fold_line_moves_by(angle, t) == pytest.approx(math.sqrt(corner**2 - t**2), abs=1e-12)

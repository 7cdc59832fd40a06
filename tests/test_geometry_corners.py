import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.geometry.boolean import union
from hidewright.geometry.corners import fillet
from hidewright.geometry.outline import turn_between
from hidewright.geometry.shapes import arch, circle, polygon, rectangle


@settings(max_examples=30, deadline=None)
@given(st.floats(0.5, 9.9))
def test_a_rounded_rectangle_is_the_parametric_one(radius: float) -> None:
    rounded = fillet(rectangle(40, 20), radius)
    assert rounded.area == pytest.approx(rectangle(40, 20, radius).area, rel=1e-9)
    assert rounded.spans == ("bottom", "right", "top", "left")
    assert rounded.min_inside_radius == pytest.approx(radius)


def test_roundings_that_meet_leave_no_line_between() -> None:
    assert len(fillet(rectangle(40, 20), 10).segments) == 6


def test_inward_corners_are_rounded_too() -> None:
    dented = polygon([(0, 0), (40, 0), (40, 40), (20, 15), (0, 40)])
    rounded = fillet(dented, 4)
    assert rounded.min_inside_radius == pytest.approx(4)
    assert rounded.min_outside_radius == pytest.approx(4)


def test_corners_between_arcs_are_rounded_smoothly() -> None:
    pair = union(circle(20), circle(15, (25, 0)))[0].outer
    rounded = fillet(pair, 5)
    assert sorted(round(s.radius, 9) for s in rounded.segments) == [5, 5, 15, 15, 20, 20]
    joints = zip(rounded.segments, rounded.segments[1:] + rounded.segments[:1], strict=True)
    assert all(abs(turn_between(a, b)) < 1e-9 for a, b in joints)
    assert rounded.area > pair.area


def test_only_the_chosen_corners_are_rounded() -> None:
    rounded = fillet(rectangle(40, 20), 4, lambda p: p[1] > 0)
    assert rounded.area == pytest.approx(800 - (4 - math.pi) / 2 * 16)
    assert fillet(rectangle(40, 20), 99, lambda _: False) == rectangle(40, 20)


def test_round_corners_stay_as_they_are() -> None:
    rounded = fillet(arch(90, 110, 30), 8)
    assert sorted(round(s.radius, 9) for s in rounded.segments if s.is_arc) == [8, 8, 30, 30]


@pytest.mark.parametrize(("radius", "largest"), [(10.5, 10.0), (30.0, 10.0)])
def test_a_radius_that_does_not_fit_is_refused_with_the_largest_that_does(
    radius: float, largest: float
) -> None:
    with pytest.raises(RequestError, match="too short") as told:
        fillet(rectangle(40, 20), radius)
    most = float(told.value.mend.split()[3])
    assert largest - 0.011 <= most <= largest
    assert fillet(rectangle(40, 20), most).min_inside_radius == pytest.approx(most)


@pytest.mark.parametrize("radius", [0.0, -1.0, math.nan])
def test_a_radius_that_is_none_is_refused(radius: float) -> None:
    with pytest.raises(RequestError, match="more than 0 mm"):
        fillet(rectangle(40, 20), radius)

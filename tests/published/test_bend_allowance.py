"""Bend allowance and deduction as sheet-metal handbooks give them.

BA = angle (R + K t) and BD = 2 (R + t) tan(angle/2) - BA, as quoted from Machinery's Handbook by a
page on the K factor; the numbers are those formulas worked out by hand.
"""

import math

import pytest

from hidewright.design.folds import bend_allowance, bend_deduction, setback


@pytest.mark.parametrize(
    ("radius", "thickness", "k", "allowance", "deduction"),
    [(3.0, 2.0, 0.44, 6.0947, 3.9053), (2.0, 2.0, 0.33, 4.1783, 3.8217)],
)
def test_the_worked_right_angles_come_out(
    radius: float, thickness: float, k: float, allowance: float, deduction: float
) -> None:
    right = math.pi / 2
    assert bend_allowance(right, radius, k, thickness) == pytest.approx(allowance, abs=5e-5)
    assert bend_deduction(right, radius, k, thickness) == pytest.approx(deduction, abs=5e-5)


def test_the_setback_of_a_right_angle_is_radius_and_thickness() -> None:
    assert setback(math.pi / 2, 3.0, 2.0) == pytest.approx(5.0, abs=1e-12)


def test_half_a_turn_round_1_mm_takes_two_pi_at_the_middle_of_2_mm() -> None:
    assert bend_allowance(math.pi, 1.0, 0.5, 2.0) == pytest.approx(2.0 * math.pi, abs=1e-12)
    assert 2.0 * math.pi == pytest.approx(6.2832, abs=5e-5)


@pytest.mark.parametrize("degrees", [20.0, 75.0, 90.0, 135.0])
def test_two_legs_measured_outside_less_the_deduction_are_the_flat_length(degrees: float) -> None:
    # legs of 40 and 25 mm to the corner of the outer faces; the flat parts end at the setback
    angle, radius, t, k = math.radians(degrees), 4.0, 1.8, 0.5
    flat_parts = (40.0 - (radius + t) * math.tan(angle / 2)) + (
        25.0 - (radius + t) * math.tan(angle / 2)
    )
    middle_of_the_bend = angle * (radius + t / 2)
    assert 40.0 + 25.0 - bend_deduction(angle, radius, k, t) == pytest.approx(
        flat_parts + middle_of_the_bend, abs=1e-12
    )

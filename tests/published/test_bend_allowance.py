"""Bend allowance as sheet-metal handbooks give it.

BA = angle (R + K t), as quoted from Machinery's Handbook by a page on the K factor; the numbers are
that formula worked out by hand.
"""

import math

import pytest

from hidewright.design.folds import bend_allowance


@pytest.mark.parametrize(
    ("radius", "thickness", "k", "allowance"),
    [(3.0, 2.0, 0.44, 6.0947), (2.0, 2.0, 0.33, 4.1783)],
)
def test_the_worked_right_angles_come_out(
    radius: float, thickness: float, k: float, allowance: float
) -> None:
    assert bend_allowance(math.pi / 2, radius, k, thickness) == pytest.approx(allowance, abs=5e-5)


def test_half_a_turn_round_1_mm_takes_two_pi_at_the_middle_of_2_mm() -> None:
    assert bend_allowance(math.pi, 1.0, 0.5, 2.0) == pytest.approx(2.0 * math.pi, abs=1e-12)
    assert 2.0 * math.pi == pytest.approx(6.2832, abs=5e-5)

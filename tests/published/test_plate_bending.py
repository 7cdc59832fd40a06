"""Deflection of a square plate under an even pressure, w = alpha p a^4 / (E t^3), nu = 0.3.

Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed. 1959, tables 8 and 35: alpha is
0.0443 simply supported and 0.0138 clamped. Acrylic, E = 3200 MPa, 150 mm, 6 mm thick under 0.05 MPa
bends 1.622 and 0.505 mm. Simply supported rectangles are held against Navier's double series, the
same book, equation 131.
"""

import math

import pytest

from hidewright.catalogue.boards import Board
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.tooling.strength import bending

POISSON = 0.3


def acrylic() -> Board:
    return find(built_in_catalogue().boards, "clear acrylic 6 mm")


def test_the_published_acrylic_plate_bends_as_published() -> None:
    bent = bending(acrylic(), 6.0, (150.0, 150.0), 0.05)
    assert acrylic().bending_modulus_MPa == 3200
    assert bent.supported_mm == pytest.approx(1.622, abs=0.001)
    assert bent.clamped_mm == pytest.approx(0.505, abs=0.001)


@pytest.mark.parametrize("longer", [1.0, 1.2, 1.3, 1.4, 1.6, 1.8, 2.0, 3.0, 5.0, 20.0])
def test_a_supported_rectangle_follows_naviers_series(longer: float) -> None:
    a, t, p, modulus = 100.0, 6.0, 0.05, acrylic().bending_modulus_MPa
    stiffness = modulus * t**3 / (12 * (1 - POISSON**2))
    series = sum(
        math.sin(m * math.pi / 2)
        * math.sin(n * math.pi / 2)
        / (m * n * (m**2 + (n / longer) ** 2) ** 2)
        for m in range(1, 60, 2)
        for n in range(1, 400, 2)
    )
    navier = 16 * p * a**4 / (math.pi**6 * stiffness) * series
    assert bending(acrylic(), t, (a, longer * a), p).supported_mm == pytest.approx(navier, rel=0.03)
    assert bending(acrylic(), t, (longer * a, a), p).supported_mm == pytest.approx(navier, rel=0.03)


def test_a_long_clamped_strip_bends_as_a_clamped_beam() -> None:
    a, t, p, modulus = 80.0, 6.0, 0.02, acrylic().bending_modulus_MPa
    stiffness = modulus * t**3 / (12 * (1 - POISSON**2))
    beam = p * a**4 / (384 * stiffness)
    assert bending(acrylic(), t, (a, 1e6), p).clamped_mm == pytest.approx(beam, rel=0.005)


def test_twice_the_thickness_bends_an_eighth() -> None:
    one = bending(acrylic(), 6.0, (150.0, 210.0), 0.05)
    two = bending(acrylic(), 12.0, (150.0, 210.0), 0.05)
    assert two.clamped_mm == pytest.approx(one.clamped_mm / 8)
    assert two.supported_mm == pytest.approx(one.supported_mm / 8)

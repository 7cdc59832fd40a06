"""Fields, pulls and hazards of small strong magnets.

Sources: the on-axis formula of a supplier's FAQ and a calculator's default result (295.2 mT,
171.5 mT); a data page of a 12/5/2 ring of grade N38 (195.97 mT, 11.29 N); 16 CFR 1262 (hazardous
magnets) and 16 CFR 1501.4 (small-parts cylinder). Forces are compared with the integral over
Bessel functions itself, computed here another way than in the package, and with the dipole law.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import j1

from hidewright.catalogue.magnets import Magnet
from hidewright.design.magnets import (
    HAZARDOUS_FLUX_INDEX,
    IMPLANT_T,
    MU_0,
    field_on_axis,
    fits_small_parts_cylinder,
    flux_index,
    is_hazardous_if_swallowed,
    needed_pull,
    pull_between,
    pull_to_steel,
    reach,
    real_pull,
    safe_distance,
    seat_cavity,
    seat_hollow,
)
from hidewright.errors import RequestError
from hidewright.units.length import parse_length

SIZES = st.floats(2, 30)


def disc(diameter_mm: float, thickness_mm: float, remanence_T: float = 1.32) -> Magnet:
    return Magnet(
        name="disc",
        shape="disc",
        diameter_mm=diameter_mm,
        thickness_mm=thickness_mm,
        remanence_T=remanence_T,
        grade="for the test",
        source="for the test",
    )


def block(length_mm: float, width_mm: float, thickness_mm: float) -> Magnet:
    return Magnet(
        name="block",
        shape="block",
        length_mm=length_mm,
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        remanence_T=1.32,
        grade="for the test",
        source="for the test",
    )


GAUSS = np.polynomial.legendre.leggauss(64)
HALF_INCH = disc(12.7, 3.175)


@pytest.mark.parametrize(
    ("magnet", "distance_mm", "tesla"),
    [
        (disc(20, 5), 0, 0.29516),
        (disc(20, 5), 5, 0.17153),
        (disc(12, 2, 1.2394), 0, 0.19597),
        (HALF_INCH, 0, 0.2952),
    ],
)
def test_the_field_on_the_axis_is_the_published_one(
    magnet: Magnet, distance_mm: float, tesla: float
) -> None:
    assert field_on_axis(magnet, distance_mm) == pytest.approx(tesla, abs=0.00006)


def test_the_field_one_thickness_off_a_disc_four_thicknesses_wide_is_58_11_percent() -> None:
    assert field_on_axis(disc(20, 5), 5) / field_on_axis(disc(20, 5), 0) == pytest.approx(
        0.5811, abs=0.00005
    )


@pytest.mark.parametrize(
    ("gap_mm", "newton"),
    [(0, 34.08), (0.5, 23.8), (1, 18.7), (2, 12.8), (3, 9.2), (4, 6.9), (6, 4.0)],
)
def test_two_half_inch_discs_pull_as_the_worked_table_says(gap_mm: float, newton: float) -> None:
    assert pull_between(HALF_INCH, HALF_INCH, gap_mm) == pytest.approx(newton, abs=0.051)


@pytest.mark.parametrize(
    ("gap_mm", "newton"),
    [(0, 34.08), (0.5, 18.7), (1, 12.8), (1.5, 9.2), (2, 6.9), (3, 4.0), (4, 2.5), (6, 1.07)],
)
def test_a_half_inch_disc_pulls_to_steel_as_the_worked_table_says(
    gap_mm: float, newton: float
) -> None:
    assert pull_to_steel(HALF_INCH, gap_mm) == pytest.approx(newton, abs=0.051)


@given(SIZES, st.floats(0.5, 10), SIZES, st.floats(0.5, 10), st.floats(0.3, 10))
def test_the_pull_is_the_integral_over_bessel_functions(
    d1: float, l1: float, d2: float, l2: float, gap: float
) -> None:
    """F = Br1 Br2/mu0 pi R1 R2 int J1(kR1) J1(kR2)/k e^-kg (1 - e^-kL1)(1 - e^-kL2) dk."""
    r1, r2 = d1 / 2, d2 / 2
    # 80 panels of 64 points hold five points to a wave at the widest discs and the least gap
    panels = np.linspace(0, 30.0 / gap, 81)
    half = np.diff(panels)[:, None] / 2
    k = panels[:-1, None] + half * (1 + GAUSS[0])
    integrand = j1(k * r1) * j1(k * r2) / k * np.exp(-k * gap)
    integrand *= (1 - np.exp(-k * l1)) * (1 - np.exp(-k * l2))
    integral = float(np.sum(integrand * GAUSS[1] * half))
    expected = 1.32 * 1.32 / MU_0 * math.pi * r1 * r2 * 1e-6 * integral
    assert pull_between(disc(d1, l1), disc(d2, l2), gap) == pytest.approx(
        expected, rel=1e-6, abs=1e-6
    )


def test_far_apart_two_magnets_pull_as_dipoles() -> None:
    """F = 3 mu0 m^2 / (2 pi z^4), z from centre to centre, m = Br V / mu0."""
    moment = 1.32 * HALF_INCH.pole_area_mm2 * 3.175e-9 / MU_0

    def dipoles(gap_mm: float) -> float:
        return 3 * MU_0 * moment**2 / (2 * math.pi * ((gap_mm + 3.175) / 1000) ** 4)

    assert pull_between(HALF_INCH, HALF_INCH, 60) == pytest.approx(dipoles(60), rel=0.05)
    assert pull_between(HALF_INCH, HALF_INCH, 600) == pytest.approx(dipoles(600), rel=0.001)


def test_very_long_magnets_in_contact_pull_as_br_squared_times_area_over_2_mu0() -> None:
    limit = 1.32**2 * HALF_INCH.pole_area_mm2 * 1e-6 / (2 * MU_0)
    assert limit == pytest.approx(87.8, abs=0.05)
    long = disc(1.27, 200)
    assert pull_between(long, long, 0) == pytest.approx(limit / 100, rel=1e-4)
    assert pull_between(disc(12.7, 20), disc(12.7, 20), 0) < limit


@given(SIZES, st.floats(0.5, 10), st.floats(0, 20), st.floats(0.01, 10))
def test_the_pull_of_alike_magnets_falls_with_the_gap(
    d: float, thick: float, gap: float, more: float
) -> None:
    magnet = disc(d, thick)
    assert pull_between(magnet, magnet, gap) > pull_between(magnet, magnet, gap + more) > 0


@given(SIZES, st.floats(0.5, 10), st.floats(0, 20))
def test_each_of_two_unlike_magnets_pulls_the_other_alike(
    d: float, thick: float, gap: float
) -> None:
    one, other = disc(d, thick), HALF_INCH
    assert pull_between(one, other, gap) == pytest.approx(pull_between(other, one, gap), rel=1e-9)


def test_leather_of_1_6_mm_on_each_magnet_leaves_a_quarter_of_the_pull() -> None:
    left = pull_between(HALF_INCH, HALF_INCH, 3.2) / pull_between(HALF_INCH, HALF_INCH, 0)
    assert left == pytest.approx(0.25, abs=0.02)


def test_a_published_ring_pulls_between_half_and_four_fifths_of_the_ideal_disc() -> None:
    """The data page gives 11.29 N for a 12/5/2 ring; the disc without its hole is the ideal."""
    ideal = pull_between(disc(12, 2, 1.2394), disc(12, 2, 1.2394), 0)
    low, high = real_pull(ideal)
    assert low < 11.29 < high
    assert (low / ideal, high / ideal) == pytest.approx((0.5, 0.8))


@pytest.mark.parametrize(
    ("magnet", "index", "within"),
    [
        (HALF_INCH, 1014, 1),
        (disc(10, 2, 1.23), 372, 1),
        (disc(8, 3), 664, 1),
        (disc(5, 1, 1.19), 77.1, 0.1),
        (disc(3, 1, 1.19), 46.6, 0.1),
        (disc(2, 1, 1.19), 23.0, 0.1),
        (disc(2, 0.5, 1.19), 10.4, 0.1),
    ],
)
def test_the_flux_index_is_that_of_the_worked_table(
    magnet: Magnet, index: float, within: float
) -> None:
    assert flux_index(magnet) == pytest.approx(index, abs=within)


def test_a_snap_magnet_is_above_the_flux_index_of_the_rule_and_a_crumb_of_one_is_not() -> None:
    assert HAZARDOUS_FLUX_INDEX == 50.0
    assert is_hazardous_if_swallowed(HALF_INCH)
    assert not is_hazardous_if_swallowed(disc(2, 0.5, 1.19))
    assert not is_hazardous_if_swallowed(disc(32, 3))


@pytest.mark.parametrize(
    ("magnet", "fits"),
    [
        (disc(25.4, 3), True),
        (disc(31.75, 25.4), True),
        (disc(31.75, 25.5), False),
        (disc(32, 3), False),
        (disc(10, 47.1), True),
        (disc(10, 47.2), False),
        (block(30, 10, 2), True),
        (block(50, 10, 2), True),
        (block(54.5, 10, 2), False),
        (block(56, 10, 2), False),
        (block(40, 40, 2), False),
    ],
)
def test_what_goes_into_the_small_parts_cylinder_of_1_25_by_1_to_2_25_inches(
    magnet: Magnet, fits: bool
) -> None:
    assert fits_small_parts_cylinder(magnet) is fits


def test_the_field_of_a_half_inch_disc_reaches_nearly_as_far_as_that_of_its_dipole() -> None:
    """B = mu0 m / (2 pi z^3) from the middle of the disc; 0.5 mT is the implant line (5 gauss)."""
    moment = 1.32 * HALF_INCH.pole_area_mm2 * 3.175e-9 / MU_0
    dipole_mm = 1000 * (MU_0 * moment / (2 * math.pi * IMPLANT_T)) ** (1 / 3) - 3.175 / 2
    assert IMPLANT_T == 0.5e-3
    assert dipole_mm == pytest.approx(53.7, abs=0.05)
    assert reach(HALF_INCH, IMPLANT_T) == pytest.approx(dipole_mm, rel=0.01)


@given(SIZES, st.floats(0.5, 10), st.floats(1e-7, 0.2))
def test_at_its_reach_the_field_has_the_value_asked_for(
    d: float, thick: float, tesla: float
) -> None:
    magnet = disc(d, thick)
    if field_on_axis(magnet, 0) > tesla:
        assert field_on_axis(magnet, reach(magnet, tesla)) == pytest.approx(tesla, rel=1e-5)
    else:
        assert reach(magnet, tesla) == 0.0


def test_a_block_has_the_field_of_its_charged_faces_added_up() -> None:
    """Coulomb's law over a fine grid of both faces: B = Br/(4 pi) sum z dA / r^3."""
    n = 400
    x = (np.arange(n) + 0.5) / n * 20 - 10
    y = (np.arange(n) + 0.5) / n * 10 - 5
    xx, yy = np.meshgrid(x, y)
    element = 20 * 10 / n**2

    def face(z: float) -> float:
        return float(np.sum(z * element / (xx**2 + yy**2 + z**2) ** 1.5)) / (4 * math.pi)

    for z in (1.0, 5.0, 30.0):
        summed = 1.32 * (face(z) - face(z + 2))
        assert field_on_axis(block(20, 10, 2), z) == pytest.approx(summed, rel=1e-3)


def test_a_compass_stays_further_from_a_closed_pair_than_a_watch_or_a_card() -> None:
    card, watch, compass = (
        safe_distance(HALF_INCH, thing) for thing in ("striped card", "mechanical watch", "compass")
    )
    assert 3 < card < watch < 30
    pair_moment = 2 * 1.32 * HALF_INCH.pole_area_mm2 * 3.175e-9 / MU_0
    one_degree_T = 20e-6 * math.tan(math.radians(1))
    dipole_mm = 1000 * (MU_0 * pair_moment / (2 * math.pi * one_degree_T)) ** (1 / 3)
    assert compass + 3.175 == pytest.approx(dipole_mm, rel=0.001)


def test_a_hundred_grams_shaken_with_three_times_its_weight_need_2_94_newton() -> None:
    assert needed_pull(100) == pytest.approx(0.1 * 9.81 * 3)


def test_a_half_inch_magnet_seats_in_five_eighths_through_one_layer_three_quarters_in_two() -> None:
    """Common practice, no source: holds with leather of 1.6 mm within half a millimetre."""
    assert seat_hollow(12.7, 0.25) == pytest.approx(13.2)
    one = seat_cavity(12.7, 0.0, 1.6)
    two = seat_cavity(12.7, 0.0, 2 * 1.6)
    assert one == pytest.approx(parse_length("5/8 in"), abs=0.5)
    assert two == pytest.approx(parse_length("3/4 in"), abs=0.5)
    assert seat_cavity(12.7, 0.25, 1.6) - one == pytest.approx(0.5)


def test_a_negative_gap_is_refused() -> None:
    with pytest.raises(RequestError, match="gap between magnets of -1 mm"):
        pull_between(HALF_INCH, HALF_INCH, -1)
    with pytest.raises(RequestError, match="reached nowhere"):
        reach(HALF_INCH, 0)

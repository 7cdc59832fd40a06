"""Energies of the sheet: derivatives, closed forms, small strains, what is not stable."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from hidewright.errors import RequestError
from hidewright.forming.law import (
    EXPONENT_LIMIT,
    FibreSheet,
    Law,
    NeoHooke,
    SaintVenantKirchhoff,
    strip_modulus_MPa,
)
from hidewright.geometry.segment import Floats

RUBBER = NeoHooke(shear_MPa=5.0)
BOARD = SaintVenantKirchhoff(e1_MPa=20.0, e2_MPa=12.0, nu12=0.4, g12_MPa=5.0)
LEATHER = FibreSheet(
    shear_MPa=2.0, fibre_along_MPa=8.0, rise_along=4.0, fibre_across_MPa=5.0, rise_across=2.0
)
LIMP_FIBRES = FibreSheet(
    shear_MPa=2.0, fibre_along_MPa=8.0, rise_along=0.0, fibre_across_MPa=0.0, rise_across=2.0
)
LAWS = (RUBBER, BOARD, LEATHER, LIMP_FIBRES)

stretches = st.floats(0.6, 2.2)
angles = st.floats(0.0, math.pi)


def tensor(large: float, small: float, angle: float) -> Floats:
    """Return (C11, C22, C12) of two stretches, the first in a direction."""
    c, s = math.cos(angle), math.sin(angle)
    a, b = large**2, small**2
    return np.array([a * c * c + b * s * s, a * s * s + b * c * c, (a - b) * c * s])


def energy(law: Law, c: Floats) -> float:
    return float(law.at(*(c[:, None])).w[0])


def first(law: Law, c: Floats) -> Floats:
    return law.at(*(c[:, None])).first[:, 0]


def whole_second(law: Law, c: Floats) -> Floats:
    h11, h22, h33, h12, h13, h23 = law.at(*(c[:, None])).second[:, 0]
    return np.array([[h11, h12, h13], [h12, h22, h23], [h13, h23, h33]])


@pytest.mark.parametrize("law", LAWS)
@settings(max_examples=40, deadline=None)
@given(large=stretches, small=stretches, angle=angles)
def test_derivatives_are_those_of_the_energy(
    law: Law, large: float, small: float, angle: float
) -> None:
    c, step = tensor(large, small, angle), 1e-5
    for i, e in enumerate(np.eye(3) * step):
        slope = (energy(law, c + e) - energy(law, c - e)) / (2 * step)
        bend = (first(law, c + e) - first(law, c - e)) / (2 * step)
        size = 1.0 + np.abs(whole_second(law, c)).max()
        assert first(law, c)[i] == pytest.approx(slope, abs=1e-7 * size)
        assert whole_second(law, c)[i] == pytest.approx(bend, abs=1e-5 * size)


@pytest.mark.parametrize("law", LAWS)
def test_an_unstretched_sheet_is_at_rest(law: Law) -> None:
    rest = law.at(np.ones(1), np.ones(1), np.zeros(1))
    assert rest.w == pytest.approx([0.0], abs=1e-15)
    assert rest.first == pytest.approx(np.zeros((3, 1)), abs=1e-15)
    assert np.linalg.eigvalsh(whole_second(law, np.array([1.0, 1.0, 0.0]))).min() > 0


@given(large=stretches, small=stretches, angle=angles, turn=angles)
def test_rubber_does_not_know_a_direction(
    large: float, small: float, angle: float, turn: float
) -> None:
    assert energy(RUBBER, tensor(large, small, angle + turn)) == pytest.approx(
        energy(RUBBER, tensor(large, small, angle)), rel=1e-9, abs=1e-12
    )


def pulled(law: Law, along: float) -> tuple[float, float]:
    """Return (nominal stress, stretch across) of a strip pulled along axis 1 by its free sides."""

    def side(across: float) -> float:
        return float(first(law, np.array([along**2, across**2, 0.0]))[1])

    across = float(brentq(side, 0.5, 1.5, xtol=1e-14))
    return 2.0 * along * float(first(law, np.array([along**2, across**2, 0.0]))[0]), across


@pytest.mark.parametrize(
    ("along", "stress", "across"),
    [
        # a cube of 3D elements in a general finite-element program, large displacements:
        # nominal stress and stretch across of its orthotropic St. Venant-Kirchhoff material
        (1.1, 2.31, 0.95707889),
        (1.2, 5.28, 0.90774446),
        (0.9, -1.71, 1.0373042),
    ],
)
def test_an_orthotropic_strip_is_that_of_the_closed_form_and_of_a_general_program(
    along: float, stress: float, across: float
) -> None:
    strain = (along**2 - 1) / 2
    got = pulled(BOARD, along)
    assert got[0] == pytest.approx(along * BOARD.e1_MPa * strain, rel=1e-12)
    assert got[1] == pytest.approx(math.sqrt(1 - 2 * BOARD.nu12 * strain), rel=1e-12)
    assert got == pytest.approx((stress, across), rel=2e-8)


def test_an_orthotropic_sheet_pulled_both_ways_and_askew_is_that_of_a_general_program() -> None:
    # the same program and material: stretched 1.15 x 1.10; and 1.15 x 1 with axis 1 at 45 degrees
    p = 2 * first(BOARD, np.array([1.15**2, 1.1**2, 0.0]))[:2] * (1.15, 1.1)
    assert p == pytest.approx([4.743751, 2.475], rel=3e-7)
    c, s = math.cos(math.pi / 4), math.sin(math.pi / 4)
    axes = np.array([[c, s], [-s, c]])
    deformation = np.diag([1.15, 1.0])
    own = axes @ deformation.T @ deformation @ axes.T
    f11, f22, f12 = first(BOARD, np.array([own[0, 0], own[1, 1], own[0, 1]]))
    pulled_back = axes.T @ np.array([[2 * f11, f12], [f12, 2 * f22]]) @ axes
    nominal = deformation @ pulled_back
    assert nominal[0, 0] == pytest.approx(3.0605392, rel=1e-7)
    assert nominal[1, 0] == pytest.approx(0.3567478, rel=1e-7)


def test_rubber_pulled_both_ways_follows_its_closed_form() -> None:
    a, b = 1.25, 1.10
    got = 2 * first(RUBBER, np.array([a**2, b**2, 0.0]))[:2] * (a, b)
    closed = [5.0 * (a - 1 / (a**3 * b**2)), 5.0 * (b - 1 / (b**3 * a**2))]
    assert got == pytest.approx(closed, rel=1e-14)
    # a nearly incompressible cube in a general program, bulk modulus 200 times the shear modulus
    assert got == pytest.approx([4.132304, 3.0938304], rel=1e-3)


def test_a_balloon_of_rubber_has_its_peak_at_the_seventh_sixth_root() -> None:
    # p = 2 mu (t/r0)(L^-1 - L^-7), a textbook result: greatest at L = 7^(1/6) = 1.38309
    stretch = np.linspace(1.2, 1.6, 40001)
    w1 = RUBBER.at(stretch**2, stretch**2, np.zeros_like(stretch)).first[0]
    tension = 2.0 * stretch * w1  # nominal, for each mm2 of unstretched section
    pressure = 2.0 * tension / stretch**2  # (2 N / r) / (t / r0), N = tension t / L, r = L r0
    assert stretch[pressure.argmax()] == pytest.approx(7 ** (1 / 6), abs=1e-5)
    assert pressure.max() / RUBBER.shear_MPa == pytest.approx(1.23946, abs=1e-5)


def test_two_strip_tests_show_the_moduli_that_are_told() -> None:
    along, across = strip_modulus_MPa(LEATHER)
    tiny = 1e-6
    turned = FibreSheet(
        shear_MPa=2.0, fibre_along_MPa=5.0, rise_along=2.0, fibre_across_MPa=8.0, rise_across=4.0
    )
    for law, modulus in ((LEATHER, along), (turned, across)):
        slope = (pulled(law, 1 + tiny)[0] - pulled(law, 1 - tiny)[0]) / (2 * tiny)
        assert slope == pytest.approx(modulus, rel=1e-6)


def test_leather_without_fibres_is_rubber() -> None:
    plain = FibreSheet(
        shear_MPa=5.0, fibre_along_MPa=0.0, rise_along=3.0, fibre_across_MPa=0.0, rise_across=3.0
    )
    c = tensor(1.4, 0.9, 0.3)
    assert energy(plain, c) == energy(RUBBER, c)
    assert whole_second(plain, c) == pytest.approx(whole_second(RUBBER, c))


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_fibres_go_over_into_their_parabola_without_a_jump_up_to_the_second_derivative(
    sign: float,
) -> None:
    law = FibreSheet(
        shear_MPa=2.0, fibre_along_MPa=8.0, rise_along=20.0, fibre_across_MPa=0.0, rise_across=0.0
    )
    e0 = sign * math.sqrt(EXPONENT_LIMIT / law.rise_along)
    below, above = (np.array([1 + 2 * e0 * (1 + d), 1.0, 0.0]) for d in (-1e-9, 1e-9))
    assert energy(law, above) == pytest.approx(energy(law, below), rel=1e-7)
    assert first(law, above)[0] == pytest.approx(first(law, below)[0], rel=1e-7)
    bends = [whole_second(law, c)[0, 0] for c in (below, above)]
    assert bends[1] == pytest.approx(bends[0], rel=1e-6)
    # the third derivative does jump: beyond it is a parabola, and a wild guess does not overflow
    far = np.array([100.0, 1.0, 0.0])
    step = np.array([1e-3, 0.0, 0.0])
    third = whole_second(law, far + step) - whole_second(law, far)
    matrix = whole_second(RUBBER, far + step) - whole_second(RUBBER, far)
    assert third[0, 0] == pytest.approx(0.4 * matrix[0, 0], abs=1e-9)
    assert math.isfinite(energy(law, far))


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_a_material_without_stiffness_is_refused(bad: float) -> None:
    with pytest.raises(RequestError, match="greater than 0"):
        NeoHooke(shear_MPa=bad)
    with pytest.raises(RequestError, match="greater than 0"):
        SaintVenantKirchhoff(e1_MPa=20.0, e2_MPa=bad, nu12=0.4, g12_MPa=5.0)


def test_a_material_that_is_not_stable_is_refused() -> None:
    # nu12 nu21 = nu12^2 E2/E1 reaches 1 at nu12 = sqrt(20/12) = 1.2910
    with pytest.raises(RequestError, match="not be stable"):
        SaintVenantKirchhoff(e1_MPa=20.0, e2_MPa=12.0, nu12=1.2911, g12_MPa=5.0)
    edge = SaintVenantKirchhoff(e1_MPa=20.0, e2_MPa=12.0, nu12=1.2909, g12_MPa=5.0)
    assert np.linalg.eigvalsh(whole_second(edge, np.array([1.0, 1.0, 0.0]))).min() > 0
    for field in ("fibre_along_MPa", "rise_across"):
        numbers = {
            "shear_MPa": 2.0,
            "fibre_along_MPa": 8.0,
            "rise_along": 4.0,
            "fibre_across_MPa": 5.0,
            "rise_across": 2.0,
        }
        with pytest.raises(RequestError, match="not be stable"):
            FibreSheet(**{**numbers, field: -0.1})

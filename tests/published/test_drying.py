"""What is published of drying, shape kept, and heat, against what the tool takes for granted.

Slab: Crank, The Mathematics of Diffusion, 1975, ch. 4; both of its series are written out here.
Air speed and thickness: "The drying characteristics of chrome-tanned leather", Society of Leather
Technologists and Chemists, abstract: time goes with air speed to the power -0.6 up to about 2.5 mm,
and is linear in thickness (2.0 to 4.5 mm) but not proportional to it.
Shape kept: doi 10.30857/1813-6796.2019.3.6, abstract: vegetable tannage 83 %.
Heat: table of a conservation handbook's chapter on leather (vegetable tannage 75 to 85 degrees C);
Heritage Science 2019, s40494-019-0292-8, table 3 (chestnut: first fibres shrink at 64.1).
"""

import math

import numpy as np
import pytest
from scipy.special import erfc

from hidewright.forming.drying_time import (
    AIR_AT_MOST_C,
    REFERENCE_MM,
    SOAK_C,
    DryingStage,
    Faces,
    TimeLaw,
    hours_until,
    slab_fourier,
    slab_moisture,
    soak_remarks,
    time_factor,
    vapour_deficit,
    wet_bulb,
)
from hidewright.forming.set import DryingBehaviour


def test_a_slab_is_half_dry_at_0_04918_and_95_per_cent_dry_at_0_28225() -> None:
    assert slab_fourier(0.5) == pytest.approx(0.04918, abs=1e-5)
    assert slab_fourier(0.05) == pytest.approx(0.28225, abs=1e-5)


@pytest.mark.parametrize(
    ("thickness_mm", "hours"), [(1.2, 1.13), (1.6, 2.01), (2.0, 3.14), (3.2, 8.03)]
)
def test_a_slab_of_diffusivity_1e_10_m2_s_is_95_per_cent_dry_after(
    thickness_mm: float, hours: float
) -> None:
    seconds = slab_fourier(0.05) * (thickness_mm / 1000) ** 2 / 1e-10
    assert seconds / 3600 == pytest.approx(hours, abs=0.005)


def test_the_series_for_long_times_agrees_with_cranks_series_for_short_ones() -> None:
    """1 - 4 sqrt(Fo) (1/sqrt(pi) + 2 sum (-1)^n ierfc(n / (2 sqrt(Fo)))), ten terms."""

    def ierfc(x: float) -> float:
        return float(math.exp(-x * x) / math.sqrt(math.pi) - x * erfc(x))

    def left(fo: float) -> float:
        images = sum((-1.0) ** n * ierfc(n / (2 * math.sqrt(fo))) for n in range(1, 11))
        return 1 - 4 * math.sqrt(fo) * (1 / math.sqrt(math.pi) + 2 * images)

    numbers = np.geomspace(1e-6, 0.6, 60)
    assert slab_moisture(numbers) == pytest.approx([left(float(fo)) for fo in numbers], abs=1e-12)


def test_twice_the_air_speed_dries_in_0_66_of_the_time() -> None:
    slow, fast = (
        time_factor(DryingStage(name="rack", hours=1, faces="two", air_speed_m_s=v), 2.0, 1.5)
        for v in (2.0, 4.0)
    )
    assert fast / slow == pytest.approx(0.660, abs=5e-4)


@pytest.mark.parametrize("faces", ["one", "two"])
def test_time_is_linear_in_thickness_but_not_proportional_to_it(faces: Faces) -> None:
    stage = DryingStage(name="rack", hours=1, faces=faces)
    thickness = np.linspace(2.0, 4.5, 6)
    hours = np.array([hours_until(0.95, stage, float(t), TimeLaw()) for t in thickness])
    assert np.diff(hours, 2) == pytest.approx(0.0, abs=1e-9)
    assert np.ptp(hours / thickness) > 0.1 * hours[0] / thickness[0]
    assert thickness[0] == REFERENCE_MM


@pytest.mark.parametrize(
    ("celsius", "humidity", "g_m2_h"),
    [(20, 0.5, 47.7), (20, 0.65, 32.6), (23, 0.5, 52.1), (30, 0.4, 76.8)],
)
def test_a_wet_surface_gives_off_so_much_by_a_transfer_of_4_mm_s(
    celsius: float, humidity: float, g_m2_h: float
) -> None:
    """Worked out apart from this code, h (rho_sat(T_wet bulb) - RH rho_sat(T)); a derived value."""
    assert vapour_deficit(celsius, humidity) * 0.004 * 3600 == pytest.approx(g_m2_h, rel=0.01)


def test_a_wet_bulb_in_a_room_at_20_degrees_and_50_per_cent_shows_13_8() -> None:
    """From memory: psychrometric charts give 13.8 at sea level."""
    assert wet_bulb(20, 0.5) == pytest.approx(13.8, abs=0.1)
    assert wet_bulb(20, 1.0) == pytest.approx(20)


def test_two_millimetres_dry_overnight_with_both_faces_open() -> None:
    """850 g/m2 at 47.7 g/m2 h from two faces: 8.9 h if only the surface limits (derived)."""
    stage = DryingStage(name="rack", hours=1, faces="two")
    assert hours_until(0.95, stage, 2.0, TimeLaw()) == pytest.approx(850 / (2 * 47.7), rel=0.01)


def test_vegetable_tannage_keeps_83_per_cent_of_its_form_until_the_maker_measures() -> None:
    assert DryingBehaviour().set_ratio == 0.83
    assert "set_ratio" in DryingBehaviour().assumed


def test_no_soak_or_air_comes_within_9_degrees_of_where_the_first_fibres_shrink() -> None:
    assert max(*SOAK_C, AIR_AT_MOST_C) <= 64.1 - 9


@pytest.mark.parametrize(
    ("celsius", "severities"),
    [
        (20, []),
        (40, []),
        (42, ["note"]),
        (45.5, ["warning"]),
        (50, ["warning"]),
        (55, ["warning"]),
        (55.5, ["forbids"]),
        (60, ["forbids"]),
        (80, ["forbids"]),
    ],
)
def test_a_soak_up_to_40_degrees_is_good_above_45_a_worry_above_55_forbidden(
    celsius: float, severities: list[str]
) -> None:
    assert [r.severity for r in soak_remarks(celsius, "front")] == severities

"""Leather ounces: 1 oz is 1/64 in of thickness.

Source: trade charts of leather thickness ("leather thickness ounces to mm chart"), which round an
ounce to 0.4 mm; the exact value follows from 1 in = 25.4 mm.
"""

import pytest

from hidewright.units.thickness import MM_PER_OUNCE, parse_leather_thickness


def test_an_ounce_is_a_64th_of_an_inch() -> None:
    assert float(MM_PER_OUNCE) == 0.396875


@pytest.mark.parametrize(
    ("ounces", "exact_mm", "trade_mm"),
    [
        (1, 0.397, 0.4),
        (2, 0.794, 0.8),
        (3, 1.191, 1.2),
        (4, 1.588, 1.6),
        (5, 1.984, 2.0),
        (6, 2.381, 2.4),
        (7, 2.778, 2.8),
        (8, 3.175, 3.2),
        (9, 3.572, 3.6),
        (10, 3.969, 4.0),
        (12, 4.763, 4.8),
        (14, 5.556, 5.6),
        (16, 6.350, 6.4),
    ],
)
def test_the_ladder_of_ounces_agrees_with_the_charts(
    ounces: int, exact_mm: float, trade_mm: float
) -> None:
    thin, thick = parse_leather_thickness(f"{ounces} oz")
    assert thin == thick == pytest.approx(exact_mm, abs=0.0005 + 1e-9)
    # the trade's 0.4 mm an ounce is 0.8 % high
    assert trade_mm / thick == pytest.approx(0.4 / 0.396875, rel=1e-9)


@pytest.mark.parametrize(
    ("sold", "low_mm", "high_mm"),
    [
        ("2-3 oz", 0.8, 1.2),
        ("3-4 oz", 1.2, 1.6),
        ("4-5 oz", 1.6, 2.0),
        ("7-8 oz", 2.8, 3.2),
        ("8-9 oz", 3.2, 3.6),
        ("9-10 oz", 3.6, 4.0),
    ],
)
def test_sold_ranges_agree_with_the_charts_within_their_rounding(
    sold: str, low_mm: float, high_mm: float
) -> None:
    assert parse_leather_thickness(sold) == pytest.approx((low_mm, high_mm), rel=0.008)


def test_an_iron_of_sole_leather_is_a_48th_of_an_inch_so_6_oz_are_4_and_a_half_irons() -> None:
    assert parse_leather_thickness("6 oz")[0] == pytest.approx(4.5 * 25.4 / 48, abs=1e-12)

"""Sizes of things that are carried, retyped from their sources.

Sources: ISO/IEC 7810 (encyclopaedia copies); Linden, Handbook of Batteries, table 4.9a p. 4.11;
an open parts library's readme on SD cards; the United States mint's coin specifications;
collectors' tables of euro coins; pages quoting the UK mint; encyclopaedia copies on Canadian coins.
"""

import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.catalogue.things import Thing


def thing(name: str) -> Thing:
    return find(built_in_catalogue().things, name)


@pytest.mark.parametrize(
    ("name", "extents_mm"),
    [
        ("bank card (ID-1)", (85.60, 53.98, 0.76)),
        ("card (ID-2)", (105, 74, 0.76)),
        ("card (ID-3)", (125, 88, 0.76)),
        ("card (ID-000)", (25, 15, 0.76)),
        ("SD card", (32, 24, 2.1)),
        ("SD card, thin", (32, 24, 1.4)),
        ("miniSD card", (21.5, 20, 1.4)),
        ("microSD card", (15, 11, 1.0)),
        ("cell R03 (AAA)", (44.5, 10.5, 10.5)),
        ("cell R6 (AA)", (50.5, 14.5, 14.5)),
        ("cell R14 (C)", (50.0, 26.2, 26.2)),
        ("cell R20 (D)", (61.5, 34.2, 34.2)),
        ("button cell R44", (11.6, 11.6, 5.4)),
        ("coin cell CR2032", (20, 20, 3.2)),
        ("coin cell CR2025", (20, 20, 2.5)),
        ("coin cell CR2016", (20, 20, 1.6)),
    ],
)
def test_the_catalogue_has_the_published_size(
    name: str, extents_mm: tuple[float, float, float]
) -> None:
    assert thing(name).extents_mm == pytest.approx(extents_mm, abs=1e-12)


@pytest.mark.parametrize(
    ("name", "diameter_mm", "thickness_mm", "mass_g"),
    [
        ("US cent", 19.05, 1.52, 2.500),
        ("US nickel", 21.21, 1.95, 5.000),
        ("US dime", 17.91, 1.35, 2.268),
        ("US quarter", 24.26, 1.75, 5.670),
        ("US half dollar", 30.61, 2.15, 11.340),
        ("US dollar", 26.49, 2.00, 8.1),
        ("euro 1 cent", 16.25, 1.67, 2.30),
        ("euro 2 cent", 18.75, 1.67, 3.06),
        ("euro 5 cent", 21.25, 1.67, 3.92),
        ("euro 10 cent", 19.75, 1.93, 4.10),
        ("euro 20 cent", 22.25, 2.14, 5.74),
        ("euro 50 cent", 24.25, 2.38, 7.80),
        ("euro 1", 23.25, 2.33, 7.50),
        ("euro 2", 25.75, 2.20, 8.50),
        ("UK 5 pence", 18.0, 1.7, 3.25),
        ("UK 20 pence", 21.4, 1.7, 5.00),
        ("UK 1 pound", 23.43, 2.8, 8.75),
        ("UK 2 pounds", 28.4, 2.5, 12.00),
        ("Canadian 5 cents", 21.2, 1.76, 3.95),
        ("Canadian 10 cents", 18.03, 1.22, 1.75),
        ("Canadian 1 dollar", 26.5, 1.95, 6.27),
        ("Canadian 2 dollars", 28, 1.8, 7.3),
    ],
)
def test_a_coin_has_its_published_diameter_thickness_and_mass(
    name: str, diameter_mm: float, thickness_mm: float, mass_g: float
) -> None:
    coin = thing(name)
    assert (coin.diameter_mm, coin.thickness_mm, coin.mass_g) == (
        diameter_mm,
        thickness_mm,
        mass_g,
    )


def test_four_cards_are_3_04_mm_high_and_3_36_at_worst() -> None:
    card = thing("bank card (ID-1)")
    assert 4 * card.thickness_mm == pytest.approx(3.04)
    assert 4 * card.thickest_mm == pytest.approx(3.36)
    assert 2.88 <= card.corner_radius_mm <= 3.48


def test_a_roll_of_forty_quarters_is_70_mm_long() -> None:
    assert 40 * thing("US quarter").thickness_mm == pytest.approx(70.0)


def test_the_name_of_a_coin_cell_says_its_diameter_and_tenths_of_its_thickness() -> None:
    for name in ("CR2032", "CR2025", "CR2016"):
        cell = thing(f"coin cell {name}")
        assert f"CR{cell.diameter_mm:.0f}{10 * cell.thickness_mm:02.0f}" == name


def test_a4_is_a_sixteenth_of_a_square_metre_with_sides_as_one_to_root_two() -> None:
    length, width, _ = thing("paper A4").extents_mm
    assert length == round(1000 * 2 ** (1 / 4) / 4)
    assert width == round(1000 * 2 ** (-1 / 4) / 4)
    for larger, smaller in (("A4", "A5"), ("A5", "A6")):
        long, short, _ = thing(f"paper {larger}").extents_mm
        assert thing(f"paper {smaller}").extents_mm[:2] == (short, long // 2)

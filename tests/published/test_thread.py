"""Numbering of threads.

Sources: a page on Tex and ticket numbers and a thread maker's bulletin on numbering (Tex, metric
ticket, denier); the GATE TF 2018 Q14 worked solution (diameter of a yarn), whose printed constant
3.37e-3 is wrong: sqrt(4 / (pi 1e5)) = 3.568e-3.
"""

import math

import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.catalogue.threads import diameter_from_tex, tex_from_denier, ticket_from_tex


@pytest.mark.parametrize(
    ("tex", "ticket"),
    [(40, 75), (45, 66.7), (60, 50), (70, 42.9), (90, 33.3), (100, 30), (135, 22.2), (210, 14.3)],
)
def test_the_metric_ticket_is_three_times_the_metres_in_a_gram(tex: float, ticket: float) -> None:
    assert ticket_from_tex(tex) == pytest.approx(ticket, abs=0.05)
    assert ticket_from_tex(tex) * tex == pytest.approx(3 * 1000)


def test_nine_denier_are_one_tex() -> None:
    assert tex_from_denier(630) == 70.0


@pytest.mark.parametrize(
    ("tex", "density", "diameter_mm"),
    [
        (45, 1.38, 0.254),
        (70, 1.38, 0.316),
        (90, 1.38, 0.359),
        (135, 1.38, 0.439),
        (210, 1.38, 0.548),
        (270, 1.38, 0.621),
        (350, 1.38, 0.707),
        (135, 1.14, 0.483),
        (135, 1.50, 0.421),
        (270, 1.14, 0.683),
        (270, 1.50, 0.596),
    ],
)
def test_the_diameter_follows_from_tex_and_density(
    tex: float, density: float, diameter_mm: float
) -> None:
    assert diameter_from_tex(tex, density) == pytest.approx(diameter_mm, abs=0.0006)


def test_the_diameter_is_that_of_a_cylinder_with_0_646_of_its_section_filled() -> None:
    # Tex g of fibre in 1000 m is a section of Tex / (1e6 mm) / (density / 1e3 g/mm3) mm2
    section_mm2 = 135 / 1e6 / (1.38 / 1e3)
    solid_mm = math.sqrt(4 * section_mm2 / math.pi)
    assert (solid_mm / diameter_from_tex(135, 1.38)) ** 2 == pytest.approx(0.646, abs=0.001)


def test_the_catalogues_bonded_sizes_are_a_tenth_of_their_denier_within_a_sixth() -> None:
    for thread in built_in_catalogue().threads:
        if thread.name.startswith("bonded"):
            size = float(thread.name.split()[-1])
            assert thread.tex * 9 / 10 == pytest.approx(size, rel=1 / 6)


@pytest.mark.parametrize(
    ("name", "low_mm", "high_mm"),
    [
        ("waxed linen 18/2", 0.65, 0.75),
        ("waxed linen 18/3", 0.75, 0.90),
        ("waxed linen 18/4", 0.90, 1.00),
        ("waxed linen 25/3", 0.60, 0.70),
        ("waxed linen 30/3", 0.50, 0.60),
    ],
)
def test_linen_cords_lie_in_the_range_they_are_traded_in(
    name: str, low_mm: float, high_mm: float
) -> None:
    assert low_mm <= find(built_in_catalogue().threads, name).diameter_mm <= high_mm

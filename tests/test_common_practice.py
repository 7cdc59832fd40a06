"""What the trade does, as plausible ranges: common practice, no source, never a value to hit."""

import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.folds import hinge_strip
from hidewright.design.kinds.registry import KINDS, kind_named
from hidewright.design.magnets import seat_cavity
from hidewright.stitching.thread_use import sewing_order
from hidewright.tooling.gap import gap_for
from hidewright.units.length import parse_length
from hidewright.workshop.begin import begin

SHELF = built_in_catalogue()
INCH = 25.4


@pytest.mark.parametrize(
    "name", [row.name for row in SHELF.leathers if row.name.endswith(" 3-4 oz")]
)
def test_for_three_to_four_ounce_leather_the_gap_is_about_a_sixteenth_of_an_inch(
    name: str,
) -> None:
    tooling = begin("flat-back pouch", SHELF).tooling
    gap, _ = gap_for(find(SHELF.leathers, name), tooling)
    assert 0.75 * INCH / 16 <= gap <= 1.35 * INCH / 16


def test_a_half_inch_magnet_is_seated_in_five_eighths_through_one_layer() -> None:
    clearance, layer = 0.2, 1.6 * 1.05
    one = seat_cavity(INCH / 2, clearance, 1.10 * layer)
    two = seat_cavity(INCH / 2, clearance, 2 * 1.10 * layer)
    assert one == pytest.approx(5 / 8 * INCH, rel=0.10)
    assert two == pytest.approx(3 / 4 * INCH, rel=0.10)


@pytest.mark.parametrize("kind", [k.name for k in KINDS if k.carries])
def test_seams_have_two_to_four_reverse_stitches_at_each_end(kind: str) -> None:
    brief = begin(kind, SHELF).brief
    for seam in kind_named(kind).construct(brief).seams:
        assert 2 <= seam.reverse_stitches <= 4


def test_three_reverse_stitches_start_at_the_fourth_hole() -> None:
    order = sewing_order(20, 3)
    assert order[:5] == (3, 2, 1, 0, 1)


def test_a_lined_fold_over_a_pocket_keeps_about_an_inch_free_of_glue() -> None:
    strip = hinge_strip(height_mm=16.0 + 2.0, inside_radius_mm=2.5, k_factor=0.5, thickness_mm=2.0)
    assert 0.75 * INCH <= strip.glue_free_mm <= 1.5 * INCH


def test_moulds_are_of_quarter_inch_board_and_templates_of_an_eighth_or_more() -> None:
    tooling = begin("flat-back pouch", SHELF).tooling
    assert tooling.mould_board.thickness_mm == pytest.approx(parse_length("1/4 in"), rel=0.1)
    assert tooling.template_board.transparent
    assert tooling.template_board.thickness_mm >= parse_length("1/8 in")

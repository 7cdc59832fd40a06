"""What the trade does, as plausible ranges: common practice, no source, never a value to hit."""

from dataclasses import replace

import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.folds import hinge_strip
from hidewright.design.kinds.registry import KINDS, kind_named
from hidewright.design.magnets import seat_cavity
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.states import DryOutline
from hidewright.forming.pressing import Pressing
from hidewright.geometry.offset import offset
from hidewright.geometry.shapes import rectangle
from hidewright.stitching.thread_use import sewing_order
from hidewright.tooling.gap import gap_for, soaked_thickness_mm
from hidewright.units.length import parse_length
from hidewright.workshop.begin import begin
from hidewright.workshop.forming_chain import press_blank

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


@pytest.mark.parametrize("gap_mm", [None, INCH / 16], ids=["gap by the rule", "a sixteenth"])
@pytest.mark.parametrize(("depth_mm", "crown_mm"), [(6.0, 3.0), (12.0, 3.0), (19.0, 6.0)])
def test_usual_hollows_can_be_made(depth_mm: float, crown_mm: float, gap_mm: float | None) -> None:
    """3-4 oz vegetable-tanned shoulder over a plug 60 x 90 mm with 12 mm corners, under a plate.

    Quarter-inch boards, lip eased by 2.5 mm. Common practice, no source.
    """
    leather = find(SHELF.leathers, "vegetable-tanned shoulder 3-4 oz")
    outline = rectangle(60.0, 90.0, 12.0)
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(outline),
        depth_mm=depth_mm,
        crown_radius_mm=crown_mm,
        lip_radius_mm=2.5,
    )
    piece = Piece(
        name="front", role="body", outline=DryOutline(offset(outline, 12.0)), zones=(zone,)
    )
    blank = Blank(
        name="front",
        places=(PiecePlace(piece="front"),),
        role="body",
        margin_mm=15.0,
        hold="plate",
    )
    tooling = begin("flat-back pouch", SHELF).tooling
    assert tooling.mould_board.thickness_mm == pytest.approx(INCH / 4, rel=0.1)
    if gap_mm is not None:
        tooling = replace(tooling, gap_factor=gap_mm / soaked_thickness_mm(leather))
    pressed, remarks = press_blank(blank, (piece,), (("body", leather),), tooling.gap_factor)
    assert [r for r in remarks if r.severity == "forbids"] == []
    (layer,) = pressed.layers
    assert isinstance(layer.sheet.pressing, Pressing)
    (hollow,) = layer.sheet.pressing.hollows
    # a gap of about a sixteenth, and the plug as deep as it dries
    assert hollow.tools.gap_mm == pytest.approx(INCH / 16, rel=0.35)
    assert hollow.tools.depth_mm * layer.zones[0].height_dries == pytest.approx(depth_mm)

"""Islands: a bottom pressed back over a block, seen from the solver and in its limits."""

from dataclasses import replace

import numpy as np
import pytest

from hidewright.design.pressed_zone import PressedIsland, PressedZone
from hidewright.design.states import FormedOutline
from hidewright.errors import RequestError
from hidewright.forming.answers import stretch_in_triangles
from hidewright.forming.law import NeoHooke
from hidewright.forming.limits import grain_stretch
from hidewright.forming.mesh import CAP, CROWN, LIP, eased
from hidewright.forming.meshing import meshed
from hidewright.forming.on_blank import MOST_TIMES, standard_size_mm
from hidewright.forming.pressing import Hollow, Pressing
from hidewright.forming.profile import OnArcs, Tools
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed
from hidewright.geometry.offset import offset
from hidewright.geometry.shapes import circle, rectangle

T, GAP, DEPTH, BACK = 1.6, 1.8, 14.0, 6.0


def tools(depth: float) -> Tools:
    return Tools(depth_mm=depth, crown_radius_mm=3.0, lip_radius_mm=3.0, gap_mm=GAP, thickness_mm=T)


@pytest.fixture(scope="module")
def sheet() -> Pressed:
    """A round cup with a round island in its middle."""
    cup = Hollow(name="cup", outline=circle(40.0), tools=tools(DEPTH))
    island = Hollow(name="cup/knob", outline=circle(10.0), tools=tools(BACK), within="cup")
    form = Pressing(hollows=(cup, island), edge=circle(60.0), thickness_mm=T, hold="clamped")
    return pressed(form, Conditions(law=NeoHooke(shear_MPa=3.0), level=2), 3.0)


def test_an_island_is_pressed_back_from_the_bottom_it_stands_in(sheet: Pressed) -> None:
    assert isinstance(sheet.pressing, Pressing)
    assert sheet.pressing.outermost == (0, 0)
    assert sheet.pressing.ways == (1.0, -1.0)
    layout, z = sheet.layout, sheet.shape.points[:, 2]

    def level(hollow: int) -> float:
        own = (layout.hollow == hollow) & (layout.region == CAP)
        return float(np.median(z[np.unique(layout.triangles[own])]))

    # the middle of a sheet that keeps its face on the tools lies off by a share of its thinning
    assert level(0) - level(1) == pytest.approx(BACK, abs=0.5 * T)


def test_on_an_island_the_grain_is_lengthened_at_the_foot_and_not_at_the_top(
    sheet: Pressed,
) -> None:
    """Bending lengthens the outer side: the block of an island lies on the grain."""
    layout, middle = sheet.layout, stretch_in_triangles(sheet).largest
    grain, flesh = grain_stretch(sheet, True), grain_stretch(sheet, False)
    for hollow, longer in ((0, {CROWN: grain, LIP: flesh}), (1, {CROWN: flesh, LIP: grain})):
        for region, face in longer.items():
            own = (layout.hollow == hollow) & (layout.region == region)
            assert (face[own] > middle[own] * 1.05).all()


def zone(*islands: PressedIsland) -> PressedZone:
    return PressedZone(
        name="tray",
        sources=(("tray", "hollow"),),
        plug=FormedOutline(rectangle(90.0, 60.0, 10.0)),
        height_mm=12.0,
        height_dries=1.0,
        crown_radius_mm=3.0,
        lip_radius_mm=2.0,
        islands=islands,
    )


def test_the_standard_mesh_goes_by_the_hollow_and_not_by_the_margin() -> None:
    narrow, wide, enormous = (offset(rectangle(90.0, 60.0, 10.0), by) for by in (10, 40, 400))
    assert standard_size_mm((zone(),), narrow) == standard_size_mm((zone(),), wide)
    by_edge = standard_size_mm((zone(),), enormous)
    assert by_edge > standard_size_mm((zone(),), wide)
    both = rectangle(90.0, 60.0, 10.0)
    assert by_edge**2 == pytest.approx(
        standard_size_mm((zone(),), narrow) ** 2
        * enormous.area
        / MOST_TIMES
        / (both.area + 25.0 * both.length)
    )


def test_a_block_that_leather_on_both_sides_leaves_nothing_of_is_told_in_words() -> None:
    thin = PressedIsland(
        name="rib",
        pocket=FormedOutline(rectangle(3.0, 30.0, 1.4)),
        height_mm=5.0,
        top_radius_mm=1.0,
        foot_radius_mm=1.0,
    )
    with pytest.raises(RequestError, match=r"rib: nothing is left .* more than 3.6 mm"):
        thin.block(GAP)
    wide = PressedIsland(
        name="rib",
        pocket=FormedOutline(rectangle(12.0, 30.0, 5.0)),
        height_mm=5.0,
        top_radius_mm=1.0,
        foot_radius_mm=1.0,
    )
    assert wide.block(GAP).width == pytest.approx(12.0 - 2 * GAP)


def test_the_ease_round_a_crown_leaves_flat_leather_before_an_island_and_fits_under_the_floor() -> (
    None
):
    """The stiff sheet's wider turn takes half of what is flat, and no more than the gap has room.

    The crown arc begins 37 mm from the middle of the cup; the island's lip ends its gap and its
    radius, 1.8 + 3 mm, outside of its block of 10 mm radius.
    """
    cup = Hollow(name="cup", outline=circle(40.0), tools=tools(DEPTH))
    at = (21.9, 0.0)
    island = Hollow(name="cup/knob", outline=circle(10.0, at), tools=tools(BACK), within="cup")
    alone = Pressing(hollows=(cup,), edge=circle(60.0), thickness_mm=T)
    both = Pressing(hollows=(cup, island), edge=circle(60.0), thickness_mm=T)
    (band, _) = meshed(both, 3.0).bands
    none = OnArcs.even(T, band.columns)
    wide = replace(none, crown_ease=np.full(band.columns, 1.0))
    assert eased(alone, 0, band, wide).crown_ease == pytest.approx(wide.crown_ease)
    ease = eased(both, 0, band, wide).crown_ease
    flat = 37.0 - at[0] - (10.0 + GAP + 3.0)
    assert 0.0 < flat < 2.0 * (GAP - T), "this island is so near that the flat leather governs"
    assert ease[0] == pytest.approx(flat / 2.0, abs=0.03)
    assert ease.max() == pytest.approx(GAP - T)

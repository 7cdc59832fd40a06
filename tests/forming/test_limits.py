"""Shares of what the leather bears: closed forms by direction, on arcs and corners; puckers."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from hidewright.catalogue.leathers import Leather
from hidewright.forming.answers import stretch_in_triangles
from hidewright.forming.energy import strained as strained_to
from hidewright.forming.law import FibreSheet, NeoHooke
from hidewright.forming.limits import (
    CLAMPED,
    HINGED,
    Puckers,
    grain_stretch,
    pinched,
    puckers,
    use_of,
)
from hidewright.forming.mesh import CROWN, FLANGE, LIP, WALL
from hidewright.forming.pressing import EdgeHold, Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed, Warm
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Bools
from hidewright.geometry.shapes import circle, rectangle, stadium

RUBBER = Conditions(law=NeoHooke(shear_MPa=2.0), level=0)
HELD = Conditions(
    law=FibreSheet(
        shear_MPa=1.5, fibre_along_MPa=8.0, rise_along=6.0, fibre_across_MPa=5.0, rise_across=5.0
    ),
    friction=0.3,
    plate_pressure_MPa=0.02,
)
LEATHER = Leather(
    name="test shoulder",
    part_of_hide="shoulder",
    thickness_min_mm=2.0,
    thickness_max_mm=2.0,
    stretch_limit_along=1.15,
    stretch_limit_across=1.30,
    source="invented for this test",
)


def over(
    outline: Outline,
    edge: float,
    hold: EdgeHold = "clamped",
    *,
    depth: float = 10.0,
    crown: float = 3.0,
    gap: float = 2.2,
    t: float = 2.0,
    lip: float = 3.0,
) -> Pressing:
    tools = Tools(
        depth_mm=depth, crown_radius_mm=crown, lip_radius_mm=lip, gap_mm=gap, thickness_mm=t
    )
    return Pressing(
        hollows=(Hollow(name="plug", outline=outline, tools=tools),),
        edge=edge,
        thickness_mm=t,
        hold=hold,
    )


@pytest.fixture(scope="module")
def cup() -> Pressed:
    return pressed(over(circle(20), 8.0), RUBBER, 4.0)


def strained(sheet: Pressed, e1: float, e2: float, angle: float) -> Pressed:
    """Return the sheet with the same logarithmic strains everywhere, e1 at an angle to along."""
    c, s = math.cos(angle), math.sin(angle)
    big, small = math.exp(2 * e1), math.exp(2 * e2)
    m = len(sheet.layout.triangles)
    tensor = (c * c * big + s * s * small, s * s * big + c * c * small, c * s * (big - small))
    state = replace(sheet.state, c=np.tile(np.array(tensor)[:, None], m))
    return replace(sheet, state=state)


# --- the limit of the sheet ---


@pytest.mark.parametrize("degrees", [0, 20, 45, 70, 90, 135])
def test_a_strip_at_its_limit_uses_all_of_it_in_every_direction(
    cup: Pressed, degrees: float
) -> None:
    # the ellipse (x/ln 1.15)^2 + (y/ln 1.30)^2 = 1 of the strain in a strip's direction
    angle = math.radians(degrees)
    ellipse = 1 / math.hypot(math.cos(angle) / math.log(1.15), math.sin(angle) / math.log(1.30))
    for share in (0.4, 1.0, 1.3):
        pulled = strained(cup, share * ellipse, -0.5 * share * ellipse, angle)
        used = use_of(pulled, LEATHER).stretch
        # beyond the limit a strip is gathered more than at it, and bears that much more
        borne = 1.0 + 0.5 * max(share - 1.0, 0.0)
        assert used == pytest.approx(np.full_like(used, share / borne), rel=1e-9)


def test_the_limit_is_that_against_the_backbone_however_the_sheet_lies(cup: Pressed) -> None:
    turned = replace(cup, pressing=replace(cup.pressing, backbone=0.7))
    for angle, limit in ((0.0, 1.15), (math.pi / 2, 1.30)):
        pulled = strained(turned, math.log(limit), 0.0, angle)
        assert use_of(pulled, LEATHER).stretch == pytest.approx(1.0, rel=1e-9)


def test_a_gathered_sheet_bears_as_much_thinning_as_a_strip_at_its_limit(cup: Pressed) -> None:
    strip = math.log(1.15)
    thinning = strip - 0.5 * strip
    for gathered in (0.5 * strip, strip, 2 * strip):  # left side of the forming limit
        used = use_of(strained(cup, gathered + thinning, -gathered, 0.0), LEATHER).stretch
        assert used == pytest.approx(1.0, rel=1e-9)
    for widened in (-0.5 * strip, 0.0, strip):  # its right side
        used = use_of(strained(cup, strip, widened, 0.0), LEATHER).stretch
        assert used == pytest.approx(1.0, rel=1e-9)


def test_a_sheet_only_pressed_together_uses_nothing_and_the_reserve_is_what_is_left(
    cup: Pressed,
) -> None:
    assert (use_of(strained(cup, -0.05, -0.1, 0.3), LEATHER).stretch == 0.0).all()
    use = use_of(cup, LEATHER)
    assert use.most == pytest.approx(np.maximum(use.stretch, use.grain))
    assert use.reserve == pytest.approx(1.0 - use.most)


# --- the grain face ---

LONG = stadium(160.0, 40.0)


def middle(sheet: Pressed, region: int) -> Bools:
    """Return triangles half way along the straight walls."""
    at = sheet.shape.points[sheet.layout.triangles].mean(axis=1)
    half_way: Bools = (np.abs(at[:, 0]) < 10.0) & (sheet.layout.region == region)
    return half_way


@pytest.mark.parametrize("grain_out", [True, False])
@pytest.mark.parametrize("region", [CROWN, LIP])
def test_round_an_arc_of_a_straight_wall_the_grain_is_stretched_by_half_its_thickness_more(
    grain_out: bool, region: int
) -> None:
    sheet = pressed(over(LONG, 6.0), RUBBER, 4.0)
    own = middle(sheet, region)
    assert own.sum() > 10
    c11, c22, c12 = sheet.state.c[:, own]
    # it is stretched across the wall, hardly along it
    assert c11 == pytest.approx(1.0, abs=0.05)
    assert c12 == pytest.approx(0.0, abs=0.03)
    h, radius = sheet.thickness[own], 3.0 + 2.0 / 2.0
    outside = grain_out == (region == CROWN)
    bent = np.sqrt(c22) * (1.0 + (1 if outside else -1) * h / (2.0 * radius))
    expected = np.maximum(bent, np.sqrt(c11))
    # inside the bend both stretches are nearly alike, and what shear there is tells
    near = 1e-3 if outside else 6e-3
    assert grain_stretch(sheet, grain_out)[own] == pytest.approx(expected, rel=near)
    if outside:
        assert (bent > 1.15 * np.sqrt(c11)).all()


def test_on_flat_leather_the_grain_is_stretched_as_the_sheet_is(cup: Pressed) -> None:
    flat = ~np.isin(cup.layout.region, (CROWN, WALL, LIP))
    assert flat.any()
    assert grain_stretch(cup, True)[flat] == pytest.approx(stretch_in_triangles(cup).largest[flat])


def test_the_wall_of_a_tight_corner_bends_the_grain_round_the_hollow() -> None:
    form = over(circle(6), 5.2, depth=6.0, crown=2.0, lip=2.0, gap=3.2, t=3.0)
    cup = pressed(form, RUBBER, 0.6)
    # laid flat nearer the middle than the solver lays it, so that it is stretched most all round
    flat = cup.flat * (np.hypot(*cup.flat.T) / 10.0)[:, None]
    state = strained_to(cup.sheet, flat)
    assert state is not None
    sheet = replace(cup, flat=flat, state=state)
    own = sheet.layout.region == WALL
    corners = sheet.layout.triangles[own]
    points = sheet.shape.points[corners]
    # each triangle has one side along the hollow: its ends are equally high
    by_height = np.argsort(points[:, :, 2], axis=1)
    z = np.take_along_axis(points[:, :, 2], by_height, axis=1)
    one = np.where(z[:, 1] - z[:, 0] < z[:, 2] - z[:, 1], by_height[:, 0], by_height[:, 2])
    level = corners[np.arange(len(corners)), one]
    hoop = np.hypot(*sheet.shape.points[level, :2].T) / np.hypot(*flat[level].T)
    upright = math.sin(float(sheet.shape.sections[0].turn.mean()))
    # a plug's wall of radius R, the sheet's middle d outside it: curvature 1/(R + d)
    curvature = upright / np.hypot(*points.mean(axis=1)[:, :2].T)
    bent = hoop * (1.0 + sheet.thickness[own] / 2.0 * curvature)
    assert (bent > 1.1 * stretch_in_triangles(sheet).largest[own]).all()
    assert grain_stretch(sheet, True)[own] == pytest.approx(bent, rel=0.005)


def _tensors(sheet: Pressed, own: Bools) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    c11, c22, c12 = sheet.state.c[:, own]
    return np.stack([np.stack([c11, c12], axis=-1), np.stack([c12, c22], axis=-1)], axis=-2)


# --- the flange ---


def test_buckling_factors_are_those_of_a_long_plate_with_one_edge_free() -> None:
    # k pi^2 / 9 with k = 0.425 hinged, 1.277 clamped (S. Timoshenko, Theory of Elastic Stability)
    assert pytest.approx(0.466, abs=5e-4) == HINGED
    assert pytest.approx(1.400, abs=5e-4) == CLAMPED
    assert pytest.approx(0.008286, abs=1e-6) == HINGED * (2.0 / 15.0) ** 2


@pytest.fixture(scope="module")
def loose() -> tuple[Pressed, Puckers]:
    sheet = pressed(over(circle(25), 2.2 + 3.0 + 15.0, "free"), RUBBER, 2.0)
    return sheet, puckers(sheet)


def test_a_flange_of_15_mm_of_2_mm_leather_bears_0_83_per_cent_flat(
    loose: tuple[Pressed, Puckers],
) -> None:
    sheet, flange = loose
    assert np.array_equal(flange.triangles, np.flatnonzero(sheet.layout.region == FLANGE))
    assert flange.critical == pytest.approx(0.008286, rel=0.03)
    assert flange.wave_mm == pytest.approx(2 * 1.64 * 15.0, rel=0.02)
    # drawn in towards the middle, the flange is gathered most at its edge: hoop flat over formed
    corners = sheet.layout.triangles[flange.triangles]
    radius = np.hypot(*sheet.shape.points[corners, :2].mean(axis=1).T)
    lay = np.hypot(*sheet.flat[corners].mean(axis=1).T)
    assert flange.gathered == pytest.approx(np.log(lay / radius), abs=5e-3)


def test_a_wave_takes_up_what_is_gathered_beyond_what_is_borne_flat(
    loose: tuple[Pressed, Puckers],
) -> None:
    _, flange = loose
    flat = flange.gathered <= flange.critical
    assert (flange.height_mm[flat] == 0.0).all()
    worst = int(flange.height_mm.argmax())
    height, wave = flange.height_mm[worst], flange.wave_mm[worst]
    assert height > 0.0

    def side(x: float) -> float:
        return math.hypot(1.0, math.pi * height / wave * math.cos(2 * math.pi * x / wave))

    longer = quad(side, 0.0, wave)[0] / wave - 1.0
    assert longer == pytest.approx(flange.gathered[worst] - flange.critical[worst], rel=0.1)


def test_a_wall_is_pinched_where_drawing_in_makes_it_thicker_than_the_gap() -> None:
    square = rectangle(40, 40, 6)
    free = pressed(over(square, 14.0, "free", depth=12.0, gap=2.0), RUBBER, 3.0)
    (shares,) = pinched(free)
    own = free.layout.region == WALL
    # incompressible: laid in over formed area, over the gap
    area = np.sqrt(np.linalg.det(_tensors(free, own)))
    assert shares == pytest.approx(2.0 / area / 2.0, rel=1e-9)
    at = free.shape.points[free.layout.triangles[own]].mean(axis=1)
    x, y = np.abs(at[int(shares.argmax()), :2])
    assert shares.max() > 1.0
    assert min(x, y) > 20.0 - 6.0  # in a corner
    clamped = pressed(over(square, 5.2, depth=12.0, gap=2.0), RUBBER, 3.0)
    assert pinched(clamped)[0].max() < 1.0


# --- depth and radius ---


def test_the_reserve_falls_with_depth() -> None:
    warm: Warm | None = None
    reserves = []
    for depth in (8.0, 9.0, 10.0, 11.0, 12.0):
        form = over(rectangle(60, 40, 10), 15.0, "plate", depth=depth)
        sheet = pressed(form, HELD, 3.5, warm)
        assert warm is None or sheet.layout is warm.layout
        warm = sheet.warm
        reserves.append(float(use_of(sheet, LEATHER).reserve.min()))
    assert sorted(reserves, reverse=True) == reserves
    assert reserves[0] - reserves[-1] > 0.05


def test_the_reserve_rises_with_the_crown_radius() -> None:
    warm: Warm | None = None
    reserves = []
    for crown in (2.0, 3.0, 4.0, 5.0, 6.0):
        form = over(rectangle(60, 40, 10), 15.0, "plate", depth=12.0, crown=crown)
        sheet = pressed(form, HELD, 3.5, warm)
        assert warm is None or sheet.layout is warm.layout
        warm = sheet.warm
        reserves.append(float(use_of(sheet, LEATHER).reserve.min()))
    assert sorted(reserves) == reserves
    assert reserves[-1] - reserves[0] > 0.05

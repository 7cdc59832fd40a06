"""The solver as a whole: invariance, warm starts, both questions, holds, refusals."""

import math
from dataclasses import replace

import numpy as np
import pytest

from hidewright.errors import RequestError
from hidewright.forming import pattern
from hidewright.forming.answers import (
    flat_from_plan,
    formed_from_flat,
    press_force_N,
    pull_in,
    thickness_at,
    thickness_at_points,
)
from hidewright.forming.case import Case, answer
from hidewright.forming.law import FibreSheet, NeoHooke
from hidewright.forming.pressing import EdgeHold, GivenSurface, Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed, Warm
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import circle, rectangle

RUBBER = NeoHooke(shear_MPa=5.0)
LEATHER = FibreSheet(
    shear_MPa=2.0, fibre_along_MPa=8.0, rise_along=4.0, fibre_across_MPa=5.0, rise_across=2.0
)
T = 1.6
SQUARE = rectangle(60, 60, 10)
PLAIN = Conditions(law=RUBBER, level=0)
WHOLE = Conditions(law=LEATHER, friction=0.2, plate_pressure_MPa=0.05)


def over(
    outline: Outline,
    edge: Outline | float,
    hold: EdgeHold = "clamped",
    *,
    depth: float = 10.0,
    backbone: float = 0.0,
) -> Pressing:
    tools = Tools(
        depth_mm=depth, crown_radius_mm=3.0, lip_radius_mm=3.0, gap_mm=1.8, thickness_mm=T
    )
    return Pressing(
        hollows=(Hollow(name="plug", outline=outline, tools=tools),),
        edge=edge,
        thickness_mm=T,
        hold=hold,
        backbone=backbone,
    )


def test_every_answer_is_balanced() -> None:
    for conditions in (PLAIN, WHOLE, replace(WHOLE, level=3)):
        sheet = pressed(over(SQUARE, 20.0, "plate"), conditions, 4.0)
        assert sheet.residual < 1e-5


@pytest.mark.parametrize("size_mm", [2.0, 1.5])
def test_a_square_keeps_its_eight_symmetries(size_mm: float) -> None:
    sheet = pressed(over(SQUARE, 12.0, "plate"), replace(WHOLE, law=RUBBER), size_mm)
    on_arc_and_wall = ((28.0, 27.0), (31.0, 12.0))
    for x, y in (
        *((10.0, 4.0), (22.0, 9.0), (33.0, 5.0), (24.0, 20.0), (36.0, 30.0)),
        *on_arc_and_wall,
    ):
        signs = np.array([(a, b) for a in (1, -1) for b in (1, -1)])
        eight = np.concatenate([signs * (x, y), signs * (y, x)])
        h = thickness_at(sheet, eight) / T
        assert np.ptp(h) < 1e-3
        formed = formed_from_flat(sheet, eight)
        radius = np.hypot(formed[:, 0], formed[:, 1])
        assert np.ptp(radius) < 0.005


def test_only_the_direction_of_the_backbone_against_the_outline_matters() -> None:
    # outline and backbone turned together; the mesh of the bottom is another one
    turn = math.radians(37)
    kept = pressed(over(SQUARE, 8.0, backbone=0.3), WHOLE, 3.0)
    turned = pressed(over(SQUARE.rotated(turn), 8.0, backbone=0.3 + turn), WHOLE, 3.0)
    across = pressed(over(SQUARE, 8.0, backbone=0.3 + turn), WHOLE, 3.0)
    forces = [press_force_N(one)[0] for one in (kept, turned, across)]
    assert forces[1] == pytest.approx(forces[0], rel=2e-3)
    c, s = math.cos(turn), math.sin(turn)
    marks = np.array([[5.0, 3.0], [20.0, -8.0], [-15.0, 14.0], [26.0, 26.0]])
    h = thickness_at(kept, marks)
    assert thickness_at(turned, marks @ np.array([[c, s], [-s, c]])) == pytest.approx(h, abs=0.006)
    assert np.abs(thickness_at(across, marks) - h).max() > 0.01


@pytest.mark.parametrize("law", [RUBBER, LEATHER])
def test_a_given_surface_that_is_turned_and_shifted_gives_the_same_answer(
    law: NeoHooke | FibreSheet,
) -> None:
    first = pressed(over(circle(20), 8.0), replace(PLAIN, law=law), 4.0)
    points, triangles = first.shape.points, first.layout.triangles
    c, s = math.cos(0.7), math.sin(0.7)
    turned = points @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) + (40.0, -7.0, 3.0)
    found = []
    for placed, backbone in ((points, 0.2), (turned, 0.2 + 0.7)):
        surface = GivenSurface(
            points=placed, triangles=triangles, thickness_mm=T, backbone=backbone
        )
        case = Case(
            title="", pressing=surface, conditions=Conditions(law=law, level=0), size_mm=1.0
        )
        found.append(answer(case))
    one, two = found
    assert two.force_N == pytest.approx(one.force_N, rel=1e-7)
    for before, after in zip(one.points, two.points, strict=True):
        assert after.flat_mm == pytest.approx(before.flat_mm, abs=1e-6)
        assert after.thickness_ratio == pytest.approx(before.thickness_ratio, abs=1e-7)
        assert after.stretch_1 == pytest.approx(before.stretch_1, abs=1e-7)
        apart = (after.angle_deg - before.angle_deg + 90.0) % 180.0 - 90.0
        assert abs(apart) * (before.stretch_1 - before.stretch_2) < 1e-4


@pytest.mark.parametrize("conditions", [PLAIN, WHOLE, replace(WHOLE, level=3)])
def test_a_warm_solve_keeps_the_mesh_and_finds_what_a_cold_one_finds(
    conditions: Conditions,
) -> None:
    # depths between which the number of rows stays, so that both have the same triangles
    at = pressed(over(SQUARE, 15.0, "plate", depth=10.0), conditions, 3.0)
    warm = pressed(over(SQUARE, 15.0, "plate", depth=10.4), conditions, 3.0, warm=at.warm)
    cold = pressed(over(SQUARE, 15.0, "plate", depth=10.4), conditions, 3.0)
    assert warm.layout is at.layout
    same = [np.unique(np.sort(one.layout.triangles), axis=0) for one in (cold, warm)]
    assert np.array_equal(same[0], same[1])
    assert warm.rounds < cold.rounds
    at_points = [thickness_at_points(one) for one in (warm, cold)]
    assert np.abs(at_points[0] - at_points[1]).max() < 0.001 * T
    assert np.abs(warm.flat - cold.flat).max() < 0.01
    assert press_force_N(warm) == pytest.approx(press_force_N(cold), rel=1e-3)


def test_a_slider_moved_far_and_back_ends_where_it_began() -> None:
    first = pressed(over(SQUARE, 15.0, "plate", depth=10.0), WHOLE, 4.0)
    one = first
    for depth in (12.0, 14.0, 12.0, 10.0):
        one = pressed(over(SQUARE, 15.0, "plate", depth=depth), WHOLE, 4.0, warm=one.warm)
        assert one.layout is first.layout
    assert np.abs(one.thickness - first.thickness).max() < 0.001 * T


def test_a_warm_start_of_another_make_is_not_used() -> None:
    first = pressed(over(SQUARE, 15.0, "plate"), PLAIN, 4.0)
    other = pressed(over(circle(25), 15.0, "plate"), PLAIN, 4.0, warm=first.warm)
    alone = pressed(over(circle(25), 15.0, "plate"), PLAIN, 4.0)
    assert np.array_equal(other.flat, alone.flat)


@pytest.mark.parametrize("conditions", [PLAIN, replace(WHOLE, level=3)])
def test_scipys_own_factorisation_gives_the_same_answer(
    monkeypatch: pytest.MonkeyPatch, conditions: Conditions
) -> None:
    usual = pressed(over(SQUARE, 15.0, "plate"), conditions, 4.0)
    monkeypatch.setattr(pattern, "qdldl", None)
    fallback = pressed(over(SQUARE, 15.0, "plate"), conditions, 4.0)
    assert np.abs(fallback.flat - usual.flat).max() < 1e-5
    assert press_force_N(fallback) == pytest.approx(press_force_N(usual), rel=1e-5)


def test_which_blank_and_where_does_its_edge_go_are_each_others_inverse() -> None:
    edge = 14.0
    direct = pressed(over(circle(25), edge, "free"), PLAIN, 3.0)
    radius = float(np.hypot(*direct.flat[direct.layout.edge].T).mean())
    blank = circle(radius)
    asked = pressed(over(circle(25), radius - 25.0, "free"), PLAIN, 3.0, blank=blank)
    rim = np.hypot(*asked.shape.points[asked.layout.edge, :2].T)
    assert rim == pytest.approx(np.full(len(rim), 25.0 + edge), abs=0.01)
    assert pull_in(asked)[1] == pytest.approx(np.full(len(rim), radius - 25.0 - edge), abs=0.01)


def test_marks_go_to_the_formed_sheet_and_back() -> None:
    sheet = pressed(over(SQUARE, 15.0, "plate"), PLAIN, 3.0)
    marks = np.array([[3.0, 4.0], [-12.0, 7.0], [44.0, 2.0], [-36.0, -41.0]])
    formed = formed_from_flat(sheet, marks)
    # on bottom and flange the plan of the formed sheet is the plan of the mesh
    assert flat_from_plan(sheet, formed[:, :2]) == pytest.approx(marks, abs=1e-9)
    with pytest.raises(RequestError, match="does not lie on the leather"):
        formed_from_flat(sheet, np.array([[300.0, 0.0]]))


def test_the_harder_the_flange_is_held_the_less_it_slides_up_to_a_clamp() -> None:
    drawn, forces = [], []
    for pressure in (0.0, 0.02, 0.1, 0.5, 20.0):
        held = Conditions(law=RUBBER, friction=0.3, plate_pressure_MPa=pressure, arc_friction=0.0)
        sheet = pressed(over(circle(25), 15.0, "plate"), replace(held, level=0), 3.0)
        drawn.append(pull_in(sheet)[1].mean())
        forces.append(press_force_N(sheet)[0])
    assert sorted(drawn, reverse=True) == drawn
    assert sorted(forces) == forces
    clamped = press_force_N(pressed(over(circle(25), 4.8), PLAIN, 3.0))[0]
    assert forces[-1] == pytest.approx(clamped, rel=0.01)
    assert drawn[-1] < 1e-3


def test_friction_on_the_arcs_keeps_leather_from_leaving_the_bottom() -> None:
    centre = np.zeros((1, 2))
    bare, rough = (
        pressed(over(circle(25), 4.8), replace(PLAIN, arc_friction=mu), 3.0) for mu in (0.0, 0.25)
    )
    # a solid model with Coulomb friction of 0.25 kept 0.039 of the thickness on a like cup
    assert (thickness_at(rough, centre) - thickness_at(bare, centre))[0] / T == pytest.approx(
        0.035, abs=0.01
    )


def test_leather_stiffer_across_is_pulled_in_more_across() -> None:
    stiff = replace(LEATHER, fibre_across_MPa=30.0)
    held = replace(WHOLE, law=stiff)
    sheet = pressed(over(circle(25), 15.0, "plate"), held, 3.0)
    at, drawn = pull_in(sheet)
    angle = np.abs(np.degrees(np.arctan2(at[:, 1], at[:, 0])))
    across, along = drawn[np.abs(angle - 90) < 10].mean(), drawn[angle < 10].mean()
    assert across > 1.1 * along


def test_what_the_form_does_not_allow_is_refused_and_never_shown_as_an_answer() -> None:
    with pytest.raises(RequestError, match="the depth is more than the leather allows"):
        over(circle(25), 4.0)
    with pytest.raises(RequestError, match="drawn in past the lip") as refused:
        pressed(over(circle(25), 7.0, "free", depth=15.0), PLAIN, 3.0, blank=circle(32))
    assert "less depth" in refused.value.mend
    for bad in (-0.1, 1.1, math.nan):
        with pytest.raises(RequestError, match="between 0 and 1"):
            Conditions(law=RUBBER, friction=bad)
        with pytest.raises(RequestError, match="between 0 and 1"):
            Conditions(law=RUBBER, arc_friction=bad)


@pytest.mark.parametrize("law", [RUBBER, LEATHER])
def test_a_blank_too_small_for_its_depth_is_refused_for_that(law: NeoHooke | FibreSheet) -> None:
    # the lip ends 4.8 mm from the plug; some 4 mm are drawn in at this depth
    conditions = replace(PLAIN, law=law, level=3)
    small, enough = circle(22.0 + 4.8), circle(22.0 + 14.0)
    assert (
        pressed(over(circle(22.0), enough, "free"), conditions, 3.0, blank=enough).residual < 1e-5
    )
    with pytest.raises(RequestError, match="drawn in past the lip"):
        pressed(over(circle(22.0), circle(28.0), "free"), conditions, 3.0, blank=circle(28.0))
    with pytest.raises(RequestError, match="lip reaches beyond"):
        pressed(over(circle(22.0), small, "free"), conditions, 3.0, blank=small)


def test_what_lies_on_the_other_side_is_foretold_to_second_order_and_found_in_fewer_rounds() -> (
    None
):
    """Halving the way quarters the error of a straight line through two solves."""

    def at(friction: float, warm: Warm | None = None) -> Pressed:
        conditions = replace(WHOLE, friction=friction)
        return pressed(over(SQUARE, 15.0, "plate", depth=10.0), conditions, 3.0, warm, balance=1e-9)

    middle = at(0.25)
    errors, rounds = [], []
    for step in (0.1, 0.05):
        less = at(0.25 - step, middle.warm)
        start = middle.warm.opposite(less.warm)
        more = at(0.25 + step, middle.warm)
        errors.append(float(np.abs(start.flat - more.warm.flat).max()))
        rounds.append((at(0.25 + step, start).rounds, more.rounds))
    assert math.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.25)
    assert all(begun_near < begun_far for begun_near, begun_far in rounds), rounds
    meshed_anew = pressed(middle.pressing, middle.conditions, 4.0)
    assert middle.warm.opposite(meshed_anew.warm) is middle.warm

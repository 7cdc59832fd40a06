"""The section across an edge: two arcs and their common tangent, for a limp sheet."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.forming.energy import metric_of
from hidewright.forming.mesh import edge_of, shape
from hidewright.forming.meshing import meshed
from hidewright.forming.pressing import Hollow, Pressing
from hidewright.forming.profile import OnArcs, Rows, Section, Tools, section
from hidewright.geometry.shapes import circle

ROWS = Rows(crown=5, wall=4, lip=6)
CUP = Tools(depth_mm=12.0, crown_radius_mm=4.0, lip_radius_mm=3.0, gap_mm=1.6, thickness_mm=1.6)

radii = st.floats(0.5, 8.0)
shares = st.floats(0.5, 1.0)


@st.composite
def tools(draw: st.DrawFn) -> Tools:
    """Tools as makers have them, upright or not; gap and depth no less than the leather."""
    thickness = draw(st.floats(0.8, 4.0))
    return Tools(
        depth_mm=thickness + draw(st.floats(0.0, 40.0)),
        crown_radius_mm=draw(radii),
        lip_radius_mm=draw(radii),
        gap_mm=thickness * draw(st.floats(1.0, 2.0)),
        thickness_mm=thickness,
        wall_angle=draw(st.floats(0.0, 0.4)),
    )


def limp(crown_h: float, lip_h: float) -> OnArcs:
    return replace(OnArcs.even(crown_h, 1), lip_h=np.array([lip_h]))


def to_crown(one: Tools, cut: Section) -> tuple[np.ndarray, np.ndarray]:
    """From the centre of the plug's edge to the stations: outward and up, mm."""
    z = one.depth_mm - one.thickness_mm / 2 - one.crown_radius_mm
    return cut.d[0] - one.inner_mm, cut.z[0] - z


def to_lip(one: Tools, cut: Section) -> tuple[np.ndarray, np.ndarray]:
    """From the centre of the opening's edge to the stations."""
    z = one.thickness_mm / 2 + one.lip_radius_mm
    return cut.d[0] - one.outer_mm, cut.z[0] - z


@given(one=tools(), crown=shares, lip=shares)
def test_the_middle_runs_half_its_thickness_off_the_tools_and_straight_between(
    one: Tools, crown: float, lip: float
) -> None:
    crown_h, lip_h = crown * one.thickness_mm, lip * one.thickness_mm
    cut = section(one, ROWS, limp(crown_h, lip_h))
    rc, rl = one.crown_radius_mm + crown_h / 2, one.lip_radius_mm + lip_h / 2
    (cd, cz), (ld, lz) = to_crown(one, cut), to_lip(one, cut)
    n_d, n_z = cut.normal_d[0], cut.normal_z[0]
    full = math.sin(cut.turn[0])
    # seen along its own normal every station is r + h/2 off an arc's centre: an arc and its tangent
    off_crown, off_lip = n_d * cd + n_z * cz, -(n_d * ld + n_z * lz)
    near_crown = np.isclose(off_crown, rc, rtol=0, atol=1e-9)
    near_lip = np.isclose(off_lip, rl, rtol=0, atol=1e-9)
    assert near_crown[0]
    assert near_lip[-1]
    assert (near_crown | near_lip).all()
    # and no station lies nearer to either tool
    assert np.hypot(cd, cz).min() >= rc - 1e-9
    assert np.hypot(ld, lz).min() >= rl - 1e-9
    # on the wall both hold at once: it is the common tangent
    both = near_crown & near_lip
    assert np.allclose(n_d[both], full, rtol=0, atol=1e-6)
    assert np.hypot(n_d, n_z) == pytest.approx(np.ones(len(n_d)))
    assert cut.cap_z[0] == pytest.approx(one.depth_mm - one.thickness_mm / 2 + crown_h / 2)
    assert cut.flange_z[0] == pytest.approx(one.thickness_mm / 2 - lip_h / 2)


@given(one=tools())
def test_shares_of_the_length_are_the_lengths_along_arc_wall_and_arc(one: Tools) -> None:
    fine = Rows(crown=200, wall=50, lip=200)
    cut = section(one, fine, limp(one.thickness_mm, one.thickness_mm))
    steps = np.hypot(np.diff(cut.d[0]), np.diff(cut.z[0]))
    rc = one.crown_radius_mm + one.thickness_mm / 2
    rl = one.lip_radius_mm + one.thickness_mm / 2
    wall = math.dist((0.0, 0.0), (_between(one)))
    length = (rc + rl) * cut.turn[0] + math.sqrt(max(wall**2 - (rc + rl) ** 2, 0.0))
    assert steps.sum() == pytest.approx(length, rel=1e-5)
    assert cut.share[0, 0] == 0.0
    assert cut.share[0, -1] == pytest.approx(1.0, abs=1e-12)
    assert np.diff(cut.share[0]) * length == pytest.approx(steps, rel=1e-4, abs=1e-9)


def _between(one: Tools) -> tuple[float, float]:
    """From the centre of the plug's edge to that of the opening's."""
    across = one.outer_mm - one.inner_mm
    up = one.thickness_mm + one.lip_radius_mm + one.crown_radius_mm - one.depth_mm
    return across, up


def test_a_wall_stands_upright_when_the_gap_is_the_leathers_thickness() -> None:
    cut = section(CUP, ROWS, limp(1.6, 1.6))
    assert cut.turn[0] == pytest.approx(math.pi / 2, abs=1e-12)
    wall = slice(ROWS.crown, ROWS.crown + ROWS.wall + 1)
    assert cut.d[0, wall] == pytest.approx(np.full(ROWS.wall + 1, 0.8), abs=1e-12)
    wide = section(replace(CUP, gap_mm=2.0), ROWS, limp(1.6, 1.6))
    assert wide.turn[0] < math.pi / 2 - 0.02


def test_leather_thicker_than_the_gap_is_ironed_to_it_and_stands_upright() -> None:
    narrow = replace(CUP, gap_mm=1.2)
    cut = section(narrow, ROWS, limp(1.6, 1.6))
    assert cut.turn[0] == pytest.approx(math.pi / 2, abs=1e-12)
    assert cut.d[0, ROWS.crown + 1] == pytest.approx(0.6)


def test_rows_stay_apart_when_the_wall_is_next_to_nothing() -> None:
    # the arcs' centres on one level, as far apart as their radii: the wall has no length at all
    cut = section(replace(CUP, depth_mm=1.6 + 4.0 + 3.0), ROWS, limp(1.6, 1.6))
    steps = np.hypot(np.diff(cut.d[0]), np.diff(cut.z[0]))
    assert steps.min() > 0.2 * steps.max()


def test_columns_of_other_thickness_are_columns_of_their_own() -> None:
    h = np.array([1.6, 1.2, 0.9])
    three = section(CUP, ROWS, replace(OnArcs.even(1.6, 3), crown_h=h, lip_h=h))
    for j, one in enumerate(h):
        alone = section(CUP, ROWS, limp(one, one))
        assert three.z[j] == pytest.approx(alone.z[0], abs=1e-12)
        assert three.d[j] == pytest.approx(alone.d[0], abs=1e-12)


@pytest.mark.parametrize(
    "field", ["depth_mm", "crown_radius_mm", "lip_radius_mm", "gap_mm", "thickness_mm"]
)
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_tools_without_a_measure_are_refused(field: str, bad: float) -> None:
    with pytest.raises(RequestError, match="greater than 0"):
        replace(CUP, **{field: bad})


@given(one=tools())
def test_both_arcs_touch_walls_that_lean_and_the_sheet_turns_by_a_right_angle_less_the_lean(
    one: Tools,
) -> None:
    # a sheet that fills the gap; closed form: arcs of a right angle less the lean, and what is left
    # of the depth straight along the wall
    full = replace(one, gap_mm=one.thickness_mm)
    t, lean = full.thickness_mm, full.wall_angle
    radii_mm = full.crown_radius_mm + full.lip_radius_mm + t
    wall = (full.depth_mm - radii_mm * (1.0 - math.sin(lean))) / math.cos(lean)
    assume(wall > 0.1)
    cut = section(full, ROWS, limp(t, t))
    assert cut.turn[0] == pytest.approx(math.pi / 2 - lean, abs=1e-9)
    assert full.outer_mm - full.inner_mm == pytest.approx(
        radii_mm * math.cos(lean) + wall * math.sin(lean)
    )
    exact = radii_mm * (math.pi / 2 - lean) + wall
    fine = section(full, Rows(crown=60, wall=4, lip=60), limp(t, t))
    chords = np.hypot(np.diff(fine.d[0]), np.diff(fine.z[0])).sum()
    assert chords == pytest.approx(exact, rel=1e-4)
    # on the wall the middle is half the leather off the plug: d cos b + height sin b = t/2
    upright = np.isclose(fine.normal_z[0], math.sin(lean), rtol=0, atol=1e-9)
    height = fine.z[0][upright] + t / 2
    off = fine.d[0][upright] * math.cos(lean) + height * math.sin(lean)
    assert off == pytest.approx(np.full(upright.sum(), t / 2), abs=1e-9)


def test_a_round_hollow_with_a_leaning_wall_has_the_area_of_disc_cone_and_two_arcs() -> None:
    # surfaces of revolution (Pappus): an arc turns about its centroid; cone pi (a + b) length
    tools = Tools(
        depth_mm=14.0,
        crown_radius_mm=4.0,
        lip_radius_mm=3.0,
        gap_mm=1.6,
        thickness_mm=1.6,
        wall_angle=math.radians(12.0),
    )
    radius, turn = 30.0, math.pi / 2 - tools.wall_angle
    rc, rl = tools.crown_radius_mm + 0.8, tools.lip_radius_mm + 0.8
    inner, outer = radius + tools.inner_mm, radius + tools.outer_mm
    top, foot = inner + rc * math.sin(turn), outer - rl * math.sin(turn)
    crown = 2 * math.pi * rc * (inner * turn + rc * (1 - math.cos(turn)))
    lip = 2 * math.pi * rl * (outer * turn - rl * (1 - math.cos(turn)))
    cone = math.pi * (top + foot) * (foot - top) / math.sin(tools.wall_angle)
    form = Pressing(
        hollows=(Hollow(name="cup", outline=circle(radius), tools=tools),),
        edge=tools.outer_mm,
        thickness_mm=1.6,
        hold="clamped",
    )
    layout = meshed(form, 1.5)
    even = OnArcs.even(1.6, layout.bands[0].columns)
    formed = shape(layout, form, edge_of(layout, form), (even,))
    area = metric_of(formed, layout.triangles).area.sum()
    assert area == pytest.approx(math.pi * inner**2 + crown + cone + lip, rel=4e-4)


@pytest.mark.parametrize("bad", [-0.1, math.nan, math.pi / 2])
def test_a_wall_leans_inward_and_not_flat(bad: float) -> None:
    with pytest.raises(RequestError, match="leans"):
        replace(CUP, wall_angle=bad)

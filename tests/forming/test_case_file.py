"""Case files: every field read as documented, everything else refused at its place."""

import math
from pathlib import Path

import numpy as np
import pytest

from hidewright.errors import RequestError
from hidewright.forming.case import Case, answer, solved
from hidewright.forming.law import FibreSheet, NeoHooke, SaintVenantKirchhoff
from hidewright.forming.meshing import meshed
from hidewright.forming.pressing import GivenSurface, Pressing
from hidewright.geometry.outline import Outline
from hidewright.store.case_file import WANTED_TRIANGLES, read_case

CASES = Path(__file__).parents[2] / "benchmarks" / "cases"

CUP = """\
format: 1
title: Cup
outline:
  circle: {radius: 25}
crown_radius: 4
lip_radius: 4
gap: 1.6
thickness: 1.6
depth: 10
law:
  neo_hooke: {shear: 5}
flange:
  clamped: {beyond: 5.6}
"""


def read(text: str) -> Case:
    return read_case(text.encode(), name="cup.yaml")


def changed(old: str, new: str) -> str:
    assert CUP.count(old) == 1
    return CUP.replace(old, new)


def pressing(text: str) -> Pressing:
    found = read(text).pressing
    assert isinstance(found, Pressing)
    return found


def test_the_fields_of_a_case_arrive_in_the_pressing() -> None:
    case = read(CUP)
    assert isinstance(case.pressing, Pressing)
    (hollow,) = case.pressing.hollows
    tools = hollow.tools
    assert hollow.outline.area == pytest.approx(math.pi * 25**2)
    assert (tools.crown_radius_mm, tools.lip_radius_mm, tools.gap_mm) == (4.0, 4.0, 1.6)
    assert (tools.depth_mm, tools.thickness_mm) == (10.0, 1.6)
    assert (case.pressing.edge, case.pressing.hold) == (5.6, "clamped")
    assert case.conditions.law == NeoHooke(shear_MPa=5.0)
    assert (case.conditions.level, case.blank, case.title) == (2, None, "Cup")


def test_texts_with_a_unit_are_read_and_plain_numbers_are_mm_MPa_and_degrees() -> None:
    text = CUP.replace("gap: 1.6", "gap: 1/16 in").replace("{shear: 5}", "{shear: 5000 kPa}")
    found = pressing(text + "stretch_axis: 0.5 rad\n")
    assert found.hollows[0].tools.gap_mm == 25.4 / 16
    assert found.backbone == 0.5
    assert pressing(CUP + "stretch_axis: 30\n").backbone == pytest.approx(math.pi / 6)


@pytest.mark.parametrize(
    ("told", "area"),
    [
        ("circle: {radius: 25}", math.pi * 625),
        ("rounded_rectangle: {width: 60, height: 40, corner_radius: 8}", 2400 - (4 - math.pi) * 64),
        ("stadium: {length: 80, width: 40}", 1600 + math.pi * 400),
        # half round over a straight part, two corners rounded off
        (
            "arch: {width: 40, height: 60, corner_radius: 10}",
            40 * 40 + math.pi * 200 - (2 - math.pi / 2) * 100,
        ),
        # a stadium drawn corner by corner, clockwise: it is turned round
        ("corners: [[20, 20, -1], [20, -20], [-20, -20, -1], [-20, 20]]", 1600 + math.pi * 400),
    ],
)
def test_every_shape_of_outline_has_the_area_of_its_measures(told: str, area: float) -> None:
    outline = pressing(changed("circle: {radius: 25}", told)).hollows[0].outline
    assert outline.area == pytest.approx(area, rel=1e-9)


def test_an_arch_is_round_above_and_has_its_two_corners_at_the_base() -> None:
    told = "arch: {width: 40, height: 60, corner_radius: 10}"
    outline = pressing(changed("circle: {radius: 25}", told)).hollows[0].outline
    assert outline.bounds == pytest.approx((-20.0, -30.0, 20.0, 30.0))
    assert outline.contains((16.9, -26.9))
    assert not outline.contains((16.9, 26.9))
    assert outline.spans == ("base", "right", "top", "left")


def test_the_laws_take_their_constants() -> None:
    told = "orthotropic: {e1: 20, e2: 12, nu12: 0.4, g12: 5}"
    case = read(changed("neo_hooke: {shear: 5}", told) + "stretch_axis: 0\n")
    assert case.conditions.law == SaintVenantKirchhoff(
        e1_MPa=20.0, e2_MPa=12.0, nu12=0.4, g12_MPa=5.0
    )
    told = "leather: {shear: 2, fibre_along: 8, rise_along: 4, fibre_across: 5, rise_across: 2}"
    case = read(changed("neo_hooke: {shear: 5}", told) + "stretch_axis: 0\n")
    assert case.conditions.law == FibreSheet(
        shear_MPa=2.0, fibre_along_MPa=8.0, rise_along=4.0, fibre_across_MPa=5.0, rise_across=2.0
    )


def test_a_clamp_inside_the_lips_arc_begins_where_the_arc_ends() -> None:
    assert pressing(changed("beyond: 5.6", "beyond: 0")).edge == 5.6
    assert pressing(changed("beyond: 5.6", "beyond: 9")).edge == 9.0


def test_a_parallel_blank_becomes_a_distance_and_another_stays_an_outline() -> None:
    free = "free: {blank: {circle: {radius: 50}}}"
    case = read(changed("clamped: {beyond: 5.6}", free))
    assert isinstance(case.pressing, Pressing)
    assert case.pressing.edge == pytest.approx(25.0, abs=1e-9)
    assert case.blank is not None
    assert case.blank.area == pytest.approx(math.pi * 2500)
    assert case.conditions.level == 3
    square = "{rounded_rectangle: {width: 100, height: 100, corner_radius: 5}}"
    case = read(changed("clamped: {beyond: 5.6}", f"free: {{blank: {square}}}"))
    assert isinstance(case.pressing, Pressing)
    assert isinstance(case.pressing.edge, Outline)
    inner = "rounded_rectangle: {width: 60, height: 60, corner_radius: 10}"
    outer = "rounded_rectangle: {width: 90, height: 90, corner_radius: 25}"
    text = changed("circle: {radius: 25}", inner)
    text = text.replace("clamped: {beyond: 5.6}", f"free: {{edge: {{{outer}}}}}")
    assert pressing(text).edge == pytest.approx(15.0, abs=1e-9)
    assert read(text).blank is None


def test_a_blank_inside_the_plug_is_refused_and_not_taken_for_its_parallel() -> None:
    text = changed("clamped: {beyond: 5.6}", "free: {blank: {circle: {radius: 15}}}")
    with pytest.raises(RequestError, match="lip reaches beyond"):
        answer(read(text))


def test_friction_under_the_plate_and_on_the_arcs_are_two_numbers() -> None:
    held = "held: {friction: 0.3, pressure: 0.05, edge_beyond: 20}"
    conditions = read(changed("clamped: {beyond: 5.6}", held) + "friction: 0.1\n").conditions
    assert (conditions.friction, conditions.plate_pressure_MPa) == (0.3, 0.05)
    assert conditions.friction_on_arcs == 0.1
    assert read(changed("clamped: {beyond: 5.6}", held)).conditions.friction_on_arcs == 0.0


def test_spans_of_the_edge_are_held_each_in_its_way() -> None:
    text = changed("circle: {radius: 25}", "stadium: {length: 80, width: 40}")
    held = "held: {friction: 0.3, pressure: 0.05, edge_beyond: 15}\n  spans: {left: clamped}"
    case = read(text.replace("clamped: {beyond: 5.6}", held) + "mesh_size: 4\n")
    sheet = solved(case)
    layout = sheet.layout
    still = np.hypot(*(sheet.flat - sheet.shape.points[:, :2])[layout.edge].T)
    x, y = sheet.flat[layout.edge].T
    left = (x < -20.0) & (np.hypot(x + 20.0, y) > 34.9)
    assert still[left].max() == pytest.approx(0.0, abs=1e-9)
    assert still[x > 20.0].min() > 0.2


@pytest.mark.parametrize("shape", ["cup_clamped", "cup_free", "rounded_square_clamped"])
def test_the_benchmarks_cases_are_read_and_their_mesh_size_left_out_gives_5000(shape: str) -> None:
    text = (CASES / f"{shape}.yaml").read_text(encoding="utf-8")
    case = read(text.replace("mesh_size: 2\n", ""))
    assert len(meshed(case.pressing, case.size_mm).triangles) == pytest.approx(
        WANTED_TRIANGLES, rel=0.2
    )
    assert read(text).size_mm == 2.0


ROOF = """\
format: 1
title: A sheet that leans, its lower side clamped lower
surface: mesh
points: [[0, 0, 0], [2, 0, 0], [2, 2, 1], [0, 2, 1], [1, 1, 0.5]]
triangles: [[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]]
thickness: 0.1
law:
  neo_hooke: {shear: 1}
flange: clamped
stretch_axis: 30
"""


def test_a_given_surface_is_solved_in_the_frame_of_the_backbone() -> None:
    case = read(ROOF)
    assert isinstance(case.pressing, GivenSurface)
    found = answer(case)
    # it leans 1 in 2 along y, so it is stretched by sqrt(5)/2 that way and not at all across
    assert [p.stretch_1 for p in found.points] == pytest.approx([math.sqrt(5) / 2] * 5)
    assert [p.stretch_2 for p in found.points] == pytest.approx([1.0] * 5)
    # y is 60 degrees from a backbone 30 degrees from x; the centroid (1, 1) is the origin
    assert [p.angle_deg for p in found.points] == pytest.approx([60.0] * 5)
    assert found.points[4].flat_mm == pytest.approx((0.0, 0.0), abs=1e-9)
    assert found.points[1].flat_mm == pytest.approx(
        (math.sqrt(2) * math.cos(math.radians(75)), -math.sqrt(2) * math.sin(math.radians(75)))
    )


def test_a_surface_that_folds_over_is_refused() -> None:
    with pytest.raises(RequestError, match="face down"):
        read(ROOF.replace("[0, 1, 4], ", "[0, 4, 1], "))
    with pytest.raises(RequestError, match=r"cup.yaml line 5, triangles: .*names a point"):
        read(ROOF.replace("[3, 0, 4]", "[3, 0, 7]"))
    with pytest.raises(RequestError, match="whole number"):
        read(ROOF.replace("[3, 0, 4]", "[3, 0, 1.5]"))
    with pytest.raises(RequestError, match=r"line 4, points\.1: .*has 2 numbers"):
        read(ROOF.replace("[2, 0, 0]", "[0, 1]"))
    with pytest.raises(RequestError, match="there is no field 'depth'"):
        read(ROOF + "depth: 3\n")
    with pytest.raises(RequestError, match="Choose one of: clamped, free"):
        read(ROOF.replace("flange: clamped", "flange: held"))
    with pytest.raises(RequestError, match="Write 'surface: mesh'"):
        read(ROOF.replace("surface: mesh", "surface: stl"))


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("thickness: 1.6", "thickness: 0", r"line 8, thickness: thickness of 0: .*more than 0"),
        ("thickness: 1.6", "thickness: .nan", r"line 8, thickness: '.nan' is not a length"),
        ("thickness: 1.6", "thickness: nan", r"line 8, thickness: 'nan' is not a length"),
        ("thickness: 1.6", "thickness: 1e999", r"line 8, thickness: .*beyond"),
        ("thickness: 1.6", "thickness: 3 oz", r"line 8, thickness: '3 oz' is not a length"),
        ("thickness: 1.6", "thickness:", r"line 8, thickness: thickness has no plain value"),
        ("depth: 10\n", "", r"cup.yaml line 1: the case has no depth"),
        ("depth: 10", "depht: 10", r"line 9, depht: there is no field 'depht'.*depth"),
        ("depth: 10", "depth: 10\ndepth: 11", r"line 10, depth: depth is given twice"),
        ("depth: 10", "depth: -3", r"line 9, depth: depth of -3: it must be more than 0"),
        ("format: 1", "format: 2", r"line 1, format: .*Write format: 1"),
        ("radius: 25}", "radius: 3}", r"line 4, outline: .*corner radius too small: 3.00 mm"),
        ("circle: {radius: 25}", "{}", r"line 4, outline: .*exactly one of: circle, "),
        (
            "circle: {radius: 25}",
            "{circle: {radius: 25}, stadium: {length: 9, width: 3}}",
            r"line 4, outline: outline has circle and stadium",
        ),
        (
            "circle: {radius: 25}",
            "corners: [[0, 0], [50, 50], [50, 0], [0, 50]]",
            r"line 4, outline.corners: the outline crosses or touches itself",
        ),
        (
            "circle: {radius: 25}",
            "corners: [[0, 0], [50, 0], [50, 50], [0, 50]]",
            r"line 4, outline: .*corner radius too small: 0.00 mm",
        ),
        (
            "circle: {radius: 25}",
            "arch: {width: 40, height: 25, corner_radius: 10}",
            r"line 4, outline.arch: corner radius 20 mm .*Give at most",
        ),
        ("{shear: 5}", "{shear: 0}", r"line 11, law.neo_hooke: shear modulus of 0 MPa"),
        (
            "neo_hooke: {shear: 5}",
            "orthotropic: {e1: 5, e2: 50, nu12: 0.4, g12: 5}",
            r"line 11, law.orthotropic: .*not be stable",
        ),
        (
            "neo_hooke: {shear: 5}",
            "orthotropic: {e1: 20, e2: 12, nu12: 0.4, g12: 5}",
            r"cup.yaml line 1, stretch_axis: the direction of the backbone is missing.*Write",
        ),
        (
            "neo_hooke: {shear: 5}",
            "leather: {shear: 2, fibre_along: -8, rise_along: 4, fibre_across: 5, rise_across: 2}",
            r"line 11, law.leather: fibre stiffness along of -8.*stable",
        ),
        (
            "clamped: {beyond: 5.6}",
            "held: {friction: 1.5, pressure: 1, edge_beyond: 9}",
            r"line 13, flange.held.friction: friction of 1.5: .*at most 1",
        ),
        (
            "clamped: {beyond: 5.6}",
            "held: {friction: 0.5, edge_beyond: 9}",
            r"line 13, flange.held: flange.held has no pressure",
        ),
        (
            "clamped: {beyond: 5.6}",
            "free: {edge_beyond: 2}",
            r"line 13, flange: .*the depth is more than the leather allows.*Leave at least 5.6 mm",
        ),
        (
            "clamped: {beyond: 5.6}",
            "free: {edge_beyond: 9}\n  spans: {rim: held}",
            r"line 14, flange.spans.rim: 'held' is no way .*clamped, free",
        ),
        (
            "clamped: {beyond: 5.6}",
            "free: {edge_beyond: 9}\n  spans: {mouth: clamped}",
            r"line 13, flange: the leather's edge has no span 'mouth'. It has: rim",
        ),
    ],
)
def test_what_is_wrong_is_named_with_file_line_field_and_what_is_accepted(
    old: str, new: str, said: str
) -> None:
    with pytest.raises(RequestError, match=said):
        read(changed(old, new))


@pytest.mark.parametrize("level", ["4", "-1", "2.0", "high"])
def test_a_level_that_is_not_there_is_refused(level: str) -> None:
    with pytest.raises(RequestError, match=r"line 14, level: .*0, 1, 2, 3"):
        read(CUP + f"level: {level}\n")
    assert read(CUP + "level: 0\n").conditions.level == 0


def test_a_file_that_is_no_case_is_refused() -> None:
    for data, said in (
        (b"", "empty"),
        (b"- a list\n", "not a list of fields"),
        (b"\xff\xfe\x00", "not UTF-8"),
        (b"a: [", "not readable as YAML"),
        (b"a: &b 1\n", "anchors"),
        (b" " * 4_000_001, "4.0 MB long: a case file has at most 4 MB"),
    ):
        with pytest.raises(RequestError, match=said):
            read_case(data, name="cup.yaml")


def test_a_blank_that_would_be_drawn_in_past_the_lip_is_refused_in_words() -> None:
    text = changed("clamped: {beyond: 5.6}", "free: {blank: {circle: {radius: 32}}}")
    with pytest.raises(RequestError, match="drawn in past the lip") as refused:
        answer(read(text.replace("depth: 10", "depth: 15") + "mesh_size: 4\n"))
    assert "less depth" in refused.value.mend


def test_the_sharp_corners_of_a_blank_stay_its_corners() -> None:
    arch = "arch: {width: 50, height: 80, corner_radius: 12}"
    sharp = "{arch: {width: 90, height: 120, corner_radius: 0}}"
    text = changed("circle: {radius: 25}", arch)
    text = text.replace("clamped: {beyond: 5.6}", f"free: {{blank: {sharp}}}")
    case = read(text.replace("depth: 10", "depth: 12") + "mesh_size: 4\nlevel: 0\n")
    sheet = solved(case)
    rim = sheet.flat[sheet.layout.edge]
    assert case.blank is not None
    assert max(case.blank.nearest((x, y))[1] for x, y in rim.tolist()) < 0.01
    for corner in ((45.0, -60.0), (-45.0, -60.0)):
        assert np.hypot(*(rim - corner).T).min() < 0.01

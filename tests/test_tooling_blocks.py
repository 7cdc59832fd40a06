"""Support, mouth-cut, height-trim and trial blocks, and the stacks they are made of."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.choices import ToolingChoice
from hidewright.design.hollow import Shell
from hidewright.design.part import Part
from hidewright.design.piece import MouldedZone, Piece, PunchedHole
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.outline import Chain, Outline
from hidewright.geometry.segment import Floats, Point, arc, line
from hidewright.geometry.shapes import arch, circle, polygon, rectangle
from hidewright.tooling.blocks import (
    height_trim_block,
    mouth_cut_block,
    support_block,
    trial_block,
)
from hidewright.tooling.run_on import behind, run_on, walls
from hidewright.tooling.stack import filling

SHELF = built_in_catalogue()
LEATHER = find(SHELF.leathers, "vegetable-tanned shoulder 3-4 oz")
CHOICE = ToolingChoice(
    mould_board=find(SHELF.boards, "MDF 6 mm"),
    template_board=find(SHELF.boards, "clear acrylic 5 mm"),
)
#: Middle of 3-4 oz by the definition of the ounce, 1/64 in.
WALL_MM = 3.5 * 25.4 / 64


def front(
    *,
    width: float = 62.0,
    height: float = 101.0,
    depth: float = 12.0,
    corner: float = 12.0,
    crown: float = 3.0,
    flange: float = 13.0,
    lean: float = 0.0,
    notch: float = 0.0,
) -> Piece:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(arch(width, height, corner)),
        depth_mm=depth,
        crown_radius_mm=crown,
        lip_radius_mm=2.0,
        wall_angle=lean,
        edges=(("mouth", "mouth"), ("rim", "flange")),
    )
    trimmed = arch(width + 2 * flange, height + flange, corner + flange)
    if notch:
        (right, _), (left, _) = trimmed.segments[0].start, trimmed.segments[0].end
        cut = (
            line((right, 0.0), (notch, 0.0), "mouth right"),
            arc((0.0, 0.0), (notch, 0.0), -math.pi, "notch"),
            line((-notch, 0.0), (left, 0.0), "mouth left"),
        )
        trimmed = Outline((*cut, *trimmed.segments[1:]))
    return Piece(name="front", role="body", outline=DryOutline(trimmed), zones=(zone,))


@st.composite
def fronts(draw: st.DrawFn) -> Piece:
    width, height = draw(st.floats(30, 120)), draw(st.floats(30, 140))
    depth = draw(st.floats(3, 25))
    return front(
        width=width,
        height=height,
        depth=depth,
        corner=draw(st.floats(4, 0.45 * min(width, height))),
        crown=draw(st.floats(1, 0.5 * depth)),
        lean=draw(st.sampled_from([0.0, 0.03, 0.1])),
    )


def points_along(chain: Chain, count: int = 120) -> list[Point]:
    return [chain.point_at(chain.length * i / count) for i in range(count)]


def top_of(part: Part) -> float:
    assert part.bottom_mm is not None
    return part.bottom_mm + part.board.thickness_mm


@settings(max_examples=10, deadline=None)
@given(piece=fronts())
def test_a_support_block_keeps_half_a_mm_from_wall_and_crown_everywhere(piece: Piece) -> None:
    zone = piece.zones[0]
    parts, _ = support_block(piece, zone, CHOICE)
    section = hollow_section(zone)
    (easing,) = parts[-1].easings
    assert (easing.face, easing.edge) == ("top", "outline")
    assert ("after gluing" in easing.how) == (easing.radius_mm > parts[-1].board.thickness_mm)
    for part in parts:
        inset = min(zone.outline.nearest(p)[1] for p in points_along(part.outline))
        assert all(zone.outline.contains(p) for p in points_along(part.outline, 40))
        assert part.bottom_mm is not None
        for x, z in block_section(part, inset, easing.radius_mm, top_of(parts[-1])):
            assert np.hypot(section[:, 0] - x, section[:, 1] - z).min() >= 0.5 - 2e-3
    heights = [(p.bottom_mm, top_of(p)) for p in parts]
    assert heights[0][0] == 0.0
    assert all(one[1] == pytest.approx(two[0]) for one, two in pairwise(heights))
    assert zone.depth_mm - 0.55 - 1e-9 < heights[-1][1] <= zone.depth_mm - 0.5 + 1e-9


def hollow_section(zone: MouldedZone) -> Floats:
    """Points (inset, height) of the hollow's inside, wall and crown, by the shell's own rule."""
    shell = Shell(
        depth_mm=zone.depth_mm, crown_radius_mm=zone.crown_radius_mm, wall_angle=zone.wall_angle
    )
    heights = zone.depth_mm - zone.depth_mm * np.linspace(1.0, 0.0, 1501) ** 2
    wall = [(shell.inset_at(float(z)), float(z)) for z in heights]
    crown = [(wall[-1][0] + d, zone.depth_mm) for d in np.linspace(0.0, 20.0, 401)]
    return np.array(wall + crown)


def block_section(part: Part, inset: float, crown: float, top: float) -> list[tuple[float, float]]:
    """Points (inset, height) of a sheet's edge in a stack whose top edge is rounded as glued."""
    heights = np.linspace(part.bottom_mm or 0.0, top_of(part), 13)
    up = np.clip(heights - (top - crown), 0.0, crown)
    return [
        (float(inset + crown - math.sqrt(crown**2 - u**2)), float(z))
        for z, u in zip(heights, up, strict=True)
    ]


@settings(max_examples=6, deadline=None)
@given(piece=fronts())
def test_nothing_of_a_block_is_narrower_than_its_board_bears(piece: Piece) -> None:
    for parts, _ in (
        support_block(piece, piece.zones[0], CHOICE),
        mouth_cut_block(piece, piece.zones[0], CHOICE),
    ):
        for part in parts:
            web = part.board.min_web_mm
            holes = [h.outline for h in part.holes]
            for hole in holes:
                assert min(part.outline.nearest(p)[1] for p in points_along(hole, 36)) > web - 0.05
            for i, hole in enumerate(holes):
                for other in holes[i + 1 :]:
                    away = min(other.nearest(p)[1] for p in points_along(hole, 36))
                    assert away > web - 0.05


def test_pins_and_finger_hole_go_through_all_sheets_of_a_support_block() -> None:
    parts, remarks = support_block(front(), front().zones[0], CHOICE)
    assert not remarks
    for purpose, count in (("dowel", 3), ("finger", 1)):
        for part in parts:
            assert len([h for h in part.holes if h.purpose == purpose]) == count
    assert len({part.holes for part in parts}) == 1


def test_a_small_block_without_a_finger_hole_says_how_to_lift_it() -> None:
    small = front(width=16.0, height=18.0, corner=5.0, depth=8.0, crown=2.0)
    parts, remarks = support_block(small, small.zones[0], CHOICE)
    assert parts
    assert {r.code for r in remarks} == {"support-block-without-finger-hole"}


def test_a_hollow_wider_than_its_mouth_keeps_its_block_in_and_is_remarked() -> None:
    corners = ((15.0, 0.0), (-15.0, 0.0), (-25.0, -60.0), (25.0, -60.0))
    flask = polygon(corners, (0.0, 0.0, 8.0, 8.0), ("mouth", "rim", "rim", "rim"))
    zone = replace(front().zones[0], outline=DryOutline(flask))
    _, remarks = support_block(replace(front(), zones=(zone,)), zone, CHOICE)
    (remark,) = [r for r in remarks if r.code == "support-block-stays-in"]
    assert remark.limit == pytest.approx(31.0)
    assert remark.amount == pytest.approx(flask.width, abs=0.02)


def test_a_stud_on_the_crown_is_pricked_through_the_support_block() -> None:
    piece = replace(front(), holes=(PunchedHole(name="stud", at=(4, -50), diameter_mm=4.0),))
    parts, _ = support_block(piece, piece.zones[0], CHOICE)
    for part in parts:
        (awl,) = part.holes_for("mark")
        assert awl.segments[0].centre == pytest.approx((4.0, -50.0))
    flesh_out = replace(piece, zones=(replace(piece.zones[0], grain_out=False),))
    parts, _ = support_block(flesh_out, flesh_out.zones[0], CHOICE)
    assert parts[0].holes_for("mark")[0].segments[0].centre == pytest.approx((-4.0, -50.0))


@settings(max_examples=6, deadline=None)
@given(piece=fronts())
def test_a_mouth_cut_block_ends_on_the_mouth_line_and_fits_the_walls(piece: Piece) -> None:
    zone = piece.zones[0]
    parts, _ = mouth_cut_block(piece, zone, CHOICE)
    base, *block = parts
    inside = walls(run_on(zone.outline, "mouth", 40.0), "mouth")
    for part in parts:
        assert part.outline.bounds[3] == pytest.approx(0.0, abs=1e-9)
    for part in block:
        assert part.bottom_mm is not None
        shell = Shell(
            depth_mm=zone.depth_mm,
            crown_radius_mm=zone.crown_radius_mm,
            wall_angle=zone.wall_angle,
        )
        upright = zone.depth_mm - zone.crown_radius_mm * (1 - math.sin(zone.wall_angle))
        room = 0.3 / math.cos(zone.wall_angle) + shell.inset_at(min(top_of(part), upright))
        for p in points_along(part.outline):
            on_mouth = abs(p[1]) < 1e-9
            assert on_mouth or inside.nearest(p)[1] == pytest.approx(room, abs=1e-6)
    assert top_of(base) == pytest.approx(0.0, abs=1e-9)
    for p in points_along(piece.outline.span_path("rim"), 30):
        assert base.outline.contains(p)


def test_a_thumb_notch_is_in_the_mouth_cut_block() -> None:
    piece = front(notch=11.0)
    (_, *block), _ = mouth_cut_block(piece, piece.zones[0], CHOICE)
    for part in block:
        for p in points_along(piece.outline.span_path("notch"), 40):
            assert part.outline.nearest(p)[1] < 1e-6
        assert not part.outline.contains((0.0, -10.9))
        assert part.outline.contains((0.0, -11.1))


def test_a_zone_without_a_mouth_has_no_mouth_cut_block() -> None:
    closed = replace(front().zones[0], edges=())
    with pytest.raises(RequestError, match="no mouth"):
        mouth_cut_block(replace(front(), zones=(closed,)), closed, CHOICE)


def tray(cut: float, depth: float = 24.0, lean: float = 0.0) -> tuple[Piece, MouldedZone]:
    outline = DryOutline(rectangle(120.0, 80.0, 14.0))
    zone = MouldedZone(
        name="tray",
        outline=outline,
        depth_mm=depth,
        crown_radius_mm=4.0,
        lip_radius_mm=2.0,
        wall_angle=lean,
        edges=tuple((span, "cut at height") for span in outline.spans),
        cut_height_mm=cut,
    )
    return Piece(name="tray", role="body", outline=outline, zones=(zone,)), zone


@pytest.mark.parametrize("cut", [3.5, 6.0, 9.9, 16.2])
def test_a_height_trim_block_is_as_high_as_the_cut_and_keeps_clear_of_the_lip(cut: float) -> None:
    piece, zone = tray(cut)
    parts, remarks = height_trim_block(piece, zone, LEATHER, CHOICE)
    assert not [r for r in remarks if r.severity != "note"]
    assert parts[0].bottom_mm == pytest.approx(WALL_MM)
    assert cut - 0.05 <= top_of(parts[-1]) <= cut + 1e-9
    for part in parts:
        assert part.bottom_mm is not None
        (window,) = part.holes_for("window")
        beside_lip = part.bottom_mm < WALL_MM + zone.lip_radius_mm
        wanted = WALL_MM + 0.3 + (zone.lip_radius_mm if beside_lip else 0.0)
        for p in points_along(window):
            assert zone.outline.nearest(p)[1] == pytest.approx(wanted, abs=1e-6)
        for dowel in part.holes_for("dowel"):
            assert min(window.nearest(p)[1] for p in points_along(dowel, 24)) > 6.0


@pytest.mark.parametrize(
    ("cut", "code", "severity"),
    [
        (1.0, "cut-height-on-the-lip", "forbids"),
        (2.5, "cut-height-on-the-lip", "warning"),
        (21.0, "cut-height-on-the-crown", "forbids"),
    ],
)
def test_a_cut_along_lip_or_crown_is_remarked_and_the_remedy_mends_it(
    cut: float, code: str, severity: str
) -> None:
    piece, zone = tray(cut)
    _, remarks = height_trim_block(piece, zone, LEATHER, CHOICE)
    (remark,) = [r for r in remarks if r.severity != "note"]
    assert (remark.code, remark.severity) == (code, severity)
    mended = float(remark.remedies[0].value.split()[0])
    piece, zone = tray(mended)
    _, remarks = height_trim_block(piece, zone, LEATHER, CHOICE)
    assert not [r for r in remarks if r.severity != "note"]


def test_a_height_no_board_reaches_is_made_of_card_and_noted() -> None:
    piece, zone = tray(5.5)
    (block,), (note,) = height_trim_block(piece, zone, LEATHER, CHOICE)
    assert (block.role, block.board.material) == ("height-trim block", "card")
    assert (note.code, note.severity) == ("height-trim-block-of-card", "note")
    assert note.amount == pytest.approx(5.5 - WALL_MM)
    piece, zone = tray(WALL_MM + 6.0 + 1.8)
    parts, (note,) = height_trim_block(piece, zone, LEATHER, CHOICE)
    assert [p.role for p in parts] == ["shim", "height-trim block"]
    assert note.remedies[0].value == f"{WALL_MM + 6.0:.1f} mm"


def test_a_wall_without_a_height_cannot_be_cut_at_it() -> None:
    with pytest.raises(RequestError, match="no height"):
        height_trim_block(front(), front().zones[0], LEATHER, CHOICE)


@given(height=st.floats(0.0, 60.0))
def test_a_stack_is_never_higher_than_asked_for_nor_lower_by_a_twentieth(height: float) -> None:
    layers = filling(height, CHOICE, bottom_mm=2.0)
    tops = [layer.top_mm for layer in layers]
    top = tops[-1] if tops else 2.0
    assert height + 2.0 - 0.05 - 1e-6 <= top <= height + 2.0 + 1e-6
    assert all(
        layer.bottom_mm == pytest.approx(t) for layer, t in zip(layers, [2.0, *tops], strict=False)
    )
    cards = [layer for layer in layers if layer.is_shim]
    assert len(cards) <= 1
    # card makes up less than one plate, and none where both sheets reach
    assert sum(layer.board.thickness_mm for layer in cards) < 5.0
    if height >= 20.0:
        assert sum(layer.board.thickness_mm for layer in cards) < 1.0


def test_plates_of_card_are_plates_and_each_has_a_name_of_its_own() -> None:
    card = find(built_in_catalogue().boards, "card 0.5 mm")
    block = support_block(front(), front().zones[0], replace(CHOICE, mould_board=card))[0]
    assert len({part.name for part in block}) == len(block)
    assert sum(part.role == "shim" for part in block) <= 1


def test_a_trial_block_is_the_size_of_the_thing_or_of_its_room() -> None:
    compass = Thing(
        name="sighting compass",
        shape="box",
        length_mm=100.0,
        width_mm=60.0,
        thickness_mm=11.0,
        corner_radius_mm=6.0,
        edge_radius_mm=2.0,
        source="callipers",
    )
    carried = Carried(thing=compass, side_clearance_mm=0.75, depth_clearance_mm=1.0)
    for with_room, more in ((False, 0.0), (True, 1.0)):
        parts, _ = trial_block(carried, CHOICE, with_room)
        side = 0.75 if with_room else 0.0
        assert parts[0].outline.width == pytest.approx(60.0 + 2 * side)
        assert parts[0].outline.height == pytest.approx(100.0 + 2 * side)
        total = math.fsum(p.board.thickness_mm for p in parts)
        assert 11.0 + more - 0.05 <= total <= 11.0 + more + 1e-9
        assert parts[-1].easings[0].radius_mm == 2.0


def test_stacked_things_are_one_trial_block_and_others_one_each() -> None:
    disc = Thing(name="disc", shape="disc", diameter_mm=42.0, thickness_mm=7.0, source="callipers")
    stacked = Carried(thing=disc, count=3)
    parts, _ = trial_block(stacked, CHOICE)
    assert math.fsum(p.board.thickness_mm for p in parts) == pytest.approx(21.0, abs=0.05)
    assert {p.count for p in parts} == {1}
    parts, _ = trial_block(replace(stacked, arrangement="side by side"), CHOICE)
    assert math.fsum(p.board.thickness_mm for p in parts) == pytest.approx(7.0, abs=0.05)
    assert {p.count for p in parts} == {3}
    assert parts[0].outline.area == pytest.approx(math.pi * 21.0**2)


def test_a_hollow_run_on_past_its_mouth_gains_just_that_length() -> None:
    hollow = arch(40.0, 60.0, 10.0)
    longer = run_on(hollow, "mouth", 7.0)
    assert longer.area - hollow.area == pytest.approx(40.0 * 7.0)
    assert longer.bounds[3] == pytest.approx(7.0)
    assert len(longer.segments) == len(hollow.segments)
    back = behind(longer, hollow, "mouth")
    assert back.area == pytest.approx(hollow.area)
    turned = behind(longer.rotated(1.0), DryOutline(hollow.rotated(1.0)), "mouth")
    assert turned.area == pytest.approx(hollow.area)
    assert circle(5.0).area == pytest.approx(
        behind(circle(5.0, (0.0, -20.0)), hollow, "mouth").area
    )

"""A whole mould holds together: gap, heights, dowels, leather left alone, over random measures."""

import math
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.choices import ToolingChoice
from hidewright.design.drying import even_drying
from hidewright.design.part import MouldTool, Part
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.size_change import Change
from hidewright.design.states import DryOutline, FormedOutline, SoakedOutline, formed_from_dry
from hidewright.errors import Remark, RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import arch, polygon, rectangle
from hidewright.tooling.acceptance.dowels import least_miss as miss_of
from hidewright.tooling.blank_outline import formed_blank_edge
from hidewright.tooling.dowels import pin_places
from hidewright.tooling.gap import gap_for
from hidewright.tooling.hands import for_both_hands
from hidewright.tooling.mould import mould_tool
from hidewright.tooling.pressed import pressed_zones

PLATES = ("base", "frame", "cavity floor", "hold-down ring")


@dataclass(frozen=True, kw_only=True)
class Made:
    """A mould with all it was made from."""

    piece: Piece
    blank: Blank
    leather: Leather
    choice: ToolingChoice
    zones: tuple[PressedZone, ...]
    soaked: SoakedOutline
    tool: MouldTool
    remarks: tuple[Remark, ...]

    def parts(self, role: str) -> list[Part]:
        return [part for part in self.tool.parts if part.role == role]


def usual_leather() -> Leather:
    return find(built_in_catalogue().leathers, "vegetable-tanned shoulder 1.4-1.6 mm")


def usual_choice() -> ToolingChoice:
    boards = built_in_catalogue().boards
    return ToolingChoice(
        mould_board=find(boards, "MDF 6 mm"), template_board=find(boards, "clear acrylic 5 mm")
    )


def pouch_front(width: float, height: float, depth: float, corner: float, crown: float) -> Piece:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(arch(width, height, corner)),
        depth_mm=depth,
        crown_radius_mm=crown,
        lip_radius_mm=2.0,
        edges=(("mouth", "mouth"),),
    )
    trimmed = arch(width + 26.0, height + 13.0, corner + 13.0)
    return Piece(name="front", role="body", outline=DryOutline(trimmed), zones=(zone,))


def pair_blank(waste: float = 5.0, margin: float = 20.0) -> Blank:
    return Blank(
        name="pair",
        places=(
            PiecePlace(piece="front", shift=(0.0, -waste / 2)),
            PiecePlace(piece="front", turn=math.pi, shift=(0.0, waste / 2)),
        ),
        role="body",
        margin_mm=margin,
        mouth_waste_mm=waste,
    )


def made(
    piece: Piece,
    blank: Blank | None = None,
    leather: Leather | None = None,
    choice: ToolingChoice | None = None,
) -> Made:
    blank, leather, choice = (
        blank or pair_blank(),
        leather or usual_leather(),
        choice or usual_choice(),
    )
    gap, about_gap = gap_for(leather, choice)
    zones, about_zones = pressed_zones(blank, (piece,), leather)
    soaked = SoakedOutline(
        formed_blank_edge(blank, (piece,), zones, even_drying(blank, (piece,), leather))
    )
    tool, about = mould_tool(blank, zones, soaked, leather, choice, gap)
    return Made(
        piece=piece,
        blank=blank,
        leather=leather,
        choice=choice,
        zones=zones,
        soaked=soaked,
        tool=tool,
        remarks=(*about_gap, *about_zones, *about),
    )


@st.composite
def moulds(draw: st.DrawFn) -> Made:
    width = draw(st.floats(45.0, 110.0))
    corner = draw(st.floats(6.0, 20.0))
    piece = pouch_front(
        width=width,
        height=draw(st.floats(50.0, 120.0)),
        depth=draw(st.floats(6.2, 26.0)),
        corner=corner,
        crown=draw(st.floats(1.0, 5.0)),
    )
    thinnest = draw(st.floats(1.0, 2.4))
    leather = replace(
        usual_leather(),
        thickness_min_mm=thinnest,
        thickness_max_mm=thinnest + draw(st.floats(0.0, 0.6)),
        soak_growth_thickness=draw(st.floats(0.0, 0.15)),
        soak_growth_along=draw(st.floats(0.0, 0.02)),
        shrinkage_along=draw(st.floats(0.0, 0.04)),
        shrinkage_across=draw(st.floats(0.0, 0.05)),
    )
    choice = replace(
        usual_choice(),
        gap_factor=draw(st.floats(0.95, 1.3)),
        cavity_floor=draw(st.booleans()),
        mould_board=find(
            built_in_catalogue().boards, draw(st.sampled_from(("MDF 6 mm", "MDF 3 mm")))
        ),
    )
    return made(piece, pair_blank(margin=draw(st.floats(10.0, 25.0))), leather, choice)


@given(moulds())
@settings(max_examples=8, deadline=None)
def test_every_random_mould_holds_together(m: Made) -> None:
    assert not [remark for remark in m.remarks if remark.severity == "forbids"]
    the_gap_is_the_same_everywhere(m)
    the_stacks_fill_their_heights(m)
    every_plate_goes_on_one_way_only(m)
    nothing_passes_through_leather_that_stays(m)
    no_web_is_thinner_than_the_board_allows(m)
    lines_and_words_lie_on_their_part(m)
    names = [part.name for part in m.tool.parts]
    assert len(set(names)) == len(names)


@pytest.mark.sweep
@given(moulds())
@settings(max_examples=60, deadline=None)
def test_many_more_random_moulds_hold_together(m: Made) -> None:
    assert not [remark for remark in m.remarks if remark.severity == "forbids"]
    the_gap_is_the_same_everywhere(m)
    the_stacks_fill_their_heights(m)
    every_plate_goes_on_one_way_only(m)
    nothing_passes_through_leather_that_stays(m)
    no_web_is_thinner_than_the_board_allows(m)
    lines_and_words_lie_on_their_part(m)


def the_gap_is_the_same_everywhere(m: Made) -> None:
    thickest = m.leather.thickness_max_mm * (1 + m.leather.soak_growth_thickness)
    gap = m.choice.gap_factor * thickest
    assert m.tool.gap_mm == pytest.approx(gap, abs=1e-12)
    for frame in m.parts("frame"):
        (window,) = frame.holes_for("window")
        for plug in m.parts("plug"):
            for one, other in ((window, plug.outline), (plug.outline, window)):
                away = [other.nearest((x, y))[1] for x, y in one.flat_points(0.05).tolist()]
                assert max(abs(np.array(away) - gap)) < 2e-6
            assert window.contains(plug.outline.segments[0].start, gap - 1e-6)
    (ring,) = m.parts("hold-down ring")
    (opening,) = ring.holes_for("window")
    lip = m.zones[0].lip_radius_mm
    # the ring keeps off the leather's lip, which ends one lip radius outside the frame's window
    assert opening.polygon.buffer(-(lip + gap) + 0.02).contains(m.zones[0].plug.polygon)


def the_stacks_fill_their_heights(m: Made) -> None:
    t = m.choice.mould_board.thickness_mm
    mean = (m.leather.shrinkage_along + m.leather.shrinkage_across) / 2
    zone = m.piece.zones[0]
    frames = [p for p in m.tool.parts if "frame" in p.name]
    plugs = [p for p in m.tool.parts if " plug " in p.name]
    for stack, foot in ((plugs, 0.0), (frames, m.tool.flange_gap_mm)):
        levels = [foot]
        for part in stack:
            assert part.bottom_mm == pytest.approx(levels[-1], abs=1e-9)
            levels.append(levels[-1] + part.board.thickness_mm)
        assert sum(p.role == "shim" for p in stack) <= 1
        assert all(p.board.thickness_mm == t for p in stack if p.role != "shim")
        assert all(p.board.thickness_mm >= 0.05 for p in stack)
    assert m.tool.plug_height_mm == pytest.approx(sum(p.board.thickness_mm for p in plugs))
    assert m.tool.plug_height_mm * (1 - mean) == pytest.approx(zone.depth_mm, abs=0.05)
    top = m.tool.flange_gap_mm + sum(p.board.thickness_mm for p in frames)
    over = top - m.tool.plug_height_mm
    if m.choice.cavity_floor:
        assert over == pytest.approx(m.tool.gap_mm, abs=0.05)
        (floor,) = m.parts("cavity floor")
        assert floor.bottom_mm == pytest.approx(top)
        top += t
    else:
        assert m.tool.gap_mm - 1e-9 <= over < m.tool.gap_mm + t
    assert m.tool.closed_height_mm == pytest.approx(t + top, abs=1e-9)
    thickest = m.leather.thickness_max_mm * (1 + m.leather.soak_growth_thickness)
    for block in m.parts("stop block"):
        assert block.bottom_mm == 0.0
        assert block.board.thickness_mm == pytest.approx(thickest, abs=1e-12)


def every_plate_goes_on_one_way_only(m: Made) -> None:
    (base,) = m.parts("base")
    wanted = centres(base)
    for part in m.tool.parts:
        if part.role in PLATES or " frame shim" in part.name:
            assert centres(part) == pytest.approx(wanted, abs=1e-9)
            assert part.outline == base.outline
            holes = part.holes_for("dowel")
            assert all(hole.width >= m.choice.dowel_mm - 1e-9 for hole in holes)
            assert least_miss(wanted, middle(part.outline)) >= m.choice.dowel_mm / 2
    for plug in m.parts("plug"):
        pins = [middle(hole) for hole in plug.holes_for("screw")]
        sides = sorted(math.dist(a, b) for a, b in combinations(pins, 2))
        assert len(pins) == 3
        # two triangles with sides that different never lie on one another, turned or turned over
        assert min(b - a for a, b in pairwise(sides)) >= 3.0


def centres(part: Part) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    return np.array([middle(hole) for hole in part.holes_for("dowel")])


def middle(outline: Outline) -> Point:
    left, bottom, right, top = outline.bounds
    return ((left + right) / 2, (bottom + top) / 2)


def least_miss(places: np.ndarray[tuple[int, int], np.dtype[np.float64]], about: Point) -> float:
    """How far the worst dowel misses its hole in the best of the seven wrong ways."""
    misses = []
    quarter = np.array([[0.0, -1.0], [1.0, 0.0]])
    for turns in range(4):
        for flip in (1.0, -1.0):
            if turns == 0 and flip == 1.0:
                continue
            way = np.linalg.matrix_power(quarter, turns) @ np.diag([flip, 1.0])
            laid = (places - about) @ way.T + about
            apart = np.linalg.norm(laid[:, None] - places[None], axis=2)
            misses.append(apart.min(axis=1).max())
    return float(min(misses))


def nothing_passes_through_leather_that_stays(m: Made) -> None:
    leather = m.soaked.polygon
    drying = Change(
        along=1 - m.leather.shrinkage_along,
        across=1 - m.leather.shrinkage_across,
        angle=m.piece.stretch_angle,
    )
    stays = formed_from_dry(m.piece.outline, drying)
    kept = [stays.rotated(p.turn).moved(*p.shift).polygon for p in m.blank.places]
    for part in m.tool.parts:
        for hole in part.holes:
            if hole.purpose in ("dowel", "bolt"):
                assert hole.outline.polygon.distance(leather) > 0.5
            elif hole.purpose == "drain":
                assert all(hole.outline.polygon.distance(piece) > 0.5 for piece in kept)
            elif hole.purpose in ("screw", "push-out"):
                assert m.zones[0].plug.polygon.contains(hole.outline.polygon)
    for block in m.parts("stop block"):
        assert block.outline.polygon.distance(leather) > 0.5


def no_web_is_thinner_than_the_board_allows(m: Made) -> None:
    for part in m.tool.parts:
        rings = [part.outline.polygon.exterior, *(hole.outline.polygon for hole in part.holes)]
        webs = [one.distance(two) for one, two in combinations(rings, 2)]
        assert min(webs, default=math.inf) >= part.board.min_web_mm - 0.02
        assert all(part.outline.polygon.contains(hole.outline.polygon) for hole in part.holes)


def lines_and_words_lie_on_their_part(m: Made) -> None:
    for part in m.tool.parts:
        assert part.labels
        board: shapely.geometry.base.BaseGeometry = part.outline.polygon
        for hole in part.holes:
            if hole.purpose != "window":
                board = board.difference(hole.outline.polygon)
        for path in part.scores:
            assert board.covers(shapely.LineString(path.flat_points()))
        for label in part.labels:
            assert part.outline.contains(label.at, label.height_mm / 2)


def test_the_dry_hollow_of_both_halves_is_what_was_asked_for() -> None:
    leather = replace(usual_leather(), shrinkage_along=0.03, shrinkage_across=0.05)
    piece = pouch_front(62.0, 101.0, 12.0, 12.0, 3.0)
    m = made(piece, leather=leather)
    wanted = piece.zones[0].outline
    shape = shapely.Polygon(m.zones[0].plug.flat_points(0.001))
    # cut along each mouth line, brought back into the piece's frame and dried
    for place, line in zip(m.blank.places, m.zones[0].cut_lines, strict=True):
        y = line.start[1]
        assert line.end[1] == pytest.approx(y)
        beyond = shapely.box(-500, y, 500, 500) if y < 0 else shapely.box(-500, -500, 500, y)
        half = shapely.get_coordinates(shape.difference(beyond)) - np.array(place.shift)
        c, s = math.cos(place.turn), math.sin(place.turn)
        own = half @ np.array([[c, -s], [s, c]])
        dry = own * np.array([1 - 0.05, 1 - 0.03])
        away = [wanted.nearest((u, v))[1] for u, v in dry.tolist()]
        assert max(away) < 0.05
        assert shapely.Polygon(dry).area == pytest.approx(wanted.area, rel=1e-3)


@pytest.mark.parametrize("depth", [11.5, 14.0, 16.0, 18.0, 24.0])
def test_boards_that_vary_are_counted_as_they_are_stacked(depth: float) -> None:
    m = made(pouch_front(62.0, 101.0, depth, 12.0, 3.0))
    boards = len(m.parts("plug"))
    told = [r.amount for r in m.remarks if r.code == "boards-vary"]
    vary = boards * m.choice.mould_board.thickness_tolerance_mm
    assert told == ([pytest.approx(vary)] if vary > 0.2 else [])


@pytest.mark.parametrize("floor", [False, True])
def test_a_hollow_shallower_than_its_board_has_a_plug_and_a_frame_of_card(floor: bool) -> None:
    """It is forbidden, and can be looked at all the same."""
    thick = find(built_in_catalogue().boards, "MDF 12 mm")
    choice = replace(usual_choice(), mould_board=thick, cavity_floor=floor)
    m = made(pouch_front(62.0, 101.0, 5.0, 12.0, 3.0), choice=choice)
    assert "hollow-shallower-than-board" in {r.code for r in m.remarks}
    assert len(m.parts("plug")) == len(m.parts("frame")) == 1


def test_the_base_shows_where_the_soaked_blank_lies() -> None:
    m = made(pouch_front(62.0, 101.0, 12.0, 12.0, 3.0))
    (base,) = m.parts("base")
    assert m.soaked.as_path() in base.scores
    assert m.zones[0].plug.as_path() in base.scores
    left, bottom, right, top = m.soaked.bounds
    border = m.choice.plate_border_mm
    assert base.outline.bounds == pytest.approx(
        (left - border, bottom - border, right + border, top + border)
    )
    ticks = [p for p in base.scores if len(p.segments) == 1 and p.length < border]
    assert len(ticks) == 4
    for tick in ticks:
        x, y = tick.start
        assert min(abs(x - (left + right) / 2), abs(y - (bottom + top) / 2)) < 1e-9
        assert not m.soaked.contains(tick.start)


def test_edges_are_scored_at_their_radius_on_the_face_that_is_eased() -> None:
    m = made(pouch_front(62.0, 101.0, 12.0, 12.0, 3.0))
    crowned = [p for p in m.parts("plug") if p.easings]
    assert [p.bottom_mm for p in crowned] == [max(p.bottom_mm or 0.0 for p in m.parts("plug"))]
    (easing,) = crowned[0].easings
    assert (easing.face, easing.edge, easing.radius_mm) == ("top", "outline", 3.0)
    assert "3 mm cutter" in easing.how
    assert "grit" in easing.how
    assert any(is_at(crowned[0].outline, p.flat_points().tolist(), 3.0) for p in crowned[0].scores)
    lowest, *others = m.parts("frame")
    assert not any(p.easings for p in others)
    (easing,) = lowest.easings
    assert (easing.face, easing.edge, easing.radius_mm) == ("bottom", "window", 2.0)
    (window,) = lowest.holes_for("window")
    assert any(is_at(window, p.flat_points().tolist(), 2.0) for p in lowest.scores)
    assert "this side down" in lowest.labels[0].words
    assert all("this side up" in p.labels[0].words for p in others)


def is_at(outline: Outline, points: list[list[float]], distance: float) -> bool:
    return all(abs(outline.nearest((x, y))[1] - distance) < 1e-6 for x, y in points)


def test_each_radius_has_a_gauge_whose_arms_lie_on_both_faces() -> None:
    m = made(pouch_front(62.0, 101.0, 12.0, 12.0, 3.0))
    gauges = m.parts("radius gauge")
    radii = []
    for gauge in gauges:
        (arc,) = [s for s in gauge.outline.segments if s.is_arc]
        radii.append(round(arc.radius, 6))
        assert abs(arc.sweep) == pytest.approx(math.pi / 2)
        # the board to be gauged: its rounded quarter fits into the gauge's angle and fills it
        (x, y), r = arc.centre, arc.radius
        corner = (x - r, y - r)
        board = shapely.box(*corner, corner[0] + 60, corner[1] + 60)
        disc = shapely.Point(x, y).buffer(r, 2000)
        rounded = shapely.union_all(
            [
                shapely.box(x, corner[1], x + 60, y + 60),
                shapely.box(corner[0], y, x + 60, y + 60),
                disc,
            ]
        ).intersection(board)
        assert gauge.outline.polygon.intersection(rounded).area < 0.05
        light = shapely.box(*corner, x, y).difference(rounded).difference(gauge.outline.polygon)
        assert light.area < 0.05
    assert radii == [2.0, 3.0]


def test_a_zone_pressed_to_the_flesh_side_has_its_whole_tool_mirrored() -> None:
    zone = replace(
        pouch_front(62.0, 101.0, 12.0, 12.0, 3.0).zones[0],
        outline=DryOutline(rectangle(60, 40, 8).moved(12.0, 5.0)),
        edges=(),
    )
    outside = Piece(
        name="front",
        role="body",
        outline=DryOutline(rectangle(120, 90, 10)),
        zones=(zone,),
    )
    inside = replace(outside, zones=(replace(zone, grain_out=False),))
    blank = Blank(name="one", places=(PiecePlace(piece="front"),), role="body", margin_mm=15.0)
    up, down = made(outside, blank), made(inside, blank)
    one, two = up.parts("plug")[0].outline, down.parts("plug")[0].outline
    assert one.bounds[2] == pytest.approx(-two.bounds[0])
    assert one.mirrored().area == pytest.approx(two.area)
    assert down.soaked.mirrored().as_path() in down.parts("base")[0].scores


def test_a_leaning_wall_is_cut_in_steps_one_gap_from_the_frame_square_to_the_wall() -> None:
    piece = pouch_front(62.0, 101.0, 18.0, 14.0, 2.0)
    lean = math.radians(4.0)
    piece = replace(piece, zones=(replace(piece.zones[0], wall_angle=lean),))
    m = made(piece)
    assert any(r.code == "leaning-wall-in-steps" for r in m.remarks)
    areas = [p.outline.area for p in m.parts("plug")]
    assert areas == sorted(areas, reverse=True)
    assert len(set(areas)) == len(areas)
    for plug in m.parts("plug"):
        inset = (plug.bottom_mm or 0.0) * math.tan(lean)
        away = [m.zones[0].plug.nearest(s.start)[1] for s in plug.outline.segments]
        assert max(abs(np.array(away) - inset)) < 1e-6
    for frame in m.parts("frame"):
        top = min((frame.bottom_mm or 0.0) + frame.board.thickness_mm, m.zones[0].height_mm)
        outwards = m.tool.gap_mm / math.cos(lean) - top * math.tan(lean)
        (window,) = frame.holes_for("window")
        away = [m.zones[0].plug.nearest(s.start)[1] for s in window.segments]
        assert max(abs(np.array(away) - abs(outwards))) < 1e-6


def test_a_mould_that_is_its_own_mirror_image_serves_both_hands() -> None:
    m = made(pouch_front(62.0, 101.0, 12.0, 12.0, 3.0))
    both, (note,) = for_both_hands(m.tool, m.zones)
    assert both.same_tool
    assert both.tool is m.tool
    assert "both hands" in note.sentence


def test_a_handed_mould_is_turned_over_with_a_second_top_plate_and_both_lips_eased() -> None:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(lopsided()),
        depth_mm=13.0,
        crown_radius_mm=3.0,
        lip_radius_mm=2.0,
    )
    piece = Piece(
        name="front", role="body", outline=DryOutline(rectangle(130, 110, 10)), zones=(zone,)
    )
    blank = Blank(name="one", places=(PiecePlace(piece="front"),), role="body", margin_mm=15.0)
    m = made(piece, blank)
    both, _ = for_both_hands(m.tool, m.zones)
    assert not both.same_tool
    first = m.parts("plug")[-1]
    (second,) = [p for p in both.tool.parts if p.name.endswith("other hand")]
    assert second.outline == first.outline.mirrored()
    assert [middle(h.outline)[0] for h in second.holes] == pytest.approx(
        [-middle(h.outline)[0] for h in first.holes]
    )
    highest = [p for p in both.tool.parts if p.role == "frame"][-1]
    assert [(e.face, e.edge) for e in highest.easings] == [("top", "window")]
    lowest = next(p for p in both.tool.parts if p.role == "frame")
    assert [(e.face, e.edge) for e in lowest.easings] == [("bottom", "window")]
    assert set(both.added) == {second.name, highest.name}


def lopsided() -> Outline:
    return polygon(((-35, -25), (40, -25), (40, 10), (-35, 30)), 8.0)


def test_a_blank_without_a_moulded_zone_needs_no_mould() -> None:
    piece = Piece(name="front", role="body", outline=DryOutline(rectangle(100, 80, 5)))
    blank = Blank(name="one", places=(PiecePlace(piece="front"),), role="body", margin_mm=15.0)
    with pytest.raises(RequestError, match="needs no mould"):
        made(piece, blank)


def test_formed_outlines_are_told_apart_from_dry_ones() -> None:
    m = made(pouch_front(62.0, 101.0, 12.0, 12.0, 3.0))
    plug: FormedOutline = m.zones[0].plug
    # across the backbone the leather shrinks 1.5 %: the plug is that much wider
    assert plug.width * (1 - m.leather.shrinkage_across) == pytest.approx(62.0, abs=0.011)


@settings(max_examples=60, deadline=None)
@given(width=st.floats(12.0, 120.0), height=st.floats(7.0, 60.0), web=st.floats(1.0, 6.0))
def test_a_plugs_plates_go_over_their_screws_one_way_only_or_have_none(
    width: float, height: float, web: float
) -> None:
    """Also where there is room for a single row: three in a row go in face down too."""
    pins = pin_places(rectangle(width, height), 3.0, web)
    assert pins == () or miss_of(np.array(pins)) >= 1.5
    row = pin_places(rectangle(width, 3.0 + 2 * web + 0.03), 3.0, web)
    assert row == ()

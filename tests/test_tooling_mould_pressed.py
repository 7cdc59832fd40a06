"""Hollows on the plug: corrected for drying, paired, run on past a mouth; blank and remarks."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.choices import ToolingChoice
from hidewright.design.drying import ZoneDrying, even_drying
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.size_change import Change
from hidewright.design.states import (
    DryOutline,
    FormedOutline,
    SoakedOutline,
    cut_from_soaked,
    formed_from_dry,
    soaked_from_cut,
)
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import arch, polygon, rectangle
from hidewright.tooling.blank_outline import formed_blank_edge, soaking
from hidewright.tooling.gap import gap_for
from hidewright.tooling.mould import mould_tool
from hidewright.tooling.pressed import pressed_zones
from hidewright.tooling.solids import frame_solid, plug_solid
from hidewright.units.thickness import parse_leather_thickness


def leather(**changes: float) -> Leather:
    usual = find(built_in_catalogue().leathers, "vegetable-tanned shoulder 1.4-1.6 mm")
    return replace(usual, **changes)  # type: ignore[arg-type]


def choice(board: str = "MDF 6 mm", **changes: float) -> ToolingChoice:
    boards = built_in_catalogue().boards
    usual = ToolingChoice(
        mould_board=find(boards, board), template_board=find(boards, "clear acrylic 5 mm")
    )
    return replace(usual, **changes)  # type: ignore[arg-type]


def zone(
    outline: Outline | None = None, *, mouth: bool = True, depth_mm: float = 14.0
) -> MouldedZone:
    return MouldedZone(
        name="hollow",
        outline=DryOutline(outline or arch(60.0, 80.0, 12.0)),
        depth_mm=depth_mm,
        crown_radius_mm=3.0,
        lip_radius_mm=2.0,
        edges=(("mouth", "mouth"),) if mouth else (),
    )


def front(the_zone: MouldedZone | None = None, outline: Outline | None = None) -> Piece:
    return Piece(
        name="front",
        role="body",
        outline=DryOutline(outline or arch(86.0, 93.0, 25.0)),
        zones=(the_zone or zone(),),
    )


def alone(margin: float = 20.0, waste: float = 0.0) -> Blank:
    return Blank(
        name="one",
        places=(PiecePlace(piece="front"),),
        role="body",
        margin_mm=margin,
        mouth_waste_mm=waste,
    )


def pair(waste: float = 5.0, turn: float = math.pi, aside: float = 0.0) -> Blank:
    return Blank(
        name="pair",
        places=(
            PiecePlace(piece="front", shift=(0.0, -waste / 2)),
            PiecePlace(piece="front", turn=turn, shift=(aside, waste / 2)),
        ),
        role="body",
        margin_mm=20.0,
        mouth_waste_mm=waste,
    )


def codes(remarks: tuple[Remark, ...], severity: str = "forbids") -> list[str]:
    return [remark.code for remark in remarks if remark.severity == severity]


def pressed_edge(blank: Blank, pieces: tuple[Piece, ...], hide: Leather) -> FormedOutline:
    zones, _ = pressed_zones(blank, pieces, hide)
    return formed_blank_edge(blank, pieces, zones, even_drying(blank, pieces, hide))


def mould_remarks(
    piece: Piece, blank: Blank, tooling: ToolingChoice, hide: Leather | None = None
) -> tuple[Remark, ...]:
    hide = hide or leather()
    gap, about_gap = gap_for(hide, tooling)
    zones, about = pressed_zones(blank, (piece,), hide)
    soaked = SoakedOutline(pressed_edge(blank, (piece,), hide))
    return (*about_gap, *about, *mould_tool(blank, zones, soaked, hide, tooling, gap)[1])


# --- the plug's outline ---


def test_an_even_shrinkage_is_undone_exactly() -> None:
    wanted = DryOutline(arch(60.0, 80.0, 12.0))
    even = Change(along=0.97, across=0.97)
    dries = ZoneDrying(piece="a", zone="b", flange=even, plan=even, height=0.97)
    assert dries.formed(wanted).segments == wanted.scaled(1 / 0.97).segments


@settings(deadline=None)
@given(
    flange=st.tuples(st.floats(0.93, 1.05), st.floats(0.93, 1.05)),
    plan=st.tuples(st.floats(0.93, 1.05), st.floats(0.93, 1.05)),
    angle=st.floats(0.0, math.pi),
    middle=st.tuples(st.floats(-40, 40), st.floats(-40, 40)),
)
def test_what_is_formed_for_a_drying_dries_to_what_was_wanted(
    flange: tuple[float, float], plan: tuple[float, float], angle: float, middle: Point
) -> None:
    wanted = DryOutline(arch(60.0, 80.0, 12.0))
    dries = ZoneDrying(
        piece="a",
        zone="b",
        flange=Change(along=flange[0], across=flange[1], angle=angle),
        plan=Change(along=plan[0], across=plan[1], angle=angle),
        middle=middle,
        height=0.98,
    )
    dry = dries.of_points(dries.formed(wanted).flat_points(0.002))
    assert max(wanted.nearest((x, y))[1] for x, y in dry.tolist()) < 0.01


def test_a_zone_that_dries_by_itself_gets_its_own_plug() -> None:
    piece, hide = front(), leather()
    even = even_drying(alone(), (piece,), hide)
    shrinks = replace(even.zones[0], plan=Change(along=0.9, across=0.8), height=0.9)
    (usual,), _ = pressed_zones(alone(), (piece,), hide)
    (own,), _ = pressed_zones(alone(), (piece,), hide, replace(even, zones=(shrinks,)))
    assert own.plug.width == pytest.approx(
        usual.plug.width * (1 - hide.shrinkage_across) / 0.8, abs=0.02
    )
    assert own.height_mm == pytest.approx(piece.zones[0].depth_mm / 0.9)
    assert own.height_dries == 0.9


# --- pairs and mouths ---


def test_a_pair_is_one_plug_with_straight_walls_over_the_waste() -> None:
    hide = leather(shrinkage_along=0.02, shrinkage_across=0.02)
    (joined,), remarks = pressed_zones(pair(), (front(),), hide)
    assert remarks == ()
    half = arch(60.0, 80.0, 12.0).scaled(1 / 0.98)
    assert joined.sources == (("front", "hollow"), ("front", "hollow"))
    assert joined.plug.area == pytest.approx(2 * half.area + 5.0 * 60.0 / 0.98)
    assert joined.plug.width == pytest.approx(60.0 / 0.98)
    assert joined.plug.height == pytest.approx(2 * 80.0 / 0.98 + 5.0)
    assert joined.height_mm == pytest.approx(14.0 / 0.98)
    below, above = joined.cut_lines
    assert [below.start[1], below.end[1]] == pytest.approx([-2.5, -2.5])
    assert [above.start[1], above.end[1]] == pytest.approx([2.5, 2.5])


def test_a_pair_set_aside_is_forbidden() -> None:
    _, straight = pressed_zones(pair(aside=0.04), (front(),), leather())
    assert codes(straight) == []
    _, remarks = pressed_zones(pair(aside=0.06), (front(),), leather())
    assert codes(remarks) == ["pair-walls-do-not-meet"]


def test_a_pair_of_unequal_halves_is_forbidden() -> None:
    blank = replace(pair(), places=(pair().places[0], replace(pair().places[1], piece="rear")))
    deeper = replace(front(replace(zone(), depth_mm=15.0)), name="rear")
    _, remarks = pressed_zones(blank, (front(), deeper), leather())
    assert codes(remarks) == ["pair-differs"]
    assert remarks[0].place == "front/hollow"
    assert remarks[0].remedies == (Remedy(field="measures.depth", value="15.00 mm"),)
    wider = replace(front(zone(arch(60.2, 80.0, 12.0))), name="rear")
    _, remarks = pressed_zones(blank, (front(), wider), leather())
    assert codes(remarks) == ["pair-walls-do-not-meet"]


def test_waste_outside_3_to_6_mm_is_remarked() -> None:
    for waste, found in ((2.0, ["pair-waste"]), (3.0, []), (6.0, []), (9.0, ["pair-waste"])):
        _, remarks = pressed_zones(pair(waste), (front(),), leather())
        assert codes(remarks, "warning") == found


def test_mouths_that_touch_or_look_away_are_refused() -> None:
    with pytest.raises(RequestError, match="mouths of a pair touch"):
        pressed_zones(replace(pair(0.2), mouth_waste_mm=5.0), (front(),), leather())


def test_a_single_mouth_is_cut_across_a_full_section() -> None:
    hide = leather(shrinkage_along=0.0, shrinkage_across=0.0)
    (lone,), remarks = pressed_zones(alone(waste=5.0), (front(),), hide)
    assert remarks == ()
    # up to the waste's far side the plug is as wide as at the mouth, and its end corners are
    # rounder than its crown
    left, right = shapely.LineString([(-30, 0), (-30, 5)]), shapely.LineString([(30, 0), (30, 5)])
    assert lone.plug.polygon.exterior.buffer(1e-6).contains(left)
    assert lone.plug.polygon.exterior.buffer(1e-6).contains(right)
    assert lone.plug.height > 80.0 + 5.0 + lone.crown_radius_mm
    assert lone.plug.min_inside_radius == pytest.approx(lone.crown_radius_mm + 1.0)
    assert lone.cut_lines[0].length == pytest.approx(60.0)


def test_a_tapered_mouth_runs_on_along_its_walls() -> None:
    tapered = polygon(
        ((20.0, 0.0), (-20.0, 0.0), (-30.0, -80.0), (30.0, -80.0)),
        (0.0, 0.0, 10.0, 10.0),
        ("mouth", "rim", "rim", "rim"),
    )
    (lone,), _ = pressed_zones(alone(), (front(zone(tapered)),), leather())
    assert lone.plug.min_inside_radius >= lone.crown_radius_mm
    assert "crown-radius-too-large" not in codes(
        mould_remarks(front(zone(tapered)), alone(), choice())
    )


def test_pieces_turned_across_the_backbone_are_forbidden_on_one_blank() -> None:
    blank = Blank(
        name="both",
        places=(
            PiecePlace(piece="front"),
            PiecePlace(piece="front", turn=math.pi / 2, shift=(150.0, 0.0)),
        ),
        role="body",
        margin_mm=30.0,
    )
    _, remarks = pressed_zones(blank, (front(),), leather())
    assert codes(remarks) == ["pieces-across-one-another"]
    even = leather(
        shrinkage_along=0.01, shrinkage_across=0.01, soak_growth_along=0.0, soak_growth_across=0.0
    )
    assert codes(pressed_zones(blank, (front(),), even)[1]) == []


# --- the blank ---


def test_the_blank_has_its_margin_all_round_and_grows_to_what_the_mould_is_made_for() -> None:
    hide = leather()
    piece, blank = front(), pair()
    soaked = SoakedOutline(pressed_edge(blank, (piece,), hide))
    cut = cut_from_soaked(soaked, soaking(blank, (piece,), hide))
    grown = soaked_from_cut(cut, soaking(blank, (piece,), hide))
    assert max(soaked.nearest((x, y))[1] for x, y in grown.flat_points().tolist()) < 0.02
    assert cut.width * (1 + hide.soak_growth_across) == pytest.approx(soaked.width, abs=0.02)
    drying = Change(along=1 - hide.shrinkage_along, across=1 - hide.shrinkage_across)
    flat = formed_from_dry(piece.outline, drying)
    kept = shapely.union_all([flat.rotated(p.turn).moved(*p.shift).polygon for p in blank.places])
    assert soaked.polygon.buffer(0.02).contains(kept.buffer(blank.margin_mm, 256))
    # and nowhere more than that: the blank is convex here, so it is the offset of their hull
    hull = kept.convex_hull.buffer(blank.margin_mm, 256)
    assert soaked.polygon.area == pytest.approx(hull.area, rel=1e-4)


def test_a_notch_in_the_outline_is_bridged() -> None:
    notched = polygon(
        ((-50, -40), (50, -40), (50, 40), (8, 40), (8, 10), (-8, 10), (-8, 40), (-50, 40))
    )
    piece = front(zone(rectangle(60.0, 30.0, 8.0).moved(0, -18), mouth=False), notched)
    hide = leather(shrinkage_along=0.0, shrinkage_across=0.0)
    soaked = pressed_edge(alone(margin=10.0), (piece,), hide)
    assert soaked.contains((0.0, 48.6))
    assert soaked.min_outside_radius >= 15.0 - 1e-6
    assert soaked.width == pytest.approx(120.0)
    assert soaked.height == pytest.approx(100.0)


def test_pieces_too_far_apart_are_not_one_blank() -> None:
    far = replace(
        pair(), places=(PiecePlace(piece="front"), PiecePlace(piece="front", shift=(400, 0)))
    )
    with pytest.raises(RequestError, match="too far apart"):
        pressed_edge(far, (front(),), leather())


# --- the gap ---


def test_the_gap_is_1_10_of_the_thickest_soaked_leather() -> None:
    hide = leather(thickness_min_mm=1.5, thickness_max_mm=1.6, soak_growth_thickness=0.05)
    gap, remarks = gap_for(hide, choice())
    assert gap == pytest.approx(1.10 * 1.6 * 1.05)
    assert remarks == ()


def test_a_gap_under_the_thickness_irons_the_wall_and_under_0_95_is_forbidden() -> None:
    for factor, severity in ((1.0, None), (0.99, "warning"), (0.95, "warning"), (0.94, "forbids")):
        _, remarks = gap_for(leather(), choice(gap_factor=factor))
        assert [remark.severity for remark in remarks] == ([severity] if severity else [])
        assert all(r.remedies[0].field == "tooling.gap_factor" for r in remarks)


def test_uneven_leather_names_its_card_shim() -> None:
    _, none = gap_for(leather(thickness_min_mm=1.4, thickness_max_mm=1.6), choice())
    _, (remark,) = gap_for(leather(thickness_min_mm=1.2, thickness_max_mm=1.6), choice())
    assert none == ()
    assert remark.code == "thickness-uneven"
    assert "thinner than 1.40 mm with a card shim" in remark.sentence
    assert "0.40 mm for the thinnest" in remark.sentence


def test_3_to_4_oz_leather_gets_about_the_common_sixteenth_of_an_inch() -> None:
    # common practice, no source: a plausible range, not a value
    low, high = parse_leather_thickness("3-4 oz")
    gaps = [
        gap_for(leather(thickness_min_mm=t, thickness_max_mm=t), choice())[0] for t in (low, high)
    ]
    assert gaps[0] < 25.4 / 16 < gaps[1]


# --- remarks on what must not be made ---


def test_a_crown_radius_must_go_round_every_outward_corner() -> None:
    def remarks(crown: float) -> tuple[Remark, ...]:
        tight = replace(zone(arch(60.0, 80.0, 4.0)), crown_radius_mm=crown)
        hide = leather(shrinkage_along=0.0, shrinkage_across=0.0)
        return mould_remarks(front(tight), pair(), choice(), hide)

    assert codes(remarks(4.0)) == []
    (remark,) = [r for r in remarks(4.2) if r.severity == "forbids"]
    assert (remark.code, remark.place) == ("crown-radius-too-large", "front/hollow")
    assert (remark.amount, remark.limit) == pytest.approx((4.2, 4.0))
    assert [(r.field, r.value) for r in remark.remedies] == [
        ("measures.crown_radius", "4 mm"),
        ("measures.corner_radius", "4.2 mm"),
    ]


def test_lip_radius_and_gap_must_fit_every_inward_corner() -> None:
    waist = polygon(
        ((-40, -30), (40, -30), (40, 30), (15, 30), (15, 0), (-15, 0), (-15, 30), (-40, 30)),
        (8.0, 8.0, 8.0, 8.0, 4.0, 4.0, 8.0, 8.0),
    )

    def remarks(lip: float) -> list[str]:
        piece = front(
            replace(zone(waist, mouth=False), lip_radius_mm=lip), rectangle(120.0, 100.0, 10.0)
        )
        hide = leather(shrinkage_along=0.0, shrinkage_across=0.0, soak_growth_thickness=0.0)
        return codes(mould_remarks(piece, alone(), choice(), hide))

    gap = 1.1 * 1.6
    assert remarks(4.0 - gap - 0.01) == []
    assert remarks(4.0 - gap + 0.01) == ["lip-radius-too-large"]


def test_a_hollow_shallower_than_a_board_is_forbidden() -> None:
    shallow = front(replace(zone(), depth_mm=5.0))
    assert codes(mould_remarks(shallow, pair(), choice("MDF 6 mm"))) == [
        "hollow-shallower-than-board"
    ]
    assert codes(mould_remarks(shallow, pair(), choice("MDF 4 mm"))) == []


def test_zones_need_board_between_them() -> None:
    def remarks(between: float) -> list[str]:
        left = replace(
            zone(rectangle(40, 60, 8).moved(-20 - between / 2, 0), mouth=False), name="a"
        )
        right = replace(
            zone(rectangle(40, 60, 8).moved(20 + between / 2, 0), mouth=False), name="b"
        )
        piece = replace(front(left, rectangle(160, 100, 10)), zones=(left, right))
        hide = leather(shrinkage_along=0.0, shrinkage_across=0.0)
        return codes(mould_remarks(piece, alone(), choice(), hide))

    needed = 2 * (1.1 * 1.6 * 1.05 + 2.5) + 6.0
    assert remarks(needed + 0.05) == []
    assert "zones-too-near" in remarks(needed - 0.05)


def test_the_depth_that_whole_boards_would_give_needs_no_shim() -> None:
    hide = leather(shrinkage_along=0.01, shrinkage_across=0.02)
    thick = choice().mould_board.thickness_mm
    shimmed = front(zone(arch(62.0, 90.0, 12.0), depth_mm=1.6 * thick))
    (told,) = [
        r
        for r in mould_remarks(shimmed, pair(), choice(), hide)
        if r.code == "plug-needs-thick-shim"
    ]
    depth = float(told.remedies[0].value.removesuffix(" mm"))
    assert depth == pytest.approx(2 * thick * (1 - 0.015), abs=0.005)
    mended = front(zone(arch(62.0, 90.0, 12.0), depth_mm=depth))
    found = codes(mould_remarks(mended, pair(), choice(), hide))
    assert "plug-needs-thick-shim" not in found


def test_a_border_that_leaves_too_little_board_by_the_dowels_is_forbidden() -> None:
    remarks = mould_remarks(front(), pair(), choice(plate_border_mm=17.0))
    thin = [r for r in remarks if r.code == "web-too-thin"]
    assert thin
    assert all(r.amount is not None and r.amount <= 5.51 for r in thin)
    assert thin[0].remedies[0].value == "18 mm"
    wide = choice(plate_border_mm=18.2)
    assert codes(mould_remarks(front(), pair(), wide)) == []


def test_a_deep_upright_wall_is_told_to_grip() -> None:
    deep = front(replace(zone(), depth_mm=18.0))
    assert "leather-grips-plug" in codes(mould_remarks(deep, pair(), choice()), "note")
    low = front(replace(zone(), depth_mm=9.0))
    assert "leather-grips-plug" not in codes(mould_remarks(low, pair(), choice()), "note")


def test_a_weak_vise_is_remarked() -> None:
    strong, weak = choice(vise_force_N=50000.0), choice(vise_force_N=500.0)
    assert "vise-too-weak" not in codes(mould_remarks(front(), pair(), strong), "warning")
    assert "vise-too-weak" in codes(mould_remarks(front(), pair(), weak), "warning")


# --- solids ---


def test_the_plug_solid_has_the_volume_of_its_rounded_prism() -> None:
    (one,), _ = pressed_zones(pair(), (front(),), leather())
    solid = plug_solid(one)
    a, length = one.plug.area, one.plug.length
    h, r = one.height_mm, one.crown_radius_mm
    # Steiner: a slice inset by d encloses A - L d + pi d^2; d = r (1 - sin t) over r sin t
    rounding = a * r - length * r**2 * (1 - math.pi / 4) + math.pi * r**3 * (5 / 3 - math.pi / 2)
    assert solid.is_closed
    assert solid.volume == pytest.approx(a * (h - r) + rounding, rel=2e-4)


def test_the_frame_solid_stands_one_gap_off_the_plug_and_eases_its_lip() -> None:
    (one,), _ = pressed_zones(pair(), (front(),), leather())
    outer = rectangle(160.0, 300.0, 4.0)
    gap, z0, z1, lip = 1.9, 1.7, 19.7, one.lip_radius_mm
    solid = frame_solid(one, gap, outer, (z0, z1))
    assert solid.is_closed
    length = one.plug.length + 2 * math.pi * gap
    opening = one.plug.area + one.plug.length * gap + math.pi * gap**2
    eased = length * lip**2 * (1 - math.pi / 4) + math.pi * lip**3 * (5 / 3 - math.pi / 2)
    assert solid.volume == pytest.approx((outer.area - opening) * (z1 - z0) - eased, rel=2e-4)


@pytest.mark.parametrize("degrees", [0.0, 2.0, 7.0])
def test_between_the_solids_of_a_leaning_mould_is_one_gap_square_to_the_wall(
    degrees: float,
) -> None:
    lean, gap, low = math.radians(degrees), 1.7, 1.5
    leaning = front(replace(zone(), wall_angle=lean))
    (one,), _ = pressed_zones(pair(), (leaning,), leather())
    outer = rectangle(260.0, 320.0, 4.0)
    plug = plug_solid(one)
    frame = frame_solid(one, gap, outer, (low, one.height_mm + gap + 3.0))
    for solid in (plug, frame):
        assert solid.is_closed
        assert solid.volume > 0
    # every point of the frame's leaning wall, above its lip, is one gap from the plug's wall
    points = frame.points
    touch = one.height_mm - one.crown_radius_mm * (1.0 - math.sin(lean))
    lip = low + one.lip_radius_mm * (1.0 - math.sin(lean))
    inner = np.abs(points[:, 0]) < outer.width / 2 - 0.1
    inner &= np.abs(points[:, 1]) < outer.height / 2 - 0.1
    wall = points[inner & (points[:, 2] >= lip - 1e-6) & (points[:, 2] <= one.height_mm + 1e-6)]
    assert len(wall) > 100
    come_in = wall[:, 2] * math.tan(lean)
    away = -signed_distances(one.plug, wall[:, :2]) + come_in
    assert away * math.cos(lean) == pytest.approx(gap, abs=0.01)
    assert touch > lip

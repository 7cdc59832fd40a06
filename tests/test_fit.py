"""Do things fit: closed forms for simple cases, and solids sampled against the hollow's surface."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.fit import Room, clearance_in, room_for, what_fits
from hidewright.design.fit_remarks import fit_remarks
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds.registry import kind_named
from hidewright.design.slabs import Slab, envelope
from hidewright.design.states import DryOutline
from hidewright.geometry.boolean import clip_half_plane, union
from hidewright.geometry.offset import offset
from hidewright.geometry.shapes import arch, rectangle
from hidewright.workshop.begin import begin

FLAT = Shell(depth_mm=0.0, crown_radius_mm=0.0)


def _pouch(
    width: float, height: float, depth: float, corner: float = 5.0, crown: float = 3.0
) -> Hollow:
    return Hollow(
        name="front/hollow",
        outline=DryOutline(arch(width, height, corner)),
        shells=(Shell(depth_mm=depth, crown_radius_mm=crown), FLAT),
        mouth="mouth",
    )


def _box(length: float, width: float, thick: float, *, edge: float = 0.0) -> Carried:
    thing = Thing(
        name="box",
        shape="box",
        length_mm=length,
        width_mm=width,
        thickness_mm=thick,
        edge_radius_mm=edge,
        corner_radius_mm=max(edge, 5.0),
        source="test",
    )
    return Carried(thing=thing, side_clearance_mm=0.0, depth_clearance_mm=0.0)


def test_a_sharp_box_under_a_crown_needs_a_crown_radius_beside_it() -> None:
    # a sharp upper edge touches an arc that starts r beside it when the crown lies on the box
    slab = envelope((_box(80.0, 50.0, 12.0),))
    hollow = _pouch(50.0 + 2 * 3.0, 100.0, 12.0, crown=3.0)
    assert clearance_in(hollow, slab) == pytest.approx(0.0, abs=0.02)
    assert clearance_in(_pouch(50.0 + 2 * 3.5, 100.0, 12.0), slab) == pytest.approx(0.5, abs=0.02)


def test_an_edge_as_round_as_the_crown_needs_no_more_room_than_its_width() -> None:
    slab = envelope((_box(80.0, 50.0, 12.0, edge=3.0),))
    assert clearance_in(_pouch(50.0, 100.0, 12.0), slab) == pytest.approx(0.0, abs=0.02)


def test_room_left_is_measured_to_the_leaning_wall_not_to_the_outline() -> None:
    lean = math.radians(5.0)
    shell = Shell(depth_mm=12.0, crown_radius_mm=1e-6, wall_angle=lean)
    hollow = replace(_pouch(60.0, 100.0, 12.0), shells=(shell, FLAT))
    slab = envelope((_box(80.0, 50.0, 12.0),))
    assert clearance_in(hollow, slab) == pytest.approx(5.0 - 12.0 * math.tan(lean), abs=0.02)


def test_the_wall_of_a_shell_is_continuous_and_tangent_at_the_crown() -> None:
    shell = Shell(depth_mm=10.0, crown_radius_mm=4.0, wall_angle=math.radians(8.0))
    heights = [i * 0.001 for i in range(10_001)]
    inset = [shell.inset_at(h) for h in heights]
    steps = [b - a for a, b in pairwise(inset)]
    assert all(s >= -1e-12 for s in steps)
    assert max(steps[:9_000]) < 0.001 * 2.0  # no jump before the arc turns level
    assert inset[-1] == pytest.approx(
        (10.0 - 4.0 * (1 - math.sin(math.radians(8)))) * math.tan(math.radians(8))
        + 4.0 * math.cos(math.radians(8)),
        abs=1e-9,
    )


def test_too_thick_names_the_depth_that_would_do_and_is_forbidden() -> None:
    remarks = fit_remarks(_pouch(60.0, 100.0, 8.0), (_box(80.0, 40.0, 9.2),), "flap")
    assert [(r.code, r.severity, r.limit) for r in remarks if r.severity == "forbids"] == [
        ("too-thick", "forbids", 9.5)
    ]


def test_a_neck_on_the_way_in_is_found_though_the_thing_would_lie_well_inside() -> None:
    bottle = rectangle(60.0, 80.0, 10.0)
    neck = arch(40.0, 90.0, 5.0)
    # a hollow wide below and narrow at the mouth: its outline is the neck joined to the bottle
    (region,) = union(bottle.moved(0.0, -60.0), neck)
    hollow = Hollow(
        name="x",
        outline=DryOutline(region.outer),
        shells=(Shell(depth_mm=12.0, crown_radius_mm=1.0), FLAT),
        mouth="mouth",
    )
    thing = _box(50.0, 45.0, 10.0, edge=1.0)
    low = replace(thing, mouth_clearance_mm=35.0)
    codes = {r.code for r in fit_remarks(hollow, (low,), "flap")}
    assert "way-in-too-narrow" in codes
    assert "too-tight" not in codes


def test_what_stands_proud_or_lies_under_a_notch_can_be_gripped() -> None:
    thing = _box(98.0, 40.0, 10.0, edge=1.0)
    deep = _pouch(60.0, 100.0, 12.0)
    assert "hard-to-grip" in {r.code for r in fit_remarks(deep, (thing,), "flap")}
    notched = replace(deep, grip_mm=12.0)
    assert "hard-to-grip" not in {r.code for r in fit_remarks(notched, (thing,), "flap")}
    low = _pouch(60.0, 88.0, 12.0)
    proud = replace(thing, mouth_clearance_mm=-10.0)
    assert "hard-to-grip" not in {r.code for r in fit_remarks(low, (proud,), "flap")}


def test_loose_coins_are_counted_by_the_room_they_fill() -> None:
    coin = find(built_in_catalogue().things, "euro 2")
    hollow = _pouch(70.0, 70.0, 14.0)
    volume = math.pi / 4 * coin.diameter_mm**2 * coin.thickness_mm
    most = int(0.55 * hollow.outline.area * 14.0 / volume)
    few = Carried(thing=coin, count=most - 1, arrangement="loose")
    many = Carried(thing=coin, count=most + 2, arrangement="loose")
    assert "too-many" not in {r.code for r in fit_remarks(hollow, (few,), "snap")}
    assert "too-many" in {r.code for r in fit_remarks(hollow, (many,), "snap")}


def test_things_side_by_side_share_the_width_and_stacked_things_the_depth() -> None:
    card = find(built_in_catalogue().things, "plain card (ID-1)")
    stack = Carried(
        thing=card, count=4, arrangement="stacked", side_clearance_mm=0.0, depth_clearance_mm=0.0
    )
    row = replace(stack, arrangement="side by side")
    # ISO/IEC 7810: 85.60 x 53.98 mm, at most 0.84 mm thick
    assert envelope((stack,)).thickness_mm == pytest.approx(4 * 0.84)
    assert envelope((row,)).width_mm == pytest.approx(4 * 53.98)


def test_what_fits_counts_as_many_as_the_depth_takes() -> None:
    things = built_in_catalogue().things
    # four ID-1 cards at their thickest and half a mm of room: 4 x 0.84 + 0.5 = 3.86 mm
    hollow = _pouch(60.0, 90.0, 3.9, corner=4.0, crown=0.5)
    fitting = {thing.name: most for thing, most in what_fits(hollow, things)}
    assert fitting["plain card (ID-1)"] == 4
    assert "passport booklet" not in fitting
    assert "sighting compass" not in fitting


def test_a_thing_laid_across_swaps_length_and_width() -> None:
    one = _box(80.0, 50.0, 10.0)
    slab, across = envelope((one,)), envelope((replace(one, across=True),))
    assert (across.length_mm, across.width_mm) == (slab.width_mm, slab.length_mm)


@settings(max_examples=25, deadline=None)
@given(
    length=st.floats(20, 150),
    width=st.floats(15, 100),
    thick=st.floats(3, 30),
    edge=st.floats(0, 1.4),
    corner=st.floats(1, 7),
    crown=st.floats(1, 3),
    clear=st.floats(0, 2),
)
def test_the_room_found_is_enough_and_not_much_more(
    length: float,
    width: float,
    thick: float,
    edge: float,
    corner: float,
    crown: float,
    clear: float,
) -> None:
    long, short = max(length, width), min(length, width)
    one = replace(_box(long, short, thick, edge=edge), side_clearance_mm=clear)

    def hollow_of(room: Room) -> Hollow:
        return _pouch(room.width_mm, room.height_mm, room.depth_mm, corner, crown)

    room = room_for((one,), hollow_of)
    slab = envelope((one,))
    assert clearance_in(hollow_of(room), slab) >= -0.005
    smaller = Room(
        width_mm=room.width_mm - 1.1, height_mm=room.height_mm - 1.1, depth_mm=slab.thickness_mm
    )
    assert clearance_in(hollow_of(smaller), slab) < 0.0


def test_a_slab_grown_keeps_its_edge_round_by_the_smaller_clearance() -> None:
    slab = Slab(length_mm=50, width_mm=30, thickness_mm=10, corner_radius_mm=4, edge_radius_mm=1)
    grown = slab.grown(0.5, 2.0)
    assert (grown.length_mm, grown.width_mm, grown.thickness_mm) == (51, 31, 12)
    assert (grown.corner_radius_mm, grown.edge_radius_mm) == (4.5, 1.5)


def _tray(length: float, width: float, depth: float, grip: float = 0.0) -> Hollow:
    return Hollow(
        name="tray/hollow",
        outline=DryOutline(rectangle(length, width, 8.0)),
        shells=(FLAT, Shell(depth_mm=depth, crown_radius_mm=4.0)),
        is_open=True,
        grip_mm=grip,
    )


def test_a_thing_in_an_open_tray_lies_on_its_floor_and_may_stand_out_of_it() -> None:
    thing = _box(60.0, 40.0, 30.0)  # sharp edges: the floor's arc is what it touches
    slab = envelope((thing,))
    tray = _tray(40.0 + 2 * 4.0, 60.0 + 2 * 4.0, 18.0)
    assert clearance_in(tray, slab) == pytest.approx(0.0, abs=0.02)
    assert {r.code for r in fit_remarks(tray, (thing,), "walls")} == set()
    tight = _tray(40.0 + 2 * 3.0, 60.0 + 2 * 3.0, 18.0)
    assert "too-tight" in {r.code for r in fit_remarks(tight, (thing,), "walls")}


def test_a_flat_thing_deep_in_a_tray_cannot_be_taken_out_by_the_fingers() -> None:
    flat = _box(60.0, 40.0, 5.0, edge=1.0)
    codes = {r.code for r in fit_remarks(_tray(60.0, 80.0, 18.0), (flat,), "walls")}
    assert "hard-to-take-out" in codes
    roomy = {r.code for r in fit_remarks(_tray(60.0, 80.0, 18.0, grip=12.0), (flat,), "walls")}
    assert "hard-to-take-out" not in roomy


def test_an_outline_passes_where_the_hollow_is_as_wide_as_what_comes_to_rest_further_in() -> None:
    brief = begin("tool cover", built_in_catalogue()).brief
    (hollow,) = kind_named("tool cover").construct(brief).hollows
    told = {r.code for r in fit_remarks(hollow, brief.carried, "strap")}
    assert told == set()
    # a hollow that follows the blade back in beyond its widest place does not let it in
    blade = brief.carried[0].thing.outline
    assert blade is not None
    left, _, right, top = blade.bounds
    close = offset(blade.moved(-(left + right) / 2, -top), 4.0)
    (cut,) = clip_half_plane(close, (0.0, 0.0), (-1.0, 0.0), "mouth")
    narrow = replace(hollow, outline=DryOutline(cut))
    assert "way-in-too-narrow" in {r.code for r in fit_remarks(narrow, brief.carried, "strap")}

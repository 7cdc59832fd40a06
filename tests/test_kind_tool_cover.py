import math
from dataclasses import fields, replace
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.choices import SewingChoice
from hidewright.design.design import Design
from hidewright.design.fit import clearance_in
from hidewright.design.kinds.hinges import HINGE_ROOM_MM
from hidewright.design.kinds.tool_cover import ToolCoverMeasures, construct, sized_for
from hidewright.design.slabs import envelope
from hidewright.design.specification import Brief
from hidewright.errors import RequestError
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point
from hidewright.geometry.shapes import polygon, rectangle, teardrop
from hidewright.stitching.acceptance import accept_assembled
from hidewright.stitching.lay_seam import lay_seam
from hidewright.tooling.mould_checks import tightest_turn
from hidewright.tooling.pressed import pressed_zones
from hidewright.workshop.begin import begin


@cache
def _usual() -> Brief[ToolCoverMeasures]:
    return begin("tool cover", built_in_catalogue()).brief


def _cover(brief: Brief[ToolCoverMeasures] | None = None, **changes: Any) -> Design:
    brief = brief or _usual()
    return construct(replace(brief, measures=replace(brief.measures, **changes)))


def _carrying(outline: Outline, **carried: Any) -> Brief[ToolCoverMeasures]:
    thing = Thing(name="tool", shape="outline", outline=outline, thickness_mm=14.0, source="test")
    return replace(_usual(), carried=(Carried(thing=thing, **carried),))


@st.composite
def tools(draw: st.DrawFn) -> Outline:
    """Outlines of tools: drops, lopsided blades, and fishtails with an inward corner at the end."""
    sort = draw(st.sampled_from(("drop", "blade", "fishtail")))
    wide = draw(st.floats(30.0, 70.0))
    high = wide + draw(st.floats(5.0, 80.0))
    if sort == "drop":
        return teardrop(high + wide, wide, draw(st.floats(0.1, 0.4)) * wide)
    lop = draw(st.floats(-0.2, 0.2)) * wide
    neck = draw(st.floats(0.15, 0.3)) * wide
    half = wide / 2
    if sort == "blade":
        corners: tuple[Point, ...] = (
            (lop, 0.0),
            (half, 0.5 * high),
            (neck, high),
            (-neck, high),
            (-half, 0.4 * high),
        )
        return polygon(corners, 2.0)
    deep = draw(st.floats(0.05, 0.25)) * high
    corners = ((-half, 0.0), (lop, deep), (half, 0.0), (neck, high), (-neck, high))
    return polygon(corners, 1.0)


@st.composite
def measures(draw: st.DrawFn) -> ToolCoverMeasures:
    """Any measures within their limits: mostly near the usual ones, now and then at a limit."""
    hints, values = get_type_hints(ToolCoverMeasures), {}
    base = ToolCoverMeasures()
    for one in fields(ToolCoverMeasures):
        about = one.metadata
        if get_origin(hints[one.name]) is not None:
            values[one.name] = draw(st.sampled_from(get_args(hints[one.name])))
        elif hints[one.name] is int:
            values[one.name] = draw(st.integers(about["low"], about["high"]))
        else:
            low, high, usual = about["low"], about["high"], float(getattr(base, one.name))
            near = st.floats(max(low, 0.5 * usual), min(high, 2.0 * usual))
            values[one.name] = draw(near | near | near | near | st.sampled_from((low, high)))
    return ToolCoverMeasures(**values)


def _made_or_refused(brief: Brief[ToolCoverMeasures]) -> Design | RequestError:
    try:
        return construct(brief)
    except RequestError as refused:
        return refused


def _around(outline: Outline) -> Floats:
    points = [outline.point_at(s) for s in np.linspace(0, outline.length, 400, False)]
    return np.array(points, dtype=np.float64).reshape(-1, 2)


def _in_space(design: Design, piece: str, at: Point, z: float) -> Floats:
    panel = design.assembly.panel_at(piece, at)
    placed: Floats = design.assembly.pose_of(panel, 1.0).of_points(np.array([[*at, z]]))[0]
    return placed


@settings(max_examples=40, deadline=None)
@given(measures(), tools())
def test_any_measures_and_tool_make_a_cover_or_are_refused_by_name(
    m: ToolCoverMeasures, tool: Outline
) -> None:
    made = _made_or_refused(replace(_carrying(tool), measures=m))
    if isinstance(made, RequestError):
        named = made.where.removeprefix("measures.")
        assert named == "carried" or any(f.name.startswith(named) for f in fields(m)), made
        assert made.mend
    else:
        assert [p.name for p in made.pieces] == ["front", "back"]


@settings(max_examples=25, deadline=None)
@given(tools(), st.floats(0.0, 2.0), st.floats(-10.0, 5.0))
def test_the_tool_slides_in_and_out_with_its_clearance_all_the_way(
    tool: Outline, side: float, below: float
) -> None:
    brief = _carrying(tool, side_clearance_mm=side, mouth_clearance_mm=below)
    design = _cover(brief, closing="none", ease_mm=3.0, corner_radius_mm=3.0)
    hollow = design.hollows[0].outline
    left, _, right, top = tool.bounds
    # its top lies as far below the mouth as asked, its clearance over it
    home = tool.moved(-(left + right) / 2, -below - side - top)
    assert hollow.bounds[1] >= home.bounds[1] - side - 3.0 - 1e-6  # and no deeper than asked
    points = _around(home)
    for out in np.linspace(0.0, home.height, 15):
        placed = points + np.array([0.0, out])
        inside = placed[placed[:, 1] < -1e-6]
        if len(inside):
            assert signed_distances(hollow, inside, "mouth").min() >= side - 0.011


@settings(max_examples=25, deadline=None)
@given(tools(), st.floats(1.0, 10.0), st.floats(3.0, 14.0))
def test_no_corner_of_the_hollow_is_sharper_than_its_measures_allow(
    tool: Outline, corner: float, inward: float
) -> None:
    design = _cover(
        _carrying(tool), closing="none", corner_radius_mm=corner, inward_radius_mm=inward
    )
    hollow = design.hollows[0].outline
    # closed with its mirror image at the mouth, only the corners of its walls are left
    rim = hollow.span_path("rim")
    both = Outline((*rim.segments, *(s.rotated(math.pi) for s in rim.segments)))
    assert tightest_turn(both, 1.0) >= corner - 1e-6
    assert tightest_turn(both, -1.0) >= inward - 1e-6
    assert rim.start == pytest.approx((-hollow.width / 2, 0.0), abs=1e-9)
    assert rim.end == pytest.approx((hollow.width / 2, 0.0), abs=1e-9)


@settings(max_examples=20, deadline=None)
@given(tools(), st.floats(3.0, 6.0))
def test_two_fronts_of_any_tool_come_off_one_plug_mouth_to_mouth(
    tool: Outline, waste: float
) -> None:
    design = _cover(_carrying(tool), closing="none", mouth_waste_mm=waste)
    (blank,) = design.blanks
    assert blank.articles == 2
    zones, remarks = pressed_zones(blank, design.pieces, design.leather("body"))
    assert [zone.sources for zone in zones] == [(("front", "hollow"), ("front", "hollow"))]
    assert not remarks


@settings(max_examples=10, deadline=None)
@given(tools(), st.sampled_from(("strap and stud", "none")), st.floats(3.0, 6.0))
def test_holes_of_front_and_back_are_one_in_the_closed_cover(
    tool: Outline, closing: str, pitch: float
) -> None:
    design = _cover(
        _carrying(tool), closing=closing, strap_beside_mm=0.0, strap_width_mm=8.0, pitch_mm=pitch
    )
    thick = {"front": 1.9, "back": 1.9}
    sewn, _ = lay_seam(design.seams[0], design.pieces, thick, SewingChoice())
    assert sewn.count > 12
    assert accept_assembled(design.assembly, sewn, design.pieces, thick) == ()
    front, back = (
        np.array([_in_space(design, layer.piece, hole.at, 0.0) for hole in layer.holes])
        for layer in sewn.layers
    )
    assert np.abs(front - back).max() < 1e-6


@settings(max_examples=20, deadline=None)
@given(
    beside=st.floats(0.0, 18.0),
    drop=st.floats(8.0, 20.0),
    depth=st.floats(10.0, 24.0),
    width=st.floats(8.0, 14.0),
)
def test_the_closed_strap_lies_on_its_stud(
    beside: float, drop: float, depth: float, width: float
) -> None:
    design = _cover(strap_beside_mm=beside, stud_drop_mm=drop, depth_mm=depth, strap_width_mm=width)
    (stud,), (hole,) = design.fittings, design.piece("back").holes
    grain = depth + design.leather("body").thickness_mm
    over = _in_space(design, "back", hole.at, 0.0) - _in_space(design, "front", stud.at, grain)
    # its flesh side hangs half a mm over the front, as its hinge is that much higher
    assert over == pytest.approx([0.0, 0.0, HINGE_ROOM_MM], abs=1e-9)
    assert stud.at in [h.at for h in design.piece("front").holes]
    assert stud.before_seam == "rim"


def test_a_strap_wider_than_the_crown_is_told_with_its_own_width() -> None:
    slim = _carrying(rectangle(30.0, 120.0, 5.0))
    with pytest.raises(RequestError, match=r"strap width of 40 mm: the flat crown is") as refused:
        _cover(slim, strap_width_mm=40.0, strap_beside_mm=0.0)
    most = float(refused.value.mend.split()[3])
    assert f"{most:.1f} mm wide" in refused.value.because
    _cover(slim, strap_width_mm=most, strap_beside_mm=0.0)


@settings(max_examples=6, deadline=None)
@given(tools(), st.floats(0.0, 1.0), st.floats(4.0, 25.0), st.floats(1.0, 5.0))
def test_a_cover_sized_for_a_tool_holds_it_with_its_clearances_and_no_wider(
    tool: Outline, side: float, thick: float, crown: float
) -> None:
    thing = Thing(name="tool", shape="outline", outline=tool, thickness_mm=thick, source="test")
    carried = (Carried(thing=thing, side_clearance_mm=side),)
    m = sized_for(replace(_usual().measures, crown_radius_mm=crown, closing="none"), carried)

    def room(ease: float) -> float:
        brief = replace(_usual(), carried=carried, measures=replace(m, ease_mm=ease))
        return clearance_in(construct(brief).hollows[0], envelope(carried))

    assert room(m.ease_mm) >= -0.005
    assert m.ease_mm == 0.0 or room(m.ease_mm - (0.1 if m.ease_mm <= 4.0 else 1.0)) < -0.0025


def test_a_snug_fit_holds_only_what_has_little_room() -> None:
    assert _cover().held_by == "strap with stud beside the handle"
    assert _cover(closing="snug fit").held_by == "snug fit"
    loose = tuple(replace(one, side_clearance_mm=1.5) for one in _usual().carried)
    assert _cover(replace(_usual(), carried=loose), closing="snug fit").held_by == ""
    assert _cover(closing="none").held_by == ""


def test_a_strap_where_the_handle_comes_out_is_told_and_moved_out() -> None:
    assert _cover().notes == ()
    (over,) = _cover(strap_beside_mm=5.0).notes
    assert over.code == "strap-over-handle"
    beside = float(over.remedies[0].value.removesuffix(" mm"))
    assert _cover(strap_beside_mm=beside).notes == ()
    assert _cover(strap_beside_mm=beside - 0.2).notes != ()
    assert _cover(strap_beside_mm=5.0, handle_mm=0.0).notes == ()


HOOK = polygon(((-30, 60), (-20, 0), (15, 20), (8, 5), (30, 10), (20, 90), (-20, 90)), 0.5)


@pytest.mark.parametrize(
    ("brief", "says"),
    [
        (lambda: replace(_usual(), carried=()), "nothing is carried"),
        (lambda: _carrying(teardrop(90, 40, 5), mouth_clearance_mm=-85.0), "widest place"),
        (lambda: _carrying(HOOK), "hooks back"),
    ],
)
def test_a_tool_that_gives_no_cover_is_refused_where_it_is_carried(brief: Any, says: str) -> None:
    with pytest.raises(RequestError) as refused:
        construct(brief())
    assert refused.value.where == "carried"
    assert says in refused.value.what


def test_corners_rounded_up_to_the_mouth_are_refused() -> None:
    diamond = polygon(((0, 0), (25, 60), (0, 120), (-25, 60)), 0.5)
    brief = _carrying(diamond, mouth_clearance_mm=-56.0)
    assert _cover(brief, closing="none", corner_radius_mm=2.0).hollows
    with pytest.raises(RequestError) as refused:
        _cover(brief, closing="none", corner_radius_mm=40.0)
    assert refused.value.where == "measures.corner_radius"


@pytest.mark.parametrize(
    ("field", "value"),
    [("strap_beside", 60.0), ("stud_drop", 110.0), ("fold_radius", 15.0), ("crown_radius", 20.0)],
)
def test_measures_that_do_not_go_together_are_refused_by_name(field: str, value: float) -> None:
    changes: dict[str, Any] = {f"{field}_mm": value}
    with pytest.raises(RequestError) as refused:
        _cover(None, **changes)
    assert refused.value.where == f"measures.{field}"

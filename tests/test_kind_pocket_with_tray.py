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
from hidewright.design.choices import SewingChoice
from hidewright.design.design import Design
from hidewright.design.fit_remarks import fit_remarks
from hidewright.design.hollow import Shell
from hidewright.design.kinds.pocket_with_tray import construct, sized_for
from hidewright.design.kinds.pocket_with_tray_closed import closed_section
from hidewright.design.kinds.pocket_with_tray_measures import PocketWithTrayMeasures
from hidewright.design.specification import Brief
from hidewright.errors import RequestError
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.segment import Floats
from hidewright.stitching.acceptance import accept_assembled
from hidewright.stitching.lay_seam import lay_seam
from hidewright.workshop.begin import begin

THICKNESS_MM = 1.5


@cache
def _usual() -> Brief[PocketWithTrayMeasures]:
    brief = begin("pocket with fold-over tray", built_in_catalogue()).brief
    beside = tuple(replace(one, arrangement="side by side") for one in brief.carried)
    return replace(brief, carried=beside, measures=PocketWithTrayMeasures())


def _article(**changes: Any) -> Design:
    brief = _usual()
    return construct(replace(brief, measures=replace(brief.measures, **changes)))


def _made_or_refused(m: PocketWithTrayMeasures) -> Design | RequestError:
    try:
        return construct(replace(_usual(), measures=m))
    except RequestError as refused:
        return refused


def _codes(design: Design) -> list[str]:
    return [note.code for note in design.notes]


@st.composite
def measures(draw: st.DrawFn) -> PocketWithTrayMeasures:
    """Any measures within their limits: mostly near the usual ones, now and then at a limit."""
    hints, values = get_type_hints(PocketWithTrayMeasures), {}
    base = PocketWithTrayMeasures()
    for one in fields(PocketWithTrayMeasures):
        about = one.metadata
        if get_origin(hints[one.name]) is not None:
            values[one.name] = draw(st.sampled_from(get_args(hints[one.name])))
        elif hints[one.name] is int:
            values[one.name] = draw(st.integers(about["low"], about["high"]))
        else:
            low, high, usual = about["low"], about["high"], float(getattr(base, one.name))
            near = st.floats(max(low, 0.5 * usual), min(high, 2.0 * usual))
            values[one.name] = draw(near | near | near | near | st.sampled_from((low, high)))
    return PocketWithTrayMeasures(**values)


SHAPES = st.fixed_dictionaries(
    {
        "width_mm": st.floats(50.0, 130.0),
        "height_mm": st.floats(50.0, 160.0),
        "depth_mm": st.floats(8.0, 24.0),
        "corner_radius_mm": st.floats(6.0, 25.0),
        "crown_radius_mm": st.floats(1.0, 8.0),
        "slide_mm": st.floats(0.2, 1.5),
        "mouth_room_mm": st.floats(4.0, 25.0),
        "notch_radius_mm": st.just(0.0),
    }
)


def _pocket_outside(m: PocketWithTrayMeasures, design: Design) -> Floats:
    """Return (n, 3) points of the pocket's grain side, wall and crown, where it lies closed."""
    t, crown = THICKNESS_MM, m.crown_radius_mm + THICKNESS_MM
    outer = Shell(depth_mm=m.depth_mm + t, crown_radius_mm=crown)
    wall = design.piece("pocket").zone("hollow").outline.span_path("rim")
    rows = [(*wall.point_at(s), *wall.normal_at(s)) for s in np.linspace(0, wall.length, 300)]
    at, out = np.array(rows)[:, :2], np.array(rows)[:, 2:]
    heights = [t, *(m.depth_mm + t - crown * (1 - math.sin(a)) for a in np.linspace(0, 1.57, 9))]
    return np.concatenate(
        [
            np.column_stack([at + out * (t - outer.inset_at(z)), np.full(len(at), z)])
            for z in heights
        ]
    )


def _room_in_tray(design: Design, points: Floats, s: float) -> float:
    """Return the least level room of points inside the tray as it closes, mm.

    Points that are not over the plane of the tray's flange are out of it.
    """
    zone = design.piece("outer").zone("tray")
    panel = next(p for p in design.assembly.panels if p.name == "tray")
    pose = design.assembly.pose_of(panel, s)
    own = (points - np.array(pose.shift)) @ np.array(pose.rotation)
    own = own[own[:, 2] > 1e-6]
    if not len(own):
        return math.inf
    if own[:, 2].max() > zone.depth_mm + 1e-9:
        return zone.depth_mm - float(own[:, 2].max())
    shell = Shell(depth_mm=zone.depth_mm, crown_radius_mm=zone.crown_radius_mm)
    come_in = np.array([shell.inset_at(min(z, zone.depth_mm)) for z in own[:, 2]])
    return float((signed_distances(zone.outline, own[:, :2]) - come_in).min())


@settings(max_examples=60, deadline=None)
@given(measures())
def test_any_measures_make_it_or_are_refused_by_name(m: PocketWithTrayMeasures) -> None:
    made = _made_or_refused(m)
    if isinstance(made, RequestError):
        named = made.where.removeprefix("measures.")
        assert any(f.name.startswith(named) for f in fields(m)), made
        assert made.mend
    else:
        assert [p.name for p in made.pieces] == ["pocket", "outer"]
        assert len(made.magnets) == (2 if m.closing == "magnets" else 0)


@settings(max_examples=15, deadline=None)
@given(SHAPES, st.floats(0.0, 8.0))
def test_the_closed_tray_stands_off_the_pocket_by_the_slide_on_every_side(
    shape: dict[str, float], gap: float
) -> None:
    design = _article(**shape, tray_depth_mm=max(shape["depth_mm"] + shape["slide_mm"] - gap, 2.0))
    m = replace(_usual().measures, **shape)  # type: ignore[arg-type]
    points = _pocket_outside(m, design)
    assert _room_in_tray(design, points, 1.0) >= m.slide_mm - 0.011
    # and the crown over it: highest point against the tray's inside
    tray = next(p for p in design.assembly.panels if p.name == "tray")
    depth = design.piece("outer").zone("tray").depth_mm
    (top,) = design.assembly.pose_of(tray, 1.0).of_points(np.array([[0.0, 100.0, depth]]))
    assert top[2] - points[:, 2].max() >= m.slide_mm - 1e-9


@settings(max_examples=12, deadline=None)
@given(SHAPES, st.floats(0.0, 8.0))
def test_the_tray_swings_over_the_pocket_without_catching_on_it(
    shape: dict[str, float], gap: float
) -> None:
    design = _article(**shape, tray_depth_mm=max(shape["depth_mm"] + shape["slide_mm"] - gap, 2.0))
    m = replace(_usual().measures, **shape)  # type: ignore[arg-type]
    points = _pocket_outside(m, design)
    least = min(_room_in_tray(design, points, s) for s in np.linspace(0.6, 1.0, 60))
    assert least >= 0.0


@pytest.mark.parametrize(
    ("tray_depth", "apart"),
    [(16.5, 1.5), (20.0, 1.5), (13.7, 4.3), (10.0, 8.0)],  # never nearer than the pocket's flange
)
def test_the_hinge_is_as_long_as_the_path_over_the_closed_height(
    tray_depth: float, apart: float
) -> None:
    design = _article(tray_depth_mm=tray_depth)
    section = closed_section(
        replace(_usual().measures, tray_depth_mm=tray_depth), THICKNESS_MM, None
    )
    assert section.height_mm == pytest.approx(apart, abs=1e-12)
    radius = min(2.5, apart / 2)
    # half a circle of the middle layer and the straight between its quarters
    path = math.pi * (radius + THICKNESS_MM / 2) + apart - 2 * radius
    back, hinge, tray = (p for p in design.assembly.panels if p.piece == "outer")
    assert tray.low_y - back.high_y == pytest.approx(path, abs=1e-12)
    assert hinge.hinge is not None
    ends = np.array([[0.0, tray.low_y, 0.0], [0.0, tray.low_y + 30.0, 0.0]])
    begun, further = design.assembly.pose_of(tray, 1.0).of_points(ends)
    fold = design.assembly.pose_of(back, 1.0).of_points(np.array([[0.0, back.high_y, 0.0]]))[0]
    assert begun - fold == pytest.approx([0.0, 0.0, apart], abs=1e-9)
    assert further - begun == pytest.approx([0.0, -30.0, 0.0], abs=1e-9)


@settings(max_examples=12, deadline=None)
@given(SHAPES, st.floats(3.0, 6.0), st.sampled_from(("magnets", "none")))
def test_holes_of_pocket_and_back_are_one_in_the_closed_article(
    shape: dict[str, float], pitch: float, closing: str
) -> None:
    design = _article(**shape, pitch_mm=pitch, closing=closing)
    thick = {"pocket": THICKNESS_MM, "outer": THICKNESS_MM}
    sewn, _ = lay_seam(design.seams[0], design.pieces, thick, SewingChoice())
    assert sewn.count > 20
    assert accept_assembled(design.assembly, sewn, design.pieces, thick) == ()
    placed = []
    for layer in sewn.layers:
        panel = design.assembly.panel_at(layer.piece, layer.holes[0].at)
        at = np.array([[*hole.at, 0.0] for hole in layer.holes])
        placed.append(design.assembly.pose_of(panel, 1.0).of_points(at))
    assert np.abs(placed[0] - placed[1]).max() < 1e-6


def test_tray_and_pocket_end_flush() -> None:
    design = _article()
    panel = next(p for p in design.assembly.panels if p.name == "tray")
    pose = design.assembly.pose_of(panel, 1.0)
    _, _, right, top = design.piece("outer").outline.bounds
    (end,) = pose.of_points(np.array([[right, top, 0.0]]))
    _, low, pocket_right, _ = design.piece("pocket").outline.bounds
    assert abs(end[0]) == pytest.approx(pocket_right, abs=1e-9)
    assert end[1] == pytest.approx(low, abs=1e-9)


@settings(max_examples=12, deadline=None)
@given(SHAPES, st.floats(2.0, 6.0))
def test_magnets_lie_over_one_another_clear_of_lip_and_stitches(
    shape: dict[str, float], inset: float
) -> None:
    design = _article(**shape, inset_mm=inset, closing="magnets")
    centres = []
    for place in design.magnets:
        panel = design.assembly.panel_at(place.piece, place.at)
        pose = design.assembly.pose_of(panel, 1.0)
        centres.append(pose.of_points(np.array([[*place.at, 0.0]]))[0])
    assert centres[0][:2] == pytest.approx(centres[1][:2], abs=1e-9)
    assert {place.pole_out for place in design.magnets} == {"N", "S"}
    for place in design.magnets:
        piece, radius = design.piece(place.piece), place.magnet.diameter_mm / 2
        (zone,) = piece.zones
        lip = THICKNESS_MM + zone.lip_radius_mm
        assert not zone.outline.contains(place.at)
        assert zone.outline.nearest(place.at)[1] >= lip + radius + 1.0
        # a stitch hole, half of it beyond its inset, is not under the magnet
        assert piece.outline.contains(place.at, inset + radius + 1.0)


def test_open_gaps_a_tight_fold_and_weak_magnets_are_told_with_what_mends_them() -> None:
    usual = _article()
    assert _codes(usual) == ["open-side-gaps"]
    (gap,) = usual.notes
    assert gap.amount == pytest.approx(4.3 - 1.5, abs=1e-12)
    assert gap.remedies[0].value == "16.50 mm"
    met = _article(tray_depth_mm=16.5, closing="none")
    assert _codes(met) == ["tight-fold"]
    (tight,) = met.notes
    assert tight.amount == pytest.approx(0.75, abs=1e-12)
    mended = float(tight.remedies[0].value.removesuffix(" mm"))
    assert "tight-fold" not in _codes(_article(tray_depth_mm=mended, closing="none"))
    held_open = _article(tray_depth_mm=16.5)
    assert "no-room-for-magnet" in _codes(held_open)
    heavy = tuple(replace(one, thing=replace(one.thing, mass_g=200.0)) for one in _usual().carried)
    assert "magnets-too-weak" in _codes(construct(replace(_usual(), carried=heavy)))


def _with_a_box(thick_mm: float) -> Brief[PocketWithTrayMeasures]:
    one = _usual().carried[0]
    box = Thing(
        name="box", shape="box", length_mm=80, width_mm=50, thickness_mm=thick_mm, source="made up"
    )
    return replace(_usual(), carried=(replace(one, thing=box, arrangement="stacked"),))


def _path_mm(height: float, radius: float = 2.5) -> float:
    """The way of the middle layer over a height: half a circle and a straight."""
    r = min(radius, height / 2)
    return math.pi * (r + THICKNESS_MM / 2) + height - 2 * r


@pytest.mark.parametrize("over_mm", [-1.0, 0.5, 0.6, 3.0])
def test_the_hinge_is_checked_over_its_things(over_mm: float) -> None:
    brief = _with_a_box(_usual().measures.depth_mm + over_mm)
    m = brief.measures
    height = m.depth_mm + THICKNESS_MM + m.slide_mm - m.tray_depth_mm
    pushed_up = max(over_mm - m.slide_mm, 0.0)  # the slide is used up first
    found = {note.code: note for note in construct(brief).notes}
    assert found["open-side-gaps"].amount == pytest.approx(height + pushed_up - THICKNESS_MM)
    assert ("hinge-short-when-full" in found) == (pushed_up > 0.05)
    if pushed_up > 0.05:
        short = found["hinge-short-when-full"]
        assert short.severity == "forbids"
        assert short.amount == pytest.approx(_path_mm(height + pushed_up) - _path_mm(height))


def test_loose_things_do_not_push_the_tray_up() -> None:
    brief = _with_a_box(30.0)
    loose = replace(brief, carried=(replace(brief.carried[0], arrangement="loose"),))
    assert "hinge-short-when-full" in [n.code for n in construct(brief).notes]
    assert "hinge-short-when-full" not in [n.code for n in construct(loose).notes]


@pytest.mark.parametrize(
    ("closing", "tray_depth", "lowest"),
    [("none", 13.7, 1.5), ("none", 10.0, 1.5), ("magnets", 10.0, 1.5 + 2.0 + 0.8)],
)
def test_the_hinge_is_checked_empty_and_pressed_and_told_what_takes_up_the_slack(
    closing: str, tray_depth: float, lowest: float
) -> None:
    design = _article(closing=closing, tray_depth_mm=tray_depth)
    height = 16.0 + THICKNESS_MM + 0.5 - tray_depth
    (slack,) = (n for n in design.notes if n.code == "hinge-slack-when-empty")
    assert slack.amount == pytest.approx(_path_mm(height) - _path_mm(lowest))
    (gaps,) = (n for n in design.notes if n.code == "open-side-gaps")
    assert f"empty and pressed, {lowest - THICKNESS_MM:.1f} mm" in gaps.sentence
    mended = float(slack.remedies[0].value.removesuffix(" mm"))
    assert "hinge-slack-when-empty" not in _codes(_article(closing=closing, tray_depth_mm=mended))


def test_what_stands_further_out_than_the_tray_reaches_is_forbidden() -> None:
    def proud_by(mm: float) -> list[str]:
        out = tuple(replace(one, mouth_clearance_mm=-mm) for one in _usual().carried)
        return _codes(construct(replace(_usual(), carried=out)))

    room = _usual().measures.mouth_room_mm - _usual().measures.slide_mm
    assert "proud-of-the-tray" not in proud_by(room)
    assert "proud-of-the-tray" in proud_by(room + 0.1)


def test_sized_for_the_things_they_fit_and_the_flanges_stay_as_far_apart() -> None:
    before = _usual().measures
    m = sized_for(before, _usual().carried)
    design = construct(replace(_usual(), measures=m))
    remarks = fit_remarks(design.hollows[0], design.carried, design.held_by)
    assert not [r for r in remarks if r.severity == "forbids"]
    assert m.tray_depth_mm - m.depth_mm == pytest.approx(
        before.tray_depth_mm - before.depth_mm, abs=1e-9
    )


@pytest.mark.parametrize(
    ("field", "value"),
    [("slide", 0.1), ("flange", 6.0), ("hinge_flange", 3.0), ("crown_radius", 17.0)],
)
def test_measures_that_do_not_close_are_refused_by_name(field: str, value: float) -> None:
    brief = replace(
        _usual(),
        leathers=(("body", replace(_usual().leather("body"), thickness_max_mm=1.9)),),
    )
    m = replace(brief.measures, **{f"{field}_mm": value})  # type: ignore[arg-type]
    with pytest.raises(RequestError) as refused:
        construct(replace(brief, measures=m))
    assert refused.value.where == f"measures.{field}"

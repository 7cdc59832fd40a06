"""States of leather, poses, changes: inverses, rigid motions, names that are kept."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.changes import with_changes
from hidewright.design.design import Design
from hidewright.design.kinds.registry import kind_named
from hidewright.design.piece import PunchedHole
from hidewright.design.pose import Assembly, Hinge, Panel, Pose, turned_about
from hidewright.design.size_change import Change
from hidewright.design.specification import Change as Asked
from hidewright.design.states import (
    CutOutline,
    DryOutline,
    cut_from_soaked,
    dry_from_formed,
    formed_from_dry,
    soaked_from_cut,
)
from hidewright.errors import RequestError
from hidewright.geometry.shapes import arch, ellipse, rectangle
from hidewright.workshop.begin import begin

SHARE = st.floats(-0.05, 0.05)


@settings(max_examples=40, deadline=None)
@given(along=SHARE, across=SHARE, angle=st.floats(-math.pi, math.pi))
def test_each_way_between_states_is_undone_by_its_inverse(
    along: float, across: float, angle: float
) -> None:
    change = Change(along=1 + along, across=1 + across, angle=angle)
    dry = DryOutline(arch(62.0, 90.0, 12.0))
    there = formed_from_dry(dry, change)
    back = dry_from_formed(there, change)
    # each refit is within 0.005 mm of what it refits
    away = [dry.nearest(back.point_at(s))[1] for s in np.linspace(0, back.length, 200)]
    assert max(away) < 0.011
    assert back.spans == dry.spans
    cut = CutOutline(rectangle(80, 50, 8))
    again = cut_from_soaked(soaked_from_cut(cut, change), change)
    assert max(cut.nearest(again.point_at(s))[1] for s in np.linspace(0, 200, 100)) < 0.011


@pytest.mark.parametrize("angle", [0.0, 0.3, math.pi / 2])
def test_area_changes_by_the_product_of_the_two_factors_whatever_the_backbone(
    angle: float,
) -> None:
    change = Change(along=0.97, across=0.985, angle=angle)
    dry = DryOutline(ellipse(120.0, 80.0))
    formed = formed_from_dry(dry, change)
    assert formed.area == pytest.approx(dry.area / (0.97 * 0.985), rel=2e-4)


def test_the_backbone_lies_along_y_until_it_is_turned() -> None:
    box = DryOutline(rectangle(100.0, 60.0, 5.0))
    shrunk = dry_from_formed(
        formed_from_dry(box, Change(along=1, across=1)), Change(along=0.9, across=1.0)
    )
    assert [shrunk.width, shrunk.height] == pytest.approx([100.0, 54.0])
    turned = dry_from_formed(
        formed_from_dry(box, Change(along=1, across=1)),
        Change(along=0.9, across=1.0, angle=math.pi / 2),
    )
    assert [turned.width, turned.height] == pytest.approx([90.0, 60.0])


def test_a_turn_about_a_line_keeps_the_line_and_all_distances() -> None:
    pose = turned_about((1.0, 2.0, 3.0), (0.0, 0.0, 1.0), math.pi / 2)
    points = np.array([[1.0, 2.0, 9.0], [2.0, 2.0, 3.0]])
    assert np.allclose(pose.of_points(points), [[1.0, 2.0, 9.0], [1.0, 3.0, 3.0]])
    rng = np.random.default_rng(3)
    cloud = rng.normal(size=(20, 3))
    moved = turned_about((1, -2, 0.5), (1, 2, 3), 1.1).of_points(cloud)
    gaps = np.linalg.norm(cloud[:, None] - cloud[None], axis=2)
    assert np.allclose(np.linalg.norm(moved[:, None] - moved[None], axis=2), gaps)


def test_a_placement_and_its_inverse_leave_all_where_it_was() -> None:
    pose = turned_about((1, -2, 0.5), (1, 2, 3), 1.1).then(Pose(shift=(1, 2, 3)))
    cloud = np.random.default_rng(3).normal(size=(20, 3))
    for both in (pose.then(pose.inverse), pose.inverse.then(pose)):
        assert np.allclose(both.of_points(cloud), cloud, atol=1e-12)


def test_one_placement_after_another_is_their_product() -> None:
    one = turned_about((0, 0, 0), (1, 0, 0), 0.4).then(Pose(shift=(1, 2, 3)))
    p = np.array([[0.3, -2.0, 5.0]])
    assert np.allclose(
        one.of_points(p), turned_about((0, 0, 0), (1, 0, 0), 0.4).of_points(p) + np.array([1, 2, 3])
    )


@pytest.mark.parametrize("s", [0.0, 0.25, 0.5, 1.0])
def test_a_hinge_bends_its_strip_without_stretching_its_neutral_layer(s: float) -> None:
    neutral, inside = 0.75, 2.5
    strip = math.pi / 2 * (inside + neutral)
    hinge = Hinge(
        parent="a",
        start=(0.0, 1.0),
        direction=(1.0, 0.0),
        angle=math.pi / 2,
        strip_mm=strip,
        neutral_mm=neutral,
    )
    panels = (
        Panel(name="a", piece="p", high_y=1.0),
        Panel(name="b", piece="p", low_y=1.0 + strip, hinge=hinge),
    )
    pose = Assembly(panels=panels).pose_of(panels[1], s)
    edge = np.array([[0.0, 1.0 + strip, neutral]])
    (x, y, z) = pose.of_points(edge)[0]
    theta = math.pi / 2 * s
    if s == 0:
        assert np.allclose((x, y, z), edge[0])
        return
    rho = strip / theta
    # the neutral layer lies on a circle that touches the parent's neutral layer at the hinge line
    assert [y - 1.0, neutral - z] == pytest.approx(
        [rho * math.sin(theta), rho * (1 - math.cos(theta))]
    )
    if s == 1.0:  # closed, the flesh face is bent to the inside radius asked for
        flesh = pose.of_points(np.array([[0.0, 1.0 + strip, 0.0]]))[0]
        assert np.allclose(flesh, [0.0, 1.0 + inside, -inside])


@pytest.fixture
def pouch() -> Design:
    brief = begin("flat-back pouch", built_in_catalogue()).brief
    return kind_named(brief.kind).construct(brief)


def test_the_closed_flap_lies_over_the_front_by_the_leather_and_its_room(pouch: Design) -> None:
    flap = next(p for p in pouch.assembly.panels if p.name == "flap")
    pose = pouch.assembly.pose_of(flap, 1.0)
    low = pose.of_points(np.array([[0.0, flap.low_y, 0.0], [0.0, flap.low_y + 10, 0.0]]))
    front = pouch.piece("front").zones[0].depth_mm + pouch.leather("body").thickness_mm
    assert np.allclose(low[:, 2], front + 0.5), "half a mm over the front's grain"
    assert low[1, 1] == pytest.approx(low[0, 1] - 10.0), "and it points down over the front"


def test_the_straps_hole_meets_the_stud_when_closed(pouch: Design) -> None:
    (hole,) = pouch.piece("back").holes
    (stud,) = pouch.fittings
    panel = pouch.assembly.panel_at("back", hole.at)
    at = pouch.assembly.pose_of(panel, 1.0).of_points(np.array([[*hole.at, 0.0]]))[0]
    assert np.allclose(at[:2], stud.at, atol=1e-9)


def test_a_change_is_laid_over_by_name_and_one_without_its_place_becomes_a_remark(
    pouch: Design,
) -> None:
    changed, remarks = with_changes(
        pouch,
        (
            Asked(place="seam/rim", field="pitch", value="1/8 in"),
            Asked(place="zone/front/hollow", field="crown_radius", value="4 mm"),
            Asked(place="seam/side", field="pitch", value="3 mm"),
        ),
    )
    assert changed.seams[0].pitch_mm == pytest.approx(3.175)
    assert changed.piece("front").zones[0].crown_radius_mm == 4.0
    assert [(r.code, r.place) for r in remarks] == [("change-without-place", "seam/side")]


@pytest.mark.parametrize(
    ("place", "field", "value", "said"),
    [
        ("seam/rim", "ptich", "3 mm", "pitch"),
        ("seam/rim", "pitch", "3", "no unit"),
        ("seam/rim", "name", "side", "cannot|can be changed"),
        ("rim", "pitch", "3 mm", "seam/NAME"),
        ("seam/rim", "pitch", "0 mm", "pitch of 0"),
    ],
)
def test_a_change_that_cannot_be_made_is_refused_in_words(
    pouch: Design, place: str, field: str, value: str, said: str
) -> None:
    with pytest.raises(RequestError, match=said) as refused:
        with_changes(pouch, (Asked(place=place, field=field, value=value),))
    assert refused.value.where == "changes.1"


def test_a_hole_or_zone_that_leaves_its_piece_is_refused(pouch: Design) -> None:
    front = pouch.piece("front")
    off = PunchedHole(name="stud", at=(front.outline.bounds[2] - 1.0, -40.0), diameter_mm=4.0)
    with pytest.raises(RequestError, match=r"hole for the stud reaches \d+\.\d\d mm beyond"):
        replace(front, holes=(off,))
    zone = replace(front.zones[0], outline=DryOutline(front.zones[0].outline.moved(20.0, 0.0)))
    with pytest.raises(RequestError, match="beyond the piece"):
        replace(front, zones=(zone,))

from dataclasses import fields, replace
from functools import cache
from itertools import product
from typing import Any, get_args, get_origin, get_type_hints

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.choices import ToolingChoice
from hidewright.design.design import Design
from hidewright.design.fit import clearance_in
from hidewright.design.fit_remarks import fit_remarks
from hidewright.design.kinds.open_tray import (
    BOTH,
    construct,
    pressed_as_one,
    sized_for,
)
from hidewright.design.kinds.open_tray_measures import OpenTrayMeasures
from hidewright.design.kinds.plans import Plan
from hidewright.design.measure import file_name
from hidewright.design.slabs import envelope
from hidewright.design.specification import Brief
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.tooling.gap import gap_for
from hidewright.workshop.begin import begin

PLANS = get_args(Plan)
RIMS = ("cut at height", "flange")
MOULDED = ("moulded", "pressed together")


USUAL = OpenTrayMeasures()


@cache
def _usual() -> Brief[OpenTrayMeasures]:
    return begin("open tray", built_in_catalogue()).brief


def _tray(**changes: Any) -> Design:
    brief = _usual()
    return construct(replace(brief, measures=replace(brief.measures, **changes)))


def _height(design: Design, piece: str, z: float) -> float:
    """Return the height in the article of what is z over the flesh face of a piece's flange."""
    panel = design.assembly.panel_at(piece, (0.0, 0.0))
    return float(design.assembly.pose_of(panel, 1.0).of_points(np.array([[0.0, 0.0, z]]))[0, 2])


def _away(one: Outline, other: Outline) -> list[float]:
    """Return how far points of an outline are from another, mm, exact on arcs."""
    return [other.nearest(one.point_at(s))[1] for s in np.linspace(0, one.length, 200, False)]


@st.composite
def measures(draw: st.DrawFn) -> OpenTrayMeasures:
    """Any measures within their limits: mostly near the usual ones, now and then at a limit."""
    hints = get_type_hints(OpenTrayMeasures)
    values: dict[str, Any] = {}
    for one in fields(OpenTrayMeasures):
        if "each" in one.metadata:
            places = st.floats(0.0, 1.2 * USUAL.length_mm)
            values[one.name] = tuple(draw(st.lists(places, max_size=2)))
        elif get_origin(hints[one.name]) is not None:
            values[one.name] = draw(st.sampled_from(get_args(hints[one.name])))
        else:
            low, high = one.metadata["low"], one.metadata["high"]
            usual = getattr(USUAL, one.name)
            near = st.floats(max(low, 0.5 * usual), min(high, 2.0 * usual))
            values[one.name] = draw(near | near | near | st.sampled_from((low, high)))
    return OpenTrayMeasures(**values)


@settings(max_examples=60, deadline=None)
@given(measures())
def test_any_measures_make_a_tray_or_are_refused_by_name(m: OpenTrayMeasures) -> None:
    made = _made_or_refused(m)
    if isinstance(made, Design):
        assert [p.name for p in made.pieces] == ["tray", "lining"][: 1 + (m.lining != "none")]
    else:
        assert made.where in [f"measures.{file_name(one.name)}" for one in fields(m)], made
        assert made.because
        assert made.mend


def test_a_divider_too_low_for_the_rounding_over_its_lining_is_refused_by_its_height() -> None:
    low = {"lining": "moulded", "glue_mm": 0.125, "dividers_mm": (60.0,), "divider_height_mm": 3.0}
    with pytest.raises(RequestError, match="over the lining") as refused:
        _tray(**low, divider_width_mm=14.0, divider_top_radius_mm=2.9)
    assert refused.value.where == "measures.divider_height"
    least = float(refused.value.mend.removeprefix("Give at least ").removesuffix(" mm"))
    _tray(**low | {"divider_height_mm": least}, divider_width_mm=14.0, divider_top_radius_mm=2.9)


def _made_or_refused(m: OpenTrayMeasures) -> Design | RequestError:
    try:
        return construct(replace(_usual(), measures=m))
    except RequestError as error:
        return error


@pytest.mark.parametrize(("plan", "rim", "lining"), list(product(PLANS, RIMS, MOULDED)))
def test_nested_layers_are_one_lining_and_its_glue_apart_across_every_wall(
    plan: str, rim: str, lining: str
) -> None:
    design = _tray(plan=plan, rim=rim, lining=lining, glue_mm=0.15, flange_mm=16.0)
    outer, inner = (design.piece(name).zones[0] for name in ("tray", "lining"))
    apart = design.leather("lining").thickness_mm + (0.15 if lining == "moulded" else 0.0)
    across = _away(outer.outline, inner.outline) + _away(inner.outline, outer.outline)
    assert max(abs(away - apart) for away in across) < 1e-6
    assert outer.outline.area > inner.outline.area
    assert outer.crown_radius_mm - inner.crown_radius_mm == pytest.approx(apart, abs=1e-9)


@pytest.mark.parametrize(("rim", "lining"), list(product(RIMS, ("flat", *MOULDED))))
def test_the_lining_lies_on_the_floor_and_the_rims_are_level(rim: str, lining: str) -> None:
    design = _tray(rim=rim, lining=lining, glue_mm=0.15, flange_mm=16.0)
    glue = 0.0 if lining == "pressed together" else 0.15
    thickness = design.leather("lining").thickness_mm
    tray = design.piece("tray").zones[0]
    floor = _height(design, "tray", tray.depth_mm)
    rim_of_tray = _height(design, "tray", tray.cut_height_mm or 0.0)
    if lining == "flat":
        assert _height(design, "lining", 0.0) == pytest.approx(floor + glue, abs=1e-9)
        assert rim_of_tray == pytest.approx(0.0, abs=1e-9)
        return
    # pressed towards its flesh side: its plug stood on the grain face of its flange
    zone = design.piece("lining").zones[0]
    assert not zone.grain_out
    flesh_of_floor = _height(design, "lining", -zone.depth_mm)
    assert flesh_of_floor == pytest.approx(floor + glue, abs=1e-9)
    rim_of_lining = _height(design, "lining", thickness - (zone.cut_height_mm or 0.0))
    assert rim_of_lining == pytest.approx(0.0, abs=1e-9)
    # cut, both rims are level; flanges lie on one another
    flanges_apart = 0.0 if rim == "cut at height" else thickness + glue
    assert rim_of_tray == pytest.approx(-flanges_apart, abs=1e-9)


@pytest.mark.parametrize(
    ("rim", "lining"), list(product(RIMS, ("none", "flat", "moulded", "pressed together")))
)
def test_the_finished_tray_is_as_deep_inside_as_is_asked_for(rim: str, lining: str) -> None:
    design = _tray(rim=rim, lining=lining, depth_mm=17.3, flange_mm=16.0)
    thickness = design.leather("lining").thickness_mm
    if lining == "none":
        floor = _height(design, "tray", design.piece("tray").zones[0].depth_mm)
    elif lining == "flat":
        floor = _height(design, "lining", thickness)
    else:
        floor = _height(design, "lining", thickness - design.piece("lining").zones[0].depth_mm)
    assert floor == pytest.approx(-17.3, abs=1e-9)
    assert design.hollows[0].depth_mm == 17.3


def test_layers_pressed_together_need_the_sum_of_both_in_the_gap() -> None:
    catalogue = built_in_catalogue()
    choice = ToolingChoice(
        mould_board=find(catalogue.boards, "MDF 6 mm"),
        template_board=find(catalogue.boards, "clear acrylic 5 mm"),
    )
    body, lining = _usual().leather("body"), _usual().leather("lining")
    soaked = [
        one.thickness_max_mm * (1 + one.soak_growth_thickness)
        for one in (body, replace(lining, soak_growth_thickness=0.12))
    ]
    brief = replace(
        _usual(),
        leathers=(("body", body), ("lining", replace(lining, soak_growth_thickness=0.12))),
        measures=replace(_usual().measures, lining="pressed together"),
    )
    gap, _ = gap_for(pressed_as_one(brief), choice)
    assert gap == pytest.approx(1.10 * sum(soaked), abs=1e-9)
    (blank,) = construct(brief).blanks
    assert blank.role == BOTH
    assert [place.piece for place in blank.places] == ["lining"]


@pytest.mark.parametrize(("plan", "lining"), list(product(PLANS, ("none", *MOULDED))))
def test_a_piece_cut_at_a_height_ends_on_the_outside_of_its_wall(plan: str, lining: str) -> None:
    design = _tray(plan=plan, lining=lining)
    for piece in design.pieces:
        thickness = design.leather(piece.role).thickness_mm
        assert max(
            abs(away - thickness) for away in _away(piece.outline, piece.zones[0].outline)
        ) == pytest.approx(0.0, abs=1e-6)
        assert {piece.zones[0].ending(s.span) for s in piece.zones[0].outline.segments} == {
            "cut at height"
        }


@settings(max_examples=20, deadline=None)
@given(depth=st.floats(5.0, 40.0), cut=st.floats(4.0, 12.0), held=st.floats(5.0, 30.0))
def test_the_blank_is_still_held_beyond_the_lip_when_it_has_been_drawn_in(
    depth: float, cut: float, held: float
) -> None:
    design = _tray(
        depth_mm=depth, crown_radius_mm=4.0, cut_height_mm=cut, held_mm=held, lining="moulded"
    )
    for blank in design.blanks:
        (place,) = blank.places
        lip = design.piece(place.piece).zones[0].lip_radius_mm
        assert blank.margin_mm - lip >= held - 1e-9


@pytest.mark.parametrize("plan", PLANS)
def test_a_plan_is_its_own_mirror_image_since_the_tray_is_turned_over(plan: str) -> None:
    outline = _tray(plan=plan).piece("tray").zones[0].outline
    assert max(_away(outline.mirrored(), outline)) < 1e-9
    assert outline.height >= outline.width


@settings(max_examples=12, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(
    plan=st.sampled_from(PLANS),
    width=st.floats(10.0, 60.0),
    longer=st.floats(1.0, 2.0),
    thick=st.floats(5.0, 30.0),
)
def test_what_is_carried_lies_inside_the_tray_that_is_sized_for_it(
    plan: Plan, width: float, longer: float, thick: float
) -> None:
    thing = Thing(
        name="thing",
        shape="box",
        width_mm=width,
        length_mm=width * longer,
        thickness_mm=thick,
        source="test",
    )
    carried = (Carried(thing=thing),)
    before = replace(_usual().measures, plan=plan, corner_radius_mm=6.0)
    m = sized_for(before, carried)
    (hollow,) = construct(replace(_usual(), measures=m, carried=carried)).hollows
    assert clearance_in(hollow, envelope(carried)) >= -0.005
    remarks = fit_remarks(hollow, carried, "its walls")
    assert [r for r in remarks if r.severity != "note"] == []


def test_a_tray_for_nothing_in_particular_keeps_its_measures() -> None:
    m = OpenTrayMeasures(length_mm=77.0)
    assert sized_for(m, ()) == m


def test_a_flange_narrower_than_wall_and_lip_is_refused_with_what_would_do() -> None:
    with pytest.raises(RequestError) as caught:
        _tray(rim="flange", flange_mm=6.0, lining="moulded", lip_radius_mm=3.0)
    assert caught.value.where == "measures.flange"
    # lining 0.9, glue 0.1, leather 2.6, lip 3
    assert "6.6 mm" in caught.value.mend

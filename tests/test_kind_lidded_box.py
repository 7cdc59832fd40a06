import math
from dataclasses import fields, replace
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import clearance_in
from hidewright.design.fit_remarks import GRIP_MM, fit_remarks
from hidewright.design.hollow import Shell
from hidewright.design.kinds.lidded_box import LiddedBoxMeasures, construct, sized_for
from hidewright.design.kinds.plans import Plan
from hidewright.design.measure import file_name
from hidewright.design.slabs import envelope
from hidewright.design.specification import Brief
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.workshop.begin import begin

PLANS = get_args(Plan)


USUAL = LiddedBoxMeasures()


@cache
def _usual() -> Brief[LiddedBoxMeasures]:
    return begin("lidded box", built_in_catalogue()).brief


def _box(**changes: Any) -> Design:
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
def measures(draw: st.DrawFn) -> LiddedBoxMeasures:
    """Any measures within their limits: mostly near the usual ones, now and then at a limit."""
    hints, values = get_type_hints(LiddedBoxMeasures), {}
    for one in fields(LiddedBoxMeasures):
        if get_origin(hints[one.name]) is not None:
            values[one.name] = draw(st.sampled_from(get_args(hints[one.name])))
        else:
            low, high = one.metadata["low"], one.metadata["high"]
            usual = getattr(USUAL, one.name)
            near = st.floats(max(low, 0.5 * usual), min(high, 2.0 * usual))
            values[one.name] = draw(near | near | near | st.sampled_from((low, high)))
    return LiddedBoxMeasures(**values)


@settings(max_examples=60, deadline=None)
@given(measures())
def test_any_measures_make_a_box_or_are_refused_by_name(m: LiddedBoxMeasures) -> None:
    made = _made_or_refused(m)
    if isinstance(made, Design):
        assert [p.name for p in made.pieces] == ["base", "lid"]
    else:
        assert made.where in [f"measures.{file_name(one.name)}" for one in fields(m)], made
        assert made.because
        assert made.mend


def _made_or_refused(m: LiddedBoxMeasures) -> Design | RequestError:
    try:
        return construct(replace(_usual(), measures=m))
    except RequestError as error:
        return error


@settings(max_examples=20, deadline=None)
@given(
    plan=st.sampled_from(PLANS),
    length=st.floats(60.0, 150.0),
    width=st.floats(30.0, 60.0),
    corner=st.floats(3.0, 15.0),
    slide=st.floats(0.1, 1.0),
)
def test_between_lid_and_base_is_the_slide_fit_everywhere(
    plan: str, length: float, width: float, corner: float, slide: float
) -> None:
    design = _box(
        plan=plan, length_mm=length, width_mm=width, corner_radius_mm=corner, slide_fit_mm=slide
    )
    # turned over, the base's outside is its own mirror image
    outside = design.piece("base").outline.mirrored()
    inside = design.piece("lid").zones[0].outline
    across = _away(outside, inside) + _away(inside, outside)
    assert max(abs(away - slide) for away in across) < 1e-6
    assert inside.area > outside.area


@settings(max_examples=30, deadline=None)
@given(
    depth=st.floats(14.0, 40.0),
    lid=st.floats(8.0, 14.0),
    crown=st.floats(0.5, 5.0),
    slide=st.floats(0.1, 1.5),
    cut=st.floats(3.0, 12.0),
)
def test_the_closed_lid_rests_with_its_inside_on_the_edge_of_the_base(
    depth: float, lid: float, crown: float, slide: float, cut: float
) -> None:
    design = _box(
        depth_mm=depth,
        lid_depth_mm=lid,
        lid_crown_radius_mm=crown,
        slide_fit_mm=slide,
        cut_height_mm=cut,
    )
    base, over = (design.piece(name).zones[0] for name in ("base", "lid"))
    rim = _height(design, "base", cut)
    assert rim == pytest.approx(0.0, abs=1e-9)
    # the rim's outer edge is one slide fit from the lid's wall: there the lid's inside is as high
    in_the_lid = rim - _height(design, "lid", 0.0)
    inside = Shell(depth_mm=over.depth_mm, crown_radius_mm=over.crown_radius_mm)
    assert in_the_lid <= over.depth_mm + 1e-9
    if slide < crown:
        assert inside.inset_at(in_the_lid) == pytest.approx(slide, abs=1e-9)
    else:
        assert in_the_lid == pytest.approx(over.depth_mm, abs=1e-9)
    # and neither does the lid stand on the table
    table = _height(design, "base", base.depth_mm + design.leather("body").thickness_mm)
    assert _height(design, "lid", cut) >= table - 1e-9


def test_a_lid_too_tight_for_the_thickest_leather_is_refused() -> None:
    leather = replace(_usual().leather("body"), thickness_min_mm=1.6, thickness_max_mm=2.4)
    brief = replace(_usual(), leathers=(("body", leather),))
    with pytest.raises(RequestError) as caught:
        construct(brief)
    assert caught.value.where == "measures.slide_fit"
    assert "0.4 mm" in caught.value.mend
    construct(replace(brief, measures=replace(brief.measures, slide_fit_mm=0.4)))


def test_a_lid_deeper_than_the_base_is_high_is_refused() -> None:
    most = 15.5 + _usual().leather("body").thickness_mm
    _box(depth_mm=15.5, lid_depth_mm=most)
    with pytest.raises(RequestError) as caught:
        _box(depth_mm=15.5, lid_depth_mm=most + 0.1)
    assert caught.value.where == "measures.lid_depth"


def test_base_and_lid_are_moulded_on_blanks_of_their_own_and_cut_to_their_depths() -> None:
    design = _box(depth_mm=18.0, lid_depth_mm=11.0, cut_height_mm=6.0)
    assert [[p.piece for p in blank.places] for blank in design.blanks] == [["base"], ["lid"]]
    for name, deep in (("base", 18.0), ("lid", 11.0)):
        zone = design.piece(name).zones[0]
        assert zone.cut_height_mm is not None
        assert zone.depth_mm - zone.cut_height_mm == pytest.approx(deep, abs=1e-12)


@settings(max_examples=12, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(
    plan=st.sampled_from(PLANS),
    width=st.floats(10.0, 50.0),
    longer=st.floats(1.0, 2.0),
    thick=st.floats(1.0, 30.0),
)
def test_what_is_carried_lies_inside_the_box_that_is_sized_for_it_and_a_fingertip_beside_it(
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
    m = sized_for(replace(_usual().measures, plan=plan, corner_radius_mm=4.0), carried)
    design = construct(replace(_usual(), measures=m, carried=carried))
    (hollow,) = design.hollows
    slab = envelope(carried)
    assert clearance_in(hollow, slab) >= -0.005
    assert fit_remarks(hollow, carried, design.held_by) == ()
    assert hollow.grip_mm == hollow.depth_mm
    assert (hollow.outline.height - slab.length_mm) / 2 >= GRIP_MM - 1e-9


def test_without_room_for_a_fingertip_nothing_is_said_to_be_gripped() -> None:
    m = sized_for(replace(_usual().measures, finger_room_mm=0.0), _usual().carried)
    assert construct(replace(_usual(), measures=m)).hollows[0].grip_mm == 0.0
    assert math.isclose(construct(_usual()).hollows[0].grip_mm, _usual().measures.depth_mm)

from dataclasses import fields, replace
from functools import cache
from typing import Any, get_args, get_origin, get_type_hints

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.catalogue.things import Shape, Thing
from hidewright.design.carried import Carried
from hidewright.design.choices import SewingChoice
from hidewright.design.design import Design
from hidewright.design.fit import clearance_in
from hidewright.design.fit_remarks import fit_remarks
from hidewright.design.kinds.hinges import HINGE_ROOM_MM
from hidewright.design.kinds.two_shell_case import TwoShellCaseMeasures, construct, sized_for
from hidewright.design.measure import file_name
from hidewright.design.slabs import envelope
from hidewright.design.specification import Brief
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats, Point
from hidewright.stitching.lay_seam import lay_seam
from hidewright.tooling.pressed import pressed_zones
from hidewright.workshop.begin import begin

USUAL = TwoShellCaseMeasures()


@cache
def _usual() -> Brief[TwoShellCaseMeasures]:
    return begin("two-shell case", built_in_catalogue()).brief


def _case(**changes: Any) -> Design:
    brief = _usual()
    return construct(replace(brief, measures=replace(brief.measures, **changes)))


@st.composite
def measures(draw: st.DrawFn) -> TwoShellCaseMeasures:
    """Any measures within their limits: mostly near the usual ones, now and then at a limit."""
    hints, values = get_type_hints(TwoShellCaseMeasures), {}
    for one in fields(TwoShellCaseMeasures):
        about = one.metadata
        if get_origin(hints[one.name]) is not None:
            values[one.name] = draw(st.sampled_from(get_args(hints[one.name])))
        elif hints[one.name] is int:
            values[one.name] = draw(st.integers(about["low"], about["high"]))
        else:
            low, high = about["low"], about["high"]
            usual = getattr(USUAL, one.name)
            near = st.floats(max(low, 0.5 * usual), min(high, 2.0 * usual))
            values[one.name] = draw(near | near | near | st.sampled_from((low, high)))
    return TwoShellCaseMeasures(**values)


def _in_space(design: Design, piece: str, at: Point, z: float) -> Floats:
    panel = design.assembly.panel_at(piece, at)
    placed: Floats = design.assembly.pose_of(panel, 1.0).of_points(np.array([[*at, z]]))[0]
    return placed


@settings(max_examples=60, deadline=None)
@given(measures())
def test_any_measures_make_a_case_or_are_refused_by_name(m: TwoShellCaseMeasures) -> None:
    made = _made_or_refused(m)
    if isinstance(made, Design):
        assert [p.name for p in made.pieces] == ["front", "back", "strap"][: 2 + m.has_strap]
    else:
        assert made.where in [f"measures.{file_name(one.name)}" for one in fields(m)], made
        assert made.because
        assert made.mend


def _made_or_refused(m: TwoShellCaseMeasures) -> Design | RequestError:
    try:
        return construct(replace(_usual(), measures=m))
    except RequestError as error:
        return error


@settings(max_examples=15, deadline=None)
@given(
    width=st.floats(36.0, 90.0),
    height=st.floats(40.0, 110.0),
    corner=st.floats(5.0, 18.0),
    notch=st.sampled_from(("front", "both", "none")),
    pitch=st.floats(3.0, 6.0),
)
def test_holes_of_both_shells_are_one_in_the_closed_case(
    width: float, height: float, corner: float, notch: str, pitch: float
) -> None:
    design = _case(
        width_mm=width,
        height_mm=height,
        corner_radius_mm=corner,
        notch=notch,
        pitch_mm=pitch,
        closing="none",
    )
    sewn, _ = lay_seam(design.seams[0], design.pieces, {"front": 1.5, "back": 1.5}, SewingChoice())
    front, back = (
        np.array([_in_space(design, layer.piece, h.at, 0.0) for h in layer.holes])
        for layer in sewn.layers
    )
    assert len(front) > 20
    assert np.abs(front - back).max() < 1e-6


@settings(max_examples=20, deadline=None)
@given(
    depth=st.floats(4.0, 20.0),
    fold=st.floats(0.5, 3.0),
    drop=st.floats(18.0, 30.0),
    notch=st.sampled_from(("front", "both", "none")),
)
def test_the_closed_strap_lies_on_its_rivets_and_on_the_stud(
    depth: float, fold: float, drop: float, notch: str
) -> None:
    design = _case(
        height_mm=60.0, depth_mm=depth, fold_radius_mm=fold, stud_drop_mm=drop, notch=notch
    )
    strap = {hole.name: hole.at for hole in design.piece("strap").holes}
    thickness = design.leather("body").thickness_mm
    rivets = [f for f in design.fittings if f.piece == "back"]
    assert len(rivets) == 2
    for rivet in rivets:
        on_the_back = _in_space(design, "back", rivet.at, depth + thickness)
        under = _in_space(design, "strap", strap[rivet.name], 0.0)
        assert under == pytest.approx(on_the_back, abs=1e-9)
    stud = next(f for f in design.fittings if f.piece == "front")
    grain = _in_space(design, "front", stud.at, depth + thickness)
    # the strap's flesh side hangs half a mm over the front, as its hinge is that much higher
    over = _in_space(design, "strap", strap["strap"], 0.0) - grain
    assert over == pytest.approx([0.0, 0.0, HINGE_ROOM_MM], abs=1e-9)


@settings(max_examples=20, deadline=None)
@given(
    width=st.floats(40.0, 90.0),
    height=st.floats(45.0, 110.0),
    corner=st.floats(4.0, 20.0),
    waste=st.floats(3.0, 6.0),
)
def test_both_shells_come_off_one_plug_moulded_mouth_to_mouth(
    width: float, height: float, corner: float, waste: float
) -> None:
    design = _case(width_mm=width, height_mm=height, corner_radius_mm=corner, mouth_waste_mm=waste)
    (blank,) = design.blanks
    leather = design.leather("body")
    zones, remarks = pressed_zones(blank, design.pieces, leather)
    assert blank.articles == 1
    assert [zone.sources for zone in zones] == [(("front", "hollow"), ("back", "hollow"))]
    # before the leather shrinks the two hollows are 2 heights long, and the waste is as it is
    long = 2 * height / (1 - leather.shrinkage_along) + waste
    assert zones[0].plug.height == pytest.approx(long, abs=0.01)
    assert not remarks


def test_the_usual_case_takes_a_hand_lens_and_nothing_is_to_be_said_about_its_fit() -> None:
    design = construct(_usual())
    (hollow,) = design.hollows
    assert fit_remarks(hollow, design.carried, design.held_by) == ()
    lens = design.carried[0].thing
    half = (lens.thickness_mm + design.carried[0].depth_clearance_mm) / 2
    assert hollow.shells[0].depth_mm == pytest.approx(half, abs=0.25)
    cover = _usual().measures.cover_mm
    assert design.piece("back").zones[0].depth_mm == pytest.approx(
        hollow.shells[1].depth_mm + cover, abs=1e-12
    )


@settings(max_examples=12, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(
    shape=st.sampled_from(("disc", "box", "rod")),
    across=st.floats(14.0, 60.0),
    longer=st.floats(1.0, 2.0),
    thick=st.floats(6.0, 25.0),
)
def test_what_is_carried_lies_inside_the_hollow_that_is_sized_for_it(
    shape: Shape, across: float, longer: float, thick: float
) -> None:
    carried = (
        Carried(
            thing=Thing(
                name="thing",
                shape=shape,
                diameter_mm={"disc": across, "rod": across / 2}.get(shape, 0.0),
                width_mm=across if shape == "box" else 0.0,
                length_mm=across * longer if shape != "disc" else 0.0,
                thickness_mm=thick if shape != "rod" else 0.0,
                source="test",
            )
        ),
    )
    before = replace(_usual().measures, closing="snug fit", notch="none", corner_radius_mm=5.0)
    m = sized_for(before, carried)
    (hollow,) = construct(replace(_usual(), measures=m, carried=carried)).hollows
    slab = envelope(carried)
    assert clearance_in(hollow, slab) >= -0.005
    # rounded up to half a mm, and never shallower than its own crown radius
    assert hollow.depth_mm - slab.thickness_mm < 0.5 or m.depth_mm == m.crown_radius_mm


def test_a_snug_fit_holds_only_what_has_little_room() -> None:
    brief = replace(_usual(), measures=replace(_usual().measures, closing="snug fit"))
    loose = tuple(replace(one, side_clearance_mm=1.5) for one in brief.carried)
    assert construct(brief).held_by == "snug fit"
    assert construct(replace(brief, carried=loose)).held_by == ""
    inches = tuple(replace(one, side_clearance_mm=0.01969 * 25.4) for one in brief.carried)
    assert construct(replace(brief, carried=inches)).held_by == "snug fit"  # 0.5 mm as written


def test_rivets_and_stud_are_set_before_the_rim_closes_them_off() -> None:
    design = construct(_usual())
    assert {f.before_seam for f in design.fittings} == {"rim"}
    for fitting in design.fittings:
        assert fitting.fitting.holds(fitting.stack_mm)
        assert fitting.at in [h.at for h in design.piece(fitting.piece).holes]

"""Crowns cut in steps: each plate on the crown's arc at its lower face, none within it."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from coarse_cache import CACHE
from hidewright.catalogue.boards import Board
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.choices import ToolingChoice
from hidewright.design.drying import BlankDrying
from hidewright.design.fault import Fault
from hidewright.design.kinds.registry import kind_named
from hidewright.design.part import MouldTool, Part
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.specification import Change
from hidewright.errors import Remark
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.tooling.acceptance.mould import accept_mould
from hidewright.tooling.crowns import crown_come_in
from hidewright.workshop.article import NODES
from hidewright.workshop.begin import begin
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.tooling_chain import Moulding

SHELF = built_in_catalogue()
THIN = find(SHELF.boards, "MDF 3 mm")
CROWN_MM = 9.0


def _choice(board: Board = THIN, crown: str = "stepped") -> ToolingChoice:
    usual = begin("open tray", SHELF).tooling
    return replace(usual, mould_board=board, crown="stepped" if crown == "stepped" else "eased")


@cache
def _moulded(choice: ToolingChoice, wall: str = "") -> tuple[Moulding, tuple[Remark, ...]]:
    """Return the mould of a tray with a wide crown, and what is remarked on it."""
    spec = begin("open tray", SHELF)
    measures = replace(
        spec.brief.measures, crown_radius_mm=CROWN_MM, depth_mm=15.0, corner_radius_mm=20.0
    )
    changes = (Change(place="zone/tray/hollow", field="wall_angle", value=wall),) if wall else ()
    spec = replace(
        spec,
        brief=replace(spec.brief, measures=measures),
        tooling=choice,
        changes=changes,
    )
    values = evaluate(NODES, inputs_of(spec, "A4"), ("mouldings", "design"), CACHE).values
    (moulding,), remarks = values["mouldings"]
    return moulding, remarks


def _plates(tool: MouldTool) -> list[Part]:
    named = [p for p in tool.parts if " plug " in p.name]
    return sorted(named, key=lambda p: p.bottom_mm or 0.0)


def _faults(choice: ToolingChoice, tool: MouldTool, moulding: Moulding) -> tuple[Fault, ...]:
    spec = begin("open tray", SHELF)
    measures = replace(
        spec.brief.measures, crown_radius_mm=CROWN_MM, depth_mm=15.0, corner_radius_mm=20.0
    )
    design = kind_named("open tray").construct(replace(spec.brief, measures=measures))
    drying: BlankDrying = moulding.drying
    return accept_mould(
        moulding.blank,
        design.pieces,
        design.leather(moulding.blank.role),
        choice,
        tool,
        drying,
        moulding.edge,
    )


def _arc(height: float, top: float) -> float:
    """Pythagoras: how far in an arc of the crown's radius stands, tangent to wall and top."""
    up = height - (top - CROWN_MM)
    return 0.0 if up <= 0 else CROWN_MM - math.sqrt(CROWN_MM**2 - up**2)


def test_each_plate_is_the_plug_set_in_to_the_crowns_arc_at_its_lower_face() -> None:
    moulding, _ = _moulded(_choice())
    (zone,) = moulding.zones
    plates = _plates(moulding.tool)
    top = (plates[-1].bottom_mm or 0.0) + plates[-1].board.thickness_mm
    come_in = [_arc(p.bottom_mm or 0.0, top) for p in plates]
    assert sum(d > 0 for d in come_in) >= 2
    for plate, d in zip(plates, come_in, strict=True):
        # Steiner: a convex outline set in by d loses its length times d and gains pi d^2
        area = zone.plug.area - zone.plug.length * d + math.pi * d * d
        assert plate.outline.area == pytest.approx(area, abs=0.1 * zone.plug.length), plate.name
        points = plate.outline.flat_points()
        away = [zone.plug.nearest((float(x), float(y)))[1] for x, y in points]
        assert away == pytest.approx([d] * len(away), abs=0.05)


def test_no_plate_lies_within_the_crown_and_none_stands_out_by_more_than_its_step() -> None:
    moulding, remarks = _moulded(_choice())
    (zone,) = moulding.zones
    (told,) = [r for r in remarks if r.code == "crown-in-steps"]
    widest = 0.0
    for plate in _plates(moulding.tool):
        low = plate.bottom_mm or 0.0
        cut = crown_come_in(zone, low)
        for height in np.linspace(low, low + plate.board.thickness_mm, 7):
            proud = crown_come_in(zone, min(float(height), zone.height_mm)) - cut
            assert proud >= -1e-9
            widest = max(widest, proud)
    assert told.amount == pytest.approx(widest, abs=1e-6)
    assert told.severity == "note"


def test_crown_plates_say_which_edge_stays_and_the_others_do_not() -> None:
    moulding, _ = _moulded(_choice())
    (zone,) = moulding.zones
    straight = zone.height_mm - zone.crown_radius_mm
    for plate in _plates(moulding.tool):
        in_crown = (plate.bottom_mm or 0.0) + plate.board.thickness_mm > straight
        said = {label.words.endswith("lower edge stays") for label in plate.labels}
        assert said == ({in_crown} if plate.labels else set())
        assert ("lower edge just stays" in plate.note) == in_crown
    assert "sand the steps" in _plates(moulding.tool)[-1].easings[0].how


def test_an_eased_crown_is_cut_as_it_always_was() -> None:
    moulding, remarks = _moulded(_choice(crown="eased"))
    (zone,) = moulding.zones
    assert all(p.outline == zone.plug for p in _plates(moulding.tool))
    assert "crown-in-steps" not in {r.code for r in remarks}


@pytest.mark.parametrize(
    ("thick", "allowed"), [(2.0, True), (3.0, True), (3.01, False), (6.0, False)]
)
def test_boards_over_a_third_of_the_radius_are_refused_in_words(
    thick: float, allowed: bool
) -> None:
    board = replace(THIN, name="board", thickness_mm=thick)
    _, remarks = _moulded(_choice(board))
    found = [r for r in remarks if r.code == "board-too-thick-for-steps"]
    if allowed:
        assert not found
    else:
        (told,) = found
        assert told.severity == "forbids"
        assert [told.amount, told.limit] == pytest.approx([thick, CROWN_MM / 3])
        assert [(r.field, r.value) for r in told.remedies] == [("tooling.crown", "eased")]


def test_stepped_crowns_are_accepted_by_what_measures_them_anew() -> None:
    choice = _choice()
    moulding, _ = _moulded(choice)
    assert _faults(choice, moulding.tool, moulding) == ()
    eased, _ = _moulded(_choice(crown="eased"))
    assert _faults(_choice(crown="eased"), eased.tool, eased) == ()


def test_a_crown_on_a_leaning_wall_is_stepped_too_and_accepted() -> None:
    choice = _choice()
    moulding, _ = _moulded(choice, "4 deg")
    (zone,) = moulding.zones
    assert zone.wall_angle > 0
    lean = zone.wall_angle
    plates = _plates(moulding.tool)
    # set in by the wall up to where the arc leaves it, beyond by the arc about its centre
    centre = (zone.height_mm - CROWN_MM) * math.tan(lean) + CROWN_MM / math.cos(lean)
    for plate in plates:
        low = plate.bottom_mm or 0.0
        up = low - (zone.height_mm - CROWN_MM)
        leaves = zone.height_mm - CROWN_MM * (1 - math.sin(lean))
        d = low * math.tan(lean) if low <= leaves else centre - math.sqrt(CROWN_MM**2 - up**2)
        wide = zone.plug.width - 2 * d
        assert plate.outline.width == pytest.approx(wide, abs=1e-6), plate.name


def _replaced(tool: MouldTool, plate: Part, outline: Outline) -> MouldTool:
    return replace(
        tool, parts=tuple(replace(p, outline=outline) if p is plate else p for p in tool.parts)
    )


@pytest.mark.parametrize("by", [-0.03, 0.03, -0.4, 0.4])
@pytest.mark.parametrize("which", [-1, -2])
def test_a_plate_cut_off_the_arc_is_rejected(by: float, which: int) -> None:
    choice = _choice()
    moulding, _ = _moulded(choice)
    plate = _plates(moulding.tool)[which]
    spoilt = _replaced(moulding.tool, plate, offset(plate.outline, by))
    assert "gap-not-as-asked" in {f.code for f in _faults(choice, spoilt, moulding)}


def test_plates_for_easing_are_rejected_where_steps_were_asked_for_and_the_other_way_round() -> (
    None
):
    stepped, _ = _moulded(_choice())
    eased, _ = _moulded(_choice(crown="eased"))
    codes = {f.code for f in _faults(_choice(), eased.tool, eased)}
    assert "gap-not-as-asked" in codes
    codes = {f.code for f in _faults(_choice(crown="eased"), stepped.tool, stepped)}
    assert "gap-not-as-asked" in codes


def test_steps_too_coarse_and_plates_in_the_wrong_order_are_rejected() -> None:
    board = replace(THIN, name="board", thickness_mm=6.0)
    choice = _choice(board)
    moulding, _ = _moulded(choice)
    assert "steps-too-coarse" in {f.code for f in _faults(choice, moulding.tool, moulding)}
    fine, _ = _moulded(_choice())
    first, second = _plates(fine.tool)[-2:]
    swapped = _replaced(_replaced(fine.tool, first, second.outline), second, first.outline)
    assert "gap-not-as-asked" in {f.code for f in _faults(_choice(), swapped, fine)}
    turned = _replaced(fine.tool, second, second.outline.moved(0.05, 0.0))
    assert "gap-not-as-asked" in {f.code for f in _faults(_choice(), turned, fine)}


def test_zones_are_pressed_alike_whichever_way_the_crown_is_cut() -> None:
    one: PressedZone = _moulded(_choice())[0].zones[0]
    two: PressedZone = _moulded(_choice(crown="eased"))[0].zones[0]
    assert one == two

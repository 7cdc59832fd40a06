"""A divider in a free design: read, limited, pressed, given its pocket and block, and fitted."""

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.fit_beside import clearance_beside
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.island import Island
from hidewright.design.kinds.registry import kind_named
from hidewright.design.part import MouldTool, Part, PartHole
from hidewright.design.piece import MouldedZone
from hidewright.design.slabs import Slab
from hidewright.design.specification import Specification
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.shapes import circle, rectangle
from hidewright.geometry.surface import rounded_prism
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.tooling.acceptance.mould import accept_mould
from hidewright.tooling.hands import for_both_hands
from hidewright.workshop.article import NODES
from hidewright.workshop.edit import edited
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.tooling_chain import Moulding

FILE = Path(__file__).parent / "data" / "tray-with-divider.yaml"
HEIGHT = "measures.pieces.tray.zones.hollow.islands.divider.height"
PLAN = rectangle(90.0, 60.0, 10.0)


def spec() -> Specification[Any]:
    return read_design(FILE.read_bytes(), name=FILE.name).specification


@pytest.fixture(scope="module")
def made() -> dict[str, Any]:
    wanted = ("mouldings", "pieces", "blocks", "pattern files")
    return dict(evaluate(NODES, inputs_of(spec(), "A4"), wanted, Cache()).values)


# --- design file ---


def test_a_divider_reads_back_from_the_file_that_is_written() -> None:
    text = write_design(spec())
    again = read_design(text.encode(), name="again").specification
    assert again == spec()
    (zone,) = again.brief.measures.pieces[0].zones
    assert [i.name for i in zone.islands] == ["divider"]


def test_a_measure_of_a_divider_is_changed_by_its_path() -> None:
    changed = edited(spec(), HEIGHT, "7.5 mm", built_in_catalogue())
    assert changed.brief.measures.pieces[0].zones[0].islands[0].height_mm == 7.5


def test_a_divider_out_of_its_limits_names_its_field() -> None:
    brief = spec().brief
    (piece,) = brief.measures.pieces
    (zone,) = piece.zones
    low = replace(zone, islands=(replace(zone.islands[0], height_mm=0.2),))
    wrong = replace(brief.measures, pieces=(replace(piece, zones=(low,)),))
    with pytest.raises(RequestError) as refused:
        kind_named("free").construct(replace(brief, measures=wrong))
    assert refused.value.where == "measures.pieces.1.zones.1.islands.1.height"


# --- where it may stand ---


def island(plan: Any, name: str = "divider", **changes: float) -> Island:
    sizes = {"height_mm": 6.0, "top_radius_mm": 2.0, "foot_radius_mm": 4.0} | changes
    return Island(name=name, outline=DryOutline(plan), **sizes)


def zone(*islands: Island) -> MouldedZone:
    return MouldedZone(
        name="hollow",
        outline=DryOutline(PLAN),
        depth_mm=13.0,
        crown_radius_mm=3.0,
        lip_radius_mm=2.0,
        islands=islands,
    )


BAR = rectangle(12.0, 34.0, 5.9)


@pytest.mark.parametrize(
    ("islands", "words"),
    [
        # 45 - 6 = 39 mm to the right wall; 3 + 4 + 1 = 8 mm are needed
        ((island(BAR.moved(31.2, 0.0)),), r"7\.8 mm .* take 8\.0 mm"),
        ((island(BAR.moved(60.0, 0.0)),), "too near the wall"),
        ((island(BAR, height_mm=13.0),), "less than 13 mm"),
        ((island(BAR), island(BAR.moved(20.9, 0.0), "other")), r"8\.9 mm apart.* take 9\.0 mm"),
    ],
)
def test_a_divider_keeps_off_walls_and_others_and_under_the_rim(
    islands: tuple[Island, ...], words: str
) -> None:
    with pytest.raises(RequestError, match=words):
        zone(*islands)


def test_a_top_rounder_than_the_divider_is_high_is_refused() -> None:
    with pytest.raises(RequestError, match="at most 6 mm"):
        island(BAR, top_radius_mm=6.5)


def test_a_divider_at_its_limits_is_taken() -> None:
    assert zone(island(BAR.moved(31.0, 0.0))).islands
    assert zone(island(BAR), island(BAR.moved(21.0, 0.0), "other")).islands


# --- the mould ---


def faults(moulding: Moulding, tool: MouldTool, pieces: Any) -> set[str]:
    leather = dict(spec().brief.leathers)[moulding.blank.role]
    found = accept_mould(
        moulding.blank, pieces, leather, spec().tooling, tool, moulding.drying, moulding.edge
    )
    return {fault.code for fault in found}


def changed(tool: MouldTool, role: str, change: Callable[[Part], Part | None]) -> MouldTool:
    parts = [change(part) if part.role == role else part for part in tool.parts]
    return replace(tool, parts=tuple(part for part in parts if part is not None))


def test_the_mould_of_a_divider_is_accepted(made: dict[str, Any]) -> None:
    (moulding,), remarks = made["mouldings"]
    assert faults(moulding, moulding.tool, made["pieces"]) == set()
    assert not [r for r in remarks if r.severity == "forbids"]


def moved_pockets(part: Part) -> Part:
    holes = tuple(
        PartHole(outline=h.outline.moved(0.2, 0.0), purpose=h.purpose)
        if h.purpose == "pocket"
        else h
        for h in part.holes
    )
    return replace(part, holes=holes)


def aside(by: float) -> Callable[[Part], Part]:
    return lambda part: replace(part, outline=part.outline.moved(by, 0.0))


def lowered(part: Part) -> Part:
    return replace(part, bottom_mm=(part.bottom_mm or 0.0) - 0.1)


@pytest.mark.parametrize(
    ("role", "change", "code"),
    [
        ("divider block", lambda _: None, "divider-not-pressed"),
        ("divider block", aside(0.05), "divider-gap-off"),
        ("divider block", aside(30.0), "block-without-divider"),
        ("divider block", lowered, "divider-height-off"),
        ("divider block", lowered, "block-not-under-floor"),
        ("divider block", lambda p: replace(p, easings=()), "easing-missing"),
        ("plug", moved_pockets, "divider-foot-off"),
        ("plug", lambda p: replace(p, holes=()), "pockets"),
    ],
)
def test_a_divider_made_otherwise_is_found_out(
    role: str, change: Callable[[Part], Part | None], code: str, made: dict[str, Any]
) -> None:
    (moulding,), _ = made["mouldings"]
    assert code in faults(moulding, changed(moulding.tool, role, change), made["pieces"])


def test_the_block_hangs_so_far_down_that_the_divider_is_as_high_as_asked(
    made: dict[str, Any],
) -> None:
    """By hand: plug and gap up to the floor; the block reaches the wet height under that."""
    (moulding,), _ = made["mouldings"]
    tool, (pressed,) = moulding.tool, moulding.zones
    blocks = [p for p in tool.parts if p.role == "divider block"]
    wet = 6.0 / pressed.height_dries
    assert min(p.bottom_mm or 0.0 for p in blocks) == pytest.approx(
        pressed.height_mm + tool.gap_mm - wet
    )
    (floor,) = (p for p in tool.parts if p.role == "cavity floor")
    assert math.fsum(p.board.thickness_mm for p in blocks) == pytest.approx(
        (floor.bottom_mm or 0.0) - min(p.bottom_mm or 0.0 for p in blocks), abs=0.05
    )


def test_without_a_floor_nothing_presses_a_divider_and_the_remedy_is_the_floor() -> None:
    plain = replace(spec(), tooling=replace(spec().tooling, cavity_floor=False))
    (_, remarks) = evaluate(NODES, inputs_of(plain, "A4"), ("mouldings",), Cache()).values[
        "mouldings"
    ]
    (remark,) = (r for r in remarks if r.code == "divider-without-floor")
    (remedy,) = remark.remedies
    mended = edited(plain, remedy.field, remedy.value, built_in_catalogue())
    assert mended.tooling.cavity_floor


def test_the_other_hand_has_a_floor_and_blocks_of_its_own(made: dict[str, Any]) -> None:
    (moulding,), _ = made["mouldings"]
    (pressed,) = moulding.zones
    aside = tuple(replace(i, pocket=i.pocket.moved(8.0, 4.0)) for i in pressed.islands)
    both, _ = for_both_hands(moulding.tool, [replace(pressed, islands=aside)])
    roles = [p.role for p in both.tool.parts]
    assert roles.count("cavity floor") == 2
    assert roles.count("divider block") == 2 * [p.role for p in moulding.tool.parts].count(
        "divider block"
    )


def test_support_blocks_leave_room_for_the_divider(made: dict[str, Any]) -> None:
    support = [p for p in made["blocks"][0] if p.role == "support block"]
    assert support
    for part in support:
        (room,) = part.holes_for("pocket")
        assert room.width == pytest.approx(12.0 + 2 * (0.5 + 4.0), abs=0.01)


def test_a_pocket_with_a_rounded_edge_takes_its_volume_away() -> None:
    """A bore pi R^2 h, and by Pappus its rounding.

    That has the section (1 - pi/4) r^2, its centroid r (10 - 3 pi)/(3 (4 - pi)) off the wall.
    """
    big, bore, r, high = 30.0, 8.0, 2.0, 12.0
    whole = rounded_prism(circle(big), 0.0, high, 3.0, sagitta_mm=0.001)
    bored = rounded_prism(
        circle(big), 0.0, high, 3.0, rounded_holes=[(circle(bore), r)], sagitta_mm=0.001
    )
    at = bore + r * (10.0 - 3.0 * math.pi) / (3.0 * (4.0 - math.pi))
    taken = math.pi * bore**2 * high + 2.0 * math.pi * at * (1.0 - math.pi / 4.0) * r**2
    assert whole.volume - bored.volume == pytest.approx(taken, rel=1e-3)


# --- what goes in beside it ---


def room(*things: float) -> float:
    hollow = Hollow(
        name="tray/hollow",
        outline=DryOutline(rectangle(100.0, 50.0, 0.5)),
        shells=(
            Shell(depth_mm=10.0, crown_radius_mm=0.0),
            Shell(depth_mm=0.0, crown_radius_mm=0.0),
        ),
        is_open=True,
        islands=(rectangle(10.0, 40.0, 1.0),),
    )
    return clearance_beside(
        hollow, [Slab(width_mm=w, length_mm=30.0, thickness_mm=4.0) for w in things]
    )


def test_things_lie_to_both_sides_of_a_divider_with_half_the_rest_of_its_side() -> None:
    """On each side of the divider 45 mm are left."""
    assert room(30.0) == pytest.approx((45.0 - 30.0) / 2, abs=0.1)
    assert room(30.0, 25.0) == pytest.approx((45.0 - 30.0) / 2, abs=0.1)
    assert room(44.0, 43.0) == pytest.approx(0.5, abs=0.1)
    assert room(46.0) == pytest.approx(-0.5, abs=0.1)
    assert room(30.0, 30.0, 30.0) < -5.0

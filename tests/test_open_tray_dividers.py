"""Dividers of an open tray: measures to feet, layers, mould, room between them and sections."""

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from coarse_cache import CACHE
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import TOUCH_MM
from hidewright.design.fit_beside import clearance_beside
from hidewright.design.island import FLAT_MM
from hidewright.design.kinds.open_tray import construct, sized_for
from hidewright.design.kinds.open_tray_dividers import LINING_WEB_MM
from hidewright.design.slabs import envelope
from hidewright.design.specification import Specification
from hidewright.errors import RequestError
from hidewright.forming.on_blank import soaked_mm
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import stadium
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.tooling.acceptance.mould import accept_mould
from hidewright.workshop.acceptance import FAULTS
from hidewright.workshop.article import NODES
from hidewright.workshop.begin import begin
from hidewright.workshop.edit import edited
from hidewright.workshop.form import form_of
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of

SHELF = built_in_catalogue()


@cache
def usual() -> Specification[Any]:
    return begin("open tray", SHELF)


def spec(**changes: Any) -> Specification[Any]:
    brief = usual().brief
    measures = replace(brief.measures, **changes)
    return replace(usual(), brief=replace(brief, measures=measures))


def tray(**changes: Any) -> Design:
    return construct(spec(**changes).brief)


def feet(design: Design, piece: str = "tray") -> list[Outline]:
    return [one.outline for one in design.piece(piece).zones[0].islands]


# --- where they stand ---


@pytest.mark.parametrize("plan", ["rectangle", "circle", "stadium"])
def test_a_divider_stands_at_its_place_and_reaches_as_near_the_wall_as_the_radii_leave(
    plan: str,
) -> None:
    design = tray(plan=plan, width_mm=90.0, dividers_mm=(50.0,))
    (foot,), zone = feet(design), design.piece("tray").zones[0]
    low, high = foot.bounds[1], foot.bounds[3]
    assert (low + high) / 2 == pytest.approx(zone.outline.bounds[1] + 50.0)
    assert high - low == pytest.approx(18.0)
    # crown radius 7, foot radius 5, and a little flat leather
    assert zone.outline.rim.distance(foot.polygon) == pytest.approx(12.0 + FLAT_MM, abs=0.03)


def test_dividers_are_named_in_the_order_of_their_places() -> None:
    zone = tray(dividers_mm=(85.0, 40.0)).piece("tray").zones[0]
    assert [one.name for one in zone.islands] == ["divider 1", "divider 2"]
    assert zone.islands[0].outline.bounds[1] < zone.islands[1].outline.bounds[1]


@pytest.mark.parametrize(
    ("changes", "where", "mend"),
    [
        # 7 + 5 + 1 + half of 18
        ({"dividers_mm": (21.9,)}, "dividers", "from 22 to 98 mm"),
        ({"dividers_mm": (98.1,)}, "dividers", "from 22 to 98 mm"),
        # 18 + twice 5 + 1
        ({"dividers_mm": (40.0, 68.9)}, "dividers", "29.0 mm apart"),
        ({"dividers_mm": (60.0,), "width_mm": 30.0}, "divider_width", "wider tray"),
        ({"dividers_mm": (60.0,), "divider_height_mm": 18.1}, "divider_height", "at most 18"),
        (
            {"dividers_mm": (60.0,), "divider_top_radius_mm": 6.1},
            "divider_top_radius",
            "at most 6",
        ),
        # twice the thickest leather, 2.8, and the top radius, 2.5
        ({"dividers_mm": (60.0,), "divider_width_mm": 10.5}, "divider_width", "at least 10.6"),
    ],
)
def test_a_divider_that_cannot_be_made_is_refused_with_what_would_do(
    changes: dict[str, Any], where: str, mend: str
) -> None:
    with pytest.raises(RequestError) as refused:
        tray(**changes)
    assert refused.value.where == f"measures.{where}"
    assert mend in refused.value.mend


def test_places_at_the_limits_are_taken() -> None:
    assert len(feet(tray(dividers_mm=(22.0, 51.0, 98.0)))) == 3
    assert feet(tray(dividers_mm=(60.0,), divider_width_mm=10.6))


# --- layers ---


@pytest.mark.parametrize("lining", ["moulded", "pressed together"])
def test_dividers_of_both_layers_lie_as_far_apart_as_their_walls(lining: str) -> None:
    design = tray(lining=lining, glue_mm=0.15, dividers_mm=(60.0,))
    (outer,), (inner,) = (design.piece(p).zones[0].islands for p in ("tray", "lining"))
    side = design.leather("lining").thickness_mm + (0.15 if lining == "moulded" else 0.0)
    away = [outer.outline.nearest(inner.outline.point_at(s))[1] for s in np.linspace(0, 100, 50)]
    assert away == pytest.approx([side] * 50, abs=1e-6)
    assert inner.outline.area > outer.outline.area
    assert outer.foot_radius_mm - inner.foot_radius_mm == pytest.approx(side)
    assert outer.height_mm == inner.height_mm


def test_a_flat_lining_has_a_window_for_the_divider_which_is_higher_under_it() -> None:
    design = tray(lining="flat", glue_mm=0.15, dividers_mm=(60.0,))
    (island,), lining = design.piece("tray").zones[0].islands, design.piece("lining")
    (window,) = lining.cut_outs
    assert island.height_mm == pytest.approx(6.0 + 0.15 + design.leather("lining").thickness_mm)
    assert window.polygon.symmetric_difference(
        stadium(window.width, window.height).moved(*window.centroid).polygon
    ).area == pytest.approx(0.0, abs=0.1)
    assert window.height == pytest.approx(18.0 + 2 * 5.0)
    web = lining.outline.rim.distance(window.polygon)
    assert web == pytest.approx(LINING_WEB_MM, abs=0.03)


# --- design file and form ---


def test_places_are_read_written_and_edited_as_a_list_of_lengths() -> None:
    changed = edited(usual(), "measures.dividers", "40 mm, 3 1/4 in", SHELF)
    assert changed.brief.measures.dividers_mm == (40.0, 82.55)
    text = write_design(changed)
    assert "dividers: [40 mm, 82.55 mm]" in text
    assert read_design(text.encode(), name="x").specification == changed
    (field,) = (
        f for g in form_of(changed, "shape", SHELF, "mm") for f in g.fields if f.label == "dividers"
    )
    assert (field.sort, field.text) == ("words", "40 mm, 82.55 mm")
    assert edited(changed, field.path, "", SHELF) == usual()


@pytest.mark.parametrize(
    ("written", "line_says"), [("[40 mm, 50]", "no unit"), ("40 mm", "not a list")]
)
def test_a_place_that_cannot_be_read_is_named_with_its_line(written: str, line_says: str) -> None:
    text = write_design(usual()).replace("dividers: []", f"dividers: {written}")
    with pytest.raises(RequestError) as refused:
        read_design(text.encode(), name="tray.yaml")
    assert line_says in f"{refused.value}"
    assert "measures.dividers" in refused.value.where
    assert "tray.yaml line" in refused.value.where


# --- the room between them ---


def carried(*sizes: tuple[float, float]) -> tuple[Carried, ...]:
    """Return tins so long along the tray and so wide across it, mm."""
    return tuple(
        Carried(
            thing=Thing(
                name=f"tin {i}",
                shape="box",
                length_mm=max(along, across),
                width_mm=min(along, across),
                thickness_mm=10.0,
                edge_radius_mm=1.0,
                source="invented",
            ),
            across=across > along,
        )
        for i, (along, across) in enumerate(sizes)
    )


@pytest.mark.slow
def test_a_tray_sized_for_its_things_puts_one_into_each_compartment_in_their_order() -> None:
    things = carried((30.0, 50.0), (45.0, 40.0))
    m = sized_for(spec(dividers_mm=(60.0,)).brief.measures, things)
    brief = spec().brief
    (hollow,) = construct(replace(brief, measures=m, carried=things)).hollows
    slabs = [envelope((one,)) for one in things]
    assert clearance_beside(hollow, slabs) >= -TOUCH_MM
    # the divider stands between a compartment for the first and one for the second
    (bar,) = hollow.islands
    begin, end = hollow.outline.bounds[1], hollow.outline.bounds[3]
    first, second = bar.bounds[1] - begin, end - bar.bounds[3]
    assert second - first == pytest.approx(15.0, abs=1.0)
    # two half millimetres are rounded up for either thing; one and a half less do not do
    shorter = replace(m, length_mm=m.length_mm - 3.0, dividers_mm=(m.dividers_mm[0] - 1.5,))
    (tight,) = construct(replace(brief, measures=shorter, carried=things)).hollows
    assert clearance_beside(tight, slabs) < -TOUCH_MM


def test_other_than_one_kind_of_thing_for_each_compartment_is_refused() -> None:
    with pytest.raises(RequestError, match="3 kinds of things for 2 compartments"):
        sized_for(
            spec(dividers_mm=(60.0,)).brief.measures,
            carried((30.0, 40.0), (30.0, 40.0), (30.0, 40.0)),
        )


def test_fingers_reach_down_at_the_sides_of_the_widest_thing() -> None:
    brief = spec(dividers_mm=(60.0,)).brief

    def grip(width: float) -> float:
        things = carried((30.0, 20.0), (30.0, width))
        (hollow,) = construct(replace(brief, carried=things)).hollows
        return hollow.grip_mm

    room = envelope(carried((30.0, 60.0))).width_mm - 60.0
    assert grip(80.0 - 16.0 - room) == 18.0
    assert grip(80.0 - 16.0 - room + 0.1) == 0.0


# --- the mould ---


@pytest.fixture(scope="module")
def made() -> dict[str, Any]:
    wanted = ("mouldings", "pieces", *FAULTS)
    with_floor = replace(
        spec(dividers_mm=(40.0, 85.0)), tooling=replace(usual().tooling, cavity_floor=True)
    )
    return dict(evaluate(NODES, inputs_of(with_floor, "A4"), wanted, CACHE).values)


def test_the_mould_of_a_tray_with_two_dividers_is_accepted(made: dict[str, Any]) -> None:
    (moulding,), remarks = made["mouldings"]
    leather = dict(usual().brief.leathers)[moulding.blank.role]
    tooling = replace(usual().tooling, cavity_floor=True)
    found = accept_mould(
        moulding.blank,
        made["pieces"],
        leather,
        tooling,
        moulding.tool,
        moulding.drying,
        moulding.edge,
    )
    assert not found
    assert not any(made[name] for name in FAULTS)
    assert not [r for r in remarks if r.severity == "forbids"]


def test_every_plug_plate_has_both_pockets_a_gap_round_two_blocks(made: dict[str, Any]) -> None:
    (moulding,), _ = made["mouldings"]
    tool = moulding.tool
    blocks = {p.outline for p in tool.parts if p.role == "divider block"}
    assert len(blocks) == 2
    for plate in (p for p in tool.parts if p.role == "plug"):
        pockets = plate.holes_for("pocket")
        assert len(pockets) == 2
        for block in blocks:
            gaps = [
                min(pocket.nearest(block.point_at(s))[1] for pocket in pockets)
                for s in np.linspace(0.0, block.length, 40)
            ]
            assert gaps == pytest.approx([tool.gap_mm] * 40, abs=0.02)


def test_layers_pressed_together_lie_over_one_another_in_the_pocket() -> None:
    """The lower one's pocket is the plug's; the upper one's is a soaked lower leather further in.

    Round the block the upper one lies on its radius, the lower one on the upper.
    """
    both = spec(lining="pressed together", dividers_mm=(60.0,))
    both = replace(both, tooling=replace(both.tooling, cavity_floor=True))
    found = evaluate(NODES, inputs_of(both, "A4"), ("pressed blanks",), CACHE).values
    (blank,), _ = found["pressed blanks"]
    lower, upper = blank.layers
    (below,), (above,) = (layer.zones[0].islands for layer in blank.layers)
    leathers = dict(both.brief.leathers)
    laid, over = (soaked_mm(leathers[layer.role]) for layer in (lower, upper))
    away = [below.pocket.nearest(above.pocket.point_at(s))[1] for s in np.linspace(0, 90, 30)]
    assert away == pytest.approx([laid] * 30, abs=1e-3)
    assert above.pocket.area < below.pocket.area
    assert above.foot_radius_mm - below.foot_radius_mm == pytest.approx(laid)
    assert above.top_radius_mm == pytest.approx(2.5)
    assert below.top_radius_mm == pytest.approx(2.5 + over)

"""Where relief darts are cut: at outward corners, in the waste, as long as there is room."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.drying import BlankDrying, even_drying
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.specification import Change, Specification
from hidewright.design.states import DryOutline, FormedOutline
from hidewright.errors import Remark, RequestError
from hidewright.forming.pressing import Pressing
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import arch, circle, polygon, rectangle, stadium
from hidewright.tooling.acceptance.mould import accept_mould
from hidewright.tooling.blank_outline import formed_blank_edge
from hidewright.tooling.pressed import pressed_zones
from hidewright.tooling.relief_darts import (
    TO_LIP_MM,
    TO_PIECE_MM,
    longest_dart_mm,
    relief_darts,
)
from hidewright.workshop.article import NODES
from hidewright.workshop.begin import begin
from hidewright.workshop.forming_chain import press_blank
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of

SHELF = built_in_catalogue()
HIDE = SHELF.leathers[0]
MARGIN, LIP, GAP = 20.0, 3.0, 2.0


Told = tuple[Blank, tuple[Piece, ...], tuple[PressedZone, ...], BlankDrying, FormedOutline, float]


def on_blank(plug: Outline, flange_mm: float, dart_mm: float) -> Told:
    """What darts are laid out for: a zone with so much of its flange kept."""
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(plug),
        depth_mm=12.0,
        crown_radius_mm=4.0,
        lip_radius_mm=LIP,
    )
    piece = Piece(
        name="front", role="body", outline=DryOutline(offset(plug, flange_mm)), zones=(zone,)
    )
    blank = Blank(
        name="one",
        places=(PiecePlace(piece="front"),),
        role="body",
        margin_mm=MARGIN,
        relief_dart_mm=dart_mm,
    )
    drying = even_drying(blank, (piece,), HIDE)
    zones, _ = pressed_zones(blank, (piece,), HIDE, drying)
    edge = formed_blank_edge(blank, (piece,), zones, drying)
    return blank, (piece,), zones, drying, edge, GAP


@pytest.mark.parametrize(
    ("plug", "count"),
    [
        (rectangle(60, 40, 8), 4),
        (circle(25), 4),
        (stadium(90, 40), 4),
        (arch(60, 70, 10), 2),
        (polygon([(-30, -20), (30, -20), (0, 35)], 8.0), 3),
        (polygon([(0, 0), (80, 0), (80, 30), (30, 30), (30, 80), (0, 80)], 8.0), 5),
    ],
)
def test_a_dart_stands_at_each_outward_corner_and_about_each_quarter_of_a_round(
    plug: Outline, count: int
) -> None:
    told = on_blank(plug, 10.0, 6.0)
    darts = relief_darts(*told)
    edge, zone = told[4], told[2][0]
    assert len(darts) == count
    for dart in darts:
        assert dart.length_mm == pytest.approx(6.0)
        assert edge.nearest(dart.mouth)[1] < 1e-6
        assert edge.contains(dart.tip)
        # it points at the plug's outline, square to it
        foot, _ = zone.plug.nearest(dart.tip)
        along = np.array(zone.plug.tangent_at(foot))
        way = np.subtract(dart.mouth, dart.tip) / 6.0
        assert abs(float(along @ way)) < 1e-6


def test_there_is_room_up_to_the_lip_or_to_what_is_kept_of_the_flange() -> None:
    # round a circle all is round the same centre; with all the flange cut away what counts is the
    # lip, else the trimmed edge, as they lie before drying
    plug = circle(25)
    for kept in (0.5, 3.0, 12.0):
        told = on_blank(plug, kept, 1.0)
        edge, zone = told[4], told[2][0]
        outside = edge.width / 2.0 - zone.plug.width / 2.0
        piece = (edge.width / 2.0 - MARGIN) - zone.plug.width / 2.0
        taken = max(GAP + LIP + TO_LIP_MM, piece + TO_PIECE_MM)
        assert longest_dart_mm(*told) == pytest.approx(outside - taken, abs=0.01)


def test_darts_too_long_are_refused_with_the_room_there_is() -> None:
    longest = longest_dart_mm(*on_blank(rectangle(60, 40, 8), 10.0, 0.0))
    assert longest == pytest.approx(MARGIN - TO_PIECE_MM, abs=0.01)
    assert relief_darts(*on_blank(rectangle(60, 40, 8), 10.0, longest - 0.05))
    with pytest.raises(RequestError, match=f"room for {longest:.1f} mm"):
        relief_darts(*on_blank(rectangle(60, 40, 8), 10.0, longest + 0.5))
    assert relief_darts(*on_blank(rectangle(60, 40, 8), 10.0, 0.0)) == ()
    with pytest.raises(RequestError, match="relief darts of -1 mm"):
        on_blank(rectangle(60, 40, 8), 10.0, -1.0)


#: A small tray that is soon solved, in a wide margin.
SMALL = {
    "length_mm": 70.0,
    "width_mm": 50.0,
    "depth_mm": 14.0,
    "corner_radius_mm": 9.0,
    "cut_height_mm": 6.0,
    "crown_radius_mm": 7.0,
    "held_mm": 25.0,
}


def darted(length: str) -> Specification[Any]:
    base = begin("open tray", SHELF)
    brief = replace(base.brief, measures=replace(base.brief.measures, **SMALL))
    change = Change(place="blank/tray", field="relief_dart", value=length)
    return replace(base, brief=brief, changes=(change,))


@pytest.fixture(scope="module")
def tray() -> dict[str, Any]:
    wanted = ("mouldings", "pieces", "all leathers", "tooling", "pressed blanks", "moulded")
    return dict(evaluate(NODES, inputs_of(darted("16 mm"), "A4"), wanted, Cache()).values)


def test_a_blank_is_cut_with_its_darts_and_accepted(tray: dict[str, Any]) -> None:
    (one,) = tray["mouldings"][0]
    sharp = [
        (a, b)
        for a, b in zip(one.cut.segments, (*one.cut.segments[1:], one.cut.segments[0]), strict=True)
        if np.dot(a.tangent_at(a.length), b.tangent_at(0.0)) < -0.5
    ]
    assert len(sharp) == 4
    # the dart's tip, before it is drawn in, lies clear of the piece
    hide = dict(tray["all leathers"])["body"]
    asked = (tray["pieces"], hide, tray["tooling"], one.tool, one.drying, one.edge)
    assert accept_mould(one.blank, *asked) == ()
    # and a checker that is told of shorter darts, or of none, does not take them
    short = accept_mould(replace(one.blank, relief_dart_mm=8.0), *asked)
    assert {fault.code for fault in short} == {"dart-too-long"}
    none = accept_mould(replace(one.blank, relief_dart_mm=0.0), *asked)
    assert {fault.code for fault in none} == {"blank-too-small"}


def test_darts_that_would_gape_are_left_out_and_it_is_said(tray: dict[str, Any]) -> None:
    pouch = begin("flat-back pouch", SHELF)
    change = Change(place="blank/pair of fronts", field="relief_dart", value="8 mm")
    spec = replace(pouch, changes=(change,))
    wanted = ("blanks", "moulded", "all leathers")
    values = evaluate(NODES, inputs_of(spec, "A4"), wanted, Cache()).values
    (blank,) = values["blanks"]
    pressed, remarks = press_blank(
        blank, values["moulded"], values["all leathers"], spec.tooling.gap_factor, None, 1.6
    )
    form = pressed.layers[0].sheet.pressing
    assert isinstance(form, Pressing)
    assert form.darts == ()
    assert "darts-left-out" in {r.code for r in remarks}
    kept: tuple[Remark, ...] = tray["pressed blanks"][1]
    assert "darts-left-out" not in {r.code for r in kept}

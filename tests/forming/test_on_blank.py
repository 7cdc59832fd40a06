"""A blank of the design as a pressing: its flat outline, how it dries, back in its pieces."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.blank import Blank
from hidewright.design.choices import ToolingChoice
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.states import CutOutline, SoakedOutline, cut_from_soaked, soaked_from_cut
from hidewright.errors import RequestError
from hidewright.forming.answers import pull_in
from hidewright.forming.on_blank import (
    KNIFE_MM,
    behaviour_of,
    conditions_for,
    dried,
    drying_of,
    flat_blank,
    pressing_of,
    soaked_mm,
)
from hidewright.forming.pressing import Pressing
from hidewright.forming.set import natural_strain
from hidewright.geometry.distance import nearest_on_ring, signed_distances
from hidewright.geometry.segment import Floats
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.tooling.blank_outline import soaking
from hidewright.tooling.gap import gap_for
from hidewright.workshop import design_chain
from hidewright.workshop.forming_chain import DRY_FIT_MM, PressedBlank, press_blank
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of

#: Outlines are measured by chords within 0.01 mm.
CHORD_MM = 0.01
SHOULDER = find(built_in_catalogue().leathers, "vegetable-tanned shoulder 1.4-1.6 mm")

#: A pressed blank, with what it was pressed from.
Pressed = tuple[PressedBlank, tuple[Piece, ...], Leather, ToolingChoice]
_done: dict[str, tuple[Pressed, ...]] = {}


def pressed(name: str) -> tuple[Pressed, ...]:
    """Return the blanks of a demo article, pressed once for all tests."""
    if name not in _done:
        spec = read_design(demo_designs()[name], name=name).specification
        wanted = ("blanks", "moulded", "all leathers")
        values: Any = evaluate(design_chain.NODES, inputs_of(spec, "A4"), wanted, Cache()).values
        pieces, leathers = values["moulded"], values["all leathers"]
        _done[name] = tuple(
            (press_blank(b, pieces, leathers, spec.tooling.gap_factor)[0], pieces,
             dict(leathers)[b.role], spec.tooling)
            for b in values["blanks"]
        )  # fmt: skip
    return _done[name]


ARTICLES = sorted(demo_designs())
TRAY, POUCH = "specimen-tray.yaml", "compass-pouch.yaml"


# --- the flat blank ---


@pytest.mark.parametrize("article", [TRAY, POUCH])
def test_the_knife_follows_the_computed_edge_within_a_tenth_of_a_mm(article: str) -> None:
    for one, *_ in pressed(article):
        sheet = one.layers[0].sheet
        edge = sheet.flat[sheet.layout.edge]
        assert one.soaked == flat_blank(sheet)
        assert np.abs(signed_distances(one.soaked, edge)).max() <= KNIFE_MM + CHORD_MM
        line = one.soaked.flat_points()
        away = np.linalg.norm(line - nearest_on_ring(_smooth(edge), line), axis=1)
        assert away.max() <= KNIFE_MM + CHORD_MM
        assert len(one.soaked.segments) <= len(edge) / 2  # lines and arcs, not the mesh's corners


def _smooth(ring: Floats) -> Floats:
    """Return the smooth line through the corners of the mesh's edge, whose sides are chords."""
    closed = np.concatenate([ring, ring[:1]])
    at = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    through = CubicSpline(at, closed, bc_type="periodic")
    smooth: Floats = through(np.linspace(0.0, at[-1], 20 * len(ring), endpoint=False))
    return smooth


@pytest.mark.parametrize("article", [TRAY, POUCH])
def test_the_blank_is_larger_than_its_edge_where_it_is_drawn_in(article: str) -> None:
    for one, *_ in pressed(article):
        sheet = one.layers[0].sheet
        formed = sheet.shape.points[sheet.layout.edge, :2]
        _, drawn = pull_in(sheet)
        spare = signed_distances(one.soaked, formed)
        assert drawn.max() > 0.3
        clearly = drawn > KNIFE_MM + CHORD_MM
        assert (spare[clearly] > 0.0).all()
        assert one.soaked.area > one.edge.area
        # what the edge is drawn in by, laid round the formed edge, is the flat blank
        assert spare == pytest.approx(drawn, abs=KNIFE_MM + CHORD_MM + 0.05)


@pytest.mark.parametrize("article", [TRAY, POUCH])
def test_cut_and_soaked_are_each_others_inverse(article: str) -> None:
    for one, pieces, leather, _ in pressed(article):
        grows = soaking(one.blank, pieces, leather)
        assert one.cut == cut_from_soaked(one.soaked, soaking(one.blank, pieces, leather))
        again = soaked_from_cut(one.cut, grows)
        assert np.abs(signed_distances(one.soaked, again.flat_points())).max() < 0.02 + CHORD_MM
        back = cut_from_soaked(SoakedOutline(again), soaking(one.blank, pieces, leather))
        assert np.abs(signed_distances(one.cut, back.flat_points())).max() < 0.02 + CHORD_MM
        assert one.cut.area * grows.along * grows.across == pytest.approx(one.soaked.area, rel=1e-4)
        assert CutOutline(one.cut).area < one.soaked.area


# --- what is pressed ---


def test_the_sheet_that_is_solved_is_the_middle_of_the_range_soaked() -> None:
    thick = replace(
        SHOULDER, thickness_min_mm=1.4, thickness_max_mm=1.8, soak_growth_thickness=0.10
    )
    assert soaked_mm(thick) == pytest.approx(1.6 * 1.10)
    for one, _, leather, tooling in pressed(TRAY):
        sheet = one.layers[0].sheet
        middle = (leather.thickness_min_mm + leather.thickness_max_mm) / 2
        assert isinstance(sheet.pressing, Pressing)
        assert sheet.pressing.thickness_mm == middle * (1 + leather.soak_growth_thickness)
        (hollow,) = sheet.pressing.hollows
        assert hollow.tools.thickness_mm == sheet.pressing.thickness_mm
        # the gap is made for the thickest
        assert hollow.tools.gap_mm == gap_for(leather, tooling)[0]
        assert hollow.tools.gap_mm >= leather.thickness_max_mm * (1 + leather.soak_growth_thickness)


@pytest.mark.parametrize("degrees", [0.0, 3.0, 15.0])
def test_the_crown_arc_touches_face_and_leaning_wall(degrees: float) -> None:
    (one, _, leather, _), *_ = pressed(TRAY)
    lean = math.radians(degrees)
    leaning = tuple(replace(z, wall_angle=lean) for z in one.zones)
    form = pressing_of(one.blank, leaning, one.edge, leather, 3.0, 0.3)
    tools = form.hollows[0].tools
    # the wall runs from its foot (0, 0) inward and up; the arc's centre is a radius from it
    x, z = tools.inner_mm, tools.depth_mm - tools.crown_radius_mm
    away = -(x * math.cos(lean) + z * math.sin(lean))
    assert away == pytest.approx(tools.crown_radius_mm, abs=1e-9)
    assert form.backbone == pytest.approx(math.pi / 2 + 0.3)
    assert form.hold == "plate"


@pytest.mark.parametrize(
    ("hold", "pressure", "level"), [("plate", 0.02, 3), ("free", 0.0, 3), ("clamped", 0.0, 2)]
)
def test_only_a_plate_presses_on_the_flange(hold: Any, pressure: float, level: int) -> None:
    (one, *_), *_ = pressed(TRAY)
    how = conditions_for(replace(one.blank, hold=hold), SHOULDER)
    assert (how.plate_pressure_MPa, how.level) == (pressure, level)
    assert how.friction == SHOULDER.wet_friction


# --- drying ---


@pytest.mark.parametrize("along", [0.0, 0.01, 0.05])
@pytest.mark.parametrize("held", [0.0, 0.5, 0.8])
def test_leather_dried_held_and_not_stretched_shrinks_as_the_maker_said(
    along: float, held: float
) -> None:
    leather = replace(SHOULDER, shrinkage_along=along, shrinkage_across=0.015, held_shrinkage=held)
    dry = natural_strain(np.zeros((2, 2)), behaviour_of(leather), 1.0)
    assert np.exp(np.diag(dry)) == pytest.approx([1 - along, 1 - 0.015], rel=1e-12)
    assert dry[0, 1] == 0.0


def test_leather_dried_free_shrinks_by_what_holding_kept_back_as_well() -> None:
    behaviour = behaviour_of(replace(SHOULDER, shrinkage_along=0.01, held_shrinkage=0.75))
    free = natural_strain(np.zeros((2, 2)), behaviour, 0.0)
    assert free[0, 0] == pytest.approx(4 * math.log(1 - 0.01))


def test_the_pieces_of_a_pair_dry_alike_whichever_comes_first() -> None:
    (one, pieces, leather, _), *_ = pressed(POUCH)
    sheet, backbone = one.layers[0].sheet, pieces[0].stretch_angle
    dry = dried(sheet, leather, backbone)
    there, back = (
        drying_of(replace(one.blank, places=places), pieces, one.zones, dry)
        for places in (one.blank.places, one.blank.places[::-1])
    )
    for first, second in zip(there.zones, back.zones, strict=True):
        assert (first.piece, first.zone) == (second.piece, second.zone)
        assert (first.plan, first.flange, first.height) == (
            second.plan,
            second.flange,
            second.height,
        )
        # both halves see the middle of the plug in the same place: at the mouth's middle
        assert first.middle == pytest.approx(second.middle, abs=0.05)
    assert there.flanges == back.flanges


def test_a_point_of_a_turned_piece_is_found_in_the_pieces_own_frame() -> None:
    (one, pieces, leather, _), *_ = pressed(TRAY)
    dry = dried(one.layers[0].sheet, leather, pieces[0].stretch_angle)
    (place,) = one.blank.places
    turned = replace(one.blank, places=(replace(place, turn=0.4, shift=(7.0, -3.0)),))
    (straight,) = drying_of(one.blank, pieces, one.zones, dry).zones
    (moved,) = drying_of(turned, pieces, one.zones, dry).zones
    c, s = math.cos(0.4), math.sin(0.4)
    x, y = moved.middle
    laid = (c * x - s * y + 7.0, s * x + c * y - 3.0)
    assert laid == pytest.approx(straight.middle, abs=1e-9)


@pytest.mark.parametrize("article", ARTICLES)
def test_the_plug_dries_to_the_hollow_that_was_asked_for(article: str) -> None:
    blanks = pressed(article)
    assert blanks
    for one, pieces, leather, _ in blanks:
        sheet = one.layers[0].sheet
        found = drying_of(
            one.blank, pieces, one.zones, dried(sheet, leather, _backbone(one.blank, pieces))
        )
        by_name = {piece.name: piece for piece in pieces}
        for place in one.blank.places:
            for zone in by_name[place.piece].zones:
                dries = found.zone(place.piece, zone.name)
                pressed_as = next(z for z in one.zones if (place.piece, zone.name) in z.sources)
                plug = _in_piece(pressed_as.plug.flat_points(0.002), place)
                ring = dries.of_points(plug)
                wall = _wall(zone)
                away = np.linalg.norm(wall - nearest_on_ring(ring, wall), axis=1)
                assert away.max() <= DRY_FIT_MM + CHORD_MM, (place.piece, zone.name)
                assert pressed_as.height_mm * dries.height == pytest.approx(
                    zone.depth_mm, abs=DRY_FIT_MM
                )
                # and leather does dry smaller: left uncorrected it would miss by far more
                bare = dries.of_points(zone.outline.flat_points(0.002))
                assert np.abs(signed_distances(zone.outline, bare)).max() > 2 * DRY_FIT_MM


def _backbone(blank: Blank, pieces: tuple[Piece, ...]) -> float:
    first = blank.places[0]
    return next(p.stretch_angle for p in pieces if p.name == first.piece) + first.turn


def _in_piece(points: Floats, place: Any) -> Floats:
    c, s = math.cos(place.turn), math.sin(place.turn)
    back: Floats = (points - np.array(place.shift)) @ np.array([[c, -s], [s, c]])
    return back


def _wall(zone: MouldedZone) -> Floats:
    """Return points of a zone's outline, its mouths left out."""
    return np.array(
        [
            seg.point_at(seg.length * f)
            for seg in zone.outline.segments
            if seg.span not in zone.mouths
            for f in (0.0, 0.25, 0.5, 0.75, 1.0)
        ]
    )


def test_a_flat_blank_that_crosses_itself_is_refused_in_words() -> None:
    (one, *_), *_ = pressed(TRAY)
    sheet = one.layers[0].sheet
    flat = sheet.flat.copy()
    ring = sheet.layout.edge
    flat[ring[: len(ring) // 2]] = flat[ring[: len(ring) // 2]][::-1]
    with pytest.raises(RequestError, match="crosses itself") as refused:
        flat_blank(replace(sheet, flat=flat))
    assert "wider margin" in refused.value.mend

"""The section through a divider: leather, plug with its pocket, block; on paper and on screen."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from coarse_cache import CACHE
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.drawing.drawing import Drawing
from hidewright.forming.mesh import eased
from hidewright.forming.pressing import Pressing
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Floats
from hidewright.workshop.article import NODES
from hidewright.workshop.begin import begin
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_cut import Cut, IslandCut, cuts_of
from hidewright.workshop.forming_line import bottom_mm, crossing_of, section_places
from hidewright.workshop.forming_maps import CUT, maps_of
from hidewright.workshop.forming_section import (
    BLOCK,
    PLUG,
    block_profile,
    plug_with_pocket,
    section_drawings,
)
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.tooling_chain import Moulding
from hidewright.workshop.views.section_view import section_view
from words_on import boxes_of_words, words_over_one_another

Values = dict[str, Any]


@pytest.fixture(scope="module")
def values() -> Values:
    spec = begin("open tray", built_in_catalogue())
    measures = replace(spec.brief.measures, dividers_mm=(60.0,))
    spec = replace(
        spec,
        brief=replace(spec.brief, measures=measures),
        tooling=replace(spec.tooling, cavity_floor=True),
    )
    wanted = ("pressed blanks", "all leathers", "mouldings")
    return dict(evaluate(NODES, inputs_of(spec, "A4"), wanted, CACHE).values)


@pytest.fixture(scope="module")
def blank(values: Values) -> PressedBlank:
    (one,), _ = values["pressed blanks"]
    assert isinstance(one, PressedBlank)
    return one


@pytest.fixture(scope="module")
def layer(blank: PressedBlank) -> Layer:
    return blank.layers[0]


@pytest.fixture(scope="module")
def leather(values: Values) -> Leather:
    found = dict(values["all leathers"])["body"]
    assert isinstance(found, Leather)
    return found


@pytest.fixture(scope="module")
def cut(layer: Layer, leather: Leather) -> Cut:
    """The tray's corners use most of the leather; the second section is the divider's."""
    worst, across = cuts_of(layer, leather)
    assert worst.island is None
    assert worst.place == ""
    assert across.place == "divider 1"
    return across


@pytest.fixture(scope="module")
def island(cut: Cut) -> IslandCut:
    assert cut.island is not None
    return cut.island


def fitted_radius(points: Floats) -> float:
    """Radius of the circle through points, by least squares (x^2 + y^2 + ax + by + c = 0)."""
    table = np.column_stack([points, np.ones(len(points))])
    a, b, c = np.linalg.lstsq(table, -(points**2).sum(axis=1), rcond=None)[0]
    return math.sqrt(a * a / 4 + b * b / 4 - c)


def test_pocket_and_block_have_the_dividers_radii_height_and_gap(
    layer: Layer, cut: Cut, island: IslandCut
) -> None:
    (zone,) = layer.zones
    (pressed,) = zone.islands
    for pocket, block in zip(island.pocket, island.block, strict=True):
        assert fitted_radius(pocket) == pytest.approx(pressed.foot_radius_mm, rel=0.02)
        assert fitted_radius(block) == pytest.approx(pressed.top_radius_mm, rel=0.02)
        assert abs(pocket[-1, 0] - block[-1, 0]) == pytest.approx(cut.tools.gap_mm, rel=0.06)
        assert pocket[0, 1] == pytest.approx(zone.height_mm)
        assert block[0, 1] == pytest.approx(zone.height_mm + cut.tools.gap_mm - pressed.height_mm)
    wide = island.pocket[1][-1, 0] - island.pocket[0][-1, 0]
    assert wide >= pressed.pocket.height - 1e-6


def polygon(path: tuple[Any, ...], *corners: tuple[float, float]) -> shapely.Polygon:
    points = [Path((seg,)).flat_points(0.002) for seg in path]
    return shapely.Polygon([*np.vstack(points).tolist(), *corners])


def deepest(body: shapely.Polygon, face: Floats) -> float:
    """How far a face sinks into a body at most, mm."""
    inside = shapely.contains_xy(body, face[:, 0], face[:, 1])
    if not inside.any():
        return 0.0
    return float(shapely.distance(body.exterior, shapely.points(face[inside])).max())


def test_the_leather_runs_between_pocket_and_block_and_sinks_into_neither(
    layer: Layer, cut: Cut, island: IslandCut
) -> None:
    left, right = float(cut.inner[0, 0]), cut.edge_mm
    plug = polygon(plug_with_pocket(cut, left, right), (right, -5.0), (left, -5.0))
    top = cut.tools.depth_mm + 20.0
    block = polygon(block_profile(island, top))
    within = cut.inner[cut.inner[:, 0] < cut.tools.inner_mm]
    assert len(within) > 120
    assert deepest(plug, within) < 0.05
    assert deepest(block, cut.outer) < 0.05
    # its face under the block lies the height off the face beside the foot, as far as it is laid in
    middle = 0.5 * float(island.block[0][0, 0] + island.block[1][0, 0])
    under = cut.outer[np.abs(cut.outer[:, 0] - middle).argmin()]
    off = under[1] - (cut.inner[0, 1] + cut.tools.thickness_mm - island.tools.depth_mm)
    form, on = layer.sheet.pressing, layer.sheet.warm.arcs[1]
    assert isinstance(form, Pressing)
    wider = eased(form, 1, layer.sheet.layout.bands[1], on).crown_ease
    stands_off = wider * (1.0 - np.cos(layer.sheet.shape.sections[1].turn))
    assert -off == pytest.approx(stands_off.mean(), abs=0.05)


def test_the_faces_are_the_solved_thickness_apart(cut: Cut) -> None:
    apart = np.linalg.norm(cut.outer - cut.inner, axis=1)
    assert apart == pytest.approx(cut.thickness, rel=0.01)
    assert (apart > cut.thickness - 1e-9).all()
    runs = np.diff(0.5 * (cut.inner + cut.outer)[:, 0])
    assert (runs > -0.2).all(), "from the far side of the divider out to the edge"


def test_a_section_that_meets_no_island_squarely_ends_before_one(
    layer: Layer, leather: Leather
) -> None:
    sheet, (worst, across) = layer.sheet, section_places(layer, leather)
    form = sheet.pressing
    assert isinstance(form, Pressing)
    assert crossing_of(sheet, worst.hollow, worst.column) is None
    met = crossing_of(sheet, across.hollow, across.column)
    assert met is not None
    far, near = met.sides(form.hollows[1].outline, form.hollows[1].tools.outer_mm)
    assert met.until_mm < far < near
    # run inward along the column that crosses, the bottom would end at the divider's foot
    assert bottom_mm(sheet, across.hollow, across.column) >= near - 1e-9


@pytest.fixture(scope="module")
def drawings(
    blank: PressedBlank, layer: Layer, leather: Leather
) -> tuple[tuple[str, Drawing], ...]:
    return section_drawings(blank, layer, leather)


def test_on_paper_the_divider_is_drawn_with_its_radii(
    drawings: tuple[tuple[str, Drawing], ...], layer: Layer
) -> None:
    assert [name for name, _ in drawings] == ["section", "section of divider 1"]
    _, drawing = drawings[1]
    scale = float(drawing.title.split(", ")[1].split()[0])
    (zone,) = layer.zones
    (pressed,) = zone.islands

    def radii(kind: Any) -> list[float]:
        (stroke,) = (s for s in drawing.strokes if s.layer == kind)
        return [s.radius / scale for s in stroke.curve.segments if s.is_arc]

    foot = pressed.foot_radius_mm
    assert radii(PLUG) == pytest.approx([foot, foot, zone.crown_radius_mm], rel=0.02)
    assert radii(BLOCK) == pytest.approx([pressed.top_radius_mm] * 2, rel=0.02)
    told = [text.words for text in drawing.texts]
    for words in (f"R {foot:.1f}", f"R {pressed.top_radius_mm:.1f}", "block"):
        assert words in told
    assert f"pressed back {pressed.height_mm:.2f}" in told


def test_the_words_of_a_section_through_a_divider_stand_clear_of_one_another_and_of_tools(
    drawings: tuple[tuple[str, Drawing], ...],
) -> None:
    drawing = drawings[1][1]
    assert words_over_one_another(drawing) == []
    sides = [
        shapely.LineString((segment.start, segment.end))
        for stroke in drawing.strokes
        if stroke.layer in (PLUG, BLOCK)
        for segment in stroke.curve.segments
    ]
    struck = [
        words
        for words, box in boxes_of_words(drawing)
        if any(box.intersects(side) for side in sides)
    ]
    assert struck == []


def test_maps_show_where_both_sections_are_taken(
    blank: PressedBlank, layer: Layer, leather: Leather
) -> None:
    for name, heat in maps_of(blank, layer, leather):
        lines = [s.curve for s in heat.strokes if s.layer == CUT]
        assert len(lines) == 2, name
        assert lines[1].length > lines[0].length


def test_on_screen_the_block_hangs_from_the_floor_in_the_pocket(
    blank: PressedBlank, layer: Layer, leather: Leather, values: Values
) -> None:
    (moulding,), _ = values["mouldings"]
    assert isinstance(moulding, Moulding)
    view = section_view(blank, layer, leather, moulding.tool)
    (pressed,) = layer.zones[0].islands
    for words in (
        "block",
        f"foot R {pressed.foot_radius_mm:g} mm",
        f"top R {pressed.top_radius_mm:g} mm",
        f"pressed back {round(pressed.height_mm, 2):g} mm",
    ):
        assert f">{words}<" in view.svg
    assert "of divider 1, which is cut through" in view.alt

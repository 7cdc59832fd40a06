"""Pictures of pressed blanks: what they show is what was solved; the page tells every figure."""

import math
import re
from dataclasses import replace
from html import unescape
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.interval import Interval
from hidewright.drawing.drawing import Drawing
from hidewright.drawing.heat_map import HeatMap
from hidewright.forming.answers import pull_in, stretch_in_triangles, thickness_at_points
from hidewright.forming.drying_time import SOAK_C
from hidewright.forming.limits import use_of
from hidewright.forming.mesh import CROWN, LIP
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Floats
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.units.written import METRIC
from hidewright.workshop import article
from hidewright.workshop.begin import begin
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_cut import cuts_of
from hidewright.workshop.forming_line import along_column, flange_mm, shares_used, worst_of
from hidewright.workshop.forming_maps import maps_of
from hidewright.workshop.forming_papers import (
    FOLDER,
    PAGE,
    FormingPictures,
    forming_files,
    forming_page,
)
from hidewright.workshop.forming_pull_in import PRESSED, pull_in_drawing, pull_in_places
from hidewright.workshop.forming_section import (
    FACES,
    FRAME,
    PLUG,
    THROUGH,
    frame_profile,
    plug_profile,
    section_drawings,
)
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.learned_words import told
from hidewright.workshop.pressing_report import BlankReport
from words_on import words_over_one_another

#: Two blanks.
DESIGN = "label-box.yaml"
WANTED = (
    *("pressed blanks", "pressing report", "all leathers", "pieces"),
    *("forming pictures", "forming files", "forming chapters"),
)
Values = dict[str, Any]


@pytest.fixture(scope="module")
def values() -> Values:
    spec = read_design(demo_designs()[DESIGN], name=DESIGN).specification
    return dict(evaluate(article.NODES, inputs_of(spec, "A4"), WANTED, Cache()).values)


@pytest.fixture(scope="module")
def blank(values: Values) -> PressedBlank:
    one: PressedBlank = values["pressed blanks"][0][0]
    return one


@pytest.fixture(scope="module")
def layer(blank: PressedBlank) -> Layer:
    return blank.layers[0]


@pytest.fixture(scope="module")
def leather(values: Values, layer: Layer) -> Leather:
    one: Leather = dict(values["all leathers"])[layer.role]
    return one


@pytest.fixture(scope="module")
def maps(blank: PressedBlank, layer: Layer, leather: Leather) -> dict[str, HeatMap]:
    return dict(maps_of(blank, layer, leather))


# -- maps ---------------------------------------------------------------------------------------


def test_there_is_a_map_of_each_quantity_over_the_shape_and_over_the_flat(
    maps: dict[str, HeatMap],
) -> None:
    quantities = ("reserve", "stretch", "thickness")
    assert set(maps) == {*quantities, *(f"{q} flat" for q in quantities)}


def test_maps_over_the_flat_show_every_triangle_where_it_lay_with_its_own_value(
    maps: dict[str, HeatMap], layer: Layer, leather: Leather
) -> None:
    solved = {
        "reserve flat": 100.0 * use_of(layer.sheet, leather, layer.zones[0].grain_out).most,
        "stretch flat": 100.0 * np.maximum(stretch_in_triangles(layer.sheet).largest - 1.0, 0.0),
        "thickness flat": layer.sheet.thickness,
    }
    for name, wanted in solved.items():
        assert np.array_equal(maps[name].points, layer.sheet.flat)
        assert np.array_equal(maps[name].triangles, layer.sheet.layout.triangles)
        assert maps[name].values == pytest.approx(wanted)


def test_each_hollow_counts_the_bend_on_its_own_grain_face(layer: Layer, leather: Leather) -> None:
    turned = replace(layer, zones=tuple(replace(z, grain_out=False) for z in layer.zones))
    used = shares_used(turned, leather)
    assert np.array_equal(used, use_of(layer.sheet, leather, False).most)
    assert not np.array_equal(used, shares_used(layer, leather))


def test_only_the_reserve_has_a_limit_and_it_is_passed_where_leather_would_crack(
    blank: PressedBlank, layer: Layer, leather: Leather
) -> None:
    weak = replace(leather, grain_limit=1.25)
    maps = dict(maps_of(blank, layer, weak))
    assert {name for name, heat in maps.items() if heat.limit is not None} == {
        "reserve",
        "reserve flat",
    }
    flat = maps["reserve flat"]
    assert flat.beyond.any()
    assert np.array_equal(flat.beyond, shares_used(layer, weak) > 1.0)
    assert flat.edges[:11] == tuple(range(0, 101, 10))


def view_of(heat: HeatMap, layer: Layer) -> Floats:
    """(2, 3) the linear map from formed places to the picture."""
    fitted, *_ = np.linalg.lstsq(layer.sheet.shape.points, heat.points, rcond=None)
    assert layer.sheet.shape.points @ fitted == pytest.approx(heat.points, abs=1e-9)
    return np.asarray(fitted.T)


def test_the_formed_shape_is_seen_without_distortion_from_above(
    maps: dict[str, HeatMap], layer: Layer
) -> None:
    view = view_of(maps["reserve"], layer)
    assert view @ view.T == pytest.approx(np.eye(2), abs=1e-9)
    assert np.cross(view[0], view[1])[2] > 0.0, "the eye is above"


def test_what_is_nearest_the_eye_is_painted_last(maps: dict[str, HeatMap], layer: Layer) -> None:
    heat = maps["reserve"]
    right, up = view_of(heat, layer)
    near = layer.sheet.shape.points @ np.cross(right, up)
    corners, depth = heat.points[heat.triangles], near[heat.triangles]
    a, u, v = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    whole = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    assert (whole > 0.0).all()
    looked = corners[::7].mean(axis=1)
    hidden = 0
    for point in looked:
        p = point - a
        s = (p[:, 0] * v[:, 1] - p[:, 1] * v[:, 0]) / whole
        t = (u[:, 0] * p[:, 1] - u[:, 1] * p[:, 0]) / whole
        over = np.flatnonzero((s > 1e-6) & (t > 1e-6) & (s + t < 1.0 - 1e-6))
        at = (
            depth[over, 0] * (1 - s - t)[over] + depth[over, 1] * s[over] + depth[over, 2] * t[over]
        )
        last = over[heat.order[over] == heat.order[over].max()]
        assert last.tolist() == [over[at.argmax()]]
        hidden += len(over) > 1
    assert hidden > 5, "part of the sheet hides another part in this view"


def test_the_worst_place_is_on_the_side_that_is_seen(
    maps: dict[str, HeatMap], layer: Layer, leather: Leather
) -> None:
    worst = worst_of(layer, leather)
    assert worst.share == pytest.approx(float(shares_used(layer, leather).max()))
    assert 100.0 * worst.share == pytest.approx(float(maps["reserve"].values.max()))


def test_level_faces_have_the_colours_of_the_bar(maps: dict[str, HeatMap], layer: Layer) -> None:
    heat = maps["reserve"]
    z = layer.sheet.shape.points[heat.triangles][:, :, 2]
    level = np.ptp(z, axis=1) < 0.01
    assert level.any()
    assert (heat.light[level] == 1.0).all()
    assert heat.light.min() < 0.95


# -- section ------------------------------------------------------------------------------------


def through(drawing: Drawing, scale: float) -> list[tuple[Floats, Floats]]:
    """Ends of the lines drawn through the leather, read back at full size."""
    return [
        (np.array(s.curve.segments[0].start) / scale, np.array(s.curve.segments[-1].end) / scale)
        for s in drawing.strokes
        if s.layer == THROUGH
    ]


def scale_of(drawing: Drawing) -> float:
    found = re.search(r"(\d) to 1", drawing.title)
    assert found
    return float(found[1])


def test_thickness_measured_in_the_drawing_is_the_solved_one(
    blank: PressedBlank, layer: Layer, leather: Leather
) -> None:
    drawing = section_drawings(blank, layer, leather)[0][1]
    cut = cuts_of(layer, leather)[0]
    lines = through(drawing, scale_of(drawing))
    measured = [float(np.linalg.norm(b - a)) for a, b in lines]
    assert measured == pytest.approx([*cut.thickness[::3], cut.thickness[-1]], abs=1e-9)
    # on the band: the mesh's thickness at the points of that very column
    worst = worst_of(layer, leather)
    band = layer.sheet.layout.bands[worst.hollow]
    column = thickness_at_points(layer.sheet)[band.grid[worst.column]]
    stations = layer.sheet.shape.sections[worst.hollow]
    middle = np.column_stack([stations.d[worst.column], stations.z[worst.column]])
    middle[:, 1] += layer.sheet.pressing.thickness_mm / 2.0
    drawn = 0.5 * (cut.inner + cut.outer)
    for at, h in zip(middle, column, strict=True):
        away = np.linalg.norm(drawn - at, axis=1)
        assert away.min() < 0.5
        assert cut.thickness[away.argmin()] == pytest.approx(h, abs=0.03)


def fitted_radius(points: Floats) -> float:
    """Radius of the circle through points, by least squares (x^2 + y^2 + ax + by + c = 0)."""
    table = np.column_stack([points, np.ones(len(points))])
    a, b, c = np.linalg.lstsq(table, -(points**2).sum(axis=1), rcond=None)[0]
    return math.sqrt(a * a / 4 + b * b / 4 - c)


@pytest.mark.parametrize(("region", "sign"), [(CROWN, 1.0), (LIP, -1.0)])
def test_the_leathers_radii_in_the_section_are_the_solved_ones(
    layer: Layer, leather: Leather, region: int, sign: float
) -> None:
    worst = worst_of(layer, leather)
    cut = cuts_of(layer, leather)[0]
    arcs, tools = layer.sheet.warm.arcs[worst.hollow], cut.tools
    if region == CROWN:
        wanted = (
            tools.crown_radius_mm
            + arcs.crown_h[worst.column] / 2
            + float(arcs.crown_ease[worst.column])
        )
    else:
        wanted = tools.lip_radius_mm + arcs.lip_h[worst.column] / 2
    middle = 0.5 * (cut.inner + cut.outer)
    step = np.diff(middle, axis=0)
    lean = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    bends = -np.diff(lean) * sign > 0.02
    on_arc = middle[1:-1][bends]
    assert len(on_arc) > 8
    assert fitted_radius(on_arc) == pytest.approx(wanted, abs=0.02)


def test_plug_and_frame_are_drawn_with_their_radii_gap_and_height(
    blank: PressedBlank, layer: Layer, leather: Leather
) -> None:
    drawing = section_drawings(blank, layer, leather)[0][1]
    scale = scale_of(drawing)
    tools = layer.sheet.pressing.hollows[0].tools
    plug = next(s.curve for s in drawing.strokes if s.layer == PLUG)
    frame = next(s.curve for s in drawing.strokes if s.layer == FRAME)
    zone = layer.zones[0]
    assert [s.radius / scale for s in plug.segments if s.is_arc] == pytest.approx(
        [zone.crown_radius_mm]
    )
    assert [s.radius / scale for s in frame.segments if s.is_arc] == pytest.approx(
        [zone.lip_radius_mm]
    )
    assert plug.height / scale == pytest.approx(zone.height_mm)
    wall = max(s.end[0] for s in plug.segments if abs(s.end[1]) < 1e-9 and s.start[1] > 1e-9)
    assert (frame.bounds[0] - wall) / scale == pytest.approx(tools.gap_mm)
    assert frame.bounds[1] / scale == pytest.approx(tools.thickness_mm), "the space for the flange"


def test_the_words_of_a_low_wall_stand_clear_of_one_another() -> None:
    spec = begin("two-shell case", built_in_catalogue(), things=(("US dime", 1),))
    wanted = ("pressed blanks", "all leathers")
    solved = evaluate(article.NODES, inputs_of(spec, "A4"), wanted, Cache()).values
    one = solved["pressed blanks"][0][0]
    (layer,) = one.layers
    drawing = section_drawings(one, layer, dict(solved["all leathers"])[layer.role])[0][1]
    assert layer.zones[0].height_mm < 3.5
    assert words_over_one_another(drawing) == []


def test_leaning_walls_touch_the_arcs_of_crown_and_lip_and_stay_the_gap_apart(
    layer: Layer,
) -> None:
    lean = math.radians(8.0)
    tools = replace(layer.sheet.pressing.hollows[0].tools, wall_angle=lean)
    crown, wall = plug_profile(tools, -30.0, 30.0)[1:3]
    assert crown.tangent_at(crown.length) == pytest.approx(wall.tangent_at(0.0))
    assert wall.end == pytest.approx((0.0, 0.0))
    assert wall.tangent_at(0.0) == pytest.approx((math.sin(lean), -math.cos(lean)))
    lip, opposite = frame_profile(tools, 30.0)[1:]
    assert lip.tangent_at(lip.length) == pytest.approx(opposite.tangent_at(0.0))
    assert opposite.tangent_at(0.0) == pytest.approx((-math.sin(lean), math.cos(lean)))
    for d, z in (opposite.start, opposite.end):
        assert d * math.cos(lean) + z * math.sin(lean) == pytest.approx(tools.gap_mm)


def test_faces_meet_plug_and_frame_where_they_lie_on_them(layer: Layer, leather: Leather) -> None:
    cut = cuts_of(layer, leather)[0]
    flange = cut.outer[:, 0] >= cut.tools.outer_mm - 1e-9
    assert cut.outer[flange][:, 1] == pytest.approx(cut.tools.thickness_mm, abs=0.02)
    bottom = cut.inner[cut.inner[:, 0] < cut.tools.inner_mm - 1.0]
    off = bottom[:, 1] - cut.tools.depth_mm
    assert np.ptp(off) < 1e-9
    assert off.min() > -0.02, "a stiff sheet stands off the plug's face, it never sinks into it"


def test_the_drawn_faces_pass_through_the_solved_places(
    blank: PressedBlank, layer: Layer, leather: Leather
) -> None:
    drawing = section_drawings(blank, layer, leather)[0][1]
    scale = scale_of(drawing)
    cut = cuts_of(layer, leather)[0]
    faces = [s.curve for s in drawing.strokes if s.layer == FACES]
    for face, places in zip(faces, (cut.inner, cut.outer), strict=True):
        assert isinstance(face, Path)
        away = [face.nearest((scale * x, scale * y))[1] / scale for x, y in places.tolist()]
        assert max(away) < 0.012


def test_the_section_ends_at_the_leathers_edge(
    blank: PressedBlank, layer: Layer, leather: Leather
) -> None:
    worst = worst_of(layer, leather)
    reach = flange_mm(layer.sheet, worst.hollow, worst.column)
    (x, y), *_ = along_column(layer.sheet, worst.hollow, worst.column, np.array([reach])).tolist()
    assert blank.edge.nearest((x, y))[1] < 0.15  # the mesh's edge is made of chords
    assert cuts_of(layer, leather)[0].edge_mm == reach


# -- pull-in ------------------------------------------------------------------------------------


def test_pull_in_told_in_the_drawing_is_the_solved_one(
    values: Values, blank: PressedBlank, layer: Layer
) -> None:
    flat, drawn = pull_in(layer.sheet)
    places = pull_in_places(layer.sheet)
    assert len(places) >= 5
    for place in places:
        i = int(np.linalg.norm(flat - place.start, axis=1).argmin())
        assert place.start == pytest.approx(tuple(flat[i]))
        assert place.mm == pytest.approx(float(drawn[i]))
        assert math.dist(place.start, place.end) == pytest.approx(abs(float(drawn[i])))
    told = {p.said: p.mm for p in places if p.said}
    assert told == {"least": float(drawn.min()), "most": float(drawn.max())}
    drawing = pull_in_drawing(blank, layer, values["pieces"])
    words = [t.words for t in drawing.texts]
    said = [p.said for p in places if p.said]
    assert sorted(words) == sorted([*(f"{p.mm:.1f}" for p in places), *said])
    assert drawing.extent == drawing.bounds, "words reach beyond the blank"


def test_pull_in_is_drawn_at_full_size_and_its_arrows_end_at_the_pressed_edge(
    values: Values, blank: PressedBlank, layer: Layer
) -> None:
    drawing = pull_in_drawing(blank, layer, values["pieces"])
    outlines = [s.curve for s in drawing.strokes if s.layer != PRESSED]
    assert outlines[0].bounds == pytest.approx(blank.soaked.bounds)
    pressed = next(s.curve for s in drawing.strokes if s.layer == PRESSED)
    assert pressed == blank.edge
    for place in pull_in_places(layer.sheet):
        if place.said:
            # at least and most the edge moves square to itself
            assert pressed.nearest(place.end)[1] < 0.5


# -- page and pack ------------------------------------------------------------------------------


def page_of(values: Values) -> str:
    page: bytes = forming_page("Box", values["forming chapters"], "A4")[PAGE]
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page.decode())))


def test_the_page_names_each_blank_and_tells_each_figure_with_its_ends(values: Values) -> None:
    page = page_of(values)
    reports: tuple[BlankReport, ...] = values["pressing report"]
    assert len(reports) == 2
    for said in reports:
        assert f"Blank: {said.blank}" in page
        assert said.leather in page
        s = said.spread
        assert f"Used of what it bears {told(s.use, '%')}" in page
        less_one = Interval(
            likely=s.largest_stretch.likely - 1,
            low=s.largest_stretch.low - 1,
            high=s.largest_stretch.high - 1,
        )
        assert f"Largest stretch {told(less_one, '%')}" in page
        assert f"where it is least {said.least_pull_in_mm:.1f} mm" in page
        assert f"where it is most {told(s.most_pull_in_mm, 'mm', again=True)}" in page
        assert f"Force on the plug about {told(s.force_N, 'N', again=True)}" in page
        for size in s.dry:
            assert f"along the backbone {told(size.along, 'mm', again=True)}" in page
            assert f"across the backbone {told(size.across, 'mm', again=True)}" in page
        assert f"about {said.plate_N:.0f} N" in page
        assert f"{said.dry_miss_mm:.2f} mm at most" in page
    for said, laid_in, found in zip(
        reports,
        re.findall(r"laid in (\d\.\d+) mm", page),
        re.findall(r"Thinnest, wet\s+(\d\.\d+) mm, likely (\d\.\d+)-(\d\.\d+) mm", page),
        strict=True,
    ):
        t = said.spread.thinnest
        ends = [float(laid_in) * v for v in (t.likely, t.low, t.high)]
        assert [float(v) for v in found] == pytest.approx(ends, abs=0.011)


def test_the_page_says_how_to_soak_press_and_dry_and_what_is_assumed(values: Values) -> None:
    page = page_of(values)
    assert f"at most {SOAK_C[0]:g} °C" in page
    assert re.search(r"closed for about \d+ hour, never longer than 12", page)
    assert re.search(r"after about \d+ hours, \d+ % dry", page)
    assert "What is assumed" in page
    assert "assumed until measured" in page
    assert "test piece" in page
    assert "data sheet comes before" in page


def test_every_picture_on_the_page_is_a_file_that_parses_and_is_small(values: Values) -> None:
    page = forming_page("Box", values["forming chapters"], "A4")[PAGE].decode()
    files: dict[str, bytes] = values["forming files"]
    shown = [unescape(path) for path in re.findall(r'<img src="([^"]+)"', page)]
    assert len(shown) == 2 * 8
    assert set(shown) == {path for path in files if path.endswith(".svg")}
    for path in shown:
        assert path.startswith(FOLDER)
        assert len(files[path]) < 400_000
        assert ET.fromstring(files[path]).tag.endswith("svg")
    linked = {unescape(path) for path in re.findall(r'href="([^"]+)"', page)}
    assert linked <= {*files, "index.html"}


def test_the_pictures_in_another_order_give_the_same_files(values: Values) -> None:
    drawn: tuple[FormingPictures, ...] = values["forming pictures"]
    backwards = tuple(reversed(drawn))
    again = forming_files(backwards, "A4", "Box", METRIC)
    for path, data in values["forming files"].items():
        if path.endswith(".svg"):
            assert again[path] == data


def test_an_article_that_is_not_formed_has_no_forming_page() -> None:
    assert forming_page("Flat", (), "A4") == {}
    assert forming_files((), "A4", "Flat", METRIC) == {}


@pytest.mark.slow
def test_the_pack_holds_the_page_and_its_pictures_and_the_contents_lead_there() -> None:
    name = "tube-sleeve.yaml"
    spec = read_design(demo_designs()[name], name=name).specification
    files, _ = article.pack(spec, Cache())
    assert PAGE in files
    assert f'href="{PAGE}"'.encode() in files["index.html"]
    shown = re.findall(r'<img src="([^"]+)"', files[PAGE].decode())
    assert len(shown) == 8
    assert {unescape(path) for path in shown} <= set(files)
    assert b"index.html" in files[PAGE]
    assert PAGE in files["manifest.json"].decode()

"""What the demo's articles ask of the leather, and the papers and files of a layout of them."""

import csv
import io
import json
import math
import re
from collections import Counter
from dataclasses import replace
from typing import Any

import ezdxf
import numpy as np
import pikepdf
import pytest
import shapely
from svgelements import SVG, Path

from coarse_cache import CACHE
from hidewright.cli.cutting import hides_of
from hidewright.design.asked_piece import AskedPiece
from hidewright.design.cut_layout import CutLayout
from hidewright.design.design import Design
from hidewright.design.hide import Corners, Flaw, Hide, ThicknessArea
from hidewright.design.hide_presets import hide_of, preset_named
from hidewright.design.pose import Panel
from hidewright.design.stock_hide import StockHide
from hidewright.drawing.cut_layout import layout_drawings, letter_of
from hidewright.drawing.cut_list import rows_of, to_csv, to_list_pdf
from hidewright.drawing.dxf import to_dxf
from hidewright.drawing.svg import to_svg
from hidewright.geometry.outline import Outline
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.store.hides_file import demo_hides
from hidewright.workshop import article
from hidewright.workshop.cutting.asked import CutAsked
from hidewright.workshop.cutting.layout import check_layout
from hidewright.workshop.cutting.pieces import CHORD_MM, asked_pieces
from hidewright.workshop.cutting.questions import answer_cut
from hidewright.workshop.cutting.sheets import boards_of, sheet_pieces, whole_sheet
from hidewright.workshop.cutting.shows import covered_areas
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.views.cut_view import hide_view, laid_rings, layout_view
from run_here import run

SPACING = 2.0


def values_of(name: str) -> dict[str, Any]:
    spec = read_design(demo_designs()[name], name=name).specification
    wanted = ("design", "pressed blanks", "sheets")
    inputs = inputs_of(spec, "A4")
    return dict(evaluate(article.NODES, inputs, wanted, CACHE, lambda _: None).values)


@pytest.fixture(scope="module")
def lens() -> dict[str, Any]:
    return values_of("lens-case.yaml")


@pytest.fixture(scope="module")
def label() -> dict[str, Any]:
    return values_of("label-box.yaml")


def pieces_of(values: dict[str, Any]) -> dict[str, AskedPiece]:
    found = asked_pieces(values["design"][0], values["pressed blanks"], SPACING)
    return {one.piece: one for one in found}


@pytest.fixture(scope="module")
def layout(lens: dict[str, Any]) -> CutLayout:
    flaw = Flaw(kind="hole", severity=1, outline=((200.0, 200.0), (210.0, 200.0), (205.0, 210.0)))
    hide = replace(hide_of(preset_named("bend"), 0.3, name="bend"), flaws=(flaw,))
    stock = StockHide(hide=hide, material="vegetable-tanned shoulder 1.4-1.6 mm")
    pieces = tuple((one, 1) for one in pieces_of(lens).values())
    return answer_cut(
        CutAsked(
            question="least leather",
            pieces=pieces,
            sets=4,
            hides=(("a", stock),),
            rounds=60,
            seed=1,
        )
    )


def test_rough_blanks_are_cut_with_what_pulls_in_and_flat_pieces_as_they_are(
    lens: dict[str, Any],
) -> None:
    found = pieces_of(lens)
    (pressed,) = lens["pressed blanks"][0]
    assert set(found) == {"pair of shells", "strap"}
    blank = shapely.Polygon(found["pair of shells"].outline)
    assert _lost(blank, pressed.cut)
    # it is larger than its two finished shells side by side
    shells = sum(p.outline.area for p in lens["design"][0].pieces if p.zones)
    assert blank.area > shells
    strap = lens["design"][0].piece("strap")
    assert _lost(shapely.Polygon(found["strap"].outline), strap.outline)


def _lost(polygon: shapely.Polygon, outline: Outline) -> bool:
    """Whether chords within CHORD_MM of an outline's arcs give away no more than that along it."""
    return abs(outline.area - polygon.area) <= CHORD_MM * outline.length


def test_a_piece_asks_by_where_it_shows_and_for_the_thickness_of_its_gap(
    lens: dict[str, Any],
) -> None:
    found = pieces_of(lens)
    leather = lens["design"][0].leather("body")
    for one in found.values():
        assert (one.grade, one.clear_of) == (1, 3)
        assert one.thickness_mm == (leather.thickness_min_mm, leather.thickness_max_mm)
        # the demo's pieces lie with the backbone along y; either way and a little off is allowed
        assert one.rotations_deg is not None
        turned = {round((90.0 + angle) % 180.0, 6) for angle in one.rotations_deg}
        assert turned == {0.0, one.tolerance_deg, 180.0 - one.tolerance_deg}
    assert found["pair of shells"].mates
    assert not found["strap"].mates


def test_base_and_lid_are_cut_from_one_place_in_one_direction(label: dict[str, Any]) -> None:
    (one,) = pieces_of(label).values()
    cuts = {b.blank.name: b.cut for b in label["pressed blanks"][0]}
    assert one.piece == "bottom with lid"
    base, lid = shapely.Polygon(one.outline), shapely.Polygon(one.others[0])
    assert _lost(base, cuts["bottom"])
    assert _lost(lid, cuts["lid"])
    assert base.distance(lid) >= SPACING - 1e-9
    # they stand upright beside one another as in their own frames: turned by nothing
    wide, high = cuts["lid"].width, cuts["lid"].height
    left, bottom, right, top = lid.bounds
    assert (right - left, top - bottom) == pytest.approx((wide, high), abs=0.05)
    assert one.mates


def test_a_layout_of_mates_keeps_them_together_and_in_one_thickness(label: dict[str, Any]) -> None:
    (one,) = pieces_of(label).values()
    stock = replace(demo_hides()[0], material=one.material)
    found = answer_cut(
        CutAsked(
            question="most sets",
            pieces=((replace(one, thickness_mm=None), 1),),
            sets=1,
            hides=(("a", stock),),
            rounds=40,
            seed=1,
        )
    )
    assert check_layout(found) == ()
    for p in found.placements:
        base, lid = map(shapely.Polygon, laid_rings(found.pieces[0], p))
        assert base.distance(lid) == pytest.approx(SPACING, abs=0.5)


@pytest.mark.slow
def test_tools_lie_on_no_more_sheets_than_in_rows_and_inside_one_another_where_they_fit(
    lens: dict[str, Any],
) -> None:
    sheets = lens["sheets"][0]
    board = next(b for b in boards_of(sheets) if b.name.startswith("clear acrylic"))
    parts = sheet_pieces("lens", sheets, board)
    in_rows = [sheet for sheet in sheets if sheet.board == board]
    assert sum(n for _, n in parts) == sum(len(sheet.placed) for sheet in in_rows)
    found = answer_cut(
        CutAsked(
            question="fewest sheets",
            pieces=parts,
            sets=1,
            hides=(),
            offered=whole_sheet(board),
            spacing_mm=3.0,
            rounds=400,
            seed=1,
        )
    )
    assert check_layout(found) == ()
    assert found.bound <= found.figure <= len(in_rows)


# -- drawings, papers, files


def test_the_full_size_files_have_every_piece_where_it_lies(layout: CutLayout) -> None:
    (drawing,) = layout_drawings(layout)
    inside = [
        tuple(p.bounds)
        for p in (
            shapely.Polygon(laid_rings(layout.pieces[p.piece], p)[0]) for p in layout.placements
        )
    ]
    cut = [s.curve.bounds for s in drawing.strokes if s.layer.name == "cut"]
    assert len(cut) == len(inside)
    for one, other in zip(sorted(cut), sorted(inside), strict=True):
        assert one == pytest.approx(other, abs=1e-6)


def test_svg_and_dxf_are_read_back_at_full_size(layout: CutLayout) -> None:
    (drawing,) = layout_drawings(layout)
    xs = [x for x, _ in layout.hides[0].outline]
    wide = max(xs) - min(xs)
    svg = SVG.parse(io.StringIO(to_svg(drawing).decode()))
    paths = [one for one in svg.elements() if isinstance(one, Path)]
    assert len(paths) == len(drawing.strokes)
    # svgelements counts pixels of 1/96 inch
    widest = max(path.bbox()[2] - path.bbox()[0] for path in paths) / 96.0 * 25.4
    assert widest == pytest.approx(wide, abs=1e-3)
    doc = ezdxf.read(io.StringIO(to_dxf(drawing).decode()))
    layers = Counter(one.dxf.layer for one in doc.modelspace() if one.dxftype() != "TEXT")
    assert layers["cut"] == len(layout.placements)
    assert layers["edge of the hide"] == 1


def test_the_cutting_list_names_every_copy_once(layout: CutLayout) -> None:
    rows = list(csv.DictReader(io.StringIO(to_csv(layout).decode("utf-8-sig"))))
    assert len(rows) == len(layout.placements)
    assert len({row["mark"] for row in rows}) == len(rows)
    placed = {(round(p.x_mm, 3), round(p.y_mm, 3)) for p in layout.placements}
    assert {(float(row["x_mm"]), float(row["y_mm"])) for row in rows} == placed
    assert sum(count for _, _, count, _, _ in rows_of(layout)) == len(layout.placements)


def test_no_name_in_a_list_is_a_formula(layout: CutLayout) -> None:
    named = replace(layout, pieces=tuple(replace(p, name="=1+1") for p in layout.pieces))
    rows = list(csv.DictReader(io.StringIO(to_csv(named).decode("utf-8-sig"))))
    assert {row["piece"] for row in rows} == {"'=1+1"}


@pytest.mark.parametrize(("paper", "size"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_the_list_and_the_plan_of_each_hide_are_pages_of_their_paper(
    layout: CutLayout, paper: Any, size: tuple[float, float]
) -> None:
    with pikepdf.open(io.BytesIO(to_list_pdf(layout, paper))) as pdf:
        assert len(pdf.pages) == 1 + len(layout.used_hides)
        for page in pdf.pages:
            box = [float(page.mediabox[n]) / 72.0 * 25.4 for n in range(4)]
            assert (box[2], box[3]) == pytest.approx(size, abs=0.01)


def test_letters_go_on_after_z() -> None:
    assert [letter_of(n) for n in (0, 25, 26, 27, 701, 702)] == ["a", "z", "aa", "ab", "zz", "aaa"]


def test_pictures_show_hide_flaws_and_the_piece_in_hand(layout: CutLayout) -> None:
    view = layout_view(layout, 0, (0, 0))
    assert view.svg.count("data-copy=") == len(layout.placements)
    assert view.svg.count(" chosen") == 1
    assert 'data-layer="flaw"' in hide_view(layout.hides[0]).svg
    left, top, wide, high = view.frame
    for x, y in layout.hides[0].outline:
        assert left <= x <= left + wide
        assert top <= -y <= top + high


def test_a_thickness_is_written_where_no_flaw_is() -> None:
    edge = ((0.0, 0.0), (600.0, 0.0), (600.0, 400.0), (0.0, 400.0))
    hide = Hide(
        name="side", outline=edge, thicknesses=(ThicknessArea(thickness_mm=1.5, outline=edge),)
    )
    assert _level_of(hide, "1.5 mm") == -200.0
    vein = Flaw(kind="vein", severity=3, outline=((290.0, 190.0), (310.0, 190.0), (300.0, 210.0)))
    level = _level_of(replace(hide, flaws=(vein,)), "1.5 mm")
    assert not -225.0 < level < -181.0


def _level_of(hide: Hide, words: str) -> float:
    """Return the height at which words are written in a hide's picture, downwards, mm."""
    found = re.search(rf'<text x="[^"]*" y="([^"]*)"[^>]*>{re.escape(words)}<', hide_view(hide).svg)
    assert found
    return float(found[1])


# -- the command line


def test_the_command_tells_sets_and_its_rounds_give_them_again(
    capsys: pytest.CaptureFixture[str], tmp_path: Any
) -> None:
    (tmp_path / "case.yaml").write_bytes(demo_designs()["lens-case.yaml"])
    case = str(tmp_path / "case.yaml")
    told = []
    for _ in range(2):
        words = ["cut", case, "--hide", "shoulder:0.6 m2", "--rounds", "20", "--json"]
        assert run(*words) == 0
        told.append(_placements(capsys.readouterr().out))
    assert told[0] == told[1]
    assert told[0]


def _placements(text: str) -> Any:
    (one,) = json.loads(text)
    assert one["checked"]
    assert one["sets"] == one["figure"] <= one["bound"]
    assert math.isfinite(one["seconds"])
    return one["placements"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--hide", "shoulder:0.6 m2", "--sets", "0"], "0 sets are asked for"),
        (["--hide", "shoulder:0.6"], "a unit is never guessed"),
        (["--hide", "quarter:1 m2"], "the hide 'quarter'"),
        ([], "nothing to cut from"),
    ],
)
def test_the_command_refuses_in_words(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str], tmp_path: Any
) -> None:
    (tmp_path / "case.yaml").write_bytes(demo_designs()["lens-case.yaml"])
    assert run("cut", str(tmp_path / "case.yaml"), *words) == 2
    assert said in capsys.readouterr().err


def test_a_hide_without_an_area_is_told_with_the_one_that_is_taken(
    capsys: pytest.CaptureFixture[str],
) -> None:
    (shoulder,) = hides_of(["shoulder"])
    assert shoulder.area_m2 == pytest.approx(0.75)
    assert "No area is told of the shoulder: a usual one of 0.75 m2" in capsys.readouterr().err
    hides_of(["shoulder:0.8 m2"])
    assert not capsys.readouterr().err


@pytest.fixture(scope="module")
def pouch() -> Design:
    design = values_of("compass-pouch.yaml")["design"][0]
    assert isinstance(design, Design)
    return design


def test_a_front_is_covered_where_the_flap_lies_over_it_and_3_mm_within(pouch: Design) -> None:
    over = _area(covered_areas(pouch, pouch.piece("front")))
    # the flap's shadow on the front: both lie level once the pouch is closed, the flap above
    front, flap = (_panel(pouch, name) for name in ("front", "flap"))
    edge = flap.part_of(pouch.piece("back").outline.flat_points()[:-1])
    flat = np.column_stack([edge, np.zeros(len(edge))])
    there = pouch.assembly.pose_of(flap, 1.0).of_points(flat)
    seen = pouch.assembly.pose_of(front, 1.0).inverse.of_points(there)
    shadow = shapely.Polygon(seen[:, :2]).intersection(
        shapely.Polygon(pouch.piece("front").outline.flat_points()[:-1])
    )
    assert shadow.buffer(-2.9).covers(over)
    # two squares' diagonals off its edge, 6 sqrt 2 mm, all squares count
    assert over.buffer(1e-6).covers(shadow.buffer(-8.5))
    # leather that is drawn there by 4 mm: as much further within
    further = _area(covered_areas(pouch, pouch.piece("front"), 4.0))
    assert 0.0 < further.area < over.area
    assert shadow.buffer(-6.9).covers(further)
    assert covered_areas(pouch, pouch.piece("front"), 60.0) == ()


def test_a_back_whose_grain_looks_away_from_the_hollow_is_covered_nowhere(pouch: Design) -> None:
    assert covered_areas(pouch, pouch.piece("back")) == ()


def test_what_is_covered_on_a_blank_may_bear_a_scar_and_is_told() -> None:
    outer = pieces_of(values_of("forceps-pocket.yaml"))["outer"]
    assert (outer.clear_of, outer.covered_clear_of) == (3, 1)
    assert shapely.Polygon(outer.outline).covers(_area(outer.covered))
    assert "a scar may lie under other parts" in outer.why
    laid = outer.as_cutting(1)
    assert (laid.covered, laid.clear_of_throughout) == (outer.covered, 1)


def _panel(design: Design, name: str) -> Panel:
    (panel,) = [one for one in design.assembly.panels if one.name == name]
    return panel


def _area(rings: tuple[Corners, ...]) -> Any:
    return shapely.union_all([shapely.Polygon(ring) for ring in rings])

"""Hides in stock: presets of a stated area, files of them, drawers, and what is left of one."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely

from hidewright.design.hide import (
    Corners,
    Flaw,
    GradeArea,
    Hide,
    ThicknessArea,
    area_of,
    with_grade,
    with_thickness,
    without_mark,
)
from hidewright.design.hide_presets import PRESETS, hide_of, measured, preset_named
from hidewright.design.stock_hide import StockHide
from hidewright.drawing.read_outlines import read_outlines
from hidewright.errors import RequestError
from hidewright.nesting.ground import graded, thick
from hidewright.nesting.remnants import remnants_of
from hidewright.nesting.soundness import refuse_unsound_hide
from hidewright.nesting.worth import worth_m2
from hidewright.store.book import Book
from hidewright.store.book_hides import HIDES
from hidewright.store.hides_file import demo_hides, read_hides
from hidewright.units.area import format_area, parse_area
from hidewright.workshop.cutting.hide_outline import hide_from


def box(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Corners:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


@pytest.mark.parametrize("preset", PRESETS, ids=lambda one: one.name)
@pytest.mark.parametrize("area", [0.2, 0.75, 2.3])
def test_a_preset_has_exactly_the_area_stated_and_its_own_proportions(
    preset: Any, area: float
) -> None:
    hide = hide_of(preset, area, name="mine")
    assert shapely.Polygon(hide.outline).area == pytest.approx(area * 1e6, rel=1e-12)
    unit = hide_of(preset, 1.0, name="mine")
    scale = math.sqrt(area)
    for (x, y), (u, v) in zip(hide.outline, unit.outline, strict=True):
        assert (x, y) == pytest.approx((scale * u, scale * v), abs=1e-9)


@pytest.mark.parametrize("preset", PRESETS, ids=lambda one: one.name)
def test_a_preset_is_a_simple_polygon_graded_all_over_once(preset: Any) -> None:
    hide = hide_of(preset, preset.usual_m2, name="mine")
    refuse_unsound_hide(hide)
    whole = shapely.Polygon(hide.outline)
    assert whole.is_valid
    areas = [shapely.Polygon(area.outline) for area in hide.areas]
    if areas:
        assert whole.difference(shapely.union_all(areas)).area < 1e-6
        on_hide = math.fsum(whole.intersection(area).area for area in areas)
        assert on_hide == pytest.approx(whole.area, rel=1e-9)


def test_one_measured_thickness_is_that_of_all_of_it() -> None:
    hide = hide_of(preset_named("bend"), 0.9, name="mine", thickness_mm=3.2)
    (area,) = hide.thicknesses
    assert (area.thickness_mm, area.outline) == (3.2, hide.outline)
    stock = StockHide(hide=hide, material="bend")
    assert stock.thickness_mm == (3.2, 3.2)
    assert stock.area_m2 == pytest.approx(0.9, rel=1e-12)


@pytest.mark.parametrize("area", [0.0, -1.0, 9.0, math.nan, math.inf])
def test_an_area_that_no_hide_has_is_refused(area: float) -> None:
    with pytest.raises(RequestError, match=r"a hide of .* m2.*Give 0\.01 to 8 m2"):
        hide_of(PRESETS[0], area, name="mine")


def test_the_area_of_a_polygon_goes_either_way_round() -> None:
    ring = box(30.0, 20.0, -7.0, 3.0)
    assert area_of(ring) == area_of(tuple(reversed(ring))) == 600.0
    hide = Hide(name="a", outline=ring, holes=(box(5.0, 4.0, 0.0, 5.0),))
    assert hide.area_mm2 == 580.0


def test_areas_are_read_in_either_unit_and_never_without() -> None:
    # 1 ft is 304.8 mm exactly, so 10 sq ft are 0.9290304 m2
    assert parse_area("10 sq ft") == pytest.approx(0.9290304, rel=1e-12)
    assert parse_area("80 dm2") == parse_area("0.8 m2")
    assert format_area(0.9290304, "in") == "10 sq ft"
    with pytest.raises(RequestError, match="never guessed"):
        parse_area("0.8")


def test_hides_stand_in_the_book_with_all_that_is_known_of_them(tmp_path: Path) -> None:
    stock = StockHide(
        hide=Hide(
            name="shoulder",
            outline=box(900.0, 700.0),
            holes=(box(20.0, 20.0, 100.0, 100.0),),
            areas=(GradeArea(grade=2, outline=box(400.0, 700.0)),),
            flaws=(Flaw(kind="scar", severity=2, outline=box(9.0, 9.0, 300.0, 300.0)),),
            thicknesses=(ThicknessArea(thickness_mm=1.5, outline=box(900.0, 700.0)),),
            backbone_deg=12.5,
        ),
        material="vegetable-tanned shoulder",
        lot="spring",
        rough=True,
    )
    book = Book(tmp_path / "book.sqlite")
    HIDES.put(book, "a", stock)
    assert HIDES.get(book, "a") == stock
    HIDES.edit(book, "a", lambda one: one.as_state("cut"))
    assert HIDES.get(book, "a").state == "cut"
    book.close()


def test_the_demo_has_two_hides_of_the_leather_of_its_cases() -> None:
    hides = demo_hides()
    assert len(hides) == 2
    assert {one.material for one in hides} == {"vegetable-tanned shoulder 1.4-1.6 mm"}
    for one in hides:
        assert all(
            shapely.Polygon(one.hide.outline).covers(shapely.Polygon(flaw.outline))
            for flaw in one.hide.flaws
        )


def hides(**changed: Any) -> bytes:
    one = {"name": "a", "leather": "side", "outline": [[0, 0], [900, 0], [900, 600], [0, 600]]}
    return json.dumps({"hides": [{**one, **changed}]}).encode()


BAD: tuple[tuple[bytes, str], ...] = (
    (hides(outline=[[0, 0], [900, 600], [900, 0], [0, 600]]), "a crosses or touches itself"),
    (
        hides(flaws=[{"kind": "hole", "outline": [[950, 0], [960, 0], [960, 9]]}]),
        r"the hole at \(950, 0\) lies outside hide a",
    ),
    (hides(flaws=[{"kind": "hole", "severity": 4, "outline": [[1, 1], [2, 1], [2, 2]]}]), "1 to 3"),
    (hides(preset="quarter", area=1.0), "the hide 'quarter'.*side, shoulder"),
    (hides(preset="side", area=0), "a hide of 0 m2"),
    (hides(thickness=40), "40 mm thick"),
    (hides(grades=[{"grade": 5, "outline": [[0, 0], [1, 0], [1, 1]]}]), "1 to 3"),
    (hides(name=""), "without a name"),
    (b"{", "is not JSON"),
    (b'{"hides": []}', "no list of 1 to"),
)


@pytest.mark.parametrize(("data", "words"), BAD, ids=[words[:24] for _, words in BAD])
def test_a_bad_hide_is_refused_in_words_with_its_place(data: bytes, words: str) -> None:
    with pytest.raises(RequestError, match=words) as refused:
        read_hides(data, name="h.json")
    assert refused.value.where.startswith("h.json")


def test_a_flaw_is_as_bad_as_its_kind_usually_is_unless_said() -> None:
    outline = [[10, 10], [20, 10], [20, 20]]
    flaws = [
        {"kind": "vein", "outline": outline},
        {"kind": "vein", "severity": 1, "outline": outline},
    ]
    (stock,) = read_hides(hides(flaws=flaws, backbone=-15), name="h.json")
    assert [flaw.severity for flaw in stock.hide.flaws] == [3, 1]
    assert stock.hide.backbone_deg == -15.0


def test_a_drawing_gives_a_hide_with_its_largest_outline_as_edge() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="500mm" height="300mm" '
        'viewBox="0 0 500 300"><rect x="0" y="0" width="400" height="300"/>'
        '<rect x="50" y="50" width="20" height="10"/><rect x="450" y="0" width="9" height="9"/>'
        "</svg>"
    )
    hide, said = hide_from(read_outlines(svg.encode(), name="h.svg"), "h")
    assert hide.area_mm2 == pytest.approx(400.0 * 300.0 - 200.0)
    assert "1 outlines beside it were left out." in said


def test_what_is_left_lies_on_the_hide_clear_of_the_pieces_and_is_wide_enough() -> None:
    hide = Hide(
        name="a",
        outline=box(1000.0, 500.0),
        flaws=(
            Flaw(kind="hole", severity=1, outline=box(10.0, 10.0, 50.0, 50.0)),
            Flaw(kind="scar", severity=2, outline=box(10.0, 10.0, 900.0, 50.0)),
        ),
        backbone_deg=7.0,
    )
    taken = shapely.box(0.0, 0.0, 400.0, 500.0).union(shapely.box(400.0, 200.0, 440.0, 240.0))
    (rest,) = remnants_of(hide, [taken], 2.0)
    left = shapely.Polygon(rest.outline)
    assert shapely.Polygon(hide.outline).covers(left)
    assert left.distance(taken) >= 2.0 - 1e-9
    # 1000 - 402 less the tongue beside the small piece; at most 2 mm of its edge is given away
    assert 0.95 * (598.0 * 500.0 - 42.0 * 500.0) < left.area < 598.0 * 500.0
    assert [flaw.kind for flaw in rest.flaws] == ["scar"]
    assert rest.backbone_deg == 7.0
    # a strip narrower than 80 mm is nothing to keep
    assert remnants_of(hide, [shapely.box(0.0, 0.0, 930.0, 500.0)], 2.0) == ()


def test_better_leather_is_worth_more() -> None:
    good = Hide(name="a", outline=box(1000.0, 1000.0))
    assert worth_m2(good) == pytest.approx(1.0)
    half = GradeArea(grade=1, outline=box(500.0, 1000.0))
    rest = GradeArea(grade=3, outline=box(500.0, 1000.0, 500.0))
    graded = Hide(name="a", outline=good.outline, areas=(half, rest))
    assert worth_m2(graded) == pytest.approx(0.5 + 0.3 * 0.5, rel=1e-6)
    marred = Hide(
        name="a",
        outline=good.outline,
        flaws=(Flaw(kind="hole", severity=1, outline=box(100.0, 100.0, 50.0, 50.0)),),
    )
    assert worth_m2(marred) == pytest.approx(0.99)


def test_an_area_that_is_marked_lies_over_what_was_there_and_leaves_it_when_taken_away() -> None:
    hide = Hide(name="a", outline=box(100.0, 100.0))
    poor, fair = box(60.0, 60.0, -10.0, -10.0), box(60.0, 60.0, 20.0, 20.0)
    marked = with_grade(with_grade(hide, 3, poor), 2, fair)
    # 100 x 100 less the two, which overlap by 30 x 30 and of which one reaches 10 beyond two edges
    of = [shapely.area(graded(marked, grade)) for grade in (1, 2, 3)]
    assert of == pytest.approx([10_000.0 - 2500.0 - 3600.0 + 900.0, 10_000.0 - 1600.0, 10_000.0])
    back = without_mark(without_mark(marked, "areas", 2), "areas", 1)
    assert shapely.area(graded(back, 1)) == pytest.approx(10_000.0)


def test_a_thickness_measured_in_an_area_is_not_that_of_the_rest() -> None:
    hide = Hide(name="a", outline=box(100.0, 100.0))
    hide = replace(hide, thicknesses=measured(hide.outline, 1.5))
    thin = with_thickness(hide, 1.2, box(50.0, 100.0))
    assert shapely.area(thick(thin, 1.4, 1.6)) == pytest.approx(5000.0)
    assert shapely.area(thick(thin, 1.0, 1.3)) == pytest.approx(5000.0)
    assert shapely.area(thick(without_mark(thin, "thicknesses", 1), 1.4, 1.6)) == 10_000.0

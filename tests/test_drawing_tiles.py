"""Sheets of a full-size pattern: every line is on one, and none is there for nothing."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text
from hidewright.drawing.pdf import patterns_to_pdf
from hidewright.drawing.pdf_page import bezier_curves
from hidewright.drawing.tiles import (
    INSIDE_MM,
    MARK_MM,
    OVERLAP_MM,
    Paper,
    Tiling,
    free_place,
    may_turn,
    tile,
)
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import arc, line
from hidewright.geometry.shapes import circle, rectangle

CUT = Layer(name="cut outside")


def drawing(*curves: Outline | Path, texts: tuple[Text, ...] = ()) -> Drawing:
    return Drawing(
        title="t", strokes=tuple(Stroke(curve=c, layer=CUT) for c in curves), texts=texts
    )


def shown(tiling: Tiling, curve: Outline | Path, margin: float) -> list[list[bool]]:
    """For points 0.5 mm apart along a curve: which windows show each, with a margin."""
    points = np.array([curve.point_at(float(v)) for v in np.arange(0.0, curve.length, 0.5)])
    return [
        [
            box[0] + margin <= x <= box[2] - margin and box[1] + margin <= y <= box[3] - margin
            for box in (w.box for w in tiling.windows)
        ]
        for x, y in points
    ]


@settings(max_examples=12, deadline=None)
@given(
    paper=st.sampled_from(("A4", "Letter")),
    discs=st.lists(
        st.tuples(st.floats(-400, 400), st.floats(-300, 300), st.floats(3, 220)),
        min_size=1,
        max_size=4,
    ),
)
def test_every_line_is_on_a_sheet_and_every_sheet_is_needed(
    paper: Paper, discs: list[tuple[float, float, float]]
) -> None:
    curves = [circle(r, (x, y)) for x, y, r in discs]
    tiling = tile(drawing(*curves), paper)
    per_point = np.array([row for c in curves for row in shown(tiling, c, INSIDE_MM - 0.02)])
    assert per_point.any(axis=1).all()
    # a window is needed when it alone shows something; judged without the margin kept inside
    generous = np.array([row for c in curves for row in shown(tiling, c, 4.0 + INSIDE_MM)])
    strict = np.array([row for c in curves for row in shown(tiling, c, INSIDE_MM)])
    for k in range(len(tiling.windows)):
        others = np.delete(generous, k, axis=1).any(axis=1)
        assert (strict[:, k] & ~others).any()


@settings(max_examples=25, deadline=None)
@given(width=st.floats(30, 900), height=st.floats(30, 700))
def test_a_rectangle_takes_no_more_sheets_than_the_better_way_of_turning_the_paper(
    width: float, height: float
) -> None:
    def rows(size: float, window: float) -> int:
        return max(1, math.ceil((size + 2 * INSIDE_MM - OVERLAP_MM) / (window - OVERLAP_MM)))

    upright = rows(width, 186.0) * rows(height, 267.0)
    lying = rows(width, 273.0) * rows(height, 180.0)
    tiling = tile(drawing(rectangle(width, height)), "A4")
    assert len(tiling.windows) <= min(upright, lying)


@settings(max_examples=60, deadline=None)
@given(st.floats(150.0, 700.0), st.floats(150.0, 700.0), st.sampled_from(["A4", "Letter"]))
def test_a_quarter_turn_takes_no_fewer_sheets_where_it_is_not_tried(
    wide: float, high: float, paper: Paper
) -> None:
    assume(not may_turn((wide, high), paper))
    as_it_is, turned = (
        tile(drawing(rectangle(*size)), paper) for size in ((wide, high), (high, wide))
    )
    assert len(turned.windows) >= len(as_it_is.windows)


def test_a_quarter_turn_that_saves_a_sheet_is_tried() -> None:
    as_it_is, turned = (
        tile(drawing(rectangle(*size)), "A4") for size in ((262.0, 182.0), (182.0, 262.0))
    )
    assert (len(as_it_is.windows), len(turned.windows)) == (2, 1)
    assert may_turn((262.0, 182.0), "A4")


@settings(max_examples=40, deadline=None)
@given(
    wide=st.floats(60, 500),
    high=st.floats(60, 500),
    size=st.tuples(st.floats(10, 80), st.floats(5, 20)),
    holes=st.lists(st.tuples(st.floats(-0.4, 0.4), st.floats(-0.4, 0.4)), max_size=5),
)
def test_a_free_place_is_clear_of_lines_within_the_drawing_and_on_one_sheet(
    wide: float, high: float, size: tuple[float, float], holes: list[tuple[float, float]]
) -> None:
    curves = [rectangle(wide, high), *(circle(6.0, (u * wide, v * high)) for u, v in holes)]
    whole = drawing(*curves)
    tiling = tile(whole, "A4")
    place = free_place(whole, tiling, size)
    if place is None:
        return
    room = shapely.box(*place, place[0] + size[0], place[1] + size[1])
    for curve in curves:
        assert shapely.LineString(curve.flat_points(0.01)).distance(room) >= 2.0 - 1e-6
    assert shapely.box(-wide / 2, -high / 2, wide / 2, high / 2).contains(room)
    windows = [shapely.box(*w.box) for w in tiling.windows]
    assert [w.intersects(room) for w in windows] == [w.contains(room) for w in windows]
    assert sum(w.contains(room) for w in windows) == 1
    text = Text(words="i", at=place, height_mm=2.0, layer=CUT)
    assert tile(replace(whole, texts=(text,)), "A4") == tiling, "the sheets stay as they are"


def test_a_free_place_keeps_out_of_the_strip_that_two_sheets_share() -> None:
    plate = rectangle(300.0, 100.0)
    tiling = tile(drawing(plate), "A4")
    left, right = tiling.windows[1].box[0], tiling.windows[0].box[2]
    filled = [
        Path((line((x, -50.0), (x, 50.0)),))
        for x in np.arange(-148.0, 148.0, 8.0).tolist()
        if not left - 12.0 < x < right + 40.0
    ]
    place = free_place(drawing(plate, *filled), tiling, (20.0, 7.0))
    assert place is not None
    assert place[0] + 20.0 <= left or place[0] >= right


def test_there_is_a_free_place_in_an_empty_plate_and_none_in_a_narrow_one() -> None:
    for size, found in (((100.0, 100.0), True), ((6.0, 100.0), False)):
        whole = drawing(rectangle(*size))
        assert (free_place(whole, tile(whole, "A4"), (40.0, 7.0)) is not None) == found


def test_a_small_pattern_lies_in_the_middle_of_one_upright_sheet_without_marks() -> None:
    tiling = tile(drawing(circle(50.0, (300.0, -80.0))), "A4")
    (window,) = tiling.windows
    assert not tiling.landscape
    assert not tiling.marks
    assert window.name == "A1"
    left, bottom, right, top = window.box
    assert ((left + right) / 2, (bottom + top) / 2) == pytest.approx((300.0, -80.0))


def test_a_wide_pattern_turns_the_paper() -> None:
    tiling = tile(drawing(rectangle(260.0, 150.0)), "A4")
    assert tiling.landscape
    assert len(tiling.windows) == 1


def test_the_middle_of_a_large_ring_needs_no_sheet() -> None:
    tiling = tile(drawing(circle(270.0), circle(265.0)), "A4")
    for box in (w.box for w in tiling.windows):
        farthest = max(math.hypot(x, y) for x in (box[0], box[2]) for y in (box[1], box[3]))
        assert farthest > 265.0  # no sheet lies within the ring
    assert "B2" not in [w.name for w in tiling.windows]


def test_a_sheet_that_shows_only_what_its_neighbour_shows_is_left_out() -> None:
    # exactly two by two upright windows with no play; the stem lies in the strip both columns share
    width, height = 2 * 186.0 - OVERLAP_MM - 2 * INSIDE_MM, 2 * 267.0 - OVERLAP_MM - 2 * INSIDE_MM
    foot = Path((line((0.0, 0.0), (width, 0.0)),))
    stem = Path((line((width / 2, 0.0), (width / 2, height)),))
    assert len(tile(drawing(foot, stem), "A4").windows) == 3


def test_marks_lie_in_the_middle_of_shared_strips_whole_on_each_sheet() -> None:
    tiling = tile(drawing(rectangle(500.0, 400.0)), "Letter")
    assert len(tiling.windows) >= 4
    for x, y in tiling.marks:
        near = [
            min(x - b[0], b[2] - x, y - b[1], b[3] - y) for b in (w.box for w in tiling.windows)
        ]
        holding = [n for n in near if n >= MARK_MM]
        assert len(holding) >= 2
        assert min(holding) == pytest.approx(OVERLAP_MM / 2)
    for window in tiling.windows:
        box = window.box
        here = [m for m in tiling.marks if box[0] < m[0] < box[2] and box[1] < m[1] < box[3]]
        assert len(here) >= 2


def test_words_outside_the_lines_are_on_a_sheet_as_well() -> None:
    far = Text(words="far", at=(400.0, 0.0), layer=CUT)
    tiling = tile(drawing(circle(10.0), texts=(far,)), "A4")
    box = next(w.box for w in tiling.windows if w.box[0] < 400.0 < w.box[2])
    assert all(box[0] < x < box[2] and box[1] < y < box[3] for x, y in far.corners)


def test_a_hole_is_not_cut_by_the_edge_of_a_sheet_when_the_grid_can_avoid_it() -> None:
    holes = [circle(20.0, (x, 0.0)) for x in (-120.0, 0.0, 120.0)]
    plate = rectangle(320.0, 120.0)
    tiling = tile(drawing(plate, *holes), "A4")
    for hole in holes:
        assert np.array(shown(tiling, hole, INSIDE_MM - 0.02)).all(axis=0).any()


@pytest.mark.parametrize("radius", [0.5, 1.8, 11.0, 20.0, 400.0, 5000.0])
@pytest.mark.parametrize("sweep", [0.3, -1.6, 3.0, 6.0])
def test_curves_stray_by_half_a_micrometre_from_their_arc(radius: float, sweep: float) -> None:
    segment = arc((3.0, -7.0), (3.0 + radius, -7.0), sweep)
    at = np.array(segment.start)
    t = np.linspace(0, 1, 40)[:, None]
    for curve in bezier_curves(segment):
        one, two, end = (np.array(p) for p in curve)
        points = (
            (1 - t) ** 3 * at + 3 * (1 - t) ** 2 * t * one + 3 * (1 - t) * t**2 * two + t**3 * end
        )
        away = np.hypot(*(points - np.array(segment.centre)).T) - radius
        assert np.abs(away).max() < 0.000505
        at = end
    assert at == pytest.approx(np.array(segment.end))


def test_unknown_paper_and_no_drawing_are_refused() -> None:
    plate = drawing(Path((line((0, 0), (9, 0)),)))
    with pytest.raises(RequestError, match="Choose A4 or Letter"):
        patterns_to_pdf([plate], "A3", "t")  # type: ignore[arg-type]
    with pytest.raises(RequestError, match="without a drawing"):
        patterns_to_pdf([], "A4", "t")

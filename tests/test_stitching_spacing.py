import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.design.piece import Fold
from hidewright.errors import RequestError
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Segment, arc, line, turn
from hidewright.stitching.anchors import CORNER, anchors_of, joints
from hidewright.stitching.spacing import chords, evenly, whole_stitches
from hidewright.stitching.thread_use import sewing_order


@st.composite
def stitch_lines(draw: st.DrawFn) -> Path:
    """Lines and arcs end to end, joined smoothly, with slight kinks, or with sharp corners."""
    heading, at = draw(st.floats(-3.0, 3.0)), (draw(st.floats(-50, 50)), draw(st.floats(-50, 50)))
    parts: list[Segment] = []
    for _ in range(draw(st.integers(1, 6))):
        if parts:
            joint = draw(
                st.one_of(st.just(0.0), st.floats(0.0, 0.3), st.floats(CORNER + 0.02, 2.0))
            )
            heading += joint * draw(st.sampled_from((-1.0, 1.0)))
        length = draw(st.floats(12.0, 70.0))
        if draw(st.booleans()):
            end = (at[0] + length * math.cos(heading), at[1] + length * math.sin(heading))
            parts.append(line(at, end))
        else:
            sweep = min(length / draw(st.floats(6.0, 60.0)), 3.0)
            sweep *= draw(st.sampled_from((-1.0, 1.0)))
            radius = length / abs(sweep)
            side = math.copysign(radius, sweep)
            centre = (at[0] - side * math.sin(heading), at[1] + side * math.cos(heading))
            parts.append(arc(centre, at, sweep))
            heading += sweep
        at = parts[-1].end
    return Path(tuple(parts))


@settings(max_examples=40, deadline=None)
@given(path=stitch_lines(), pitch=st.floats(2.0, 8.0))
def test_ends_and_corners_have_holes_gaps_are_equal_and_miss_the_pitch_least(
    path: Path, pitch: float
) -> None:
    if path.length < 3 * pitch:
        return
    anchors = anchors_of(path, pitch)
    stations = whole_stitches(path, anchors, pitch)
    along = stations.along_mm
    assert (along[0], along[-1]) == (0.0, path.length)
    assert list(along) == sorted(along)
    corners = [s for s, angle in joints(path) if abs(angle) > CORNER]
    assert all(min(abs(s - v) for v in along) < 1e-9 for s in corners)
    for i, j in pairwise(stations.anchors):
        between = chords(path, along[i : j + 1])
        assert np.ptp(between) < 1e-6
        miss = abs(between[0] - pitch)
        stretch = along[j] - along[i]
        # with gaps along the line of over two pitches or under half of one, no chord is nearer
        for count in range(math.ceil(stretch / (2 * pitch)), math.ceil(stretch / pitch) + 2):
            other = chords(path, evenly(path, along[i], along[j], count))
            assert miss <= abs(other[0] - pitch) + 1e-7


@pytest.mark.sweep
@settings(max_examples=1500, deadline=None)
@given(path=stitch_lines(), pitch=st.floats(1.5, 10.0))
def test_every_stretch_of_many_lines_can_be_cut_into_equal_chords(path: Path, pitch: float) -> None:
    if path.length < 3 * pitch:
        return
    stations = whole_stitches(path, anchors_of(path, pitch), pitch)
    for i, j in pairwise(stations.anchors):
        assert np.ptp(chords(path, stations.along_mm[i : j + 1])) < 1e-6


@given(length=st.floats(10.0, 400.0), pitch=st.floats(2.0, 6.0))
def test_on_a_straight_line_the_gap_is_the_length_over_the_best_whole_number(
    length: float, pitch: float
) -> None:
    if length < 2 * pitch:
        return
    path = Path((line((0.0, 0.0), (length, 0.0)),))
    stations = whole_stitches(path, anchors_of(path, pitch), pitch)
    low = max(math.floor(length / pitch), 1)
    best = min(abs(length / n - pitch) for n in (low, low + 1))
    gap = length / (len(stations.along_mm) - 1)
    assert abs(gap - pitch) == pytest.approx(best, abs=1e-9)
    assert np.diff(stations.along_mm) == pytest.approx(gap, abs=1e-9)


@given(radius=st.floats(6.0, 80.0), sweep=st.floats(0.5, 3.0), pitch=st.floats(2.0, 6.0))
def test_on_an_arc_the_pitch_is_the_chord_not_the_arc(
    radius: float, sweep: float, pitch: float
) -> None:
    if radius * sweep < 3 * pitch:
        return
    path = Path((arc((0.0, 0.0), (radius, 0.0), sweep),))
    along = whole_stitches(path, anchors_of(path, pitch), pitch).along_mm
    count = len(along) - 1
    assert chords(path, along) == pytest.approx(
        2 * radius * math.sin(sweep / (2 * count)), abs=1e-9
    )


@given(path=stitch_lines(), angle=st.floats(-3.0, 3.0), dx=st.floats(-200, 200))
@settings(max_examples=30, deadline=None)
def test_turning_and_shifting_a_line_leaves_its_stations_where_they_are(
    path: Path, angle: float, dx: float
) -> None:
    if path.length < 12.0:
        return
    moved = path.rotated(angle).moved(dx, -dx)
    ours = whole_stitches(path, anchors_of(path, 4.0), 4.0)
    theirs = whole_stitches(moved, anchors_of(moved, 4.0), 4.0)
    assert theirs.anchors == ours.anchors
    assert theirs.along_mm == pytest.approx(ours.along_mm, abs=1e-6)


def test_a_line_of_exactly_two_pitches_takes_two_stitches() -> None:
    path = Path((line((0.0, 0.0), (8.0, 0.0)),))
    assert whole_stitches(path, anchors_of(path, 4.0), 4.0).along_mm == (0.0, 4.0, 8.0)


@pytest.mark.parametrize("length", [0.5, 4.0, 5.0])
def test_a_short_line_is_refused_and_asks_for_a_finer_pitch(length: float) -> None:
    path = Path((line((0.0, 0.0), (length, 0.0)),))
    with pytest.raises(RequestError, match="finer pitch"):
        whole_stitches(path, anchors_of(path, 4.0), 4.0)


def test_the_hole_of_a_tiny_rounding_sits_in_its_middle() -> None:
    rounded = Path(
        (
            line((0.0, 0.0), (20.0, 0.0)),
            arc((20.0, 0.5), (20.0, 0.0), math.pi / 2),
            line((20.5, 0.5), (20.5, 30.0)),
        )
    )
    corner = [a.along_mm for a in anchors_of(rounded, 4.0) if a.kind == "corner"]
    assert corner == pytest.approx([20.0 + 0.5 * math.pi / 4], abs=1e-12)


def test_a_chamfer_shorter_than_half_a_pitch_gets_one_hole_in_its_middle() -> None:
    path = Path(
        (
            line((0.0, 0.0), (20.0, 0.0)),
            line((20.0, 0.0), (21.0, 1.0)),
            line((21.0, 1.0), (21.0, 30.0)),
        )
    )
    corner = [a.along_mm for a in anchors_of(path, 4.0) if a.kind == "corner"]
    assert corner == pytest.approx([20.0 + math.sqrt(2) / 2], abs=1e-12)


@pytest.mark.parametrize("turned", [0.0, 0.7, 2.5])
def test_holes_sit_on_both_edges_of_a_fold_on_lines_and_on_arcs(turned: float) -> None:
    path = Path(
        (
            line((0.0, 0.0), (40.0, 0.0)),
            arc((40.0, 30.0), (40.0, 0.0), math.pi),
        )
    )
    folds = [
        Fold(
            name=name,
            line=Path((line((x, -5.0), (x, 70.0)),)).rotated(turned),
            angle=math.pi / 2,
            inside_radius_mm=2.0,
            k_factor=0.5,
            strip_mm=5.0,
            glue_free_mm=(5.5, 5.5),
        )
        for name, x in (("first", 12.0), ("second", 60.0))
    ]
    placed = path.rotated(turned)
    anchors = anchors_of(placed, 4.0, folds)
    spots = [turn(placed.point_at(a.along_mm), -turned) for a in anchors if a.kind == "fold"]
    # the arc is met twice by each edge of the second fold
    rise = [30.0 - math.sqrt(900.0 - (x - 40.0) ** 2) for x in (57.5, 62.5)]
    expected = [
        (9.5, 0.0),
        (14.5, 0.0),
        (57.5, rise[0]),
        (62.5, rise[1]),
        (62.5, 60.0 - rise[1]),
        (57.5, 60.0 - rise[0]),
    ]
    assert np.array(spots) == pytest.approx(np.array(expected), abs=1e-9)
    stations = whole_stitches(placed, anchors, 4.0).along_mm
    assert all(any(a.along_mm == v for v in stations) for a in anchors)


@given(count=st.integers(2, 60), reverse=st.integers(0, 6))
def test_the_sewing_order_goes_from_neighbour_to_neighbour_and_back_over_both_ends(
    count: int, reverse: int
) -> None:
    if reverse > count - 1:
        with pytest.raises(RequestError, match="Sew back at most"):
            sewing_order(count, reverse)
        return
    order = sewing_order(count, reverse)
    assert order[0] == reverse
    assert all(abs(a - b) == 1 for a, b in pairwise(order))
    stitches = [min(a, b) for a, b in pairwise(order)]
    for i in range(count - 1):
        twice = (i < reverse) + (i >= count - 1 - reverse)
        assert stitches.count(i) == 1 + twice


def test_three_reverse_stitches_start_at_the_fourth_hole() -> None:
    assert sewing_order(8, 3) == (3, 2, 1, 0, 1, 2, 3, 4, 5, 6, 7, 6, 5, 4)


def test_a_closed_seam_is_sewn_once_round_and_on_over_its_beginning() -> None:
    assert sewing_order(5, 2, closed=True) == (0, 1, 2, 3, 4, 0, 1, 2)

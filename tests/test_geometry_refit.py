import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, turn_between
from hidewright.geometry.refit import (
    _fit_one,
    _longest,
    _Stretch,
    biarc,
    curve_to_segments,
    fit_curve,
    points_to_segments,
)
from hidewright.geometry.segment import Point, Segment


def wave(t: float) -> Point:
    return (10 * t, 4 * math.sin(t))


def turns(parts: tuple[Segment, ...]) -> list[float]:
    return [turn_between(a, b) for a, b in pairwise(parts)]


def biarc_error(h: float) -> float:
    def tangent(t: float) -> Point:
        size = math.hypot(10, 4 * math.cos(t))
        return (10 / size, 4 * math.cos(t) / size)

    a, b = 0.7, 0.7 + h
    parts = biarc(wave(a), tangent(a), wave(b), tangent(b))
    probes = [wave(a + h * k / 200) for k in range(1, 200)]
    return max(min(s.nearest(p)[1] for s in parts) for p in probes)


def test_a_biarc_comes_nearer_with_the_third_power_of_its_length() -> None:
    steps = [0.4, 0.2, 0.1, 0.05]
    errors = [biarc_error(h) for h in steps]
    order = np.polyfit(np.log(steps), np.log(errors), 1)[0]
    assert order == pytest.approx(3.0, abs=0.1)


def test_a_biarc_leaves_and_arrives_along_the_directions_given() -> None:
    a, b, ta, tb = (0.0, 0.0), (9.0, 3.0), (0.6, 0.8), (math.cos(-0.3), math.sin(-0.3))
    one, two = biarc(a, ta, b, tb)
    assert one.tangent_at(0) == pytest.approx(ta, abs=1e-12)
    assert two.tangent_at(two.length) == pytest.approx(tb, abs=1e-12)
    assert one.end == two.start
    assert abs(turn_between(one, two)) < 1e-12


@settings(max_examples=12, deadline=None)
@given(st.floats(1e-3, 0.1), st.floats(0.5, 8.0), st.floats(0.3, 3.0))
def test_a_fitted_curve_keeps_its_tolerance_and_has_no_corner(
    tolerance: float, height: float, pace: float
) -> None:
    def curve(t: float) -> Point:
        return (10 * t, height * math.sin(pace * t))

    parts, error = fit_curve(curve, 0.0, 6.0, tolerance, span="rim")
    off = max(min(s.nearest(curve(0.02 * k))[1] for s in parts) for k in range(301))
    assert off <= tolerance * 1.02 + 1e-9
    assert off <= error * 1.1 + 1e-9
    assert max(map(abs, turns(parts)), default=0.0) < 1e-6
    assert (parts[0].start, parts[-1].end) == (curve(0.0), curve(6.0))
    assert {s.span for s in parts} == {"rim"}


def test_a_true_arc_is_found_as_one_arc_and_a_true_line_as_one_line() -> None:
    arcs = curve_to_segments(lambda t: (8 * math.cos(t), 8 * math.sin(t)), 0.0, 2.0)
    assert len(arcs) == 1
    assert arcs[0].radius == pytest.approx(8.0, abs=1e-9)
    lines = curve_to_segments(lambda t: (3 * t, 4 * t), 0.0, 5.0)
    assert len(lines) == 1
    assert not lines[0].is_arc


def test_a_stated_corner_stays_sharp_and_a_jump_is_refused() -> None:
    def roof(t: float) -> Point:
        return (t, 5 - abs(t))

    parts = curve_to_segments(roof, -5.0, 5.0, corners=(0.0,))
    assert [(s.start, s.end) for s in parts] == [((-5, 0), (0, 5)), ((0, 5), (5, 0))]
    with pytest.raises(RequestError, match="it jumps"):
        curve_to_segments(lambda t: (t, 0.0 if t < 0.1 else 1.0), -5.0, 5.0)


def test_what_rounding_leaves_of_a_curve_is_not_fitted_for_itself() -> None:
    """Half of what is left, told as a length, may be short of its end by a rounding."""
    begin, end = 450.3169, 520.6068
    stretch = _Stretch(lambda t: np.stack([t, 40 * np.sin(t / 60)], axis=1), 0.0, end)
    _, off = _fit_one(stretch, begin, end, math.inf)
    short = (end - begin) * (1 - 1e-15)
    assert begin + short < end
    assert _longest(stretch, begin, short, off / 0.8)[2] == end


def test_points_on_a_circle_give_that_circle() -> None:
    a = np.linspace(0, 2 * math.pi, 120, endpoint=False)
    parts, error = points_to_segments(12 * np.stack([np.cos(a), np.sin(a)], 1), closed=True)
    assert error <= 0.005
    assert len(parts) <= 8
    assert Outline(parts).area == pytest.approx(math.pi * 144, rel=1e-4)
    assert max(map(abs, turns((*parts, parts[0])))) < 1e-6


def test_points_of_a_rounded_square_with_a_sharp_corner_keep_that_corner() -> None:
    sides = [(float(x), 0.0) for x in range(11)] + [(10.0, float(y)) for y in range(1, 11)]
    round_ = [(5 + 5 * math.cos(0.05 * k), 10 + 5 * math.sin(0.05 * k)) for k in range(1, 63)]
    points = np.array([*sides, *round_, (0.0, 10.0), *[(0.0, 10.0 - y) for y in range(1, 10)]])
    parts, error = points_to_segments(points, closed=True, span="rim")
    shape = Outline(parts)
    assert error <= 0.005
    assert max(shape.nearest((x, y))[1] for x, y in points.tolist()) <= 0.005
    sharp = [p.end for p, t in zip(parts, turns((*parts, parts[0])), strict=True) if t > 0.5]
    assert sorted(sharp) == [(0.0, 0.0), (10.0, 0.0)]


def test_four_points_of_a_square_are_a_square() -> None:
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    parts, error = points_to_segments(square, closed=True)
    assert [s.start for s in parts] == [(0, 0), (10, 0), (10, 10), (0, 10)]
    assert (Outline(parts).area, error) == (100.0, 0.0)


def test_two_points_are_a_line_and_one_is_refused() -> None:
    parts, error = points_to_segments(np.array([[0.0, 0.0], [3.0, 4.0]]))
    assert (len(parts), parts[0].length, error) == (1, 5.0, 0.0)
    with pytest.raises(RequestError, match="1 different points"):
        points_to_segments(np.array([[1.0, 1.0], [1.0, 1.0]]))

"""Outlines stretched evenly: lines, spans and smooth joints stay, arcs keep the tolerance."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.geometry.outline import Outline, turn_between
from hidewright.geometry.segment import Segment
from hidewright.geometry.shapes import arch, circle, rectangle, stadium
from hidewright.geometry.stretch import BIARC_OFF, _biarcs, stretched

WET = np.diag([1.01, 1.02])
DRY = np.diag([1 / 1.01, 1 / 1.02])


@pytest.mark.parametrize("shape", [arch(90, 110, 30), stadium(80, 30), rectangle(60, 40, 6)])
def test_stretching_keeps_lines_spans_and_smooth_joints_within_the_tolerance(
    shape: Outline,
) -> None:
    mapped, error = stretched(shape, WET)
    assert error <= 0.005
    assert mapped.area == pytest.approx(1.01 * 1.02 * shape.area, abs=0.005 * mapped.length)
    assert mapped.spans == shape.spans
    dense = shape.flat_points(1e-4) @ WET
    assert max(mapped.nearest((x, y))[1] for x, y in dense.tolist()) <= 0.00501
    back = mapped.flat_points(1e-4) @ DRY
    assert max(shape.nearest((x, y))[1] for x, y in back.tolist()) <= 0.00501
    lines = sum(not s.is_arc for s in shape.segments)
    assert sum(not s.is_arc for s in mapped.segments) == lines
    joints = {p for s in shape.segments for p in [s.start]}
    for x, y in (np.array(sorted(joints)) @ WET).tolist():
        assert min(math.dist((x, y), s.start) for s in mapped.segments) < 1e-9
    pairs = zip(mapped.segments, mapped.segments[1:] + mapped.segments[:1], strict=True)
    bends = [abs(turn_between(a, b)) for a, b in pairs]
    corners = 2 if "mouth" in shape.spans else 0
    assert sum(b > 1e-6 for b in bends) == corners


def test_stretching_there_and_back_gives_the_outline_again() -> None:
    shape = arch(90, 110, 30)
    there, _ = stretched(shape, WET, 0.001)
    again, _ = stretched(there, DRY, 0.001)
    assert again.area == pytest.approx(shape.area, abs=0.002 * shape.length)
    assert max(shape.nearest((x, y))[1] for x, y in again.flat_points().tolist()) < 0.002


def test_an_even_stretch_and_a_turn_keep_every_arc_one_arc() -> None:
    shape = rectangle(60, 40, 6)
    mapped, error = stretched(shape, 1.03 * np.array([[0.8, -0.6], [0.6, 0.8]]))
    assert error < 1e-6
    assert len(mapped.segments) == len(shape.segments)
    assert {round(s.radius, 6) for s in mapped.segments if s.is_arc} == {6.18}


def test_a_short_side_and_a_short_arc_stay_whole_when_stretched() -> None:
    shape = rectangle(60, 20.4, 10)  # its upright sides are 0.4 mm
    mapped, _ = stretched(shape, WET)
    upright = [s for s in mapped.segments if abs(s.tangent_at(0.0)[1]) > 0.999 and not s.is_arc]
    assert [round(s.length, 9) for s in upright] == [round(0.4 * 1.02, 9)] * 2


def test_a_stretched_circle_has_the_area_and_the_axes_of_the_ellipse() -> None:
    mapped, _ = stretched(circle(25), np.diag([1.3, 0.9]), 1e-4)
    assert mapped.area == pytest.approx(math.pi * 25 * 25 * 1.3 * 0.9, abs=1e-4 * mapped.length)
    assert (mapped.width, mapped.height) == pytest.approx((65, 45), abs=2e-4)


def test_a_biarc_on_a_stretched_arc_is_off_by_the_slope_of_its_curvature() -> None:
    """The third power and the divisor, where the curvature of the ellipse changes most."""
    share, sweep = 0.01, 0.05
    start = math.pi / 4 - sweep / 2
    a, b = (25 * math.cos(start), 25 * math.sin(start)), (0.0, 0.0)
    b = (25 * math.cos(start + sweep), 25 * math.sin(start + sweep))
    matrix = np.diag([1 + share, 1.0])
    seg = Segment(start=a, end=b, bulge=math.tan(sweep / 4))
    ends = tuple((x * (1 + share), y) for x, y in (a, b))
    _, off = _biarcs(seg, matrix, ends, 1)  # type: ignore[arg-type]
    assert off == pytest.approx(3 * share * 25 / BIARC_OFF * sweep**3, rel=0.03)


@given(
    along=st.floats(0.6, 1.6),
    across=st.floats(0.6, 1.6),
    angle=st.floats(-4, 4),
    tolerance=st.sampled_from([0.5, 0.05, 0.005]),
)
def test_any_stretch_keeps_its_tolerance_and_area(
    along: float, across: float, angle: float, tolerance: float
) -> None:
    c, s = math.cos(angle), math.sin(angle)
    turn = np.array([[c, -s], [s, c]])
    matrix = turn @ np.diag([along, across]) @ turn.T
    mapped, error = stretched(arch(90, 110, 30), matrix, tolerance)
    assert error <= tolerance
    dense = arch(90, 110, 30).flat_points(1e-3) @ matrix.T
    assert max(mapped.nearest((x, y))[1] for x, y in dense.tolist()) <= tolerance + 1e-3

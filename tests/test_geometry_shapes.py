import math

import pytest

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, turn_between
from hidewright.geometry.shapes import (
    arch,
    circle,
    d_shape,
    ellipse,
    polygon,
    rectangle,
    stadium,
    teardrop,
)


def is_smooth(shape: Outline) -> bool:
    pairs = zip(shape.segments, shape.segments[1:] + shape.segments[:1], strict=True)
    return all(abs(turn_between(a, b)) < 1e-9 for a, b in pairs)


def test_areas_are_those_of_the_textbook() -> None:
    corners = 4 - math.pi  # what rounding a whole set of four takes off, in r^2
    assert circle(7.0, (3.0, 4.0)).area == pytest.approx(math.pi * 7**2, rel=1e-12)
    assert rectangle(40, 20, 6).area == pytest.approx(40 * 20 - corners * 6**2, rel=1e-12)
    assert stadium(50, 20).area == pytest.approx(30 * 20 + math.pi * 10**2, rel=1e-12)
    assert arch(60, 90, 20).area == pytest.approx(60 * 90 - corners / 2 * 20**2, rel=1e-12)
    assert arch(60, 90, 30).area == pytest.approx(60 * 60 + math.pi / 2 * 30**2, rel=1e-12)
    assert d_shape(40, 30).area == pytest.approx(25 * 30 + math.pi / 2 * 15**2, rel=1e-12)
    assert d_shape(40, 30, 4).area == pytest.approx(
        25 * 30 + math.pi / 2 * 15**2 - corners / 2 * 4**2, rel=1e-12
    )
    assert ellipse(100, 60).area == pytest.approx(math.pi * 50 * 30, abs=0.005 * 260)


def test_bounds_are_the_measures_asked_for() -> None:
    assert circle(5, (1, 2)).bounds == pytest.approx((-4, -3, 6, 7))
    assert rectangle(40, 20, 3).bounds == pytest.approx((-20, -10, 20, 10))
    assert stadium(50, 20).bounds == pytest.approx((-25, -10, 25, 10))
    assert arch(60, 90, 20).bounds == pytest.approx((-30, -90, 30, 0))
    assert d_shape(40, 30, 2).bounds == pytest.approx((0, -15, 40, 15))
    assert teardrop(80, 40, 5).bounds == pytest.approx((-20, -20, 20, 60))
    assert ellipse(100, 60).bounds == pytest.approx((-50, -30, 50, 30))


@pytest.mark.parametrize(
    ("shape", "spans"),
    [
        (circle(5), ("rim",)),
        (rectangle(40, 20, 3), ("bottom", "right", "top", "left")),
        (stadium(50, 20), ("bottom", "right", "top", "left")),
        (arch(60, 90, 30), ("mouth", "rim")),
        (d_shape(40, 30), ("straight", "rim")),
        (teardrop(80, 40, 5), ("right", "tip", "left", "bottom")),
        (ellipse(100, 60), ("rim",)),
        (polygon([(0, 0), (9, 0), (0, 9)], 1.0, ("a", "b", "c")), ("a", "b", "c")),
    ],
)
def test_spans_run_counter_clockwise(shape: Outline, spans: tuple[str, ...]) -> None:
    assert shape.spans == spans


def test_the_mouth_of_an_arch_is_its_first_segment_and_straight_at_the_top() -> None:
    mouth = arch(60, 90, 30).segments[0]
    assert (mouth.start, mouth.end, mouth.span) == ((30, 0), (-30, 0), "mouth")


def test_a_corner_arc_belongs_to_the_side_before_it() -> None:
    parts = rectangle(40, 20, 3).segments
    assert [(s.span, s.is_arc) for s in parts[:2]] == [("bottom", False), ("bottom", True)]


@pytest.mark.parametrize(
    "shape",
    [
        rectangle(40, 20, 10),
        stadium(50, 20),
        teardrop(80, 40, 5),
        teardrop(41, 40, 5),
        d_shape(40, 30, 4),
        ellipse(100, 60),
        ellipse(10, 90, 0.001),
    ],
)
def test_round_shapes_have_no_corner(shape: Outline) -> None:
    assert is_smooth(shape)


@pytest.mark.parametrize("tolerance", [0.05, 0.005, 0.0005])
def test_an_ellipse_keeps_its_tolerance(tolerance: float) -> None:
    shape = ellipse(100, 60, tolerance)
    on = [(50 * math.cos(0.01 * k), 30 * math.sin(0.01 * k)) for k in range(629)]
    assert max(shape.nearest(p)[1] for p in on) <= tolerance * 1.01


def test_radii_that_use_up_a_side_leave_no_line_between() -> None:
    assert len(rectangle(40, 20, 10).segments) == 6
    assert len(rectangle(20, 20, 10).segments) == 4
    assert stadium(20, 20) == circle(10)


def test_polygon_corners_may_have_radii_of_their_own() -> None:
    square = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)]
    shape = polygon(square, (0.0, 5.0, 0.0, 2.0))
    assert sorted(s.radius for s in shape.segments if s.is_arc) == pytest.approx([2, 5])
    assert shape.area == pytest.approx(400 - (1 - math.pi / 4) * (25 + 4))
    clockwise = polygon(square[::-1], 3.0)
    assert clockwise.area == pytest.approx(polygon(square, 3.0).area)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: arch(50, 60, 30), "larger than half the width, 25 mm. Give at most 25 mm"),
        (lambda: rectangle(40, 20, 11), "larger than half the height, 10 mm"),
        (lambda: rectangle(-4, 20), "width -4 mm. Give more than 0 mm"),
        (lambda: circle(math.nan), "radius nan mm"),
        (lambda: circle(math.inf), "radius inf mm"),
        (lambda: rectangle(40, 20, math.nan), "corner radius nan mm"),
        (lambda: stadium(10, 20), "larger than the length, 10 mm"),
        (lambda: d_shape(10, 30), "half the height 15 mm"),
        (lambda: teardrop(80, 40, 25), "not smaller than half the width"),
        (lambda: teardrop(39, 40, 5), "Give more than 40 mm"),
        (lambda: polygon([(0, 0), (1, 0)]), "Give at least three"),
        (lambda: polygon([(0, 0), (1, 0), (1, 0)]), "same point"),
        (lambda: polygon([(0, 0), (10, 0), (0, 10)], (1.0, 2.0)), "one for each corner"),
        (lambda: polygon([(0, 0), (10, 0), (0, 10)], -1.0), "Give 0 or more"),
        (lambda: polygon([(0, 0), (10, 0), (2, 0), (5, 9)]), "turns back on itself"),
    ],
)
def test_impossible_measures_are_refused_with_what_would_do(make: object, words: str) -> None:
    assert callable(make)
    with pytest.raises(RequestError) as told:
        make()
    assert words in str(told.value)


def test_the_largest_radius_named_for_a_polygon_fits() -> None:
    corners = [(0.0, 0.0), (30.0, 0.0), (10.0, 14.0)]
    with pytest.raises(RequestError) as told:
        polygon(corners, 20.0)
    most = float(told.value.mend.split()[3])
    with pytest.raises(RequestError) as told:
        polygon(corners, 1.0 + most)
    assert 0 < float(told.value.mend.split()[3]) < 1.0 + most

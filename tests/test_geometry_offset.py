import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.geometry.boolean import difference
from hidewright.geometry.crossing import Distances
from hidewright.geometry.offset import offset, offset_all, offset_path, offset_span
from hidewright.geometry.outline import Outline, Path, outline
from hidewright.geometry.segment import Segment, line
from hidewright.geometry.shapes import arch, circle, polygon, rectangle, stadium, teardrop

SMOOTH = (
    circle(40),
    rectangle(120, 90, 40),
    rectangle(120, 90, 35),
    stadium(140, 80),
    teardrop(160, 110, 33),
    polygon([(0, 0), (240, 0), (240, 100), (110, 100), (110, 240), (0, 240)], 31.0),
)
NOTCHED = polygon(
    [(-40, 0), (40, 0), (40, 60), (10, 60), (10, 20), (-10, 20), (-10, 60), (-40, 60)],
    spans=("bottom", "right", "top", "notch", "notch", "notch", "top", "left"),
)
#: Two fields with a neck 4 mm wide between them.
WAISTED = polygon(
    [
        *((0, 0), (30, 0), (30, 13), (50, 13), (50, 0), (80, 0)),
        *((80, 30), (50, 30), (50, 17), (30, 17), (30, 30), (0, 30)),
    ]
)
#: A flask: a neck 4 mm wide opens into a hollow 20 mm wide.
FLASK = polygon(
    [
        *((-30, 0), (30, 0), (30, 50), (2, 50), (2, 35), (10, 35)),
        *((10, 15), (-10, 15), (-10, 35), (-2, 35), (-2, 50), (-30, 50)),
    ]
)


def same(a: Outline, b: Outline) -> bool:
    return len(a.segments) == len(b.segments) and all(
        s.start == pytest.approx(t.start, abs=1e-9)
        and s.end == pytest.approx(t.end, abs=1e-9)
        and s.bulge == pytest.approx(t.bulge, abs=1e-9)
        and s.span == t.span
        for s, t in zip(a.segments, b.segments, strict=True)
    )


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(SMOOTH), st.floats(0.1, 30.0), st.sampled_from((1, -1)))
def test_out_and_back_is_the_same_outline(shape: Outline, distance: float, sign: int) -> None:
    d = sign * distance
    assert same(offset(offset(shape, d), -d), shape)


@settings(max_examples=40, deadline=None)
@given(st.floats(6.0, 40.0), st.floats(1.0, 30.0), st.sampled_from((1, -1)))
def test_every_point_of_an_offset_lies_at_the_distance(
    radius: float, distance: float, sign: int
) -> None:
    shape = arch(90, 110, radius)
    moved = offset(shape, sign * distance)
    points = moved.flat_points(0.02)
    off = [abs(shape.nearest((x, y))[1] - distance) for x, y in points.tolist()]
    assert max(off) < 1e-6 or min(s.length for s in moved.segments) < 0.05


def test_radii_grow_outward_and_shrink_inward_and_spans_stay() -> None:
    shape = arch(90, 110, 30)
    out, into = offset(shape, 5), offset(shape, -5)
    assert sorted(round(s.radius, 9) for s in out.segments if s.is_arc) == [5, 5, 35, 35]
    assert [round(s.radius, 9) for s in into.segments if s.is_arc] == [25, 25]
    assert out.bounds == pytest.approx((-50, -115, 50, 5))
    assert into.bounds == pytest.approx((-40, -105, 40, -5))
    assert (out.spans, into.spans) == (("mouth", "rim"), ("mouth", "rim"))


def test_a_join_belongs_to_the_side_before_its_corner_both_ways() -> None:
    out = offset(rectangle(40, 20), 3)
    assert [s.span for s in out.segments if s.is_arc] == ["bottom", "right", "top", "left"]
    into = offset(NOTCHED, -3)
    joins = [s for s in into.segments if s.is_arc]
    assert [(round(s.radius, 9), s.span) for s in joins] == [(3, "notch"), (3, "notch")]


def test_a_mitred_offset_of_a_rectangle_is_a_larger_rectangle() -> None:
    out = offset(rectangle(40, 20), 3, sharp=True)
    assert same(out, rectangle(46, 26))
    steep = polygon([(0, 0), (60, 0), (60, 10)])  # its 9 degree corner stays round
    assert sum(s.is_arc for s in offset(steep, 2, sharp=True).segments) == 1


def test_a_mitre_keeps_round_what_was_round() -> None:
    shape = arch(90, 110, 30)
    out = offset(shape, 5, sharp=True)
    assert sorted(round(s.radius, 9) for s in out.segments if s.is_arc) == [35, 35]
    assert out.bounds == pytest.approx((-50, -115, 50, 5))
    assert out.area == pytest.approx(100 * 120 - (4 - math.pi) / 2 * 35**2)


@pytest.mark.parametrize(
    ("shape", "distance", "because", "largest"),
    [
        (rectangle(40, 20), -12.0, "nothing is left", 10.0),
        (WAISTED, -3.0, "it falls into 2 parts", 2.0),
        (FLASK, 3.0, "a notch closes and leaves a hole", 2.0),
        (circle(15), -15.0, "nothing is left", 15.0),
    ],
)
def test_what_cannot_be_offset_is_refused_with_the_largest_distance(
    shape: Outline, distance: float, because: str, largest: float
) -> None:
    with pytest.raises(RequestError, match=because) as told:
        offset(shape, distance)
    most = float(told.value.mend.split()[3])
    assert largest - 0.03 <= most <= largest
    assert offset(shape, math.copysign(most, distance)).area > 0


def test_all_parts_and_holes_of_an_offset_can_be_had() -> None:
    parts = offset_all(WAISTED, -3.0)
    assert [p.area for p in parts] == pytest.approx([24 * 24 + _between_discs(3.0)] * 2)
    (closed,) = offset_all(FLASK, 3.0)
    assert [h.area for h in closed.holes] == pytest.approx([14 * 14 + _between_discs(3.0)])
    assert offset_all(rectangle(40, 20), -12) == ()


def _between_discs(d: float) -> float:
    """Area between a line and two discs that touch it from one side, 4 mm apart.

    The corners at a neck 4 mm wide throw discs of radius d; between them the offset of the field
    beside the neck dips in: 2 integral of (d - sqrt(d^2 - u^2)) over u from 0 to 2.
    """
    half = 2.0
    return 2 * half * d - (half * math.sqrt(d**2 - half**2) + d**2 * math.asin(half / d))


@pytest.mark.parametrize("distance", [math.nan, math.inf])
def test_a_distance_that_is_no_number_is_refused(distance: float) -> None:
    with pytest.raises(RequestError, match="finite"):
        offset(circle(5), distance)


def test_no_distance_is_the_outline_itself() -> None:
    shape = circle(5)
    assert offset(shape, 0.0) is shape


@pytest.mark.parametrize("less", [1e-3, 1e-5, 1e-7, 0.0, -1e-7, -1e-4])
def test_an_arc_that_is_just_used_up_leaves_a_corner(less: float) -> None:
    moved = offset(rectangle(60, 40, 6), -6 + less)
    assert moved.area == pytest.approx(48 * 28, abs=200 * abs(less) + 1e-4)
    assert min(s.length for s in moved.segments) >= 0.01


@pytest.mark.parametrize("angle", [0.0, 0.3, math.pi / 2, 2.0, math.pi, 4.0, 5.7])
def test_a_notch_closed_to_a_cusp_closes_on(angle: float) -> None:
    """Two offsets outward are one by their sum (Minkowski sums of discs)."""
    notched = difference(rectangle(60, 40), circle(3.0, (0.0, 20.0)))[0].outer
    notched = notched.rotated(angle).moved(7, -11)
    twice = offset(offset(notched, 3.0), 0.076)
    assert twice.area == pytest.approx(offset(notched, 3.076).area, abs=1e-6)


@pytest.mark.parametrize("angle", [0.0, 0.7, 2.0, 4.4])
@pytest.mark.parametrize("wider", [0.0, 1e-7, 1e-4, 4e-3, -1e-4])
def test_a_strap_as_wide_as_two_distances_closes_up_and_is_gone(wider: float, angle: float) -> None:
    """What is left is the body's own offset; the strap's is a line there and back."""
    x = 7.0 + wider / 2
    body = [(-40.0, 0.0), (-40.0, -50.0), (40.0, -50.0), (40.0, 0.0)]
    strap = [(x, 0.0), (x, 60.0), (-x, 60.0), (-x, 0.0)]
    (left,) = offset_all(polygon([*body, *strap]).rotated(angle), -7.0)
    assert left.outer.area == pytest.approx(66.0 * 36.0 + (49.0 - math.pi * 49 / 4) * 2, abs=0.1)


@pytest.mark.parametrize("wider", [-1e-9, 1e-9, -1e-7, 1e-11])
def test_a_strap_a_hair_off_two_distances_is_gone_or_stays_whole_however_it_is_turned(
    wider: float,
) -> None:
    """Rounding decides whether each of its two sides comes nearer than the distance."""
    x = 3.0 + wider / 2
    body = [(-40.0, 0.0), (-40.0, -50.0), (40.0, -50.0), (40.0, 0.0)]
    strapped = polygon([*body, (x, 0.0), (x, 23.7), (-x, 23.7), (-x, 0.0)])
    for angle in np.linspace(0.0, 6.2, 63):
        (left,) = offset_all(strapped.rotated(float(angle)), -3.0)
        assert left.outer.area == pytest.approx(74.0 * 44.0 + 18.0 - 4.5 * math.pi, abs=0.05)


@pytest.mark.parametrize("angle", [0.0, 0.3, math.pi / 2, 2.0, math.pi, 4.0, 5.7])
@pytest.mark.parametrize("inner", [12.0, 19.0])
def test_a_crescent_is_offset_round_its_tip_by_steiners_formula(angle: float, inner: float) -> None:
    """Half of a crescent between two circles that touch, bounded by the line of their centres."""
    tip, far, near = (0.0, 0.0), (40.0, 0.0), (2 * inner, 0.0)
    half = outline(
        [
            Segment(start=tip, end=far, bulge=1.0),
            line(far, near),
            Segment(start=near, end=tip, bulge=-1.0),
        ]
    ).rotated(angle)
    d = 0.4
    around = half.area + half.length * d + math.pi * d * d
    assert offset(half, d).area == pytest.approx(around, abs=1e-6)


def test_turning_and_moving_the_outline_turns_and_moves_its_offset() -> None:
    there = NOTCHED.rotated(0.7).moved(300, -200)
    moved = offset(there, 4.0)
    again = offset(NOTCHED, 4.0).rotated(0.7).moved(300, -200)
    assert same(moved.starting_at("bottom"), again.starting_at("bottom"))


def test_the_offset_of_a_span_ends_where_the_offsets_cross() -> None:
    stitch = offset_span(arch(90, 110, 30), "rim", -4)
    assert stitch.start == pytest.approx((-41, -4))
    assert stitch.end == pytest.approx((41, -4))
    assert stitch.length == pytest.approx(2 * 76 + math.pi * 26 + 30)
    with pytest.raises(RequestError, match="no span 'flap'"):
        offset_span(arch(90, 110, 30), "flap", -4)


def test_a_path_moved_sideways_runs_to_the_ends() -> None:
    rim = arch(90, 110, 30).span_path("rim")
    stitch = offset_path(rim, -4)
    assert stitch.start == pytest.approx((-41, 0))
    assert stitch.end == pytest.approx((41, 0))
    assert stitch.length == pytest.approx(2 * 80 + math.pi * 26 + 30)
    assert stitch.spans == ("rim",)
    out = offset_path(rim, 4)
    assert out.length == pytest.approx(2 * 80 + math.pi * 34 + 30)
    back = offset_path(rim.backwards(), 4)
    assert back.start == pytest.approx(stitch.end)


def test_a_path_moved_round_its_corners_joins_outward_and_crosses_inward() -> None:
    path = Path((line((0, 0), (50, 0), "a"), line((50, 0), (50, 50), "b")))
    out, into = offset_path(path, 5), offset_path(path, -5)
    assert out.length == pytest.approx(100 + math.pi / 2 * 5)
    assert [s.span for s in out.segments] == ["a", "a", "b"]
    assert into.length == pytest.approx(90)
    assert [s.span for s in into.segments] == ["a", "b"]


def test_a_path_too_tight_for_its_offset_is_refused() -> None:
    u = Path(arch(10, 40, 5).span_path("rim").segments)
    with pytest.raises(RequestError, match="moved sideways by -6 mm"):
        offset_path(u, -6)


def test_distances_of_many_points_are_those_of_one() -> None:
    shape = offset(NOTCHED, 4.0)
    points = np.random.default_rng(5).uniform(-70, 90, (200, 2))
    single = [[s.nearest((x, y))[1] for s in shape.segments] for x, y in points.tolist()]
    assert Distances(shape.segments).table(points) == pytest.approx(np.array(single), abs=1e-9)


@pytest.mark.parametrize("distance", [-4.9, -0.1, 0.1, 30.0])
def test_a_circle_stays_the_same_circle_about_its_centre(distance: float) -> None:
    made = offset(circle(5.0, (3.0, -2.0), "hole"), distance)
    assert made.area == pytest.approx(math.pi * (5.0 + distance) ** 2, rel=1e-12)
    assert [s.centre for s in made.segments] == [pytest.approx((3.0, -2.0))] * 2
    assert made.spans == ("hole",)


def test_a_circle_offset_to_nothing_is_refused() -> None:
    with pytest.raises(RequestError):
        offset(circle(5.0), -5.0)

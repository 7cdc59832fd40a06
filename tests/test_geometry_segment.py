import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path, joined, outline
from hidewright.geometry.segment import Segment, arc, arc_through, line
from hidewright.geometry.shapes import arch, circle, rectangle, stadium

bulges = st.one_of(st.floats(-5, 5), st.floats(-1e-5, 1e-5), st.just(0.0))
coordinates = st.floats(-100, 100)
segments = st.builds(
    lambda x, y, turn, chord, bulge: Segment(
        start=(x, y),
        end=(x + chord * math.cos(turn), y + chord * math.sin(turn)),
        bulge=bulge,
    ),
    coordinates,
    coordinates,
    st.floats(0, 6.3),
    st.floats(0.1, 150),
    bulges,
)


@given(segments, st.floats(0, 1))
def test_a_point_of_a_segment_is_nearest_to_itself(seg: Segment, f: float) -> None:
    along, away = seg.nearest(seg.point_at(f * seg.length))
    assert away < 1e-9
    assert along == pytest.approx(f * seg.length, abs=1e-6)


@given(segments, st.floats(0.01, 0.99), st.floats(0.01, 0.9))
def test_a_point_beside_a_segment_is_that_far_away(seg: Segment, f: float, g: float) -> None:
    gap = min(g * seg.radius, 20.0)
    (x, y), (nx, ny) = seg.point_at(f * seg.length), seg.normal_at(f * seg.length)
    outward = math.copysign(1.0, seg.bulge)  # away from the centre, where no end is nearer
    along, away = seg.nearest((x + outward * gap * nx, y + outward * gap * ny))
    assert away == pytest.approx(gap, abs=1e-8)
    assert along == pytest.approx(f * seg.length, abs=1e-5)


@given(segments)
def test_its_ends_are_at_no_distance_and_at_its_length(seg: Segment) -> None:
    assert seg.point_at(0.0) == pytest.approx(seg.start, abs=1e-9)
    assert seg.point_at(seg.length) == pytest.approx(seg.end, abs=1e-9)


@given(segments, st.floats(0.05, 0.95))
def test_parts_add_up_in_length_and_area(seg: Segment, f: float) -> None:
    one, two = seg.part(0, f * seg.length), seg.part(f * seg.length, seg.length)
    assert one.end == pytest.approx(two.start, abs=1e-9)
    assert one.length + two.length == pytest.approx(seg.length, rel=1e-6)
    assert one.area + two.area == pytest.approx(seg.area, abs=1e-3)


def test_a_flat_arc_with_a_far_centre_is_exact_at_its_middle() -> None:
    bow = Segment(start=(0, 0), end=(100, 0), bulge=1e-6)  # radius 25 km, rise 0.05 micrometre
    assert bow.point_at(bow.length / 2)[1] == pytest.approx(-100 * 1e-6 / 2, rel=1e-9)
    assert bow.nearest((50.0, 3.0))[1] == pytest.approx(3.00005, abs=1e-12)


@given(segments, coordinates, coordinates, st.floats(-6.3, 6.3), st.floats(0.1, 3.0))
def test_a_segment_put_elsewhere_is_one_drawn_there(
    seg: Segment, dx: float, dy: float, angle: float, factor: float
) -> None:
    seg = seg.named("rim")
    assert seg.length > 0  # what is kept of one must not be kept of another
    for one in (seg.moved(dx, dy), seg.rotated(angle), seg.scaled(factor), seg.mirrored()):
        drawn = Segment(start=one.start, end=one.end, bulge=one.bulge, span="rim")
        assert one == drawn
        assert hash(one) == hash(drawn)
        assert (one.length, one.is_arc) == (drawn.length, drawn.is_arc)
    assert seg.scaled(factor).length == pytest.approx(factor * seg.length, rel=1e-9)
    assert seg.backwards().backwards() == seg


def test_an_arc_and_its_measures() -> None:
    quarter = arc((0, 0), (10, 0), math.pi / 2)
    assert quarter.end == pytest.approx((0, 10))
    assert quarter.curvature == pytest.approx(0.1)
    assert quarter.backwards().curvature == pytest.approx(-0.1)
    assert quarter.length == pytest.approx(5 * math.pi)
    most = arc((0, 0), (10, 0), math.radians(340))
    assert most.nearest((-20, 0)) == pytest.approx((10 * math.pi, 10))
    assert most.nearest((20, 0))[1] == pytest.approx(10)
    assert arc_through((10, 0), (0, 10), (-10, 0)).sweep == pytest.approx(math.pi)


def test_a_line_turned_round_keeps_a_plain_zero_bulge() -> None:
    assert math.copysign(1, line((0, 0), (1, 0)).backwards().bulge) == 1
    assert math.copysign(1, line((0, 0), (1, 0)).mirrored().bulge) == 1


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_segment_of_no_length_or_no_number_is_refused(bad: float) -> None:
    with pytest.raises(RequestError, match="not a finite number"):
        line((0, 0), (bad, 0))
    with pytest.raises(RequestError, match="the same point"):
        line((1, 1), (1, 1 + 1e-9))


@settings(max_examples=50)
@given(st.floats(-30, 30), st.floats(-15, 15))
def test_a_point_is_inside_an_outline_exactly_up_to_its_arcs(x: float, y: float) -> None:
    shape = stadium(50, 20)
    inside = math.hypot(max(abs(x) - 15, 0), y) < 10
    edge = abs(math.hypot(max(abs(x) - 15, 0), y) - 10) < 1e-6
    assert edge or shape.contains((x, y)) == inside


def test_a_point_between_an_arc_and_its_chord_is_inside() -> None:
    disc = circle(100)
    assert disc.contains((99.9999, 0.5 * math.sqrt(1e-4)))
    assert not disc.contains((100.0001, 0))
    assert disc.contains((0, 0), 99.9)
    assert not disc.contains((0, 0.2), 99.9)


def test_sides_that_cross_by_a_hair_beside_a_sharp_tip_are_refused() -> None:
    bowed = Segment(start=(40, 0), end=(0, 0), bulge=0.0)
    near = Segment(start=(0, 0), end=(30, 0.06), bulge=4e-3)  # dips 0.03 under the first side
    rest = line((30, 0.06), (40, 20))
    with pytest.raises(RequestError, match="crosses or touches"):
        outline((bowed, near, rest, line((40, 20), (40, 0))))
    slight = Segment(start=(0, 0), end=(30, 0.06), bulge=1.2e-3)  # 0.0005 only
    with pytest.raises(RequestError, match="sharp tip"):
        outline((bowed, slight, rest, line((40, 20), (40, 0))))


@pytest.mark.parametrize("shape", [arch(90, 110, 30), rectangle(60, 40, 6), circle(7)])
def test_mirroring_turning_and_moving_keep_area_and_length(shape: Outline) -> None:
    for other in (shape.mirrored(), shape.rotated(1.1, (3, 4)), shape.moved(9, -5)):
        assert other.area == pytest.approx(shape.area)
        assert other.length == pytest.approx(shape.length)
        assert other.spans[:1] != ()
    assert shape.scaled(2).area == pytest.approx(4 * shape.area)


def test_pieces_of_one_line_or_arc_are_joined_again() -> None:
    whole = arc((0, 0), (10, 0), 2.0, "rim")
    assert len(joined((whole.part(0, 7), whole.part(7, whole.length)))) == 1
    straight = line((0, 0), (9, 3), "rim")
    assert joined((straight.part(0, 4), straight.part(4, 99))) == (straight,)
    other = straight.part(4, 99).named("mouth")
    assert len(joined((straight.part(0, 4), other))) == 2


def test_a_stretch_of_a_path_has_the_length_asked_for() -> None:
    rim = arch(90, 110, 30).span_path("rim")
    part = rim.part(50, 200)
    assert isinstance(part, Path)
    assert part.length == pytest.approx(150)
    assert part.start == pytest.approx(rim.point_at(50))

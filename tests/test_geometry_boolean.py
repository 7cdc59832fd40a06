import math

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from hidewright.errors import RequestError
from hidewright.geometry.boolean import (
    Region,
    clip_half_plane,
    difference,
    intersection,
    regions_of,
    split_by_line,
    union,
)
from hidewright.geometry.crossing import crossings
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Segment
from hidewright.geometry.shapes import arch, circle, polygon, rectangle, stadium

FINE_MM = 1e-3


def random_shape(rng: np.random.Generator) -> Outline:
    kind = rng.integers(0, 4)
    if kind == 0:
        shape = circle(float(rng.uniform(5, 25)))
    elif kind == 1:
        width, height, radius = (float(v) for v in rng.uniform((20, 20, 0), (60, 60, 9)))
        shape = rectangle(width, height, radius)
    elif kind == 2:
        shape = stadium(float(rng.uniform(30, 60)), float(rng.uniform(5, 29)))
    else:
        bent = [
            Segment(start=s.start, end=s.end, bulge=float(rng.uniform(-0.3, 0.5)))
            for s in rectangle(50, 30).segments
        ]
        shape = Outline(tuple(bent))
    shift = rng.choice([0.0, 5.0, 10.0, 12.5, float(rng.uniform(0, 30))], 2)
    turned = shape.rotated(float(rng.choice([0.0, math.pi / 2, rng.uniform(0, 6)])))
    return turned.moved(float(shift[0]), float(shift[1]))


def fine(shape: Outline) -> shapely.Polygon:
    return shapely.Polygon(shape.flat_points(FINE_MM))


def fine_region(region: Region) -> shapely.Polygon:
    return shapely.Polygon(
        region.outer.flat_points(FINE_MM), [h.flat_points(FINE_MM) for h in region.holes]
    )


def check(regions: tuple[Region, ...], expected: BaseGeometry) -> None:
    got = shapely.union_all([fine_region(r) for r in regions])
    rim = expected.length + got.length + 1
    assert got.area == pytest.approx(expected.area, abs=2 * FINE_MM * rim + 1e-3 * rim)
    assert got.symmetric_difference(expected).buffer(-0.01).is_empty
    assert sum(r.area for r in regions) == pytest.approx(got.area, abs=2 * FINE_MM * rim + 1e-9)


def sweep(seeds: range) -> int:
    """Check three booleans for each seed; return how many were refused."""
    refused = 0
    for seed in seeds:
        rng = np.random.default_rng(seed)
        a, b = random_shape(rng), random_shape(rng)
        x, y = fine(a), fine(b)
        cases = ((union, x.union(y)), (intersection, x & y), (difference, x - y))
        for combine, expected in cases:
            try:
                regions = combine(a, b)
            except RequestError:
                # only where a hair more or less changes how it hangs together
                assert pieces(expected.buffer(-0.015)) != pieces(expected.buffer(0.015))
                refused += 1
            else:
                check(regions, expected)
    return refused


def pieces(area: BaseGeometry) -> tuple[int, int]:
    parts = [p for p in shapely.get_parts(area) if p.area > 0]
    return len(parts), sum(len(p.interiors) for p in parts)


def test_booleans_of_random_shapes_are_those_of_fine_polygons() -> None:
    assert sweep(range(60)) == 0


@pytest.mark.sweep
@pytest.mark.parametrize("block", range(8))
def test_booleans_of_two_thousand_random_shapes_are_those_of_fine_polygons(block: int) -> None:
    assert sweep(range(1000 + 250 * block, 1250 + 250 * block)) <= 1


def test_two_overlapping_circles_have_the_area_of_the_lens() -> None:
    r, d = 20.0, 25.0
    lens = 2 * r**2 * math.acos(d / (2 * r)) - d / 2 * math.sqrt(4 * r**2 - d**2)
    a, b = circle(r, span="one"), circle(r, (d, 0), span="two")
    (both,), (common,), (rest,) = union(a, b), intersection(a, b), difference(a, b)
    assert common.area == pytest.approx(lens, rel=1e-12)
    assert both.area == pytest.approx(2 * math.pi * r**2 - lens, rel=1e-12)
    assert rest.area == pytest.approx(math.pi * r**2 - lens, rel=1e-12)
    assert {round(s.radius, 9) for s in both.outer.segments} == {r}
    assert set(both.outer.spans) == {"one", "two"}
    assert both.holes == ()


def test_a_hole_is_cut_and_filled_again() -> None:
    plate, peg = rectangle(60, 40, 5), circle(6, (4, 3))
    (holed,) = difference(plate, peg)
    assert [h.area for h in holed.holes] == pytest.approx([math.pi * 36])
    assert holed.area == pytest.approx(plate.area - math.pi * 36)
    assert union(plate, peg)[0].area == pytest.approx(plate.area)
    assert intersection(plate, peg)[0].area == pytest.approx(math.pi * 36)
    assert difference(peg, plate) == ()


def test_shapes_apart_stay_apart() -> None:
    a, b = circle(5), circle(5, (30, 0))
    assert len(union(a, b)) == 2
    assert intersection(a, b) == ()
    assert [r.area for r in difference(a, b)] == pytest.approx([a.area])


def test_neighbours_with_a_common_edge_become_one() -> None:
    a, b = rectangle(20, 20), rectangle(20, 20).moved(20, 5)
    (both,) = union(a, b)
    assert both.area == pytest.approx(800)
    assert len(both.outer.segments) == 8
    assert intersection(a, b) == ()
    assert [r.area for r in difference(a, b)] == pytest.approx([400])


def test_a_shape_and_itself() -> None:
    a = arch(60, 90, 20)
    assert [r.area for r in union(a, a)] == pytest.approx([a.area])
    assert [r.area for r in intersection(a, a)] == pytest.approx([a.area])
    assert difference(a, a) == ()


def test_shapes_that_touch_at_a_corner_come_out_as_two() -> None:
    a, b = rectangle(20, 20), rectangle(20, 20).moved(20, 20)
    assert [r.area for r in union(a, b)] == pytest.approx([400, 400])


def test_a_ring_closed_by_a_bar_has_a_hole() -> None:
    u = polygon([(0, 0), (40, 0), (40, 40), (30, 40), (30, 10), (10, 10), (10, 40), (0, 40)])
    (ring,) = union(u, rectangle(40, 10).moved(20, 40))
    assert [h.area for h in ring.holes] == pytest.approx([20 * 25])
    assert ring.area == pytest.approx(40 * 45 - 20 * 25)


def test_a_hole_belongs_to_the_smallest_region_round_it() -> None:
    def loop(radius: float, hole: bool) -> tuple[Segment, ...]:
        path = circle(radius).as_path()
        return path.backwards().segments if hole else path.segments

    loops = [loop(10, True), loop(40, False), loop(30, True), loop(20, False)]
    big, island = regions_of(loops)
    assert big.area == pytest.approx(math.pi * (40**2 - 30**2))
    assert island.area == pytest.approx(math.pi * (20**2 - 10**2))


def test_an_arc_with_a_far_centre_crosses_a_circle_exactly() -> None:
    bow = Segment(start=(-9.0, 3.0), end=(9.0, 5.0), bulge=1.8e-6)  # radius 2500 m
    for ring in circle(6.0).segments:
        for x, y in crossings(bow, ring):
            assert math.hypot(x, y) == pytest.approx(6.0, abs=1e-12)
            assert bow.nearest((x, y))[1] < 1e-12
    assert sum(len(crossings(bow, ring)) for ring in circle(6.0).segments) == 2


def test_a_cut_leaves_the_left_part_with_its_new_edge_named() -> None:
    shape = arch(90, 110, 30)
    (top,) = clip_half_plane(shape, (0, -20), (1, 0), "cut")
    assert top.area == pytest.approx(90 * 20)
    assert top.span_path("cut").length == pytest.approx(90)
    assert set(top.spans) == {"mouth", "rim", "cut"}
    above, below = split_by_line(shape, (0, -20), (3, 0), "cut")
    assert above[0].area + below[0].area == pytest.approx(shape.area)
    assert below[0].span_path("cut").length == pytest.approx(90)


def test_a_cut_across_two_legs_leaves_two_parts() -> None:
    u = polygon([(0, 0), (40, 0), (40, 40), (30, 40), (30, 10), (10, 10), (10, 40), (0, 40)])
    legs = clip_half_plane(u, (0, 20), (1, 0), "cut")
    assert [leg.area for leg in legs] == pytest.approx([200, 200])
    assert all(leg.span_path("cut").length == pytest.approx(10) for leg in legs)


def test_a_cut_beside_the_shape_leaves_all_or_nothing() -> None:
    shape = circle(5)
    assert clip_half_plane(shape, (0, -9), (1, 0))[0].area == pytest.approx(shape.area)
    assert clip_half_plane(shape, (0, 9), (1, 0)) == ()
    with pytest.raises(RequestError, match="without direction"):
        clip_half_plane(shape, (0, 0), (0, 0))


def test_a_cut_along_an_edge_keeps_the_shape() -> None:
    shape = rectangle(40, 20)
    assert clip_half_plane(shape, (0, -10), (1, 0), "cut")[0].area == pytest.approx(800)
    assert clip_half_plane(shape, (0, 10), (1, 0), "cut") == ()

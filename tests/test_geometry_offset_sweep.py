"""Offsets of random outlines against an independent construction of the same area."""

import math
from collections.abc import Iterator

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from hidewright.errors import RequestError
from hidewright.geometry.boolean import Region
from hidewright.geometry.crossing import Distances
from hidewright.geometry.offset import offset_all
from hidewright.geometry.outline import Outline, outline
from hidewright.geometry.segment import Point, Segment
from hidewright.geometry.shapes import polygon

#: Sagitta of the reference's chords, mm.
FINE_MM = 1e-3
GRID_MM = 1e-7


def random_outline(rng: np.random.Generator) -> Outline:
    """A star-shaped loop: some corners rounded, some sides bulged in or out, some split finely."""
    while True:
        n = int(rng.integers(3, 10))
        angles = np.sort(rng.uniform(0, 2 * math.pi, n))
        radii = rng.uniform(12, 60) * rng.uniform(0.35, 1.0, n)
        corners = [
            (float(r * math.cos(a)), float(r * math.sin(a)))
            for r, a in zip(radii, angles, strict=True)
        ]
        rounded = [float(r) for r in rng.choice([0.0, 0.0, 0.02, 1.0, 3.0, 6.0, 10.0], n)]
        try:
            base = polygon(corners, rounded, [f"side {k}" for k in range(n)])
            return outline(_disturbed(base.segments, rng))
        except RequestError:
            continue


def _disturbed(segments: tuple[Segment, ...], rng: np.random.Generator) -> Iterator[Segment]:
    for seg in segments:
        kind = rng.integers(0, 6)
        if kind == 0 and not seg.is_arc and seg.length > 1:  # a bulged side
            yield Segment(
                start=seg.start, end=seg.end, bulge=float(rng.uniform(-1, 1)), span=seg.span
            )
        elif kind == 1 and not seg.is_arc and seg.length > 1:  # nearly straight
            bulge = float(rng.choice([-1, 1]) * 10.0 ** rng.uniform(-6, -2))
            yield Segment(start=seg.start, end=seg.end, bulge=bulge, span=seg.span)
        elif kind == 2 and seg.length > 0.05:  # a tiny segment at its end
            cut = seg.length - float(rng.uniform(0.001, 0.02))
            yield seg.part(0, cut)
            yield seg.part(cut, seg.length)
        elif kind == 3 and seg.length > 2:  # a joint that is nearly tangent
            cut = seg.length / 2
            x, y = seg.point_at(cut)
            nx, ny = seg.normal_at(cut)
            by = float(rng.normal()) * 10.0 ** float(rng.uniform(-7, -1))
            middle = (x + nx * by, y + ny * by)
            bulge = math.tan(seg.sweep / 8)
            yield Segment(start=seg.start, end=middle, bulge=bulge, span=seg.span)
            yield Segment(start=middle, end=seg.end, bulge=bulge, span=seg.span)
        else:
            yield seg


def random_distance(rng: np.random.Generator, shape: Outline) -> float:
    """Mostly plain distances both ways; now and then one that just uses up an arc."""
    arcs = [s.radius for s in shape.segments if s.is_arc and s.radius < 40]
    if arcs and rng.random() < 0.25:
        nearly = float(rng.choice([0.0, 1e-7, -1e-7, 1e-4, -1e-4, 0.003, -0.003, 0.02]))
        return float(rng.choice([-1, 1])) * abs(float(rng.choice(arcs)) + nearly) or 1.0
    return float(rng.choice([-1, 1]) * rng.uniform(0.2, 30))


def reference(shape: Outline, distance: float, grid: float | None = None) -> BaseGeometry:
    """The outline's area with the strips and discs round all its segments added or taken away."""
    d = abs(distance)
    strips = [_strip(seg, d) for seg in shape.segments]
    discs = [_disc(seg.start, d) for seg in shape.segments]
    area = shapely.Polygon(shape.flat_points(FINE_MM)).buffer(0)
    band = shapely.union_all([*strips, *discs], grid_size=grid)
    if distance > 0:
        return shapely.union(area, band, grid_size=grid)
    return shapely.difference(area, band, grid_size=grid)


def _disc(centre: Point, radius: float) -> shapely.Polygon:
    n = math.ceil(math.pi / math.acos(1 - FINE_MM / radius))
    a = np.linspace(0, 2 * math.pi, n, endpoint=False)
    return shapely.Polygon(np.array(centre) + radius * np.stack([np.cos(a), np.sin(a)], 1))


def _strip(seg: Segment, d: float) -> BaseGeometry:
    if not seg.is_arc:
        (nx, ny), (x0, y0), (x1, y1) = seg.normal_at(0), seg.start, seg.end
        return shapely.Polygon(
            [
                (x0 - nx * d, y0 - ny * d),
                (x1 - nx * d, y1 - ny * d),
                (x1 + nx * d, y1 + ny * d),
                (x0 + nx * d, y0 + ny * d),
            ]
        )
    r, sweep = seg.radius, seg.sweep
    step = math.acos(1 - FINE_MM / (r + d))
    n = max(2, math.ceil(abs(sweep) / step))
    c = np.array(seg.centre)
    a0 = math.atan2(seg.start[1] - c[1], seg.start[0] - c[0])
    a = a0 + np.linspace(0, sweep, n)
    ray = np.stack([np.cos(a), np.sin(a)], 1)
    inner = max(r - d, 0.0)
    rims = [c + (r + d) * ray, (c + inner * ray)[::-1]] if inner else [c + (r + d) * ray, c[None]]
    return shapely.Polygon(np.concatenate(rims)).buffer(0)


def check_offset(shape: Outline, distance: float) -> None:
    regions = offset_all(shape, distance)
    got = shapely.union_all([_fine(r) for r in regions])
    expected = reference(shape, distance)
    if not _agree(got, expected):
        # without a grid, unions of many nearly equal arcs lose pieces now and then
        expected = reference(shape, distance, GRID_MM)
    assert _agree(got, expected)
    spans = {*shape.spans}
    from_shape = Distances(shape.segments)
    for region in regions:
        for loop in (region.outer, *region.holes):
            assert {s.span for s in loop.segments} <= spans | {""}
            assert min(s.length for s in loop.segments) >= 0.01
            points = loop.flat_points(0.05)
            middles = np.array([s.point_at(s.length / 2) for s in loop.segments])
            off = np.abs(from_shape.least(np.concatenate([points, middles])) - abs(distance))
            assert off.max() < 1e-2, off.max()


def _agree(got: BaseGeometry, expected: BaseGeometry) -> bool:
    """Same area but for chords and slivers under 0.01 mm, nowhere 0.01 mm apart."""
    length = got.length + expected.length + 1
    close = abs(got.area - expected.area) < (2 * FINE_MM + 1e-3) * length
    return bool(close and got.symmetric_difference(expected).buffer(-0.01).is_empty)


def _fine(region: Region) -> shapely.Polygon:
    return shapely.Polygon(
        region.outer.flat_points(FINE_MM), [h.flat_points(FINE_MM) for h in region.holes]
    ).buffer(0)


def sweep(seeds: range) -> int:
    """Check one random offset for each seed; return how many outlines were refused."""
    refused = 0
    for seed in seeds:
        rng = np.random.default_rng(seed)
        shape = random_outline(rng)
        try:
            check_offset(shape, random_distance(rng, shape))
        except RequestError:
            # only where finer chords than an outline is checked with show that it crosses itself
            assert not shapely.Polygon(shape.flat_points(1e-6)).is_valid
            refused += 1
    return refused


def test_offsets_of_random_outlines_are_the_area_swept() -> None:
    assert sweep(range(8000, 8200)) == 0


@pytest.mark.sweep
@pytest.mark.parametrize("block", range(10))
def test_offsets_of_two_thousand_random_outlines_are_the_area_swept(block: int) -> None:
    assert sweep(range(200 * block, 200 * block + 200)) <= 1

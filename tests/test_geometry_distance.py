"""Whether points keep clear of an edge is what their distances from it say."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from hidewright.geometry.distance import (
    distances,
    distances_from_ring,
    is_apart,
    keeps_clear,
    nearest_on_ring,
    signed_distances,
)
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import (
    beyond_hull,
    dense_points,
    dense_points_of,
    ring_clear,
    ring_depth,
    ring_of,
)
from hidewright.geometry.shapes import arch, circle, rectangle, stadium

SHAPES = (arch(60.0, 40.0, 5.0), circle(25.0), rectangle(70.0, 30.0), stadium(70.0, 30.0))


@given(
    st.sampled_from(SHAPES),
    st.floats(-40.0, 40.0),
    st.floats(-40.0, 40.0),
    st.floats(0.0, math.pi),
    st.floats(0.01, 6.0),
)
def test_points_keep_clear_as_far_as_the_least_of_their_distances(
    shape: Outline, x: float, y: float, turn: float, least: float
) -> None:
    along = np.linspace(-8.0, 8.0, 9)
    points = np.array([x, y]) + along[:, None] * np.array([math.cos(turn), math.sin(turn)])
    inside = signed_distances(shape, points)
    assume(abs(np.abs(inside).min() - least) > 1e-9)
    assert keeps_clear(shape, points, least, inside=True) == (inside.min() >= least)
    assert keeps_clear(shape, points, least, inside=False) == (inside.max() <= -least)
    assert (
        is_apart(shape.as_path(), points, least)
        == (distances(shape.as_path(), points) >= least).all()
    )


@pytest.mark.parametrize(("at", "deep", "clear"), [(3.0, 3.0, -3.0), (0.0, 0.0, 0.0)])
def test_points_in_a_ring_are_as_deep_as_the_nearest_side(
    at: float, deep: float, clear: float
) -> None:
    ring = ring_of(np.array([(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)]))
    points = np.array([(at, 10.0), (-5.0, 10.0)])
    assert ring_depth(ring, points) == deep
    assert ring_clear(ring, points) == clear
    assert ring_clear(ring, points[1:]) == 5.0


def test_distances_from_a_ring_are_those_of_the_nearest_points_on_it() -> None:
    corners = np.array([(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)])
    points = np.array([(3.0, 10.0), (-5.0, 10.0), (23.0, 24.0), (20.0, 7.0)])
    assert distances_from_ring(corners, points) == pytest.approx([3.0, 5.0, 5.0, 0.0])
    nearest = nearest_on_ring(corners, points)
    assert distances_from_ring(corners, points) == pytest.approx(np.hypot(*(points - nearest).T))


@given(st.integers(0, 10_000), st.integers(3, 40), st.integers(3, 40), st.floats(-30.0, 30.0))
def test_the_farthest_point_beyond_a_hull_is_the_farthest_of_all(
    seed: int, n: int, m: int, shift: float
) -> None:
    rng = np.random.default_rng(seed)
    cloud, points = rng.normal(0.0, 10.0, (n, 2)), rng.normal(shift, 15.0, (m, 2))
    hull = shapely.convex_hull(shapely.multipoints(cloud))
    every = shapely.distance(hull, shapely.points(points))
    assert beyond_hull(cloud, points) == every.max()


@given(st.lists(st.sampled_from(SHAPES), max_size=5), st.floats(0.2, 3.0))
def test_points_along_some_curves_are_those_along_each(shapes: list[Outline], step: float) -> None:
    together = dense_points_of(shapes, step)
    assert len(together) == len(shapes)
    for shape, points in zip(shapes, together, strict=True):
        assert np.array_equal(points, dense_points(shape.segments, step))

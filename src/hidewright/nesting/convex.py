"""Areas cut into convex parts: what the kernels add up to find where two pieces may not lie."""

import math
from collections.abc import Sequence

import numpy as np
import shapely

from hidewright.geometry.segment import Floats

#: A corner that turns back by less than this sine counts as straight.
STRAIGHT = 1e-9


def convex_parts(area: shapely.Geometry) -> tuple[Floats, ...]:
    """Return convex polygons (n, 2), counter-clockwise, that make up an area with its holes.

    Constrained Delaunay triangles, joined across their diagonals while the result stays convex
    (Hertel and Mehlhorn, Fast triangulation of simple polygons, 1983).
    """
    parts: list[Floats] = []
    for one in shapely.get_parts(area):
        if isinstance(one, shapely.Polygon) and one.area > 0.0:
            parts += _of_polygon(one)
    return tuple(parts)


def _of_polygon(polygon: shapely.Polygon) -> list[Floats]:
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    corners: dict[tuple[float, float], int] = {}
    loops: dict[int, list[int]] = {}
    edges: dict[tuple[int, int], int] = {}
    for number, triangle in enumerate(triangles):
        ring = shapely.get_coordinates(shapely.orient_polygons(triangle))[:-1]
        loop = [corners.setdefault((x, y), len(corners)) for x, y in ring.tolist()]
        loops[number] = loop
        edges.update(dict.fromkeys(_sides(loop), number))
    points = np.array(list(corners))
    for a, b in sorted(edges):
        if a < b and (b, a) in edges:
            _join(loops, edges, points, a, b)
    return [points[loop] for loop in loops.values()]


def _join(
    loops: dict[int, list[int]],
    edges: dict[tuple[int, int], int],
    points: Floats,
    a: int,
    b: int,
) -> None:
    """Join the two loops beside an edge into one, when that is convex."""
    left, right = edges[a, b], edges[b, a]
    if left == right:
        return
    one, two = _from(loops[left], b), _from(loops[right], a)
    loop = one + two[1:-1]  # b ... a, then what lies between on the other side
    if not _convex(points[loop]):
        return
    del loops[right], edges[a, b], edges[b, a]
    loops[left] = loop
    edges.update(dict.fromkeys(_sides(loop), left))


def _sides(loop: list[int]) -> list[tuple[int, int]]:
    return list(zip(loop, loop[1:] + loop[:1], strict=True))


def _from(loop: list[int], corner: int) -> list[int]:
    at = loop.index(corner)
    return loop[at:] + loop[:at]


def _convex(ring: Floats) -> bool:
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    size = np.hypot(*before.T) * np.hypot(*after.T)
    return bool(np.all(turn >= -STRAIGHT * size))


def turned(rings: Sequence[Floats], angle_deg: float, *, mirrored: bool) -> list[Floats]:
    """Return convex rings mirrored in the y axis if asked, then turned about the origin.

    Right angles turn without rounding.
    """
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    angle = float(np.radians(angle_deg))
    c, s = quarter.get(angle_deg % 360.0, (float(np.cos(angle)), float(np.sin(angle))))
    turn = np.array([[c, s], [-s, c]])
    flip = np.array([-1.0, 1.0]) if mirrored else np.ones(2)
    return [(ring * flip @ turn)[:: -1 if mirrored else 1] for ring in rings]


def simple(area: shapely.Geometry, many: int, share: float) -> shapely.Geometry:
    """Return an area with few corners that covers one with many, outside by a share of its size."""
    if shapely.get_num_coordinates(area) <= many:
        return area
    left, bottom, right, top = shapely.bounds(area)
    away = share * math.hypot(right - left, top - bottom)
    wide = shapely.buffer(area, away, join_style="mitre", mitre_limit=2.0)
    fewer = shapely.simplify(wide, away * 0.99)
    return fewer if shapely.covers(fewer, area) else area

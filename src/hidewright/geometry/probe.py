"""Points taken densely along outlines and their exact distances from others: for checking.

What is made with ``offset``, ``refit`` and ``boolean`` is checked with these, which share nothing
with them.
"""

import math
from collections.abc import Sequence

import numpy as np
import shapely

from hidewright.geometry.outline import Chain, Outline
from hidewright.geometry.segment import Floats, Segment

#: Distances worked out at once: a few MB of them.
AT_ONCE = 200_000
#: A closed polygon.
Ring = shapely.Polygon


def dense_points(segments: Sequence[Segment], step_mm: float = 0.5) -> Floats:
    """Return (n, 2) points along segments, both ends and the middle of each included, mm."""
    (x0, y0, dx, dy, sweep, sine), f = _along(segments, step_mm)
    # by the chord, as the centre of a nearly straight arc is far away
    reach = np.divide(np.sin(sweep * f / 2), sine, out=f.copy(), where=sweep != 0.0)
    lean = sweep * (f - 1.0) / 2
    c, s = reach * np.cos(lean), reach * np.sin(lean)
    points: Floats = np.stack([x0 + dx * c - dy * s, y0 + dx * s + dy * c], axis=1)
    return points


def dense_normals(segments: Sequence[Segment], step_mm: float = 0.5) -> Floats:
    """Return the (n, 2) unit normals to the right of travel at the dense points of segments."""
    (_, _, dx, dy, sweep, _), f = _along(segments, step_mm)
    heading = np.arctan2(dy, dx) + sweep * (f - 0.5)
    normals: Floats = np.stack([np.sin(heading), -np.cos(heading)], axis=1)
    return normals


def _along(segments: Sequence[Segment], step_mm: float) -> tuple[Floats, Floats]:
    """Return (6, n) start, chord, sweep and its half's sine of each point's segment, and (n,) f.

    Each point lies the share f along its segment.
    """
    steps = [_steps(seg, step_mm) for seg in segments]
    counts = np.array(steps) + 1
    columns = [
        (
            *seg.start,
            seg.end[0] - seg.start[0],
            seg.end[1] - seg.start[1],
            seg.sweep if seg.is_arc else 0.0,
            math.sin(seg.sweep / 2),
        )
        for seg in segments
    ]
    share = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.repeat(np.array(columns), counts, axis=0).T, share / np.repeat(steps, counts)


def dense_points_of(curves: Sequence[Chain], step_mm: float = 0.5) -> list[Floats]:
    """Return the dense points along each of some curves."""
    if not curves:
        return []
    segments = [seg for curve in curves for seg in curve.segments]
    counts = [sum(_steps(seg, step_mm) + 1 for seg in curve.segments) for curve in curves]
    return np.split(dense_points(segments, step_mm), np.cumsum(counts[:-1]))


def distances(segments: Sequence[Segment], points: Floats) -> Floats:
    """Return (n,) distances of points (n, 2) from the nearest of some segments, mm, exact."""
    nearest = np.full(len(points), math.inf)
    lines = [seg for seg in segments if not seg.is_arc]
    arcs = [seg for seg in segments if seg.is_arc]
    for some, measured in ((lines, _from_lines), (arcs, _from_arcs)):
        at_once = max(1, AT_ONCE // max(len(points), 1))
        for begin in range(0, len(some), at_once):
            away = measured(some[begin : begin + at_once], points)
            np.minimum(nearest, away.min(axis=0), out=nearest)
    return nearest


def signed(outline: Outline, points: Floats) -> Floats:
    """Return (n,) distances of points from an outline, mm, exact; positive outside."""
    away = distances(outline.segments, points)
    inside = shapely.contains_xy(outline.polygon, points[:, 0], points[:, 1])
    sided: Floats = np.where(inside, -away, away)
    return sided


def web_between(one: Outline, two: Outline, enough_mm: float) -> float:
    """Return the least distance between two outlines' lines, mm, exact at dense points.

    Whether one lies within the other is not asked; lines that cross have no distance. What is
    surely more than enough is not measured finely.
    """
    # chords lie within 0.01 mm: what they find is measured again at dense points
    rough = float(shapely.distance(one.rim, two.rim))
    if rough == 0.0 or rough > enough_mm + 0.05:
        return rough
    fine = min(
        float(distances(one.segments, dense_points(two.segments, 1.0)).min()),
        float(distances(two.segments, dense_points(one.segments, 1.0)).min()),
    )
    return min(fine, rough + 0.02)


def lies_within(inner: Outline, outer: Outline) -> bool:
    """Whether every point of one outline lies inside another, touching it nowhere."""
    return bool(shapely.contains_properly(outer.polygon, inner.polygon))


def overlap(one: Outline, two: Outline) -> bool:
    """Whether two outlines have any area in common."""
    return bool(shapely.intersects(one.polygon, two.polygon))


def shared_area(one: Outline, two: Outline) -> float:
    """Return the area that two outlines have in common, mm2."""
    return float(shapely.area(shapely.intersection(one.polygon, two.polygon)))


def inner_point(outline: Outline) -> tuple[float, float]:
    """Return some point well within an outline, mm."""
    point = outline.polygon.representative_point()
    return (point.x, point.y)


def pieces_left(outline: Outline, holes: Sequence[Outline], shrunk_mm: float) -> int:
    """Return in how many pieces a part with holes falls when shrunk all round by a distance."""
    cut = shapely.union_all([hole.polygon for hole in holes])
    left = shapely.buffer(shapely.difference(outline.polygon, cut), -shrunk_mm, quad_segs=16)
    return 0 if left.is_empty else len(shapely.get_parts(left))


def ring_of(corners: Floats) -> Ring:
    """Return the closed polygon with corners (m, 2), mm, made ready to be asked of many points."""
    ring = shapely.Polygon(corners)
    shapely.prepare(ring)
    return ring


def ring_depth(ring: Ring, points: Floats) -> float:
    """Return how deep the deepest of points (n, 2) lies inside a ring, mm; 0 when none does."""
    inside = shapely.contains_xy(ring, points[:, 0], points[:, 1])
    if not inside.any():
        return 0.0
    return float(shapely.distance(ring.exterior, shapely.points(points[inside])).max())


def ring_clear(ring: Ring, points: Floats) -> float:
    """Return how far the nearest of points (n, 2) lies from a ring, mm.

    Negative if any lies inside: then how deep the deepest lies.
    """
    depth = ring_depth(ring, points)
    return -depth or float(shapely.distance(ring.exterior, shapely.multipoints(points)))


def ring_holds(ring: Ring, points: Floats) -> bool:
    """Return whether no point (n, 2) lies outside a ring."""
    return bool(shapely.intersects_xy(ring, points[:, 0], points[:, 1]).all())


def beyond_hull(cloud: Floats, points: Floats) -> float:
    """Return how far the farthest of points (n, 2) lies from the convex hull of a cloud (m, 2), mm.

    That is a corner of the points' own hull: the distance from a convex set is a convex function,
    and greatest at a corner (Rockafellar 1970, Convex Analysis, section 32).
    """
    inner, outer = (shapely.convex_hull(shapely.multipoints(all_of)) for all_of in (cloud, points))
    corners = shapely.points(shapely.get_coordinates(outer))
    return float(shapely.distance(inner, corners).max())


def _steps(segment: Segment, step_mm: float) -> int:
    """Return in how many equal parts a segment is taken; even, so that its middle is an end."""
    return 2 * max(1, math.ceil(segment.length / step_mm / 2))


def _from_lines(lines: Sequence[Segment], points: Floats) -> Floats:
    """Return (m, n) distances of points (n, 2) from lines, mm."""
    (x0, y0), (x1, y1) = _ends(lines)
    dx, dy = x1 - x0, y1 - y0
    px, py = points[:, 0] - x0, points[:, 1] - y0
    along = np.clip((px * dx + py * dy) / (dx * dx + dy * dy), 0.0, 1.0)
    return _far(px - along * dx, py - along * dy)


def _from_arcs(arcs: Sequence[Segment], points: Floats) -> Floats:
    """Return (m, n) distances of points (n, 2) from arcs, mm."""
    (x0, y0), (x1, y1) = _ends(arcs)
    cx, cy, radius, sweep = _columns([(*seg.centre, seg.radius, seg.sweep) for seg in arcs])
    side = np.sign(sweep)
    px, py = points[:, 0] - cx, points[:, 1] - cy
    after = side * ((x0 - cx) * py - (y0 - cy) * px) >= 0.0
    before = side * (px * (y1 - cy) - py * (x1 - cx)) >= 0.0
    within = np.where(np.abs(sweep) <= math.pi, after & before, after | before)
    ends = np.minimum(
        _far(points[:, 0] - x0, points[:, 1] - y0), _far(points[:, 0] - x1, points[:, 1] - y1)
    )
    away: Floats = np.where(within, np.abs(_far(px, py) - radius), ends)
    return away


def _ends(segments: Sequence[Segment]) -> tuple[Floats, Floats]:
    """Return starts and ends of segments, each as (x, y) of (m, 1)."""
    columns = _columns([(*seg.start, *seg.end) for seg in segments])
    return columns[:2], columns[2:]


def _columns(rows: Sequence[tuple[float, ...]]) -> Floats:
    """Return (k, m, 1) columns of m rows of k numbers."""
    columns: Floats = np.array(rows).T[:, :, None]
    return columns


def _far(x: Floats, y: Floats) -> Floats:
    lengths: Floats = np.sqrt(x * x + y * y)
    return lengths

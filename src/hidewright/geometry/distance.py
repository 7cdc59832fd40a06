"""Distances of many points from an outline at once, and widths across it."""

import numpy as np
import numpy.typing as npt
import shapely

from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Floats, Point


def signed_distances(outline: Outline, points: Floats, without_span: str = "") -> Floats:
    """Return how far inside an outline points lie, mm, negative outside, true to 0.01 mm.

    Args:
        outline: Measured as chords within 0.01 mm.
        points: (n, 2), mm.
        without_span: A span that counts as open: distances are to the rest of the outline.

    Returns:
        (n,) distances.
    """
    wall: shapely.Geometry = outline.rim
    if without_span:
        kept = [s for s in outline.segments if s.span != without_span]
        wall = shapely.MultiLineString([Path((s,)).flat_points() for s in kept])
        shapely.prepare(wall)
    shapely.prepare(outline.polygon)
    inside = shapely.contains_xy(outline.polygon, points[:, 0], points[:, 1])
    away = shapely.distance(wall, shapely.points(points))
    signed: Floats = np.where(inside, away, -away)
    return signed


def distances(path: Path, points: Floats) -> Floats:
    """Return (n,) how far points (n, 2) lie from a line, mm, as chords within 0.01 mm."""
    away = shapely.distance(shapely.LineString(path.flat_points()), shapely.points(points))
    return np.asarray(away)


def keeps_clear(outline: Outline, points: Floats, least_mm: float, *, inside: bool) -> bool:
    """Whether points (n, 2) all lie inside an outline, or all outside, and so far from its edge.

    The edge is measured as chords within 0.01 mm, and only where it may come too near.
    """
    shapely.prepare(outline.polygon)
    within = shapely.contains_xy(outline.polygon, points[:, 0], points[:, 1])
    if (within != inside).any():
        return False
    return _is_apart(outline.rim, points, least_mm)


def is_apart(path: Path, points: Floats, least_mm: float) -> bool:
    """Whether points (n, 2) all lie so far from a line, as chords within 0.01 mm."""
    return _is_apart(shapely.LineString(path.flat_points()), points, least_mm)


def _is_apart(line: shapely.Geometry, points: Floats, least_mm: float) -> bool:
    low, high = points.min(axis=0) - least_mm, points.max(axis=0) + least_mm
    near = shapely.clip_by_rect(line, *low.tolist(), *high.tolist())
    return near.is_empty or bool(shapely.distance(near, shapely.multipoints(points)) >= least_mm)


def apart_when_moved(one: Outline, by: Point, other: Outline) -> float:
    """Return how far an outline, moved, is from another, mm; 0 where they overlap.

    Both as chords within 0.01 mm, without looking at the moved one again.
    """
    moved = shapely.Polygon(one.flat_points() + by)
    return float(moved.distance(other.polygon))


def is_parted_by(outline: Outline, by_mm: float) -> bool:
    """Whether an outline, drawn in by so much all round, is gone or falls apart."""
    left = shapely.buffer(outline.polygon, -by_mm)
    return left.is_empty or left.geom_type != "Polygon"


def depth_filled(outline: Outline, radius_mm: float) -> float:
    """Return how deep slits and notches are that a disc of a radius does not reach into, mm."""
    grown = shapely.buffer(shapely.buffer(outline.polygon, radius_mm), -radius_mm)
    filled = shapely.union(outline.polygon, grown)
    return float(shapely.hausdorff_distance(outline.polygon, filled))


def width_across(outline: Outline, y: float) -> float:
    """Return the length of a level line inside an outline, mm."""
    left, _, right, _ = outline.bounds
    level = shapely.LineString([(left - 1.0, y), (right + 1.0, y)])
    return float(shapely.intersection(level, outline.polygon).length)


def inside_ring(corners: Floats, points: Floats) -> npt.NDArray[np.bool_]:
    """Return (n,) whether points lie inside the closed polygon with (m, 2) corners, mm."""
    ring = shapely.Polygon(corners)
    shapely.prepare(ring)
    inside: npt.NDArray[np.bool_] = shapely.contains_xy(ring, points[:, 0], points[:, 1])
    return inside


def distances_from_ring(corners: Floats, points: Floats) -> Floats:
    """Return (n,) how far points (n, 2) lie from a closed polygon (m, 2), mm."""
    return np.asarray(shapely.distance(shapely.LinearRing(corners), shapely.points(points)))


def nearest_on_ring(corners: Floats, points: Floats) -> Floats:
    """Return (n, 2) the nearest point of a closed polygon (m, 2) to each of (n, 2) points, mm."""
    ring = shapely.LinearRing(corners)
    at = shapely.line_locate_point(ring, shapely.points(points))
    found: Floats = shapely.get_coordinates(shapely.line_interpolate_point(ring, at))
    return found

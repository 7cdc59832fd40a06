"""Where lines and arcs cross, how far points lie from them, and how often they wind round points.

All exact but for rounding: no chords are used here.
"""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.geometry.segment import Floats, Point, Segment

#: Curves that pass this near without crossing are taken to touch, mm.
TOUCH_MM = 1e-9
#: An end this near the other curve counts as a crossing, mm; finds overlaps too.
ON_CURVE_MM = 1e-7


def crossings(one: Segment, two: Segment) -> list[Point]:
    """Return the points two segments share: crossings, touches and the ends of an overlap, mm."""
    found = [
        p
        for p in carrier_crossings(one, two)
        if one.nearest(p)[1] < ON_CURVE_MM and two.nearest(p)[1] < ON_CURVE_MM
    ]
    found += [p for p in (two.start, two.end) if one.nearest(p)[1] < ON_CURVE_MM]
    found += [p for p in (one.start, one.end) if two.nearest(p)[1] < ON_CURVE_MM]
    return found


def carrier_crossings(one: Segment, two: Segment) -> list[Point]:
    """Return where the whole lines or circles two segments lie on cross or touch, mm."""
    if not one.is_arc and not two.is_arc:
        return _line_line(one, two)
    if one.is_arc and two.is_arc:
        small, large = (one, two) if one.radius <= two.radius else (two, one)
        found = _circle_circle(small.centre, small.radius, large.centre, large.radius)
    elif one.is_arc:
        found = _line_circle(two, one.centre, one.radius)
    else:
        found = _line_circle(one, two.centre, two.radius)
    return [_polished(p, one, two) for p in found]


def _polished(point: Point, one: Segment, two: Segment) -> Point:
    """A crossing made exact by Newton's method; centres far away have rounded it."""
    x, y = point
    for _ in range(2):
        a, ax, ay = _away(one, x, y)
        b, bx, by = _away(two, x, y)
        cross = ax * by - ay * bx
        if abs(cross) < 1e-7:  # as good as tangent: no better known
            break
        x, y = x - (a * by - b * ay) / cross, y - (ax * b - bx * a) / cross
    return (x, y)


def _away(seg: Segment, x: float, y: float) -> tuple[float, float, float]:
    """How far right of its line or circle a point is (to first order), and the slope of that."""
    (tx, ty), k = seg.tangent_at(0.0), seg.curvature
    qx, qy = x - seg.start[0], y - seg.start[1]
    return (k * (qx * qx + qy * qy) / 2 - (qy * tx - qx * ty), k * qx + ty, k * qy - tx)


def _line_line(one: Segment, two: Segment) -> list[Point]:
    ux, uy = one.end[0] - one.start[0], one.end[1] - one.start[1]
    vx, vy = two.end[0] - two.start[0], two.end[1] - two.start[1]
    cross = ux * vy - uy * vx
    if abs(cross) < 1e-12 * one.chord * two.chord:
        return []
    wx, wy = two.start[0] - one.start[0], two.start[1] - one.start[1]
    f = (wx * vy - wy * vx) / cross
    return [(one.start[0] + ux * f, one.start[1] + uy * f)]


def _line_circle(straight: Segment, centre: Point, radius: float) -> list[Point]:
    ux = (straight.end[0] - straight.start[0]) / straight.chord
    uy = (straight.end[1] - straight.start[1]) / straight.chord
    wx, wy = centre[0] - straight.start[0], centre[1] - straight.start[1]
    away = wx * uy - wy * ux
    if abs(away) > radius + TOUCH_MM:
        return []
    half = math.sqrt(max((radius - away) * (radius + away), 0.0))
    foot = (centre[0] - away * uy, centre[1] + away * ux)
    return [(foot[0] + s * half * ux, foot[1] + s * half * uy) for s in (-1.0, 1.0)]


def _circle_circle(c1: Point, r1: float, c2: Point, r2: float) -> list[Point]:
    apart = math.dist(c1, c2)
    if apart < TOUCH_MM or apart > r1 + r2 + TOUCH_MM or apart < abs(r1 - r2) - TOUCH_MM:
        return []
    ux, uy = (c2[0] - c1[0]) / apart, (c2[1] - c1[1]) / apart
    along = ((apart - r2) * (apart + r2) + r1 * r1) / (2 * apart)
    half = math.sqrt(max((r1 - along) * (r1 + along), 0.0))
    x, y = c1[0] + along * ux, c1[1] + along * uy
    return [(x - s * half * uy, y + s * half * ux) for s in (-1.0, 1.0)]


class Distances:
    """Distances of many points from many segments at once, exact on arcs.

    Attributes:
        segments: Measured from.
    """

    def __init__(self, segments: Sequence[Segment]) -> None:
        self.segments = tuple(segments)
        lines = [s for s in segments if not s.is_arc]
        arcs = [s for s in segments if s.is_arc]
        self._order = [i for i, s in enumerate(segments) if not s.is_arc]
        self._order += [i for i, s in enumerate(segments) if s.is_arc]
        self._a = np.array([s.start for s in lines]).reshape(-1, 2)
        self._u = np.array([s.end for s in lines]).reshape(-1, 2) - self._a
        self._k = np.array([s.curvature for s in arcs])
        self._m = np.array([s.point_at(s.length / 2) for s in arcs]).reshape(-1, 2)
        self._t = np.array([s.tangent_at(s.length / 2) for s in arcs]).reshape(-1, 2)
        self._s = np.array([s.start for s in arcs]).reshape(-1, 2)
        self._e = np.array([s.end for s in arcs]).reshape(-1, 2)
        self._half = np.array([abs(s.sweep) / 2 for s in arcs])

    def table(self, points: Floats) -> Floats:
        """Return (n points, m segments) distances, mm."""
        p = points[:, None, :]
        out = np.zeros((len(points), len(self.segments)))
        w = p - self._a
        f = (w * self._u).sum(2) / (self._u * self._u).sum(1)
        rest = w - np.clip(f, 0.0, 1.0)[:, :, None] * self._u
        to_lines = np.hypot(rest[..., 0], rest[..., 1])
        q = p - self._m
        forward = (q * self._t).sum(2)
        leftward = q[..., 1] * self._t[:, 0] - q[..., 0] * self._t[:, 1]
        turn = np.arctan2(self._k * forward, 1.0 - self._k * leftward)
        power = self._k * (q * q).sum(2) / 2 - leftward
        to_circle = np.abs(2 * power / (1.0 + np.sqrt(np.maximum(1.0 + 2 * self._k * power, 0.0))))
        ends = np.minimum(
            np.hypot(*np.moveaxis(p - self._s, 2, 0)), np.hypot(*np.moveaxis(p - self._e, 2, 0))
        )
        to_arcs = np.where(np.abs(turn) <= self._half, to_circle, ends)
        out[:, self._order] = np.concatenate([to_lines, to_arcs], axis=1)
        return out

    def least(self, points: Floats) -> Floats:
        """Return (n,) the distance of each point from the nearest segment, mm."""
        least: Floats = self.table(points).min(axis=1)
        return least


def windings(segments: Sequence[Segment], point: Point) -> int:
    """Return how often a closed chain runs counter-clockwise round a point not on it.

    The sum of the angles under which the point sees each segment; inside an arc's circle that
    angle has the sign of the arc's own turn.
    """
    total = 0.0
    for seg in segments:
        ax, ay = seg.start[0] - point[0], seg.start[1] - point[1]
        bx, by = seg.end[0] - point[0], seg.end[1] - point[1]
        angle = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        if seg.is_arc and math.dist(point, seg.centre) < seg.radius:
            turned = angle % (2 * math.pi)
            angle = turned if seg.bulge > 0 else turned - 2 * math.pi
        total += angle
    return round(total / (2 * math.pi))

"""Refit of computed or stretched curves to tangent-continuous lines and arcs, error measured.

Each stretch becomes a biarc: two arcs with one tangent where they meet, through two points of the
curve and along its tangents there. Of the one-parameter family the one with equal tangent lengths
is taken (Bolton, Biarc curves, Computer-Aided Design 7(2), 1975, 89-92). Stretches are made as
long as the tolerance allows; the error of a biarc falls with the third power of its length.
"""

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from hidewright.errors import RequestError
from hidewright.geometry.segment import (
    SAME_POINT_MM,
    Floats,
    Point,
    Segment,
    line,
)

#: Refitted curves keep within this of the curve asked for, mm; a laser places within 0.01 mm.
REFIT_MM = 0.005
#: A stretch this straight, and at least a mm long, is a line; an arc this true stays one arc, mm.
EXACT_MM = 1e-6
#: Points of the curve at which each biarc is measured.
PROBES = 33
#: Of these the ones that are looked at first: near the quarters, where biarcs are furthest off.
FEW = (4, 8, 16, 24, 28)
#: A polyline turning more than this at a point has a corner there, radians (40 degrees) ...
CORNER_TURN = math.radians(40.0)
#: ... or this much (20 degrees) where it turns three times as far as at the points beside it.
CORNER_TURN_ALONE = math.radians(20.0)

Curve = Callable[[float], Point]
#: (n,) parameters to (n, 2) points.
_Points = Callable[[Floats], Floats]


def curve_to_segments(
    point_at: Curve,
    t0: float,
    t1: float,
    tolerance_mm: float = REFIT_MM,
    span: str = "",
    corners: Sequence[float] = (),
    tangents: tuple[Point | None, Point | None] = (None, None),
) -> tuple[Segment, ...]:
    """Fit lines and tangent arcs to a smooth curve: ``fit_curve`` without its error."""
    return fit_curve(point_at, t0, t1, tolerance_mm, span, corners, tangents)[0]


def fit_curve(
    point_at: Curve,
    t0: float,
    t1: float,
    tolerance_mm: float = REFIT_MM,
    span: str = "",
    corners: Sequence[float] = (),
    tangents: tuple[Point | None, Point | None] = (None, None),
) -> tuple[tuple[Segment, ...], float]:
    """Fit lines and tangent arcs to a smooth curve and measure how far off they are.

    Args:
        point_at: Point of the curve, mm, for a parameter in [t0, t1]; it may not stand still.
        t0: First parameter.
        t1: Last parameter.
        tolerance_mm: No point of the curve lies further from the result.
        span: Span of the result.
        corners: Parameters between where the direction jumps.
        tangents: Directions of travel at the two ends where they are known; else measured.

    Returns:
        The segments, and the largest distance of the curve from them that was measured, mm.
    """

    def points_at(t: Floats) -> Floats:
        return np.array([point_at(one) for one in t.tolist()])

    breaks = [t0, *sorted(t for t in corners if t0 < t < t1), t1]
    out: list[Segment] = []
    error = 0.0
    for i in range(len(breaks) - 1):
        first = tangents[0] if i == 0 else None
        last = tangents[1] if i == len(breaks) - 2 else None
        stretch = _Stretch(points_at, breaks[i], breaks[i + 1], first, last)
        parts, off = _fit_smooth(stretch, tolerance_mm)
        out += parts
        error = max(error, off)
    return tuple(s.named(span) for s in out), error


def points_to_segments(
    points: Floats, tolerance_mm: float = REFIT_MM, closed: bool = False, span: str = ""
) -> tuple[tuple[Segment, ...], float]:
    """Fit lines and tangent arcs to a row of points on a curve.

    A cubic spline is laid through the points; it breaks at corners: where the row turns by more
    than 40 degrees, or by more than 20 and three times as far as beside it.

    Args:
        points: (n, 2), mm, without noise; a closed row need not repeat its first point.
        tolerance_mm: No point lies further from the result.
        closed: Whether the last point joins the first.
        span: Span of the result.

    Returns:
        The segments, and the largest distance of points and spline from them, mm.
    """
    rows = np.asarray(points, dtype=np.float64)
    keep = np.ones(len(rows), dtype=bool)
    keep[1:] = np.hypot(*np.diff(rows, axis=0).T) > SAME_POINT_MM
    rows = rows[keep]
    if closed and len(rows) > 1 and math.dist(rows[0], rows[-1]) <= SAME_POINT_MM:
        rows = rows[:-1]
    if len(rows) < (3 if closed else 2):
        raise RequestError(
            f"a curve of {len(rows)} different points", mend="Give at least two, or three if closed"
        )
    sharp = _corners_of(rows, closed)
    if closed:
        first = int(sharp[0]) if len(sharp) else 0
        rows = np.concatenate([rows[first:], rows[:first], rows[first : first + 1]])
        sharp = [(i - first) % (len(rows) - 1) for i in sharp]
    smooth_loop = closed and not sharp
    breaks = sorted({0, *sharp, len(rows) - 1})
    out: list[Segment] = []
    error = 0.0
    for i, j in pairwise(breaks):
        parts, off = _fit_row(rows[i : j + 1], tolerance_mm, loop=smooth_loop)
        out += parts
        error = max(error, off)
    return tuple(s.named(span) for s in out), error


class _Stretch:
    """A smooth stretch of curve: points and directions by parameter, given ends kept exactly."""

    def __init__(
        self,
        points_at: _Points,
        t0: float,
        t1: float,
        first: Point | None = None,
        last: Point | None = None,
        ends: tuple[Point, Point] | None = None,
    ) -> None:
        self.t0, self.t1 = t0, t1
        self.points_at, self._first, self._last, self._ends = points_at, first, last, ends
        self.shortest = (t1 - t0) * 1e-6

    def within(self, t: float) -> float:
        """Return a parameter, or the last one where less than the shortest part would be left."""
        return t if self.t1 - t >= self.shortest else self.t1

    def between(self, ta: float, tb: float) -> tuple[Point, Point, Floats, Point, Point]:
        """Return both ends of a part, probes between them and the unit directions at the ends."""
        probes = ta + (tb - ta) * np.arange(1, PROBES + 1) / (PROBES + 1)
        (steps_a, weights_a), (steps_b, weights_b) = self._difference(ta), self._difference(tb)
        h = (self.t1 - self.t0) * 1e-4
        near = [np.array([ta, tb]), probes, ta + h * np.array(steps_a), tb + h * np.array(steps_b)]
        found = self.points_at(np.concatenate(near))
        a, b = self._end(ta, found[0]), self._end(tb, found[1])
        n = 2 + PROBES
        split = n + len(steps_a)
        from_a = self._direction(self._first, weights_a, found[n:split])
        into_b = self._direction(self._last, weights_b, found[split:])
        return a, b, found[2:n], from_a, into_b

    @staticmethod
    def _direction(given: Point | None, weights: tuple[int, ...], near: Floats) -> Point:
        if given is not None and not weights:
            return _unit(given)
        return _unit(_point(np.array(weights) @ near))

    def _end(self, t: float, found: Floats) -> Point:
        if self._ends and t in (self.t0, self.t1):
            return self._ends[0] if t == self.t0 else self._ends[1]
        return _point(found)

    def _difference(self, t: float) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Steps and weights of differences of fourth order; none where the direction is given."""
        if (t == self.t0 and self._first) or (t == self.t1 and self._last):
            return (), ()
        h = (self.t1 - self.t0) * 1e-4
        if t - 2 * h < self.t0:
            return (0, 1, 2, 3, 4), (-25, 48, -36, 16, -3)
        if t + 2 * h > self.t1:
            return (0, -1, -2, -3, -4), (25, -48, 36, -16, 3)
        return (-2, -1, 1, 2), (1, -8, 8, -1)


def _fit_smooth(stretch: _Stretch, tolerance_mm: float) -> tuple[list[Segment], float]:
    """Cover a stretch with the longest lines and biarcs that keep the tolerance."""
    out: list[Segment] = []
    error = 0.0
    t, guess = stretch.t0, stretch.t1 - stretch.t0
    while t < stretch.t1:
        parts, off, end = _longest(stretch, t, min(guess, stretch.t1 - t), tolerance_mm)
        if end < stretch.t1 and stretch.t1 - end < 0.8 * (end - t):  # the last two share the rest
            half = t + (stretch.t1 - t) / 2
            shared, shared_off = _fit_one(stretch, t, half, tolerance_mm)
            if shared_off <= tolerance_mm:
                parts, off, end = shared, shared_off, half
        if end - t < stretch.shortest:
            raise RequestError(
                f"a curve that arcs cannot follow within {tolerance_mm:g} mm",
                because="it jumps or turns too sharply where no corner was stated",
                mend="State its corners, close its gaps, or give a larger tolerance",
            )
        out += parts
        error = max(error, off)
        guess, t = end - t, end
    return out, error


def _longest(
    stretch: _Stretch, t: float, reach: float, tolerance_mm: float
) -> tuple[list[Segment], float, float]:
    """Longest fit from t on, to about a tenth of its length.

    A biarc is off by the third power of its length (Meek and Walton 1995, "Approximating smooth
    planar curves by arc splines"): that tells what length to try next.
    """
    end = stretch.within(t + reach)
    good: tuple[list[Segment], float, float] | None = None
    bad = math.inf
    for _ in range(40):
        parts, off = _fit_one(stretch, t, end, tolerance_mm)
        length = end - t
        aim = length * (0.85 * tolerance_mm / max(off, 1e-9)) ** (1 / 3)
        if off <= tolerance_mm:
            good = (parts, off, end)
            if end == stretch.t1 or off >= 0.6 * tolerance_mm or bad - end < 0.1 * length:
                break
            longer = t + min(max(aim, 1.1 * length), 4.0 * length)
            end = stretch.within(min(longer, (end + bad) / 2))
        else:
            bad = end
            if good is not None and bad - good[2] < 0.1 * (good[2] - t):
                break
            end = t + min(max(aim, 0.25 * length), 0.9 * length)
            if good is not None and end <= good[2]:
                end = (good[2] + bad) / 2
    return good if good is not None else ([], math.inf, t)


def _fit_one(
    stretch: _Stretch, ta: float, tb: float, tolerance_mm: float
) -> tuple[list[Segment], float]:
    """One line or one biarc over a part, and the largest distance of the curve from it.

    A fit that a look at a few probes shows to be too far off is not measured any closer.
    """
    a, b, probes, from_a, into_b = stretch.between(ta, tb)
    if math.dist(a, b) < 10 * SAME_POINT_MM:
        return [], math.inf
    gaps = np.hypot(*np.diff(np.concatenate([[a], probes, [b]]), axis=0).T)
    if gaps.max() > 0.5 * gaps.sum():  # it jumps between two probes
        return [], math.inf
    few = [_point(probes[i]) for i in FEW]
    straight = line(a, b)
    if straight.length >= 1.0 and max(straight.nearest(p)[1] for p in few) < EXACT_MM:
        off = float(straight.distances(probes).max())
        if off < EXACT_MM:
            return [straight], off
    parts = biarc(a, from_a, b, into_b)
    if not parts:
        return [], math.inf
    rough = max(min(part.nearest(p)[1] for part in parts) for p in few)
    if rough > tolerance_mm:
        return parts, rough
    return parts, largest_distance(parts, probes)


def biarc(a: Point, from_a: Point, b: Point, into_b: Point) -> list[Segment]:
    """Return the two arcs from a to b along unit directions at both, meeting in one tangent.

    One arc, where both are one; empty where the directions allow none that runs forward.
    With v = b - a and equal tangent lengths d, the meeting point is (a + b + d (ta - tb)) / 2 and
    v.v - 2 d v.(ta + tb) - 2 d^2 (1 - ta.tb) = 0, the positive root.
    """
    vx, vy = b[0] - a[0], b[1] - a[1]
    vv = vx * vx + vy * vy
    vt = vx * (from_a[0] + into_b[0]) + vy * (from_a[1] + into_b[1])
    gap = 1.0 - (from_a[0] * into_b[0] + from_a[1] * into_b[1])
    root = math.sqrt(max(vt * vt + 2.0 * gap * vv, 0.0))
    if vt + root <= 1e-12 * math.sqrt(vv):
        return []
    d = vv / (vt + root)
    m = (
        (a[0] + b[0] + d * (from_a[0] - into_b[0])) / 2,
        (a[1] + b[1] + d * (from_a[1] - into_b[1])) / 2,
    )
    if min(math.dist(a, m), math.dist(m, b)) < 2 * SAME_POINT_MM:
        return []
    one = _arc_along(a, from_a, m)
    two = _arc_along(b, (-into_b[0], -into_b[1]), m).backwards()
    sweep = one.sweep + two.sweep
    alike = one.is_arc and two.is_arc and one.bulge * two.bulge > 0 and abs(sweep) < math.pi
    if alike and math.dist(one.centre, two.centre) < EXACT_MM / 10:
        return [Segment(start=a, end=b, bulge=math.tan(sweep / 4))]
    return [one, two]


def _arc_along(start: Point, tangent: Point, end: Point) -> Segment:
    """The arc (or line) that leaves its start along a tangent."""
    cx, cy = end[0] - start[0], end[1] - start[1]
    half = math.atan2(tangent[0] * cy - tangent[1] * cx, tangent[0] * cx + tangent[1] * cy)
    return Segment(start=start, end=end, bulge=math.tan(half / 2))


def _fit_row(rows: Floats, tolerance_mm: float, loop: bool) -> tuple[list[Segment], float]:
    """Fit one smooth row of points through its spline."""
    from scipy.interpolate import CubicSpline  # takes longer to load than all of geometry

    if len(rows) == 2:
        return [line(_point(rows[0]), _point(rows[1]))], 0.0
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(rows, axis=0).T))])
    if loop:
        rows = np.concatenate([rows[:-1], rows[:1]])
    spline: _Points = CubicSpline(along, rows, bc_type="periodic" if loop else "not-a-knot")
    slope: _Points = spline.derivative()  # type: ignore[attr-defined]
    total = float(along[-1])
    ends = (_point(rows[0]), _point(rows[-1]))
    parts: list[Segment] = []
    # a loop has no chord of its own
    breaks = np.array([0.0, total / 2, total] if loop else [0.0, total])
    places = [ends[0], *(_point(p) for p in spline(breaks[1:-1])), ends[1]]
    directions = [_point(d) for d in slope(breaks)]
    for i, (t0, t1) in enumerate(pairwise(breaks.tolist())):
        stretch = _Stretch(
            spline, t0, t1, directions[i], directions[i + 1], ends=(places[i], places[i + 1])
        )
        parts += _fit_smooth(stretch, tolerance_mm * 0.9)[0]
    checks = np.concatenate([rows, spline(np.linspace(0.0, total, 4 * len(rows)))])
    return parts, largest_distance(parts, checks)


def largest_distance(parts: Sequence[Segment], points: Floats) -> float:
    """Return how far the furthest of some points lies from the nearest of some segments, mm."""
    return float(np.min([part.distances(points) for part in parts], axis=0).max())


def _corners_of(rows: Floats, closed: bool) -> list[int]:
    """Indices of the points where a row turns sharply."""
    n = len(rows)
    steps = np.diff(np.concatenate([rows, rows[:1]]) if closed else rows, axis=0)
    heading = np.arctan2(steps[:, 1], steps[:, 0])
    turns = np.zeros(n)
    if closed:
        turns = np.abs(np.angle(np.exp(1j * (heading - np.roll(heading, 1)))))
    else:
        turns[1:-1] = np.abs(np.angle(np.exp(1j * np.diff(heading))))
    beside = np.maximum(np.roll(turns, 1), np.roll(turns, -1))
    if not closed and n > 2:
        beside[1], beside[-2] = turns[min(2, n - 1)], turns[max(n - 3, 0)]
    sharp = (turns > CORNER_TURN) | ((turns > CORNER_TURN_ALONE) & (turns > 3 * beside))
    return [int(i) for i in np.flatnonzero(sharp)]


def _point(row: Floats) -> Point:
    return (float(row[0]), float(row[1]))


def _unit(v: Point) -> Point:
    size = math.hypot(*v)
    if not size > 0:
        raise RequestError("a curve that stands still", mend="Give a curve that moves on")
    return (v[0] / size, v[1] / size)

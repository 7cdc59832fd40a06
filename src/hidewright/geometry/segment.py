"""One straight line or circular arc, by its two ends and its bulge."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hidewright.errors import RequestError
from hidewright.geometry.once import once

Point = tuple[float, float]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

#: Two points nearer than this are one point, mm. A laser resolves about 0.01 mm.
SAME_POINT_MM = 1e-7


@dataclass(frozen=True, kw_only=True)
class Segment:
    """A line or a circular arc from ``start`` to ``end``.

    Attributes:
        start: First end, mm.
        end: Last end, mm.
        bulge: tan(sweep / 4); 0 is a line, positive turns left (counter-clockwise), 1 is half a
            circle. The definition is that of the polyline bulge in the DXF reference. An arc sweeps
            less than 350 degrees.
        span: Name of the stretch of outline this segment belongs to, such as ``mouth``.
    """

    start: Point
    end: Point
    bulge: float = 0.0
    span: str = ""

    def __post_init__(self) -> None:
        (x0, y0), (x1, y1) = self.start, self.end
        if not math.isfinite(x0 + y0 + x1 + y1 + self.bulge):
            raise RequestError(
                f"segment {self.start} to {self.end}, bulge {self.bulge}",
                because="a coordinate is not a finite number",
            )
        if math.dist(self.start, self.end) < SAME_POINT_MM:
            raise RequestError(
                f"segment at ({self.start[0]:g}, {self.start[1]:g})",
                because="its two ends are the same point",
                mend="Leave it out, or draw a circle as two arcs",
            )

    @once
    def is_arc(self) -> bool:
        """Whether it bends at all: a sagitta over a millionth of a mm."""
        return self.bulge != 0.0 and abs(self.bulge) * self.chord > 2e-6

    @once
    def chord(self) -> float:
        """Straight distance between the ends, mm."""
        return math.dist(self.start, self.end)

    @once
    def sweep(self) -> float:
        """Signed angle turned through, radians, counter-clockwise positive; 0 for a line."""
        return 4.0 * math.atan(self.bulge) if self.is_arc else 0.0

    @once
    def radius(self) -> float:
        """Radius, mm; infinite for a line."""
        if not self.is_arc:
            return math.inf
        return self.chord * (1.0 + self.bulge**2) / (4.0 * abs(self.bulge))

    @once
    def centre(self) -> Point:
        """Centre of the arc, mm.

        Raises:
            ValueError: For a line, which has none.
        """
        if not self.is_arc:
            raise ValueError("a line has no centre")
        (x0, y0), (x1, y1) = self.start, self.end
        rise = (1.0 - self.bulge**2) / (4.0 * self.bulge)
        return ((x0 + x1) / 2 - (y1 - y0) * rise, (y0 + y1) / 2 + (x1 - x0) * rise)

    @once
    def length(self) -> float:
        """Length along the line or arc, mm."""
        return self.radius * abs(self.sweep) if self.is_arc else self.chord

    @once
    def area(self) -> float:
        """Signed area swept from the origin, mm2; summed over a closed outline it is its area."""
        (x0, y0), (x1, y1) = self.start, self.end
        triangle = (x0 * y1 - x1 * y0) / 2.0
        if not self.is_arc:
            return triangle
        return triangle + self.radius**2 * (self.sweep - math.sin(self.sweep)) / 2.0

    @once
    def curvature(self) -> float:
        """Signed curvature, 1/mm; positive turns left, 0 for a line."""
        if not self.is_arc:
            return 0.0
        return 4.0 * self.bulge / (self.chord * (1.0 + self.bulge**2))

    @once
    def chord_angle(self) -> float:
        """Direction of the chord, radians counter-clockwise from x."""
        (x0, y0), (x1, y1) = self.start, self.end
        return math.atan2(y1 - y0, x1 - x0)

    @once
    def sets_out(self) -> Point:
        """Unit direction of travel at the start."""
        return self.tangent_at(0.0)

    def point_at(self, distance: float) -> Point:
        """Return the point this far along from the start, mm."""
        f = distance / self.length
        (x0, y0), (x1, y1) = self.start, self.end
        dx, dy = x1 - x0, y1 - y0
        if not self.is_arc:
            return (x0 + dx * f, y0 + dy * f)
        # by the chord of the part, not the centre: nearly straight arcs have theirs far away
        reach = math.sin(self.sweep * f / 2) / math.sin(self.sweep / 2)
        lean = self.sweep * (f - 1.0) / 2
        c, s = reach * math.cos(lean), reach * math.sin(lean)
        return (x0 + dx * c - dy * s, y0 + dx * s + dy * c)

    def points_at(self, distances: Floats) -> Floats:
        """Return the (n, 2) points this far along from the start, mm: many of ``point_at``."""
        f = np.asarray(distances)[:, None] / self.length
        start, chord = np.array(self.start), np.subtract(self.end, self.start)
        if not self.is_arc:
            return np.asarray(start + chord * f)
        reach = np.sin(self.sweep * f / 2) / math.sin(self.sweep / 2)
        lean = self.sweep * (f - 1.0) / 2
        left = np.array([-chord[1], chord[0]])
        return np.asarray(start + reach * (np.cos(lean) * chord + np.sin(lean) * left))

    def tangent_at(self, distance: float) -> Point:
        """Return the unit direction of travel this far along from the start."""
        # the chord's direction turned from -sweep/2 to +sweep/2
        a = self.chord_angle + self.sweep * (distance / self.length - 0.5)
        return (math.cos(a), math.sin(a))

    def normal_at(self, distance: float) -> Point:
        """Return the unit normal to the right of travel: outward on a counter-clockwise outline."""
        tx, ty = self.tangent_at(distance)
        return (ty, -tx)

    def nearest(self, point: Point) -> tuple[float, float]:
        """Return (distance along, distance away) of the nearest point of the segment, mm."""
        (x0, y0), (x1, y1) = self.start, self.end
        if self.is_arc:
            (tx, ty), k = self.sets_out, self.curvature
            qx, qy = point[0] - x0, point[1] - y0
            forward, leftward = qx * tx + qy * ty, qy * tx - qx * ty
            # the turn from the start as seen from the centre, without computing the centre
            turn = math.atan2(k * forward, 1.0 - k * leftward)
            turn = turn % (2 * math.pi) if k > 0 else -((-turn) % (2 * math.pi))
            if abs(turn) <= abs(self.sweep):
                power = k * (qx * qx + qy * qy) / 2 - leftward
                away = abs(2 * power / (1.0 + math.sqrt(max(1.0 + 2 * k * power, 0.0))))
                return (turn / k, away)
            ends = (math.dist(point, self.start), math.dist(point, self.end))
            return (0.0, ends[0]) if ends[0] <= ends[1] else (self.length, ends[1])
        ux, uy = (x1 - x0) / self.chord, (y1 - y0) / self.chord
        along = (point[0] - x0) * ux + (point[1] - y0) * uy
        along = min(max(along, 0.0), self.chord)
        return (along, math.dist(point, (x0 + ux * along, y0 + uy * along)))

    def distances(self, points: Floats) -> Floats:
        """Return how far (n, 2) points lie from the segment, mm: many of ``nearest``."""
        (x0, y0), (x1, y1) = self.start, self.end
        qx, qy = points[:, 0] - x0, points[:, 1] - y0
        if not self.is_arc:
            ux, uy = (x1 - x0) / self.chord, (y1 - y0) / self.chord
            along = np.clip(qx * ux + qy * uy, 0.0, self.chord)
            return np.asarray(np.hypot(qx - along * ux, qy - along * uy))
        (tx, ty), k = self.sets_out, self.curvature
        leftward = qy * tx - qx * ty
        turn = np.arctan2(k * (qx * tx + qy * ty), 1.0 - k * leftward)
        turn = turn % (2 * math.pi) if k > 0 else (-turn) % (2 * math.pi)
        power = k * (qx * qx + qy * qy) / 2 - leftward
        away = np.abs(2 * power / (1.0 + np.sqrt(np.maximum(1.0 + 2 * k * power, 0.0))))
        beyond = turn > abs(self.sweep)
        if beyond.any():
            px, py = qx[beyond], qy[beyond]
            away[beyond] = np.minimum(np.hypot(px, py), np.hypot(px - (x1 - x0), py - (y1 - y0)))
        return np.asarray(away)

    def part(self, begin: float, finish: float) -> "Segment":
        """Return the piece between two distances along, mm; exact ends where they are the ends."""
        start = self.start if begin <= 0 else self.point_at(begin)
        end = self.end if finish >= self.length else self.point_at(finish)
        if not self.is_arc:
            return Segment(start=start, end=end, span=self.span)
        sweep = self.sweep * (min(finish, self.length) - max(begin, 0.0)) / self.length
        return Segment(start=start, end=end, bulge=math.tan(sweep / 4.0), span=self.span)

    def _alike(self, start: Point, end: Point, bulge: float, span: str) -> "Segment":
        """Return one of the same shape without looking at it: a valid one stays valid."""
        alike = object.__new__(Segment)
        alike.__dict__.update(start=start, end=end, bulge=bulge, span=span)
        return alike

    def backwards(self) -> "Segment":
        """Return the same line or arc travelled from its end to its start."""
        return self._alike(self.end, self.start, 0.0 - self.bulge, self.span)

    def named(self, span: str) -> "Segment":
        """Return the same segment belonging to another span."""
        return self._alike(self.start, self.end, self.bulge, span)

    def moved(self, dx: float, dy: float) -> "Segment":
        """Return it shifted, mm."""
        (x0, y0), (x1, y1) = self.start, self.end
        return self._alike((x0 + dx, y0 + dy), (x1 + dx, y1 + dy), self.bulge, self.span)

    def rotated(self, angle: float, about: Point = (0.0, 0.0)) -> "Segment":
        """Return it turned counter-clockwise by an angle in radians."""
        start, end = turn(self.start, angle, about), turn(self.end, angle, about)
        return self._alike(start, end, self.bulge, self.span)

    def mirrored(self) -> "Segment":
        """Return it mirrored left to right (x to -x), travelled in the mirrored sense."""
        (x0, y0), (x1, y1) = self.start, self.end
        return self._alike((-x0, y0), (-x1, y1), 0.0 - self.bulge, self.span)

    def scaled(self, factor: float) -> "Segment":
        """Return it scaled evenly about the origin."""
        (x0, y0), (x1, y1) = self.start, self.end
        start, end = (x0 * factor, y0 * factor), (x1 * factor, y1 * factor)
        return self._alike(start, end, self.bulge, self.span)

    def flat_points(self, sagitta_mm: float) -> list[Point]:
        """Return points along it, without its end, no chord further off than the sagitta."""
        if not self.is_arc:
            return [self.start]
        ratio = min(max(1.0 - sagitta_mm / self.radius, -1.0), 1.0)
        step = max(2.0 * math.acos(ratio), 1e-3)
        n = max(1, math.ceil(abs(self.sweep) / step))
        cx, cy = self.centre
        dx, dy = self.start[0] - cx, self.start[1] - cy
        points = [self.start]
        for k in range(1, n):
            a = self.sweep * k / n
            c, s = math.cos(a), math.sin(a)
            points.append((cx + dx * c - dy * s, cy + dx * s + dy * c))
        return points


def line(start: Point, end: Point, span: str = "") -> Segment:
    """Return a straight segment."""
    return Segment(start=start, end=end, span=span)


def arc(centre: Point, start: Point, sweep: float, span: str = "") -> Segment:
    """Return the arc round a centre from a start point through a signed angle in radians."""
    end = turn(start, sweep, centre)
    return Segment(start=start, end=end, bulge=math.tan(sweep / 4.0), span=span)


def arc_through(start: Point, middle: Point, end: Point, span: str = "") -> Segment:
    """Return the arc (or line) through three points, by the inscribed angle at the middle one."""
    ax, ay = start[0] - middle[0], start[1] - middle[1]
    bx, by = end[0] - middle[0], end[1] - middle[1]
    angle = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    # inscribed angle: the sweep is 2 (pi - |angle|)
    sweep = -math.copysign(2.0 * (math.pi - abs(angle)), angle) if angle else 0.0
    return Segment(start=start, end=end, bulge=math.tan(sweep / 4.0), span=span)


def turn(point: Point, angle: float, about: Point = (0.0, 0.0)) -> Point:
    """Return a point turned counter-clockwise about another by an angle in radians."""
    c, s = math.cos(angle), math.sin(angle)
    dx, dy = point[0] - about[0], point[1] - about[1]
    return (about[0] + dx * c - dy * s, about[1] + dx * s + dy * c)


def cross(u: Floats, v: Floats) -> Floats:
    """Return u x v of vectors in the plane, (..., 2) each."""
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])


def bounds_of(segments: Iterable[Segment]) -> tuple[float, float, float, float]:
    """Return (left, bottom, right, top) of segments, mm, exact on arcs."""
    xs: list[float] = []
    ys: list[float] = []
    for seg in segments:
        xs += (seg.start[0], seg.end[0])
        ys += (seg.start[1], seg.end[1])
        if not seg.is_arc:
            continue
        (x0, y0), (x1, y1), (cx, cy), r = seg.start, seg.end, seg.centre, seg.radius
        # an arc that turns left lies to the right of its chord, and the rest of its circle left
        dx, dy = (x1 - x0, y1 - y0) if seg.bulge > 0 else (x0 - x1, y0 - y1)
        middle = dx * (cy - y0) - dy * (cx - x0)
        if middle + dx * r < 0:
            ys.append(cy + r)
        if middle - dx * r < 0:
            ys.append(cy - r)
        if middle - dy * r < 0:
            xs.append(cx + r)
        if middle + dy * r < 0:
            xs.append(cx - r)
    return (min(xs), min(ys), max(xs), max(ys))

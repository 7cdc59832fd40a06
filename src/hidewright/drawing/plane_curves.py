"""Curves as drawing files hold them, carried by an affine map into lines and true arcs in mm."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from hidewright.drawing.reading import CURVE_TOLERANCE_MM, MAX_COORDINATE_MM
from hidewright.errors import RequestError
from hidewright.geometry.refit import curve_to_segments
from hidewright.geometry.segment import Point, Segment

#: The fit is measured at points of the curve; a tenth is kept for what lies between them, mm.
FIT_MM = 0.9 * CURVE_TOLERANCE_MM
#: An ellipse whose half axes differ by less is a circle that lost digits in the file, mm.
ROUND_MM = 1e-3
#: Shorter lines and arcs cannot be cut and are left out, mm; those beside them are drawn together.
SPECK_MM = 1e-3
#: Below this a line has no direction, mm.
NOTHING_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Affine:
    """The map (x, y) -> (a x + c y + e, b x + d y + f), letters as in SVG's ``matrix``."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __call__(self, point: Point) -> Point:
        """Return where a point goes."""
        x, y = point
        return (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def turned(self, vector: Point) -> Point:
        """Return where a direction goes: the map without its shift."""
        x, y = vector
        return (self.a * x + self.c * y, self.b * x + self.d * y)

    def after(self, first: "Affine") -> "Affine":
        """Return the map that does another one first, then this one."""
        a, b = self.turned((first.a, first.b))
        c, d = self.turned((first.c, first.d))
        e, f = self((first.e, first.f))
        return Affine(a, b, c, d, e, f)

    @property
    def determinant(self) -> float:
        """Area it makes of a unit square, negative when it mirrors."""
        return self.a * self.d - self.b * self.c


@dataclass(frozen=True, slots=True)
class LineCurve:
    """A straight line between two points, in units of the drawing."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True)
class EllipticArc:
    """centre + u cos(angle) + v sin(angle), from ``begin`` through ``sweep`` radians.

    u and v are any two directions in units of the drawing: a circle of radius r has (r, 0) and
    (0, r). An affine map of such an arc is again one, with both directions mapped.
    """

    centre: Point
    u: Point
    v: Point
    begin: float
    sweep: float

    def point_at(self, angle: float) -> Point:
        """Return the point at an angle of the parameter."""
        c, s = math.cos(angle), math.sin(angle)
        return (
            self.centre[0] + self.u[0] * c + self.v[0] * s,
            self.centre[1] + self.u[1] * c + self.v[1] * s,
        )


@dataclass(frozen=True, slots=True)
class FreeCurve:
    """Any other smooth curve, by its points and the directions in which it leaves and arrives."""

    point_at: Callable[[float], Point]
    begin: float
    finish: float
    leaves: Point
    arrives: Point


Curve = LineCurve | EllipticArc | FreeCurve


def segments_of(curves: Sequence[Curve], place: Affine) -> tuple[Segment, ...]:
    """Return curves mapped into mm as lines and arcs, each curve within 0.01 mm.

    Lines and circles under an even map are exact; ellipses and free curves are refitted to tangent
    arcs. A stretch shorter than 0.001 mm is left out.

    Args:
        curves: Curves end to end, in units of the drawing.
        place: The map from there to mm, y up.

    Raises:
        RequestError: When a coordinate is not finite or further than 100 m from the origin.
    """
    out: list[Segment] = []
    for curve in curves:
        if isinstance(curve, LineCurve):
            out += _line(place(curve.start), place(curve.end))
        elif isinstance(curve, EllipticArc):
            out += _elliptic(
                EllipticArc(
                    place(curve.centre),
                    place.turned(curve.u),
                    place.turned(curve.v),
                    curve.begin,
                    curve.sweep,
                )
            )
        else:
            out += _free(curve, place)
    return _without_specks(out)


def circle(centre: Point, radius: float) -> EllipticArc:
    """Return a full circle, counter-clockwise from 3 o'clock in its own axes."""
    return EllipticArc(centre, (radius, 0.0), (0.0, radius), 0.0, 2 * math.pi)


def bulged(start: Point, end: Point, bulge: float) -> Curve:
    """Return the line or arc of a polyline's bulge, tan(sweep / 4) (DXF reference)."""
    (x0, y0), (x1, y1) = start, end
    chord = math.dist(start, end)
    if not abs(bulge) > 1e-9 or chord == 0.0:
        return LineCurve(start, end)
    rise = (1.0 - bulge**2) / (4.0 * bulge)
    centre = ((x0 + x1) / 2 - (y1 - y0) * rise, (y0 + y1) / 2 + (x1 - x0) * rise)
    radius = chord * (1.0 + bulge**2) / (4.0 * abs(bulge))
    begin = math.atan2(y0 - centre[1], x0 - centre[0])
    return EllipticArc(centre, (radius, 0.0), (0.0, radius), begin, 4.0 * math.atan(bulge))


def _without_specks(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """The same run without pieces under 0.001 mm; its first start and last end stay."""
    if not segments:
        return ()
    out: list[Segment] = []
    pen, last = segments[0].start, segments[-1].end
    for seg in segments:
        if math.dist(pen, seg.end) >= SPECK_MM:
            out.append(seg if pen == seg.start else replace(seg, start=pen))
            pen = seg.end
    if out and pen != last and math.dist(out[-1].start, last) > NOTHING_MM:
        out[-1] = replace(out[-1], end=last)
    return tuple(out)


def _line(start: Point, end: Point) -> list[Segment]:
    _check(start, end)
    return [] if math.dist(start, end) < NOTHING_MM else [Segment(start=start, end=end)]


def _elliptic(arc: EllipticArc) -> list[Segment]:
    """Lines and arcs of an elliptic arc that is in mm already."""
    reach = math.hypot(*arc.u) + math.hypot(*arc.v)
    _check(arc.centre, (reach, arc.begin + arc.sweep))
    if abs(arc.sweep) * reach < NOTHING_MM:
        return []
    arc = _on_its_axes(arc)
    large, small = math.hypot(*arc.u), math.hypot(*arc.v)
    if large - small < ROUND_MM:
        return _circular(arc)
    stops = _quarters(arc)
    if small < CURVE_TOLERANCE_MM / 2:  # flat as a line: through its tips
        points = [arc.point_at(t) for t in stops]
        return [s for p, q in pairwise(points) for s in _line(p, q)]
    out: list[Segment] = []
    for begin, finish in pairwise(stops):
        if math.dist(arc.point_at(begin), arc.point_at(finish)) < 10 * NOTHING_MM:
            out += _line(arc.point_at(begin), arc.point_at(finish))
            continue
        ends = (_along(arc, begin), _along(arc, finish))
        out += curve_to_segments(arc.point_at, begin, finish, FIT_MM, tangents=ends)
    return out


def _along(arc: EllipticArc, angle: float) -> Point:
    """Direction of travel at an angle of the parameter, any length."""
    c, s = math.cos(angle), math.sin(angle)
    return (arc.v[0] * c - arc.u[0] * s, arc.v[1] * c - arc.u[1] * s)


def _on_its_axes(arc: EllipticArc) -> EllipticArc:
    """The same arc with u along the large half axis, v along the small one, the sweep over 0.

    The parameter is shifted by half of atan2(2 u.v, u.u - v.v) (Rytz's construction).
    """
    (ux, uy), (vx, vy) = arc.u, arc.v
    shift = 0.5 * math.atan2(2 * (ux * vx + uy * vy), ux**2 + uy**2 - vx**2 - vy**2)
    c, s = math.cos(shift), math.sin(shift)
    u = (ux * c + vx * s, uy * c + vy * s)
    v = (vx * c - ux * s, vy * c - uy * s)
    if arc.sweep < 0:
        return EllipticArc(arc.centre, u, (-v[0], -v[1]), shift - arc.begin, -arc.sweep)
    return EllipticArc(arc.centre, u, v, arc.begin - shift, arc.sweep)


def _circular(arc: EllipticArc) -> list[Segment]:
    """True arcs of at most half a turn each."""
    turn = math.copysign(1.0, arc.u[0] * arc.v[1] - arc.u[1] * arc.v[0])
    n = max(1, math.ceil(abs(arc.sweep) / math.pi - 1e-9))
    points = [arc.point_at(arc.begin + arc.sweep * i / n) for i in range(n + 1)]
    if abs(abs(arc.sweep) - 2 * math.pi) < 1e-12:
        points[-1] = points[0]
    bulge = turn * math.tan(arc.sweep / n / 4.0)
    pairs = pairwise(points)
    return [Segment(start=p, end=q, bulge=bulge) for p, q in pairs if math.dist(p, q) >= NOTHING_MM]


def _quarters(arc: EllipticArc) -> list[float]:
    """Parameters from begin to end, with the tips of both axes that lie between them."""
    low, high, quarter = arc.begin, arc.begin + arc.sweep, math.pi / 2
    tips = [k * quarter for k in range(math.floor(low / quarter), math.ceil(high / quarter) + 1)]
    return [low, *(t for t in tips if low + 1e-6 < t < high - 1e-6), high]


def _free(curve: FreeCurve, place: Affine) -> list[Segment]:
    def point_at(t: float) -> Point:
        return place(curve.point_at(t))

    n = 32
    probes = [point_at(curve.begin + (curve.finish - curve.begin) * i / n) for i in range(n + 1)]
    _check(*probes)
    length = math.fsum(math.dist(p, q) for p, q in pairwise(probes))
    if length < NOTHING_MM:
        return []
    if length - math.dist(probes[0], probes[-1]) < 1e-9 * length or length < SPECK_MM:
        return _line(probes[0], probes[-1])
    ends = (place.turned(curve.leaves), place.turned(curve.arrives))
    parts = curve_to_segments(point_at, curve.begin, curve.finish, FIT_MM, tangents=ends)
    return list(parts)


def _check(*points: Point) -> None:
    for x, y in points:
        if not (math.isfinite(x) and math.isfinite(y)):
            raise RequestError("a coordinate is not a finite number")
        if abs(x) > MAX_COORDINATE_MM or abs(y) > MAX_COORDINATE_MM:
            raise RequestError(
                f"a point at ({x:g}, {y:g}) mm",
                because="it lies over 100 m away",
                mend="Check the unit of the drawing",
            )

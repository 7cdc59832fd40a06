"""The entities of DXF as curves in the plane, in units of the drawing."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from ezdxf.entities import (
    Arc,
    Circle,
    DXFGraphic,
    Ellipse,
    Insert,
    Line,
    LWPolyline,
    Polyline,
    Spline,
)
from scipy.interpolate import BSpline

from hidewright.drawing.plane_curves import (
    Affine,
    Curve,
    EllipticArc,
    FreeCurve,
    LineCurve,
    bulged,
)
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats, Point

#: Heights over the drawing plane below this are round-off, units of the drawing.
FLAT = 1e-6
#: A control vertex that only steers a fitted polyline and is not on it (DXF reference, POLYLINE).
_FRAME_VERTEX = 16


class OffPlaneError(Exception):
    """The entity does not lie in the drawing plane."""


@dataclass(frozen=True, slots=True)
class Run:
    """Curves end to end, and whether the entity says that they close."""

    curves: tuple[Curve, ...]
    closed: bool


def entity_run(entity: DXFGraphic) -> Run | None:
    """Return the curves of an entity, None for a kind that is not read.

    Read are LINE, ARC, CIRCLE, ELLIPSE, SPLINE, LWPOLYLINE and POLYLINE. Those whose extrusion is
    (0, 0, -1) are drawn from behind and turned over here (DXF reference, object coordinate system).

    Raises:
        OffPlaneError: When it does not lie in the plane z = 0.
        RequestError: When its numbers make no curve.
    """
    match entity:
        case Line():
            start, end = _flat(entity.dxf.start), _flat(entity.dxf.end)
            return Run((LineCurve(start, end),), closed=False)
        case Arc():
            sweep = math.radians((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0)
            return _circular(entity, math.radians(entity.dxf.start_angle), sweep)
        case Circle():
            return _circular(entity, 0.0, 0.0)
        case Ellipse():
            return _ellipse(entity)
        case Spline():
            return _spline(entity)
        case LWPolyline():
            side = _side(entity)
            _level(entity.dxf.elevation)
            corners = [
                ((side * float(x), float(y)), side * float(b))
                for x, y, b in entity.get_points("xyb")
            ]
            return _polyline(corners, closed=bool(entity.closed))
        case Polyline():
            return _old_polyline(entity)
    return None


def insert_maps(insert: Insert) -> list[Affine]:
    """Return where a block reference puts its block, once for each row and column.

    Raises:
        OffPlaneError: When it is tilted or lies off the plane z = 0.
    """
    return [
        _insert_map(part) for part in (insert.multi_insert() if insert.mcount > 1 else [insert])
    ]


def _insert_map(insert: Insert) -> Affine:
    m = [float(v) for v in insert.matrix44()]
    for slope in (m[2], m[6], m[14]):
        _level(slope)
    return Affine(m[0], m[1], m[4], m[5], m[12], m[13])


def _circular(entity: Circle, begin: float, sweep: float) -> Run:
    side = _side(entity)
    x, y, z = (float(v) for v in entity.dxf.center)
    _level(z)
    r = float(entity.dxf.radius)
    if not (0 < r < math.inf):
        raise RequestError(f"a radius of {r:g}", because="it must be over 0")
    whole = sweep <= 1e-9
    arc = EllipticArc(
        (side * x, y), (side * r, 0.0), (0.0, r), begin, 2 * math.pi if whole else sweep
    )
    return Run((arc,), closed=whole)


def _ellipse(entity: Ellipse) -> Run:
    side = _side(entity)
    centre, (ux, uy) = _flat(entity.dxf.center), _flat(entity.dxf.major_axis)
    ratio = float(entity.dxf.ratio) * side
    begin, end = float(entity.dxf.start_param), float(entity.dxf.end_param)
    if not 0 < abs(ratio) < math.inf or ux == uy == 0.0:
        raise RequestError("an ellipse without a size")
    sweep = (end - begin) % (2 * math.pi) if math.isfinite(end - begin) else math.nan
    whole = sweep < 1e-9 or 2 * math.pi - sweep < 1e-9
    arc = EllipticArc(
        centre, (ux, uy), (-uy * ratio, ux * ratio), begin, 2 * math.pi if whole else sweep
    )
    return Run((arc,), closed=whole)


def _old_polyline(entity: Polyline) -> Run | None:
    """A POLYLINE with vertices of their own; meshes are not read."""
    if entity.is_polygon_mesh or entity.is_poly_face_mesh:
        return None
    vertices = [v for v in entity.vertices if not v.dxf.flags & _FRAME_VERTEX]
    if entity.is_3d_polyline:
        points = [_flat(v.dxf.location) for v in vertices]
        return _polyline([(p, 0.0) for p in points], closed=bool(entity.is_closed))
    side = _side(entity)
    corners = []
    for vertex in vertices:
        x, y, z = (float(v) for v in vertex.dxf.location)
        _level(z)
        corners.append(((side * x, y), side * float(vertex.dxf.bulge)))
    _level(float(entity.dxf.elevation[2]))
    return _polyline(corners, closed=bool(entity.is_closed))


def _polyline(corners: Sequence[tuple[Point, float]], *, closed: bool) -> Run:
    for (x, y), bulge in corners:
        if not math.isfinite(x + y + bulge):
            raise RequestError("a coordinate is not a finite number")
    around = [*corners, corners[0]] if closed and corners else corners
    curves = (bulged(p, q, bulge) for (p, bulge), (q, _) in pairwise(around) if p != q)
    return Run(tuple(curves), closed)


def _spline(entity: Spline) -> Run:
    try:
        tool = entity.construction_tool()
        knots = np.asarray(tool.knots(), dtype=np.float64)
        points = np.array([(p.x, p.y, p.z) for p in tool.control_points], dtype=np.float64)
        weights = np.asarray(tool.weights() or np.ones(len(points)), dtype=np.float64)
        degree = int(tool.degree)
    except (ValueError, TypeError, IndexError, ArithmeticError) as error:
        raise RequestError("a spline that is incomplete", because=str(error)) from None
    if not (np.isfinite(points).all() and np.isfinite(knots).all() and (weights > 0).all()):
        raise RequestError("a coordinate, knot or weight of the spline is not a usable number")
    if np.abs(points[:, 2]).max() > FLAT:
        raise OffPlaneError
    return Run(tuple(_spline_curves(knots, points[:, :2], weights, degree)), closed=False)


def _spline_curves(
    knots: Floats, points: Floats, weights: Floats, degree: int
) -> Iterable[FreeCurve]:
    """The smooth stretches of a B-spline, broken at knots as many times over as its degree.

    Args:
        knots: (m,) ascending.
        points: (n, 2) control points; m = n + degree + 1.
        weights: (n,) over 0; all 1 for a plain spline.
        degree: 1 or more.
    """
    rows = np.column_stack([points * weights[:, None], weights])
    try:
        spline = BSpline(knots, rows, degree)
    except ValueError as error:
        raise RequestError("the knots of the spline do not fit it", because=str(error)) from None
    begin, finish = float(knots[degree]), float(knots[len(points)])

    def point_at(t: float) -> Point:
        x, y, w = (float(v) for v in spline(min(max(t, begin), finish)))
        return (x / w, y / w)

    values, counts = np.unique(knots, return_counts=True)
    sharp = [float(t) for t, n in zip(values, counts, strict=True) if n >= degree]
    stops = [begin, *(t for t in sharp if begin < t < finish), finish]
    for t0, t1 in pairwise(stops):
        step = (t1 - t0) * 1e-6
        p0, p1 = point_at(t0), point_at(t0 + step)
        q0, q1 = point_at(t1 - step), point_at(t1)
        yield FreeCurve(
            point_at,
            t0,
            t1,
            leaves=(p1[0] - p0[0], p1[1] - p0[1]),
            arrives=(q1[0] - q0[0], q1[1] - q0[1]),
        )


def _side(entity: DXFGraphic) -> float:
    """1 for an entity drawn from above, -1 for one from below: its x then counts backwards."""
    x, y, z = (float(v) for v in entity.dxf.extrusion)
    if not z or math.hypot(x, y) > FLAT * abs(z):
        raise OffPlaneError
    return math.copysign(1.0, z)


def _flat(vector: Iterable[float]) -> Point:
    x, y, z = (float(v) for v in vector)
    _level(z)
    return (x, y)


def _level(z: float) -> None:
    if not abs(z) <= FLAT:
        raise OffPlaneError

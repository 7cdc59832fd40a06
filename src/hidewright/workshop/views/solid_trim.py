"""Trimming a sheet to its piece: along the outline, at a height, round the holes."""

from collections.abc import Callable

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from hidewright.design.piece import Piece
from hidewright.geometry.crossing import Distances
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Bools, Floats, Point, Segment
from hidewright.workshop.views.solid_sheet import Sheet, clipped, only, refined

#: Sides of triangles at the trimmed edge are made no longer than this, mm, and at a hole.
EDGE_MM, HOLE_MM = 3.0, 1.0
#: Rounds of halving on the way there.
HALVINGS = 4
#: A stretch of outline bounds the whole piece when no place of it lies beyond it by more, mm.
BEYOND_MM = 0.02
#: What is smaller and joined to the rest by no side is left out, mm2.
CRUMB_MM2 = 0.05

#: Signed distance of (n, 2) places, mm, positive inside.
Plan = Callable[[Floats], Floats]


def trimmed(sheet: Sheet, piece: Piece, thickness_mm: float) -> Sheet:
    """Return a formed sheet trimmed to its piece, in the piece's frame.

    Where walls are cut at a height, they end there; else all is cut along the outline, as a knife
    goes straight down.

    Args:
        sheet: Dry, in the piece's frame.
        piece: What is cut out of it.
        thickness_mm: Of its leather: a zone pressed towards the flesh side is measured from the
            flange's grain face.
    """
    cut = next((zone for zone in piece.zones if zone.cut_height_mm is not None), None)
    if cut is not None:
        height, grain_out = cut.cut_height_mm or 0.0, cut.grain_out
        sheet = clipped(
            sheet, lambda p: (p[:, 2] if grain_out else thickness_mm - p[:, 2]) - height
        )
    else:
        sheet = _along(sheet, piece.outline)
    for hole in piece.holes:
        sheet = _clear_of(sheet, _beyond_circle(hole.at, hole.diameter_mm / 2.0), HOLE_MM)
    for window in piece.cut_outs:
        sheet = _clear_of(sheet, _opposite(inside_of(window)), EDGE_MM)
    return _without_crumbs(sheet)


def _without_crumbs(sheet: Sheet) -> Sheet:
    """Leave out what hangs on the rest by a corner alone and is hardly there: left by rounding."""
    n = len(sheet.triangles)
    sides = np.sort(sheet.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, number = np.unique(sides @ (len(sheet.values), 1), return_inverse=True)
    of = csr_matrix((np.ones(3 * n), (np.repeat(np.arange(n), 3), number.ravel())))
    _, part = connected_components(of @ of.T, directed=False)
    a, b, c = sheet.points[sheet.triangles].transpose(1, 0, 2)
    areas = np.bincount(part, np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2.0)
    return only(sheet, areas[part] > CRUMB_MM2)


def _along(sheet: Sheet, outline: Outline) -> Sheet:
    """Cut along an outline: first along stretches that bound all of it, which keeps its corners."""
    inside = inside_of(outline)
    sheet = _near_by(sheet, inside)
    sheet = _finer_along(sheet, inside)
    corners = outline.flat_points()
    for segment in outline.segments:
        side = inside_of_stretch(segment)
        if side(corners).min() > -BEYOND_MM:
            sheet = clipped(sheet, lambda p, side=side: side(p[:, :2]))  # type: ignore[misc]
    return clipped(sheet, lambda p: inside(p[:, :2]))


def inside_of(outline: Outline) -> Plan:
    """Return the signed distance from an outline, exact on arcs, mm.

    The nearest stretch tells the side; where two are equally near, at a corner between them, the
    one that the place lies less along does.
    """
    stretches = Distances(outline.segments)
    sides = [inside_of_stretch(segment) for segment in outline.segments]

    def distance(at: Floats) -> Floats:
        away = stretches.table(at)
        across = np.stack([side(at) for side in sides], axis=1)
        nearest = (away - 1e-6 * np.abs(across)).argmin(axis=1)[:, None]
        found: Floats = np.copysign(
            np.take_along_axis(away, nearest, 1), np.take_along_axis(across, nearest, 1)
        )[:, 0]
        return found

    return distance


def inside_of_stretch(segment: Segment) -> Plan:
    """Return the signed distance from the line or circle a stretch of outline lies on, mm."""
    if segment.is_arc:
        left, radius = np.sign(segment.curvature), segment.radius
        return lambda at: np.asarray(left * (radius - _away(at, segment.centre)))
    start, (dx, dy) = np.array(segment.start), segment.tangent_at(0.0)
    return lambda at: np.asarray((at - start) @ np.array([-dy, dx]))


def _away(at: Floats, point: Point) -> Floats:
    """(n,) how far (n, 2) places are from a point, mm."""
    x, y = (at - point).T
    away: Floats = np.sqrt(x * x + y * y)
    return away


def _beyond_circle(centre: Point, radius: float) -> Plan:
    return lambda at: _away(at, centre) - radius


def _opposite(distance: Plan) -> Plan:
    return lambda at: -distance(at)


def _clear_of(sheet: Sheet, distance: Plan, least_mm: float) -> Sheet:
    sheet = _finer_round(sheet, distance, least_mm)
    return clipped(sheet, lambda p: distance(p[:, :2]))


def _finer_round(sheet: Sheet, distance: Plan, least_mm: float) -> Sheet:
    """Halve triangles that a line, however short, may run through."""
    for _ in range(HALVINGS):
        before = len(sheet.triangles)
        sheet = refined(sheet, _near(sheet, distance), least_mm)
        if len(sheet.triangles) == before:
            break
    return sheet


def _finer_along(sheet: Sheet, distance: Plan) -> Sheet:
    """Halve triangles that have corners on both sides of a line."""
    at = distance(sheet.points[:, :2])
    for _ in range(HALVINGS):
        corners = at[sheet.triangles]
        straddles = (corners.min(axis=1) < 0.0) & (corners.max(axis=1) > 0.0)
        sheet = refined(sheet, straddles, EDGE_MM)
        if len(sheet.points) == len(at):
            break
        at = np.concatenate([at, distance(sheet.points[len(at) :, :2])])  # its points stay
    return sheet


def _near_by(sheet: Sheet, distance: Plan) -> Sheet:
    """Leave out triangles that lie so far outside that no line can run through them."""
    points = sheet.points[:, :2]
    corners = points[sheet.triangles]
    spread = np.ptp(corners, axis=1).sum(axis=1)
    return only(sheet, distance(points)[sheet.triangles].max(axis=1) > -spread)


def _near(sheet: Sheet, distance: Plan) -> Bools:
    """Whether a line, however short, may run through triangles."""
    corners = sheet.points[sheet.triangles][:, :, :2]
    middle = corners.mean(axis=1)
    x, y = (corners - middle[:, None, :]).transpose(2, 0, 1)
    reach = np.sqrt((x * x + y * y).max(axis=1))
    return np.asarray(np.abs(distance(middle)) < reach)

"""An outline stretched evenly, more one way than the other: its arcs refitted to tangent arcs."""

import math

import numpy as np

from hidewright.geometry.outline import Outline
from hidewright.geometry.refit import EXACT_MM, PROBES, REFIT_MM, biarc, largest_distance
from hidewright.geometry.segment import Floats, Point, Segment, arc_through, line

#: An arc stretched by a share more one way than across it has a curvature that goes up and down by
#: 3/2 of that share over its radius, twice in a turn; a biarc is off by the steepest slope of that,
#: 3 shares over the radius squared, times the third power of its length over this (Meek and Walton
#: 1995, "Approximating smooth planar curves by arc splines", for the third power and the divisor).
BIARC_OFF = 324.0


def stretched(
    outline: Outline, matrix: Floats, tolerance_mm: float = REFIT_MM
) -> tuple[Outline, float]:
    """Return an outline put through a linear map of the plane, such as 1.01 by 1.02.

    Joints go where the map puts them, spans are kept, tangent joints stay tangent, lines stay
    lines, and arcs that stay round stay single arcs. The others become biarcs of even sweep.

    Args:
        outline: What is stretched, about the origin.
        matrix: (2, 2), applied to columns; does not turn the plane over.
        tolerance_mm: No point of the stretched outline lies further from the result.

    Returns:
        The stretched outline, and the largest distance that was measured, mm.
    """
    high, low = np.linalg.svd(matrix, compute_uv=False).tolist()
    joints = [_point(p) for p in np.array([s.start for s in outline.segments]) @ matrix.T]
    out: list[Segment] = []
    error = 0.0
    for seg, start, end in zip(outline.segments, joints, [*joints[1:], joints[0]], strict=True):
        parts, off = [line(start, end)], 0.0
        if seg.is_arc and high - low <= 1e-12 * high:
            parts = [Segment(start=start, end=end, bulge=seg.bulge)]
        elif seg.is_arc:
            bend = 3.0 * (high - low) * seg.radius / BIARC_OFF
            parts, off = _arc(seg, matrix, (start, end), bend, tolerance_mm)
        out += [part.named(seg.span) for part in parts]
        error = max(error, off)
    return Outline(tuple(out)), error


def _arc(
    seg: Segment, matrix: Floats, ends: tuple[Point, Point], bend: float, tolerance_mm: float
) -> tuple[list[Segment], float]:
    """The fewest biarcs of even sweep that follow a stretched arc, and how far off they are.

    ``bend`` times the third power of a biarc's sweep in radians is about how far it is off, mm.
    """
    sweep = abs(seg.sweep)
    if bend * sweep**3 < EXACT_MM:
        middle = _point(matrix @ np.array(seg.point_at(seg.length / 2.0)))
        return [arc_through(ends[0], middle, ends[1])], 0.0
    count = math.ceil(0.95 * sweep * (bend / tolerance_mm) ** (1.0 / 3.0))
    while True:
        parts, off = _biarcs(seg, matrix, ends, count)
        if off <= tolerance_mm:
            return parts, off
        count += 1


def _biarcs(
    seg: Segment, matrix: Floats, ends: tuple[Point, Point], count: int
) -> tuple[list[Segment], float]:
    along = np.linspace(0.0, seg.length, count * (PROBES + 1) + 1)
    points = seg.points_at(along) @ matrix.T
    joints = along[:: PROBES + 1].tolist()
    places = [ends[0], *(_point(p) for p in points[PROBES + 1 : -1 : PROBES + 1]), ends[1]]
    ways = np.array([seg.tangent_at(at) for at in joints]) @ matrix.T
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    out: list[Segment] = []
    off = 0.0
    for k in range(count):
        a, b = places[k], places[k + 1]
        parts = biarc(a, _point(ways[k]), b, _point(ways[k + 1]))
        probes = points[k * (PROBES + 1) + 1 : (k + 1) * (PROBES + 1)]
        parts = parts or [arc_through(a, _point(probes[PROBES // 2]), b)]
        off = max(off, largest_distance(parts, probes))
        out += parts
    return out, off


def _point(row: Floats) -> Point:
    return (float(row[0]), float(row[1]))

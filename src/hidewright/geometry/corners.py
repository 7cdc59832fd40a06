"""Rounding of sharp corners."""

import math
from collections.abc import Callable

from hidewright.errors import RequestError
from hidewright.geometry.crossing import carrier_crossings
from hidewright.geometry.loops import SHORTEST_MM, trimmed
from hidewright.geometry.offset import parallel
from hidewright.geometry.outline import Outline, turn_between
from hidewright.geometry.segment import Point, Segment

#: Joints that turn less than this count as smooth, radians (about 0.06 degrees).
SMOOTH = 1e-3


def every_corner(_at: Point) -> bool:
    """Choose all corners."""
    return True


def fillet(
    outline: Outline, radius_mm: float, which: Callable[[Point], bool] = every_corner
) -> Outline:
    """Return an outline whose sharp corners are rounded, outward and inward ones alike.

    The arc touches both sides of its corner and belongs to the span of the side before it.

    Args:
        outline: What is rounded; corners that are round already stay.
        radius_mm: Of every new arc, mm.
        which: Whether to round the corner at a point.

    Raises:
        RequestError: Where it does not fit; says the largest radius that would at that corner.
    """
    if not (radius_mm > 0 and math.isfinite(radius_mm)):
        raise RequestError(f"corner radius {radius_mm:g} mm", mend="Give more than 0 mm")
    corners = _sharp_corners(outline, which)
    rounded = _rounded(outline, corners, radius_mm)
    if isinstance(rounded, Outline):
        return rounded
    x, y = rounded
    good, bad = 0.0, radius_mm
    for _ in range(24):
        middle = (good + bad) / 2
        if isinstance(_rounded(outline, corners, middle), Outline):
            good = middle
        else:
            bad = middle
    most = math.floor(good * 100 + 1e-3) / 100
    if not isinstance(_rounded(outline, corners, most), Outline):
        most -= 0.01
    raise RequestError(
        f"corner radius {radius_mm:g} mm at ({x:.2f}, {y:.2f}) mm",
        because="the sides beside that corner are too short for it",
        mend=f"Give at most {most:.2f} mm" if most > 0 else "Leave that corner out",
    )


def _sharp_corners(outline: Outline, which: Callable[[Point], bool]) -> list[int]:
    """Numbers of the segments that end at a corner to be rounded."""
    n = len(outline.segments)
    return [
        i
        for i, seg in enumerate(outline.segments)
        if abs(turn_between(seg, outline.segments[(i + 1) % n])) > SMOOTH and which(seg.end)
    ]


def _rounded(outline: Outline, corners: list[int], radius: float) -> Outline | Point:
    """The rounded outline, or the corner where it does not fit."""
    segments, n = outline.segments, len(outline.segments)
    arcs: dict[int, Segment] = {}
    begin = [0.0] * n
    finish = [s.length for s in segments]
    for i in corners:
        j = (i + 1) % n
        arc = _touching_arc(segments[i], segments[j], radius)
        if arc is None:
            return segments[i].end
        arcs[i] = arc
        finish[i] = segments[i].nearest(arc.start)[0]
        begin[j] = segments[j].nearest(arc.end)[0]
    parts: list[Segment] = []
    for i, seg in enumerate(segments):
        room = finish[i] - begin[i]
        if room < -1e-9:
            return seg.end if i in arcs else seg.start
        start = arcs[i - 1 if i else n - 1].end if (i - 1) % n in arcs else seg.start
        end = arcs[i].start if i in arcs else seg.end
        kept = trimmed(seg, start, end) if room >= SHORTEST_MM else None
        if kept is not None:
            parts.append(kept)
        elif i in arcs:  # the roundings on both sides meet
            arcs[i] = _begun_at(arcs[i], start)
        elif (i - 1) % n in arcs:
            return seg.start
        if i in arcs:
            parts.append(arcs[i])
    try:
        return Outline(tuple(parts))
    except RequestError:
        return segments[corners[0]].end


def _begun_at(arc: Segment, start: Point) -> Segment:
    return trimmed(arc, start, arc.end) or arc


def _touching_arc(one: Segment, two: Segment, radius: float) -> Segment | None:
    """The arc of a radius that touches both sides of a corner, in the corner's sense."""
    turn = turn_between(one, two)
    side = -math.copysign(radius, turn)  # its centre lies to the left of a left turn
    a, b = parallel(one, side), parallel(two, side)
    if a is None or b is None:
        return None
    corner = one.end
    best: Segment | None = None
    for centre in carrier_crossings(a, b):
        start, end = _foot(one, centre, radius), _foot(two, centre, radius)
        if start is None or end is None or math.dist(start, end) < SHORTEST_MM / 10:
            continue
        ax, ay = start[0] - centre[0], start[1] - centre[1]
        bx, by = end[0] - centre[0], end[1] - centre[1]
        sweep = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
        if sweep * turn <= 0:
            sweep += math.copysign(2 * math.pi, turn)
        arc = Segment(start=start, end=end, bulge=math.tan(sweep / 4), span=one.span)
        if best is None or math.dist(start, corner) < math.dist(best.start, corner):
            best = arc
    return best


def _foot(seg: Segment, centre: Point, radius: float) -> Point | None:
    """Where a circle round a centre touches a segment; None if that lies beyond its ends."""
    along, away = seg.nearest(centre)
    if abs(away - radius) > 1e-6:
        return None
    return seg.point_at(along) if 0 < along < seg.length else (seg.start if along <= 0 else seg.end)

"""Parametric outlines: circle, rectangle, stadium, arch, D, teardrop, ellipse, polygon.

All run counter-clockwise. Where a corner is rounded, its arc belongs to the span of the side before
it, as the joins of an offset do.
"""

import math
from collections.abc import Sequence

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, outline, simple
from hidewright.geometry.refit import REFIT_MM, curve_to_segments
from hidewright.geometry.segment import SAME_POINT_MM, Point, Segment, arc, line
from hidewright.units.number import hundredths_down

#: Measures may miss a limit by this much, so that exact halves and sums are accepted, mm.
SLACK_MM = 1e-9


def circle(radius: float, centre: Point = (0.0, 0.0), span: str = "rim") -> Outline:
    """Return a circle as two half arcs, begun at its right, all one span."""
    _positive("radius", radius)
    right, left = (centre[0] + radius, centre[1]), (centre[0] - radius, centre[1])
    return simple((arc(centre, right, math.pi, span), arc(centre, left, math.pi, span)))


def rectangle(width: float, height: float, corner_radius: float = 0.0) -> Outline:
    """Return a rectangle centred on the origin with equal corner radii.

    Spans ``bottom``, ``right``, ``top``, ``left``; the arc at the bottom right belongs to
    ``bottom``, the next to ``right``, and so on.
    """
    _positive("width", width)
    _positive("height", height)
    _not_over("corner radius", corner_radius, "half the width", width / 2)
    _not_over("corner radius", corner_radius, "half the height", height / 2)
    x, y = width / 2, height / 2
    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
    return polygon(corners, corner_radius, ("bottom", "right", "top", "left"))


def stadium(length: float, width: float) -> Outline:
    """Return a slot with half-round ends centred on the origin, its length along x over all.

    Spans ``bottom``, ``right`` (the half round), ``top``, ``left``.
    """
    _positive("width", width)
    _positive("length", length)
    _not_over("width", width, "the length", length)
    r, x = width / 2, length / 2 - width / 2
    if x < SLACK_MM:
        return circle(r)
    return Outline(
        (
            line((-x, -r), (x, -r), "bottom"),
            arc((x, 0.0), (x, -r), math.pi, "right"),
            line((x, r), (-x, r), "top"),
            arc((-x, 0.0), (-x, r), math.pi, "left"),
        )
    )


def arch(width: float, height: float, corner_radius: float) -> Outline:
    """Return a "U": straight across the top, straight sides, rounded bottom corners.

    Args:
        width: Along x, mm; the mouth runs from (width/2, 0) to (-width/2, 0).
        height: From the mouth down to y = -height, mm.
        corner_radius: Of the two bottom corners, mm; half the width makes a half-round end.

    Returns:
        Spans ``mouth`` (the first segment) and ``rim`` (all the rest).
    """
    _positive("width", width)
    _positive("height", height)
    _not_over("corner radius", corner_radius, "half the width", width / 2)
    _not_over("corner radius", corner_radius, "the height", height)
    x, r = width / 2, corner_radius
    corners = ((x, 0.0), (-x, 0.0), (-x, -height), (x, -height))
    return polygon(corners, (0.0, 0.0, r, r), ("mouth", "rim", "rim", "rim"))


def d_shape(width: float, height: float, corner_radius: float = 0.0) -> Outline:
    """Return a "D": straight down its left side, half round on the right.

    Args:
        width: From the straight side at x = 0 to the far right, mm; at least half the height.
        height: Along y, centred on y = 0, mm; the round is of half this radius.
        corner_radius: Of the two corners at the straight side, mm.

    Returns:
        Spans ``straight`` (the side at x = 0) and ``rim``. The rounded corner at its lower end
        belongs to ``straight``, the one at its upper end to ``rim``.
    """
    _positive("width", width)
    _positive("height", height)
    radius = height / 2
    _not_over("half the height", radius, "the width", width)
    _not_over("corner radius", corner_radius, "half the height", radius)
    _not_over("corner radius", corner_radius, "the straight part of the width", width - radius)
    x, r = width - radius, corner_radius
    parts: list[Segment] = [arc((x, 0.0), (x, -radius), math.pi, "rim")]
    _line_to(parts, (x, radius), (r, radius), "rim")
    if r > 0:
        parts.append(arc((r, radius - r), (r, radius), math.pi / 2, "rim"))
    _line_to(parts, (0.0, radius - r), (0.0, r - radius), "straight")
    if r > 0:
        parts.append(arc((r, r - radius), (0.0, r - radius), math.pi / 2, "straight"))
    _line_to(parts, (r, -radius), (x, -radius), "rim")
    return Outline(tuple(parts)).starting_at("straight") if radius > r else Outline(tuple(parts))


def teardrop(length: float, width: float, tip_radius: float) -> Outline:
    """Return a drop: a round at the bottom, two straight flanks tangent to it, a rounded tip.

    Args:
        length: Over all along y, mm.
        width: Of the round, mm; its centre is the origin.
        tip_radius: Of the tip at the top, mm; less than half the width.

    Returns:
        Spans ``right``, ``tip``, ``left``, ``bottom``.
    """
    _positive("width", width)
    _positive("tip radius", tip_radius)
    big, small = width / 2, tip_radius
    if small >= big:
        raise RequestError(
            f"tip radius {small:g} mm",
            because=f"not smaller than half the width, {big:g} mm",
            mend="Give a smaller tip, or draw a stadium",
        )
    apart = length - big - small
    if apart <= big - small:
        raise RequestError(
            f"length {length:g} mm",
            because="the tip would lie inside the round",
            mend=f"Give more than {width:g} mm",
        )
    lean = math.asin((big - small) / apart)  # flanks touch both rounds this far above the middle
    c, s = math.cos(lean), math.sin(lean)
    right, right_tip = (big * c, big * s), (small * c, apart + small * s)
    left_tip, left = (-right_tip[0], right_tip[1]), (-right[0], right[1])
    return Outline(
        (
            line(right, right_tip, "right"),
            _arc_between(right_tip, left_tip, math.pi - 2 * lean, "tip"),
            line(left_tip, left, "left"),
            _arc_between(left, right, math.pi + 2 * lean, "bottom"),
        )
    )


def ellipse(width: float, height: float, tolerance_mm: float = REFIT_MM) -> Outline:
    """Return an ellipse centred on the origin as tangent arcs within a tolerance, span ``rim``.

    Its four quarters are mirror images of one another.
    """
    _positive("width", width)
    _positive("height", height)
    a, b = width / 2, height / 2
    if abs(a - b) < SLACK_MM:
        return circle(a)
    quarter = curve_to_segments(
        lambda t: (a * math.cos(t), b * math.sin(t)),
        0.0,
        math.pi / 2,
        tolerance_mm,
        span="rim",
        tangents=((0.0, 1.0), (-1.0, 0.0)),
    )
    left = tuple(s.mirrored().backwards() for s in reversed(quarter))
    top = (*quarter, *left)
    return Outline((*top, *(s.rotated(math.pi) for s in top)))


def polygon(
    points: Sequence[Point],
    corner_radius: float | Sequence[float] = 0.0,
    spans: Sequence[str] = (),
) -> Outline:
    """Return a polygon with rounded corners, turned counter-clockwise if it is not.

    Args:
        points: At least three sharp corners, mm; neighbours are not the same point.
        corner_radius: One radius for all corners or one for each, mm; 0 leaves it sharp.
        spans: Name of each side, the side i runs from corner i to corner i + 1; none by default.

    Raises:
        RequestError: When a rounding does not fit; says the largest radius that would.
    """
    n = len(points)
    if n < 3:
        raise RequestError(f"a polygon of {n} corners", mend="Give at least three")
    radii = [float(corner_radius)] * n if isinstance(corner_radius, (int, float)) else corner_radius
    names = spans or ("",) * n
    if len(radii) != n or len(names) != n:
        raise RequestError(
            f"{len(radii)} corner radii and {len(names)} span names for {n} corners",
            mend="Give one for each corner",
        )
    sides = [math.dist(points[i], points[(i + 1) % n]) for i in range(n)]
    if min(sides) < SAME_POINT_MM:
        raise RequestError(
            "two neighbouring corners of a polygon are the same point", mend="Leave one out"
        )
    turns = [_turn_at(points[i - 1], points[i], points[(i + 1) % n]) for i in range(n)]
    trims = [_trim(radii[i], turns[i], points[i]) for i in range(n)]
    for i in range(n):
        _must_fit(points, radii, trims, sides[i], i)
    parts: list[Segment] = []
    ends = [_on(points[i], points[i - 1], trims[i]) for i in range(n)]
    starts = [_on(points[i], points[(i + 1) % n], trims[i]) for i in range(n)]
    for i in range(n):
        j = (i + 1) % n
        full = trims[i] + trims[j] > sides[i] - SLACK_MM - SAME_POINT_MM
        if full:  # two roundings meet: one point for both
            ends[j] = starts[i]
    for i in range(n):
        j = (i + 1) % n
        _line_to(parts, starts[i], ends[j], names[i])
        if trims[j] > 0:
            bulge = math.tan(turns[j] / 4)
            parts.append(Segment(start=ends[j], end=starts[j], bulge=bulge, span=names[i]))
    return outline(parts)


def _must_fit(
    points: Sequence[Point], radii: Sequence[float], trims: Sequence[float], side: float, i: int
) -> None:
    j = (i + 1) % len(points)
    room = trims[i] + trims[j]
    if room <= side + SLACK_MM:
        return
    worse = i if trims[i] >= trims[j] else j
    (x, y), radius = points[worse], radii[worse]
    # equal radii shrink together, else the other one stays as asked
    share = side / room if radii[i] == radii[j] else (side - min(trims[i], trims[j])) / trims[worse]
    raise RequestError(
        f"corner radius {radius:g} mm at ({x:g}, {y:g})",
        because=f"the roundings of the {side:g} mm side beside it need {room:.2f} mm",
        mend=f"Give at most {math.floor(max(radius * share, 0.0) * 100) / 100:g} mm",
    )


def _trim(radius: float, turn: float, at: Point) -> float:
    """Length a rounding takes off each side at a corner, mm."""
    if not radius >= 0:
        raise RequestError(f"corner radius {radius:g} mm", mend="Give 0 or more")
    if abs(turn) > math.pi - 1e-6:
        raise RequestError(
            f"the polygon turns back on itself at ({at[0]:g}, {at[1]:g})", mend="Move that corner"
        )
    return radius * math.tan(abs(turn) / 2)


def _turn_at(before: Point, at: Point, after: Point) -> float:
    ax, ay = at[0] - before[0], at[1] - before[1]
    bx, by = after[0] - at[0], after[1] - at[1]
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def _on(corner: Point, towards: Point, distance: float) -> Point:
    if distance == 0:
        return corner
    f = distance / math.dist(corner, towards)
    return (corner[0] + (towards[0] - corner[0]) * f, corner[1] + (towards[1] - corner[1]) * f)


def _line_to(parts: list[Segment], start: Point, end: Point, span: str) -> None:
    if math.dist(start, end) > SAME_POINT_MM:
        parts.append(line(start, end, span))


def _arc_between(start: Point, end: Point, sweep: float, span: str) -> Segment:
    return Segment(start=start, end=end, bulge=math.tan(sweep / 4), span=span)


def _positive(name: str, value: float) -> None:
    if not (value > 0 and math.isfinite(value)):
        raise RequestError(f"{name} {value:g} mm", mend="Give more than 0 mm")


def _not_over(name: str, value: float, limit_name: str, limit: float) -> None:
    if not value >= 0:
        raise RequestError(f"{name} {value:g} mm", mend="Give 0 or more")
    if value > limit + SLACK_MM:
        raise RequestError(
            f"{name} {value:g} mm",
            because=f"larger than {limit_name}, {round(limit, 2):g} mm",
            mend=f"Give at most {hundredths_down(limit)} mm",
        )

"""Closed outlines and open paths of lines and true arcs, with named spans."""

import math
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Self

import numpy as np
import shapely

from hidewright.errors import RequestError
from hidewright.geometry.crossing import crossings, windings
from hidewright.geometry.once import kept, once
from hidewright.geometry.segment import Floats, Point, Segment, bounds_of

#: Ends of neighbouring segments may differ by this much before a chain counts as broken, mm.
JOIN_MM = 1e-6
#: Sagitta of the chords with which topology (crossings, inside or outside) is decided, mm.
TOPOLOGY_SAGITTA_MM = 0.01
#: Tips and slits that turn back by more than this are looked at closely, radians (160 degrees).
SHARP_TURN = 2.8
#: A joint that turns back this nearly is a cusp, whose sense rounding hides, radians.
CUSP = 1e-7
#: Sides may run into one another this near their joint, mm; a cusp does.
TIP_MM = 1e-3


@dataclass(frozen=True)
class Chain:
    """Segments end to end; what outlines and paths have in common.

    Attributes:
        segments: At least one segment; each starts where the one before it ends, within 1e-6 mm.
    """

    segments: tuple[Segment, ...]

    def __post_init__(self) -> None:
        if not self.segments:
            raise RequestError("an outline without a single line or arc")
        for one, two in pairwise(self.segments):
            _must_meet(one, two)

    @once
    def length(self) -> float:
        """Length along all segments, mm."""
        return math.fsum(s.length for s in self.segments)

    @once
    def bounds(self) -> tuple[float, float, float, float]:
        """(left, bottom, right, top), mm, exact on arcs."""
        return bounds_of(self.segments)

    @once
    def width(self) -> float:
        """Extent in x, mm."""
        return self.bounds[2] - self.bounds[0]

    @once
    def height(self) -> float:
        """Extent in y, mm."""
        return self.bounds[3] - self.bounds[1]

    @once
    def spans(self) -> tuple[str, ...]:
        """Names of the spans in the order they are met, each once, unnamed stretches left out."""
        return tuple(dict.fromkeys(s.span for s in self.segments if s.span))

    @once
    def _starts(self) -> tuple[float, ...]:
        return (0.0, *accumulate(s.length for s in self.segments))

    def _locate(self, distance: float) -> tuple[Segment, float]:
        i = min(max(bisect_right(self._starts, distance) - 1, 0), len(self.segments) - 1)
        return self.segments[i], distance - self._starts[i]

    def point_at(self, distance: float) -> Point:
        """Return the point this far along from the first start, mm."""
        seg, rest = self._locate(distance)
        return seg.point_at(rest)

    def tangent_at(self, distance: float) -> Point:
        """Return the unit direction of travel this far along."""
        seg, rest = self._locate(distance)
        return seg.tangent_at(rest)

    def normal_at(self, distance: float) -> Point:
        """Return the unit normal to the right of travel: outward on an outline."""
        seg, rest = self._locate(distance)
        return seg.normal_at(rest)

    def nearest(self, point: Point) -> tuple[float, float]:
        """Return (distance along, distance away) of the nearest point, mm, exact on arcs."""
        best = (0.0, math.inf)
        for begin, seg in zip(self._starts, self.segments, strict=False):
            along, away = seg.nearest(point)
            if away < best[1]:
                best = (begin + along, away)
        return best

    def flat_points(self, sagitta_mm: float = TOPOLOGY_SAGITTA_MM) -> Floats:
        """Return (n, 2) corners of a polyline along it, the end of a path included, mm."""
        return kept(self, ("flat points", sagitta_mm), lambda: self._flat_points(sagitta_mm))

    def _flat_points(self, sagitta_mm: float) -> Floats:
        points = [p for s in self.segments for p in s.flat_points(sagitta_mm)]
        corners = np.array([*points, self.segments[-1].end])
        corners.setflags(write=False)  # all who ask are given the same
        return corners

    def _alike(self, segments: Iterable[Segment]) -> Self:
        """Return segments of the same shape as these as a chain; a valid one stays valid."""
        alike = object.__new__(type(self))
        object.__setattr__(alike, "segments", tuple(segments))
        return alike

    def moved(self, dx: float, dy: float) -> Self:
        """Return it shifted, mm."""
        return self._alike(s.moved(dx, dy) for s in self.segments)

    def rotated(self, angle: float, about: Point = (0.0, 0.0)) -> Self:
        """Return it turned counter-clockwise by an angle in radians."""
        return self._alike(s.rotated(angle, about) for s in self.segments)

    def scaled(self, factor: float) -> Self:
        """Return it scaled evenly about the origin; the factor is positive."""
        return self._alike(s.scaled(factor) for s in self.segments)

    def renamed(self, name: Callable[[str], str]) -> Self:
        """Return it with each span name passed through a function."""
        return self._alike(s.named(name(s.span)) for s in self.segments)


class Path(Chain):
    """An open chain: a stitch line, a fold, a scored line."""

    @property
    def start(self) -> Point:
        """First point, mm."""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """Last point, mm."""
        return self.segments[-1].end

    def backwards(self) -> "Path":
        """Return it travelled the other way."""
        return Path(tuple(s.backwards() for s in reversed(self.segments)))

    def mirrored(self) -> "Path":
        """Return it mirrored left to right (x to -x), travelled in the mirrored sense."""
        return Path(tuple(s.mirrored() for s in self.segments))

    def part(self, begin: float, finish: float) -> "Path":
        """Return the stretch between two distances along, mm."""
        begin, finish = max(begin, 0.0), min(finish, self.length)
        if finish - begin < JOIN_MM:
            raise RequestError(f"a stretch of path from {begin:g} to {finish:g} mm has no length")
        parts: list[Segment] = []
        for seg, offset in zip(self.segments, self._starts, strict=False):
            lo, hi = max(begin - offset, 0.0), min(finish - offset, seg.length)
            if hi - lo > JOIN_MM:
                parts.append(seg.part(lo, hi))
        return Path(tuple(parts))


class Outline(Chain):
    """A closed, simple outline that runs counter-clockwise.

    Raises:
        RequestError: When it is open, crosses itself, encloses nothing, or runs clockwise
            (``outline`` turns clockwise input round).
    """

    def __post_init__(self) -> None:
        super().__post_init__()
        _must_meet(self.segments[-1], self.segments[0])
        if len(self.segments) < 2:
            raise RequestError("an outline of one segment", mend="A circle is two half arcs")
        for one, two in zip(self.segments, self.segments[1:] + self.segments[:1], strict=True):
            _must_not_cross_by_their_joint(one, two)
        if not self.polygon.is_valid:
            reason = shapely.is_valid_reason(self.polygon)
            spot = reason[reason.find("[") + 1 : reason.find("]")].split()
            near = f" near ({float(spot[0]):.2f}, {float(spot[1]):.2f}) mm" if spot else ""
            raise RequestError(
                f"the outline crosses or touches itself{near}",
                because="its inside is then not one area",
                mend="Redraw it as one simple loop",
            )
        if self.area <= 0:
            raise RequestError("the outline runs clockwise or encloses nothing")

    @once
    def area(self) -> float:
        """Enclosed area, mm2, exact on arcs."""
        return math.fsum(s.area for s in self.segments)

    @once
    def polygon(self) -> shapely.Polygon:
        """A polygon of chords within 0.01 mm of it, for topology only."""
        return shapely.Polygon(self.flat_points())

    @once
    def rim(self) -> shapely.LinearRing:
        """The edge of that polygon, made ready to measure many distances from."""
        ring = self.polygon.exterior
        shapely.prepare(ring)
        return ring

    @once
    def centroid(self) -> Point:
        """Centre of area, mm, of the chords within 0.01 mm."""
        c = self.polygon.centroid
        return (c.x, c.y)

    @once
    def min_inside_radius(self) -> float:
        """Smallest radius of its convex turns, mm: 0 at an outward corner, infinite if none."""
        return self._min_radius(1.0)

    @once
    def min_outside_radius(self) -> float:
        """Smallest radius of its concave turns, mm: 0 at a notch's corner, infinite if none."""
        return self._min_radius(-1.0)

    def _min_radius(self, sign: float) -> float:
        radii = [s.radius for s in self.segments if s.is_arc and s.bulge * sign > 0]
        pairs = zip(self.segments, self.segments[1:] + self.segments[:1], strict=True)
        corners = any(turn_between(one, two) * sign > 1e-4 for one, two in pairs)
        return 0.0 if corners else min(radii, default=math.inf)

    def contains(self, point: Point, margin_mm: float = 0.0) -> bool:
        """Whether a point lies inside and at least a margin from the line."""
        away = self.nearest(point)[1]
        if away < 1e-9:
            return margin_mm <= 0
        return away >= margin_mm and windings(self.segments, point) == 1

    def mirrored(self) -> "Outline":
        """Return it mirrored left to right (x to -x), again counter-clockwise."""
        return self._alike(s.mirrored().backwards() for s in reversed(self.segments))

    def starting_at(self, span: str) -> "Outline":
        """Return the same outline begun at the first segment of a span."""
        names = [s.span for s in self.segments]
        if span not in names:
            raise RequestError(
                f"no span {span!r} on this outline",
                mend=f"It has: {', '.join(self.spans) or 'no named spans'}",
            )
        n = len(names)
        first = (
            next(i for i in range(n) if (names[i] == span and names[i - 1] != span) or n == 1)
            if any(v != span for v in names)
            else 0
        )
        return Outline(self.segments[first:] + self.segments[:first])

    def span_path(self, span: str) -> Path:
        """Return one named span as an open path, counter-clockwise.

        Raises:
            RequestError: When the span is missing or lies in several stretches.
        """
        turned = self.starting_at(span).segments
        n = next((i for i, s in enumerate(turned) if s.span != span), len(turned))
        if any(s.span == span for s in turned[n:]):
            raise RequestError(f"the span {span!r} lies in several separate stretches")
        return Path(turned[:n])

    def as_path(self) -> Path:
        """Return it as a path that ends where it began."""
        return Path(self.segments)


def outline(segments: Iterable[Segment]) -> Outline:
    """Return a closed outline from segments in either sense, turning clockwise input round."""
    parts = tuple(segments)
    if math.fsum(s.area for s in parts) < 0:
        parts = tuple(s.backwards() for s in reversed(parts))
    return Outline(parts)


def simple(segments: Iterable[Segment]) -> Outline:
    """Return an outline of segments without looking at them.

    For those that are one simple loop, counter-clockwise, by the way they are made: a circle.
    """
    unseen = object.__new__(Outline)
    object.__setattr__(unseen, "segments", tuple(segments))
    return unseen


def joined(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return segments with neighbouring collinear lines or co-circular arcs of one span merged."""
    out: list[Segment] = []
    for seg in segments:
        if out and out[-1].span == seg.span:
            merged = _merged(out[-1], seg)
            if merged is not None:
                out[-1] = merged
                continue
        out.append(seg)
    return tuple(out)


def _merged(one: Segment, two: Segment) -> Segment | None:
    if abs(turn_between(one, two)) > 1e-9 or math.dist(one.start, two.end) < JOIN_MM:
        return None
    if not one.is_arc and not two.is_arc:
        return Segment(start=one.start, end=two.end, span=one.span)
    if one.is_arc and two.is_arc and one.bulge * two.bulge > 0:
        sweep = one.sweep + two.sweep
        same = math.dist(one.centre, two.centre) < 1e-6 and abs(one.radius - two.radius) < 1e-6
        if same and abs(sweep) < math.pi + 1e-9:
            return Segment(start=one.start, end=two.end, bulge=math.tan(sweep / 4), span=one.span)
    return None


def turn_between(one: Segment, two: Segment) -> float:
    """Signed angle turned at the joint of two segments, radians, left positive.

    Of a cusp, where the second runs back along the first, the curvatures tell to which side.
    """
    turned = two.chord_angle - two.sweep / 2 - one.chord_angle - one.sweep / 2
    angle = math.remainder(turned, 2 * math.pi)
    bend = one.curvature + two.curvature
    if math.pi - abs(angle) < CUSP and bend:  # the second leaves to the left of the first: a notch
        return math.copysign(angle, -bend)
    return angle


def _must_not_cross_by_their_joint(one: Segment, two: Segment) -> None:
    """Refuse sides that cross beside a sharp tip, too little for chords of 0.01 mm to show."""
    if abs(turn_between(one, two)) < SHARP_TURN:
        return
    apart = [p for p in crossings(one, two) if math.dist(p, one.end) > TIP_MM]
    apart = [p for p in apart if math.dist(p, one.start) > TIP_MM or one.start != two.end]
    if apart:
        x, y = apart[0]
        raise RequestError(
            f"the outline crosses or touches itself near ({x:.2f}, {y:.2f}) mm",
            because="the two sides of a sharp tip cross beside it",
            mend="Redraw it as one simple loop, or round the tip",
        )


def _must_meet(one: Segment, two: Segment) -> None:
    gap = math.dist(one.end, two.start)
    if gap > JOIN_MM:
        raise RequestError(
            f"the outline is open by {gap:.3g} mm at ({one.end[0]:.2f}, {one.end[1]:.2f}) mm",
            because="each line or arc must start where the one before it ends",
            mend="Close the gap in the drawing, or read it with a larger closing tolerance",
        )

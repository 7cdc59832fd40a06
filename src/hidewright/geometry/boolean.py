"""Union, difference and intersection of outlines, and cutting along a straight line.

The outlines are cut where they cross, each piece is kept or dropped by whether it lies inside the
other, and the kept pieces are chained. Arcs stay true arcs and every piece keeps its span. Where
the result would hang together by less than 0.01 mm it is refused.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from hidewright.errors import RequestError
from hidewright.geometry.crossing import Distances, crossings, windings
from hidewright.geometry.loops import Piece, loops_of
from hidewright.geometry.outline import Outline, joined
from hidewright.geometry.segment import Point, Segment, bounds_of, line

#: A piece whose middle is this near the other outline runs along it, mm.
ALONG_MM = 1e-6


@dataclass(frozen=True, kw_only=True)
class Region:
    """An area: one outline and the holes in it, all counter-clockwise.

    Attributes:
        outer: Its outer edge.
        holes: Their outlines.
    """

    outer: Outline
    holes: tuple[Outline, ...] = ()

    @property
    def area(self) -> float:
        """Area without the holes, mm2."""
        return self.outer.area - math.fsum(h.area for h in self.holes)

    @property
    def polygon(self) -> shapely.Polygon:
        """A polygon of chords within 0.01 mm of it, for topology only."""
        return shapely.Polygon(self.outer.flat_points(), [h.flat_points() for h in self.holes])


def union(a: Outline, b: Outline) -> tuple[Region, ...]:
    """Return what lies in either outline: one region, with holes perhaps, or both apart."""
    return _combined(a.segments, b.segments, a_inside=False, b_inside=False)


def intersection(a: Outline, b: Outline) -> tuple[Region, ...]:
    """Return what lies in both outlines; may be nothing, or several regions."""
    return _combined(a.segments, b.segments, a_inside=True, b_inside=True)


def difference(a: Outline, b: Outline) -> tuple[Region, ...]:
    """Return what lies in ``a`` and not in ``b``; may be nothing, several regions, or a hole."""
    taken = b.as_path().backwards().segments
    return _combined(a.segments, taken, a_inside=False, b_inside=True)


def clip_half_plane(
    outline: Outline, point: Point, direction: Point, span: str = ""
) -> tuple[Outline, ...]:
    """Return the parts of an outline to the left of a straight line.

    Args:
        outline: What is cut.
        point: A point of the line, mm.
        direction: Its direction of travel; any length but 0.
        span: Name of the new straight edges.
    """
    size = math.hypot(*direction)
    if not (size > 0 and math.isfinite(size)):
        raise RequestError("a cutting line without direction", mend="Give two different points")
    ux, uy = direction[0] / size, direction[1] / size
    left, bottom, right, top = outline.bounds
    reach = 2 * (math.hypot(right - left, top - bottom) + 1)
    reach += math.dist(point, ((left + right) / 2, (bottom + top) / 2))
    ax, ay = point[0] - ux * reach, point[1] - uy * reach
    bx, by = point[0] + ux * reach, point[1] + uy * reach
    corners = (
        (ax, ay),
        (bx, by),
        (bx - uy * reach, by + ux * reach),
        (ax - uy * reach, ay + ux * reach),
    )
    half = Outline(tuple(line(p, q, span) for p, q in pairwise((*corners, corners[0]))))
    return tuple(r.outer for r in intersection(outline, half))


def split_by_line(
    outline: Outline, point: Point, direction: Point, span: str = ""
) -> tuple[tuple[Outline, ...], tuple[Outline, ...]]:
    """Return the parts to the left and those to the right of a straight line, new edges named."""
    back = (-direction[0], -direction[1])
    return (
        clip_half_plane(outline, point, direction, span),
        clip_half_plane(outline, point, back, span),
    )


def regions_of(loops: Sequence[Sequence[Segment]]) -> tuple[Region, ...]:
    """Return regions from loops: counter-clockwise ones are outer edges, clockwise ones holes."""
    outers = [Outline(tuple(loop)) for loop in loops if _area(loop) > 0]
    holes = [
        Outline(tuple(s.backwards() for s in reversed(loop))) for loop in loops if _area(loop) < 0
    ]
    outers.sort(key=lambda o: -o.area)
    owned: list[list[Outline]] = [[] for _ in outers]
    for hole in holes:
        seg = hole.segments[0]
        (x, y), (nx, ny) = seg.point_at(seg.length / 2), seg.normal_at(seg.length / 2)
        beside = (x + 1e-6 * nx, y + 1e-6 * ny)  # in the region, whose edge may touch the hole
        around = [i for i, o in enumerate(outers) if windings(o.segments, beside) == 1]
        if around:
            owned[around[-1]].append(hole)
    return tuple(Region(outer=o, holes=tuple(h)) for o, h in zip(outers, owned, strict=True))


def _area(loop: Sequence[Segment]) -> float:
    return math.fsum(s.area for s in loop)


def _combined(
    a: Sequence[Segment], b: Sequence[Segment], a_inside: bool, b_inside: bool
) -> tuple[Region, ...]:
    """Regions bounded by the pieces of a inside or outside b, and of b inside or outside a."""
    cuts_a, cuts_b = _cuts(a, b)
    pieces = _kept(a, cuts_a, b, a_inside, shared=True)
    pieces += _kept(b, cuts_b, a, b_inside, shared=False)
    loops, _ = loops_of([Piece(segment=s) for s in pieces])
    try:
        return regions_of([joined(loop) for loop in loops])
    except RequestError as error:
        raise RequestError(
            "two outlines put together",
            because=f"the result has a neck or a slit of under 0.01 mm: {error.what}",
            mend="Move one of them by 0.02 mm or more",
        ) from error


def _kept(
    segments: Sequence[Segment],
    cuts: Sequence[Sequence[float]],
    other: Sequence[Segment],
    inside: bool,
    shared: bool,
) -> list[Segment]:
    """The pieces inside (or outside) the other outline.

    Of an edge that both run along in one direction, one piece is kept: that of the first outline.
    """
    parts = [
        seg.part(x, y)
        for seg, at in zip(segments, cuts, strict=True)
        for x, y in pairwise(at)
        if y - x > ALONG_MM
    ]
    mids = [p.point_at(p.length / 2) for p in parts]
    table = Distances(other).table(np.array(mids))
    # the other runs clockwise where it is taken away: then it winds -1 or 0 times round a point
    out: list[Segment] = []
    for part, mid, row in zip(parts, mids, table, strict=True):
        k = int(row.argmin())
        if row[k] < ALONG_MM:
            ax, ay = part.tangent_at(part.length / 2)
            bx, by = other[k].tangent_at(other[k].nearest(mid)[0])
            keep = shared and ax * bx + ay * by > 0
        else:
            keep = (windings(other, mid) != 0) == inside
        if keep:
            out.append(part)
    return out


def _cuts(
    a: Sequence[Segment], b: Sequence[Segment]
) -> tuple[list[list[float]], list[list[float]]]:
    """Distances along each segment of its ends and of its crossings with the other outline."""
    cuts_a, cuts_b = [[0.0, s.length] for s in a], [[0.0, s.length] for s in b]
    box_a, box_b = (np.array([bounds_of((s,)) for s in c]) for c in (a, b))
    near = (box_a[:, None, :2] <= box_b[None, :, 2:] + 1e-6).all(2)
    near &= (box_b[None, :, :2] <= box_a[:, None, 2:] + 1e-6).all(2)
    for i, j in np.argwhere(near).tolist():
        for p in crossings(a[i], b[j]):
            cuts_a[i].append(a[i].nearest(p)[0])
            cuts_b[j].append(b[j].nearest(p)[0])
    return [sorted(c) for c in cuts_a], [sorted(c) for c in cuts_b]

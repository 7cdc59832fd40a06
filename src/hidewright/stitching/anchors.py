"""Where a stitch line must have a hole: at its ends, on its corners, at the edges of folds."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from hidewright.design.piece import Fold
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Point, Segment

#: A turn sharper than this is a corner, radians (common practice, no source).
CORNER = math.radians(20.0)
#: Ends nearer than this make a line closed, mm.
CLOSED_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """A place on a stitch line where a hole must be.

    Attributes:
        along_mm: Distance along the line.
        kind: Why.
    """

    along_mm: float
    kind: Literal["end", "corner", "fold"]


def anchors_of(line: Path, pitch_mm: float, folds: Sequence[Fold] = ()) -> tuple[Anchor, ...]:
    """Return the anchors of a stitch line in order, its two ends included.

    A corner is a turn of more than 20 degrees at a joint, or along an arc of a radius under half
    the pitch, whose hole sits in its middle. Corners nearer to one another than half a pitch share
    one hole, and so do those that near to an end. Where the line crosses the edge of a bent strip,
    a hole sits on that edge unless another anchor is as near as half a pitch.

    Args:
        line: The stitch line; a closed one ends where it begins.
        pitch_mm: Wanted pitch.
        folds: The piece's folds.
    """
    near = pitch_mm / 2.0
    ends = (0.0, line.length)
    corners = [
        spot for spot in _corners(line, pitch_mm) if all(abs(spot - end) >= near for end in ends)
    ]
    taken = [*ends, *corners]
    edges: list[float] = []
    for spot in sorted(s for fold in folds for s in _fold_edges(line, fold)):
        if all(abs(spot - other) >= near for other in [*taken, *edges]):
            edges.append(spot)
    found = [
        *(Anchor(along_mm=s, kind="end") for s in ends),
        *(Anchor(along_mm=s, kind="corner") for s in corners),
        *(Anchor(along_mm=s, kind="fold") for s in edges),
    ]
    return tuple(sorted(found, key=lambda a: a.along_mm))


def is_closed(line: Path) -> bool:
    """Whether a line ends where it begins."""
    return math.dist(line.start, line.end) < CLOSED_MM


def joints(line: Path) -> tuple[tuple[float, float], ...]:
    """Return (distance along, signed turn in radians, left positive) at each inner joint."""
    out: list[tuple[float, float]] = []
    along = 0.0
    for one, two in pairwise(line.segments):
        along += one.length
        out.append((along, _turn(one.tangent_at(one.length), two.tangent_at(0.0))))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class _Turn:
    along_mm: float
    angle: float
    sharp: bool


def _corners(line: Path, pitch_mm: float) -> list[float]:
    turns = [_Turn(s, abs(angle), True) for s, angle in joints(line) if abs(angle) > CORNER]
    turns += [
        _Turn(begin + seg.length / 2, abs(seg.sweep), False)
        for begin, seg in _begun(line)
        if seg.is_arc and abs(seg.sweep) > CORNER and seg.radius < pitch_mm / 2
    ]
    turns.sort(key=lambda t: t.along_mm)
    clusters: list[list[_Turn]] = []
    for found in turns:
        if clusters and found.along_mm - clusters[-1][-1].along_mm < pitch_mm / 2:
            clusters[-1].append(found)
        else:
            clusters.append([found])
    return [_middle(cluster) for cluster in clusters]


def _middle(cluster: list[_Turn]) -> float:
    """Return the one sharp joint of a cluster, or else the middle of its turning."""
    sharp = [t for t in cluster if t.sharp]
    if len(sharp) == 1:
        return sharp[0].along_mm
    return math.fsum(t.along_mm * t.angle for t in cluster) / math.fsum(t.angle for t in cluster)


def _fold_edges(line: Path, fold: Fold) -> list[float]:
    """Return distances along where a line crosses either edge of a bent strip."""
    (ax, ay), (bx, by) = fold.line.start, fold.line.end
    length = math.dist((ax, ay), (bx, by))
    ux, uy = (bx - ax) / length, (by - ay) / length
    out: list[float] = []
    for side in (-fold.strip_mm / 2, fold.strip_mm / 2):
        origin = (ax - uy * side, ay + ux * side)
        for begin, seg in _begun(line):
            for along in _crossings(seg, origin, (ux, uy)):
                x, y = seg.point_at(along)
                reach = (x - origin[0]) * ux + (y - origin[1]) * uy
                if -1e-6 <= reach <= length + 1e-6:
                    out.append(begin + along)
    return out


def _crossings(seg: Segment, origin: Point, direction: Point) -> list[float]:
    """Return distances along a segment where it crosses an endless straight line."""
    ux, uy = direction

    def height(p: Point) -> float:
        return (p[1] - origin[1]) * ux - (p[0] - origin[0]) * uy

    if not seg.is_arc:
        h0, h1 = height(seg.start), height(seg.end)
        return [seg.length * h0 / (h0 - h1)] if h0 * h1 <= 0 and h0 != h1 else []
    h, r = height(seg.centre), seg.radius
    if abs(h) > r:
        return []
    half = math.sqrt(r * r - h * h)
    foot = (seg.centre[0] + uy * h, seg.centre[1] - ux * h)
    spots = ((foot[0] + ux * d, foot[1] + uy * d) for d in (-half, half))
    return [along for along, away in map(seg.nearest, spots) if away < 1e-9 * max(r, 1.0)]


def _begun(line: Path) -> list[tuple[float, Segment]]:
    out: list[tuple[float, Segment]] = []
    along = 0.0
    for seg in line.segments:
        out.append((along, seg))
        along += seg.length
    return out


def _turn(one: Point, two: Point) -> float:
    return math.atan2(one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1])

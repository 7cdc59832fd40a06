"""Pieces of curve put end to end into closed loops, gaps and slivers mended."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from hidewright.geometry.crossing import carrier_crossings
from hidewright.geometry.outline import SHARP_TURN, turn_between
from hidewright.geometry.segment import SAME_POINT_MM, Point, Segment

#: An end meets a start this near, mm; crossings of nearly tangent curves are that uncertain.
MEET_MM = 5e-3
#: Starts whose distances from an end differ by less are all there at once, mm.
TIE_MM = 1e-6
#: No segment of a result is shorter, mm: a laser places within 0.01 mm.
SHORTEST_MM = 0.01


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A piece of curve that takes part in a result.

    Attributes:
        segment: The piece, travelled so that the result's inside lies to its left.
        follows: Number of the piece that goes on from its end in any case, if one does.
    """

    segment: Segment
    follows: int | None = None


def loops_of(pieces: Sequence[Piece]) -> tuple[list[list[Segment]], list[Segment]]:
    """Return the closed loops that pieces form, and the pieces of chains that do not close.

    The loops are joined exactly, slivers under 0.01 mm mended, loops thinner than that left out.
    Where several pieces start at one point, the one furthest to the left is taken, so that areas
    which touch at a point come out as loops of their own.
    """
    after = _successors(pieces)
    left = set(range(len(pieces)))
    loops: list[list[Segment]] = []
    loose: list[Segment] = []
    for first in range(len(pieces)):
        ring: list[int] = []
        at: int | None = first
        while at is not None and at in left:
            left.discard(at)
            ring.append(at)
            at = after[at]
        segments = [pieces[k].segment for k in ring]
        if at != first:
            loose += segments
            continue
        loop = _without_spikes(closed_chain(segments))
        if len(loop) > 1 and not _is_sliver(loop):
            loops.append(loop)
    return loops, loose


def _without_spikes(loop: list[Segment]) -> list[Segment]:
    """Return a loop without tips whose sides are nowhere 0.01 mm apart: a strip just closed up."""
    for k in range(len(loop)):
        one, two = loop[k - 1], loop[k]
        if len(loop) < 3 or abs(turn_between(one, two)) < SHARP_TURN:
            continue
        (along, off), (back, away) = one.nearest(two.end), two.nearest(one.start)
        if min(off, away) > SHORTEST_MM:
            continue
        stays, begin, end = (one, 0.0, along) if off <= away else (two, back, two.length)
        left = [stays.part(begin, end)] if end - begin >= SHORTEST_MM else []
        others = [*loop[k + 1 :], *loop[: k - 1]] if k else loop[1:-1]
        return _without_spikes(closed_chain([*others, *left]))
    return loop


def _is_sliver(loop: Sequence[Segment]) -> bool:
    area = abs(math.fsum(s.area for s in loop))
    return area < SHORTEST_MM * math.fsum(s.length for s in loop) / 2


def _successors(pieces: Sequence[Piece]) -> list[int | None]:
    """Which piece follows each piece, every one used once."""
    after: list[int | None] = [p.follows for p in pieces]
    taken = {p.follows for p in pieces if p.follows is not None}
    pairs: list[tuple[float, float, int, int]] = []
    for i, piece in enumerate(pieces):
        if piece.follows is not None:
            continue
        x, y = piece.segment.end
        near = [
            (math.dist((x, y), p.segment.start), j)
            for j, p in enumerate(pieces)
            if j not in taken
            and abs(p.segment.start[0] - x) < MEET_MM
            and abs(p.segment.start[1] - y) < MEET_MM
        ]
        least = min((d for d, _ in near), default=0.0)
        for distance, j in near:
            tied = distance < least + TIE_MM
            turn = _left_turn(piece.segment, pieces[j].segment) if tied else 0.0
            pairs.append((least if tied else distance, -turn, i, j))
    for _, _, i, j in sorted(pairs):
        if after[i] is None and j not in taken:
            after[i] = j
            taken.add(j)
    return after


def _left_turn(one: Segment, two: Segment) -> float:
    """Turn from one into two in (-pi, pi], judged a little way along so that tangents tell."""
    a = one.point_at(one.length - min(one.length / 2, 0.05))
    b = two.point_at(min(two.length / 2, 0.05))
    ax, ay = one.end[0] - a[0], one.end[1] - a[1]
    bx, by = b[0] - one.end[0], b[1] - one.end[1]
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def closed_chain(loop: Sequence[Segment]) -> list[Segment]:
    """Return a loop whose pieces meet exactly, none shorter than 0.01 mm; empty if it collapses."""
    carriers = list(loop)
    joints = [_between(loop[k - 1].end, loop[k].start) for k in range(len(loop))]
    while True:
        n = len(carriers)
        if n < 2:
            return []
        parts = [trimmed(carriers[k], joints[k], joints[(k + 1) % n]) for k in range(n)]
        lengths = [p.length if p is not None else 0.0 for p in parts]
        k = min(range(n), key=lengths.__getitem__)
        if lengths[k] >= SHORTEST_MM:
            return [p for p in parts if p is not None]
        if n == 2:
            return []
        middle = _between(joints[k], joints[(k + 1) % n])
        joints[k] = _meeting(carriers[k - 1], carriers[(k + 1) % n], middle)
        del carriers[k]
        del joints[(k + 1) % n]
        if k == n - 1:  # the joint kept belongs to the piece after, which is the first
            joints = [joints[-1], *joints[:-1]]


def _meeting(before: Segment, after: Segment, near: Point) -> Point:
    """Where the neighbours of a sliver meet: their crossing if it is by it, else its middle."""
    at = min(carrier_crossings(before, after), key=lambda p: math.dist(p, near), default=near)
    return at if math.dist(at, near) < SHORTEST_MM else near


def trimmed(seg: Segment, start: Point, end: Point) -> Segment | None:
    """Return a segment on the same line or circle between new ends close to where it ran.

    None where nothing is left of it.
    """
    if math.dist(start, end) < 2 * SAME_POINT_MM:
        return None
    if not seg.is_arc:
        ux, uy = seg.end[0] - seg.start[0], seg.end[1] - seg.start[1]
        forward = (end[0] - start[0]) * ux + (end[1] - start[1]) * uy > 0
        return replace(seg, start=start, end=end, bulge=0.0) if forward else None
    cx, cy = seg.centre

    def turned(a: Point, b: Point) -> float:
        ax, ay, bx, by = a[0] - cx, a[1] - cy, b[0] - cx, b[1] - cy
        return math.atan2(ax * by - ay * bx, ax * bx + ay * by)

    sweep = seg.sweep - turned(seg.start, start) + turned(seg.end, end)
    if sweep * seg.sweep <= 0:
        return None
    return replace(seg, start=start, end=end, bulge=math.tan(sweep / 4))


def _between(a: Point, b: Point) -> Point:
    return ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)

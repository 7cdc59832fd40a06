"""Offsets of outlines and paths: lines and true arcs in, lines and true arcs out.

Each segment moves sideways to its exact parallel and each corner that opens gets its exact join arc
(or a mitre). These raw curves are cut where they cross, and every part that comes nearer to the
outline than the distance is dropped; what stays is the offset. Nothing is approximated by chords.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from hidewright.errors import RequestError
from hidewright.geometry.boolean import Region, regions_of
from hidewright.geometry.crossing import Distances, crossings
from hidewright.geometry.loops import MEET_MM, SHORTEST_MM, Piece, loops_of, trimmed
from hidewright.geometry.outline import Outline, Path, joined, simple, turn_between
from hidewright.geometry.segment import SAME_POINT_MM, Point, Segment, bounds_of, line, turn

#: A part of a raw curve this much nearer than the distance is dropped, mm: the next of these where
#: what stays does not close, since of two curves just so near one may be dropped and one not.
NEARER_MM = (1e-9, 1e-7, 1e-11)
#: Joints that turn less than this are tangent, radians.
TANGENT = 1e-7
#: More of an offset than this in chains that do not close means the outline was not simple, mm.
LOOSE_MM = 0.05
#: Arcs whose centres are nearer than this belong to one circle, mm.
SAME_CENTRE_MM = 1e-9
#: Mitres reach at most this many distances from their corner; sharper corners stay round.
MITRE_LIMIT = 4.0


def offset(outline: Outline, distance_mm: float, sharp: bool = False) -> Outline:
    """Return an outline moved outward (+) or inward (-) everywhere by a distance.

    Arcs stay true arcs; corners that open get an arc round the corner. Each segment carries the
    span of the one it comes from, a join that of the segment before its corner. Every point lies
    at the distance from the outline within 1e-6 mm, except next to segments of under 0.01 mm,
    which are left out by letting their neighbours meet: up to 0.01 mm there.

    Args:
        outline: What is offset; it stays as it is.
        distance_mm: Positive outward, negative inward, mm.
        sharp: Corners that open are mitred instead: both sides run on straight until they meet.
            Corners whose mitre would reach over 4 distances, and joins cut short by another part
            of the outline, stay round.

    Raises:
        RequestError: When nothing is left, it falls into several parts, or it closes round a hole.
            Says the largest distance that gives one outline.
    """
    if distance_mm == 0:
        return outline
    if math.isfinite(distance_mm) and (circle := _concentric(outline, distance_mm)):
        return circle
    regions = offset_all(outline, distance_mm)
    if len(regions) != 1 or regions[0].holes:
        raise _refusal(outline, distance_mm, regions)
    only = regions[0].outer
    return _mitred(only, outline, abs(distance_mm)) if sharp else only


def border_round(outline: Outline, distance_mm: float, inside_mm: float = 1.0) -> Outline:
    """Return the edge of a plate that reaches beyond an outline by a distance, mm.

    Where an offset alone would leave a cusp or a narrow notch, the plate is whole: its inward
    corners have a radius, so that a beam follows it.

    Args:
        outline: What the plate reaches beyond.
        distance_mm: By how much at least.
        inside_mm: Least radius of inward corners.

    Raises:
        RequestError: When it is not one outline.
    """
    return offset(offset(outline, distance_mm + inside_mm), -inside_mm)


def _concentric(outline: Outline, distance_mm: float) -> Outline | None:
    """Return the offset of a full circle at once; None for any other outline or if it vanishes."""
    first, *rest = outline.segments
    if not (first.is_arc and first.bulge > 0) or first.radius + distance_mm <= SHORTEST_MM:
        return None
    for seg in rest:
        if not seg.is_arc or math.dist(seg.centre, first.centre) > SAME_CENTRE_MM:
            return None
    (x, y), scale = first.centre, 1.0 + distance_mm / first.radius

    def away(point: Point) -> Point:
        return (x + (point[0] - x) * scale, y + (point[1] - y) * scale)

    return simple(replace(s, start=away(s.start), end=away(s.end)) for s in outline.segments)


def offset_all(outline: Outline, distance_mm: float) -> tuple[Region, ...]:
    """Return all that an offset leaves: no region, one, or several, with their holes."""
    if not math.isfinite(distance_mm):
        raise RequestError(f"offset by {distance_mm:g} mm", mend="Give a finite distance")
    if distance_mm == 0:
        return (Region(outer=outline),)
    if whole := _all_round(outline, distance_mm):
        return (Region(outer=whole),)
    chain = outline.segments if distance_mm > 0 else outline.as_path().backwards().segments
    loops, loose = _closed_loops(chain, abs(distance_mm))
    if math.fsum(s.length for s in loose) > LOOSE_MM:
        raise _cannot_follow(outline, distance_mm, loose[0].start)
    if distance_mm < 0:  # they ran with the inside to their right
        loops = [[s.backwards() for s in reversed(loop)] for loop in loops]
    try:
        return regions_of(loops)
    except RequestError as error:
        raise RequestError(
            f"offset by {distance_mm:g} mm",
            because="it just touches itself and is not one area",
            mend="Give a little more or less",
        ) from error


def _closed_loops(chain: Sequence[Segment], d: float) -> tuple[list[list[Segment]], list[Segment]]:
    """Return the loops that what stays of the raw curves forms, and what does not close."""
    tried = []
    for nearer in NEARER_MM:
        loops, loose = loops_of(_survivors(chain, d, closed=True, nearer=nearer))
        tried.append((loops, loose))
        if math.fsum(s.length for s in loose) <= LOOSE_MM:
            return loops, loose
    return tried[0]


def _all_round(outline: Outline, distance_mm: float) -> Outline | None:
    """Return the offset of a convex outline whose parallels meet end to end; None for others.

    Outward they always do. Inward they do where a ball of the distance rolls round the inside of
    it: every arc is wider than that and no joint has a corner (Blaschke's rolling theorem).
    """
    segments = outline.segments
    if any(seg.bulge < 0 or seg.radius + distance_mm < SHORTEST_MM for seg in segments):
        return None
    turns = [turn_between(one, two) for one, two in pairwise((*segments, segments[0]))]
    if min(turns) < -TANGENT or (distance_mm < 0 and max(turns) > TANGENT):
        return None
    if math.fsum([*turns, *(seg.sweep for seg in segments)]) > 6.3:  # a spike turned back
        return None
    curves = [raw.curve for raw in _raw_curves(segments, distance_mm, closed=True)]
    if len(curves) < len(segments) or min(curve.length for curve in curves) < SHORTEST_MM:
        return None
    starts = [curve.start for curve in curves]
    ends = [*starts[1:], starts[0]]
    if max(map(math.dist, (curve.end for curve in curves), ends)) > SAME_POINT_MM:
        return None
    return Outline(tuple(replace(c, end=end) for c, end in zip(curves, ends, strict=True)))


def offset_span(outline: Outline, span: str, distance_mm: float) -> Path:
    """Return the part of an offset that belongs to one span of the outline, counter-clockwise.

    At a corner that opens, the join belongs to the span before it; at one that closes, the two
    spans end where their offsets cross. For a line that runs on to the ends of the span, take
    ``offset_path(outline.span_path(span), distance_mm)``.
    """
    outline.starting_at(span)  # refuses a span that is not there
    moved = offset(outline, distance_mm)
    if span not in moved.spans:
        raise RequestError(
            f"the span {span!r} offset by {distance_mm:g} mm",
            because="nothing of it is left",
            mend="Give a smaller distance",
        )
    return moved.span_path(span)


def offset_path(path: Path, distance_mm: float) -> Path:
    """Return an open path moved sideways, to the right (+) or left (-) of its travel.

    Right is outward where the path is a span of an outline. Its ends move square to the path.

    Raises:
        RequestError: When the offset does not lead from one end to the other in one line.
    """
    if distance_mm == 0:
        return path
    chain = path.segments if distance_mm > 0 else path.backwards().segments
    pieces = _survivors(chain, abs(distance_mm), closed=False)
    parts = _one_line(pieces, chain, abs(distance_mm))
    if parts is None:
        raise RequestError(
            f"a line of {path.length:.1f} mm moved sideways by {distance_mm:g} mm",
            because="it is curved or folded more tightly than that and breaks up",
            mend="Give a smaller distance",
        )
    moved = Path(tuple(parts))
    return moved if distance_mm > 0 else moved.backwards()


@dataclass(frozen=True, kw_only=True)
class _Raw:
    """A raw curve, the number of its segment, and the turn to the next curve at its own end."""

    curve: Segment
    of: int
    to_next: float


def _survivors(
    chain: Sequence[Segment], d: float, closed: bool, nearer: float = NEARER_MM[0]
) -> list[Piece]:
    """Parts of the raw curves to the right of a chain that come nowhere nearer than d."""
    raw = _raw_curves(chain, d, closed)
    cuts = _cuts([r.curve for r in raw])
    mids = [
        r.curve.point_at((a + b) / 2)
        for r, at in zip(raw, cuts, strict=True)
        for a, b in pairwise(at)
    ]
    if not mids:
        return []
    # a join of next to no turn is a line, and its middle nearer by its missing rise
    rise = [
        0.0 if r.curve.is_arc else abs(r.curve.bulge) * r.curve.chord
        for r, at in zip(raw, cuts, strict=True)
        for _ in at[1:]
    ]
    free = Distances(chain).least(np.array(mids)) > d - nearer - np.array(rise)
    kept: list[tuple[int, float, float]] = []  # curve, begin, end
    k = 0
    for i, at in enumerate(cuts):
        for a, b in pairwise(at):
            if free[k]:
                if kept and kept[-1][0] == i and kept[-1][2] == a:
                    kept[-1] = (i, kept[-1][1], b)
                else:
                    kept.append((i, a, b))
            k += 1
    pieces: list[Piece] = []
    for n, (i, a, b) in enumerate(kept):
        m = (n + 1) % len(kept)
        j = (i + 1) % len(raw)
        goes_on = b == cuts[i][-1] and kept[m][:2] == (j, 0.0) and raw[i].to_next > -TANGENT
        goes_on = goes_on and _in_turn(raw[i], raw[j], len(chain)) and (closed or m > 0)
        pieces.append(Piece(segment=raw[i].curve.part(a, b), follows=m if goes_on else None))
    return pieces


def _raw_curves(chain: Sequence[Segment], d: float, closed: bool) -> list[_Raw]:
    """Parallels at d to the right and the join arcs of the corners that open, in order."""
    raw: list[_Raw] = []
    n = len(chain)
    for k, seg in enumerate(chain):
        moved = parallel(seg, d)
        corner = turn_between(seg, chain[(k + 1) % n]) if closed or k < n - 1 else 0.0
        opens = corner > TANGENT and corner * d > 1e-6
        if moved is not None:
            raw.append(_Raw(curve=moved, of=k, to_next=0.0 if opens else corner))
        if opens:
            start = _beside(seg, seg.length, d)
            end, bulge = turn(start, corner, seg.end), math.tan(corner / 4)
            join = Segment(start=start, end=end, bulge=bulge, span=seg.span)
            raw.append(_Raw(curve=join, of=k, to_next=0.0))
    return raw


def _in_turn(one: _Raw, two: _Raw, n: int) -> bool:
    """Whether no segment of the chain between two raw curves has shrunk to nothing."""
    return two.of in (one.of, (one.of + 1) % n)


def parallel(seg: Segment, d: float) -> Segment | None:
    """Return a segment moved to its right by d, mm; None where an arc shrinks to nothing."""
    start, end = _beside(seg, 0.0, d), _beside(seg, seg.length, d)
    if seg.is_arc and seg.radius + math.copysign(d, seg.bulge) <= 1e-6:
        return None
    if math.dist(start, end) < 1e-6:
        return None
    return Segment(start=start, end=end, bulge=seg.bulge if seg.is_arc else 0.0, span=seg.span)


def _beside(seg: Segment, along: float, d: float) -> Point:
    at = seg.start if along == 0.0 else seg.end
    nx, ny = seg.normal_at(along)
    return (at[0] + nx * d, at[1] + ny * d)


def _cuts(curves: Sequence[Segment]) -> list[list[float]]:
    """Distances along each curve of its ends and of all crossings with the others."""
    cuts: list[list[float]] = [[0.0, c.length] for c in curves]
    box = np.array([bounds_of((c,)) for c in curves]).reshape(-1, 4)
    low, high = box[:, :2] - 1e-6, box[:, 2:] + 1e-6
    near = (low[:, None] <= high[None]).all(2) & (low[None] <= high[:, None]).all(2)
    for i, j in np.argwhere(np.triu(near, 1)).tolist():
        for p in crossings(curves[i], curves[j]):
            cuts[i].append(curves[i].nearest(p)[0])
            cuts[j].append(curves[j].nearest(p)[0])
    return [_distinct(at) for at in cuts]


def _distinct(at: list[float]) -> list[float]:
    """Sorted, with those closer than a millionth of a mm merged, the two ends kept."""
    first, last = at[0], at[1]
    out = [first]
    for v in sorted(at[2:]):
        if v - out[-1] > 1e-6 and last - v > 1e-6:
            out.append(v)
    return [*out, last]


def _one_line(pieces: Sequence[Piece], chain: Sequence[Segment], d: float) -> list[Segment] | None:
    """The pieces from the offset of the first end of a chain to that of its last, joined."""
    begin, finish = _beside(chain[0], 0.0, d), _beside(chain[-1], chain[-1].length, d)
    left = [p.segment for p in pieces]
    out: list[Segment] = []
    at = begin
    while not out or math.dist(out[-1].end, finish) > MEET_MM:
        k = min(range(len(left)), key=lambda i: math.dist(left[i].start, at), default=None)
        if k is None or math.dist(left[k].start, at) > MEET_MM:
            return None
        out.append(left.pop(k))
        at = out[-1].end
    joints = [
        begin,
        *(((a.end[0] + b.start[0]) / 2, (a.end[1] + b.start[1]) / 2) for a, b in pairwise(out)),
        finish,
    ]
    return _without_slivers(out, joints)


def _without_slivers(carriers: list[Segment], joints: list[Point]) -> list[Segment] | None:
    while carriers:
        parts = [trimmed(c, *ends) for c, ends in zip(carriers, pairwise(joints), strict=True)]
        lengths = [p.length if p is not None else 0.0 for p in parts]
        k = min(range(len(parts)), key=lengths.__getitem__)
        if lengths[k] >= SHORTEST_MM:
            return [p for p in parts if p is not None]
        # the end of a path stays, an inner sliver gives up its first joint
        del joints[k if k else 1]
        del carriers[k]
    return None


def _mitred(moved: Outline, outline: Outline, d: float) -> Outline:
    """Replace whole join arcs by two straight lines along the tangents at their ends."""
    corners = {s.start for s in outline.segments}
    parts: list[Segment] = []
    n = len(moved.segments)
    for k, seg in enumerate(moved.segments):
        joins = seg.is_arc and abs(seg.radius - d) < 1e-6
        joins = joins and any(math.dist(seg.centre, c) < 1e-6 for c in corners)
        before, after = moved.segments[k - 1], moved.segments[(k + 1) % n]
        smooth = abs(turn_between(before, seg)) < 1e-6 and abs(turn_between(seg, after)) < 1e-6
        half = abs(seg.sweep) / 2
        if not (joins and smooth and MITRE_LIMIT * math.cos(half) > 1):
            parts.append(seg)
            continue
        (tx, ty), reach = seg.tangent_at(0.0), d * math.tan(half)
        tip = (seg.start[0] + tx * reach, seg.start[1] + ty * reach)
        parts += [line(seg.start, tip, before.span), line(tip, seg.end, after.span)]
    merged = list(joined(parts))
    if len(merged) > 2:  # the loop's first and last may be one line too
        ends = joined([merged[-1], merged[0]])
        if len(ends) == 1:
            merged = [ends[0], *merged[1:-1]]
    return Outline(tuple(merged))


def _cannot_follow(outline: Outline, distance_mm: float, near: Point) -> RequestError:
    """What to say of an offset that does not close: two of its sides cross by under 0.01 mm."""
    for i, one in enumerate(outline.segments):
        for two in outline.segments[i + 1 :]:
            joints = {one.start, one.end} & {two.start, two.end}
            for p in crossings(one, two):
                if all(math.dist(p, joint) > 1e-3 for joint in joints):
                    near = p
    return RequestError(
        f"offset by {distance_mm:g} mm",
        because=f"sides of the outline cross or touch near ({near[0]:.2f}, {near[1]:.2f}) mm",
        mend="Redraw it there as one simple loop, or move the sides 0.02 mm apart",
    )


def _refusal(outline: Outline, distance_mm: float, regions: Sequence[Region]) -> RequestError:
    """What went wrong with an offset, and the largest distance that gives one outline."""
    good, bad = 0.0, abs(distance_mm)
    sign = math.copysign(1.0, distance_mm)
    for _ in range(24):
        middle = (good + bad) / 2
        if _gives_one(outline, sign * middle):
            good = middle
        else:
            bad = middle
    most = math.floor(good * 100 + 1e-3) / 100
    if not _gives_one(outline, sign * most):  # the limit itself may be the first that fails
        most -= 0.01
    if distance_mm < 0:
        what = f"offset inward by {-distance_mm:g} mm"
        because = f"it falls into {len(regions)} parts" if regions else "nothing is left of it"
    else:
        what = f"offset outward by {distance_mm:g} mm"
        because = "a notch closes and leaves a hole"
    return RequestError(what, because=because, mend=f"Give at most {most:.2f} mm")


def _gives_one(outline: Outline, distance_mm: float) -> bool:
    """Whether an offset leaves one outline without a hole."""
    try:
        regions = offset_all(outline, distance_mm)
    except RequestError:
        return False
    return len(regions) == 1 and not regions[0].holes

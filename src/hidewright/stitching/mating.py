"""Holes of the other layers: as many as on the front, each where it meets its partner."""

from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate, pairwise

from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Segment
from hidewright.stitching.anchors import Anchor
from hidewright.stitching.spacing import Stations, evenly

#: Arcs that turn alike within this are one another's parallels, radians.
LIKE_TURN = 1e-6


def mate_stations(
    front: Path,
    stations: Stations,
    front_anchors: Sequence[Anchor],
    mate: Path,
    mate_anchors: Sequence[Anchor],
    *,
    mirrored: bool,
) -> tuple[float, ...]:
    """Return where a mating layer's holes lie along its own stitch line, mm.

    Corner meets corner where both lines have as many; otherwise each anchor of the front has its
    partner at the same fraction of the length. Between two anchors, lines that run parallel (line
    by line and arc by arc, turning alike) match by local normals: each hole at the same fraction
    of its own line or arc, so that straights agree hole for hole and a bend takes the difference.
    Lines that do not, take the same number of equal chords.

    Args:
        front: The front's stitch line.
        stations: The front's holes.
        front_anchors: The front's anchors, in order.
        mate: The other layer's stitch line, in sewing direction.
        mate_anchors: Its anchors.
        mirrored: Whether the layer lies turned over on the front, so that its turns are opposite.
    """
    fixed = _partners(front, front_anchors, mate, mate_anchors)
    out: list[float] = [fixed[0]]
    for k, (i, j) in enumerate(pairwise(stations.anchors)):
        inner = stations.along_mm[i : j + 1]
        low, high = fixed[k], fixed[k + 1]
        ours, theirs = front.part(inner[0], inner[-1]), mate.part(low, high)
        if run_parallel(ours, theirs, mirrored=mirrored):
            matched = _piecewise(ours, theirs, [v - inner[0] for v in inner])
            out += [low + v for v in matched[1:-1]]
        else:
            out += evenly(mate, low, high, j - i)[1:-1]
        out.append(high)
    return tuple(out)


def run_parallel(ours: Path, theirs: Path, *, mirrored: bool) -> bool:
    """Whether two lines are one another's parallels: line by line, arc by arc, turning alike."""
    sign = -1.0 if mirrored else 1.0
    return len(ours.segments) == len(theirs.segments) and all(
        a.is_arc == b.is_arc and abs(a.sweep - sign * b.sweep) < LIKE_TURN
        for a, b in zip(ours.segments, theirs.segments, strict=True)
    )


def _partners(
    front: Path, front_anchors: Sequence[Anchor], mate: Path, mate_anchors: Sequence[Anchor]
) -> list[float]:
    """Return the distance along the mate of each anchor of the front."""
    ours = [a.along_mm for a in front_anchors if a.kind != "fold"]
    theirs = [a.along_mm for a in mate_anchors if a.kind != "fold"]
    if len(ours) != len(theirs):
        ours, theirs = [0.0, front.length], [0.0, mate.length]
    out: list[float] = []
    for anchor in front_anchors:
        k = min(max(bisect_right(ours, anchor.along_mm) - 1, 0), len(ours) - 2)
        a, b = front.part(ours[k], ours[k + 1]), mate.part(theirs[k], theirs[k + 1])
        matched = (
            _piecewise(a, b, [anchor.along_mm - ours[k]])[0]
            if _alike(a, b)
            else ((anchor.along_mm - ours[k]) / a.length * b.length)
        )
        out.append(theirs[k] + matched)
    return out


def _alike(a: Path, b: Path) -> bool:
    return run_parallel(a, b, mirrored=True) or run_parallel(a, b, mirrored=False)


def _piecewise(ours: Path, theirs: Path, along: Sequence[float]) -> list[float]:
    """Return distances along one line at the same fractions of its segments as on the other."""
    begun, met = _starts(ours.segments), _starts(theirs.segments)
    out: list[float] = []
    for v in along:
        k = min(max(bisect_right(begun, v) - 1, 0), len(ours.segments) - 1)
        fraction = (v - begun[k]) / ours.segments[k].length
        out.append(met[k] + fraction * theirs.segments[k].length)
    return out


def _starts(segments: Sequence[Segment]) -> list[float]:
    return [0.0, *accumulate(s.length for s in segments)]

"""Relief darts in the mesh: the sheet is cut along lines whose two sides meet when it is pressed.

Nothing holds the two sides to one another. Where the margin is gathered they therefore lie apart on
the flat: what is between them is the wedge to be cut out.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from hidewright.forming.pattern import Ints
from hidewright.forming.pressing import Pressing
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point


class Cut(NamedTuple):
    """A dart among the points of a mesh, from the leather's edge to the tip that both sides share.

    Attributes:
        before: Points of the side that comes first, counter-clockwise round the edge.
        after: Points of the other, which lie in the same places when pressed.
    """

    before: Ints
    after: Ints


def cuts_of(
    pressing: Pressing, counts: Sequence[int], edge: Ints, first: int, size_mm: float
) -> tuple[Cut, ...]:
    """Return the darts of a pressing as numbers of points, new ones from ``first`` on.

    Args:
        pressing: Its edge is an outline when it has darts.
        counts: Points on each segment of the edge.
        edge: Their numbers.
        first: Number of the first new point.
        size_mm: Side of a triangle.
    """
    begins = np.concatenate([[0], np.cumsum(counts)])
    found: list[Cut] = []
    for dart in pressing.darts:
        steps = max(2, math.ceil(dart.length_mm / size_mm))
        mouth = edge[begins[pressing.dart_segment(dart)]]
        inner = np.arange(first, first + steps)
        twins = np.arange(first + steps, first + 2 * steps)
        found.append(
            Cut(
                before=np.concatenate([[mouth], inner]),
                after=np.concatenate([twins, inner[-1:]]),
            )
        )
        first += 2 * steps
    return tuple(found)


def between(mouth: Floats, tip: Point, cut: Cut) -> Floats:
    """Return (k, 2) where the points of a cut lie between a dart's mouth and tip, mm."""
    f = np.linspace(0.0, 1.0, len(cut.before))[:, None]
    places: Floats = mouth * (1.0 - f) + np.array(tip) * f
    return places


def widths_mm(flat: Floats, cut: Cut) -> Floats:
    """Return how far apart the sides of a cut lie on the flat, from the mouth to before the tip.

    Negative where they would lie over one another: there the sheet is not gathered but pulled, and
    a cut would gape when it is pressed.
    """
    before, after = flat[cut.before], flat[cut.after]
    way = before[-1] - 0.5 * (before[0] + after[0])
    across = np.array([way[1], -way[0]]) / np.linalg.norm(way)
    widths: Floats = ((after - before) @ across)[:-1]
    return widths


def parted(triangles: Ints, points: Floats, cuts: Sequence[Cut]) -> Ints:
    """Return triangles that no longer hang together along the cuts."""
    out = triangles.copy()
    for cut in cuts:
        mouth, tip = points[cut.before[0]], points[cut.before[-1]]
        way, off = tip - mouth, points[triangles].mean(axis=1) - mouth
        behind = way[0] * off[:, 1] - way[1] * off[:, 0] < 0.0
        for old, new in zip(cut.before[:-1], cut.after[:-1], strict=True):
            out[behind[:, None] & (out == old)] = new
    return out


def rim_of(edge: Ints, cuts: Sequence[Cut]) -> Ints:
    """Return the leather's edge with the sides of its cuts, counter-clockwise."""
    by_mouth = {int(cut.before[0]): cut for cut in cuts}
    rim: list[int] = []
    for number in edge.tolist():
        cut = by_mouth.get(number)
        rim += [number] if cut is None else [*cut.before.tolist(), *cut.after[-2::-1].tolist()]
    return np.array(rim, dtype=np.int64)


def with_corners_at(edge: Outline, places: Sequence[Point]) -> tuple[Outline, tuple[Point, ...]]:
    """Return an edge whose segments are divided where darts begin, and these places on it."""
    segments = list(edge.segments)
    found: list[Point] = []
    for place in places:
        aways = [seg.nearest(place) for seg in segments]
        i = min(range(len(segments)), key=lambda k: aways[k][1])
        seg, at = segments[i], aways[i][0]
        if at > 1e-3 and seg.length - at > 1e-3:
            segments[i : i + 1] = [seg.part(0.0, at), seg.part(at, seg.length)]
            found.append(segments[i + 1].start)
        else:
            found.append((segments[i] if at <= 1e-3 else segments[(i + 1) % len(segments)]).start)
    return Outline(tuple(segments)), tuple(found)

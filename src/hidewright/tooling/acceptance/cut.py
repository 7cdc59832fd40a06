"""Does the beam leave the part at its true size, in the right order, and cut nothing twice."""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.design.fault import Fault
from hidewright.design.part import Part
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.probe import (
    dense_normals,
    dense_points,
    dense_points_of,
    distances,
    signed,
)

#: What is left after the cut agrees with the part within this, mm.
CUT_WITHIN_MM = 0.01
#: Two cuts nearer than this over more than a mm are one drawn twice, mm.
TWICE_MM = 0.004
STEP_MM = 0.5
#: A beam this much further in than half a kerf cuts into the part, mm.
BARRED_MM = 1e-6
#: Corners and bulges of an outline.
Shape = tuple[tuple[float, float, float], ...]
#: An edge, the beam's path along it from the same corner, and how far outside it should be, mm.
Pair = tuple[Shape, Shape, float]


def accept_cut(
    part: Part,
    cuts: Sequence[Outline],
    *,
    turned_over: bool = False,
    known: dict[Pair, float] | None = None,
) -> tuple[Fault, ...]:
    """Return where the beam's paths do not leave the part: outside + kerf/2, inside - kerf/2.

    Args:
        part: At its true size.
        cuts: Closed paths of the middle of the beam, in cutting order: all holes, then the outline.
        turned_over: Whether the part is cut lower face up, mirrored left to right.
        known: How far off pairs of lines were found to be; those of this part are added. Plates of
            one stack are cut alike.
    """
    half = part.board.kerf_mm / 2.0
    edges = [part.outline, *(hole.outline for hole in part.holes)]
    outer, *holes = [edge.mirrored() for edge in edges] if turned_over else edges
    if len(cuts) != len(edges):
        return (_fault("cuts-missing", part, len(cuts), len(edges)),)
    known = {} if known is None else known
    faults: list[Fault] = []
    if max(range(len(cuts)), key=lambda i: cuts[i].area) != len(cuts) - 1:
        faults.append(_fault("outside-cut-before-inside", part, 0, 1))
    by_size = sorted(cuts, key=lambda cut: cut.area)
    left = [(_middle(cut), cut) for cut in by_size[:-1]]
    pairs = [(by_size[-1], outer, half)]
    for hole in holes:
        x, y = _middle(hole)
        near = min(range(len(left)), key=lambda i: math.dist(left[i][0], (x, y)))
        pairs.append((left.pop(near)[1], hole, -half))
    for cut, edge, half_mm in pairs:
        # pairs that are shifted copies of one another are as far off as one another
        alike = (_shape_from(edge, edge), _shape_from(edge, cut), half_mm)
        if alike not in known:
            known[alike] = _off(cut, edge, half_mm, part.board.min_feature_mm)
        if known[alike] > CUT_WITHIN_MM:
            faults.append(_fault("cut-not-at-true-size", part, known[alike], CUT_WITHIN_MM))
    faults += drawn_twice(part.name, cuts)
    return tuple(faults)


def drawn_twice(name: str, curves: Sequence[Outline | Path]) -> list[Fault]:
    """Return a fault for each two curves that run along one another for more than a mm."""
    faults: list[Fault] = []
    boxes = np.array([curve.bounds for curve in curves]).reshape(-1, 4)
    points = dense_points_of(curves, STEP_MM)
    for k, two in enumerate(curves):
        a, b, c, d = boxes[k]
        p, q, r, s = boxes[:k].T
        apart = np.max([p - c, a - r, q - d, b - s], axis=0)
        ones = [points[i] for i in np.flatnonzero(apart <= TWICE_MM)]
        if not ones:
            continue
        beside = distances(two.segments, np.concatenate(ones)) < TWICE_MM
        for near in np.split(beside, np.cumsum([len(one) for one in ones[:-1]])):
            if (near[:-3] & near[1:-2] & near[2:-1] & near[3:]).any():
                faults.append(
                    Fault(
                        code="drawn-twice",
                        part=name,
                        measured=float(near.sum()) * STEP_MM,
                        allowed=0.0,
                        sentence=f"{name}: two cuts run along one another",
                    )
                )
    return faults


def _shape_from(start: Outline, outline: Outline) -> Shape:
    """Return an outline's corners and bulges from where another begins, to a millionth of a mm."""
    x, y = start.segments[0].start
    return tuple(
        (round(s.start[0] - x, 6), round(s.start[1] - y, 6), round(s.bulge, 9))
        for s in outline.segments
    )


def _off(cut: Outline, edge: Outline, half_mm: float, slit_mm: float) -> float:
    """Return how far a path is off half a kerf outside an edge (inside, if negative), both ways.

    A round beam that would touch a point deep in a corner or a slit would cut into the other side
    of it: what it leaves there is no fault, up to ``slit_mm`` from where it was asked.
    """
    off = np.abs(signed(edge, dense_points(cut.segments, STEP_MM)) - half_mm)
    asked = dense_points(edge.segments, STEP_MM)
    back = np.abs(distances(cut.segments, asked) - abs(half_mm))
    far = np.flatnonzero((back > CUT_WITHIN_MM) & (back < slit_mm))
    if len(far):
        beam = asked[far] + half_mm * dense_normals(edge.segments, STEP_MM)[far]
        room = math.copysign(1.0, half_mm) * signed(edge, beam)
        barred = room < abs(half_mm) - BARRED_MM
        back[far[barred]] = 0.0
    return float(max(off.max(), back.max()))


def _middle(outline: Outline) -> tuple[float, float]:
    left, bottom, right, top = outline.bounds
    return ((left + right) / 2.0, (bottom + top) / 2.0)


def _fault(code: str, part: Part, measured: float, allowed: float) -> Fault:
    return Fault(
        code=code,
        part=part.name,
        measured=measured,
        allowed=allowed,
        sentence=f"{part.name}: {code.replace('-', ' ')}, {measured:.3f} for {allowed:.3f}",
    )

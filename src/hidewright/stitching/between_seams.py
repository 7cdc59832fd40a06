"""Whether seams get in one another's way."""

from collections.abc import Sequence
from itertools import combinations, pairwise

import numpy as np

from hidewright.design.seam import SewnEdge, SewnSeam
from hidewright.errors import Remark
from hidewright.geometry.crossing import crossings
from hidewright.geometry.segment import Floats, Segment, line

#: Two holes nearer than this are one hole, mm.
ONE_HOLE_MM = 0.05


def check_between_seams(seams: Sequence[SewnSeam]) -> tuple[Remark, ...]:
    """Return remarks where seams cross on a piece or their holes are nearer than half a pitch.

    Every layer of every seam is held against every other that lies on the same piece; two layers
    of one seam too, since a piece may be folded and sewn to itself. A hole that two seams share
    exactly is meant, and is only noted.
    """
    layers = [(seam, layer) for seam in seams for layer in seam.layers]
    out: list[Remark] = []
    for (one, ours), (two, theirs) in combinations(layers, 2):
        if ours.piece != theirs.piece:
            continue
        names = f"seams {one.name} and {two.name}" if one is not two else f"seam {one.name}"
        near = min(one.pitch_mm[0], two.pitch_mm[0]) / 2.0
        out += _check_crossing(names, ours, theirs)
        out += _check_near(names, ours, theirs, near)
    return tuple(out)


def _check_crossing(names: str, ours: SewnEdge, theirs: SewnEdge) -> list[Remark]:
    shared = {h.at for h in ours.holes} & {h.at for h in theirs.holes}
    for a in _stitches(ours):
        for b in _stitches(theirs):
            if {a.start, a.end} & {b.start, b.end} & shared:
                continue
            for spot in crossings(a, b):
                return [
                    Remark(
                        code="seams-cross",
                        severity="warning",
                        place=ours.piece,
                        point=spot,
                        sentence=f"{names} cross on {ours.piece}",
                    )
                ]
    return []


def _check_near(names: str, ours: SewnEdge, theirs: SewnEdge, near_mm: float) -> list[Remark]:
    a, b = _points(ours), _points(theirs)
    apart: Floats = np.hypot(*np.moveaxis(a[:, None] - b[None], 2, 0))
    out: list[Remark] = []
    shared = np.argwhere(apart < ONE_HOLE_MM)
    if len(shared):
        i, j = (int(v) for v in shared[0])
        out.append(
            Remark(
                code="seams-share-a-hole",
                severity="note",
                place=ours.piece,
                point=ours.holes[i].at,
                amount=float(apart[i, j]),
                sentence=f"{names} share {'a hole' if len(shared) == 1 else f'{len(shared)} holes'}"
                f" on {ours.piece}",
            )
        )
    rest = np.where(apart < ONE_HOLE_MM, np.inf, apart)
    i, j = divmod(int(np.argmin(rest)), rest.shape[1])
    away = float(rest[i, j])
    if away < near_mm - 1e-6:
        out.append(
            Remark(
                code="seams-too-near",
                severity="warning",
                place=ours.piece,
                point=ours.holes[i].at,
                amount=away,
                limit=near_mm,
                sentence=f"holes of {names} are {away:.1f} mm apart on {ours.piece}; nearer than "
                f"half a stitch, {near_mm:.1f} mm, the leather may tear from hole to hole",
            )
        )
    return out


def _stitches(layer: SewnEdge) -> list[Segment]:
    return [line(a.at, b.at) for a, b in pairwise(layer.holes)]


def _points(layer: SewnEdge) -> Floats:
    return np.array([h.at for h in layer.holes])

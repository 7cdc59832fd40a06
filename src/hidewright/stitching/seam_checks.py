"""What there is to say about the holes of one seam."""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from hidewright.design.choices import SewingChoice
from hidewright.design.piece import Piece
from hidewright.design.seam import Hole, Seam, SewnEdge, SewnSeam
from hidewright.errors import Remark, Remedy
from hidewright.geometry.crossing import Distances
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.segment import Floats, Point, line
from hidewright.stitching.wall_checks import check_walls

#: Least distance of a hole from an edge, mm (common practice, no source).
LEAST_EDGE_MM = 3.0
#: Least leather between two slits, or a slit and a punched hole, mm (from memory).
LEAST_WEB_MM = 1.0
#: Least length of a slit that a design file takes, mm.
SHORTEST_SLIT_MM = 0.5
#: Another layer's chords may differ from the front's by this share before it is said.
EASE = 0.05
#: A chord may miss the wanted pitch by this share before it is said (common practice, no source).
PITCH_MISS = 0.10
#: Stitches shorter than this share of the stack pull through (from memory).
PITCH_TO_STACK = 0.8
#: A hole may be nearer to an edge than the inset by this much before it is said, mm.
INSET_MISS_MM = 0.05
#: Inside and outside are told from chords this near to the line, mm.
CHORD_MM = 0.02
#: A hole may be off a corner or nearer to an edge by this much, mm.
SLACK_MM = 1e-6


def check_seam(
    seam: Seam,
    sewn: SewnSeam,
    pieces: Sequence[Piece],
    thickness_of: Mapping[str, float],
    choice: SewingChoice,
    *,
    corners: Sequence[Sequence[Point]],
    closed: bool,
) -> tuple[Remark, ...]:
    """Return the remarks on one sewn seam, layer by layer, front first.

    Args:
        seam: As asked for.
        sewn: As laid.
        pieces: The piece of each layer.
        thickness_of: Dry thickness of each piece, mm.
        choice: How the workshop sews.
        corners: Corners of each layer's stitch line.
        closed: Whether the last hole is followed by the first.
    """
    remarks: list[Remark] = []
    remarks += _check_inset(seam)
    remarks += _check_pitch(seam, sewn, closed)
    remarks += _check_ease(sewn, closed)
    remarks += _check_reverse(seam, sewn)
    for piece, layer, own in zip(pieces, sewn.layers, corners, strict=True):
        points = _points(layer.holes)
        remarks += _check_corners(sewn.name, piece, points, own)
        remarks += _check_edge(seam, piece, points)
        remarks += _check_openings(sewn.name, piece, points, choice)
        remarks += _check_folds(sewn.name, piece, points)
        remarks += check_walls(seam, piece, points, thickness_of[piece.name], choice)
        remarks += _check_web(sewn.name, piece, layer, choice, closed)
    return tuple(remarks)


def _check_pitch(seam: Seam, sewn: SewnSeam, closed: bool) -> list[Remark]:
    """Stretches of a single stitch, stitches far off the pitch or short for the stack."""
    out: list[Remark] = []
    front = sewn.layers[0]
    chord = chords_of(front, closed)
    marks = [*sewn.anchors, sewn.count] if closed else list(sewn.anchors)
    single = [i for i, j in pairwise(marks) if j - i == 1]
    if single:
        shortest = float(min(chord[i] for i in single))
        finer = math.floor(shortest / 2 * 20 + 1e-6) / 20
        out.append(
            Remark(
                code="stretch-of-one-stitch",
                severity="warning",
                place=front.piece,
                point=front.holes[single[0]].at,
                amount=shortest,
                limit=2 * seam.pitch_mm,
                sentence=f"seam {seam.name}: between two corners, ends or fold edges only "
                f"{shortest:.1f} mm are sewn, a single stitch. A finer pitch gives two",
                remedies=(Remedy(field="measures.pitch", value=f"{finer:g} mm"),),
            )
        )
    miss = max(abs(v - seam.pitch_mm) for v in sewn.pitch_mm)
    if miss > PITCH_MISS * seam.pitch_mm + SLACK_MM:
        out.append(
            Remark(
                code="pitch-missed",
                severity="note",
                place=seam.name,
                amount=miss,
                limit=PITCH_MISS * seam.pitch_mm,
                sentence=f"whole stitches come to {sewn.pitch_mm[0]:.2f}-{sewn.pitch_mm[1]:.2f} mm"
                f" instead of {seam.pitch_mm:g} mm",
            )
        )
    least = PITCH_TO_STACK * sewn.stack_mm
    if sewn.pitch_mm[0] < least:
        out.append(
            Remark(
                code="stitches-short-for-stack",
                severity="note",
                place=seam.name,
                amount=sewn.pitch_mm[0],
                limit=least,
                sentence=f"stitches of {sewn.pitch_mm[0]:.1f} mm are short for a stack of "
                f"{sewn.stack_mm:.1f} mm and may cut it; {least:.1f} mm or more holds better",
                remedies=(Remedy(field="measures.pitch", value=f"{_up(least):g} mm"),),
            )
        )
    return out


def _check_ease(sewn: SewnSeam, closed: bool) -> list[Remark]:
    """Layers whose own stitches differ much from the front's."""
    out: list[Remark] = []
    front = chords_of(sewn.layers[0], closed)
    for layer in sewn.layers[1:]:
        share = chords_of(layer, closed) / front - 1.0
        k = int(np.argmax(np.abs(share)))
        if abs(share[k]) > EASE:
            longer = "longer" if share[k] > 0 else "shorter"
            out.append(
                Remark(
                    code="layers-eased",
                    severity="warning",
                    place=layer.piece,
                    point=layer.holes[k].at,
                    amount=abs(float(share[k])),
                    limit=EASE,
                    sentence=f"seam {sewn.name}: the stitches of {layer.piece} are up to "
                    f"{abs(share[k]) * 100:.0f} % {longer} than those of the front; the longer "
                    "layer has to be eased in",
                )
            )
    return out


def _check_reverse(seam: Seam, sewn: SewnSeam) -> list[Remark]:
    if sewn.reverse_stitches == seam.reverse_stitches:
        return []
    return [
        Remark(
            code="seam-short-for-reverse-stitches",
            severity="note",
            place=seam.name,
            amount=float(seam.reverse_stitches),
            limit=float(sewn.reverse_stitches),
            sentence=f"the seam has only {sewn.reverse_stitches} stitches to sew back over, "
            f"{seam.reverse_stitches} are asked for",
            remedies=(Remedy(field="measures.reverse_stitches", value=f"{sewn.reverse_stitches}"),),
        )
    ]


def _check_corners(
    name: str, piece: Piece, points: Floats, corners: Sequence[Point]
) -> list[Remark]:
    """Corners of a layer that no hole sits on, because the front has no corner there."""
    missed = [(float(np.hypot(*(points - np.array(c)).T).min()), c) for c in corners]
    missed = [(away, c) for away, c in missed if away > SLACK_MM]
    if not missed:
        return []
    away, corner = max(missed)
    return [
        Remark(
            code="corner-without-hole",
            severity="warning",
            place=piece.name,
            point=corner,
            amount=away,
            limit=0.0,
            sentence=f"seam {name}: no hole sits on this corner of {piece.name}, the nearest is "
            f"{away:.1f} mm away, because the front has no corner there",
        )
    ]


def _check_inset(seam: Seam) -> list[Remark]:
    """An inset under 3 mm, or under the pitch."""
    if seam.inset_mm < LEAST_EDGE_MM - SLACK_MM:
        return [
            Remark(
                code="holes-near-edge",
                severity="warning",
                place=seam.name,
                amount=seam.inset_mm,
                limit=LEAST_EDGE_MM,
                sentence=f"holes {seam.inset_mm:g} mm from the edge; nearer than "
                f"{LEAST_EDGE_MM:g} mm the leather may tear out",
                remedies=(Remedy(field="measures.inset", value=f"{LEAST_EDGE_MM:g} mm"),),
            )
        ]
    if seam.inset_mm < seam.pitch_mm - SLACK_MM:
        return [
            Remark(
                code="inset-under-pitch",
                severity="note",
                place=seam.name,
                amount=seam.inset_mm,
                limit=seam.pitch_mm,
                sentence=f"holes {seam.inset_mm:g} mm from the edge at a pitch of "
                f"{seam.pitch_mm:g} mm; an inset of at least the pitch holds better",
                remedies=(Remedy(field="measures.inset", value=f"{_up(seam.pitch_mm):g} mm"),),
            )
        ]
    return []


def _check_edge(seam: Seam, piece: Piece, points: Floats) -> list[Remark]:
    """Holes outside the piece, or nearer to another of its edges than the inset."""
    signed = signed_distances(piece.outline, points)
    if signed.min() < -CHORD_MM:
        return [
            Remark(
                code="hole-outside-piece",
                severity="forbids",
                place=piece.name,
                point=_point(points[np.argmin(signed)]),
                sentence=f"seam {seam.name}: a hole lies outside {piece.name}",
            )
        ]
    from_edge = Distances(piece.outline.segments).least(points)
    k = int(np.argmin(from_edge))
    away = float(from_edge[k])
    if away >= seam.inset_mm - INSET_MISS_MM:
        return []
    return [
        Remark(
            code="hole-near-other-edge",
            severity="warning" if away < LEAST_EDGE_MM else "note",
            place=piece.name,
            point=_point(points[k]),
            amount=away,
            limit=seam.inset_mm,
            sentence=f"seam {seam.name}: a hole is {away:.1f} mm from another edge of "
            f"{piece.name}, nearer than the inset of {seam.inset_mm:g} mm",
        )
    ]


def _check_openings(name: str, piece: Piece, points: Floats, choice: SewingChoice) -> list[Remark]:
    """Holes in or beside punched holes, slits and cut-outs."""
    reach = choice.slit_mm / 2.0
    found: list[tuple[float, str, Point]] = []
    for punched in piece.holes:
        away = np.hypot(*(points - np.array(punched.at)).T) - punched.diameter_mm / 2
        if punched.slit is not None:
            slit = Distances([line(punched.at, punched.slit)]).least(points)
            away = np.minimum(away, slit)
        k = int(np.argmin(away))
        found.append((float(away[k]) - reach, f"the hole for {punched.name}", _point(points[k])))
    for cut in piece.cut_outs:
        away = Distances(cut.segments).least(points)
        away = np.where(signed_distances(cut, points) > CHORD_MM, -away, away)
        k = int(np.argmin(away))
        found.append((float(away[k]) - reach, "a cut-out", _point(points[k])))
    return [
        Remark(
            code="hole-in-opening" if web <= 0 else "hole-near-opening",
            severity="forbids" if web <= 0 else "warning",
            place=piece.name,
            point=at,
            amount=max(web, 0.0),
            limit=LEAST_WEB_MM,
            sentence=f"seam {name}: a stitch hole of {piece.name} "
            + (
                f"runs into {what}"
                if web <= 0
                else f"leaves only {web:.1f} mm of leather beside {what}; "
                f"{LEAST_WEB_MM:g} mm is the least"
            ),
        )
        for web, what, at in found
        if web < LEAST_WEB_MM - SLACK_MM
    ]


def _check_folds(name: str, piece: Piece, points: Floats) -> list[Remark]:
    """Holes inside a bent strip."""
    out: list[Remark] = []
    for fold in piece.folds:
        beside = Distances([line(fold.line.start, fold.line.end)]).least(points)
        inside = np.flatnonzero(beside < fold.strip_mm / 2 - SLACK_MM)
        if len(inside):
            k = int(inside[np.argmin(beside[inside])])
            out.append(
                Remark(
                    code="hole-in-fold",
                    severity="warning",
                    place=piece.name,
                    point=_point(points[k]),
                    amount=float(beside[k]),
                    limit=fold.strip_mm / 2,
                    sentence=f"seam {name}: {len(inside)} "
                    f"{'hole lies' if len(inside) == 1 else 'holes lie'} in the bent strip of "
                    f"{fold.name}, where leather tears first",
                )
            )
    return out


def _check_web(
    name: str, piece: Piece, layer: SewnEdge, choice: SewingChoice, closed: bool
) -> list[Remark]:
    """Too little leather between neighbouring slits."""
    pairs = list(pairwise(layer.holes))
    if closed:
        pairs.append((layer.holes[-1], layer.holes[0]))
    webs = [web_between(a, b, choice.slit_mm) for a, b in pairs]
    k = int(np.argmin(webs))
    if webs[k] >= LEAST_WEB_MM - SLACK_MM:
        return []
    shorter = _longest_slit(pairs, choice.slit_mm)
    return [
        Remark(
            code="little-leather-between-holes",
            severity="forbids" if webs[k] <= 0 else "warning",
            place=piece.name,
            point=pairs[k][0].at,
            amount=max(webs[k], 0.0),
            limit=LEAST_WEB_MM,
            sentence=f"seam {name}: between two holes of {piece.name} {max(webs[k], 0.0):.1f} mm "
            f"of leather is left; {LEAST_WEB_MM:g} mm is the least",
            remedies=(Remedy(field="sewing.slit", value=f"{shorter:g} mm"),) if shorter else (),
        )
    ]


def _longest_slit(pairs: Sequence[tuple[Hole, Hole]], slit_mm: float) -> float:
    """Return the longest slit, in tenths of a mm, that leaves enough leather; 0 where none does."""
    low, high = math.floor(SHORTEST_SLIT_MM * 10) - 1, math.ceil(slit_mm * 10 - 1e-9)
    while high - low > 1:
        middle = (low + high) // 2
        web = min(web_between(a, b, middle / 10) for a, b in pairs)
        low, high = (middle, high) if web >= LEAST_WEB_MM - SLACK_MM else (low, middle)
    return low / 10 if low >= SHORTEST_SLIT_MM * 10 else 0.0


def web_between(one: Hole, two: Hole, slit_mm: float) -> float:
    """Return the least leather between two holes, mm; 0 where slits cross.

    Round holes are ``slit_mm`` wide; slits are taken as lines of that length.
    """
    if one.slant is None or two.slant is None:
        return math.dist(one.at, two.at) - slit_mm
    (a, b), (c, d) = _slit(one, one.slant, slit_mm), _slit(two, two.slant, slit_mm)
    if _cross(a, b, c, d):
        return 0.0
    here, there = line(a, b), line(c, d)
    return min(here.nearest(c)[1], here.nearest(d)[1], there.nearest(a)[1], there.nearest(b)[1])


def chords_of(layer: SewnEdge, closed: bool) -> Floats:
    """Return the straight distances from each hole to the next, mm."""
    points = _points(layer.holes)
    if closed:
        points = np.concatenate([points, points[:1]])
    lengths: Floats = np.hypot(*np.diff(points, axis=0).T)
    return lengths


def _slit(hole: Hole, slant: float, slit_mm: float) -> tuple[Point, Point]:
    dx, dy = math.cos(slant) * slit_mm / 2, math.sin(slant) * slit_mm / 2
    (x, y) = hole.at
    return (x - dx, y - dy), (x + dx, y + dy)


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def _points(holes: Sequence[Hole]) -> Floats:
    return np.array([h.at for h in holes])


def _point(row: Floats) -> Point:
    return (float(row[0]), float(row[1]))


def _up(value: float) -> float:
    """Return a measure rounded up to a tenth of a mm."""
    return math.ceil(value * 10 - 1e-9) / 10

"""Folded panels that would strike raised leather: told with the size that would do."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from hidewright.design.piece import Fold, MouldedZone, Piece
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.errors import Remark
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.segment import Floats

#: Panels are looked at on points this far apart, mm.
APART_MM = 0.5
#: Leather gives way by this much, mm. Common practice, no source.
GIVES_MM = 0.3
#: A panel within this of level with the flange is moved further out to clear, radians.
LEVEL = math.radians(10.0)

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Strike:
    """How deep a panel lies in raised leather: below its top, and inside its wall, mm."""

    below_mm: float
    within_mm: float
    level: bool


def strike_remarks(
    pieces: Sequence[Piece], assembly: Assembly, thickness_of: Mapping[str, float]
) -> Iterator[Remark]:
    """Yield a warning for each panel that passes, folded, through a moulded zone when closed.

    The raised leather is the zone's outline and its depth, each with the leather's thickness
    outside them, its upper edge rounded by the crown; a mouth has no wall. Bent strips, and what
    happens on the way, are not looked at.

    Args:
        pieces: Of the article.
        assembly: How they lie when closed.
        thickness_of: Dry, of each piece, mm.
    """
    by_name = {piece.name: piece for piece in pieces}
    for piece in pieces:
        for zone in piece.zones:
            raised = assembly.panel_at(piece.name, zone.outline.segments[0].start)
            back = assembly.pose_of(raised, 1.0).inverse
            for panel in assembly.panels:
                if panel is raised or (panel.hinge is None and raised.hinge is None):
                    continue
                other = by_name[panel.piece]
                found = _strike(
                    assembly.pose_of(panel, 1.0).then(back),
                    (piece, zone, thickness_of[piece.name]),
                    _points_of(panel, other, thickness_of[other.name]),
                )
                if found is not None:
                    yield _remark(f"{piece.name}/{zone.name}", raised, panel, by_name, found)


def _points_of(panel: Panel, piece: Piece, thickness_mm: float) -> Floats:
    """Return points (n, 3) on the faces and in the middle of a panel's leather, its own frame."""
    left, bottom, right, top = piece.outline.bounds
    xs = np.arange(left + APART_MM / 2, right, APART_MM)
    ys = np.arange(bottom + APART_MM / 2, top, APART_MM)
    plan: Floats = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    for (x, y), (dx, dy) in panel.bounds:
        plan = plan[dx * (plan[:, 1] - y) - dy * (plan[:, 0] - x) >= 0.0]
    plan = plan[signed_distances(piece.outline, plan) > 0.0]
    for window in piece.cut_outs:
        plan = plan[signed_distances(window, plan) < 0.0]
    raised = np.zeros(len(plan))
    for zone in piece.zones:
        raised[signed_distances(zone.outline, plan) > 0.0] = zone.depth_mm
    heights = (0.0, thickness_mm / 2, thickness_mm)
    return np.concatenate([np.column_stack([plan, raised + z]) for z in heights])


def _strike(pose: Pose, struck: tuple[Piece, MouldedZone, float], points: Floats) -> _Strike | None:
    piece, zone, thickness_mm = struck
    placed = pose.of_points(points)
    top = zone.depth_mm + thickness_mm
    left, bottom, right, upper = zone.outline.bounds
    x, y, z = placed.T
    near = (z > 0.0) & (z < top) & (x > left - thickness_mm) & (x < right + thickness_mm)
    near &= (y > bottom - thickness_mm) & (y < upper + thickness_mm)
    placed = placed[near]
    if not len(placed):
        return None
    plan, z = placed[:, :2], placed[:, 2]
    inside = signed_distances(zone.outline, plan) + z * math.tan(zone.wall_angle)
    on_piece = signed_distances(piece.outline, plan) > 0.0
    hit = on_piece & _in_shell(inside, z, zone, thickness_mm)
    if not hit.any():
        return None
    return _Strike(
        below_mm=float((top - z[hit]).max()),
        within_mm=float((inside[hit] + thickness_mm).max()),
        level=abs(pose.rotation[2][2]) > math.cos(LEVEL),
    )


def _in_shell(inside: Floats, z: Floats, zone: MouldedZone, thickness_mm: float) -> Flags:
    """Whether points lie in raised leather: by how far inside its inner wall, and how high."""
    top, crown = zone.depth_mm + thickness_mm, zone.crown_radius_mm + thickness_mm
    wall = (inside > GIVES_MM - thickness_mm) & (inside <= 0.0) & (z > GIVES_MM)
    cap = (inside > 0.0) & (z > zone.depth_mm)
    # outside the round of the crown there is none
    out, up = crown - inside - thickness_mm, z - (top - crown)
    beyond = (out > 0.0) & (up > 0.0) & (np.hypot(out, up) > crown - GIVES_MM)
    hit: Flags = (wall | cap) & (z < top - GIVES_MM) & ~beyond
    return hit


def _remark(
    place: str, raised: Panel, panel: Panel, pieces: Mapping[str, Piece], found: _Strike
) -> Remark:
    off = found.below_mm if found.level else found.within_mm
    fold = _fold_between(raised, panel, pieces[panel.piece])
    if not found.level:
        mend = f"fold it at least {off:.1f} mm further from the hollow"
    elif fold is not None:
        # what is folded flat over lies twice the inside radius away
        radius = math.ceil(10.0 * (fold.inside_radius_mm + off / 2.0)) / 10.0
        mend = f"give the fold {fold.name} an inside radius of at least {radius:.1f} mm"
    else:
        mend = f"draw its folds at least {off:.1f} mm further apart"
    return Remark(
        code="panel-strikes",
        severity="warning",
        place=place,
        amount=off,
        limit=0.0,
        sentence=f"Closed, {panel.name} strikes the raised leather by {off:.1f} mm: {mend}",
    )


def _fold_between(one: Panel, two: Panel, piece: Piece) -> Fold | None:
    """Return the one fold that joins two panels; None when there are more."""
    for panel, other in ((one, two), (two, one)):
        if panel.hinge is not None and panel.hinge.parent == other.name:
            start = panel.hinge.start
            return min(piece.folds, key=lambda fold: fold.line.nearest(start)[1])
    return None

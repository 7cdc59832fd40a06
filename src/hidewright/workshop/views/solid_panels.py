"""An article's pieces as solids, panel by panel, and the bent strips between the panels."""

import math

import numpy as np

from hidewright.design.piece import Piece
from hidewright.design.pose import Assembly, Half, Hinge, Panel
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats
from hidewright.geometry.shapes import circle
from hidewright.geometry.surface import Ints, rounded_prism
from hidewright.workshop.views.solid_group import QUANTITIES, Material, SolidGroup
from hidewright.workshop.views.solid_sheet import Sheet, clipped, divided, sheet_of, thickened

#: Sagitta of the chords along the outline of a flat piece, mm.
SAGITTA_MM = 0.02
#: A strip is bent in steps of at most this, radians.
BEND_STEP = math.radians(15.0)
#: A panel lies at its strip's end.
WHOLE: Floats = np.ones(1)


def flat_sheet(piece: Piece, thickness_mm: float) -> Sheet:
    """Return a flat piece with its holes and windows, in its own frame.

    Args:
        piece: Of any kind; what of it is moulded is left flat.
        thickness_mm: Of its leather, dry.
    """
    holes: list[Outline] = [circle(h.diameter_mm / 2.0, h.at) for h in piece.holes]
    solid = rounded_prism(
        piece.outline, 0.0, 1.0, 0.0, (*holes, *piece.cut_outs), sagitta_mm=SAGITTA_MM
    )
    top = (solid.points[solid.triangles, 2] == 1.0).all(axis=1)
    used, named = np.unique(solid.triangles[top], return_inverse=True)
    return _level(solid.points[used, :2], named.reshape(-1, 3), thickness_mm)


def panel_groups(
    sheet: Sheet, piece: Piece, assembly: Assembly, material: Material, steps: int
) -> list[SolidGroup]:
    """Return a piece as its panels and the strips that bend between them.

    Args:
        sheet: The trimmed piece, in its own frame.
        piece: The piece.
        assembly: Gives its panels and where they lie.
        material: What it is made of.
        steps: Even steps from flat to closed, both ends included.
    """
    groups: list[SolidGroup] = []
    for panel in assembly.panels:
        if panel.piece != piece.name:
            continue
        own = sheet
        for half in panel.bounds:
            own = _left_of(own, half)
        groups.append(thickened(own, panel.name, material, poses_of(assembly, panel, steps)))
        if panel.hinge is not None:
            strip, rows = _strip(sheet, piece, panel.hinge)
            shares = np.linspace(0.0, 1.0, int(rows.max(initial=1.0)) + 1)
            poses = poses_of(assembly, panel, steps, shares)
            groups.append(thickened(strip, f"{panel.name}'s fold", material, poses, rows))
    return [group for group in groups if len(group.triangles)]


def _left_of(sheet: Sheet, half: Half) -> Sheet:
    return clipped(sheet, lambda p: _beyond(half, p[:, :2]), joins=True)


def _beyond(half: Half, at: Floats) -> Floats:
    """(n,) how far (n, 2) places lie to the left of a line, mm."""
    (x, y), (dx, dy) = half
    left: Floats = (at[:, 1] - y) * dx - (at[:, 0] - x) * dy
    return left


def poses_of(assembly: Assembly, panel: Panel, steps: int, shares: Floats = WHOLE) -> Floats:
    """Return (r, steps, 3, 4) placements from flat to closed, as ``Assembly.pose_of`` gives them.

    Args:
        assembly: Gives what the panel hangs on.
        panel: The panel.
        steps: Even steps from flat to closed, both ends included.
        shares: (r,) of its strip's width, 0 to 1: where on the strip; the panel lies at its end.
    """
    own = np.eye(4)
    own[:3, :3], own[:3, 3] = panel.pose.rotation, panel.pose.shift
    if panel.hinge is None:
        return np.tile(own[:3], (len(shares), steps, 1, 1))
    hinge = panel.hinge
    parent = next(p for p in assembly.panels if p.name == hinge.parent)
    held = poses_of(assembly, parent, steps)
    hung = _bent(hinge, shares[:, None], np.linspace(0.0, 1.0, steps))
    placed: Floats = held[..., :3] @ hung
    placed[..., 3] += held[..., 3]
    return placed


def _bent(hinge: Hinge, share: Floats, s: Floats) -> Floats:
    """(..., 3, 4) placements on a strip relative to what it hangs on, at shares of its width.

    Up to there it is bent by the same share of its angle, so that its radius is that of the whole:
    the place is first brought back to the strip's beginning, then turned about the bend's axis
    (the turn after O. Rodrigues, 1840).
    """
    share, s = np.broadcast_arrays(share, s)
    bend = hinge.angle * s
    flat = np.abs(bend) < 1e-12
    dx, dy = hinge.direction
    axis = np.array([dx, dy, 0.0])
    k = np.array([[0.0, 0.0, dy], [0.0, 0.0, -dx], [-dy, dx, 0.0]])
    turn = (-bend * share)[..., None, None]
    rotation = np.eye(3) + np.sin(turn) * k + (1.0 - np.cos(turn)) * (k @ k)
    centre = np.zeros((*s.shape, 3))
    centre[..., :2] = hinge.start
    centre[..., 2] = hinge.neutral_mm - hinge.strip_mm / np.where(flat, 1.0, bend)
    left = np.cross([0.0, 0.0, 1.0], axis)
    back = centre + left * (hinge.strip_mm * share)[..., None]
    shift = centre - np.einsum("...ij,...j->...i", rotation, back)
    shift[flat] = 0.0
    bent: Floats = np.concatenate([rotation, shift[..., None]], axis=-1)
    return bent


def _strip(sheet: Sheet, piece: Piece, hinge: Hinge) -> tuple[Sheet, Floats]:
    """The strip that a hinge bends, with points in rows along the fold, and (n,) their rows."""
    (x, y), (dx, dy), wide = hinge.start, hinge.direction, hinge.strip_mm
    first: Half = ((x, y), (dx, dy))
    count = max(1, math.ceil(abs(hinge.angle) / BEND_STEP - 1e-9))
    levels = np.linspace(0.0, wide, count + 1)
    found = None if np.isfinite(sheet.scalars).any() else _ladder(sheet, piece, first, levels)
    if found is None:
        last: Half = ((x - dy * wide, y + dx * wide), (-dx, -dy))
        found = _left_of(_left_of(sheet, first), last)
        for at in levels[1:-1].tolist():
            found, _ = divided(found, lambda p, at=at: _beyond(first, p[:, :2]) - at)  # type: ignore[misc]
    row = np.clip(_beyond(first, found.points[:, :2]) / wide, 0.0, 1.0) * count
    return found, np.where(np.abs(row - np.round(row)) < 1e-6, np.round(row), row)


def _ladder(sheet: Sheet, piece: Piece, first: Half, levels: Floats) -> Sheet | None:
    """A flat strip as rungs across it; None when it is not one strip from side to side.

    Its sides are chords from rung to rung.
    """
    (x, y), (dx, dy) = first
    for hole in piece.holes:
        at = _beyond(first, np.array([hole.at]))[0]
        if levels[0] - hole.diameter_mm < at < levels[-1] + hole.diameter_mm:
            return None
    corners = piece.outline.flat_points()[:-1]
    up, along = _beyond(first, corners), (corners - (x, y)) @ np.array([dx, dy])
    up_next, along_next = np.roll(up, -1), np.roll(along, -1)
    meets = (up <= levels[:, None]) != (up_next <= levels[:, None])
    if piece.cut_outs or (meets.sum(axis=1) != 2).any():
        return None
    rung, side = np.nonzero(meets)
    share = (levels[rung] - up[side]) / (up_next[side] - up[side])
    ends = np.sort((along[side] + share * (along_next[side] - along[side])).reshape(-1, 2), axis=1)
    over = np.repeat(levels, 2)
    at = np.array([x, y]) + ends.reshape(-1, 1) * (dx, dy) + over[:, None] * (-dy, dx)
    low = 2 * np.arange(len(levels) - 1)[:, None]
    triangles = np.concatenate([low + np.array(corners) for corners in ((0, 1, 3), (0, 3, 2))])
    flat = _level(at, triangles, 2.0 * float(sheet.across[0, 2]))
    flat.values[np.isin(over, levels[[0, -1]]), 9] = 1.0
    return flat


def _level(at: Floats, triangles: Ints, thickness_mm: float) -> Sheet:
    """A flat sheet over (n, 2) places that lies on its flesh side."""
    half, none = np.full(len(at), thickness_mm / 2.0), np.zeros(len(at))
    return sheet_of(
        np.column_stack([at, half]),
        np.column_stack([none, none, half]),
        np.full((len(at), len(QUANTITIES)), np.nan),
        triangles,
    )

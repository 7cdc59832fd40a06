"""Do trim and pricking templates agree with the piece, its wall and its stitch holes."""

from collections.abc import Sequence

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import ToolingChoice
from hidewright.design.fault import Fault
from hidewright.design.part import Part
from hidewright.design.piece import Piece
from hidewright.design.seam import Seam, SewnSeam
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import dense_points, distances, signed
from hidewright.geometry.segment import Floats
from hidewright.tooling.acceptance.sheet_part import accept_part
from hidewright.tooling.acceptance.stack import bored
from hidewright.tooling.acceptance.wall_room import Wall, walls_of

#: Edges, windows and holes agree within this, mm.
AGREE_MM = 0.02
STEP_MM = 0.5


def accept_templates(
    pieces: Sequence[tuple[Piece, Leather]],
    seams: Sequence[tuple[Seam, SewnSeam]],
    choice: ToolingChoice,
    parts: Sequence[Part],
) -> tuple[Fault, ...]:
    """Return every fault of the templates of a design.

    A template's edge is the piece's outline itself, its window stands off the moulded wall by the
    leather and a room, its holes are the stitch holes; a piece that lies flesh side up has them
    mirrored. Bolts go through leather that falls off only.

    Args:
        pieces: Every piece with its leather.
        seams: Every seam with its holes.
        choice: Gives the diameter of the pricking holes.
        parts: Trim templates, fences, clamps and pricking templates.
    """
    faults: list[Fault] = []
    pricked = {
        piece.name: [p for p in parts if p.name.startswith(f"{piece.name} pricking template")]
        for piece, _ in pieces
    }
    for piece, leather in pieces:
        flesh_up = bool(piece.zones) and not any(zone.grain_out for zone in piece.zones)
        edge = piece.outline.mirrored() if flesh_up else piece.outline
        walls = walls_of(piece, leather, mirrored=flesh_up)
        cut_outs = [c.mirrored() if flesh_up else c for c in piece.cut_outs]
        flat = not piece.zones or any(wall.has_flange for wall in walls)
        trims = [p for p in parts if p.name.startswith(f"{piece.name} trim template")]
        if flat and not trims:
            faults.append(_fault("trim-template-missing", piece.name, 0, 1))
        for sheets in (trims, pricked[piece.name]):
            if sheets:
                faults += _edge_faults(sheets, edge, walls, cut_outs)
        faults += _bolts(piece.name, edge, parts)
        if flat:
            holes = stitch_places(piece.name, seams) * np.array([-1.0 if flesh_up else 1.0, 1.0])
            faults += _prick_faults(piece.name, holes, pricked, choice)
    for part in parts:
        faults += accept_part(part)
    return tuple(faults)


def stitch_places(piece: str, seams: Sequence[tuple[Seam, SewnSeam]]) -> Floats:
    """Return (n, 2) centres of the holes pricked on a piece from its own template, mm."""
    places = [
        hole.at
        for seam, sewn in seams
        for i, layer in enumerate(sewn.layers)
        if layer.piece == piece and (i == 0 or seam.way == "pricked from templates")
        for hole in layer.holes
    ]
    return np.array(places, dtype=np.float64).reshape(-1, 2)


def _edge_faults(
    sheets: Sequence[Part], edge: Outline, walls: Sequence[Wall], cut_outs: Sequence[Outline]
) -> list[Fault]:
    """Compare the edges of a template's sheets with the piece's edge and the walls, both ways."""
    name = sheets[0].name
    lines = [s for p in sheets for o in (p.outline, *bored(p, "window")) for s in o.segments]
    faults: list[Fault] = []
    asked = dense_points(edge.segments, STEP_MM)
    free = np.full(len(asked), True)
    for wall in walls:
        free &= signed(wall.outline, asked) > wall.room_mm + 0.1
    for cut in cut_outs:
        free &= signed(cut, asked) > 0.1
    if free.any():
        missed = float(distances(lines, asked[free]).max())
        if missed > AGREE_MM:
            faults.append(_fault("template-edge-off", name, missed, AGREE_MM))
    made = dense_points(lines, STEP_MM)
    off = distances(edge.segments, made)
    for cut in cut_outs:
        off = np.minimum(off, distances(cut.segments, made))
    for wall in walls:
        off = np.minimum(off, np.abs(signed(wall.outline, made) - wall.room_mm))
        # where sheet comes nearer to the wall than the room, it is off by as much
        near = wall.room_mm - signed(wall.outline, made)
        off = np.maximum(off, np.where(wall.behind(made), near, 0.0))
    if float(off.max()) > AGREE_MM:
        faults.append(_fault("template-edge-off", name, float(off.max()), AGREE_MM))
    lip = max((wall.lip_mm for wall in walls), default=0.0)
    for part in sheets:
        eased = [e.radius_mm for e in part.easings if (e.face, e.edge) == ("bottom", "window")]
        if lip and not any(abs(radius - lip) < AGREE_MM for radius in eased):
            faults.append(_fault("easing-missing", part.name, 0.0, lip))
        if part.count * part.board.thickness_mm < lip - 1e-9:
            thick = part.count * part.board.thickness_mm
            faults.append(_fault("template-thinner-than-lip", part.name, thick, lip))
    return faults


def _prick_faults(
    piece: str, holes: Floats, pricked: dict[str, list[Part]], choice: ToolingChoice
) -> list[Fault]:
    if not len(holes):
        return []
    own = [hole for part in pricked[piece] for hole in bored(part, "stitch hole")]
    if own:
        off = _apart(_middles(own), holes)
        faults = [_fault("prick-hole-off", piece, off, AGREE_MM)] if off > AGREE_MM else []
        wide = max(abs(hole.width - choice.prick_hole_mm) for hole in own)
        if wide > AGREE_MM:
            faults.append(_fault("prick-hole-size", piece, wide, AGREE_MM))
        return faults
    for other, parts in pricked.items():
        turned = _middles([h for part in parts for h in bored(part, "stitch hole")])
        if (
            other != piece
            and len(turned)
            and _apart(turned * np.array([-1.0, 1.0]), holes) <= AGREE_MM
        ):
            return []
    return [_fault("pricking-template-missing", piece, 0, 1)]


def _bolts(piece: str, edge: Outline, parts: Sequence[Part]) -> list[Fault]:
    faults: list[Fault] = []
    for part in parts:
        if not part.name.startswith(f"{piece} "):
            continue
        for bolt in bored(part, "bolt"):
            clear = float(signed(edge, dense_points(bolt.segments)).min())
            if clear < 0.0:
                faults.append(_fault("bolt-through-leather-that-stays", part.name, clear, 0.0))
    return faults


def _middles(holes: Sequence[Outline]) -> Floats:
    boxes = [hole.bounds for hole in holes]
    return np.array([((a + c) / 2.0, (b + d) / 2.0) for a, b, c, d in boxes]).reshape(-1, 2)


def _apart(one: Floats, two: Floats) -> float:
    """Return how far a point of either set is from the other set at worst, mm."""
    apart = np.hypot(*(one[:, None] - two[None]).transpose(2, 0, 1))
    return float(max(apart.min(axis=0).max(), apart.min(axis=1).max()))


def _fault(code: str, part: str, measured: float, allowed: float) -> Fault:
    return Fault(
        code=code,
        part=part,
        measured=measured,
        allowed=allowed,
        sentence=f"{part}: {code.replace('-', ' ')}, {measured:.3f} for {allowed:.3f}",
    )

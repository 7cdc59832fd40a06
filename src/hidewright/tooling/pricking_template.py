"""Pricking template: the clear sheet with a round hole for every stitch, located like the trim."""

import math
from collections.abc import Sequence

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import ToolingChoice
from hidewright.design.part import Part, PartHole
from hidewright.design.piece import Piece
from hidewright.design.seam import Seam, SewnSeam
from hidewright.errors import Remark
from hidewright.geometry.boolean import Region
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import circle
from hidewright.tooling.marks import clearances, marked
from hidewright.tooling.template_sheet import TemplateSheet, template_sheet
from hidewright.tooling.trim_template import has_flange, numbered
from hidewright.tooling.turned_over import mirrored_point

#: Two templates whose holes lie this near to one another's mirror images are one, mm.
SAME_HOLE_MM = 0.01


def pricking_template(
    piece: Piece,
    seams: Sequence[SewnSeam],
    leather: Leather,
    choice: ToolingChoice,
    also_turned_over_for: Sequence[str] = (),
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the template through which the stitch holes of a trimmed piece are pricked.

    It has the trim template's edge and windows, so that it lies flush with the trimmed piece and is
    located by the same wall. The holes are round and guide the awl's point only: a slit's slant is
    set by hand along the stitch line. A piece without stitch holes gets none.

    Args:
        piece: The dry piece.
        seams: The sewn seams of the design that are pricked from templates on this piece.
        leather: What it is made of.
        choice: Gives the clear sheet and the holes' diameter.
        also_turned_over_for: Other pieces that the same template serves turned over.
    """
    holes = stitch_holes(piece.name, seams)
    if not holes or (piece.zones and not any(has_flange(zone) for zone in piece.zones)):
        return (), ()
    board = choice.template_board
    sheet, remarks = template_sheet(piece, leather, board)
    if sheet.side == "flesh":
        holes = tuple(mirrored_point(at) for at in holes)
    found = [*remarks, *_webs_between(piece.name, holes, choice.prick_hole_mm, board)]
    parts, on_sheet = [], 0
    for area, suffix in zip(sheet.areas, numbered(len(sheet.areas)), strict=True):
        mine = _on(area, holes)
        on_sheet += len(mine)
        found += _webs_to_edges(piece.name, area, mine, choice.prick_hole_mm, board)
        if mine:
            parts.append(_template(sheet, area, suffix, mine, choice, also_turned_over_for))
    if on_sheet < len(holes):
        found.append(_off_the_sheet(piece.name, len(holes) - on_sheet))
    return tuple(parts), tuple(found)


def pricking_templates(
    pieces: Sequence[tuple[Piece, Leather]],
    seams: Sequence[tuple[Seam, SewnSeam]],
    choice: ToolingChoice,
) -> tuple[tuple[Part, ...], tuple[Remark, ...]]:
    """Return the pricking templates of a design, one for two pieces where it serves both.

    Seams that are glued, trimmed flush and pricked from the front are pricked on the front only.
    A template serves a flat mating piece too, turned over, when that piece's holes are the mirror
    image of its own within 0.01 mm and lie on the sheet; the flat piece is then located edge to
    edge along the seam, and the window does no harm.

    Args:
        pieces: The pieces with their leathers.
        seams: Each seam with its holes.
        choice: Gives the clear sheet and the holes' diameter.
    """
    sewn = {piece.name: _pricked_on(piece.name, seams) for piece, _ in pieces}
    served: dict[str, list[str]] = {piece.name: [] for piece, _ in pieces}
    spared: set[str] = set()
    for front, _ in pieces:
        for back, _ in pieces:
            if back.zones or {front.name, back.name} & spared or front is back:
                continue
            if served[back.name] or (not front.zones and front.name > back.name):
                continue
            if _are_mirror_images(front, sewn[front.name], back, sewn[back.name]):
                served[front.name].append(back.name)
                spared.add(back.name)
    parts: list[Part] = []
    found: list[Remark] = []
    for piece, leather in pieces:
        if piece.name in spared:
            continue
        made, remarks = pricking_template(
            piece, sewn[piece.name], leather, choice, served[piece.name]
        )
        parts += made
        found += remarks
    return tuple(parts), tuple(found)


def stitch_holes(piece: str, seams: Sequence[SewnSeam]) -> tuple[Point, ...]:
    """Return the centres of a piece's stitch holes, each place once, in sewing order, mm."""
    points: list[Point] = []
    for seam in seams:
        for layer in seam.layers:
            if layer.piece == piece:
                points += [hole.at for hole in layer.holes]
    once: list[Point] = []
    for at in points:
        if all(math.dist(at, other) > SAME_HOLE_MM for other in once):
            once.append(at)
    return tuple(once)


def _template(
    sheet: TemplateSheet,
    area: Region,
    suffix: str,
    at: Sequence[Point],
    choice: ToolingChoice,
    also_for: Sequence[str],
) -> Part:
    name = sheet.piece.name
    holes = (
        *(PartHole(outline=h, purpose="window") for h in area.holes),
        *(
            PartHole(outline=circle(choice.prick_hole_mm / 2, p, ""), purpose="stitch hole")
            for p in at
        ),
    )
    turned = [f"turn over for {other}" for other in also_for]
    words = (f"{name} prick{suffix}", f"{sheet.side} side up", *turned)
    marks = marked(area.outer, [h.outline for h in holes], words)
    glue = f"Glue {sheet.plates} on one another, the lowest eased. " if sheet.plates > 1 else ""
    over = "".join(f"; turned over it lies on the grain side of {other}" for other in also_for)
    return Part(
        name=f"{name} pricking template{suffix}",
        role="pricking template",
        board=choice.template_board,
        outline=area.outer,
        holes=holes,
        scores=marks.scores,
        labels=marks.labels,
        count=sheet.plates,
        easings=sheet.easings,
        note=(
            f"{glue}{len(at)} stitch holes; lies on the {sheet.side} side, flush with the trimmed "
            f"edge{over}. Prick through every hole, then set the slant by hand."
        ),
        turned_over_for=tuple(also_for),
    )


def _pricked_on(piece: str, seams: Sequence[tuple[Seam, SewnSeam]]) -> tuple[SewnSeam, ...]:
    return tuple(
        sewn
        for seam, sewn in seams
        if seam.way == "pricked from templates" or seam.edges[0].piece == piece
    )


def _are_mirror_images(
    front: Piece, front_seams: Sequence[SewnSeam], back: Piece, back_seams: Sequence[SewnSeam]
) -> bool:
    one = [mirrored_point(at) for at in stitch_holes(front.name, front_seams)]
    two = list(stitch_holes(back.name, back_seams))
    if not one or len(one) != len(two):
        return False
    return all(min(math.dist(p, q) for q in two) <= SAME_HOLE_MM for p in one)


def _on(area: Region, holes: Sequence[Point]) -> tuple[Point, ...]:
    room = clearances(area.outer, area.holes, holes)
    return tuple(at for at, clear in zip(holes, room, strict=True) if clear > 0)


def _webs_between(
    piece: str, holes: Sequence[Point], diameter_mm: float, board: Board
) -> tuple[Remark, ...]:
    """Return a remark at the narrowest web between two holes, when it is too narrow to last.

    A web between two small holes carries no load; the sheet's least feature is the limit.
    """
    pairs = [
        (math.dist(p, q) - diameter_mm, p) for i, p in enumerate(holes) for q in holes[i + 1 :]
    ]
    web, at = min(pairs, default=(math.inf, (0.0, 0.0)))
    if web >= board.min_feature_mm:
        return ()
    return (
        Remark(
            code="stitch-holes-too-near",
            severity="forbids" if web <= 0 else "warning",
            place=piece,
            point=at,
            amount=web,
            limit=board.min_feature_mm,
            sentence=(
                f"Between two holes of the pricking template {web:.2f} mm of {board.name} are "
                f"left, it needs {board.min_feature_mm:g} mm: use a longer pitch or smaller holes"
            ),
        ),
    )


def _webs_to_edges(
    piece: str, area: Region, holes: Sequence[Point], diameter_mm: float, board: Board
) -> tuple[Remark, ...]:
    if not holes:
        return ()
    room = clearances(area.outer, area.holes, holes) - diameter_mm / 2
    worst = int(room.argmin())
    web = float(room[worst])
    if web >= board.min_feature_mm:
        return ()
    return (
        Remark(
            code="stitch-hole-near-template-edge",
            severity="warning",
            place=piece,
            point=holes[worst],
            amount=web,
            limit=board.min_feature_mm,
            sentence=(
                f"A hole of the pricking template is {web:.2f} mm from its edge or window, "
                f"{board.name} needs {board.min_feature_mm:g} mm: mark it through by hand or move "
                "the stitch line"
            ),
        ),
    )


def _off_the_sheet(piece: str, count: int) -> Remark:
    return Remark(
        code="stitch-hole-off-the-template",
        severity="forbids",
        place=piece,
        amount=float(count),
        limit=0.0,
        sentence=(
            f"{count} stitch holes lie outside the piece's flange, on or beside the moulded wall: "
            "move the stitch line out"
        ),
    )

"""What trim and pricking templates share: a clear sheet with the piece's edge and its windows."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.design.part import Easing
from hidewright.design.piece import MouldedZone, Piece
from hidewright.errors import Remark, RequestError
from hidewright.geometry.boolean import Region
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.once import kept
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Segment
from hidewright.tooling.take_away import take_away
from hidewright.tooling.turned_over import lies_flesh_up, turned_over
from hidewright.tooling.wall_window import WallWindow, land_remark, wall_window

#: Clear sheet under 1/8 in bends under the knife; common practice, no source.
THINNEST_SHEET_MM = 3.0
#: An edge reaches into a window when it does so by more than the chords that decide it are off, mm.
WITHIN_MM = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateSheet:
    """A template before it gets its marks.

    Attributes:
        piece: The piece as it lies under the template, mirrored when its flesh side is up.
        side: Which side of the leather is up.
        windows: One a zone.
        areas: The sheet; in several parts when mouths cut it through. Holes are closed windows,
            over whole zones and over the piece's cut-outs; where a window is open at a mouth, the
            outer edge runs along the wall too.
        plates: Sheets glued on one another so that the window reaches the upright wall.
        easings: Lower edge of the windows.
    """

    piece: Piece
    side: Literal["grain", "flesh"]
    windows: tuple[WallWindow, ...]
    areas: tuple[Region, ...]
    plates: int
    easings: tuple[Easing, ...]


def template_sheet(
    piece: Piece, leather: Leather, board: Board
) -> tuple[TemplateSheet, tuple[Remark, ...]]:
    """Return the sheet that lies on a piece's flange with its windows round the moulded walls.

    Its outer edge is the piece's outline itself. A zone with a mouth opens the window at the mouth
    line, so the sheet becomes a "U" whose two tips end on that line.

    Raises:
        RequestError: When zones of the piece stand out on both sides, so that it cannot lie flat.
    """
    key = ("template sheet", piece, leather, board)
    return kept(piece.outline, key, lambda: _template_sheet(piece, leather, board))


def _template_sheet(
    piece: Piece, leather: Leather, board: Board
) -> tuple[TemplateSheet, tuple[Remark, ...]]:
    if len({zone.grain_out for zone in piece.zones}) > 1:
        raise RequestError(
            f"{piece.name}: zones stand out on both of its sides",
            because="a template cannot lie flat on either",
            mend="Mould them on two pieces, or trim by hand with dividers",
        )
    lying = turned_over(piece) if lies_flesh_up(piece) else piece
    windows = [(zone, wall_window(zone, leather, board)) for zone in lying.zones]
    remarks = list(_thin_sheet(piece, board))
    for zone, window in windows:
        remarks += land_remark(piece.name, zone, window)
        remarks += _flange_remark(piece.name, lying.outline, zone, window, board)
    openings = [*(window.outline for _, window in windows), *lying.cut_outs]
    areas = take_away(lying.outline, openings)
    easing = max((window.easing_mm for _, window in windows), default=0.0)
    sheet = TemplateSheet(
        piece=lying,
        side="flesh" if lies_flesh_up(piece) else "grain",
        windows=tuple(window for _, window in windows),
        areas=areas,
        plates=max((window.plates for _, window in windows), default=1),
        easings=(_easing(easing),) if easing else (),
    )
    return sheet, tuple(remarks)


def leg_width_mm(outline: Outline, window: Outline) -> float:
    """Return the narrowest sheet between a window and the edge of a piece, mm.

    Edges that the window crosses, as it does at a mouth, end the sheet and do not count.
    """
    edges = [s for s in outline.segments if not _crosses(s, window)]
    points = np.concatenate([_along(seg) for seg in window.segments])
    inside = points[signed_distances(outline, points) >= -WITHIN_MM]
    if not edges or not len(inside):
        return 0.0
    return float(min(edge.distances(inside).min() for edge in edges))


def _crosses(edge: Segment, window: Outline) -> bool:
    return bool(signed_distances(window, _along(edge)).max() > WITHIN_MM)


def _along(segment: Segment) -> Floats:
    """Return (25, 2) points from its start to its end, mm."""
    return segment.points_at(np.linspace(0.0, segment.length, 25))


def _easing(radius_mm: float) -> Easing:
    return Easing(
        radius_mm=radius_mm,
        face="bottom",
        edge="window",
        how="along the wall only: round-over cutter or file, then 240 and 400 grit",
    )


def _thin_sheet(piece: Piece, board: Board) -> tuple[Remark, ...]:
    if board.thickness_mm >= THINNEST_SHEET_MM:
        return ()
    return (
        Remark(
            code="template-sheet-thin",
            severity="warning",
            place=piece.name,
            amount=board.thickness_mm,
            limit=THINNEST_SHEET_MM,
            sentence=(
                f"A template of {board.thickness_mm:g} mm sheet bends under the knife: use at "
                "least 1/8 in, better 5 mm"
            ),
        ),
    )


def _flange_remark(
    place: str, outline: Outline, zone: MouldedZone, window: WallWindow, board: Board
) -> tuple[Remark, ...]:
    width = leg_width_mm(outline, window.outline)
    if width >= board.min_web_mm:
        return ()
    return (
        Remark(
            code="template-leg-narrow",
            severity="forbids" if width < board.min_feature_mm else "warning",
            place=f"{place}/{zone.name}",
            amount=width,
            limit=board.min_web_mm,
            sentence=(
                f"Beside the wall only {width:.1f} mm of template are left, {board.name} needs "
                f"{board.min_web_mm:g} mm: widen the flange by {board.min_web_mm - width:.1f} mm, "
                "or trim with dividers set from the wall"
            ),
        ),
    )

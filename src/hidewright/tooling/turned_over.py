"""A piece as it lies on the bench: grain side up as drawn, or turned over and so mirrored."""

from dataclasses import replace

from hidewright.design.piece import Fold, MouldedZone, Piece, PunchedHole
from hidewright.design.states import DryOutline
from hidewright.geometry.segment import Point


def turned_over(piece: Piece) -> Piece:
    """Return a piece as seen on its flesh side: mirrored left to right (x to -x)."""
    return replace(
        piece,
        outline=DryOutline(piece.outline.mirrored()),
        zones=tuple(_zone(zone) for zone in piece.zones),
        folds=tuple(_fold(fold) for fold in piece.folds),
        holes=tuple(_hole(hole) for hole in piece.holes),
        cut_outs=tuple(DryOutline(cut.mirrored()) for cut in piece.cut_outs),
        stretch_angle=-piece.stretch_angle,
    )


def mirrored_point(point: Point) -> Point:
    """Return a point of a piece's frame as it is met when the piece is turned over."""
    return (-point[0], point[1])


def lies_flesh_up(piece: Piece) -> bool:
    """Whether the bench needs it flesh side up: its zones stand out on the flesh side."""
    return bool(piece.zones) and not any(zone.grain_out for zone in piece.zones)


def _zone(zone: MouldedZone) -> MouldedZone:
    islands = tuple(
        replace(island, outline=DryOutline(island.outline.mirrored())) for island in zone.islands
    )
    return replace(zone, outline=DryOutline(zone.outline.mirrored()), islands=islands)


def _fold(fold: Fold) -> Fold:
    left, right = fold.glue_free_mm
    return replace(fold, line=fold.line.mirrored(), glue_free_mm=(right, left))


def _hole(hole: PunchedHole) -> PunchedHole:
    slit = mirrored_point(hole.slit) if hole.slit else None
    return replace(hole, at=mirrored_point(hole.at), slit=slit)

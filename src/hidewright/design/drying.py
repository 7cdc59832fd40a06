"""How a pressed blank changes from formed to dry: flange and zones each in their own measure."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank
from hidewright.design.piece import Piece
from hidewright.design.size_change import Change
from hidewright.design.states import DryOutline, FormedOutline, formed_from_dry
from hidewright.geometry.segment import Floats, Point


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneDrying:
    """Formed to dry of one zone, in its piece's frame.

    Attributes:
        piece: Name of the piece.
        zone: Name of the zone.
        flange: What the flange round it does; the zone's middle moves with it.
        plan: What the zone does in plan, about its middle.
        middle: Formed, mm.
        height: Height dry over height formed.
    """

    piece: str
    zone: str
    flange: Change
    plan: Change
    middle: Point = (0.0, 0.0)
    height: float

    def of_points(self, formed: Floats) -> Floats:
        """Return where (n, 2) formed points of the zone lie when dry, mm."""
        middle = np.array([self.middle])
        dry: Floats = self.flange.of_points(middle) + self.plan.of_points(formed - middle)
        return dry

    def formed(self, dry: DryOutline) -> FormedOutline:
        """Return the outline to form so that it dries to a given one: the inverse of drying."""
        middle = np.array([self.middle])
        shift = middle - self.plan.inverse.of_points(self.flange.of_points(middle))
        away = (float(shift[0, 0]), float(shift[0, 1]))
        return FormedOutline(formed_from_dry(dry, self.plan).moved(*away))


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankDrying:
    """Formed to dry of all that is pressed on one blank.

    Attributes:
        blank: Name of the blank.
        flanges: (piece, what its flange does about the piece's origin), in each piece's frame.
        zones: Every zone of every piece on it.
    """

    blank: str
    flanges: tuple[tuple[str, Change], ...]
    zones: tuple[ZoneDrying, ...]

    def zone(self, piece: str, zone: str) -> ZoneDrying:
        """Return the drying of a zone."""
        return next(z for z in self.zones if (z.piece, z.zone) == (piece, zone))

    def flange(self, piece: str) -> Change:
        """Return what a piece's flange does."""
        return dict(self.flanges)[piece]


def even_drying(blank: Blank, pieces: Sequence[Piece], leather: Leather) -> BlankDrying:
    """Return drying by the leather's shrinkage alone, the same everywhere: the first guess.

    Heights lose the mean of along and across.
    """
    placed = [p for p in pieces if p.name in {place.piece for place in blank.places}]
    height = 1.0 - (leather.shrinkage_along + leather.shrinkage_across) / 2.0
    flanges = {
        piece.name: Change(
            along=1.0 - leather.shrinkage_along,
            across=1.0 - leather.shrinkage_across,
            angle=piece.stretch_angle,
        )
        for piece in placed
    }
    return BlankDrying(
        blank=blank.name,
        flanges=tuple(flanges.items()),
        zones=tuple(
            ZoneDrying(
                piece=piece.name,
                zone=zone.name,
                flange=flanges[piece.name],
                plan=flanges[piece.name],
                height=height,
            )
            for piece in placed
            for zone in piece.zones
        ),
    )

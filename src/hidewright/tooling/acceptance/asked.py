"""What a tool is asked for: each moulded zone where it lies in the tool, from the nouns alone."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.drying import BlankDrying
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.size_change import Change
from hidewright.geometry.probe import dense_points, inner_point
from hidewright.geometry.segment import Floats, Point, Segment

#: How densely outlines are looked at, mm.
STEP_MM = 0.5


@dataclass(frozen=True, eq=False, kw_only=True)
class Lie:
    """How a placed piece's dry frame and the tool's frame go over into one another.

    Wet leather is larger than dry, along and across the backbone, a zone about its middle; then the
    piece is turned and shifted onto its blank; a tool that presses towards the flesh side sees the
    blank from below, mirrored left to right.
    """

    matrix: Floats
    shift: Floats

    def to_tool(self, dry: Floats) -> Floats:
        """Return dry points (n, 2) of the piece in the tool, formed, mm."""
        placed: Floats = dry @ self.matrix.T + self.shift
        return placed

    def to_dry(self, formed: Floats) -> Floats:
        """Return formed points (n, 2) of the tool in the piece's dry frame, mm."""
        back: Floats = (formed - self.shift) @ np.linalg.inv(self.matrix).T
        return back


@dataclass(frozen=True, eq=False, kw_only=True)
class Asked:
    """One moulded zone of one placed piece.

    Attributes:
        name: ``piece/zone``.
        zone: What is asked for, dry.
        lie: From its dry frame into the tool.
        height_mm: How high the plug must be for the depth to be left when dry.
        shrinks: What a height loses in drying.
    """

    name: str
    zone: MouldedZone
    lie: Lie
    height_mm: float
    shrinks: float

    @property
    def walls(self) -> tuple[Segment, ...]:
        """The dry outline without its mouths."""
        return tuple(s for s in self.zone.outline.segments if self.zone.ending(s.span) != "mouth")

    @property
    def middle(self) -> Floats:
        """A point well within the zone, formed, in the tool, (1, 2) mm."""
        return self.lie.to_tool(np.array([inner_point(self.zone.outline)]))

    def mouth_ends(self, mouth: str) -> tuple[Point, Point]:
        """Return where a mouth begins and ends counter-clockwise, dry, mm."""
        path = self.zone.outline.span_path(mouth)
        return path.start, path.end

    def beyond_mouths(self, dry: Floats) -> Floats:
        """Return how far points lie beyond the nearest mouth's line, mm; negative behind all."""
        beyond = np.full(len(dry), -math.inf)
        for mouth in self.zone.mouths:
            (x0, y0), (x1, y1) = self.mouth_ends(mouth)
            long = math.hypot(x1 - x0, y1 - y0)
            outward = ((dry[:, 0] - x0) * (y1 - y0) - (dry[:, 1] - y0) * (x1 - x0)) / long
            beyond = np.maximum(beyond, outward)
        return beyond


def asked_of(
    blank: Blank, pieces: Sequence[Piece], drying: BlankDrying
) -> tuple[tuple[Asked, ...], tuple[Floats, ...]]:
    """Return every zone pressed on a blank, and each placed piece's corners (n, 2) in the tool."""
    by_name = {piece.name: piece for piece in pieces}
    zones: list[Asked] = []
    flat: list[Floats] = []
    mirrored = any(not z.grain_out for p in blank.places for z in by_name[p.piece].zones)
    for place in blank.places:
        piece = by_name[place.piece]
        flange = drying.flange(piece.name)
        for zone in piece.zones:
            dries = drying.zone(piece.name, zone.name)
            zones.append(
                Asked(
                    name=f"{piece.name}/{zone.name}",
                    zone=_under(zone, by_name[blank.over[-1]]) if blank.over else zone,
                    lie=_lie(place, flange, dries.plan, dries.middle, mirrored=mirrored),
                    height_mm=zone.depth_mm / dries.height,
                    shrinks=1.0 - dries.height,
                )
            )
        lie = _lie(place, flange, flange, (0.0, 0.0), mirrored=mirrored)
        flat.append(lie.to_tool(dense_points(piece.outline.segments, STEP_MM)))
    return tuple(zones), tuple(flat)


def _under(zone: MouldedZone, outermost: Piece) -> MouldedZone:
    """Return a zone with the lip of the outermost layer, which is what the frame touches."""
    return replace(zone, lip_radius_mm=outermost.zone(zone.name).lip_radius_mm)


def _lie(place: PiecePlace, flange: Change, plan: Change, middle: Point, *, mirrored: bool) -> Lie:
    """Undo dry = flange(middle) + plan(formed - middle), then place and, seen from below, flip."""
    wetting = np.linalg.inv(_stretching(plan))
    at = np.array(middle)
    formed_shift = at - wetting @ _stretching(flange) @ at
    c, s = math.cos(place.turn), math.sin(place.turn)
    onto = np.diag([-1.0 if mirrored else 1.0, 1.0]) @ np.array([[c, -s], [s, c]])
    flip = np.diag([-1.0 if mirrored else 1.0, 1.0])
    return Lie(matrix=onto @ wetting, shift=onto @ formed_shift + flip @ np.array(place.shift))


def _stretching(change: Change) -> Floats:
    """The matrix of a change along and across the backbone."""
    along = np.array([-math.sin(change.angle), math.cos(change.angle)])
    across = np.array([along[1], -along[0]])
    matrix: Floats = change.along * np.outer(along, along) + change.across * np.outer(
        across, across
    )
    return matrix

"""Thin leather glued over what ends inside a hollow: posts of fittings, and magnets."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from hidewright.design.design import Design
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.states import CutOutline
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import stadium

#: Leather round what is covered that takes the glue, and the least of it, mm. Common practice, no
#: source.
GLUED_MM, LEAST_GLUED_MM = 5.0, 1.5
#: A cover ends so far within the edge of its piece, mm.
WITHIN_MM = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """A patch on the flesh side of a piece, pared from an offcut of its leather.

    Attributes:
        name: Unique within the design, such as ``cover over stud``.
        piece: The piece it is glued on.
        role: Of the leather it is cut from.
        over: Names of the fittings or magnets under it, in the order in which they are set.
        outline: As it is cut, dry, its middle at the origin and its length along x.
        at: Its middle, in the piece's frame, mm.
        angle: Direction of its length, in the piece's frame, radians.
        thickness_mm: What it is pared to.
    """

    name: str
    piece: str
    role: str
    over: tuple[str, ...]
    outline: CutOutline
    at: Point
    angle: float
    thickness_mm: float

    @property
    def placed(self) -> Outline:
        """Its outline where it is glued, in the piece's frame."""
        return self.outline.rotated(self.angle).moved(*self.at)


@dataclass(frozen=True, slots=True, kw_only=True)
class _End:
    """What is to be covered: its place, and how far round it a cover reaches and must reach, mm."""

    name: str
    at: Point
    reach_mm: float
    least_mm: float


def covers_of(design: Design) -> tuple[Cover, ...]:
    """Return the covers of an article, those that would overlap as one.

    Covered are posts of fittings that end in a moulded hollow, where they would scratch what is
    carried, and magnets that no seam closes off. A cover reaches 5 mm beyond what it covers, less
    where the flat of the hollow or the piece ends sooner; the inner end of a post is taken to be as
    wide as its head.
    """
    if not design.cover_mm:
        return ()
    return tuple(
        _cover(design, piece, group)
        for piece in design.pieces
        for group in _groups(tuple(_ends(design, piece)))
    )


def _ends(design: Design, piece: Piece) -> Iterator[_End]:
    for place in design.fittings:
        zone = next((z for z in piece.zones if z.outline.contains(place.at)), None)
        if place.piece == piece.name and place.fitting.post_length_mm and zone:
            head = place.fitting.head_diameter_mm / 2
            room = min(_room(piece, place.at), _flat(zone, place.at))
            yield _end(place.name, place.at, head, head, room)
    for held in design.magnets:
        if held.piece == piece.name and not held.before_seam:
            one = held.magnet
            half = one.diameter_mm / 2 or math.hypot(one.length_mm, one.width_mm) / 2
            risen = half + one.thickness_mm
            yield _end(held.name, held.at, half, risen, _room(piece, held.at))


def _end(name: str, at: Point, half: float, risen: float, room: float) -> _End:
    """Return what is to be covered from its half width, the same up over its rim, and the room."""
    least = half + LEAST_GLUED_MM
    return _End(name=name, at=at, reach_mm=max(least, min(risen + GLUED_MM, room)), least_mm=least)


def _room(piece: Piece, at: Point) -> float:
    """Return how far a place is from the edge of its piece, mm."""
    return float(signed_distances(piece.outline, np.array([at]))[0]) - WITHIN_MM


def _flat(zone: MouldedZone, at: Point) -> float:
    """Return how far a place is from where the rounding of the crown begins, mm."""
    mouth = zone.mouths[0] if zone.mouths else ""
    wall = float(signed_distances(zone.outline, np.array([at]), mouth)[0])
    return wall - zone.crown_radius_mm


def _groups(ends: Sequence[_End]) -> list[list[_End]]:
    """Return what lies under one cover: neighbours whose own covers would overlap."""
    groups: list[list[_End]] = []
    for end in ends:
        near = [
            group
            for group in groups
            if any(math.dist(end.at, o.at) < end.reach_mm + o.reach_mm for o in group)
        ]
        groups = [group for group in groups if group not in near]
        groups.append([*(one for group in near for one in group), end])
    return groups


def _cover(design: Design, piece: Piece, ends: Sequence[_End]) -> Cover:
    reach = max(min(end.reach_mm for end in ends), *(end.least_mm for end in ends))
    pairs = combinations([end.at for end in ends], 2)
    one, two = max(pairs, key=lambda pair: math.dist(*pair), default=(ends[0].at, ends[0].at))
    angle = math.atan2(two[1] - one[1], two[0] - one[0])
    c, s = math.cos(angle), math.sin(angle)
    across = [c * end.at[1] - s * end.at[0] for end in ends]
    along = (c * one[0] + s * one[1] + c * two[0] + s * two[1]) / 2
    aside, spread = (max(across) + min(across)) / 2, max(across) - min(across)
    wide = 2 * reach + spread
    return Cover(
        name=f"cover over {' and '.join(end.name for end in ends)}",
        piece=piece.name,
        role=piece.role,
        over=tuple(end.name for end in ends),
        outline=CutOutline(stadium(wide + math.dist(one, two), wide)),
        at=(c * along - s * aside, s * along + c * aside),
        angle=angle,
        thickness_mm=design.cover_mm,
    )

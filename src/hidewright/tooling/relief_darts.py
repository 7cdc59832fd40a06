"""Where relief darts are cut into a blank's margin: at the outward corners of its hollows.

Leather that is drawn in round a corner is gathered; a wedge cut out of the margin there takes the
gathering away, and the leather comes in more easily. Cutting darts where leather is gathered is
common practice, no source. They lie in what is cut off later.
"""

import math
from collections.abc import Sequence
from itertools import groupby

from hidewright.design.blank import Blank
from hidewright.design.dart import Dart
from hidewright.design.drying import BlankDrying
from hidewright.design.piece import Piece
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.states import FormedOutline, formed_from_dry
from hidewright.errors import RequestError
from hidewright.geometry.crossing import crossings
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point, Segment, line
from hidewright.tooling.pressed import put

#: A corner turns by at least so much; a longer turn gets a dart for about each quarter, radians.
LEAST_TURN, FOR_EACH = math.radians(45.0), math.radians(90.0)
#: Flat leather kept between a dart and the lip, and between it and a trimmed piece, mm; our choice.
TO_LIP_MM, TO_PIECE_MM = 2.0, 1.0
#: Steps in which the room for a dart is found, and what is left of it then, mm.
PROBES, NEAR_MM = 60, 1e-3
#: A corner further from the edge than this many times the margin has none of it beside it.
FAR = 3.0


def relief_darts(
    blank: Blank,
    pieces: Sequence[Piece],
    zones: Sequence[PressedZone],
    drying: BlankDrying,
    edge: FormedOutline,
    gap_mm: float,
) -> tuple[Dart, ...]:
    """Return a blank's relief darts as they lie pressed, closed; none when it has none.

    Args:
        blank: Gives their length.
        pieces: All pieces it names, perhaps more.
        zones: What is pressed into it.
        drying: Formed to dry.
        edge: The leather's edge as it lies pressed.
        gap_mm: Between plug and frame.

    Raises:
        RequestError: When a dart would run into a piece or a lip, or there is no corner for one.
    """
    length = blank.relief_dart_mm
    if length == 0.0:
        return ()
    mouths = _mouths(blank, zones, edge)
    if not mouths:
        raise RequestError(
            f"blank {blank.name}: relief darts of {length:g} mm",
            because="no hollow on it has a corner beside the margin",
            mend="Leave the darts out",
        )
    kept_off = _kept_off(blank, pieces, zones, drying, gap_mm)
    longest = min(_longest_mm(mouth, way, kept_off, length) for mouth, way in mouths)
    if longest < length:
        raise RequestError(
            f"blank {blank.name}: relief darts of {length:g} mm",
            because="they would run into a piece or up to the lip of a hollow",
            mend=f"There is room for {longest:.1f} mm",
        )
    return tuple(Dart(mouth=mouth, tip=_inward(mouth, way, length)) for mouth, way in mouths)


def longest_dart_mm(
    blank: Blank,
    pieces: Sequence[Piece],
    zones: Sequence[PressedZone],
    drying: BlankDrying,
    edge: FormedOutline,
    gap_mm: float,
) -> float:
    """Return how long a blank's relief darts can be, mm; 0 where there is no place for one.

    Args as of ``relief_darts``.
    """
    kept_off = _kept_off(blank, pieces, zones, drying, gap_mm)
    return min(
        (
            _longest_mm(mouth, way, kept_off, FAR * blank.margin_mm)
            for mouth, way in _mouths(blank, zones, edge)
        ),
        default=0.0,
    )


def _mouths(blank: Blank, zones: Sequence[PressedZone], edge: Outline) -> list[tuple[Point, Point]]:
    """(place on the edge, direction outward) of each dart."""
    feet = [foot for zone in zones for foot in _corners(zone.plug)]
    met = [(_beyond(edge, foot, way, FAR * blank.margin_mm), way) for foot, way in feet]
    return [(mouth, way) for mouth, way in met if mouth is not None]


def _corners(plug: Outline) -> list[tuple[Point, Point]]:
    """(point on the plug's outline, outward direction) of each outward corner's darts."""
    segments = _begun_between_corners(plug.segments)
    found: list[tuple[Point, Point]] = []
    for outward, run in groupby(segments, key=lambda seg: seg.curvature > 0):
        arcs = list(run)
        turn = sum(seg.sweep for seg in arcs)
        if not outward or turn < LEAST_TURN:
            continue
        count = max(1, round(turn / FOR_EACH))
        found += [_at_turn(arcs, turn * (i + 0.5) / count) for i in range(count)]
    return found


def _begun_between_corners(segments: Sequence[Segment]) -> Sequence[Segment]:
    """The segments begun with one that is no outward arc, where there is one."""
    first = next((i for i, seg in enumerate(segments) if seg.curvature <= 0), 0)
    return (*segments[first:], *segments[:first])


def _at_turn(arcs: Sequence[Segment], turn: float) -> tuple[Point, Point]:
    for seg in arcs:
        if turn <= seg.sweep:
            break
        turn -= seg.sweep
    along = seg.length * min(turn / seg.sweep, 1.0)
    return seg.point_at(along), seg.normal_at(along)


def _beyond(edge: Outline, foot: Point, way: Point, far_mm: float) -> Point | None:
    """The first place of the edge outward of a foot; None when there is none so near."""
    ray = line(foot, (foot[0] + far_mm * way[0], foot[1] + far_mm * way[1]))
    met = [at for seg in edge.segments for at in crossings(ray, seg)]
    return min(met, key=lambda at: math.dist(foot, at), default=None)


def _kept_off(
    blank: Blank,
    pieces: Sequence[Piece],
    zones: Sequence[PressedZone],
    drying: BlankDrying,
    gap_mm: float,
) -> list[tuple[Outline, float]]:
    """Outlines that darts stay clear of, and by how much, mm."""
    by_name = {piece.name: piece for piece in pieces}
    trimmed = [
        put(formed_from_dry(by_name[place.piece].outline, drying.flange(place.piece)), place)
        for place in blank.places
    ]
    return [(outline, TO_PIECE_MM) for outline in trimmed] + [
        (zone.plug, gap_mm + zone.lip_radius_mm + TO_LIP_MM) for zone in zones
    ]


def _longest_mm(
    mouth: Point, way: Point, kept_off: Sequence[tuple[Outline, float]], most_mm: float
) -> float:
    """How far inward a dart may run before it comes too near to anything, mm."""
    length = 0.0
    for _ in range(PROBES):
        tip = _inward(mouth, way, length)
        room = min(
            (-1.0 if outline.contains(tip) else 1.0) * outline.nearest(tip)[1] - away
            for outline, away in kept_off
        )
        if room < NEAR_MM or length >= most_mm:
            break
        length += room
    return min(length, most_mm)


def _inward(mouth: Point, way: Point, length: float) -> Point:
    return (mouth[0] - length * way[0], mouth[1] - length * way[1])

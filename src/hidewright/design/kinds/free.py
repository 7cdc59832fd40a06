"""Free design: pieces from the maker's own outlines, with zones, seams and blanks assigned."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import Room, room_for
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds.free_fittings import (
    fittings_of,
    magnets_of,
    pins_of,
    with_fitting_holes,
)
from hidewright.design.kinds.free_measures import (
    FreeBlank,
    FreeHollow,
    FreeMeasures,
    starter_pieces,
)
from hidewright.design.kinds.free_pieces import (
    Frame,
    frame_of,
    hole_remarks,
    names_differ,
    piece_of,
)
from hidewright.design.kinds.free_places import assembled
from hidewright.design.measure import check_limits
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.seam import Seam, SeamEdge
from hidewright.design.specification import Brief, Kind
from hidewright.design.strikes import strike_remarks
from hidewright.errors import RequestError
from hidewright.geometry.offset import offset

#: A pair's backbone may lie askew to the way in by this, radians.
ASKEW = 1e-3


def construct(brief: Brief[FreeMeasures]) -> Design:
    """Return the design as the maker assigned it.

    Raises:
        RequestError: Names the field that cannot be: ``measures.seams.1.edges.2.span``.
    """
    m = brief.measures
    _check_all_limits(m)
    for section, nouns in (("pieces", m.pieces), ("seams", m.seams), ("blanks", m.blanks)):
        names_differ([n.name for n in nouns], f"measures.{section}")
    if not m.pieces:
        raise RequestError("no piece is given", mend="Add one", where="measures.pieces")
    frames = {p.name: frame_of(p, f"measures.pieces.{i}") for i, p in enumerate(m.pieces, 1)}
    thick = {role: leather.thickness_mm for role, leather in brief.leathers}
    drawn = {
        p.name: piece_of(p, frames[p.name], thick, f"measures.pieces.{i}")
        for i, p in enumerate(m.pieces, 1)
    }
    by_name = with_fitting_holes(brief, drawn, frames)
    seams = _seams(m, by_name)
    _pairs_lie_straight(brief, by_name)
    sides = {p.name: p.side for p in m.pieces}
    thickness_of = {p.name: thick[p.role] for p in m.pieces}
    pins = pins_of(m, by_name, frames)
    pieces, assembly = assembled(tuple(by_name.values()), seams, pins, sides, thickness_of)
    fittings, about_fittings = fittings_of(brief, by_name, frames, assembly)
    magnets, about_magnets = magnets_of(brief, by_name, frames, assembly)
    return Design(
        name=brief.name,
        kind=brief.kind,
        carried=brief.carried,
        leathers=brief.leathers,
        pieces=pieces,
        seams=seams,
        blanks=_blanks(m, by_name, frames),
        hollows=tuple(
            _hollow(h, by_name, f"measures.hollows.{i}") for i, h in enumerate(m.hollows, 1)
        ),
        assembly=assembly,
        thread=brief.thread,
        fittings=fittings,
        magnets=magnets,
        held_by=m.held_by,
        notes=(
            *(remark for piece in pieces for remark in hole_remarks(piece)),
            *about_fittings,
            *about_magnets,
            *strike_remarks(pieces, assembly, thickness_of),
        ),
    )


def sized_for(m: FreeMeasures, carried: tuple[Carried, ...]) -> FreeMeasures:
    """Return the starter with its hollow made to fit; the maker's own outlines stay as drawn."""
    if not carried or m.pieces != FreeMeasures().pieces:
        return m

    def hollow_of(room: Room) -> Hollow:
        front = starter_pieces(room.width_mm, room.height_mm, room.depth_mm)[0]
        where = "measures.pieces.1"
        piece = piece_of(front, frame_of(front, where), {"body": 1.0}, where)
        return _hollow(FreeHollow(zone="front/hollow"), {"front": piece}, "measures.hollows.1")

    room = room_for(carried, hollow_of)
    return replace(m, pieces=starter_pieces(room.width_mm, room.height_mm, room.depth_mm))


def _check_all_limits(m: FreeMeasures) -> None:
    for section in ("pieces", "seams", "blanks", "hollows"):
        for i, noun in enumerate(getattr(m, section), 1):
            check_limits(noun, f"measures.{section}.{i}")
    for i, piece in enumerate(m.pieces, 1):
        for inner in ("zones", "holes", "folds"):
            for k, noun in enumerate(getattr(piece, inner), 1):
                check_limits(noun, f"measures.pieces.{i}.{inner}.{k}")
        for k, zone in enumerate(piece.zones, 1):
            for j, island in enumerate(zone.islands, 1):
                check_limits(island, f"measures.pieces.{i}.zones.{k}.islands.{j}")


def _seams(m: FreeMeasures, pieces: Mapping[str, Piece]) -> tuple[Seam, ...]:
    seams: list[Seam] = []
    for i, told in enumerate(m.seams, 1):
        where = f"measures.seams.{i}"
        for k, edge in enumerate(told.edges, 1):
            piece = _known(edge.piece, pieces, f"{where}.edges.{k}.piece")
            if edge.span not in piece.outline.spans:
                raise RequestError(
                    f"seam {told.name}: {edge.piece} has no span {edge.span!r}",
                    mend=f"It has: {', '.join(piece.outline.spans)}",
                    where=f"{where}.edges.{k}.span",
                )
        try:
            seams.append(
                Seam(
                    name=told.name,
                    edges=tuple(
                        SeamEdge(piece=e.piece, span=e.span, runs_backwards=e.backwards)
                        for e in told.edges
                    ),
                    inset_mm=told.inset_mm,
                    pitch_mm=told.pitch_mm,
                    reverse_stitches=told.reverse_stitches,
                )
            )
        except RequestError as refused:
            raise refused.at(f"{where}.edges") from None
    return tuple(seams)


def _known(name: str, pieces: Mapping[str, Piece], where: str) -> Piece:
    if name not in pieces:
        raise RequestError(
            f"no piece is called {name!r}",
            mend=f"The pieces are: {', '.join(pieces)}",
            where=where,
        )
    return pieces[name]


def _blanks(
    m: FreeMeasures, pieces: Mapping[str, Piece], frames: Mapping[str, Frame]
) -> tuple[Blank, ...]:
    blanks = tuple(
        _blank(told, pieces, frames, f"measures.blanks.{i}") for i, told in enumerate(m.blanks, 1)
    )
    on_one = {place.piece for blank in blanks for place in blank.places}
    for name, piece in pieces.items():
        if piece.is_moulded and name not in on_one:
            raise RequestError(
                f"{name} is moulded, but lies on no blank",
                mend=f"Add a blank with pieces: [{name}]",
                where="measures.blanks",
            )
    return blanks


def _blank(
    told: FreeBlank, pieces: Mapping[str, Piece], frames: Mapping[str, Frame], where: str
) -> Blank:
    on_it = [_known(name, pieces, f"{where}.pieces") for name in told.pieces]
    if not on_it:
        raise RequestError(f"blank {told.name}: no piece on it", where=f"{where}.pieces")
    if len({p.role for p in on_it}) > 1:
        raise RequestError(
            f"blank {told.name}: its pieces are of different leathers",
            mend="Give each leather a blank of its own",
            where=f"{where}.pieces",
        )
    flat = [p.name for p in on_it if not p.is_moulded]
    if flat:
        raise RequestError(
            f"blank {told.name}: {flat[0]} has no moulded zone",
            because="a blank is a rough piece for moulding; flat pieces are cut from the hide",
            mend=f"Leave {flat[0]} out",
            where=f"{where}.pieces",
        )
    places, articles = _as_drawn(told, frames), 1
    if told.pair:
        places, articles = _mouth_to_mouth(told, on_it, f"{where}.pair")
    return Blank(
        name=told.name,
        places=places,
        role=on_it[0].role,
        margin_mm=told.margin_mm,
        mouth_waste_mm=told.mouth_waste_mm,
        articles=articles,
    )


def _pairs_lie_straight(brief: Brief[FreeMeasures], pieces: Mapping[str, Piece]) -> None:
    """Refuse pairs whose walls would not run on straight from one half to the other.

    Leather that shrinks unevenly, askew to the way in, leans both halves' walls to one side.
    """
    for i, blank in enumerate(brief.measures.blanks, 1):
        for name in blank.pieces if blank.pair else ():
            piece = _known(name, pieces, f"measures.blanks.{i}.pieces")
            leather = brief.leather(piece.role)
            askew = math.remainder(piece.stretch_angle, math.pi / 2)
            if leather.shrinkage_along == leather.shrinkage_across or abs(askew) < ASKEW:
                continue
            number = [p.name for p in brief.measures.pieces].index(name) + 1
            told = math.degrees(brief.measures.pieces[number - 1].backbone_rad - askew)
            off = math.degrees(abs(askew))
            raise RequestError(
                f"{name}: the backbone lies {off:.1f} degrees askew to its mouth",
                because="the walls of a pair then lean as it dries and do not run on straight",
                mend=f"Write backbone: {told:.4f} deg, or pair: false for the blank {blank.name}",
                where=f"measures.pieces.{number}.backbone",
            )


def _as_drawn(told: FreeBlank, frames: Mapping[str, Frame]) -> tuple[PiecePlace, ...]:
    x, y = frames[told.pieces[0]].origin
    return tuple(
        PiecePlace(
            piece=name,
            turn=-frames[name].turn,
            shift=(frames[name].origin[0] - x, frames[name].origin[1] - y),
        )
        for name in told.pieces
    )


def _mouth_to_mouth(
    told: FreeBlank, on_it: Sequence[Piece], where: str
) -> tuple[tuple[PiecePlace, ...], int]:
    closed = [p.name for p in on_it if [len(z.mouths) for z in p.zones] != [1]]
    if len(on_it) > 2 or closed:
        raise RequestError(
            f"blank {told.name}: a pair of {len(on_it)} pieces"
            + (f", {closed[0]} without its one mouth" if closed else ""),
            because="a pair is one piece twice, or two pieces, joined at one mouth each",
            mend="Name one or two pieces of one zone with one mouth, or write pair: false",
            where=where,
        )
    half = told.mouth_waste_mm / 2
    return (
        PiecePlace(piece=on_it[0].name, shift=(0.0, -half)),
        PiecePlace(piece=on_it[-1].name, turn=math.pi, shift=(0.0, half)),
    ), (2 if len(on_it) == 1 else 1)


def _hollow(told: FreeHollow, pieces: Mapping[str, Piece], where: str) -> Hollow:
    zone = _zone(told.zone, pieces, f"{where}.zone")
    other = _zone(told.against, pieces, f"{where}.against") if told.against else None
    return Hollow(
        name=told.zone,
        outline=zone.outline,
        shells=(
            _shell(zone),
            _shell(other) if other else Shell(depth_mm=0.0, crown_radius_mm=0.0),
        ),
        mouth=zone.mouths[0] if zone.mouths else "",
        is_open=told.open_face,
        grip_mm=told.grip_mm,
        islands=tuple(
            offset(island.outline, island.foot_radius_mm)
            for one in (zone, other)
            if one
            for island in one.islands
        ),
    )


def _shell(zone: MouldedZone) -> Shell:
    """Return the room in a zone; below the height that its wall is cut at there is none."""
    return Shell(
        depth_mm=zone.depth_mm - (zone.cut_height_mm or 0.0),
        crown_radius_mm=zone.crown_radius_mm,
        wall_angle=zone.wall_angle,
    )


def _zone(path: str, pieces: Mapping[str, Piece], where: str) -> MouldedZone:
    piece_name, _, zone_name = path.partition("/")
    piece = _known(piece_name, pieces, where)
    try:
        return piece.zone(zone_name)
    except RequestError as refused:
        raise refused.at(where) from None


FREE = Kind(
    name="free",
    title="pieces from your own outlines, with zones and seams assigned",
    leathers=(("body", "vegetable-tanned shoulder 1.4-1.6 mm"),),
    carries=(),
    measures=FreeMeasures,
    construct=construct,
    sized_for=sized_for,
)

"""Free design: pieces from the maker's own outlines, with zones, seams and blanks assigned."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import Room, room_for
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds.free_measures import (
    FreeBlank,
    FreeHollow,
    FreeMeasures,
    FreePiece,
    FreeZone,
    starter_pieces,
)
from hidewright.design.kinds.free_places import assembled
from hidewright.design.measure import check_limits
from hidewright.design.piece import MouldedZone, Piece, PunchedHole
from hidewright.design.seam import Seam, SeamEdge
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point

#: The ends of a mouth lie on the piece's edge within this, mm.
ON_EDGE_MM = 0.05
#: A pair's backbone may lie askew to the way in by this, radians.
ASKEW = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """Where a piece's own frame lies in the drawing: its mouth on y = 0, the piece below it.

    Attributes:
        origin: Of the piece's frame, in the drawing, mm.
        turn: From the drawing to the piece's frame, radians.
    """

    origin: Point
    turn: float = 0.0

    def of(self, drawn: Outline) -> DryOutline:
        moved = drawn.moved(-self.origin[0], -self.origin[1])
        return DryOutline(moved.rotated(self.turn) if self.turn else moved)

    def of_point(self, at: Point) -> Point:
        x, y = at[0] - self.origin[0], at[1] - self.origin[1]
        c, s = math.cos(self.turn), math.sin(self.turn)
        return (x * c - y * s, x * s + y * c)


def construct(brief: Brief[FreeMeasures]) -> Design:
    """Return the design as the maker assigned it.

    Raises:
        RequestError: Names the field that cannot be: ``measures.seams.1.edges.2.span``.
    """
    m = brief.measures
    _check_all_limits(m)
    for section, nouns in (("pieces", m.pieces), ("seams", m.seams), ("blanks", m.blanks)):
        _names_differ([n.name for n in nouns], f"measures.{section}")
    if not m.pieces:
        raise RequestError("no piece is given", mend="Add one", where="measures.pieces")
    frames = {p.name: _frame(p, f"measures.pieces.{i}") for i, p in enumerate(m.pieces, 1)}
    roles = tuple(role for role, _ in brief.leathers)
    pieces = tuple(
        _piece(p, frames[p.name], roles, f"measures.pieces.{i}") for i, p in enumerate(m.pieces, 1)
    )
    by_name = {p.name: p for p in pieces}
    seams = _seams(m, by_name)
    _pairs_lie_straight(brief, by_name)
    sides = {p.name: p.side for p in m.pieces}
    thickness_of = {p.name: brief.leather(p.role).thickness_mm for p in m.pieces}
    pieces, assembly = assembled(pieces, seams, sides, thickness_of)
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
        held_by=m.held_by,
    )


def sized_for(m: FreeMeasures, carried: tuple[Carried, ...]) -> FreeMeasures:
    """Return the starter with its hollow made to fit; the maker's own outlines stay as drawn."""
    if not carried or m.pieces != FreeMeasures().pieces:
        return m

    def hollow_of(room: Room) -> Hollow:
        front = starter_pieces(room.width_mm, room.height_mm, room.depth_mm)[0]
        piece = _piece(front, _frame(front, "measures.pieces.1"), ("body",), "measures.pieces.1")
        return _hollow(FreeHollow(zone="front/hollow"), {"front": piece}, "measures.hollows.1")

    room = room_for(carried, hollow_of)
    return replace(m, pieces=starter_pieces(room.width_mm, room.height_mm, room.depth_mm))


def _check_all_limits(m: FreeMeasures) -> None:
    for section in ("pieces", "seams", "blanks", "hollows"):
        for i, noun in enumerate(getattr(m, section), 1):
            check_limits(noun, f"measures.{section}.{i}")
    for i, piece in enumerate(m.pieces, 1):
        for inner in ("zones", "holes"):
            for k, noun in enumerate(getattr(piece, inner), 1):
                check_limits(noun, f"measures.pieces.{i}.{inner}.{k}")


def _names_differ(names: Sequence[str], where: str) -> None:
    for i, name in enumerate(names, 1):
        if name in names[: i - 1]:
            raise RequestError(
                f"two are called {name!r}",
                because="they are told apart by their names",
                mend="Give one another name",
                where=f"{where}.{i}.name",
            )


def _frame(piece: FreePiece, where: str) -> _Frame:
    """Return the frame of a piece: by its first mouth, or about its middle if it has none."""
    for i, zone in enumerate(piece.zones, 1):
        for name in zone.mouths:
            mouth = _mouth(zone, name, f"{where}.zones.{i}.mouths")
            _must_lie_on_edge(piece, mouth, name, f"{where}.zones.{i}.mouths")
    mouths = [(zone, name) for zone in piece.zones for name in zone.mouths]
    if not mouths:
        left, bottom, right, top = piece.outline.bounds
        return _Frame(origin=((left + right) / 2, (bottom + top) / 2))
    mouth = mouths[0][0].outline.span_path(mouths[0][1])
    (x0, y0), (x1, y1) = mouth.start, mouth.end
    # counter-clockwise, a mouth that faces up runs to the left
    turn = math.pi - math.atan2(y1 - y0, x1 - x0)
    turn = math.remainder(turn, 2 * math.pi)
    return _Frame(origin=((x0 + x1) / 2, (y0 + y1) / 2), turn=turn if abs(turn) > 1e-9 else 0.0)


def _mouth(zone: FreeZone, name: str, where: str) -> Path:
    if name not in zone.outline.spans:
        raise RequestError(
            f"{zone.name}: its outline has no span {name!r}",
            mend=f"It has: {', '.join(zone.outline.spans)}",
            where=where,
        )
    mouth = zone.outline.span_path(name)
    if mouth.length > math.dist(mouth.start, mouth.end) + 1e-3:
        raise RequestError(
            f"{zone.name}: the mouth {name!r} is not straight",
            because="a hollow is cut open along one straight line",
            mend="Draw it as one line, or name its straight part as a span of its own",
            where=where,
        )
    return mouth


def _must_lie_on_edge(piece: FreePiece, mouth: Path, name: str, where: str) -> None:
    away = max(piece.outline.nearest(end)[1] for end in (mouth.start, mouth.end))
    if away > ON_EDGE_MM:
        raise RequestError(
            f"{piece.name}: the mouth {name!r} ends {away:.2f} mm from the piece's edge",
            because="a mouth is where that edge crosses the hollow",
            mend="Draw the zone up to the piece's edge, or leave its mouths empty",
            where=where,
        )


def _piece(told: FreePiece, frame: _Frame, roles: Sequence[str], where: str) -> Piece:
    if told.role not in roles:
        raise RequestError(
            f"{told.name}: no leather is given for {told.role!r}",
            mend=f"Given are: {', '.join(roles)}; or add leathers.{told.role}",
            where=f"{where}.role",
        )
    _names_differ([z.name for z in told.zones], f"{where}.zones")
    _names_differ([h.name for h in told.holes], f"{where}.holes")
    bare = Piece(
        name=told.name,
        role=told.role,
        outline=frame.of(told.outline),
        stretch_angle=told.backbone_rad + frame.turn,
    )
    for i, zone in enumerate(told.zones, 1):
        try:
            moulded = MouldedZone(
                name=zone.name,
                outline=frame.of(zone.outline),
                depth_mm=zone.depth_mm,
                crown_radius_mm=zone.crown_radius_mm,
                lip_radius_mm=zone.lip_radius_mm,
                edges=tuple((name, "mouth") for name in zone.mouths),
            )
            for other in bare.zones:
                if other.outline.polygon.intersects(moulded.outline.polygon):
                    raise RequestError(
                        f"{told.name}: the zones {other.name} and {zone.name} overlap",
                        mend="Draw them apart",
                    )
            bare = replace(bare, zones=(*bare.zones, moulded))
        except RequestError as refused:
            raise refused.at(f"{where}.zones.{i}") from None
    for i, hole in enumerate(told.holes, 1):
        punched = PunchedHole(
            name=hole.name, at=frame.of_point(hole.at), diameter_mm=hole.diameter_mm
        )
        try:
            bare = replace(bare, holes=(*bare.holes, punched))
        except RequestError as refused:
            raise refused.at(f"{where}.holes.{i}") from None
    return bare


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
    m: FreeMeasures, pieces: Mapping[str, Piece], frames: Mapping[str, _Frame]
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
    told: FreeBlank, pieces: Mapping[str, Piece], frames: Mapping[str, _Frame], where: str
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


def _as_drawn(told: FreeBlank, frames: Mapping[str, _Frame]) -> tuple[PiecePlace, ...]:
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
            Shell(depth_mm=zone.depth_mm, crown_radius_mm=zone.crown_radius_mm),
            Shell(
                depth_mm=other.depth_mm if other else 0.0,
                crown_radius_mm=other.crown_radius_mm if other else 0.0,
            ),
        ),
        mouth=zone.mouths[0] if zone.mouths else "",
        is_open=told.open_face,
        grip_mm=told.grip_mm,
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

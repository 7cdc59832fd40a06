"""Pieces of a free design: from the drawing's frame to their own, with what is on them."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, TypeVar

from hidewright.design.island import Island
from hidewright.design.kinds.free_folds import in_strip, with_folds
from hidewright.design.kinds.free_measures import FreeCutOut, FreeHole, FreePiece, FreeZone
from hidewright.design.piece import MouldedZone, Piece, PunchedHole, ZoneEdge
from hidewright.design.states import DryOutline
from hidewright.errors import Remark, RequestError
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point
from hidewright.geometry.shapes import circle

T = TypeVar("T")

#: The ends of a mouth lie on the piece's edge within this, mm.
ON_EDGE_MM = 0.05
#: Leather that stays beside a window or the end of a slit, mm (common practice, no source).
LEAST_WEB_MM = 2.0

_MOUTH: Final[ZoneEdge] = "mouth"
_CUT: Final[ZoneEdge] = "cut at height"


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where a piece's own frame lies in the drawing: its mouth on y = 0, the piece below it.

    Attributes:
        origin: Of the piece's frame, in the drawing, mm.
        turn: From the drawing to the piece's frame, radians.
    """

    origin: Point
    turn: float = 0.0

    def of(self, drawn: Outline) -> DryOutline:
        """Return an outline of the drawing in the piece's frame."""
        moved = drawn.moved(-self.origin[0], -self.origin[1])
        return DryOutline(moved.rotated(self.turn) if self.turn else moved)

    def of_point(self, at: Point) -> Point:
        """Return a point of the drawing in the piece's frame."""
        x, y = at[0] - self.origin[0], at[1] - self.origin[1]
        c, s = math.cos(self.turn), math.sin(self.turn)
        return (x * c - y * s, x * s + y * c)


def names_differ(names: Sequence[str], where: str) -> None:
    """Refuse a name that is given twice."""
    for i, name in enumerate(names, 1):
        if name in names[: i - 1]:
            raise RequestError(
                f"two are called {name!r}",
                because="they are told apart by their names",
                mend="Give one another name",
                where=f"{where}.{i}.name",
            )


def frame_of(piece: FreePiece, where: str) -> Frame:
    """Return the frame of a piece: by its first mouth, or about its middle if it has none."""
    for i, zone in enumerate(piece.zones, 1):
        for name in zone.mouths:
            mouth = _mouth(zone, name, f"{where}.zones.{i}.mouths")
            _must_lie_on_edge(piece, mouth, name, f"{where}.zones.{i}.mouths")
    mouths = [(zone, name) for zone in piece.zones for name in zone.mouths]
    if not mouths:
        left, bottom, right, top = piece.outline.bounds
        return Frame(origin=((left + right) / 2, (bottom + top) / 2))
    mouth = mouths[0][0].outline.span_path(mouths[0][1])
    (x0, y0), (x1, y1) = mouth.start, mouth.end
    # counter-clockwise, a mouth that faces up runs to the left
    turn = math.pi - math.atan2(y1 - y0, x1 - x0)
    turn = math.remainder(turn, 2 * math.pi)
    return Frame(origin=((x0 + x1) / 2, (y0 + y1) / 2), turn=turn if abs(turn) > 1e-9 else 0.0)


def piece_of(told: FreePiece, frame: Frame, thickness_of: Mapping[str, float], where: str) -> Piece:
    """Return a piece as the maker drew it, in its own frame.

    Args:
        told: As drawn.
        frame: Its own.
        thickness_of: Dry thickness of each role of leather, mm.
        where: Its field.
    """
    if told.role not in thickness_of:
        raise RequestError(
            f"{told.name}: no leather is given for {told.role!r}",
            mend=f"Given are: {', '.join(thickness_of)}; or add leathers.{told.role}",
            where=f"{where}.role",
        )
    thickness = thickness_of[told.role]
    for section in ("zones", "holes", "cut_outs", "folds"):
        names_differ([n.name for n in getattr(told, section)], f"{where}.{section}")
    piece = Piece(
        name=told.name,
        role=told.role,
        outline=_edge(told, frame, thickness, where),
        stretch_angle=told.backbone_rad + frame.turn,
    )
    piece = _each(told.zones, f"{where}.zones", piece, lambda p, z: _with_zone(p, z, frame))
    piece = _each(told.holes, f"{where}.holes", piece, lambda p, h: _with_hole(p, h, frame))
    piece = _each(told.cut_outs, f"{where}.cut_outs", piece, lambda p, c: _with_window(p, c, frame))
    lines = [(f, (frame.of_point(f.line[0]), frame.of_point(f.line[1]))) for f in told.folds]
    return with_folds(piece, lines, thickness, f"{where}.folds")


def _each(told: Sequence[T], where: str, piece: Piece, add: Callable[[Piece, T], Piece]) -> Piece:
    for i, one in enumerate(told, 1):
        try:
            piece = add(piece, one)
        except RequestError as refused:
            raise refused.at(f"{where}.{i}") from None
    return piece


def _edge(told: FreePiece, frame: Frame, thickness_mm: float, where: str) -> DryOutline:
    """Return the piece's edge; where walls are cut at a height, it is the outside of the wall."""
    number = next((i for i, z in enumerate(told.zones, 1) if z.edge == "cut at height"), 0)
    if not number:
        return frame.of(told.outline)
    zone, at = told.zones[number - 1], f"{where}.zones.{number}"
    if zone.mouths or len(told.zones) > 1 or told.folds or told.cut_outs:
        raise RequestError(
            f"{told.name}: the wall of {zone.name} is cut at a height beside "
            + ("a mouth" if zone.mouths else "another zone, a fold or a window"),
            because="the flange falls off all round, and all that is on it",
            mend="Make it a piece of its own, or write edge: flange",
            where=f"{at}.edge",
        )
    if zone.cut_height_mm >= zone.depth_mm:
        raise RequestError(
            f"{told.name}: the wall of {zone.name} is cut {zone.cut_height_mm:g} mm above the "
            f"flange, and the hollow is {zone.depth_mm:g} mm deep",
            mend=f"Give a cut height under {zone.depth_mm:g} mm",
            where=f"{at}.cut_height",
        )
    apart = max(
        max(two.nearest((float(x), float(y)))[1] for x, y in one.flat_points())
        for one, two in ((told.outline, zone.outline), (zone.outline, told.outline))
    )
    if apart > ON_EDGE_MM:
        raise RequestError(
            f"{told.name}: its outline lies up to {apart:.2f} mm off that of its zone {zone.name}",
            because="where the wall is cut at a height nothing of the flange is left; the "
            "leather's thickness is added to the outline of the hollow",
            mend="Draw the two alike, or write edge: flange",
            where=f"{where}.outline",
        )
    return DryOutline(offset(frame.of(zone.outline), thickness_mm))


def _with_zone(piece: Piece, told: FreeZone, frame: Frame) -> Piece:
    cut = told.edge == "cut at height"
    outline = frame.of(told.outline)
    names_differ([island.name for island in told.islands], "islands")
    mouths = [(name, _MOUTH) for name in told.mouths]
    walls = [(span, _CUT) for span in outline.spans if cut]
    moulded = MouldedZone(
        name=told.name,
        outline=outline,
        depth_mm=told.depth_mm,
        crown_radius_mm=told.crown_radius_mm,
        lip_radius_mm=told.lip_radius_mm,
        wall_angle=told.wall_angle_rad,
        edges=(*mouths, *walls),
        cut_height_mm=told.cut_height_mm if cut else None,
        islands=tuple(
            Island(
                name=island.name,
                outline=frame.of(island.outline),
                height_mm=island.height_mm,
                top_radius_mm=island.top_radius_mm,
                foot_radius_mm=island.foot_radius_mm,
            )
            for island in told.islands
        ),
    )
    for other in piece.zones:
        if other.outline.polygon.intersects(moulded.outline.polygon):
            raise RequestError(
                f"{piece.name}: the zones {other.name} and {told.name} overlap",
                mend="Draw them apart",
            )
    return replace(piece, zones=(*piece.zones, moulded))


def _with_hole(piece: Piece, told: FreeHole, frame: Frame) -> Piece:
    slit = frame.of_point(told.slit) if told.slit is not None else None
    at = frame.of_point(told.at)
    if slit is not None:
        if math.dist(at, slit) <= told.diameter_mm / 2:
            raise RequestError(
                f"{piece.name}: the slit of the hole for the {told.name} ends inside the hole",
                mend="Give a place outside it, or leave slit out",
            )
        if not piece.outline.contains(slit, LEAST_WEB_MM):
            raise RequestError(
                f"{piece.name}: the slit of the hole for the {told.name} runs out of the piece",
                mend=f"End it {LEAST_WEB_MM:g} mm inside the edge, or further",
            )
    hole = PunchedHole(name=told.name, at=at, diameter_mm=told.diameter_mm, slit=slit)
    return replace(piece, holes=(*piece.holes, hole))


def _with_window(piece: Piece, told: FreeCutOut, frame: Frame) -> Piece:
    """Return a piece with one more window, which leaves leather all round it."""
    window = frame.of(told.outline)
    area = window.polygon
    web = float(piece.outline.rim.distance(area))
    if web < LEAST_WEB_MM or not piece.outline.polygon.contains(area):
        raise RequestError(
            f"{piece.name}: the window {told.name} leaves "
            + (f"{web:.1f} mm of leather beside it" if web else "the piece"),
            because=f"it needs {LEAST_WEB_MM:g} mm all round",
            mend="Draw it further inside the piece",
        )
    for zone in piece.zones:
        if zone.outline.polygon.distance(area) < LEAST_WEB_MM:
            raise RequestError(
                f"{piece.name}: the window {told.name} lies in the moulded zone {zone.name}",
                because="no template lies there to cut it by",
                mend="Keep it on the flat leather, or cut it by hand when the piece is dry",
            )
    others = [c.polygon for c in piece.cut_outs]
    others += [circle(h.diameter_mm / 2, h.at).polygon for h in piece.holes]
    if any(other.distance(area) < LEAST_WEB_MM for other in others):
        raise RequestError(
            f"{piece.name}: the window {told.name} runs into another window or hole",
            because=f"{LEAST_WEB_MM:g} mm of leather must stay between them",
            mend="Draw them apart",
        )
    return replace(piece, cut_outs=(*piece.cut_outs, window))


def hole_remarks(piece: Piece) -> Iterator[Remark]:
    """Yield a warning for each punched hole in a bent strip."""
    for hole in piece.holes:
        for fold in piece.folds:
            if in_strip(fold, hole.at):
                yield Remark(
                    code="punched-hole-in-fold",
                    severity="warning",
                    place=piece.name,
                    point=hole.at,
                    sentence=(
                        f"The hole for the {hole.name} lies in the bent strip of {fold.name}, "
                        "where leather tears first"
                    ),
                )


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

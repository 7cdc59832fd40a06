"""Fittings and closing magnets of a free design, and whether they meet when it is closed."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from hidewright.catalogue.fittings import Fitting
from hidewright.catalogue.magnets import Magnet
from hidewright.design.fitting import FittingPlace, MagnetPlace
from hidewright.design.kinds.free_folds import in_strip
from hidewright.design.kinds.free_measures import FreeFitting, FreeMagnet, FreeMeasures
from hidewright.design.kinds.free_pieces import Frame, names_differ
from hidewright.design.kinds.free_pinned import Pinned
from hidewright.design.magnets import weak_pair
from hidewright.design.piece import Piece, PunchedHole
from hidewright.design.pose import Assembly, Pose
from hidewright.design.specification import Brief
from hidewright.errors import Remark, RequestError
from hidewright.geometry.segment import Floats, Point

#: Holes that one post goes through lie over one another within this when closed, mm.
MEET_MM = 0.1
#: Magnets of a pair lie on one axis within this when closed, mm (common practice, no source).
COAXIAL_MM = 1.0
#: Their axes are level with one another within this, radians.
LEVEL = math.radians(5.0)
#: Room of a loop in its ring, mm (common practice, no source).
RING_ROOM_MM = 0.5


def with_fitting_holes(
    brief: Brief[FreeMeasures], pieces: Mapping[str, Piece], frames: Mapping[str, Frame]
) -> dict[str, Piece]:
    """Return the pieces with a hole for each fitting that has a post.

    Raises:
        RequestError: For a fitting without its row, on no piece, or outside it.
    """
    m, out = brief.measures, dict(pieces)
    both: tuple[FreeFitting | FreeMagnet, ...] = (*m.fittings, *m.magnets)
    names_differ([f.name for f in m.fittings], "measures.fittings")
    names_differ([f.name for f in m.magnets], "measures.magnets")
    for one, where in zip(both, _fields(m), strict=True):
        if one.piece not in out:
            raise RequestError(
                f"no piece is called {one.piece!r}",
                mend=f"The pieces are: {', '.join(out)}",
                where=f"{where}.piece",
            )
        if one.before_seam and one.before_seam not in [s.name for s in m.seams]:
            raise RequestError(
                f"no seam is called {one.before_seam!r}",
                mend=f"The seams are: {', '.join(s.name for s in m.seams) or 'none'}",
                where=f"{where}.before_seam",
            )
        out[one.piece] = _with_hole(brief, out[one.piece], one, frames[one.piece], where)
    return out


def pins_of(
    m: FreeMeasures, pieces: Mapping[str, Piece], frames: Mapping[str, Frame]
) -> tuple[Pinned, ...]:
    """Return which pieces each fitting holds, by the holes there that bear its name."""
    pins: list[Pinned] = []
    for one in m.fittings:
        through = [
            (name, hole.at)
            for name in one.through
            if name in pieces and name != one.piece
            for hole in pieces[name].holes
            if hole.name == one.name
        ]
        head = (one.piece, frames[one.piece].of_point(one.at))
        layers = 1 + one.through.count(one.piece)  # folded over, it is held twice
        if through:
            pins.append(Pinned(held=(*(head,) * layers, *through)))
    return tuple(pins)


def fittings_of(
    brief: Brief[FreeMeasures],
    pieces: Mapping[str, Piece],
    frames: Mapping[str, Frame],
    assembly: Assembly,
) -> tuple[tuple[FittingPlace, ...], tuple[Remark, ...]]:
    """Return the fittings in their places, with the leather they hold, and remarks on them."""
    places: list[FittingPlace] = []
    remarks: list[Remark] = []
    for i, told in enumerate(brief.measures.fittings, 1):
        at = frames[told.piece].of_point(told.at)
        fitting = brief.fitting(told.fitting)
        for name in told.through:
            if name not in pieces:
                raise RequestError(
                    f"no piece is called {name!r}",
                    mend=f"The pieces are: {', '.join(pieces)}",
                    where=f"measures.fittings.{i}.through",
                )
        held = (told.piece, *told.through)
        place = FittingPlace(
            name=told.name,
            fitting=fitting,
            piece=told.piece,
            at=at,
            stack_mm=math.fsum(brief.leather(pieces[n].role).thickness_mm for n in held),
            before_seam=told.before_seam,
        )
        places.append(place)
        if fitting.kind == "ring":
            remarks += _about_loop(place, pieces[told.piece])
        for name in told.through:
            remarks += _about_hole(place, pieces[name], assembly)
    return tuple(places), tuple(remarks)


def magnets_of(
    brief: Brief[FreeMeasures],
    pieces: Mapping[str, Piece],
    frames: Mapping[str, Frame],
    assembly: Assembly,
) -> tuple[tuple[MagnetPlace, ...], tuple[Remark, ...]]:
    """Return the closing magnets in their places, and remarks on pairs that do not hold.

    Raises:
        RequestError: For a magnet without a partner that names it, or of the same pole.
    """
    told = brief.measures.magnets
    by_name = {one.name: one for one in told}
    places: list[MagnetPlace] = []
    remarks: list[Remark] = []
    for i, one in enumerate(told, 1):
        partner = _partner(one, by_name, f"measures.magnets.{i}")
        pair = (brief.magnet(one.magnet), brief.magnet(partner.magnet))
        at = frames[one.piece].of_point(one.at)
        there = frames[partner.piece].of_point(partner.at)
        seen = _seen_from(assembly, (one.piece, at), (partner.piece, there))
        gap = _between(pair, seen)
        places.append(
            MagnetPlace(
                name=one.name,
                magnet=pair[0],
                piece=one.piece,
                at=at,
                partner=one.partner,
                pole_out=one.pole_out,
                leather_between_mm=max(gap, 0.0),
                before_seam=one.before_seam,
            )
        )
        if one.name < one.partner:  # once a pair
            back = _seen_from(assembly, (partner.piece, there), (one.piece, at))
            leather = math.fsum(
                brief.leather(pieces[name].role).thickness_mm
                for name, far in ((one.piece, seen), (partner.piece, back))
                if far.height_mm > 0.0  # the other lies beyond its own grain
            )
            remarks += _about_pair(one, seen, gap, leather)
            remarks += weak_pair(one.name, pair, max(gap, 0.0), brief.carried)
    return tuple(places), tuple(remarks)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """A place of a closed article as seen from another one.

    Attributes:
        beside_mm: From the other's axis, which is square to its leather.
        height_mm: Over the other's flesh face, towards its grain.
        level: Cosine of the angle between both axes; -1 where the two lie flesh to flesh.
    """

    beside_mm: float
    height_mm: float
    level: float


def _seen_from(assembly: Assembly, one: tuple[str, Point], other: tuple[str, Point]) -> _Seen:
    here, up = _closed(assembly, *one)
    there, other_up = _closed(assembly, *other)
    height = float((there - here) @ up)
    beside = float(np.linalg.norm(there - here - height * up))
    return _Seen(beside_mm=beside, height_mm=height, level=float(up @ other_up))


def _closed(assembly: Assembly, piece: str, at: Point) -> tuple[Floats, Floats]:
    """Return (place on the flesh face, direction of the grain) in the closed article."""
    pose: Pose = assembly.pose_of(assembly.panel_at(piece, at), 1.0)
    foot, tip = pose.of_points(np.array([[*at, 0.0], [*at, 1.0]]))
    return foot, tip - foot


def _fields(m: FreeMeasures) -> Iterator[str]:
    for section in ("fittings", "magnets"):
        for i, _ in enumerate(getattr(m, section), 1):
            yield f"measures.{section}.{i}"


def _with_hole(
    brief: Brief[FreeMeasures],
    piece: Piece,
    told: FreeFitting | FreeMagnet,
    frame: Frame,
    where: str,
) -> Piece:
    """Return the piece with a hole for a post; refuse a place that is not on it."""
    try:
        row = (
            brief.fitting(told.fitting)
            if isinstance(told, FreeFitting)
            else brief.magnet(told.magnet)
        )
    except RequestError as refused:
        field = "fitting" if isinstance(told, FreeFitting) else "magnet"
        raise RequestError(
            refused.what, because=refused.because, mend=refused.mend, where=f"{where}.{field}"
        ) from None
    at = frame.of_point(told.at)
    hangs = isinstance(row, Fitting) and row.kind == "ring"
    bent = next((fold.name for fold in piece.folds if in_strip(fold, at)), None)
    if hangs != (bent is not None):
        raise RequestError(
            f"{told.name}: it lies " + (f"in the bent strip of {bent}" if bent else "on no fold"),
            because="a ring hangs in a loop, which is a fold"
            if hangs
            else "a bent strip holds no fitting",
            mend="Move it",
            where=f"{where}.at",
        )
    if isinstance(row, Magnet):
        reach = max(row.diameter_mm, math.hypot(row.length_mm, row.width_mm)) / 2
        if piece.outline.contains(at, reach):
            return piece
        raise RequestError(
            f"{told.name}: it does not lie within {piece.name}",
            mend="Move it, or make the piece larger",
            where=f"{where}.at",
        )
    if row.hole_mm == 0:
        return piece
    hole = PunchedHole(name=told.name, at=at, diameter_mm=row.hole_mm)
    try:
        return replace(piece, holes=(*piece.holes, hole))
    except RequestError as refused:
        raise refused.at(f"{where}.at") from None


def _partner(one: FreeMagnet, by_name: Mapping[str, FreeMagnet], where: str) -> FreeMagnet:
    partner = by_name.get(one.partner)
    if partner is None or partner is one or partner.partner != one.name:
        raise RequestError(
            f"{one.name}: its partner {one.partner!r} "
            + ("is no other magnet" if partner in (None, one) else "has another partner"),
            because="magnets close in pairs",
            mend="Name two magnets as each other's partners",
            where=f"{where}.partner",
        )
    if partner.pole_out == one.pole_out:
        raise RequestError(
            f"{one.name} and {partner.name}: both have their {one.pole_out} out",
            because="like poles push one another away",
            mend="Write N for one and S for the other",
            where=f"{where}.pole_out",
        )
    return partner


def _between(pair: tuple[Magnet, Magnet], seen: _Seen) -> float:
    """Return leather and air between two magnets, mm; below 0 where they would overlap.

    Each lies on its piece's flesh face, away from the grain.
    """
    mine, theirs = pair[0].thickness_mm, pair[1].thickness_mm
    ends = (seen.height_mm, seen.height_mm - math.copysign(theirs, seen.level))
    return max(min(ends), -mine - max(ends))


def _about_pair(one: FreeMagnet, seen: _Seen, gap_mm: float, leather_mm: float) -> Iterator[Remark]:
    if seen.beside_mm > COAXIAL_MM or abs(seen.level) < math.cos(LEVEL):
        lean = math.degrees(math.acos(min(abs(seen.level), 1.0)))
        yield Remark(
            code="magnets-do-not-meet",
            severity="forbids",
            place=one.name,
            amount=seen.beside_mm,
            limit=COAXIAL_MM,
            sentence=(
                f"Closed, {one.name} and {one.partner} lie {seen.beside_mm:.1f} mm beside one "
                f"another and lean by {lean:.0f} degrees: they must face one another on one axis"
            ),
        )
    elif gap_mm < leather_mm - MEET_MM:
        room = f"{gap_mm:.1f} mm apart" if gap_mm >= 0 else f"{-gap_mm:.1f} mm in one another"
        yield Remark(
            code="no-room-for-magnet",
            severity="forbids",
            place=one.name,
            amount=gap_mm,
            limit=leather_mm,
            sentence=(
                f"Closed, {one.name} and {one.partner} would lie {room}, and {leather_mm:.1f} mm "
                "of leather lie between them: fold it wider, or take thinner magnets"
            ),
        )


def _about_loop(place: FittingPlace, piece: Piece) -> Iterator[Remark]:
    """Forbid a ring that is narrower than the loop that it hangs in."""
    fold = next(f for f in piece.folds if in_strip(f, place.at))
    wide, inside = fold.line.length, place.fitting.head_diameter_mm
    if wide + RING_ROOM_MM > inside + 1e-9:
        yield Remark(
            code="loop-wider-than-ring",
            severity="forbids",
            place=place.name,
            amount=wide,
            limit=inside - RING_ROOM_MM,
            sentence=(
                f"The loop of {piece.name} is {wide:.1f} mm wide at {fold.name} and the "
                f"{place.fitting.name} {inside:g} mm inside: make it at most "
                f"{inside - RING_ROOM_MM:g} mm wide there"
            ),
        )


def _about_hole(place: FittingPlace, through: Piece, assembly: Assembly) -> Iterator[Remark]:
    """Forbid a fitting that meets no hole of a piece it holds, as the closed article lies."""
    holes = [
        h
        for h in through.holes
        if (through.name, h.at) != (place.piece, place.at)
        and not any(in_strip(fold, h.at) for fold in through.folds)
    ]
    away = math.inf
    for hole in holes:
        seen = _seen_from(assembly, (place.piece, place.at), (through.name, hole.at))
        if abs(seen.level) > math.cos(LEVEL):
            away = min(away, seen.beside_mm)
    if away > MEET_MM:
        nearest = f"the nearest is {away:.2f} mm off" if math.isfinite(away) else "it has none"
        yield Remark(
            code="fitting-meets-no-hole",
            severity="forbids",
            place=place.name,
            amount=away if math.isfinite(away) else None,
            limit=MEET_MM,
            sentence=(f"Closed, no hole of {through.name} lies over the {place.name}: {nearest}"),
        )

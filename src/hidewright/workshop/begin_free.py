"""A free design from a drawing: outermost outlines are pieces, inner ones what is on them."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from hidewright.catalogue.shelf import Catalogue, find
from hidewright.design.carried import Carried
from hidewright.design.kinds.free_measures import (
    DECIMALS,
    FreeBlank,
    FreeCutOut,
    FreeFold,
    FreeHole,
    FreeHollow,
    FreeIsland,
    FreeMeasures,
    FreePiece,
    FreeZone,
    kept,
)
from hidewright.design.specification import Specification
from hidewright.drawing.reading import NamedOutline, NamedPath, Reading
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path, turn_between
from hidewright.geometry.probe import shared_area
from hidewright.geometry.segment import Point
from hidewright.workshop.begin import begin

#: A round inner outline smaller than this is a punched hole, mm.
LARGEST_HOLE_MM = 12.0
#: Sides that meet at more than this are two spans, radians.
CORNER = math.radians(20.0)
#: An inner outline whose name or layer begins so is cut out.
CUT_OUT = ("cut", "window")
#: An inner outline may run along the edge of the outer one, mm.
TOUCH_MM = 0.02
#: Curves are read as arcs that near; a round one misses a circle by no more than this, mm.
ROUND_MM = 0.1


def begin_from_outlines(
    reading: Reading,
    catalogue: Catalogue,
    *,
    name: str = "",
    things: tuple[tuple[str, int], ...] = (),
) -> tuple[Specification[Any], tuple[str, ...]]:
    """Return a free design of a drawing's outlines, no seams assigned, and what to tell the maker.

    Raises:
        RequestError: When the drawing holds no closed outline.
    """
    if not reading.outlines:
        raise RequestError(
            "no closed outline is drawn",
            because=_none_closed(reading),
            mend="Close the outlines of the pieces, or save them as paths",
            where=reading.name,
        )
    spec = begin("free", catalogue, name=name)
    carried = tuple(
        Carried(thing=find(catalogue.things, thing), count=count) for thing, count in things
    )
    pieces, said = _pieces(reading.outlines, reading.paths)
    moulded = [p for p in pieces if p.zones]
    measures = FreeMeasures(
        pieces=pieces,
        seams=(),
        blanks=tuple(FreeBlank(name=p.name, pieces=(p.name,)) for p in moulded),
        hollows=tuple(FreeHollow(zone=f"{p.name}/{z.name}") for p in moulded for z in p.zones),
    )
    brief = replace(spec.brief, measures=measures, carried=carried)
    divided = any(z.islands for p in moulded for z in p.zones)
    tooling = replace(spec.tooling, cavity_floor=spec.tooling.cavity_floor or divided)
    return replace(spec, brief=brief, tooling=tooling), (*_told(reading), *said)


def _none_closed(reading: Reading) -> str:
    """Return what was found instead of a closed outline."""
    open_ones = [
        f"{one.name}, its ends {math.dist(one.path.start, one.path.end):.2f} mm apart"
        for one in reading.paths[:5]
    ]
    left_out = [f"{one.what} was left out, as {one.why}" for one in reading.skipped[:5]]
    said = [f"these stayed open: {'; '.join(open_ones)}"] if open_ones else []
    return "; ".join([*said, *left_out]) or "nothing in it is a line"


def _told(reading: Reading) -> Iterable[str]:
    yield f"One unit of {reading.name} is {reading.unit.mm:g} mm ({reading.unit.source})."
    for gap in reading.closed_gaps:
        x, y = gap.at
        yield f"Closed a gap of {gap.gap_mm:.3f} mm at ({x:.1f}, {y:.1f}) mm: {gap.where}."
    for one in reading.skipped:
        yield f"Left out {one.count} x {one.what} ({one.where}): {one.why}."


def _pieces(
    outlines: tuple[NamedOutline, ...], paths: tuple[NamedPath, ...]
) -> tuple[tuple[FreePiece, ...], list[str]]:
    around = {one.name: [other for other in outlines if _is_inside(one, other)] for one in outlines}
    outermost = [one for one in outlines if not around[one.name]]
    names: list[str] = []
    pieces: list[FreePiece] = []
    said: list[str] = [
        f"Left out {path.name}: it is not closed, and no straight line across a piece."
        for path in paths
        if not any(_is_across(path.path, one.outline) for one in outermost)
    ]
    for one in outermost:
        names.append(_unique(one.name or one.layer or "piece", names))
        inner = [i for i in outlines if one in around[i.name]]
        holes = [i for i in inner if _is_hole(i.outline)]
        windows = [i for i in inner if i not in holes and _is_cut_out(i)]
        zones = [i for i in inner if i not in (*holes, *windows) and len(around[i.name]) == 1]
        others = [i for i in inner if i not in (*holes, *windows, *zones)]
        islands = [i for i in others if len(around[i.name]) == 2]
        said += [
            f"Left out {i.name}: it lies inside a divider of a moulded zone."
            for i in others
            if i not in islands
        ]
        pieces.append(
            FreePiece(
                name=names[-1],
                outline=with_sides_named(kept(one.outline)),
                zones=tuple(
                    _zone(z, one.outline, [i for i in islands if z in around[i.name]])
                    for z in zones
                ),
                holes=tuple(_hole(h) for h in holes),
                cut_outs=tuple(FreeCutOut(name=w.name, outline=kept(w.outline)) for w in windows),
                folds=tuple(_fold(f) for f in paths if _is_across(f.path, one.outline)),
            )
        )
        said.append(_about(pieces[-1]))
    said += [
        f"{names[one]} and {names[two]} cross: each became a piece of its own. Draw a zone, a hole "
        "or a window wholly inside its piece."
        for one, two in _crossing([one.outline for one in outermost])
    ]
    return tuple(pieces), said


def _crossing(outlines: Sequence[Outline]) -> Iterator[tuple[int, int]]:
    """Yield which two outlines, by number, overlap by more than they may touch."""
    boxes = np.array([one.bounds for one in outlines]).reshape(-1, 4)
    for i, one in enumerate(outlines):
        left, bottom, right, top = boxes[i]
        x = np.minimum(right, boxes[:, 2]) - np.maximum(left, boxes[:, 0])
        y = np.minimum(top, boxes[:, 3]) - np.maximum(bottom, boxes[:, 1])
        for j in np.flatnonzero((x > TOUCH_MM) & (y > TOUCH_MM)):
            if j > i and shared_area(one, outlines[j]) > TOUCH_MM * (x[j] + y[j]):
                yield i, int(j)


def _about(piece: FreePiece) -> str:
    drawn = piece.outline
    more = [
        f"zone {z.name}"
        + (f" open at its {', '.join(z.mouths)}" if z.mouths else "")
        + (f" with divider {', '.join(i.name for i in z.islands)}" if z.islands else "")
        for z in piece.zones
    ]
    more += [f"hole {h.name} of {h.diameter_mm:.1f} mm" for h in piece.holes]
    more += [f"window {c.name}" for c in piece.cut_outs]
    more += [f"fold {f.name} by {math.degrees(f.angle_rad):.0f} degrees" for f in piece.folds]
    inside = f", with {', '.join(more)}" if more else ""
    spans = ", ".join(drawn.spans)
    return f"{piece.name}: {drawn.width:.1f} x {drawn.height:.1f} mm{inside}; its sides: {spans}."


def _zone(one: NamedOutline, piece: Outline, islands: Sequence[NamedOutline]) -> FreeZone:
    drawn = with_sides_named(kept(one.outline))
    mouths = tuple(span for span in drawn.spans if _is_mouth(drawn.span_path(span), piece))
    return FreeZone(
        name=one.name,
        mouths=mouths,
        outline=drawn,
        islands=tuple(
            FreeIsland(name=i.name, outline=with_sides_named(kept(i.outline))) for i in islands
        ),
    )


def _is_mouth(side: Path, piece: Outline) -> bool:
    """Whether a side is straight and lies on the edge of the piece, so that the zone is open."""
    straight = side.length < math.dist(side.start, side.end) + TOUCH_MM
    return straight and all(
        piece.nearest(side.point_at(side.length * k / 8))[1] < TOUCH_MM for k in range(9)
    )


def _hole(one: NamedOutline) -> FreeHole:
    left, bottom, right, top = one.outline.bounds
    at = (round((left + right) / 2, 4) + 0.0, round((bottom + top) / 2, 4) + 0.0)
    return FreeHole(name=one.name, at=at, diameter_mm=round((right - left + top - bottom) / 2, 3))


def _fold(one: NamedPath) -> FreeFold:
    """Return a fold by a right angle along a straight line."""

    def at(point: Point) -> Point:
        return (round(point[0], DECIMALS) + 0.0, round(point[1], DECIMALS) + 0.0)

    return FreeFold(name=one.name, line=(at(one.path.start), at(one.path.end)))


def _is_across(path: Path, piece: Outline) -> bool:
    """Whether a path is straight and runs inside a piece."""
    straight = path.length < math.dist(path.start, path.end) + TOUCH_MM
    middle = path.point_at(path.length / 2)
    return straight and piece.contains(middle)


def _is_cut_out(one: NamedOutline) -> bool:
    return any(word.lower().startswith(CUT_OUT) for word in (one.name, one.layer))


def _is_inside(one: NamedOutline, other: NamedOutline) -> bool:
    if one is other or one.outline.area >= other.outline.area:
        return False
    return bool(other.outline.polygon.buffer(TOUCH_MM).covers(one.outline.polygon))


def _is_hole(drawn: Outline) -> bool:
    wide, high = drawn.width, drawn.height
    if max(wide, high) >= LARGEST_HOLE_MM or abs(wide - high) > ROUND_MM:
        return False
    left, bottom, right, top = drawn.bounds
    middle = ((left + right) / 2, (bottom + top) / 2)
    away = [math.dist(drawn.point_at(drawn.length * k / 64), middle) for k in range(64)]
    return max(away) - min(away) < ROUND_MM


def _unique(name: str, taken: list[str]) -> str:
    if name not in taken:
        return name
    number = next(n for n in range(2, len(taken) + 3) if f"{name} {n}" not in taken)
    return f"{name} {number}"


def with_sides_named(drawn: Outline) -> Outline:
    """Return an outline with each side between two corners a span: ``side 1``, ``side 2``, ...

    A smooth outline, or one with a single corner, is one span ``rim``.
    """
    parts = drawn.segments
    corners = [k for k in range(len(parts)) if abs(turn_between(parts[k - 1], parts[k])) > CORNER]
    if len(corners) < 2:
        return drawn.renamed(lambda _: "rim")
    begun = (*parts[corners[0] :], *parts[: corners[0]])
    starts = {(k - corners[0]) % len(parts) for k in corners}
    named, number = [], 0
    for k, part in enumerate(begun):
        number += k in starts
        named.append(part.named(f"side {number}"))
    return Outline(tuple(named))

"""The pieces of a design laid side by side, flat: every kind of line on a layer of its own."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from hidewright.catalogue.leathers import Leather
from hidewright.design.design import Design
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.seam import Hole, SewnSeam
from hidewright.drawing.drawing import Layer
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Point
from hidewright.units.length import LengthUnit
from hidewright.workshop import patterns
from hidewright.workshop.views.rows import Cell, laid_in_rows
from hidewright.workshop.views.svg_view import (
    BY,
    USUAL,
    FlatView,
    Frame,
    Handle,
    Mark,
    ViewLayer,
    circles,
    drawn,
    flag_beside,
    level_size,
    said,
    size_words,
    slits,
    spot,
    standing_for,
    type_size,
    upright_size,
    view_of,
    within,
    words_wide,
)

LAYERS: tuple[ViewLayer, ...] = (
    ("leather", "Leather", True),
    ("hollow", "Moulded hollow", True),
    ("free", "Free of glue", True),
    ("fold", "Folds", True),
    ("backbone", "Backbone direction", True),
    ("punch", "Punched holes", True),
    ("stitch", "Stitch holes", True),
    ("cut", "Cut line", True),
    ("size", "Sizes", True),
    ("seam", "Seam names", True),
    ("words", "Names", True),
)
#: Where each kind of line of a pattern goes.
OF_PATTERN: Mapping[Layer, str] = {
    patterns.CUT: "cut",
    patterns.WALL: "cut",
    patterns.ZONE: "hollow",
    patterns.FOLD: "fold",
    patterns.FREE: "free",
    patterns.PUNCH: "punch",
    patterns.LIE: "backbone",
}
#: Length of a slit and diameter of a round hole as drawn, mm.
SLIT_MM, ROUND_MM = 2.0, 1.2
#: Lines of sizes are this far from the piece and from one another, in sizes of the type.
FIRST, NEXT = 2.6, 2.3
#: Room between pieces, in sizes of the type.
BETWEEN = 2.0
#: A flange narrower than this has no size of its own, mm.
LEAST_FLANGE_MM = 0.5
#: Ends of a line that touch a side of an outline lie this near it, mm.
TOUCHES_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """One piece where it lies in the picture."""

    piece: Piece
    shift: Point


def pieces_view(
    design: Design,
    sewn: Sequence[SewnSeam],
    leathers: Sequence[tuple[str, Leather]],
    unit: LengthUnit,
    handles: Sequence[Handle] = (),
    frame: Frame = USUAL,
) -> FlatView:
    """Return all pieces side by side, dry and flat, grain side up.

    Args:
        design: What is drawn.
        sewn: Its seams with their holes.
        leathers: (role, leather), to be named.
        unit: In which sizes are told.
        handles: In the frames of their pieces, from ``handles_of``; placed on the drawing.
        frame: What the picture fills.
    """
    em = _type_of(design.pieces, frame)
    of_role = {role: leather.name for role, leather in leathers}
    laid = _laid(design.pieces, of_role, unit, em, frame)
    marks: list[Mark] = []
    for one in laid:
        marks += _lines(one, of_role[one.piece.role])
        marks += _holes(one, sewn)
        marks += _sizes(one, unit, em)
        marks += _seam_names(one, sewn, em)
        marks += _names(one, of_role[one.piece.role], em)
    shifts = {one.piece.name: one.shift for one in laid}
    placed = tuple(_placed(h, shifts[h.place.split("/")[0]]) for h in handles)
    return view_of(marks, LAYERS, _alt(design, unit), em, placed)


def piece_words(piece: Piece, unit: LengthUnit) -> str:
    """Return a piece and its main sizes in words."""
    o = piece.outline
    words = f"{piece.name} {size_words(o.width, unit)}{BY}{size_words(o.height, unit)}"
    for zone in piece.zones:
        w, h = size_words(zone.outline.width, unit), size_words(zone.outline.height, unit)
        words += f" with a hollow {w}{BY}{h}, {size_words(zone.depth_mm, unit)} deep"
    return words


def holes_of(piece: str, seam: SewnSeam) -> tuple[tuple[Hole, ...], ...]:
    """Return the holes of a seam on each layer that is this piece."""
    return tuple(layer.holes for layer in seam.layers if layer.piece == piece)


def hole_marks(
    layer: str, holes: Sequence[Hole], shift: Point, slit_mm: float, round_mm: float, look: str = ""
) -> tuple[Mark, ...]:
    """Return stitch holes as they are pricked: slits by their slant, the others round."""
    dx, dy = shift
    slanted = [((h.at[0] + dx, h.at[1] + dy), h.slant) for h in holes if h.slant is not None]
    plain = [(h.at[0] + dx, h.at[1] + dy) for h in holes if h.slant is None]
    marks = []
    if slanted:
        marks.append(slits(layer, slanted, slit_mm, look))
    if plain:
        marks.append(circles(layer, plain, round_mm / 2, look))
    return tuple(marks)


def _type_of(pieces: Sequence[Piece], frame: Frame) -> float:
    """Return the size of the type from the pieces laid out bare."""
    cells = [Cell(box=p.outline.bounds, room=(12.0, 12.0, 12.0, 12.0)) for p in pieces]
    _, (left, bottom, right, top) = laid_in_rows(cells, 6.0, frame)
    return type_size(right - left, top - bottom, frame)


def _laid(
    pieces: Sequence[Piece], names: Mapping[str, str], unit: LengthUnit, em: float, frame: Frame
) -> tuple[_Laid, ...]:
    cells = [Cell(box=p.outline.bounds, room=_room(p, names[p.role], unit, em)) for p in pieces]
    shifts, _ = laid_in_rows(cells, BETWEEN * em, frame)
    return tuple(_Laid(piece=p, shift=s) for p, s in zip(pieces, shifts, strict=True))


def _room(piece: Piece, leather: str, unit: LengthUnit, em: float) -> tuple[float, ...]:
    """Return the room that sizes and names need (left, below, right, above) of a piece, mm."""
    moulded = bool(piece.zones)
    sizes = (FIRST + (NEXT if moulded else 0.0) + 1.2) * em
    flange = _flange(piece)
    beside = 2.2 * em + words_wide(size_words(flange[1][0], unit), em) if flange else 1.2 * em
    wanted = max(words_wide(piece.name, em, 1.3), words_wide(leather, em, 0.85))
    more = max((wanted - piece.outline.width - sizes - beside) / 2, 0.0)
    above = 3.4 * em + (sizes if any(_is_high(piece, z) for z in piece.zones) else 0.0)
    return (sizes + more, sizes, beside + more, above)


def _lines(one: _Laid, leather: str) -> list[Mark]:
    """Return all lines of a piece's pattern but its stitch holes, and its leather under them."""
    piece, shift = one.piece, one.shift
    marks = [drawn("leather", piece.outline, shift)]
    marks += [drawn("leather", window, shift, "window") for window in piece.cut_outs]
    for stroke in patterns.piece_drawing(piece, (), leather).strokes:
        look = "wall" if stroke.layer == patterns.WALL else ""
        mark = drawn(OF_PATTERN[stroke.layer], stroke.curve, shift, look)
        marks.append(within(mark, piece.outline, shift) if mark.layer == "hollow" else mark)
    for zone in piece.zones:
        left, bottom, right, top = zone.outline.moved(*shift).bounds
        at = (left + 0.3 * (right - left), (bottom + top) / 2)
        marks.append(spot("hollow", f"{piece.name}/{zone.name}", at))
    return marks


def _holes(one: _Laid, sewn: Sequence[SewnSeam]) -> list[Mark]:
    return [
        mark
        for seam in sewn
        for holes in holes_of(one.piece.name, seam)
        for mark in hole_marks("stitch", holes, one.shift, SLIT_MM, ROUND_MM)
    ]


# -- sizes ----------------------------------------------------------------------------------------


def _sizes(one: _Laid, unit: LengthUnit, em: float) -> list[Mark]:
    """Return the sizes of a piece: of its hollows near it, its own beyond them, its flange."""
    piece, (dx, dy) = one.piece, one.shift
    left, bottom, right, top = piece.outline.moved(dx, dy).bounds
    out = FIRST + (NEXT if piece.zones else 0.0)
    marks: list[Mark] = []
    for zone in piece.zones:
        hollow = zone.outline.moved(dx, dy)
        x0, y0, x1, y1 = hollow.bounds
        up = _is_high(piece, zone)
        level = top + FIRST * em if up else bottom - FIRST * em
        marks += level_size(
            "size",
            _corner(hollow, 0, up),
            _corner(hollow, 2, up),
            level,
            size_words(x1 - x0, unit),
            em,
        )
        marks += upright_size(
            "size",
            _corner(hollow, 1, False),
            _corner(hollow, 3, False),
            left - FIRST * em,
            size_words(y1 - y0, unit),
            em,
        )
    whole = piece.outline.moved(dx, dy)
    marks += level_size(
        "size",
        _corner(whole, 0, False),
        _corner(whole, 2, False),
        bottom - (FIRST if all(_is_high(piece, z) for z in piece.zones) else out) * em,
        size_words(right - left, unit),
        em,
    )
    marks += upright_size(
        "size",
        _corner(whole, 1, False),
        _corner(whole, 3, False),
        left - out * em,
        size_words(top - bottom, unit),
        em,
    )
    flange = _flange(piece)
    if flange:
        (x, y), (wide, _) = flange
        marks += level_size(
            "size",
            (x + dx, y + dy),
            (x + wide + dx, y + dy),
            y + dy,
            size_words(wide, unit),
            em,
            beyond=True,
        )
    return marks


def _corner(outline: Outline, side: int, far: bool) -> Point:
    """Return where an outline touches a side of its box, its lowest or leftmost such point.

    Args:
        outline: What is measured.
        side: 0 left, 1 bottom, 2 right, 3 top.
        far: The highest or rightmost such point instead.
    """
    bound, axis = outline.bounds[side], side % 2
    touching = [
        p for s in outline.segments for p in (s.start, s.end) if abs(p[axis] - bound) < TOUCHES_MM
    ]
    if touching:
        return (max if far else min)(touching, key=lambda p: p[1 - axis])
    left, bottom, right, top = outline.bounds
    return (bound, (bottom + top) / 2) if axis == 0 else ((left + right) / 2, bound)


def _is_high(piece: Piece, zone: MouldedZone) -> bool:
    """Whether a hollow lies in the upper half of its piece, so that its width is told above."""
    return sum(zone.outline.bounds[1::2]) > sum(piece.outline.bounds[1::2]) + 1.0


def _flange(piece: Piece) -> tuple[Point, tuple[float, float]] | None:
    """Return (its inner end, (width, 0)) of the flange at the right of the last hollow."""
    for zone in reversed(piece.zones):
        if any(ending == "cut at height" for _, ending in zone.edges):
            continue
        _, bottom, right, top = zone.outline.bounds
        wide = piece.outline.bounds[2] - right
        if wide > LEAST_FLANGE_MM:
            return (right, bottom + 0.62 * (top - bottom)), (wide, 0.0)
    return None


# -- words ----------------------------------------------------------------------------------------


def _names(one: _Laid, leather: str, em: float) -> list[Mark]:
    left, _, right, top = one.piece.outline.bounds
    x, y = (left + right) / 2 + one.shift[0], top + one.shift[1]
    if any(_is_high(one.piece, z) for z in one.piece.zones):
        y += (FIRST + 1.2) * em
    name = said("words", one.piece.name, (x, y + 1.9 * em), em, 1.3, look="title")
    of = said("words", leather, (x, y + 0.75 * em), em, 0.85, look="under")
    return [name, flag_beside(one.piece.name, (name, of), name), standing_for(leather, of)]


def _seam_names(one: _Laid, sewn: Sequence[SewnSeam], em: float) -> list[Mark]:
    """Return the name of each seam and its count of holes beside the edge it runs along."""
    marks = []
    for seam in sewn:
        for layer in seam.layers:
            if layer.piece == one.piece.name:
                words = f"{seam.name}: {seam.count} holes"
                at, angle = beside_edge(one.piece, layer.holes, 0.8 * em)
                where = (at[0] + one.shift[0], at[1] + one.shift[1])
                name = said("seam", words, where, em, 0.85, "middle", angle)
                marks.append(standing_for(seam.name, name))
    return marks


def beside_edge(piece: Piece, holes: Sequence[Hole], away: float) -> tuple[Point, float]:
    """Return where words stand outside of the edge that holes follow, and how they run.

    They stand a quarter along the holes, off the sizes that stand at the middle of each side; their
    middle line is ``away`` from the edge.
    """
    here = holes[len(holes) // 4].at
    along, _ = piece.outline.nearest(here)
    (x, y), (nx, ny) = piece.outline.point_at(along), piece.outline.normal_at(along)
    angle = math.atan2(nx, -ny)
    if math.cos(angle) < -1e-6 or (abs(math.cos(angle)) <= 1e-6 and math.sin(angle) < 0):
        angle += math.pi
    # the base line is lower than the middle of the letters by a third of the type
    ux, uy = -math.sin(angle), math.cos(angle)
    drop = 0.35 * away
    return (x + nx * away - ux * drop, y + ny * away - uy * drop), angle


def _alt(design: Design, unit: LengthUnit) -> str:
    told = "; ".join(piece_words(p, unit) for p in design.pieces)
    return f"Pieces of {design.name} laid flat: {told}."


def _placed(handle: Handle, shift: Point) -> Handle:
    """Return a handle of a piece's frame in the view's, where y runs down."""
    (x, y), (dx, dy) = handle.at, handle.direction
    return replace(
        handle,
        at=(x + shift[0], -(y + shift[1])),
        direction=(dx, 0.0 - dy),
        origin=(shift[0], 0.0 - shift[1]),
    )

"""The seams of a design: every piece with its holes, large enough to count."""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from hidewright.design.design import Design
from hidewright.design.piece import Piece
from hidewright.design.seam import Hole, SewnSeam
from hidewright.geometry.segment import Point
from hidewright.units.length import LengthUnit
from hidewright.workshop.views.flat_view import beside_edge, hole_marks, holes_of
from hidewright.workshop.views.rows import Cell, laid_in_rows
from hidewright.workshop.views.svg_view import (
    USUAL,
    FlatView,
    Frame,
    Mark,
    ViewLayer,
    circles,
    drawn,
    flag_beside,
    polyline,
    said,
    size_words,
    standing_for,
    type_size,
    view_of,
    within,
    words_wide,
)

LAYERS: tuple[ViewLayer, ...] = (
    ("leather", "Leather", True),
    ("hollow", "Moulded hollow", True),
    ("cut", "Cut line", True),
    ("stitch", "Stitch holes", True),
    ("back", "Stitches sewn back", True),
    ("start", "First and last hole", True),
    ("count", "Every tenth hole", True),
    ("seam", "Seams", True),
    ("words", "Names", True),
)
#: Length of a slit and diameter of a round hole as drawn, over the least pitch of the seam.
SLIT, ROUND = 0.6, 0.4
#: Holes are counted in tens.
TENTH = 10
#: Room round a piece, in sizes of the type.
ROUND_IT, ABOVE, BETWEEN = 3.4, 4.6, 2.0


def seams_view(
    design: Design, sewn: Sequence[SewnSeam], unit: LengthUnit, frame: Frame = USUAL
) -> FlatView | None:
    """Return the pieces that are sewn, each seam named; None when nothing is sewn.

    Rings mark the first and last hole of each seam, strokes of another colour the stitches that are
    sewn back at its ends, numbers every tenth hole in sewing order.
    """
    used = {layer.piece for seam in sewn for layer in seam.layers}
    pieces = [p for p in design.pieces if p.name in used]
    if not pieces:
        return None
    told = {s.name: seam_words(s, unit) for s in sewn}
    bare = [Cell(box=p.outline.bounds, room=(12.0, 12.0, 12.0, 16.0)) for p in pieces]
    _, (left, bottom, right, top) = laid_in_rows(bare, 6.0, frame)
    em = type_size(right - left, top - bottom, frame)
    cells = [_cell(p, sewn, told, em) for p in pieces]
    shifts, _ = laid_in_rows(cells, BETWEEN * em, frame)
    marks: list[Mark] = []
    for piece, shift in zip(pieces, shifts, strict=True):
        marks.append(drawn("leather", piece.outline, shift))
        marks.append(drawn("cut", piece.outline, shift))
        marks += [
            within(drawn("hollow", zone.outline, shift), piece.outline, shift)
            for zone in piece.zones
        ]
        marks += _heading(piece, sewn, told, shift, em)
        for seam in sewn:
            for holes in holes_of(piece.name, seam):
                marks += _seam(piece, seam, holes, shift, em)
    return view_of(marks, LAYERS, _alt(design, told.values()), em)


def seam_words(seam: SewnSeam, unit: LengthUnit) -> str:
    """Return what a seam is like: count, pitch, and what is sewn back."""
    low, high = (size_words(p, unit, 2) for p in seam.pitch_mm)
    pitch = low if low == high else f"{low.split()[0]} to {high}"
    back = seam.reverse_stitches
    sewn_back = f", {back} sewn back at each end" if back else ""
    return f"{seam.name}: {seam.count} holes, pitch {pitch}{sewn_back}"


def _cell(piece: Piece, sewn: Sequence[SewnSeam], told: dict[str, str], em: float) -> Cell:
    lines = _lines(piece, sewn, told)
    wanted = max(words_wide(words, em, 0.85) for words in lines)
    side = max((wanted - piece.outline.width) / 2, ROUND_IT * em)
    above = (ABOVE + 1.1 * (len(lines) - 1)) * em
    return Cell(box=piece.outline.bounds, room=(side, ROUND_IT * em, side, above))


def _lines(piece: Piece, sewn: Sequence[SewnSeam], told: dict[str, str]) -> list[str]:
    """Return what is said of the seams of a piece, a line for each part of a sentence too long."""
    return [
        part
        for seam in sewn
        if holes_of(piece.name, seam)
        for part in told[seam.name].rsplit(", ", 1)
    ]


def _heading(
    piece: Piece, sewn: Sequence[SewnSeam], told: dict[str, str], shift: Point, em: float
) -> list[Mark]:
    left, _, right, top = piece.outline.bounds
    x, y = (left + right) / 2 + shift[0], top + shift[1] + 2.0 * em
    lines = _lines(piece, sewn, told)
    marks = [
        said("seam", words, (x, y + 1.1 * em * (len(lines) - 1 - i)), em, 0.85, look="upright")
        for i, words in enumerate(lines)
    ]
    seams = {told[seam.name].rsplit(", ", 1)[0]: seam.name for seam in sewn}
    marks = [
        standing_for(seams[words], mark) if words in seams else mark
        for words, mark in zip(lines, marks, strict=True)
    ]
    title = (x, y + (1.1 * len(lines) + 0.2) * em)
    name = said("words", piece.name, title, em, 1.3, look="title")
    return [*marks, name, flag_beside(piece.name, (*marks, name), name)]


def _seam(
    piece: Piece, seam: SewnSeam, holes: Sequence[Hole], shift: Point, em: float
) -> list[Mark]:
    dx, dy = shift
    least = seam.pitch_mm[0]
    at = [(h.at[0] + dx, h.at[1] + dy) for h in holes]
    marks = list(hole_marks("stitch", holes, shift, SLIT * least, ROUND * least))
    back = seam.reverse_stitches
    if back:
        ends = [at[: back + 1], at[-back - 1 :]]
        data = [pair for end in ends for pair in pairwise(end)]
        marks += [_stroke(a, b, least) for a, b in data]
    marks.append(circles("start", [at[0], at[-1]], 0.6 * least))
    for i in range(TENTH - 1, len(holes) - 1, TENTH):
        spot, angle = beside_edge(piece, (holes[i],), 0.9 * em)
        place = (spot[0] + dx, spot[1] + dy)
        marks.append(said("count", str(i + 1), place, em, 0.75, "middle", angle, "under"))
    (x, y), angle = beside_edge(piece, holes[:1], 0.9 * em)
    marks.append(said("start", "start", (x + dx, y + dy), em, 0.75, "middle", angle))
    return marks


def _stroke(a: Point, b: Point, least: float) -> Mark:
    """Return a stitch between two holes, drawn short of both."""
    away = math.dist(a, b)
    short = min(0.25 * least / away, 0.4)
    u, v = (b[0] - a[0]) * short, (b[1] - a[1]) * short
    return polyline("back", ((a[0] + u, a[1] + v), (b[0] - u, b[1] - v)))


def _alt(design: Design, told: Iterable[str]) -> str:
    return f"Seams of {design.name}. {'; '.join(told)}."

"""Pieces and blanks as full-size patterns, every kind of line told apart in black and white."""

import math
from collections.abc import Sequence

from hidewright.design.blank import Blank
from hidewright.design.piece import Piece
from hidewright.design.seam import SewnSeam
from hidewright.design.states import CutOutline
from hidewright.drawing.drawing import LETTER_WIDTH, Drawing, Layer, Stroke, Text
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Point, line, turn
from hidewright.geometry.shapes import circle

CUT = Layer(name="cut here", style="solid", weight_mm=0.4)
ZONE = Layer(name="inside of the moulded hollow", style="dashed", weight_mm=0.2)
FOLD = Layer(name="middle of a fold", style="dash-dot", weight_mm=0.25)
FREE = Layer(name="no glue between these lines", style="dotted", weight_mm=0.2)
HOLE = Layer(name="stitch hole", style="solid", weight_mm=0.15)
PUNCH = Layer(name="punch", style="solid", weight_mm=0.3)
LIE = Layer(name="backbone direction", style="solid", weight_mm=0.2)
WORDS = Layer(name="words", style="solid", weight_mm=0.2)
CENTRE = Layer(name="centre mark", style="solid", weight_mm=0.2)

#: Diameter at which a stitch hole is drawn; what it is made with is told on the build sheet, mm.
DRAWN_HOLE_MM = 1.0
CENTRE_MARK_MM = 6.0
LINE_MM = 7.0


def piece_drawing(piece: Piece, seams: Sequence[SewnSeam], leather: str) -> Drawing:
    """Return a piece's pattern, dry, seen on its grain side.

    Args:
        piece: What is drawn.
        seams: All sewn seams; the holes of this piece are taken from them.
        leather: Name of its leather, to be written on it.
    """
    strokes = [Stroke(curve=piece.outline, layer=CUT, part=piece.name)]
    strokes += [Stroke(curve=c, layer=CUT, part=piece.name) for c in piece.cut_outs]
    strokes += [Stroke(curve=z.outline, layer=ZONE, part=piece.name) for z in piece.zones]
    for fold in piece.folds:
        strokes.append(Stroke(curve=fold.line, layer=FOLD, part=piece.name))
        strokes += [
            Stroke(curve=_beside(fold.line, side * fold.glue_free_mm / 2), layer=FREE)
            for side in (-1, 1)
        ]
    for hole in piece.holes:
        strokes.append(Stroke(curve=circle(hole.diameter_mm / 2, hole.at), layer=PUNCH))
        if hole.slit is not None:
            strokes.append(Stroke(curve=_slit(hole.at, hole.slit, hole.diameter_mm), layer=PUNCH))
    for seam in seams:
        for layer in seam.layers:
            if layer.piece == piece.name:
                strokes += [
                    Stroke(curve=circle(DRAWN_HOLE_MM / 2, h.at), layer=HOLE) for h in layer.holes
                ]
    strokes += _backbone_arrow(piece)
    return Drawing(
        title=piece.name,
        strokes=tuple(strokes),
        texts=_words(piece, [piece.name, f"{leather}", "dry, grain side up"]),
    )


def blank_drawing(blank: Blank, outline: CutOutline, leather: str) -> Drawing:
    """Return a blank's pattern as it is cut, dry and flat, with marks to centre it by.

    Args:
        blank: What it is.
        outline: Its outline in the cut state.
        leather: Name of its leather.
    """
    left, bottom, right, top = outline.bounds
    x, y = (left + right) / 2, (bottom + top) / 2
    strokes = [Stroke(curve=outline, layer=CUT, part=blank.name)]
    for start, end in (
        ((x, bottom), (x, bottom + CENTRE_MARK_MM)),
        ((x, top - CENTRE_MARK_MM), (x, top)),
        ((left, y), (left + CENTRE_MARK_MM, y)),
        ((right - CENTRE_MARK_MM, y), (right, y)),
    ):
        strokes.append(Stroke(curve=Path((line(start, end),)), layer=CENTRE))
    words = (blank.name, leather, "rough blank, cut dry, grain side up")
    texts = _lines_of_words(words, (x, y + 12.0), outline.width * 0.8)
    return Drawing(title=f"blank {blank.name}", strokes=tuple(strokes), texts=texts)


def _words(piece: Piece, lines: Sequence[str]) -> tuple[Text, ...]:
    """Return lines of words where no hole is in their way."""
    home = (piece.zones[0] if piece.zones else piece).outline
    room = home.width * (0.8 if piece.zones else 0.6)
    x, y = _middle(piece)
    taken = [hole.at[1] for hole in piece.holes]
    for down in (0.0, 12.0, -12.0, 24.0, -24.0):
        lowest = y - down - LINE_MM * len(lines)
        if not any(lowest - 3.0 < t < y - down + 8.0 for t in taken):
            return _lines_of_words(lines, (x, y - down), room)
    return _lines_of_words(lines, (x, y), room)


def _lines_of_words(lines: Sequence[str], at: Point, room: float) -> tuple[Text, ...]:
    """Return centred lines downwards from a point, made smaller where they are too long."""
    out = []
    for i, words in enumerate(lines):
        height = min(4.0 if i == 0 else 3.0, room / (LETTER_WIDTH * max(len(words), 1)))
        out.append(
            Text(
                words=words,
                at=(at[0], at[1] - LINE_MM * i),
                height_mm=height,
                anchor="middle",
                layer=WORDS,
            )
        )
    return tuple(out)


def _middle(piece: Piece) -> Point:
    left, bottom, right, top = (piece.zones[0] if piece.zones else piece).outline.bounds
    return ((left + right) / 2, bottom + (top - bottom) * 0.55)


def _backbone_arrow(piece: Piece) -> list[Stroke]:
    """Return a double arrow along the backbone, left of the middle of the piece."""
    x, y = _middle(piece)
    left, bottom, right, top = piece.outline.bounds
    long = min(40.0, (top - bottom) / 4, (right - left) / 2)
    centre = (x, y - 24.0 - long / 2)
    ends = [turn((0.0, s * long / 2), piece.stretch_angle) for s in (-1, 1)]
    at = [(centre[0] + p[0], centre[1] + p[1]) for p in ends]
    strokes = [Stroke(curve=Path((line(at[0], at[1]),)), layer=LIE)]
    for tip, sense in ((at[1], 1.0), (at[0], -1.0)):
        for lean in (-0.4, 0.4):
            barb = turn((0.0, -sense * 4.0), piece.stretch_angle + lean)
            start = (tip[0] + barb[0], tip[1] + barb[1])
            strokes.append(Stroke(curve=Path((line(start, tip),)), layer=LIE))
    return strokes


def _beside(path: Path, away: float) -> Path:
    nx, ny = path.normal_at(0.0)
    return path.moved(nx * away, ny * away)


def _slit(start: Point, end: Point, diameter: float) -> Path:
    """Return the slit from the edge of its hole, not from the hole's middle."""
    angle = math.atan2(end[1] - start[1], end[0] - start[0])
    r = diameter / 2
    return Path((line((start[0] + r * math.cos(angle), start[1] + r * math.sin(angle)), end),))

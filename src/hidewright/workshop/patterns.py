"""Pieces and blanks as full-size patterns, every kind of line told apart in black and white."""

import math
from collections.abc import Sequence
from itertools import compress, pairwise

import numpy as np

from hidewright.design.blank import Blank
from hidewright.design.fitting import MagnetPlace
from hidewright.design.piece import Fold, Piece
from hidewright.design.seam import SewnSeam
from hidewright.design.states import CutOutline
from hidewright.drawing.arrow import double_arrow
from hidewright.drawing.drawing import LETTER_WIDTH, Drawing, Layer, Stroke, Text
from hidewright.geometry.distance import keeps_clear, signed_distances
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import circle, rectangle

CUT = Layer(name="cut here", style="solid", weight_mm=0.4)
ZONE = Layer(name="inside of the moulded hollow", style="dashed", weight_mm=0.2)
FOLD = Layer(name="middle of a fold", style="dash-dot", weight_mm=0.25)
FREE = Layer(name="no glue between these lines", style="dotted", weight_mm=0.2)
HOLE = Layer(name="stitch hole", style="solid", weight_mm=0.15, sample="small ring")
PUNCH = Layer(name="punch", style="solid", weight_mm=0.3, sample="ring")
LIE = Layer(name="backbone direction", style="solid", weight_mm=0.2, sample="arrow")
WORDS = Layer(name="words", style="solid", weight_mm=0.2)
WALL = Layer(name="outside of a wall cut at a height", style="dash-dot", weight_mm=0.3)
MAGNET = Layer(name="magnet on the flesh side", style="dotted", weight_mm=0.3, sample="ring")
CENTRE = Layer(name="centre mark", style="solid", weight_mm=0.2, sample="tick")

#: Diameter at which a stitch hole is drawn; what it is made with is told on the build sheet, mm.
DRAWN_HOLE_MM = 1.0
CENTRE_MARK_MM = 6.0
LINE_MM = 7.0
#: An arrow along the backbone is as long as this where there is room, mm.
ARROW_MM = 40.0
#: It keeps so far from what is drawn beside it, mm.
ARROW_CLEAR_MM = 0.8
#: Lines of words beside a narrow piece are so far apart, mm.
BESIDE_MM = 4.0
#: Capitals lower than this are hard to read, and lower than that, 6 point, cannot be read, mm.
READ_MM, LEAST_MM = 1.6, 1.54
#: Ends of two strips free of glue that lie nearer than this are one, mm.
SAME_LINE_MM = 1e-6
DRY = "dry, grain side up"


def piece_drawing(
    piece: Piece,
    seams: Sequence[SewnSeam],
    leather: str,
    magnets: Sequence[MagnetPlace] = (),
) -> Drawing:
    """Return a piece's pattern, dry, seen on its grain side.

    Args:
        piece: What is drawn.
        seams: All sewn seams; the holes of this piece are taken from them.
        leather: Name of its leather, to be written on it.
        magnets: All magnets; those of this piece are taken from them.
    """
    walls_cut = any(zone.cut_height_mm is not None for zone in piece.zones)
    edge = WALL if walls_cut else CUT
    strokes = [Stroke(curve=piece.outline, layer=edge, part=piece.name)]
    strokes += [Stroke(curve=c, layer=CUT, part=piece.name) for c in piece.cut_outs]
    strokes += [Stroke(curve=z.outline, layer=ZONE, part=piece.name) for z in piece.zones]
    strokes += [
        Stroke(curve=island.outline, layer=ZONE, part=piece.name)
        for zone in piece.zones
        for island in zone.islands
    ]
    free = [edge for fold in piece.folds for edge in _glue_free_lines(fold)]
    for fold in piece.folds:
        strokes.append(Stroke(curve=fold.line, layer=FOLD, part=piece.name))
        strokes += [
            Stroke(curve=edge, layer=FREE)
            for edge in _glue_free_lines(fold)
            if sum(_is_same(edge, other) for other in free) == 1
        ]
    for hole in piece.holes:
        strokes.append(Stroke(curve=circle(hole.diameter_mm / 2, hole.at), layer=PUNCH))
        if hole.slit is not None:
            strokes.append(Stroke(curve=_slit(hole.at, hole.slit, hole.diameter_mm), layer=PUNCH))
    strokes += [Stroke(curve=_seat(m), layer=MAGNET) for m in magnets if m.piece == piece.name]
    stitched = [
        circle(DRAWN_HOLE_MM / 2, hole.at)
        for seam in seams
        for layer in seam.layers
        if layer.piece == piece.name
        for hole in layer.holes
    ]
    strokes += [Stroke(curve=hole, layer=HOLE) for hole in stitched]
    strokes += _backbone_arrow(piece, stitched)
    return Drawing(
        title=piece.name,
        strokes=tuple(strokes),
        texts=_words(piece, [piece.name, leather, "cut at a height" if walls_cut else DRY]),
    )


def blank_drawing(blank: Blank, outline: CutOutline, leather: str, backbone: float) -> Drawing:
    """Return a blank's pattern as it is cut, dry and flat, with marks to centre it by.

    Args:
        blank: What it is.
        outline: Its outline in the cut state.
        leather: Name of its leather.
        backbone: Its direction, radians from the y axis.
    """
    left, bottom, right, top = outline.bounds
    x, y = (left + right) / 2, (bottom + top) / 2
    (left, right), (bottom, top) = _ends(outline, 0, y), _ends(outline, 1, x)
    strokes = [Stroke(curve=outline, layer=CUT, part=blank.name)]
    for start, end in (
        ((x, bottom), (x, bottom + CENTRE_MARK_MM)),
        ((x, top - CENTRE_MARK_MM), (x, top)),
        ((left, y), (left + CENTRE_MARK_MM, y)),
        ((right - CENTRE_MARK_MM, y), (right, y)),
    ):
        strokes.append(Stroke(curve=Path((line(start, end),)), layer=CENTRE))
    words = [blank.name, leather, "rough blank, cut dry, grain side up"]
    if blank.over:
        words.append("cut one of each leather, press together, part when dry")
    rows = [top - outline.height / 4 - LINE_MM * i for i in range(len(words))]
    texts = _lines_of_words(words, x, rows, outline.width * 0.7, LINE_MM)
    long = min(ARROW_MM, 0.25 * (right - left), 0.25 * (top - bottom))
    strokes += double_arrow((x, rows[-1] - LINE_MM - long / 2), long, backbone, LIE)
    return Drawing(title=f"blank {blank.name}", strokes=tuple(strokes), texts=texts)


def _ends(outline: Outline, axis: int, at: float) -> tuple[float, float]:
    """Return where a line along an axis enters an outline and leaves it for good, mm.

    Args:
        outline: What it crosses.
        axis: 0 for a line along x, 1 for one along y.
        at: Where it stands on the other axis.
    """
    here = outline.flat_points()
    step = np.roll(here, -1, axis=0) - here
    off = here[:, 1 - axis] - at
    crossed = (off * (off + step[:, 1 - axis]) <= 0) & (step[:, 1 - axis] != 0)
    share = -off[crossed] / step[crossed, 1 - axis]
    found = here[crossed, axis] + share * step[crossed, axis]
    return float(found.min()), float(found.max())


def _words(piece: Piece, lines: Sequence[str]) -> tuple[Text, ...]:
    """Return lines of words right of the arrow where no hole is in their way, else beside it."""
    if piece.outline.height > 2.5 * piece.outline.width and not piece.zones:
        return _upright_words(lines, piece.outline)
    (left, _, right, _), _, high = _home(piece)
    wrapped = _wrapped(lines, 0.7 * (right - left))
    if 0.7 * (right - left) < LEAST_MM * LETTER_WIDTH * max(map(len, wrapped)):
        return _upright_words(lines, piece.outline)
    x = (left + right) / 2 + 0.06 * (right - left)
    for pitch in (LINE_MM, 0.8 * LINE_MM, 0.64 * LINE_MM):
        closer = min(pitch, high / (len(wrapped) + 1.5))
        rows = _rows(piece, len(wrapped), closer, x)
        if rows:
            return _lines_of_words(wrapped, x, rows, 0.7 * (right - left), closer)
    return _upright_words(lines, piece.outline)


def _rows(piece: Piece, count: int, pitch: float, x: float) -> tuple[float, ...]:
    """Return base lines for so many lines, as near to the middle as holes allow; else none."""
    (left, bottom, right, top), middle, high = _home(piece)
    taken = [
        (hole.at[1] - hole.diameter_mm / 2, hole.at[1] + hole.diameter_mm / 2)
        for hole in piece.holes
    ]
    taken += [(cut.bounds[1], cut.bounds[3]) for cut in piece.cut_outs]
    slots = [top - (i + 1) * pitch / 4 for i in range(math.floor(4 * high / pitch) - 3)]
    slots = [
        y
        for y in slots
        if not any(low < y + 0.7 * pitch and y - 0.22 * pitch < up for low, up in taken)
    ]
    corners = [
        (x + side * (right - left), y + up)
        for y in slots
        for side in (-0.2, 0.0, 0.2)
        for up in (0.0, 0.6 * pitch)
    ]
    inside = signed_distances(piece.outline, np.array(corners).reshape(-1, 2)) >= 1.0
    whole = np.all(inside.reshape(-1, 6), axis=1)
    free = list(compress(slots, whole))
    best: tuple[float, tuple[float, ...]] | None = None
    for i, first in enumerate(free):
        rows = [first]
        for y in free[i + 1 :]:
            if rows[-1] - y >= pitch - 1e-9 and len(rows) < count:
                rows.append(y)
        off = abs(sum(rows) / len(rows) - middle)
        if len(rows) == count and rows[-1] > bottom + 1.0 and (best is None or off < best[0]):
            best = (off, tuple(rows))
    return best[1] if best else ()


def _upright_words(lines: Sequence[str], outline: Outline) -> tuple[Text, ...]:
    """Return words beside a piece that is too narrow for them, read from the right."""
    _, bottom, right, top = outline.bounds
    return tuple(
        Text(
            words=words,
            at=(right + BESIDE_MM * (i + 1), (bottom + top) / 2),
            height_mm=0.5 * BESIDE_MM,
            angle=math.pi / 2,
            anchor="middle",
            layer=WORDS,
        )
        for i, words in enumerate(lines)
    )


def _wrapped(lines: Sequence[str], room: float) -> list[str]:
    """Return lines, one that could not be read in so little room broken at its middle space."""
    out: list[str] = []
    for words in lines:
        spaces = [i for i, letter in enumerate(words) if letter == " "]
        if spaces and len(words) * LETTER_WIDTH * READ_MM > room:
            middle = min(spaces, key=lambda i: abs(i - len(words) / 2))
            out += [words[:middle], words[middle + 1 :]]
        else:
            out.append(words)
    return out


def _lines_of_words(
    lines: Sequence[str], x: float, rows: Sequence[float], room: float, pitch: float
) -> tuple[Text, ...]:
    """Return centred lines, the first the largest and the others alike, smaller if room is short.

    Args:
        lines: What is written.
        x: Their middle, mm.
        rows: Base line of each, mm.
        room: Width that none may pass, mm.
        pitch: From line to line, mm.
    """
    fits = [room / (LETTER_WIDTH * max(len(words), 1)) for words in lines]
    name, others = min(0.6 * pitch, fits[0]), min([0.45 * pitch, *fits[1:]])
    return tuple(
        Text(
            words=words,
            at=(x, y),
            height_mm=others if i else name,
            anchor="middle",
            layer=WORDS,
        )
        for i, (words, y) in enumerate(zip(lines, rows, strict=True))
    )


def _home(piece: Piece) -> tuple[tuple[float, float, float, float], float, float]:
    """Return (box, middle height, height) of the part of a piece that words and arrow go into."""
    if piece.zones:
        box = max((zone.outline for zone in piece.zones), key=lambda o: o.area).bounds
    else:
        left, bottom, right, top = piece.outline.bounds
        folds = [y for fold in piece.folds for y in (fold.line.start[1], fold.line.end[1])]
        bands = pairwise(sorted((bottom, *folds, top)))
        low, up = max(bands, key=lambda band: round(band[1] - band[0], 3))
        box = (left, low, right, up)
        inset = 0.12 * (right - left)
        box = (left + inset, box[1] + inset, right - inset, box[3] - inset)
    return box, (box[1] + box[3]) / 2, box[3] - box[1]


def _backbone_arrow(piece: Piece, stitched: Sequence[Outline]) -> list[Stroke]:
    """Return a double arrow along the backbone, at the left of the words.

    It goes up or down and becomes shorter until it keeps clear of wall, edge and holes; where that
    leads nowhere it stands at the middle all the same, for the direction must be told.

    Args:
        piece: In whose largest hollow it stands, or between whose folds.
        stitched: Its stitch holes as they are drawn.
    """
    (left, bottom, right, top), middle, high = _home(piece)
    x, long = left + 0.1 * (right - left), min(ARROW_MM, 0.6 * high, right - left)
    within = max((z.outline for z in piece.zones), key=lambda o: o.area, default=piece.outline)
    without = [circle(hole.diameter_mm / 2, hole.at) for hole in piece.holes]
    without += [
        *stitched,
        *piece.cut_outs,
        *(i.outline for zone in piece.zones for i in zone.islands),
    ]
    heights = sorted(np.linspace(bottom, top, 41).tolist(), key=lambda y: abs(y - middle))
    for share in (1.0, 0.8, 0.6, 0.4):
        for y in (middle, *heights):
            arrow = double_arrow((x, y), share * long, piece.stretch_angle, LIE)
            ends = np.stack([one.curve.flat_points() for one in arrow])
            points = np.linspace(ends[:, 0], ends[:, 1], 41).reshape(-1, 2)
            if keeps_clear(within, points, ARROW_CLEAR_MM, inside=True) and all(
                keeps_clear(one, points, ARROW_CLEAR_MM, inside=False) for one in without
            ):
                return arrow
    return double_arrow((x, middle), long, piece.stretch_angle, LIE)


def _glue_free_lines(fold: Fold) -> tuple[Path, Path]:
    """Return where the width free of glue ends on either side of a fold.

    Where it goes on into that of the next fold, both folds name the same line: none is drawn.
    """
    left, right = fold.glue_free_mm
    return _beside(fold.line, -left), _beside(fold.line, right)


def _is_same(one: Path, two: Path) -> bool:
    return math.dist(one.start, two.start) < SAME_LINE_MM


def _beside(path: Path, away: float) -> Path:
    nx, ny = path.normal_at(0.0)
    return path.moved(nx * away, ny * away)


def _seat(place: MagnetPlace) -> Outline:
    """Return a magnet's outline where it is seated."""
    magnet = place.magnet
    if magnet.shape == "disc":
        return circle(magnet.diameter_mm / 2, place.at)
    return rectangle(magnet.length_mm, magnet.width_mm).moved(*place.at)


def _slit(start: Point, end: Point, diameter: float) -> Path:
    """Return the slit from the edge of its hole, not from the hole's middle."""
    angle = math.atan2(end[1] - start[1], end[0] - start[0])
    r = diameter / 2
    return Path((line((start[0] + r * math.cos(angle), start[1] + r * math.sin(angle)), end),))

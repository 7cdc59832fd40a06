"""Test pieces that the laser cuts: what they measure is what the workshop learns from.

Every part is at its true size, the kerf allowed for when it is cut, but for the comb, whose lines
are the beam's own: the kerf is what it measures.
"""

import math
from dataclasses import dataclass, replace

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.design.part import Easing, Label, Part, PartHole
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import circle, rectangle
from hidewright.tooling.gap import USUAL_GAP_FACTOR, soaked_thickness_mm

#: The comb: a slot is this much narrower than the one before it, mm; tongues are as wide as the
#: first.
STEP_MM = 0.05
SLOTS = 15
TONGUE_MM, TONGUE_LONG_MM, TONGUES = 8.0, 40.0, 2
SLOT_DEEP_MM = 12.0
#: The wedge: its slot tells thicknesses this much either side of the board's, mm.
WEDGE_SPAN_MM, WEDGE_LONG_MM, WEDGE_MARK_MM = 0.6, 120.0, 0.1
#: Side of the scribed square, mm.
SQUARE_MM = 100.0
#: The round test plug, its rounded edges and the leather's disc, mm.
PLUG_RADIUS_MM, CROWN_MM, LIP_MM, DISC_RADIUS_MM = 20.0, 3.0, 3.0, 48.0
#: Its sharp top: the grain of a usual leather cracks on it half way down, mm.
SHARP_MM = 1.5
#: Rings lie round the plug under the leather and are taken out a mm at a time: from the first depth
#: to the last one, mm.
CRACKS_TO_MM, CRACKS_FROM_MM = 18.0, 2.0
#: Depths that the plug is stacked to, about, mm.
PLUG_DEPTHS_MM = (6.0, 12.0, 18.0)
PLATE_MM, DOWEL_MM = 130.0, 6.0
#: Where its plates have their words.
_LOW = (0.0, -PLATE_MM / 2.0 + 8.0)
#: The stitch strip: pitches, mm, and holes in each row.
PITCHES_MM, HOLES, HOLE_MM = (3.0, 3.5, 4.0, 5.0), 11, 1.2
#: Fields of the colour strip.
FIELDS = ("bare", "1 coat", "2 coats", "3 coats", "1 coat, conditioned", "2 coats, conditioned")


@dataclass(frozen=True, slots=True, kw_only=True)
class Comb:
    """The kerf comb as the beam cuts it.

    Attributes:
        outline: The comb, slots open upwards, narrowest at the right.
        tongues: Loose tongues.
        labels: Beside each slot the kerf that it tells.
        slots_mm: Width of each slot as the beam's lines lie.
    """

    outline: Outline
    tongues: tuple[Outline, ...]
    labels: tuple[Label, ...]
    slots_mm: tuple[float, ...]

    @property
    def told_mm(self) -> tuple[float, ...]:
        """The kerf when each slot is the tightest that a tongue still goes into.

        The slot comes out a kerf wider than its lines, the tongue a kerf narrower, so kerf and half
        the difference of the lines agree; half a step more, for the next slot is too tight.
        """
        return tuple((TONGUE_MM - slot) / 2.0 + STEP_MM / 4.0 for slot in self.slots_mm)


def kerf_comb(board: Board) -> Comb:
    """Return the comb for a board: slots from the tongue's width down in steps of 0.05 mm."""
    between = max(TONGUE_MM, board.min_web_mm)
    widths = tuple(round(TONGUE_MM - STEP_MM * k, 6) for k in range(SLOTS))
    base = max(10.0, board.min_web_mm)
    high = base + SLOT_DEEP_MM
    points: list[Point] = [(0.0, 0.0)]
    x = between
    tops: list[Point] = []
    middles: list[float] = []
    for width in widths:
        tops += [(x, high), (x, base), (x + width, base), (x + width, high)]
        middles.append(x + width / 2.0)
        x += width + between
    points += [(x, 0.0), (x, high), *reversed(tops), (0.0, high)]
    comb = Comb(
        outline=_polygon(points),
        tongues=tuple(
            rectangle(TONGUE_MM, TONGUE_LONG_MM).moved(
                TONGUE_LONG_MM / 2.0 + 2.0 * k * TONGUE_MM, -TONGUE_LONG_MM
            )
            for k in range(TONGUES)
        ),
        labels=(),
        slots_mm=widths,
    )
    labels = tuple(
        Label(words=f"{told:.3f}"[1:], at=(at, base / 2.0), height_mm=2.0)
        for at, told in zip(middles, comb.told_mm, strict=True)
    )
    return Comb(outline=comb.outline, tongues=comb.tongues, labels=labels, slots_mm=widths)


def thickness_wedge(board: Board) -> Part:
    """Return a gauge whose tapered slot tells how thick a sheet of the board is."""
    wide = board.thickness_mm + WEDGE_SPAN_MM
    narrow = max(board.thickness_mm - WEDGE_SPAN_MM, 0.2)
    side = max(10.0, board.min_web_mm)
    half = side + wide / 2.0
    long = WEDGE_LONG_MM
    outline = _polygon(
        [
            (0.0, -half),
            (long + side, -half),
            (long + side, half),
            (0.0, half),
            (0.0, wide / 2.0),
            (long, narrow / 2.0),
            (long, -narrow / 2.0),
            (0.0, -wide / 2.0),
        ]
    )
    marks: list[Path] = []
    labels = [Label(words="sheet thickness, mm", at=(long / 2.0, -half + 2.5), height_mm=2.5)]
    first = math.ceil(round(narrow / WEDGE_MARK_MM, 6))
    for k in range(first, math.floor(round(wide / WEDGE_MARK_MM, 6)) + 1):
        told = k * WEDGE_MARK_MM
        x = wedge_place(told, wide, narrow)
        y = told / 2.0
        marks.append(Path((line((x, y + 1.0), (x, y + (4.0 if k % 5 == 0 else 2.5))),)))
        if k % 2 == 0 and 4.0 < x < long - 2.0:
            labels.append(Label(words=f"{told:.1f}", at=(x, y + 6.0), height_mm=1.8))
    return Part(
        name="thickness gauge",
        role="radius gauge",
        board=board,
        outline=outline,
        scores=tuple(marks),
        labels=tuple(labels),
    )


def wedge_place(told_mm: float, wide_mm: float, narrow_mm: float) -> float:
    """Return how deep a sheet goes into the wedge, mm from its mouth: the slot is so wide there."""
    return WEDGE_LONG_MM * (wide_mm - told_mm) / (wide_mm - narrow_mm)


def square_template(board: Board) -> Part:
    """Return a plate with four pricking holes, 100 mm from middle to middle."""
    d = SQUARE_MM / 2.0
    holes = tuple(
        PartHole(outline=circle(HOLE_MM / 2.0, (x, y)), purpose="mark")
        for x, y in ((-d, -d), (d, -d), (d, d), (-d, d))
    )
    shaft = Path((line((0.0, -30.0), (0.0, 26.0)),))
    tip = Path((line((-4.0, 24.0), (0.0, 30.0)), line((0.0, 30.0), (4.0, 24.0))))
    return Part(
        name="scribed square",
        role="pricking template",
        board=board,
        outline=rectangle(SQUARE_MM + 24.0, SQUARE_MM + 24.0, 3.0),
        holes=holes,
        scores=(shaft, tip),
        labels=(Label(words="along the backbone", at=(-8.0, 0.0), angle=math.pi / 2.0),),
    )


def plug_counts(board: Board) -> tuple[int, ...]:
    """Return how many plates stack up to each depth of the test plug."""
    return tuple(max(1, round(depth / board.thickness_mm)) for depth in PLUG_DEPTHS_MM)


def plug_depths(board: Board) -> tuple[float, ...]:
    """Return the depths of the test plug cut from a board, mm."""
    return tuple(count * board.thickness_mm for count in plug_counts(board))


def round_plug(board: Board, leather: Leather) -> tuple[Part, ...]:
    """Return plug discs, frame plates and base of the round test plug for a leather.

    The gap is that of every mould: 1.10 times the thickest leather, soaked.
    """
    gap = USUAL_GAP_FACTOR * soaked_thickness_mm(leather)
    frames = math.ceil((plug_depths(board)[-1] + gap) / board.thickness_mm)
    base = Part(
        name="test plug base",
        role="base",
        board=board,
        outline=rectangle(PLATE_MM, PLATE_MM, 3.0),
        holes=(*_dowels(), *_pins()),
        scores=(circle(DISC_RADIUS_MM).as_path(),),
        labels=(Label(words="base: disc lies to the circle", at=_LOW, height_mm=3.0),),
    )
    frame = replace(
        _ring(board, leather, "frame", frames),
        easings=(
            Easing(
                radius_mm=LIP_MM, face="bottom", edge="window", how="the lowest frame plate only"
            ),
        ),
    )
    easing = Easing(radius_mm=CROWN_MM, face="top", edge="outline", how="the topmost disc only")
    return (base, frame, _plug_disc(board, "plug", max(plug_counts(board)), easing))


def crack_rings(board: Board, leather: Leather) -> tuple[Part, ...]:
    """Return what the crack test takes beside the test plug: its sharp top, and loose rings.

    With a few rings of 1 mm card the rings raise the floor round the plug by 0 to 16 mm and more.
    """
    rings = max(1, int((CRACKS_TO_MM - CRACKS_FROM_MM) / board.thickness_mm))
    easing = Easing(radius_mm=SHARP_MM, face="top", edge="outline", how="with file and gauge")
    return (_plug_disc(board, "sharp top", 1, easing), _ring(board, leather, "loose ring", rings))


def card_rings(board: Board) -> int:
    """Return how many rings of 1 mm card fill a step of the loose rings."""
    return math.ceil(board.thickness_mm) - 1


def _plug_disc(board: Board, words: str, count: int, easing: Easing) -> Part:
    return Part(
        name="test plug disc" if words == "plug" else f"test plug {words}",
        role="plug",
        board=board,
        outline=circle(PLUG_RADIUS_MM),
        holes=_pins(),
        labels=(Label(words=words, at=(0.0, 8.0), height_mm=3.0),),
        count=count,
        easings=(easing,),
    )


def _ring(board: Board, leather: Leather, words: str, count: int) -> Part:
    gap = USUAL_GAP_FACTOR * soaked_thickness_mm(leather)
    window = PartHole(outline=circle(PLUG_RADIUS_MM + gap), purpose="window")
    return Part(
        name=f"test plug {words}",
        role="frame",
        board=board,
        outline=rectangle(PLATE_MM, PLATE_MM, 3.0),
        holes=(*_dowels(), window),
        labels=(Label(words=words, at=_LOW, height_mm=3.0),),
        count=count,
    )


def _pins() -> tuple[PartHole, ...]:
    return tuple(
        PartHole(outline=circle(DOWEL_MM / 2.0, (x, 0.0)), purpose="dowel") for x in (-9.0, 9.0)
    )


def _dowels() -> tuple[PartHole, ...]:
    d = PLATE_MM / 2.0 - 9.0
    return tuple(
        PartHole(outline=circle(DOWEL_MM / 2.0, place), purpose="dowel")
        for place in ((-d, -d), (d, -d), (-d, d))
    )


def stitch_strip(board: Board) -> Part:
    """Return a pricking template with a row of holes for each pitch."""
    holes: list[PartHole] = []
    labels: list[Label] = []
    for row, pitch in enumerate(PITCHES_MM):
        y = 8.0 + 12.0 * row
        holes += [
            PartHole(outline=circle(HOLE_MM / 2.0, (24.0 + k * pitch, y)), purpose="stitch hole")
            for k in range(HOLES)
        ]
        labels.append(Label(words=f"{pitch:g} mm", at=(11.0, y), height_mm=2.5))
    wide, high = 24.0 + (HOLES - 1) * max(PITCHES_MM) + 8.0, 12.0 * len(PITCHES_MM) + 4.0
    return Part(
        name="stitch strip",
        role="pricking template",
        board=board,
        outline=rectangle(wide, high, 2.0).moved(wide / 2.0, high / 2.0),
        holes=tuple(holes),
        labels=tuple(labels),
    )


def colour_strip(board: Board) -> Part:
    """Return a template for a strip of leather with a field for each treatment."""
    field, high = 28.0, 40.0
    wide = field * len(FIELDS)
    scores = tuple(
        Path((line((field * k, 8.0), (field * k, high - 2.0)),)) for k in range(1, len(FIELDS))
    )
    labels = tuple(
        Label(words=words, at=(field * (k + 0.5), 4.0), height_mm=1.2)
        for k, words in enumerate(FIELDS)
    )
    return Part(
        name="colour strip",
        role="trim template",
        board=board,
        outline=rectangle(wide, high, 2.0).moved(wide / 2.0, high / 2.0),
        scores=scores,
        labels=labels,
    )


def _polygon(points: list[Point]) -> Outline:
    ends = [*points[1:], points[0]]
    return Outline(tuple(line(a, b) for a, b in zip(points, ends, strict=True)))

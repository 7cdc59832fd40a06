"""Plates, templates and blocks at full size on paper, for those who cut them without a laser."""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from textwrap import wrap

from hidewright.design.part import Part
from hidewright.drawing.drawing import LETTER_DROP, LETTER_WIDTH, Drawing, Layer, Stroke, Text
from hidewright.drawing.tiles import (
    INSIDE_MM,
    PAPERS_MM,
    Box,
    Paper,
    free_place,
    may_turn,
    tile,
    window_size,
)
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point
from hidewright.planning.steps_choice import CARD

OUTSIDE = Layer(name="cut outside", style="solid", weight_mm=0.4)
INSIDE = Layer(name="cut inside", style="solid", weight_mm=0.25)
SCORE = Layer(name="score", style="dashed", weight_mm=0.2)
#: Shorter lines would be lost in dashes: arrows that tell which way up, ticks to lay a blank by.
MARK = Layer(name="mark", style="solid", weight_mm=0.2, sample="tick")
DRILL = Layer(name="drill or prick through", style="solid", weight_mm=0.15, sample="small ring")
WORDS = Layer(name="words", style="solid", weight_mm=0.2)
#: Room between parts, and from line to line of the words under each, mm.
APART_MM, LINE_MM = 5.0, 3.5
CAPITAL_MM = 1.8
#: Words are wrapped to the width of their part, though to no less than this; and to this where they
#: are to stand within it, mm.
LEAST_WIDE_MM, NARROW_MM = 45.0, 28.0
#: Helps that can be done without; a jig is quicker nailed up from scrap.
LEFT_OUT = ("glue jig", "trial block")
#: Holes up to this wide are drilled or pricked, mm.
DRILLED_MM = 12.0
#: Scored lines up to this long are marks, mm.
MARK_MM = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tile:
    """Parts of one shape as they are drawn: strokes from the corner (0, 0), size, what is said."""

    strokes: tuple[Stroke, ...]
    wide: float
    high: float
    said: tuple[str, ...]

    @property
    def words(self) -> tuple[str, ...]:
        """What is said of it, in lines no longer than it is wide where that can be."""
        room = max(self.wide, LEAST_WIDE_MM)
        return tuple(line for said in self.said for line in _wrapped(said, room))

    @property
    def box(self) -> tuple[float, float]:
        """Width and height with the words under it, mm."""
        return max(self.wide, _wide(self.words)), self.high + len(self.words) * LINE_MM


def tool_drawings(
    parts: Iterable[Part], paper: Paper, say: Callable[[str], str] = str
) -> tuple[Drawing, ...]:
    """Return all parts at their true size, parts of one shape once, as many on a sheet as fit.

    A part larger than a sheet has a drawing of its own, which goes over several sheets; its words
    stand where one of them has room.

    Args:
        parts: Of all tools.
        paper: What they are printed on.
        say: Writes the measures in words anew, before they are wrapped.
    """
    wide, high = (side - 2 * INSIDE_MM for side in window_size(PAPERS_MM[paper]))
    tiles = sorted(_tiles(parts, wide, say), key=lambda one: (-one.high, -one.wide, one.words))
    large = [one for one in tiles if one.wide > wide or one.box[1] > high]
    pages = _pages([one for one in tiles if one not in large], (wide, high))
    count = len(large) + len(pages)
    return (
        *(_alone(f"tools {i} of {count}", one, paper) for i, one in enumerate(large, start=1)),
        *(
            _together(f"tools {i} of {count}", page)
            for i, page in enumerate(pages, start=len(large) + 1)
        ),
    )


def left_out(parts: Iterable[Part]) -> tuple[str, ...]:
    """Return the blocks and jigs that are not drawn on paper, each once."""
    return tuple(dict.fromkeys(part.of_block for part in parts if part.role in LEFT_OUT))


def _tiles(parts: Iterable[Part], wide: float, say: Callable[[str], str]) -> Iterator[_Tile]:
    same: dict[tuple[object, ...], list[Part]] = {}
    parts = tuple(parts)
    out = left_out(parts)
    for part in parts:
        if part.of_block not in out:
            same.setdefault(_shape(part), []).append(part)
    for alike in same.values():
        yield _tile(alike, wide, say)


def _shape(part: Part) -> tuple[object, ...]:
    """Return what parts of one shape have in common wherever they stand in the tool."""
    left, bottom, _, _ = part.outline.bounds
    cuts = (part.outline, *(hole.outline for hole in part.holes if hole.purpose != "mark"))
    return tuple(
        tuple(
            round(value, 2)
            for value in (
                cut.area,
                cut.length,
                cut.width,
                cut.height,
                cut.centroid[0] - left,
                cut.centroid[1] - bottom,
            )
        )
        for cut in cuts
    )


def _tile(alike: Sequence[Part], wide: float, say: Callable[[str], str]) -> _Tile:
    part, count = alike[0], sum(one.count for one in alike)
    turned = math.pi / 2 if part.outline.width > wide else 0.0
    strokes = [Stroke(curve=part.outline, layer=OUTSIDE, part=part.name)]
    here = [one for one in alike if one.outline == part.outline]
    marks = dict.fromkeys(h for one in here for h in one.holes if h.purpose == "mark")
    holes = (*(h for h in part.holes if h.purpose != "mark"), *marks)
    strokes += [Stroke(curve=h.outline, layer=_layer(h.outline), part=part.name) for h in holes]
    scores = dict.fromkeys(score for one in here for score in one.scores)
    strokes += [Stroke(curve=s, layer=_scored(s), part=part.name) for s in scores]
    strokes = [replace(s, curve=s.curve.rotated(turned)) for s in strokes]
    left, bottom, right, top = strokes[0].curve.bounds
    more = f" and {len(alike) - 1} of the same shape" if len(alike) > 1 else ""
    boards = ", ".join(dict.fromkeys(map(_board, alike)))
    return _Tile(
        strokes=tuple(replace(s, curve=s.curve.moved(-left, -bottom)) for s in strokes),
        wide=right - left,
        high=top - bottom,
        said=(say(f"{count} in all: {part.name}{more}"), say(boards)),
    )


def _wrapped(words: str, room: float) -> list[str]:
    letters = math.floor(room / (CAPITAL_MM * LETTER_WIDTH))
    return wrap(words, letters)


def _wide(words: Sequence[str]) -> float:
    """Return the room kept for the longest of some lines of words, mm."""
    return max(len(one) for one in words) * CAPITAL_MM * LETTER_WIDTH


def _board(part: Part) -> str:
    if part.board.material == CARD:
        return f"card {part.board.thickness_mm:.2f} mm"
    return part.board.name


def _layer(hole: Outline) -> Layer:
    return DRILL if max(hole.width, hole.height) <= DRILLED_MM else INSIDE


def _scored(score: Path) -> Layer:
    return MARK if score.length <= MARK_MM else SCORE


def _pages(tiles: Sequence[_Tile], room: tuple[float, float]) -> list[list[tuple[_Tile, Point]]]:
    """Return tiles page by page with their corners, each on the first page that takes it."""
    pages: list[list[tuple[_Tile, Point]]] = []
    taken: list[list[Box]] = []
    for one in sorted(tiles, key=lambda one: -one.box[1]):
        places = ((i, _place(one.box, boxes, room)) for i, boxes in enumerate(taken))
        anew = len(pages), (0.0, room[1])
        number, (left, top) = next(((i, at) for i, at in places if at is not None), anew)
        if number == len(pages):
            pages.append([])
            taken.append([])
        pages[number].append((one, (left, top - one.high)))
        taken[number].append((left, top - one.box[1], left + one.box[0], top))
    return pages


def _place(
    size: tuple[float, float], taken: Sequence[Box], room: tuple[float, float]
) -> Point | None:
    """Return the upper left corner of the highest place beside or under boxes; None without one."""
    tops = sorted({room[1], *(box[1] - APART_MM for box in taken)}, reverse=True)
    lefts = sorted({0.0, *(box[2] + APART_MM for box in taken)})
    for top, left in product(tops, lefts):
        right, bottom = left + size[0], top - size[1]
        if (
            right <= room[0]
            and bottom >= 0.0
            and all(_apart(box, left, bottom, right, top) for box in taken)
        ):
            return (left, top)
    return None


def _apart(box: Box, left: float, bottom: float, right: float, top: float) -> bool:
    """Whether there is room between a box and another."""
    room = APART_MM - 1e-9
    beside = box[2] + room <= left or right + room <= box[0]
    return beside or box[3] + room <= bottom or top + room <= box[1]


def _together(title: str, page: Sequence[tuple[_Tile, Point]]) -> Drawing:
    """Return parts on one sheet, each with its words under it."""
    return Drawing(
        title=title,
        strokes=tuple(
            replace(s, curve=s.curve.moved(*at)) for one, at in page for s in one.strokes
        ),
        texts=tuple(text for one, at in page for text in _texts(one.words, at)),
    )


def _alone(title: str, one: _Tile, paper: Paper) -> Drawing:
    """Return a part over several sheets, its words where there is room, else under it."""
    bare, tiling = min(
        ((drawing, tile(drawing, paper)) for drawing in _ways(title, one, paper)),
        key=lambda pair: len(pair[1].windows),
    )
    for room in (math.inf, LEAST_WIDE_MM, NARROW_MM):
        words = [line for said in one.said for line in _wrapped(said, min(room, one.wide))]
        high = len(words) * LINE_MM
        place = free_place(bare, tiling, (_wide(words), high))
        if place:
            return replace(bare, texts=tuple(_texts(words, (place[0], place[1] + high))))
    return replace(bare, texts=tuple(_texts(one.words, (0.0, 0.0))))


def _ways(title: str, one: _Tile, paper: Paper) -> Iterator[Drawing]:
    """Yield a part as it is and, where that may take fewer sheets, a quarter turned."""
    yield Drawing(title=title, strokes=one.strokes)
    if not may_turn((one.wide, one.high), paper):
        return
    quarter = (replace(s, curve=s.curve.rotated(math.pi / 2)) for s in one.strokes)
    moved = (replace(s, curve=s.curve.moved(one.high, 0.0)) for s in quarter)
    yield Drawing(title=title, strokes=tuple(moved))


def _texts(words: Sequence[str], at: Point) -> Iterator[Text]:
    """Yield lines of words downwards from a corner."""
    for i, line in enumerate(words, start=1):
        place = (at[0], at[1] - i * LINE_MM + LETTER_DROP * CAPITAL_MM)
        yield Text(words=line, at=place, height_mm=CAPITAL_MM, layer=WORDS)

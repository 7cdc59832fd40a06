"""Plates, templates and blocks at full size on paper, for those who cut them without a laser."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from hidewright.design.part import Part
from hidewright.drawing.drawing import LETTER_WIDTH, Drawing, Layer, Stroke, Text
from hidewright.drawing.tiles import INSIDE_MM, PAPERS_MM, Paper, window_size
from hidewright.geometry.outline import Outline
from hidewright.planning.steps_choice import CARD

OUTSIDE = Layer(name="cut outside", style="solid", weight_mm=0.4)
INSIDE = Layer(name="cut inside", style="solid", weight_mm=0.25)
SCORE = Layer(name="score", style="dashed", weight_mm=0.2)
DRILL = Layer(name="drill or prick through", style="solid", weight_mm=0.15, sample="small ring")
WORDS = Layer(name="words", style="solid", weight_mm=0.2)
#: Room between parts, and for the words under each, mm.
APART_MM, UNDER_MM = 5.0, 8.0
CAPITAL_MM = 1.8
#: Helps that can be done without; a jig is quicker nailed up from scrap.
LEFT_OUT = ("glue jig", "trial block")
#: Holes up to this wide are drilled or pricked, mm.
DRILLED_MM = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tile:
    """Parts of one shape as they are drawn: strokes from the corner (0, 0), size, words."""

    strokes: tuple[Stroke, ...]
    wide: float
    high: float
    words: tuple[str, str]


def tool_drawings(parts: Iterable[Part], paper: Paper) -> tuple[Drawing, ...]:
    """Return all parts at their true size, parts of one shape once, as many on a sheet as fit.

    A part larger than a sheet has a drawing of its own, which goes over several sheets.
    """
    room = tuple(side - 2 * INSIDE_MM for side in window_size(PAPERS_MM[paper]))
    tiles = sorted(_tiles(parts, room[0]), key=lambda one: (-one.high, -one.wide, one.words))
    large = [one for one in tiles if one.wide > room[0] or one.high > room[1]]
    pages = [[(one, (0.0, 0.0))] for one in large]
    pages += _pages([one for one in tiles if one not in large], room)
    return tuple(
        _drawing(f"tools {number} of {len(pages)}", page)
        for number, page in enumerate(pages, start=1)
    )


def _tiles(parts: Iterable[Part], wide: float) -> Iterator[_Tile]:
    same: dict[tuple[object, ...], list[Part]] = {}
    for part in parts:
        if part.role not in LEFT_OUT:
            same.setdefault(_shape(part), []).append(part)
    for alike in same.values():
        yield _tile(alike, wide)


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


def _tile(alike: Sequence[Part], wide: float) -> _Tile:
    part, count = alike[0], sum(one.count for one in alike)
    turned = math.pi / 2 if part.outline.width > wide else 0.0
    strokes = [Stroke(curve=part.outline, layer=OUTSIDE, part=part.name)]
    here = [one for one in alike if one.outline == part.outline]
    marks = dict.fromkeys(h for one in here for h in one.holes if h.purpose == "mark")
    holes = (*(h for h in part.holes if h.purpose != "mark"), *marks)
    strokes += [Stroke(curve=h.outline, layer=_layer(h.outline), part=part.name) for h in holes]
    scores = dict.fromkeys(score for one in here for score in one.scores)
    strokes += [Stroke(curve=score, layer=SCORE, part=part.name) for score in scores]
    strokes = [replace(s, curve=s.curve.rotated(turned)) for s in strokes]
    left, bottom, right, top = strokes[0].curve.bounds
    more = f" and {len(alike) - 1} of the same shape" if len(alike) > 1 else ""
    boards = ", ".join(dict.fromkeys(map(_board, alike)))
    return _Tile(
        strokes=tuple(replace(s, curve=s.curve.moved(-left, UNDER_MM - bottom)) for s in strokes),
        wide=right - left,
        high=top - bottom + UNDER_MM,
        words=(f"{count} in all: {part.name}{more}", boards),
    )


def _board(part: Part) -> str:
    if part.board.material == CARD:
        return f"card {part.board.thickness_mm:.2f} mm"
    return part.board.name


def _layer(hole: Outline) -> Layer:
    return DRILL if max(hole.width, hole.height) <= DRILLED_MM else INSIDE


def _pages(
    tiles: Sequence[_Tile], room: tuple[float, ...]
) -> list[list[tuple[_Tile, tuple[float, float]]]]:
    """Return tiles in rows from the top of each page, the highest first."""
    pages: list[list[tuple[_Tile, tuple[float, float]]]] = []
    rows: list[list[float]] = []  # of each page and row: page, right end, top, height
    for one in tiles:
        wide = max(one.wide, *(len(words) * CAPITAL_MM * LETTER_WIDTH for words in one.words))
        for row in rows:
            if one.high <= row[3] and row[1] + wide <= room[0]:
                break
        else:
            foot = rows[-1][2] - rows[-1][3] - APART_MM if rows else -1.0
            if not pages or foot < one.high:
                pages.append([])
                foot = room[1]
            row = [float(len(pages) - 1), 0.0, foot, one.high]
            rows.append(row)
        pages[int(row[0])].append((one, (row[1], row[2] - one.high)))
        row[1] += wide + APART_MM
    return pages


def _drawing(title: str, page: Sequence[tuple[_Tile, tuple[float, float]]]) -> Drawing:
    strokes = tuple(replace(s, curve=s.curve.moved(*at)) for one, at in page for s in one.strokes)
    texts = tuple(
        Text(words=words, at=(x, y + up), height_mm=CAPITAL_MM, layer=WORDS)
        for one, (x, y) in page
        for words, up in zip(one.words, (4.5, 1.0), strict=True)
    )
    return Drawing(title=title, strokes=strokes, texts=texts)

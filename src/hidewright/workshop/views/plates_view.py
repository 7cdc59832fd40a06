"""Plates of moulds, templates, blocks and jigs as they are cut, side by side, those alike once."""

import math
import re
from collections import Counter
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass

from hidewright.design.part import Part
from hidewright.drawing.svg import path_data
from hidewright.geometry.segment import Point, turn
from hidewright.units.length import LengthUnit
from hidewright.workshop.tooling_chain import Moulding
from hidewright.workshop.views.rows import Cell, laid_within
from hidewright.workshop.views.svg_view import (
    BY,
    USUAL,
    FlatView,
    Frame,
    Mark,
    ViewLayer,
    drawn,
    pierced,
    said,
    size_words,
    spot,
    standing_for,
    type_size,
    view_of,
    words_wide,
)

LAYERS: tuple[ViewLayer, ...] = (
    ("board", "Boards", True),
    ("score", "Scored lines", True),
    ("inside", "Cut inside", True),
    ("outside", "Cut outside", True),
    ("marking", "Words on the parts", True),
    ("size", "Sizes and boards", True),
    ("words", "Names", True),
)
#: Room between parts, between groups of them, and for a group's heading, in sizes of the type.
BETWEEN, APART, HEAD = 1.6, 2.4, 4.0
#: Widths tried, over the usual one, and how often with the type that the best of them asks for.
WIDTHS, ROUNDS = (0.8, 1.0, 1.25, 1.6), 2
#: Room for the words under a part, mm, before the size of the type is known.
CAPTION_MM = (12.0, 24.0)
#: Size of the words under a part, over the type, and the room between their lines.
SMALL, LINE = 0.85, 1.15
#: Room for the flag of a remark before a heading, in sizes of the type.
FLAG = 3.2
#: Lines under a part hold at least so many letters.
LEAST_LETTERS = 12
#: Height of a capital over the size of the type on the screen, roughly.
CAPITAL = 0.72


#: Lines under a part: (layer, words).
_Caption = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Parts that belong together, under one heading.

    Attributes:
        title: Over them.
        more: What else there is to say of them, before their board.
        alike: The parts, those that are cut alike together.
        prefix: Before the names of its parts.
    """

    title: str
    alike: tuple[tuple[Part, ...], ...]
    more: str = ""
    prefix: str = ""

    @property
    def parts(self) -> tuple[Part, ...]:
        """The first of those that are alike."""
        return tuple(first for first, *_ in self.alike)

    @property
    def lead(self) -> str:
        """What stands under the title."""
        return f"{self.more}{self.board}"

    @property
    def board(self) -> str:
        """The board most of its parts are cut from."""
        return Counter(p.board.name for same in self.alike for p in same).most_common(1)[0][0]


def plates_view(
    mouldings: Sequence[Moulding], unit: LengthUnit = "mm", frame: Frame = USUAL
) -> FlatView | None:
    """Return the plates and blocks of each mould; None when nothing is moulded."""
    groups = [
        _Group(
            title=f"Mould for {m.blank.name}",
            more=f"closed {size_words(m.tool.closed_height_mm, unit)} high, ",
            alike=_largest_first(m.tool.parts),
            prefix=m.blank.name,
        )
        for m in mouldings
    ]
    return _view(groups, "Plates", unit, frame)


def templates_view(
    trims: Sequence[Part],
    pricks: Sequence[Part],
    blocks: Sequence[Part],
    jigs: Sequence[Part],
    unit: LengthUnit = "mm",
    frame: Frame = USUAL,
) -> FlatView | None:
    """Return templates, blocks and jigs by what they are for; None when there are none."""
    groups = [
        _Group(title="Trimming", alike=_largest_first(trims)),
        _Group(title="Pricking", alike=_largest_first(pricks)),
        _Group(title="Blocks", alike=_largest_first(blocks)),
        _Group(title="Jigs", alike=_largest_first(jigs)),
    ]
    return _view([g for g in groups if g.alike], "Templates", unit, frame)


def _view(groups: Sequence[_Group], what: str, unit: LengthUnit, frame: Frame) -> FlatView | None:
    if not groups:
        return None
    em = _usual_width(groups, frame) / frame.wide
    for _ in range(ROUNDS):
        used = em
        tried = [_laid(groups, share * em * frame.wide, em, unit, frame) for share in WIDTHS]
        em, shelves = min(tried, key=lambda found: found[0])
    em = used
    marks: list[Mark] = []
    for group, head, shelf in shelves:
        heading = said("words", group.title, head, em, 1.4, "start", look="title")
        marks.append(standing_for(group.prefix, heading))
        under = (head[0], head[1] - 1.5 * em)
        marks.append(said("words", group.lead, under, em, 1.0, "start"))
        for same, caption, shift in shelf:
            marks += _part(same, caption, shift, em)
    return view_of(marks, LAYERS, _alt(groups, what), em)


#: (parts alike, lines under them, how far they are moved) for each of a group.
_Shelf = list[tuple[tuple[Part, ...], _Caption, Point]]


def _laid(
    groups: Sequence[_Group], wide: float, em: float, unit: LengthUnit, frame: Frame
) -> tuple[float, list[tuple[_Group, Point, _Shelf]]]:
    """Return the type that the picture asks for, and the groups laid within a width."""
    shelves: list[_Shelf] = []
    blocks: list[Cell] = []
    for group in groups:
        captions = [
            _caption(same, last, group, unit, em)
            for same, last in zip(group.alike, (None, *group.parts), strict=False)
        ]
        cells = [_cell(p, c, em) for p, c in zip(group.parts, captions, strict=True)]
        shifts, bottom = laid_within(cells, BETWEEN * em, wide)
        shelves.append(list(zip(group.alike, captions, shifts, strict=True)))
        heading = FLAG * em + max(words_wide(group.title, em, 1.4), words_wide(group.lead, em))
        right = max(x + c.whole[2] for c, (x, _) in zip(cells, shifts, strict=True))
        blocks.append(Cell(box=(0.0, bottom, max(heading, right), 0.0), room=(0, 0, 0, HEAD * em)))
    places, bottom = laid_within(blocks, APART * em, wide)
    found = [
        (
            group,
            (dx + FLAG * em, dy + (HEAD - 1.4) * em),
            [(same, caption, (x + dx, y + dy)) for same, caption, (x, y) in shelf],
        )
        for group, shelf, (dx, dy) in zip(groups, shelves, places, strict=True)
    ]
    right = max(dx + b.box[2] for b, (dx, _) in zip(blocks, places, strict=True))
    return type_size(right, -bottom, frame), found


def _usual_width(groups: Iterable[_Group], frame: Frame) -> float:
    """Return the width at which the area of all parts has the proportions of a picture, mm."""
    beside, below = CAPTION_MM
    area = math.fsum(
        (p.outline.width + beside) * (p.outline.height + below) for g in groups for p in g.parts
    )
    return math.sqrt(area * frame.wide / frame.high)


def _largest_first(parts: Iterable[Part]) -> tuple[tuple[Part, ...], ...]:
    """Return parts, those that are cut alike together."""
    alike: dict[Hashable, list[Part]] = {}
    for part in sorted(parts, key=lambda p: -p.outline.height):
        alike.setdefault(_cut_as(part), []).append(part)
    return tuple(map(tuple, alike.values()))


def _cut_as(part: Part) -> Hashable:
    """Return what parts that are cut alike have in common: their board and all their lines."""
    left, bottom, *_ = part.outline.bounds
    curves = (part.outline, *(hole.outline for hole in part.holes), *part.scores)
    lines = tuple(path_data(curve, (left, bottom)) for curve in curves)
    return (part.board, part.role, part.count, part.easings, lines)


def _together(names: Sequence[str]) -> str:
    """Return names as one: "frame 2 of 3" and "frame 3 of 3" as "frame 2-3 of 3"."""
    parted = [m for name in names if (m := re.fullmatch(r"(.*?)(\d+)( of \d+)?", name))]
    numbers = sorted(int(m[2]) for m in parted)
    first, last = (numbers[0], numbers[-1]) if numbers else (0, 0)
    one_by_one = numbers == [*range(first, first + len(names))]
    if len(names) > 1 and one_by_one and len({(m[1], m[3]) for m in parted}) == 1:
        return f"{parted[0][1]}{first}-{last}{parted[0][3] or ''}"
    return ", ".join(names)


def _caption(
    same: Sequence[Part], last: Part | None, group: _Group, unit: LengthUnit, em: float
) -> _Caption:
    """Return lines for under parts: their names, and size and board where the last had others."""
    part = same[0]
    name = _together([p.name.removeprefix(f"{group.prefix} ") for p in same])
    if part.count > 1:
        name += f", {part.count} of them"
    w, h = part.outline.width, part.outline.height
    size = f"{size_words(w, unit)}{BY}{size_words(h, unit)}"
    room = max(math.floor(w / words_wide("n", em, SMALL)), LEAST_LETTERS)
    board = "" if part.board.name == group.board else part.board.name
    if last is not None and (last.outline.width, last.outline.height) == (w, h):
        size = ""
    told = (("words", name), ("size", size), ("size", board))
    return tuple((layer, line) for layer, words in told for line in _wrapped(words, room))


def _wrapped(words: str, room: int) -> list[str]:
    """Return words on as few lines as hold at most so many letters each, if their words do."""
    lines: list[str] = []
    for word in words.split():
        if lines and len(lines[-1]) + 1 + len(word) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _cell(part: Part, caption: _Caption, em: float) -> Cell:
    wanted = max(words_wide(words, em, SMALL) for _, words in caption)
    more = max((wanted - part.outline.width) / 2, 0.0)
    below = (0.4 + LINE * len(caption)) * em
    return Cell(box=part.outline.bounds, room=(more, below, more, 0.0))


def _part(same: Sequence[Part], caption: _Caption, shift: Point, em: float) -> list[Mark]:
    part, *others = same
    dx, dy = shift
    inner = [hole.outline for hole in part.holes]
    marks = list(pierced(part.outline, inner, shift, ("board", "inside", "outside")))
    marks += [drawn("score", path, shift) for path in part.scores]
    for label in part.labels:
        # a label is placed by its middle, words by the middle of their base line
        u, v = turn((0.0, -label.height_mm / 2), label.angle)
        at = (label.at[0] + u + dx, label.at[1] + v + dy)
        size = label.height_mm / CAPITAL / em
        marks.append(said("marking", label.words, at, em, size, "middle", label.angle))
    left, bottom, right, _ = part.outline.bounds
    x, y = (left + right) / 2 + dx, bottom + dy
    for i, (layer, words) in enumerate(caption):
        at = (x, y - (0.1 + LINE * (i + 1)) * em)
        line = said(layer, words, at, em, SMALL, look="" if layer == "words" else "under")
        marks.append(standing_for(part.name, line))
    at = (marks[-1].box[0], y - (0.1 + LINE) * em)
    return [*marks, *(spot("words", other.name, at) for other in others)]


def _alt(groups: Iterable[_Group], what: str) -> str:
    told = "; ".join(
        f"{g.title}: {', '.join(p.name for same in g.alike for p in same)}" for g in groups
    )
    return f"{what} as they are cut. {told}."

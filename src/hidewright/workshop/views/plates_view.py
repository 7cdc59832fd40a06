"""Plates of moulds, templates, blocks and jigs, each part as it is cut, side by side."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from hidewright.design.part import Part
from hidewright.geometry.segment import Point, turn
from hidewright.units.length import LengthUnit
from hidewright.workshop.tooling_chain import Moulding
from hidewright.workshop.views.rows import Cell, laid_within
from hidewright.workshop.views.svg_view import (
    BY,
    HIGH,
    WIDE,
    FlatView,
    Mark,
    ViewLayer,
    drawn,
    pierced,
    said,
    size_words,
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
#: Room between parts, and between groups of them, in sizes of the type.
BETWEEN, APART = 1.6, 1.6
#: Widths tried, over the usual one, and how often with the type that the best of them asks for.
WIDTHS, ROUNDS = (0.8, 1.0, 1.25, 1.6), 2
#: Room for the words under a part, mm, before the size of the type is known.
CAPTION_MM = (12.0, 24.0)
#: Size of the words under a part, over the type, and the room between their lines.
SMALL, LINE = 0.85, 1.15
#: Height of a capital over the size of the type on the screen, roughly.
CAPITAL = 0.72


#: Lines under a part: (layer, words).
_Caption = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Parts that belong together, under one heading."""

    title: str
    parts: tuple[Part, ...]
    prefix: str = ""

    @property
    def board(self) -> str:
        """The board most of its parts are cut from."""
        return Counter(part.board.name for part in self.parts).most_common(1)[0][0]

    @property
    def heading(self) -> str:
        """Its title and its board."""
        return f"{self.title}: {self.board}"


def plates_view(mouldings: Sequence[Moulding], unit: LengthUnit = "mm") -> FlatView | None:
    """Return the plates and blocks of each mould; None when nothing is moulded."""
    groups = [
        _Group(
            title=f"Mould for {m.blank.name}, closed "
            f"{size_words(m.tool.closed_height_mm, unit)} high",
            parts=_largest_first(m.tool.parts),
            prefix=m.blank.name,
        )
        for m in mouldings
    ]
    return _view(groups, "Plates", unit)


def templates_view(
    trims: Sequence[Part],
    pricks: Sequence[Part],
    blocks: Sequence[Part],
    jigs: Sequence[Part],
    unit: LengthUnit = "mm",
) -> FlatView | None:
    """Return templates, blocks and jigs by what they are for; None when there are none."""
    groups = [
        _Group(title="Trimming", parts=_largest_first(trims)),
        _Group(title="Pricking", parts=_largest_first(pricks)),
        _Group(title="Blocks", parts=_largest_first(blocks)),
        _Group(title="Jigs", parts=_largest_first(jigs)),
    ]
    return _view([g for g in groups if g.parts], "Templates", unit)


def _view(groups: Sequence[_Group], what: str, unit: LengthUnit) -> FlatView | None:
    if not groups:
        return None
    em = _usual_width(groups) / WIDE
    for _ in range(ROUNDS):
        used = em
        tried = [_laid(groups, share * em * WIDE, em, unit) for share in WIDTHS]
        em, shelves = min(tried, key=lambda found: found[0])
    em = used
    marks: list[Mark] = []
    for group, head, shelf in shelves:
        heading = said("words", group.heading, head, em, 1.4, "start", look="title")
        marks.append(standing_for(group.prefix, heading))
        for part, caption, shift in shelf:
            marks += _part(part, caption, shift, em)
    return view_of(marks, LAYERS, _alt(groups, what), em)


#: (part, lines under it, how far it is moved) for each part of a group.
_Shelf = list[tuple[Part, _Caption, Point]]


def _laid(
    groups: Sequence[_Group], wide: float, em: float, unit: LengthUnit
) -> tuple[float, list[tuple[_Group, Point, _Shelf]]]:
    """Return the type that the picture asks for, and the groups one under another in a width."""
    found = []
    top = right = 0.0
    for group in groups:
        head = (0.0, top - 1.4 * em)
        top -= 2.6 * em
        captions = [_caption(part, group, unit, em) for part in group.parts]
        cells = [_cell(p, c, em) for p, c in zip(group.parts, captions, strict=True)]
        shifts, bottom = laid_within(cells, BETWEEN * em, wide)
        right = max(right, *(x + c.whole[2] for c, (x, _) in zip(cells, shifts, strict=True)))
        moved = [(x, y + top) for x, y in shifts]
        found.append((group, head, list(zip(group.parts, captions, moved, strict=True))))
        top += bottom - APART * em
    return type_size(right, -top), found


def _usual_width(groups: Iterable[_Group]) -> float:
    """Return the width at which the area of all parts has the proportions of a picture, mm."""
    beside, below = CAPTION_MM
    area = math.fsum(
        (p.outline.width + beside) * (p.outline.height + below) for g in groups for p in g.parts
    )
    return math.sqrt(area * WIDE / HIGH)


def _largest_first(parts: Iterable[Part]) -> tuple[Part, ...]:
    return tuple(sorted(parts, key=lambda p: -p.outline.height))


def _caption(part: Part, group: _Group, unit: LengthUnit, em: float) -> _Caption:
    """Return lines for under a part: its name within the group, its size, its board."""
    name = part.name.removeprefix(f"{group.prefix} ")
    if part.count > 1:
        name += f", {part.count} of them"
    w, h = part.outline.width, part.outline.height
    size = f"{size_words(w, unit)}{BY}{size_words(h, unit)}"
    room = max(math.floor(max(w, 14 * em * SMALL) / words_wide("n", em, SMALL)), 12)
    board = "" if part.board.name == group.board else part.board.name
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


def _part(part: Part, caption: _Caption, shift: Point, em: float) -> list[Mark]:
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
    return marks


def _alt(groups: Iterable[_Group], what: str) -> str:
    told = "; ".join(f"{g.title}: {', '.join(p.name for p in g.parts)}" for g in groups)
    return f"{what} as they are cut. {told}."

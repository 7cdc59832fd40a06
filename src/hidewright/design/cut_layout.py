"""Where the pieces of a batch lie on hides or sheets, and how good that is."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from hidewright.design.cutting import Cutting, Layout
from hidewright.design.hide import Hide, area_of
from hidewright.design.stock_hide import MM2_PER_M2

#: What a maker asks.
Question = Literal["most sets", "least leather", "what to buy", "one more set", "fewest sheets"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What is left of a hide and worth keeping."""

    of: int
    hide: Hide


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLayout:
    """The answer to a question, accepted by the checker of layouts; a row of the book.

    Attributes:
        title: What is cut, in words.
        material: Name of the leather or board.
        question: What was asked.
        sets: How many whole sets lie there.
        articles: (article, how many of it) that the pieces make.
        hides: What is cut from.
        hide_ids: Their ids in the book; empty for one that is still to be bought.
        pieces: What is cut, with how many a set needs.
        placements: Where each copy lies.
        pinned: (piece, copy) of those the maker put where they are.
        spacing_mm: Room between pieces, for the knife or the kerf.
        edge_margin_mm: Room to the hide's edge.
        rests: What is left and worth keeping.
        figure: Sets, m2 of leather, hides to buy, or sheets, as was asked.
        bound: What no layout can beat.
        rounds: Of search; as many again with the seed give the same layout.
        seed: Of the random numbers.
        seconds: How long it took.
    """

    title: str
    material: str
    question: Question
    sets: int
    articles: tuple[tuple[str, int], ...]
    hides: tuple[Hide, ...]
    hide_ids: tuple[str, ...]
    pieces: tuple[Cutting, ...]
    placements: Layout
    pinned: tuple[tuple[int, int], ...] = ()
    spacing_mm: float
    edge_margin_mm: float
    rests: tuple[Rest, ...] = ()
    figure: float
    bound: float
    rounds: int
    seed: int
    seconds: float

    @property
    def used_hides(self) -> tuple[int, ...]:
        """The numbers of the hides that anything lies on."""
        return tuple(sorted({placement.hide for placement in self.placements}))

    @property
    def pieces_m2(self) -> float:
        """Area of all pieces as cut, m2."""
        each = [piece_area(piece) for piece in self.pieces]
        return math.fsum(each[p.piece] for p in self.placements) / MM2_PER_M2

    @property
    def taken_m2(self) -> float:
        """Area of the hides cut into, less what is worth keeping, m2."""
        whole = math.fsum(self.hides[number].area_mm2 for number in self.used_hides)
        kept = math.fsum(rest.hide.area_mm2 for rest in self.rests)
        return (whole - kept) / MM2_PER_M2

    @property
    def yield_share(self) -> float:
        """Share of what is taken that is pieces; the rest is waste."""
        return self.pieces_m2 / self.taken_m2 if self.taken_m2 > 0.0 else 0.0

    def is_pinned(self, piece: int, copy: int) -> bool:
        """Whether the maker put a copy where it is."""
        return (piece, copy) in self.pinned


def layouts_with(article: str, layouts: Iterable[CutLayout]) -> tuple[CutLayout, ...]:
    """Return the layouts of leather that pieces of an article lie on; tools on boards are none."""
    return tuple(
        one for one in layouts if one.question != "fewest sheets" and article in dict(one.articles)
    )


def piece_area(piece: Cutting) -> float:
    """Return the area of a piece with all that is cut with it, without its windows, mm2."""
    rings = (piece.outline, *piece.others)
    return math.fsum(map(area_of, rings)) - math.fsum(map(area_of, piece.holes))


def yields_of(layouts: Iterable[CutLayout]) -> tuple[tuple[str, float], ...]:
    """Return (leather, share of what is taken that is pieces as cut), for costing.

    Layouts of one leather count by area.
    """
    pieces: dict[str, float] = {}
    taken: dict[str, float] = {}
    for layout in layouts:
        if layout.taken_m2 > 0.0:
            pieces[layout.material] = pieces.get(layout.material, 0.0) + layout.pieces_m2
            taken[layout.material] = taken.get(layout.material, 0.0) + layout.taken_m2
    return tuple((name, pieces[name] / taken[name]) for name in pieces)

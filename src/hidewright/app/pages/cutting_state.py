"""What one window of the cutting page has chosen: articles, hides, the question, its answer."""

from dataclasses import dataclass, field, replace
from functools import reduce
from math import gcd
from typing import Any, get_args

from hidewright.design.asked_piece import AskedPiece
from hidewright.design.cut_layout import CutLayout, Question
from hidewright.design.cutting import Layout
from hidewright.design.hide_presets import PRESETS, hide_of, preset_named
from hidewright.design.stock_hide import StockHide
from hidewright.errors import RequestError
from hidewright.workshop.cutting.asked import (
    BEAM_EDGE_MM,
    BEAM_SPACING_MM,
    EDGE_MM,
    SPACING_MM,
    CutAsked,
)

#: More rounds than any clock allows.
ENDLESS = 10**12
#: How long is searched at first, s.
SECONDS = 20.0
#: What is asked, in the maker's words.
QUESTIONS: tuple[tuple[Question, str], ...] = (
    ("least leather", "Least leather for this batch"),
    ("most sets", "Most whole sets from one hide"),
    ("what to buy", "What must I buy for it"),
    ("one more set", "What one more set takes"),
    ("fewest sheets", "Tools: fewest sheets of board"),
)


@dataclass(slots=True)
class CuttingState:
    """The choices, and what came of them.

    Attributes:
        counts: How many of each design, by id, are in a set.
        found: What is cut for each design.
        wishes: What the maker lets a piece ask for otherwise, by its name: values by field.
        tools: Parts of the tools of each design, with how many are cut.
        boards: A whole sheet of each board, by its name.
        hides: The hides in stock, by id.
        sheets: The rests of sheets in stock, by id.
        chosen: Ids of those that may be cut into.
        chosen_for: The leather or board for which they were chosen.
        material: The leather that is cut now; empty for the first there is.
        question: What is asked.
        sets: How many sets are wanted.
        seconds: How long is searched.
        spacing_mm: Room between pieces.
        edge_margin_mm: Room to the edge.
        preset: Name of the sort of hide that could be bought, and its area.
        area_m2: Of that.
        layout: The last answer.
        placements: Where its copies are to lie, while the maker moves them.
        pinned: (piece, copy) of those that stay.
        selected: (piece, copy) of the one in hand.
    """

    counts: dict[str, int] = field(default_factory=dict)
    found: dict[str, tuple[AskedPiece, ...]] = field(default_factory=dict)
    wishes: dict[str, dict[str, Any]] = field(default_factory=dict)
    tools: dict[str, tuple[tuple[AskedPiece, int], ...]] = field(default_factory=dict)
    boards: dict[str, StockHide] = field(default_factory=dict)
    hides: dict[str, StockHide] = field(default_factory=dict)
    sheets: dict[str, StockHide] = field(default_factory=dict)
    chosen: set[str] = field(default_factory=set)
    chosen_for: str = ""
    material: str = ""
    question: Question = "least leather"
    sets: int = 1
    seconds: float = SECONDS
    spacing_mm: float = SPACING_MM
    edge_margin_mm: float = EDGE_MM
    preset: str = PRESETS[1].name
    area_m2: float = PRESETS[1].usual_m2
    layout: CutLayout | None = None
    placements: Layout = ()
    pinned: tuple[tuple[int, int], ...] = ()
    selected: tuple[int, int] | None = None

    def resumed(self) -> "CuttingState":
        """Return the same choices for a page that is opened later.

        What is cut for the designs is left out: they may be changed until then.
        """
        return replace(
            self,
            counts=dict(self.counts),
            found={},
            wishes={name: dict(wish) for name, wish in self.wishes.items()},
            tools={},
            boards={},
            chosen=set(self.chosen),
        )

    @property
    def is_tools(self) -> bool:
        """Whether tools are cut from boards, not pieces from leather."""
        return self.question == "fewest sheets"

    @property
    def stock(self) -> dict[str, StockHide]:
        """What can be cut from, by id."""
        return self.sheets if self.is_tools else self.hides

    @property
    def unknown(self) -> tuple[str, ...]:
        """Ids of chosen designs of which it is not known yet what is cut."""
        known = self.tools if self.is_tools else self.found
        return tuple(id for id in self.counts if id not in known)

    @property
    def _all(self) -> tuple[tuple[AskedPiece, int], ...]:
        """What is cut for the chosen designs, of all leathers or boards."""
        if self.is_tools:
            return tuple(part for id in self.counts for part in self.tools.get(id, ()))
        return tuple(
            (piece, count) for id, count in self.counts.items() for piece in self.found.get(id, ())
        )

    @property
    def materials(self) -> tuple[str, ...]:
        """The leathers or boards that the chosen designs are cut from."""
        return tuple(dict.fromkeys(piece.material for piece, _ in self._all))

    @property
    def leather(self) -> str:
        """The leather or board that is cut now; empty when nothing is."""
        there = self.materials
        return self.material if self.material in there else (there[0] if there else "")

    @property
    def pieces(self) -> tuple[tuple[AskedPiece, int], ...]:
        """What is cut from that leather, as the maker wants it, with how many a set has."""
        return tuple(
            (replace(piece, **self.wishes.get(piece.name, {})), count)
            for piece, count in self._all
            if piece.material == self.leather
        )

    def as_found(self, name: str) -> AskedPiece:
        """Return a piece as its design has it, whatever the maker wants of it."""
        return next(piece for piece, _ in self._all if piece.name == name)

    def wish(self, name: str, **changes: Any) -> None:
        """Let a piece ask for something else."""
        self.wishes[name] = self.wishes.get(name, {}) | changes

    @property
    def changed_hides(self) -> tuple[str, ...]:
        """Names of the hides that are not in stock any more as the last answer has them."""
        layout, there = self.layout, self.hides | self.sheets
        if layout is None:
            return ()
        return tuple(
            hide.name
            for id, hide in zip(layout.hide_ids, layout.hides, strict=True)
            if id and (id not in there or replace(there[id].hide, name=hide.name) != hide)
        )

    def choose_question(self, words: str) -> None:
        """Choose what is asked."""
        self.question = next(q for q in get_args(Question) if q == words)

    def take_batch(self, wanted: dict[str, int]) -> None:
        """Take a batch of articles: as many sets as divide it evenly."""
        self.sets = max(1, reduce(gcd, wanted.values(), 0))
        self.counts = {id: count // self.sets for id, count in wanted.items()}

    def asked(self, *, keeping: bool = False) -> CutAsked:
        """Return the question.

        Args:
            keeping: Whether what is pinned in the last answer stays where it is.

        Raises:
            RequestError: When something is missing or does not go together.
        """
        if not self.pieces:
            raise RequestError("nothing to cut", mend="Choose at least one design")
        hides = tuple((id, stock) for id, stock in self.stock.items() if id in self.chosen)
        fixed: Layout = ()
        if keeping and self.layout is not None:
            known = dict(hides)
            if any(id not in known for id in self.layout.hide_ids):
                raise RequestError(
                    "a hide with pinned pieces is not chosen",
                    mend="Choose it, or take the pins out",
                )
            if any(piece >= len(self.pieces) for piece, _ in self.pinned):
                raise RequestError(
                    "a pinned piece is not among what is asked for any more",
                    mend="Take its pin out, or choose its design again",
                )
            order = [id for id, _ in hides]
            fixed = tuple(
                replace(p, hide=order.index(self.layout.hide_ids[p.hide]))
                for p in self.placements
                if (p.piece, p.copy) in self.pinned
            )
        return CutAsked(
            question=self.question,
            pieces=self.pieces,
            sets=1 if self.is_tools else self.sets,
            hides=hides,
            offered=self.offered(),
            spacing_mm=BEAM_SPACING_MM if self.is_tools else self.spacing_mm,
            edge_margin_mm=BEAM_EDGE_MM if self.is_tools else self.edge_margin_mm,
            fixed=fixed,
            rounds=ENDLESS,
            seed=1,
        )

    def offered(self) -> StockHide:
        """Return the hide or sheet as it could be bought."""
        if self.is_tools:
            return self.boards[self.leather]
        hide = hide_of(preset_named(self.preset), self.area_m2, name=self.preset)
        return StockHide(hide=hide, material=self.leather)

    def take(self, layout: CutLayout) -> None:
        """Take over an answer."""
        self.layout = layout
        self.placements = layout.placements
        self.pinned = layout.pinned
        if self.selected not in {(p.piece, p.copy) for p in layout.placements}:
            self.selected = None

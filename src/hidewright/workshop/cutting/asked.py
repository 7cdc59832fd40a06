"""A question about hides, as a maker puts it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hidewright.design.asked_piece import AskedPiece
from hidewright.design.cut_layout import Question
from hidewright.design.cutting import Layout
from hidewright.design.stock_hide import StockHide
from hidewright.errors import RequestError

#: Room for the knife between pieces, and to the hide's edge, mm. Common practice, no source.
SPACING_MM, EDGE_MM = 2.0, 5.0
#: Room between the beam's paths round two parts, and to the sheet's edge, mm. Common practice, no
#: source.
BEAM_SPACING_MM, BEAM_EDGE_MM = 3.0, 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CutAsked:
    """A question.

    Attributes:
        question: What is to be known.
        pieces: What a set is made of, with how many of its article a set has.
        sets: How many are wanted, where that is not the question.
        hides: What there is, by id.
        offered: A hide as it could be bought.
        spacing_mm: Room between pieces.
        edge_margin_mm: Room to the edge.
        fixed: Copies that stay where they are, by the pieces' and hides' numbers here.
        rounds: Budget of the search.
        seed: Of the random numbers.
    """

    question: Question
    pieces: tuple[tuple[AskedPiece, int], ...]
    sets: int
    hides: tuple[tuple[str, StockHide], ...]
    offered: StockHide | None = None
    spacing_mm: float = SPACING_MM
    edge_margin_mm: float = EDGE_MM
    fixed: Layout = ()
    rounds: int
    seed: int

    def __post_init__(self) -> None:
        if not self.pieces:
            raise RequestError("nothing to cut", mend="Choose at least one design")
        if self.sets < 1 or any(count < 1 for _, count in self.pieces):
            raise RequestError(f"{self.sets} sets are asked for", mend="Ask for one or more")
        buys = self.question in ("what to buy", "fewest sheets")
        if buys and self.offered is None:
            raise RequestError("no hide to buy", mend="Say which sort of hide could be bought")
        if not buys and not self.hides:
            raise RequestError(
                "nothing to cut from", mend="Add a hide, or ask what you must buy for it"
            )
        of = {stock.material for _, stock in self.hides}
        wrong = sorted(of - {self.material})
        if wrong:
            raise RequestError(
                f"a hide of {wrong[0]}",
                because=f"these pieces are cut from {self.material}",
                mend="Choose hides of that leather, or change the leather of the hide",
            )

    @property
    def material(self) -> str:
        """The leather of the pieces.

        Raises:
            RequestError: When they are not of one.
        """
        names = sorted({piece.material for piece, _ in self.pieces})
        if len(names) > 1:
            raise RequestError(
                f"pieces of {' and of '.join(names)}",
                because="one layout is of one leather",
                mend="Ask for each leather by itself",
            )
        return names[0]


def articles_of_one(pieces: Sequence[tuple[AskedPiece, int]]) -> int:
    """Return the least number of sets that whole pieces make."""
    return math.lcm(*(piece.articles // math.gcd(piece.articles, n) for piece, n in pieces))

"""What is to be cut from what, and how long that is thought about."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from hidewright.design.cutting import Cutting, Layout
from hidewright.design.hide import Hide
from hidewright.errors import RequestError

Goal = Literal["sets", "length", "hides"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What is to be cut from what.

    Attributes:
        goal: ``sets`` is most whole sets, ``length`` least length along x for a number of sets,
            ``hides`` all pieces of one set from the fewest hides.
        hides: What there is; ``sets`` and ``length`` have one.
        pieces: What a set is made of.
        sets: How many are asked for, where that is not the question.
        spacing_mm: Least distance between pieces.
        edge_margin_mm: Least distance from the hide's edge.
        fixed: Copies that lie where they lie; only the others are laid.
    """

    goal: Goal
    hides: tuple[Hide, ...]
    pieces: tuple[Cutting, ...]
    sets: int = 1
    spacing_mm: float = 0.0
    edge_margin_mm: float = 0.0
    fixed: Layout = ()

    def __post_init__(self) -> None:
        if not self.hides or not self.pieces:
            raise RequestError(
                "nothing to cut" if self.hides else "nothing to cut from",
                mend="Give at least one hide and one piece",
            )
        if self.sets < 1:
            raise RequestError(f"{self.sets} sets are asked for", mend="Ask for one or more")
        for name, value in (("spacing", self.spacing_mm), ("edge margin", self.edge_margin_mm)):
            if not 0.0 <= value < float("inf"):
                raise RequestError(f"the {name} is {value} mm", mend="Give 0 or more")


@dataclass(slots=True)
class Budget:
    """Rounds of the search that may still be spent, and who may call it off before.

    Attributes:
        rounds: The most.
        called_off: Asked before each round; the search keeps what it has when it is true.
        spent: How many were.
    """

    rounds: int
    called_off: Callable[[], bool] = lambda: False
    spent: int = 0

    @property
    def left(self) -> bool:
        """Whether there is a round left."""
        return self.spent < self.rounds and not self.called_off()

    def spend(self) -> bool:
        """Take one round; return whether there was one left."""
        if not self.left:
            return False
        self.spent += 1
        return True

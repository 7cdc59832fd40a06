"""All pieces laid on some hides: each is filled, then what is left over is taken in."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.nesting.lattice import Ints, Lattice
from hidewright.nesting.problem import Budget
from hidewright.nesting.separation import Pieces

#: No hide is filled by more than this share: what would go beyond is not tried.
DENSEST = 0.9
#: Attempts in a row to lay a piece left over that fail before the hides are begun anew; how much
#: longer each of them lasts than in the first filling.
FAILURES, LONGER = 60, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Areas:
    """What is weighed before a piece is tried on a hide, mm2.

    Attributes:
        hides: Area of each hide, without its holes.
        pieces: Area of each kind of piece.
    """

    hides: tuple[float, ...]
    pieces: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """A hide with pieces on it.

    Attributes:
        hide: Its number.
        kinds: The pieces' kinds.
        at: (n, 3) where they lie on its lattice.
    """

    hide: int
    kinds: tuple[int, ...]
    at: Ints


class Filling:
    """Pieces on their way onto hides.

    Attributes:
        filled: The hides with what lies on them, by their numbers.
        left: The kinds of the pieces that lie nowhere yet, that to be laid first first.
    """

    def __init__(
        self,
        lattice_of_hide: Callable[[int], Lattice],
        areas: Areas,
        *,
        patience: int,
        seed: int,
        budget: Budget,
    ) -> None:
        """Begin with nothing laid.

        Args:
            lattice_of_hide: Returns the lattice of a hide.
            areas: Of hides and pieces.
            patience: Rounds without progress that end an attempt to lay one piece more.
            seed: Of the random numbers.
            budget: Rounds.
        """
        self.filled: dict[int, Filled] = {}
        self.left: list[int] = []
        self._lattice_of_hide = lattice_of_hide
        self._areas = areas
        self._patience = patience
        self._seed, self._tries = seed, 0
        self._budget = budget

    def fill(self, hides: Sequence[int], kinds: Sequence[int]) -> None:
        """Fill one hide after another.

        Each takes the pieces left over, in their order, one by one: a piece stays when all can be
        moved so that none overlaps.

        Args:
            hides: The numbers of the hides, that to be filled first first.
            kinds: The pieces' kinds, that to be laid first first.
        """
        self.left = list(kinds)
        for hide in hides:
            self.filled[hide] = Filled(hide=hide, kinds=(), at=np.zeros((0, 3), np.int64))
            refused: set[int] = set()
            for kind in tuple(self.left):
                if kind not in refused and self._laid(hide, kind, None, self._patience):
                    self.left.remove(kind)
                else:
                    refused.add(kind)

    def take_in(self) -> bool:
        """Lay what is left over; return whether all is.

        A piece goes onto a hide that can take it in, or changes places with a smaller one, which
        is then left over in its stead.
        """
        random = np.random.default_rng(self._seed)
        refused: dict[tuple[int, int], Filled] = {}
        failures = 0
        while self.left and failures < FAILURES and self._budget.left:
            self.left.sort(key=lambda kind: (-self._areas.pieces[kind], kind))
            kind = self.left[min(random.integers(len(self.left), size=2))]
            done = any(
                refused.get((hide, kind)) is not self.filled[hide]
                and self._laid(hide, kind, None, self._patience * LONGER)
                for hide in random.permutation(list(self.filled)).tolist()
            )
            if done:
                self.left.remove(kind)
            else:
                refused |= {(hide, kind): there for hide, there in self.filled.items()}
                done = self._exchanged(kind, random)
            failures = 0 if done else failures + 1
        return not self.left

    def _exchanged(self, kind: int, random: np.random.Generator) -> bool:
        """Lay a piece in place of a smaller one that lies somewhere; return whether it could be."""
        area = self._areas.pieces
        smaller = [
            (hide, number)
            for hide, one in self.filled.items()
            for number, other in enumerate(one.kinds)
            if area[other] < area[kind]
        ]
        if not smaller:
            return False
        # of some at random that which is nearest in size
        drawn = [smaller[k] for k in random.integers(len(smaller), size=3)]
        hide, number = max(drawn, key=lambda one: area[self.filled[one[0]].kinds[one[1]]])
        other = self.filled[hide].kinds[number]
        if not self._laid(hide, kind, number, self._patience * LONGER):
            return False
        self.left.remove(kind)
        self.left.append(other)
        return True

    def _laid(self, hide: int, kind: int, instead_of: int | None, patience: int) -> bool:
        """Lay a piece on a hide, in place of another if told which; return whether it could be."""
        there = self.filled[hide]
        lattice, kept = self._lattice_of_hide(hide), list(range(len(there.kinds)))
        if instead_of is not None:
            kept.remove(instead_of)
        kinds = [*(there.kinds[k] for k in kept), kind]
        room = DENSEST * self._areas.hides[hide]
        if (
            sum(self._areas.pieces[k] for k in kinds) > room
            or not self._budget.left
            or not _has_place(lattice, kind)
        ):
            return False
        self._tries += 1
        pieces = Pieces(lattice, kinds, self._seed, self._tries)
        pieces.state.at[: len(kept)] = there.at[kept]
        if not pieces.separate(self._budget, strikes=1, patience=patience):
            return False
        self.filled[hide] = Filled(hide=hide, kinds=tuple(kinds), at=pieces.state.at.copy())
        return True


def _has_place(lattice: Lattice, kind: int) -> bool:
    field = lattice.field
    first, last = field.choices[kind], field.choices[kind + 1]
    return bool(field.free[first:last].any()) if len(field.free) else True

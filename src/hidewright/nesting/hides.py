"""All pieces laid on some hides: each is filled, then what is left over is taken in."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from hidewright.nesting.lattice import Ints, Lattice
from hidewright.nesting.problem import Budget
from hidewright.nesting.separation import Pieces

#: No hide is filled by more than this share: what would go beyond is not tried.
DENSEST = 0.9
#: Attempts in a row to lay a piece left over that fail before the hides are begun anew; how much
#: longer each of them lasts than in the first filling.
FAILURES, LONGER = 60, 2
#: Smaller pieces of which the largest is to change places with one left over.
DRAWN = 3


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
        self._refused: dict[tuple[int, int], Filled] = {}

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
                if kind in refused:
                    continue
                if self._changed({hide: _with(self.filled[hide], kind)}):
                    self.left.remove(kind)
                else:
                    refused.add(kind)

    def take_in(self) -> bool:
        """Lay what is left over; return whether all is.

        A piece goes onto a hide that can take it in, or changes places with a smaller one, which
        is then left over in its stead; or two hides trade pieces so that room comes together.
        """
        random = np.random.default_rng(self._seed)
        self._patience *= LONGER
        failures = 0
        while self.left and failures < FAILURES and self._budget.left:
            self.left.sort(key=lambda kind: (-self._areas.pieces[kind], kind))
            kind = self.left[min(random.integers(len(self.left), size=2))]
            done = self._added(kind, random) or self._exchanged(kind, random)
            failures = 0 if done else failures + 1
            if not done:
                self._traded(random)
        return not self.left

    def _added(self, kind: int, random: np.random.Generator) -> bool:
        """Lay a piece on some hide; return whether it could be."""
        for hide in random.permutation(list(self.filled)).tolist():
            there = self.filled[hide]
            if self._refused.get((hide, kind)) is there:
                continue
            if self._changed({hide: _with(there, kind)}):
                self.left.remove(kind)
                return True
            self._refused[hide, kind] = there
        return False

    def _exchanged(self, kind: int, random: np.random.Generator) -> bool:
        """Lay a piece in place of a smaller one that lies somewhere; return whether it could be."""
        area = self._areas.pieces
        smaller = [one for one in self._there() if area[self._kind(one)] < area[kind]]
        if not smaller:
            return False
        # of some at random that which is nearest in size
        drawn = [smaller[k] for k in random.integers(len(smaller), size=DRAWN)]
        hide, number = max(drawn, key=lambda one: area[self._kind(one)])
        other = self._kind((hide, number))
        if not self._changed({hide: _with(self.filled[hide], kind, number)}):
            return False
        self.left.remove(kind)
        self.left.append(other)
        return True

    def _traded(self, random: np.random.Generator) -> None:
        """Let two pieces on two hides change places where the fuller hide gets the larger one."""
        area, there = self._areas.pieces, self._there()
        if not there:
            return
        first, second = (there[k] for k in random.integers(len(there), size=2))
        if self._room(first[0]) > self._room(second[0]):
            first, second = second, first
        (full, one), (slack, two) = first, second
        out, come = self._kind(first), self._kind(second)
        if full != slack and area[come] > area[out]:
            self._changed(
                {
                    full: _with(self.filled[full], come, one),
                    slack: _with(self.filled[slack], out, two),
                }
            )

    def _there(self) -> list[tuple[int, int]]:
        """Return the hide of each piece that lies somewhere, and its number there."""
        return [(h, k) for h, one in self.filled.items() for k in range(len(one.kinds))]

    def _kind(self, one: tuple[int, int]) -> int:
        return self.filled[one[0]].kinds[one[1]]

    def _room(self, hide: int, kinds: Sequence[int] | None = None) -> float:
        """Return the area that is left of what may be filled of a hide."""
        there = self.filled[hide].kinds if kinds is None else kinds
        return DENSEST * self._areas.hides[hide] - sum(self._areas.pieces[k] for k in there)

    def _changed(self, hides: dict[int, Filled]) -> bool:
        """Lay hides anew, the piece that came last at random; return whether all could be."""
        laid: dict[int, Filled] = {}
        for hide, there in hides.items():
            lattice = self._lattice_of_hide(hide)
            if self._room(hide, there.kinds) < 0.0 or not _has_place(lattice, there.kinds[-1]):
                return False
            self._tries += 1
            pieces = Pieces(lattice, there.kinds, self._seed, self._tries)
            pieces.state.at[: len(there.at)] = there.at
            if not pieces.separate(self._budget, strikes=1, patience=self._patience):
                return False
            laid[hide] = replace(there, at=pieces.state.at.copy())
        self.filled |= laid
        return True


def _with(there: Filled, kind: int, instead_of: int | None = None) -> Filled:
    """Return a hide with one piece more, or in place of another; it lies nowhere yet."""
    kept = [k for k in range(len(there.kinds)) if k != instead_of]
    kinds = (*(there.kinds[k] for k in kept), kind)
    return replace(there, kinds=kinds, at=there.at[kept])


def _has_place(lattice: Lattice, kind: int) -> bool:
    field = lattice.field
    first, last = field.choices[kind], field.choices[kind + 1]
    return bool(field.free[first:last].any()) if len(field.free) else True

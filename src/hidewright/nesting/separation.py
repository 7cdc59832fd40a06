"""Pieces on one hide, moved until none overlaps."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from hidewright.geometry.segment import Floats
from hidewright.nesting.kernels import Room, State, draw, lay_in_cells, overlaps, separate
from hidewright.nesting.lattice import Ints, Lattice, free_places
from hidewright.nesting.problem import Budget
from hidewright.nesting.sparing import CELL

#: Orientations tried in a move; places tried nearby, and descents, for each.
ORIENTATIONS, NEARBY, DESCENTS = 4, 15, 2
#: Places tried anywhere for each: one for so many pieces, between the least and the most.
PIECES_A_PLACE, ANYWHERE = 2, (30, 50)
#: An attempt that leaves more than this share of the least overlap seen is no progress.
PROGRESS = 0.98
#: Boxes a cell of the survey's grid can list; it has about as many cells as there are pieces.
LISTED = 24
#: Rounds after which pieces in better leather than they ask for are tried elsewhere, and places
#: tried for each orientation.
SPARED_EVERY, SPARED_TRIES = 20, 200
#: Places drawn before all free ones are listed.
TRIES = 50
#: Seeds of the kernels' random numbers, which must not be 0, are spread by this (Weyl's constant),
#: those of searches side by side by another odd number.
SPREAD, APART = 0x9E3779B97F4A7C15, 0xD1B54A32D192ED03


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """Pieces where they lie on a lattice.

    Attributes:
        kinds: (n,) number of the piece that each is a copy of.
        at: (n, 3) column, row, orientation.
    """

    kinds: Ints
    at: Ints

    @property
    def places(self) -> Floats:
        """(n, 2) column and row."""
        return self.at[:, :2].astype(float)


class Pieces:
    """Pieces on a lattice, and how they overlap.

    Attributes:
        lattice: Where they lie.
        kinds: (n,) number of the piece that each is a copy of.
        state: Their places and weights.
        depth: (n, n) how deep each pair overlaps, fifths of a step.
        spares: Whether also pieces that overlap none are moved, out of better leather than they ask
            for.
    """

    def __init__(self, lattice: Lattice, kinds: Sequence[int], seed: int, search: int = 0) -> None:
        n = len(kinds)
        self.lattice = lattice
        self.kinds = np.array(kinds, np.int64)
        self.state = State(
            at=np.zeros((n, 3), np.int64),
            kind=self.kinds,
            weight=np.ones((n, n)),
            limit=lattice.limit.copy(),
            rng=np.array([((seed + 1) * SPREAD + search * APART) % 2**64 or 1], np.uint64),
        )
        self.depth = np.zeros((n, n), np.int32)
        self._room = _room_for(n, lattice.limit)
        anywhere = min(max(n // PIECES_A_PLACE, ANYWHERE[0]), ANYWHERE[1])
        self._effort = np.array([ORIENTATIONS, anywhere, NEARBY, DESCENTS], np.int64)
        self.spares = any(len(lattice.worst[kind].cells) for kind in set(kinds))
        self.scatter_within(float(lattice.limit[0]))

    @property
    def total(self) -> int:
        """The sum of all depths, each counted twice; 0 when nothing overlaps."""
        return int(overlaps(self.lattice.field, self.state, self._room, self.depth))

    def draw(self, n: int) -> int:
        """Return a random whole number below n."""
        return int(draw(self.state.rng, n))

    def scatter(self, i: int) -> None:
        """Lay a piece at random where it may lie."""
        field, at = self.lattice.field, self.state.at
        first, last = field.choices[self.kinds[i]], field.choices[self.kinds[i] + 1]
        at[i, 2] = first + self.draw(int(last - first))
        self._within(i, anew=True)

    @property
    def least_length(self) -> float:
        """In less than this along x, steps, some piece cannot lie."""
        field = self.lattice.field
        ways = [field.size[a:b, 0].min() for a, b in pairwise(field.choices.tolist())]
        return max((float(ways[kind]) for kind in self.kinds), default=0.0)

    def scatter_within(self, length: float) -> None:
        """Lay all pieces at random within a length along x, steps."""
        self.state.limit[0] = length
        for i in range(len(self.kinds)):
            self.scatter(i)

    def narrow(self, length: float) -> None:
        """Let the pieces lie within a length along x, steps, and move those in that are not."""
        self.state.limit[0] = length
        for i in range(len(self.kinds)):
            self._within(i, anew=False)

    def _within(self, i: int, *, anew: bool) -> None:
        """Lay a piece where it may lie: at random, or as near as that is to where it is.

        It keeps its orientation if it can; where it can lie in none it stays, and is not allowed.
        """
        field, (x, y, o) = self.lattice.field, self.state.at[i].tolist()
        first, last = int(field.choices[self.kinds[i]]), int(field.choices[self.kinds[i] + 1])
        start = self.draw(last - first) if last - first > 1 else 0
        for other in (o, *(first + (start + k) % (last - first) for k in range(last - first))):
            place = self._place(other, x, y, anew=anew)
            if place is not None:
                self.state.at[i] = *place, other
                return

    def _place(self, o: int, x: int, y: int, *, anew: bool) -> tuple[int, int] | None:
        """Return where an orientation may lie: at random or near a place; None when nowhere."""
        field = self.lattice.field
        width, height = np.floor(self.state.limit - field.size[o] + 1e-7).astype(int).tolist()
        if width < 0 or height < 0:
            return None
        x, y = min(max(x, 0), width), min(max(y, 0), height)
        if field.mask[o] < 0:
            return (self.draw(width + 1), self.draw(height + 1)) if anew else (x, y)
        if not anew and self._may_lie(o, x, y):
            return x, y
        for _ in range(TRIES if anew else 0):
            x, y = self.draw(width + 1), self.draw(height + 1)
            if self._may_lie(o, x, y):
                return x, y
        rows, columns = np.nonzero(free_places(field, o, width + 1)[: height + 1])
        if not len(rows):
            return None
        k = self.draw(len(rows)) if anew else np.argmin((rows - y) ** 2 + (columns - x) ** 2)
        return int(columns[k]), int(rows[k])

    @property
    def allowed(self) -> bool:
        """Whether each piece lies where it may, whatever it overlaps."""
        if not len(self.kinds):
            return True
        field, (x, y, o) = self.lattice.field, self.state.at.T
        ends = self.state.at[:, :2] + field.size[o] <= self.state.limit + 1e-6
        if x.min() < 0 or y.min() < 0 or not ends.all():
            return False
        masked = field.mask[o] >= 0
        o, x, y = o[masked], x[masked], y[masked]
        return bool((field.free[field.mask[o], y, x >> 3] >> (x & 7) & 1).all())

    def _may_lie(self, o: int, x: int, y: int) -> bool:
        field = self.lattice.field
        return bool(field.free[field.mask[o], y, x >> 3] >> (x & 7) & 1)

    def separate(
        self,
        budget: Budget,
        *,
        strikes: int,
        patience: int,
        until: Callable[[], bool] = lambda: False,
    ) -> bool:
        """Move overlapping pieces until none overlaps; else lay them as they overlapped least.

        Args:
            budget: Rounds that may be spent.
            strikes: How many attempts without progress in a row end it.
            patience: How many rounds without progress end an attempt.
            until: Ends it at once.

        Returns:
            Whether nothing overlaps and each piece lies where it may.
        """
        state = self.state
        self._room = _room_for(len(self.kinds), state.limit)
        least, best, struck = self.total, state.at.copy(), 0
        if not (least and self.allowed):  # a round for looking, so that all comes to an end
            return budget.spend() and self.allowed
        while least and struck < strikes and not until():
            before = least
            self.total  # noqa: B018 - the depths of the best, to which the last attempt went back
            state.weight[:] = 1.0
            idle = rounds = 0
            while least and idle < patience and not until() and budget.spend():
                if self.spares and rounds % SPARED_EVERY == 0:
                    self.spare()
                rounds += 1
                total = int(
                    separate(self.lattice.field, state, self.depth, self._effort, self._room)
                )
                idle = 0 if total < PROGRESS * least else idle + 1
                if total < least:
                    least, best = total, state.at.copy()
            struck = 0 if least < PROGRESS * before else struck + 1
            state.at[:] = best
            if idle < patience and least:
                break
        return least == 0

    def spare(self) -> None:
        """Move pieces out of better leather than they ask for, where there is room; large first.

        The depths must be those of the places as they are, and are kept so.
        """
        lattice, state, field = self.lattice, self.state, self.lattice.field
        middle = (state.at[:, :2] + field.size[state.at[:, 2]] / 2.0) // CELL
        for i in np.argsort(-field.size[state.at[:, 2]].prod(axis=1), kind="stable").tolist():
            worst = lattice.worst[self.kinds[i]]
            column, row = middle[i].astype(int).tolist()
            if not len(worst.cells) or worst.is_in[row, column]:
                continue
            first, last = field.choices[self.kinds[i]], field.choices[self.kinds[i] + 1]
            start = self.draw(int(last - first))
            for k in range(min(int(last - first), ORIENTATIONS)):
                o = first + (start + k) % (last - first)
                if lay_in_cells(
                    field, state, i, o, worst.cells, CELL, SPARED_TRIES, self._room, self.depth
                ):
                    break

    def restore(self, at: Ints) -> None:
        """Lay the pieces as they lay before, in all the length there is."""
        self.state.limit[:] = self.lattice.limit
        self.state.at[:] = at

    @property
    def laid(self) -> Laid:
        """Where they lie now."""
        return Laid(kinds=self.kinds, at=self.state.at.copy())

    @property
    def length(self) -> float:
        """Where the furthest piece ends along x, steps."""
        ends: Floats = self.state.at[:, 0] + self.lattice.field.size[self.state.at[:, 2], 0]
        return float(ends.max(initial=0.0))

    def swap(self) -> None:
        """Let two of the larger pieces of different kinds change places."""
        at, field = self.state.at, self.lattice.field
        size = np.array([field.size[field.choices[k]].prod() for k in self.kinds])
        big = np.argsort(-size, kind="stable")[: max(2, len(size) // 2)]
        i = int(big[self.draw(len(big))])
        others = big[self.kinds[big] != self.kinds[i]]
        if not len(others):
            return self.scatter(i)
        j = int(others[self.draw(len(others))])
        at[[i, j], :2] = at[[j, i], :2]
        self._within(i, anew=False)
        self._within(j, anew=False)
        return None


def _room_for(n: int, limit: Floats) -> Room:
    columns = max(1, round(float(np.sqrt(n * limit[0] / limit[1]))))
    rows = max(1, n // columns)
    return Room(
        box=np.zeros((n, 7), np.int32),
        count=np.zeros((rows, columns), np.int16),
        items=np.zeros((rows, columns, LISTED), np.int16),
        cell=np.zeros(2),
        kept=np.zeros((DESCENTS, 3)),
        none=np.zeros((0, 0), np.uint8),
    )


class Failed:
    """Layouts in which overlaps were left, the better ones first."""

    def __init__(self) -> None:
        self._kept: list[tuple[int, int, Ints]] = []

    def __len__(self) -> int:
        return len(self._kept)

    def add(self, pieces: Pieces) -> None:
        """Keep a layout."""
        self._kept.append((pieces.total, len(self._kept), pieces.state.at.copy()))
        self._kept.sort(key=lambda one: one[:2])

    def take_up_one(self, pieces: Pieces) -> None:
        """Lay the pieces as in one of them, the better the likelier, with two of them swapped."""
        n = len(self._kept)
        k = min(pieces.draw(n), pieces.draw(n), pieces.draw(n))
        pieces.state.at[:] = self._kept[k][2]
        pieces.swap()

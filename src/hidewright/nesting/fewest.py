"""All pieces of a batch from the fewest hides."""

import threading
from collections.abc import Callable, Sequence

import numpy as np
import shapely

from hidewright.design.cutting import Layout, Placement
from hidewright.nesting.ground import polygon_of, shape_of
from hidewright.nesting.hides import Areas, Filling
from hidewright.nesting.lattice import Lattice
from hidewright.nesting.laying import lattice_for, numbered, one_set_of, placed_by, still_to_lay
from hidewright.nesting.problem import Problem
from hidewright.nesting.side_by_side import Search
from hidewright.nesting.too_large import refuse_too_large

#: How many angles stand for any, and rounds of patience with each piece, at first and later: one
#: search begins in haste, so that there is an answer soon, the others at the second of these.
ANGLES, PATIENCE = (12, 12, 12, 12, 18), (1, 8, 20, 40, 60)
#: Lattices that are kept, those used last.
KEPT = 12
#: Pieces are tried in the order of their size, moved by this share of their number.
SHUFFLED = 0.05


class Fewest:
    """What searches for the fewest hides share: the hides in their order, their lattices."""

    def __init__(self, problem: Problem, order: Sequence[int] | None) -> None:
        """Take the hides in an order, the largest first when left out, those begun first.

        Raises:
            RequestError: When a piece fits on none.
        """
        self.problem = problem
        self._areas = Areas(
            hides=tuple(
                float(shapely.area(polygon_of(hide.outline, hide.holes))) for hide in problem.hides
            ),
            pieces=tuple(float(shapely.area(shape_of(p))) for p in problem.pieces),
        )
        areas = self._areas.hides
        by_size = sorted(range(len(areas)), key=lambda k: (-areas[k], k))
        self._begun = {p.hide for p in problem.fixed}
        self._order = sorted(order or by_size, key=lambda hide: hide not in self._begun)
        self._made: dict[tuple[int, int], Lattice] = {}
        self._making = threading.Lock()
        refuse_too_large(problem, (self._lattice(hide, ANGLES[0]) for hide in self._order))

    def _lattice(self, hide: int, angles: int) -> Lattice:
        with self._making:
            made = self._made.pop((hide, angles), None) or lattice_for(self.problem, hide, angles)
            self._made[hide, angles] = made
            while len(self._made) > KEPT:
                del self._made[next(iter(self._made))]
            return made

    def seek(self, bound: float, seed: int, search: Search[Layout]) -> None:
        """Fill hides again and again, one fewer each time that succeeds; tell of each layout."""
        problem, areas = self.problem, self._areas.pieces
        kinds = still_to_lay(one_set_of(problem), 1, [p.piece for p in problem.fixed])
        by_size = sorted(kinds, key=lambda kind: (-areas[kind], kind))
        turn = min(search.number, 1)
        while self._known(search) > bound and search.spend():
            random = np.random.default_rng((seed, search.number, turn))
            of_hide = self._lattices(ANGLES[min(turn, len(ANGLES) - 1)])
            filling = Filling(
                of_hide,
                self._areas,
                patience=PATIENCE[min(turn, len(PATIENCE) - 1)],
                seed=int(random.integers(2**62)),
                budget=search,
            )
            few = self._order[: self._known(search) - 1]
            in_order = search.number == 0 and turn <= 1
            filling.fill(few, by_size if in_order else _shuffled(by_size, random))
            if filling.take_in():
                there = [one for one in filling.filled.values() if one.kinds]
                layout: list[Placement] = []
                for one in there:
                    kinds_there, at = np.array(one.kinds), one.at[:, :2].astype(float)
                    lattice = of_hide(one.hide)
                    layout += placed_by(lattice, kinds_there, one.at[:, 2], at, one.hide)
                used = self._begun | {one.hide for one in there}
                if len(used) < self._known(search):
                    search.tell(float(len(used)), numbered(problem, layout))
            turn += 1

    def _known(self, search: Search[Layout]) -> int:
        """Return the fewest hides that are known to do."""
        return int(search.best.figure) if search.best else len(self._order) + 1

    def _lattices(self, angles: int) -> Callable[[int], Lattice]:
        """Return what returns a hide's lattice, all with one store of depth tables."""
        turned = any(piece.rotations_deg is not None for piece in self.problem.pieces)
        stores: dict[float, Lattice] = {}

        def of_hide(hide: int) -> Lattice:
            lattice = self._lattice(hide, angles)
            backbone = self.problem.hides[hide].backbone_deg if turned else 0.0
            if backbone not in stores:
                stores[backbone] = lattice.with_tables()
            return lattice.with_tables_of(stores[backbone])

        return of_hide


def _shuffled(kinds: Sequence[int], random: np.random.Generator) -> list[int]:
    """Return kinds nearly in their order: each moved by a few places."""
    keys = np.arange(len(kinds)) + random.normal(0.0, SHUFFLED * len(kinds), len(kinds))
    return [kinds[k] for k in np.argsort(keys, kind="stable")]

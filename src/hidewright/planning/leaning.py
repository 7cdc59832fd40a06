"""What the search changes: what goes before what, and how it is changed at random."""

import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.planning.calendar import DAY
from hidewright.planning.problem import SHORTEST_PIECE

#: Steps have a key of their own in the first, middle and last part of the batch.
PARTS = 3
#: Such a share of the changes is to a load that is among the furthest behind.
AT_THE_LAST = 0.15
#: Such a share of the changes is to all loads of an order, by so many minutes.
WHOLE_ORDERS, ORDER_BY = 0.1, 7.0 * DAY
#: So many steps of a load, one behind the other, are moved by themselves.
STRETCHES = (1, 2, 4, 8, 40)


@dataclass(slots=True)
class Leaning:
    """What the search changes.

    Attributes:
        steps: Added to the keys of a step, in each part of the batch.
        loads: Added to the keys of a load.
        places: Of the loads in the line before the slowest station.
        stretch: Minutes by which waits with an upper limit before a step are stretched.
        flush: Key of a change of colour.
        scrap: Key of a scrap of time left.
        own: Added to the key of each operation.
    """

    steps: list[list[float]]
    loads: list[float]
    places: list[int]
    stretch: list[int]
    flush: float
    scrap: float
    own: list[float]

    def copy(self) -> "Leaning":
        """Return one that can be changed by itself."""
        return Leaning(
            steps=[row[:] for row in self.steps],
            loads=self.loads[:],
            places=self.places[:],
            stretch=self.stretch[:],
            flush=self.flush,
            scrap=self.scrap,
            own=self.own[:],
        )


def plain(*, steps: int, operations: int, places: Sequence[int], stretch: int) -> Leaning:
    """Return the leaning that a search begins with.

    Args:
        steps: How many there are.
        operations: How many there are.
        places: Of the loads.
        stretch: Of each step.
    """
    return Leaning(
        steps=[[0.0] * PARTS for _ in range(steps)],
        loads=[0.0] * len(places),
        places=list(places),
        stretch=[stretch] * steps,
        flush=60.0,
        scrap=0.0,
        own=[0.0] * operations,
    )


class Changes:
    """Random changes to leanings.

    Args:
        draw: Where chance comes from.
        order: Operations, each behind those it waits for.
        load_of: Load of each operation, counted from 0.

    Attributes:
        together: Loads of each order, where whole orders are to be moved, too.
    """

    def __init__(self, draw: random.Random, order: Sequence[int], load_of: Sequence[int]) -> None:
        self.draw, self.load_of = draw, load_of
        self.together: Sequence[Sequence[int]] = ()
        self._of_load: list[list[int]] = [[] for _ in range(max(load_of) + 1)]
        self._place = [0] * len(order)
        for i in order:
            self._place[i] = len(self._of_load[load_of[i]])
            self._of_load[load_of[i]].append(i)

    def changed(self, leaning: Leaning, behind: np.ndarray | None) -> Leaning:
        """Return a leaning with one thing changed.

        Args:
            leaning: Not changed itself.
            behind: How far each operation is behind; None when that is not known.
        """
        out, draw = leaning.copy(), self.draw
        if behind is not None and behind.any() and draw.random() < AT_THE_LAST:
            self._sooner(out, behind)
            return out
        if self.together and draw.random() < WHOLE_ORDERS:
            by = draw.gauss(0.0, ORDER_BY)
            for load in draw.choice(self.together):
                out.loads[load] += by
            return out
        what = draw.random()
        if what < 0.25:
            self._by_themselves(out)
        elif what < 0.45:
            row = draw.choice(out.steps)
            by = draw.gauss(0.0, 300.0)
            for part in range(PARTS) if draw.random() < 0.3 else (draw.randrange(PARTS),):
                row[part] += by
        elif what < 0.65:
            out.loads[draw.randrange(len(out.loads))] += draw.gauss(0.0, 500.0)
        elif what < 0.75:
            _exchange(out.places, draw.randrange(len(out.places)), draw.randrange(len(out.places)))
        elif what < 0.80:
            out.flush = abs(out.flush + draw.gauss(0.0, draw.choice((100.0, 3000.0))))
        elif what < 0.85:
            out.scrap = abs(out.scrap + draw.gauss(0.0, 300.0))
        else:
            out.stretch[draw.randrange(len(out.stretch))] = draw.randrange(2 * SHORTEST_PIECE)
        return out

    def _by_themselves(self, leaning: Leaning) -> None:
        """Move some steps of a load, one behind the other."""
        draw = self.draw
        i = draw.randrange(len(leaning.own))
        by = draw.gauss(0.0, 300.0)
        first = self._place[i]
        for one in self._of_load[self.load_of[i]][first : first + draw.choice(STRETCHES)]:
            leaning.own[one] += by

    def _sooner(self, leaning: Leaning, behind: np.ndarray) -> None:
        """Let a load that is among the furthest behind go sooner."""
        draw = self.draw
        furthest = np.flatnonzero(2 * behind > behind.max()).tolist()
        load = self.load_of[draw.choice(furthest)]
        if draw.random() < 0.5:
            leaning.loads[load] -= abs(draw.gauss(0.0, 500.0))
        else:
            _exchange(leaning.places, load, draw.randrange(len(leaning.places)))


def _exchange(places: list[int], one: int, other: int) -> None:
    places[one], places[other] = places[other], places[one]

"""Searches side by side, each in a thread of its own, that tell one another what they found.

What one knows of the others depends on how many rounds each has spent, never on which of them is
the faster: equal seeds and rounds give the equal layout.
"""

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Generic, TypeVar

from hidewright.nesting.problem import Budget

T = TypeVar("T")

#: How many searches there are: as many as most machines have processors to spare.
SEARCHES = 2
#: Pieces that may be moved between one telling and the next, and the fewest rounds.
MOVES, FEWEST = 20_000, 25


@dataclass(frozen=True, slots=True, kw_only=True)
class Found(Generic[T]):
    """A layout without overlap.

    Attributes:
        figure: How good it is, the less the better.
        rounds: How many its search had spent.
        layout: What lies where.
    """

    figure: float
    rounds: int
    layout: T


class Search(Budget, Generic[T]):
    """What one of the searches may spend, tells and knows.

    Attributes:
        number: Which one it is, from 0.
        best: The best layout it knows of: found by itself, or told by another.
    """

    def __init__(self, number: int, company: "_Company[T]") -> None:
        super().__init__(rounds=company.budget.rounds)
        self.number = number
        self.best: Found[T] | None = None
        self._company = company

    @property
    def left(self) -> bool:
        """Whether there is a round left."""
        return self._company.goes_on(self)

    def spend(self) -> bool:
        """Take one round, after hearing of the others when it is time; return whether there was."""
        if not self.left:
            return False
        if self.spent and self.spent % self._company.epoch == 0:
            self._know(self._company.exchange(self))
            if not self.left:
                return False
        self.spent += 1
        return True

    def tell(self, figure: float, layout: T) -> None:
        """Tell of a layout, which must not change afterwards."""
        found = Found(figure=figure, rounds=self.spent, layout=layout)
        self._company.found(self.number, found)
        self._know(found)

    def _know(self, found: Found[T] | None) -> None:
        if found is not None and (self.best is None or found.figure < self.best.figure):
            self.best = found


class _Company(Generic[T]):
    """What the searches share."""

    def __init__(self, budget: Budget, pieces: int, announce: Callable[[Found[T]], None]) -> None:
        self.budget = budget
        self.epoch = max(MOVES // max(pieces, 1), FEWEST)
        self._announce = announce
        self._announced: Found[T] | None = None
        self._changed = threading.Condition()
        self._limit = budget.rounds
        self._over = False
        self._found: list[list[Found[T]]] = [[] for _ in range(SEARCHES)]
        self._told: list[list[Found[T] | None]] = [[] for _ in range(SEARCHES)]

    def goes_on(self, search: Search[T]) -> bool:
        if search.number == 0:
            self._announce_best()
            if self.budget.called_off():
                self.end()
        return not self._over and search.spent < self._limit

    def _announce_best(self) -> None:
        """Announce the best layout so far, in the thread of the first search: the caller's."""
        best, before = _best(self._found, self._limit), self._announced
        if best is not None and (before is None or best.figure < before.figure):
            self._announced = best
            self._announce(best)

    def found(self, number: int, found: Found[T]) -> None:
        self._found[number].append(found)

    def exchange(self, search: Search[T]) -> Found[T] | None:
        """Tell the others the best so far; return what was best at the last telling.

        None waits for another that is less than an epoch behind.
        """
        told, now = self._told, search.spent // self.epoch
        with self._changed:
            told[search.number].append(search.best)
            self._changed.notify_all()
            self._changed.wait_for(lambda: self._is_over(search) or min(map(len, told)) >= now - 1)
            if now < 2 or self._is_over(search):
                return None
            before = [of_one[now - 2] for of_one in told]
        return min((one for one in before if one), key=lambda one: one.figure, default=None)

    def _is_over(self, search: Search[T]) -> bool:
        return self._over or search.spent >= self._limit

    def finish(self, search: Search[T]) -> None:
        """Let no search go beyond the rounds of one that has nothing left to seek."""
        with self._changed:
            self._limit = min(self._limit, search.spent)
            self._changed.notify_all()

    def end(self) -> None:
        with self._changed:
            self._over = True
            self._changed.notify_all()

    def outcome(self, searches: list[Search[T]]) -> tuple[Found[T] | None, int]:
        rounds = min(self._limit, *(search.spent for search in searches))
        return _best(self._found, rounds), rounds


def _best(found: list[list[Found[T]]], rounds: int) -> Found[T] | None:
    """Return the best layout of some rounds; of equals the one found first."""
    there = [one for of_one in found for one in of_one if one.rounds <= rounds]
    return min(there, key=lambda one: (one.figure, one.rounds), default=None)


def search_side_by_side(
    budget: Budget,
    pieces: int,
    seek: Callable[[Search[T]], None],
    announce: Callable[[Found[T]], None],
) -> Found[T] | None:
    """Return the best layout that searches side by side find, if any.

    Args:
        budget: Rounds that each may spend; what they spent is written there.
        pieces: How many there are, by which a round takes its time.
        seek: One search. When it returns, the others end as soon as they spent as many rounds.
        announce: Called in this thread with each better layout.
    """
    company = _Company(budget, pieces, announce)
    searches = [Search(number, company) for number in range(SEARCHES)]

    def run(search: Search[T]) -> None:
        try:
            seek(search)
        except BaseException:
            company.end()
            raise
        company.finish(search)

    with ThreadPoolExecutor(SEARCHES - 1) as others:
        running = [others.submit(run, search) for search in searches[1:]]
        run(searches[0])
        for one in running:
            one.result()
    best, budget.spent = company.outcome(searches)
    return best

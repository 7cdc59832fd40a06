"""Problems without hands: orders of work that are broken up in places, over and over."""

import math
from collections.abc import Iterator

import numpy as np

from hidewright.planning.plan import Plan
from hidewright.planning.problem import Problem, Span
from hidewright.planning.project_kernels import Net, Waits, by_key, climbed, improved

#: Orders to begin with.
FIRST_ORDERS = 40
#: So many orders are tried in each round behind those.
TRIES = 20
#: A finish worse by such a share is taken up, less and more by turns of so many tries.
HEAT, TURN = 0.003, 50_000


class Project:
    """The best schedule so far, and the order in work.

    Args:
        problem: See ``suits``.
        seed: For the random changes.
    """

    def __init__(self, problem: Problem, seed: int) -> None:
        self.minutes = [one.minutes for one in problem.operations]
        self.net = _net(problem)
        self.random = np.random.default_rng(seed)
        self.best = np.zeros(len(self.minutes), np.int64)
        self.finish = 10**9

    def rounds(self) -> Iterator[int]:
        """Go on for ever; yields after each round the finish of the best schedule."""
        order, finish = np.zeros(0, np.int64), 10**9
        for key in self._first_keys():
            then, starts, other = improved(self.net, by_key(self.net, key))
            self._keep(starts, then)
            if then < finish:
                order, finish = other, then
            yield self.finish
        tried, count = 0, len(self.minutes)
        while True:
            turns = np.arange(tried, tried + TRIES) * (2.0 * math.pi / TURN)
            heats = HEAT * finish * (0.5 + 0.5 * np.cos(turns)) + 0.02
            draws = self.random.random((TRIES, 4))
            shifts = self.random.standard_normal((TRIES, count))
            order, finish, starts, best = climbed(self.net, order, finish, heats, draws, shifts)
            self._keep(starts, best)
            tried += TRIES
            yield self.finish

    def plan(self) -> Plan:
        """Return the best schedule as a plan."""
        starts = self.best.tolist()
        return Plan(
            spans=tuple(
                sorted(
                    Span(start=start, end=start + self.minutes[i], operation=i, person=-1)
                    for i, start in enumerate(starts)
                )
            )
        )

    def _keep(self, starts: np.ndarray, finish: int) -> None:
        if finish < self.finish:
            self.best, self.finish = starts, int(finish)

    def _first_keys(self) -> Iterator[np.ndarray]:
        """Yield keys by the latest start first, ties and more broken at random."""
        tail = self._tails()
        yield -tail
        spread = float(np.max(tail, initial=0.0))
        for k in range(1, FIRST_ORDERS):
            yield self.random.uniform(0.0, spread * 0.5 * k / FIRST_ORDERS, len(tail)) - tail

    def _tails(self) -> np.ndarray:
        """Return the minutes from the start of each operation to the end, by waits alone."""
        tail = np.array(self.minutes, float)
        after = self.net.after
        for i in by_key(self.net, np.zeros(len(tail)))[::-1]:
            for k in range(after.first[i], after.first[i + 1]):
                behind = after.least[k] + tail[after.other[k]]
                tail[i] = max(tail[i], self.minutes[i] + behind)
        return tail


def _net(problem: Problem) -> Net:
    count = len(problem.operations)
    number = {one.name: k for k, one in enumerate(problem.stations)}
    needs = sorted((one.first, number[one.station], one.amount) for one in problem.holds)
    behind = sorted((one.after, one.before, one.least) for one in problem.waits)
    ahead = sorted((one.before, one.after, one.least) for one in problem.waits)
    station, amount = _columns(needs)
    minutes = np.array([one.minutes for one in problem.operations], np.int64)
    release = np.array([problem.orders[one.order].release for one in problem.operations], np.int64)
    waiting = sum(max(0, one.least) for one in problem.waits)
    longest = int(release.max(initial=0) + minutes.sum()) + waiting
    return Net(
        minutes=minutes,
        release=release,
        before=Waits(_first(behind, count), *_columns(behind)),
        after=Waits(_first(ahead, count), *_columns(ahead)),
        first=_first(needs, count),
        station=station,
        amount=amount,
        capacity=np.array([one.capacity for one in problem.stations], np.int64),
        used=np.zeros((len(problem.stations), longest), np.int32),
    )


def _first(rows: list[tuple[int, int, int]], count: int) -> np.ndarray:
    """Return where the rows of each operation begin."""
    return np.searchsorted([row[0] for row in rows], np.arange(count + 1)).astype(np.int64)


def _columns(rows: list[tuple[int, int, int]]) -> tuple[np.ndarray, np.ndarray]:
    table = np.array(rows, np.int64).reshape(-1, 3)
    return np.ascontiguousarray(table[:, 1]), np.ascontiguousarray(table[:, 2])

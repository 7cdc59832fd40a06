"""The rules of a small batch that narrow times, laid out once for many attempts."""

from dataclasses import dataclass

import numpy as np

from hidewright.planning.alike import colours_alike
from hidewright.planning.bench import NEVER, Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.problem import MACHINES, Problem
from hidewright.planning.twins import twins


@dataclass(frozen=True, slots=True, kw_only=True)
class Booth:
    """A machine that is set up where the colour changes."""

    setup: int
    operations: tuple[int, ...]
    colours: tuple[str | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Places:
    """A station with (first operation, last operation, amount, least minutes) of its holds."""

    capacity: int
    holds: tuple[tuple[int, int, int, int], ...]


class Rules:
    """The rules.

    Args:
        problem: Nothing is fixed.
        twins_in_order: Whether only what has twins in order is looked at, where spans suffice.

    Attributes:
        bounds: Of the problem.
        order: Operations, each behind those it waits for.
        whole: Whether an operation is not split by other work: it is done in one go, or pauses over
            breaks only.
        pauses: Whether it pauses over breaks.
        spans_suffice: Whether what may be split is said well enough by its start and end: one pair
            of hands, no largest wait beside it, no machine that is set up for it.
        after: (operation, least, most) of the waits behind each operation.
        before: The same of those before it.
        apart: ``(n, 4) int``: first, last, first and last operation of two holds, or of two times
            at work, that cannot be at once.
        apart_of: Rows of those that each operation stands in.
        first_apart: The first place there of each operation, and how many places there are.
        places: Stations of which not all can be held at once.
        booths: Machines that more than one operation is done at.
    """

    def __init__(self, problem: Problem, *, twins_in_order: bool = True) -> None:
        bench = Bench(problem)
        self.problem, self.order = problem, bench.order
        self.bounds = Bounds(problem, bench)
        self.whole = [
            one.kind != "any" or bench.whole[i] for i, one in enumerate(problem.operations)
        ]
        self.pauses = [whole and not bench.whole[i] for i, whole in enumerate(self.whole)]
        self.spans_suffice = (
            len(problem.persons) == 1
            and all(
                one.most is None or (self.whole[one.before] and self.whole[one.after])
                for one in problem.waits
            )
            and all(
                whole or one.colour is None
                for one, whole in zip(problem.operations, self.whole, strict=True)
            )
        )
        self.twins_in_order = twins_in_order and self.spans_suffice
        self._lay_out_waits()
        self._lay_out_stations()
        self.booths = [
            Booth(setup=setup, operations=some, colours=tuple(bench.colours[i] for i in some))
            for some in (problem.at(machine) for machine in MACHINES)
            if len(some) > 1 and (setup := problem.setup_minutes(problem.operations[some[0]]))
        ]

    def _lay_out_waits(self) -> None:
        count = len(self.problem.operations)
        ties = [
            (one.before, one.after, one.least, NEVER if one.most is None else one.most)
            for one in self.problem.waits
        ]
        ties += [(first[0], second[0], 0, NEVER) for first, second in colours_alike(self.problem)]
        if self.twins_in_order:
            ties += [
                (a, b, 0, NEVER)
                for first, second in twins(self.problem)
                for a, b in zip(first, second, strict=True)
            ]
        self.after: list[list[tuple[int, int, int]]] = [[] for _ in range(count)]
        self.before: list[list[tuple[int, int, int]]] = [[] for _ in range(count)]
        for a, b, least, most in ties:
            self.after[a].append((b, least, most))
            self.before[b].append((a, least, most))

    def _lay_out_stations(self) -> None:
        problem = self.problem
        apart: list[tuple[int, int, int, int]] = []
        self.places: list[Places] = []
        for station in problem.stations:
            holds = [one for one in problem.holds if one.station == station.name]
            if sum(one.amount for one in holds) <= station.capacity:
                continue
            rows = tuple(
                (one.first, one.last, one.amount, self._held(one.first, one.last)) for one in holds
            )
            self.places.append(Places(capacity=station.capacity, holds=rows))
            apart += [
                (*rows[a][:2], *rows[b][:2])
                for a in range(len(rows))
                for b in range(a)
                if rows[a][2] + rows[b][2] > station.capacity
            ]
        if len(problem.persons) == 1:
            apart += self._by_one()
        self.apart = np.array(apart, dtype=np.int64).reshape(-1, 4)
        numbers = np.repeat(np.arange(len(apart)), 4)
        stands = np.unique(np.stack((self.apart.ravel(), numbers), axis=1), axis=0)
        self.apart_of = np.ascontiguousarray(stands[:, 1])
        self.first_apart = np.searchsorted(stands[:, 0], np.arange(len(self.whole) + 1))

    def behind(self) -> list[int]:
        """Return the operations behind each, as bits."""
        behind = [0] * len(self.whole)
        for i in reversed(self.order):
            for then, _, _ in self.after[i]:
                behind[i] |= behind[then] | 1 << then
        return behind

    def _held(self, first: int, last: int) -> int:
        """Return the minutes from the start of one operation to the end of another at least."""
        minutes = [one.minutes for one in self.problem.operations]
        longest = {first: minutes[first]}
        for i in self.order:
            ways = [longest[a] + w + minutes[i] for a, w, _ in self.before[i] if a in longest]
            if ways:
                longest[i] = max(longest.get(i, 0), *ways)
        return longest[last]

    def _by_one(self) -> list[tuple[int, int, int, int]]:
        """Return pairs of whole operations that one person does one behind the other."""
        behind = self.behind()
        some = [i for i, whole in enumerate(self.whole) if whole]
        return [
            (a, a, b, b)
            for k, a in enumerate(some)
            for b in some[:k]
            if not (behind[a] >> b & 1 or behind[b] >> a & 1)
        ]

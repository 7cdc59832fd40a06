"""Lays the pieces of what is split between whole work whose order is known: for the solver."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

from hidewright.planning.exact_hands import Part
from hidewright.planning.exact_model import Model
from hidewright.planning.pieces import Piece
from hidewright.planning.problem import Operation
from hidewright.planning.rules import Rules


class FillingModel(Model):
    """Variables and constraints of what is split, where the order of all else is known.

    Between two whole operations, in one window, an operation has one piece or none.

    Args:
        rules: Of a problem for which spans suffice.
        spans: Of each operation, or of its parts; what is whole stays in that
            order, and what is split lies in the gaps that its span reaches into.
        latest: All is to be finished by then.
        reach: Minutes by which what is split may lie beyond its span.
    """

    def __init__(self, rules: Rules, spans: Sequence[Piece], *, latest: int, reach: int) -> None:
        self.reach = reach
        self.spans: dict[int, tuple[int, int]] = {}
        for start, end, i, _ in spans:
            first, last = self.spans.get(i, (start, end))
            self.spans[i] = min(first, start), max(last, end)
        self.line = sorted((*ends, i) for i, ends in self.spans.items() if rules.whole[i])
        self.between: list[tuple[Any, int]] = []
        super().__init__(rules.problem, bound=0, latest=latest)

    def _in_pieces(self, number: int, operation: Operation, soonest: int) -> None:
        model, minutes, shortest = self.model, operation.minutes, operation.shortest_piece
        first, last = (model.new_int_var(soonest, self.latest, "") for _ in range(2))
        parts: list[Part] = []
        worked = []
        for place, (a, b) in self._gaps(number):
            begin, stop = (model.new_int_var(a, b, "") for _ in range(2))
            size, there = model.new_int_var(0, minutes, ""), model.new_bool_var("")
            part = (begin, size, stop, there)
            self.hands.do(number, len(parts), part, model.new_optional_interval_var(*part, ""))
            model.add(size >= shortest).only_enforce_if(there)
            model.add(size == 0).only_enforce_if(there.Not())
            model.add(begin >= first).only_enforce_if(there)
            model.add(stop <= last).only_enforce_if(there)
            parts.append(part)
            worked.append(size)
            self.between.append((parts[-1], place))
        model.add(sum(worked) == minutes)
        self._note(first, last, parts)

    def _gaps(self, number: int) -> Iterator[tuple[int, tuple[int, int]]]:
        """Yield how many are in line before each gap, and the window it lies in."""
        start, end = self.spans[number]
        for place in range(len(self.line) + 1):
            a = self.line[place - 1][1] if place else self.problem.now
            b = self.line[place][0] if place < len(self.line) else self.latest
            for window in self.windows:
                if max(window[0], a, start - self.reach) < min(window[1], b, end + self.reach):
                    yield place, window

    def _hands(self) -> None:
        super()._hands()
        for (_, _, a), (_, _, b) in pairwise(self.line):
            self.model.add(self.ends[a] <= self.starts[b])
        for (begin, _, stop, there), place in self.between:
            if place:
                after = self.ends[self.line[place - 1][2]]
                self.model.add(begin >= after).only_enforce_if(there)
            if place < len(self.line):
                self.model.add(stop <= self.starts[self.line[place][2]]).only_enforce_if(there)

    def _twins(self) -> None:
        """Leave all in line."""

"""Keys that a search begins with: latest starts, the slow station first, load by load."""

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate, product
from typing import Literal

import numpy as np

from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY
from hidewright.planning.leaning import Leaning, plain
from hidewright.planning.problem import Problem, reached

#: Rules to begin with: minutes of the key for each load before it in line, of steps that lead to
#: the slowest station and of those behind it; minutes by which waits are stretched.
RULES = ((DAY, 0, 5), (DAY, 0, 0), (DAY // 4, 50, 5), (DAY, 200, 5), (0, 0, 5), (0, 1000, 5))
#: What the latest starts, that the keys begin with, are for: whichever comes first of an order's
#: due date and a common finish; the due dates; the finish, though some order may be late; the dates
#: by which orders would be done one behind the other, where not all can be on time.
Aim = Literal["dates and finish", "dates", "finish", "turns"]
AIMS: tuple[Aim, ...] = ("dates and finish", "dates", "finish")
#: Before all else.
URGENT = -1e7

#: Key of each operation, minutes of it for each load before in line, and what is added to it.
Beginning = tuple[np.ndarray, np.ndarray, Leaning]


class Beginnings:
    """The keys for one problem.

    Args:
        problem: What is to be planned.
        bench: The same, laid out.
        bounds: Of the same.
        load_of: Load of each operation, counted from 0.
    """

    def __init__(
        self, problem: Problem, bench: Bench, bounds: Bounds, load_of: Sequence[int]
    ) -> None:
        self.problem, self.bench, self.bounds, self.load_of = problem, bench, bounds, load_of
        self.loads = max(load_of) + 1

    def by_rules(self, aims: Sequence[Aim] = AIMS) -> Iterator[Beginning]:
        """Yield the keys by each rule and aim, the most promising first."""
        steps = len({one.step for one in self.problem.operations})
        inside, before = self._slow_station()
        aims = aims if any(one.due is not None for one in self.problem.orders) else ("finish",)
        latest_for = {aim: self._latest_starts(aim) for aim in aims}
        places_for = {aim: self._places(aim) for aim in aims}
        for (slope_before, slope_behind, stretch), aim in product(RULES, aims):
            latest, places = latest_for[aim], places_for[aim]
            slopes = [
                float(DAY if i in inside else slope_before if i in before else slope_behind + 0.01)
                for i in range(self.bench.count)
            ]
            base = [one + (URGENT if i in inside else 0.0) for i, one in enumerate(latest)]
            leaning = plain(
                steps=steps, operations=self.bench.count, places=places, stretch=stretch
            )
            yield np.array(base), np.array(slopes), leaning

    def _places(self, aim: Aim) -> list[int]:
        """Return how many loads go before each, by due date if aimed at, a colour together."""
        dues = self._dues(aim)
        due = [math.inf] * self.loads
        for load, one in zip(self.load_of, self.problem.operations, strict=True):
            by = dues[one.order]
            due[load] = min(due[load], math.inf if by is None else by)
        booth = self.problem.at("booth")
        colours = list(dict.fromkeys(self.bench.colours[i] for i in booth))
        shade = [0] * self.loads
        for i in booth:
            shade[self.load_of[i]] = colours.index(self.bench.colours[i])
        line = sorted(range(self.loads), key=lambda load: (due[load], shade[load], load))
        return [line.index(load) for load in range(self.loads)]

    def _dues(self, aim: Aim) -> list[int | None]:
        """Return by when each order is to be done for what is aimed at; None for the finish."""
        if aim == "finish":
            return [None for _ in self.problem.orders]
        if aim == "turns":
            return self._in_turns()
        return [one.due for one in self.problem.orders]

    def _in_turns(self) -> list[int | None]:
        """Return when each order would be done if the hands did one behind the other.

        The line is begun by the dates, and by the work for each weight (Smith, Various optimizers
        for single-stage production, Naval Research Logistics Quarterly 3 (1956) 59-66); neighbours
        change places as long as that makes the two less late; of both lines the less late one.
        """
        orders, bounds, persons = self.problem.orders, self.bounds, max(1, len(self.bench.windows))
        work, soonest = [0] * len(orders), [0] * len(orders)
        for one, left, first in zip(
            self.problem.operations, bounds.left, bounds.soonest, strict=True
        ):
            work[one.order] += left
            soonest[one.order] = max(soonest[one.order], first)

        def end(k: int, worked: int) -> int:
            return max(soonest[k], bounds.hours.soonest(self.problem.now, worked // persons, "any"))

        def late(k: int, worked: int) -> int:
            due = orders[k].due
            return 0 if due is None else orders[k].weight * max(0, end(k, worked) - due)

        best: tuple[int, list[int | None]] | None = None
        by_date = sorted(range(len(orders)), key=lambda k: (orders[k].due or math.inf, k))
        for line in (by_date, sorted(by_date, key=lambda k: work[k] / orders[k].weight)):
            total, ends = 0, [0] * len(orders)
            for k, worked in _exchanged(line, work, late):
                total, ends[k] = total + late(k, worked), end(k, worked)
            if best is None or total < best[0]:
                best = total, [*ends]
        assert best is not None
        return best[1]

    def _latest_starts(self, aim: Aim) -> list[int]:
        """Return the latest starts for what is aimed at."""
        bench, bounds = self.bench, self.bounds
        work = sum(bounds.left) // max(1, len(bench.windows))
        finish = bounds.hours.soonest(max(bounds.soonest, default=0), work, "any")
        latest = finish if aim == "dates and finish" else bench.horizon
        ends = bounds.latest_ends(
            [finish if due is None else min(due, latest) for due in self._dues(aim)]
        )
        pinned = self._before_pinned()
        return [
            end - minutes + (int(URGENT) * 10 if i in pinned else 0)
            for i, (end, minutes) in enumerate(zip(ends, bench.minutes, strict=True))
        ]

    def _before_pinned(self) -> set[int]:
        before: dict[int, list[int]] = {}
        for wait in self.problem.waits:
            before.setdefault(wait.after, []).append(wait.before)
        return reached(self.bench.must_end, before)

    def _slow_station(self) -> tuple[set[int], set[int]]:
        """Return the operations that hold the slowest station, and those that lead to them."""
        slow = max(self.bounds.through, key=lambda one: one.freed, default=None)
        if slow is None:
            return set(), set()
        before: dict[int, list[int]] = {}
        after: dict[int, list[int]] = {}
        for wait in self.problem.waits:
            before.setdefault(wait.after, []).append(wait.before)
            after.setdefault(wait.before, []).append(wait.after)
        firsts, lasts = {first for first, _ in slow.holds}, {last for _, last in slow.holds}
        inside = reached(firsts, after) & reached(lasts, before)
        inside |= {
            i
            for head, group in self.bench.members.items()
            if inside & set(group)
            for i in (head, *group)
        }
        return inside, reached(firsts, before) - inside


def _exchanged(
    line: list[int], work: Sequence[int], late: Callable[[int, int], int]
) -> list[tuple[int, int]]:
    """Return (order, work done by its end), no two neighbours less late the other way round."""
    changed = True
    while changed:
        changed, worked = False, 0
        for at in range(len(line) - 1):
            a, b = line[at : at + 2]
            first, second, both = worked + work[a], worked + work[b], worked + work[a] + work[b]
            if late(b, second) + late(a, both) < late(a, first) + late(b, both):
                line[at : at + 2] = b, a
                changed = True
            worked += work[line[at]]
    return list(zip(line, accumulate(work[k] for k in line), strict=True))

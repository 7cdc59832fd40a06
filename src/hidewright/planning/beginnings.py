"""Keys that a search begins with: latest starts, the slow station first, load by load."""

import math
from collections.abc import Iterator, Sequence
from itertools import product
from typing import Literal

from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY
from hidewright.planning.leaning import Leaning, plain
from hidewright.planning.problem import Problem, reached

#: Rules to begin with: minutes of the key for each load before it in line, of steps that lead to
#: the slowest station and of those behind it; minutes by which waits are stretched.
RULES = ((DAY, 0, 5), (DAY, 0, 0), (DAY // 4, 50, 5), (DAY, 200, 5), (0, 0, 5), (0, 1000, 5))
#: What the latest starts, that the keys begin with, are for: whichever comes first of an order's
#: due date and a common finish; the due dates; the finish, though some order may be late.
Aim = Literal["dates and finish", "dates", "finish"]
AIMS: tuple[Aim, ...] = ("dates and finish", "dates", "finish")
#: Before all else.
URGENT = -1e7

#: Key of each operation, minutes of it for each load before in line, and what is added to it.
Beginning = tuple[list[float], list[float], Leaning]


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

    def by_rules(self) -> Iterator[Beginning]:
        """Yield the keys by each rule and aim, the most promising first."""
        steps = len({one.step for one in self.problem.operations})
        inside, before = self._slow_station()
        aims = AIMS if any(one.due is not None for one in self.problem.orders) else AIMS[-1:]
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
            yield base, slopes, leaning

    def _places(self, aim: Aim) -> list[int]:
        """Return how many loads go before each, by due date if aimed at, a colour together."""
        orders = self.problem.orders
        due = [math.inf] * self.loads
        for load, one in zip(self.load_of, self.problem.operations, strict=True):
            by = None if aim == "finish" else orders[one.order].due
            due[load] = min(due[load], math.inf if by is None else by)
        booth = self.problem.at("booth")
        colours = list(dict.fromkeys(self.bench.colours[i] for i in booth))
        shade = [0] * self.loads
        for i in booth:
            shade[self.load_of[i]] = colours.index(self.bench.colours[i])
        line = sorted(range(self.loads), key=lambda load: (due[load], shade[load], load))
        return [line.index(load) for load in range(self.loads)]

    def _latest_starts(self, aim: Aim) -> list[int]:
        """Return the latest starts for what is aimed at."""
        bench, bounds = self.bench, self.bounds
        work = sum(bounds.left) // max(1, len(bench.windows))
        finish = bounds.hours.soonest(max(bounds.soonest, default=0), work, "any")
        latest = bench.horizon if aim == "dates" else finish
        ends = bounds.latest_ends(
            [
                finish if one.due is None or aim == "finish" else min(one.due, latest)
                for one in self.problem.orders
            ]
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

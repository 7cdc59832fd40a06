"""Looks for better plans by changing what the dispatcher puts first: simulated annealing.

Kirkpatrick, Gelatt and Vecchi, Optimization by simulated annealing, Science 220 (1983) 671-680. It
is cooled by rounds, never by the clock, and does not know how many there will be: a search of more
rounds begins with the same rounds.
"""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from hidewright.planning.beginnings import Beginning, Beginnings
from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft, Wishes
from hidewright.planning.goals import Goal, dates_first, energies, values
from hidewright.planning.leaning import PARTS, Changes, Leaning
from hidewright.planning.mirror import Mirror
from hidewright.planning.pressure import Pressure, root_mean_square
from hidewright.planning.problem import MACHINES, Problem

#: Rounds until the first cooling is done; each one is twice as long as the one before.
FIRST_COOLING = 60
#: Such a share of the changes is to plan the batch backwards and anew.
TO_AND_FRO = 0.1
#: Hot and cold, as shares of the working minutes of the plan.
HOT, COLD = 0.0015, 0.0001
#: A working minute above what an earlier goal allows counts as so many of the goal in work.
EXCESS = 20.0
#: All ends count a little, so that plans that finish together are told apart.
FLOW = 0.02
#: A working minute, root mean square, by which steps are behind the best finish counts as so many
#: of the finish.
PRESSURE = 2.0
#: Days are shortened by so many minutes at a time, to make them alike.
SHORT_DAY = 5


@dataclass(slots=True)
class Found:
    """The best plan so far.

    Attributes:
        draft: None when no rule and no change of one led to a plan.
        values: By each goal.
        wishes: What led to it.
    """

    draft: Draft | None = None
    values: tuple[int, ...] = ()
    wishes: Wishes | None = None


class Search:
    """A search through the plans of one problem.

    Args:
        problem: What is to be planned.
        dispatcher: Of the same.
        bounds: Of the same.
        goals: In order.
        seed: Of the random changes.
    """

    def __init__(
        self,
        problem: Problem,
        dispatcher: Dispatcher,
        bounds: Bounds,
        goals: Sequence[Goal],
        seed: int,
    ) -> None:
        self.problem, self.bounds, self.goals = problem, bounds, goals
        self.dispatcher, self.bench = dispatcher, dispatcher.bench
        self.random = random.Random(seed)
        self.best = Found()
        names = sorted({one.step for one in problem.operations})
        steps = [names.index(one.step) for one in problem.operations]
        loads = sorted({one.load for one in problem.operations})
        place = {load: k for k, load in enumerate(loads)}
        self.load_of = [place[one.load] for one in problem.operations]
        self._rows = np.array(steps), np.array(self.load_of)
        self._parts = self._rows[1] * PARTS // max(1, len(loads))
        self.changes = Changes(self.random, self.bench.order, self.load_of)
        self._fewest = self._fewest_setups()
        self.limits: list[float] = [math.inf] * len(goals)
        self.least = [math.inf] * len(goals)
        self.pressure: Pressure | None = None
        self.late_at_least = 0
        self.mirror: Mirror | None = None
        self.draft: Draft | None = None
        self.behind: np.ndarray | None = None

    def rounds(self) -> Iterator[Found]:
        """Go on for ever; after each round the best plan so far is there."""
        start: Beginning | None = None
        beginnings = Beginnings(self.problem, self.bench, self.bounds, self.load_of)
        for rule in chain(beginnings.by_rules(), self._in_turns(beginnings)):
            self.base, self.slopes, leaning = rule
            before = self.best.draft
            self._try(leaning, len(self.goals) - 1)
            if start is None or self.best.draft is not before:
                start = rule
            yield self.best
        assert start is not None
        self.base, self.slopes, leaning = start
        if self.best.draft is not None:
            self._press()
        length = FIRST_COOLING
        while True:
            for stage in self._stages():
                for standing in self._cooled(leaning, stage, length):
                    leaning = standing
                    yield self.best
            length *= 2

    def _in_turns(self, beginnings: Beginnings) -> Iterator[Beginning]:
        """Yield keys by the orders in turns where some are late; then whole orders move, too."""
        names = [goal.name for goal in self.goals]
        if "on time" in names and self.best.values and self.best.values[names.index("on time")]:
            self.changes.together = self._orders()
            yield from beginnings.by_rules(("turns",))

    def _press(self) -> None:
        """Learn by when each step should end, from the best plan."""
        assert self.best.draft is not None
        names = [goal.name for goal in self.goals]
        if "on time" in names:
            late = self.best.values[names.index("on time")]
            self.late_at_least = self.bounds.least_late(late)
        by_date = dates_first(self.problem, self.goals)
        self.pressure = Pressure(
            self.bounds, self.best.draft.finish, self.late_at_least if by_date else None
        )

    def done(self, bound: int) -> bool:
        """Whether the best plan cannot be bettered: nothing late, at the bound, fewest flushes."""
        least = {"on time": self.late_at_least, "finish": bound, "flushes": self._fewest}
        return self.best.draft is not None and all(
            value <= least.get(goal.name, -1)
            for goal, value in zip(self.goals, self.best.values, strict=True)
        )

    def _stages(self) -> list[int]:
        """Return the goals in which something is left to gain; the last one if in none."""
        worth = {"on time": self.late_at_least, "flushes": self._fewest}
        open_ = [
            k
            for k, goal in enumerate(self.goals)
            if goal.name != "smooth days"
            and (not self.best.values or self.best.values[k] > worth.get(goal.name, -1))
        ]
        return open_ or [len(self.goals) - 1]

    def _orders(self) -> list[list[int]]:
        """Return the loads of each order."""
        loads: dict[int, set[int]] = {}
        for k, one in zip(self.load_of, self.problem.operations, strict=True):
            loads.setdefault(one.order, set()).add(k)
        return [sorted(some) for some in loads.values()]

    def _fewest_setups(self) -> int:
        """Return how often machines must be set up anew at least."""
        setups, colours = self.bench.setups, self.bench.colours
        used = [{colours[i] for i in self.problem.at(m) if setups[i]} for m in MACHINES]
        return sum(max(0, len(some) - 1) for some in used)

    def _cooled(self, leaning: Leaning, stage: int, length: int) -> Iterator[Leaning]:
        """Cool down once, for one goal; yields where it stands each round, the best one last."""
        best, energy = leaning, self._try(leaning, stage)
        draft = self.draft
        lowest = energy
        yield leaning
        scale = max(500.0, min(energy, 1e6))
        for number in range(length):
            heat = scale * HOT * (COLD / HOT) ** (number / length)
            changed = self._to_and_fro(leaning, draft) or self.changes.changed(leaning, self.behind)
            then = self._try(changed, stage)
            if then <= energy or self.random.random() < math.exp((energy - then) / heat):
                leaning, energy, draft = changed, then, self.draft
                if energy < lowest:
                    lowest, best = energy, leaning
            yield leaning if number < length - 1 else best

    def _to_and_fro(self, leaning: Leaning, draft: Draft | None) -> Leaning | None:
        """Return now and then a leaning that follows a plan laid down backwards."""
        if draft is None or self.problem.fixed or self.random.random() >= TO_AND_FRO:
            return None
        if self.mirror is None:
            self.mirror = Mirror(self.problem, self.bench)
        wishes = self.wishes(leaning)
        starts = self.mirror.latest_starts(draft, wishes)
        if starts is None:
            return None
        out = leaning.copy()
        out.own = (np.array(leaning.own) + starts - wishes.keys).tolist()
        return out

    def wishes(self, leaning: Leaning) -> Wishes:
        """Return what a leaning asks of the dispatcher."""
        steps, loads = self._rows
        parts = np.array(leaning.steps)[steps, self._parts]
        shifts, places = np.array(leaning.loads)[loads], np.array(leaning.places)[loads]
        return Wishes(
            keys=self.base + parts + shifts + self.slopes * places + np.array(leaning.own),
            stretch=np.array(leaning.stretch)[steps],
            flush_key=leaning.flush,
            scrap_key=leaning.scrap,
        )

    def _try(self, leaning: Leaning, stage: int) -> float:
        """Return what a leaning is worth for a goal, and keep its plan if it is the best."""
        wishes = self.wishes(leaning)
        self.draft = draft = self.dispatcher.run(wishes)
        if draft is None:
            return math.inf
        worth = values(self.goals, self.problem, draft)
        axis = self.bounds.axis
        energy = energies(self.goals, self.problem, draft, axis)
        self._keep(draft, worth, energy, wishes)
        over = sum(
            max(0.0, e - limit) for e, limit in zip(energy[:stage], self.limits, strict=False)
        )
        rest = sum(energy[stage + 1 :]) * FLOW
        last = draft.finish
        mean = sum(draft.ends) / self.bench.count
        flow = FLOW * mean * axis.worked(last) / max(1, last)
        return EXCESS * over + energy[stage] + rest + flow + self._pressed(draft, stage)

    def _pressed(self, draft: Draft, stage: int) -> float:
        """Return what counts beside the finish: how far the steps are behind the best one."""
        self.behind = None
        goal = self.goals[stage].name
        if self.pressure is None or goal not in ("on time", "finish"):
            return 0.0
        if goal == "finish" and draft.finish <= self.pressure.target:
            return 0.0
        self.behind = self.pressure.behind(draft.ends)
        return PRESSURE * root_mean_square(self.behind)

    def _keep(
        self, draft: Draft, worth: tuple[int, ...], energy: tuple[float, ...], wishes: Wishes
    ) -> None:
        """Keep a plan that no earlier goal forbids and that is better by the first that differs."""
        within = True
        for k, goal in enumerate(self.goals):
            if within and worth[k] < self.least[k]:
                self.least[k] = worth[k]
                self.limits[k] = energy[k] + goal.slack
            within = within and worth[k] <= self.least[k] + goal.slack
        rank = self.rank(worth)
        if self.best.draft is None or rank < self.rank(self.best.values):
            self.best = Found(draft=draft, values=worth, wishes=wishes)

    def rank(self, worth: tuple[int, ...]) -> tuple[float, ...]:
        """Return what plans are compared by: what they lack, then their values, the last first."""
        lacks = [
            max(0.0, value - least - goal.slack)
            for value, least, goal in zip(worth, self.least, self.goals, strict=True)
        ]
        return (*lacks, *reversed(worth))

    def levelled(self) -> Draft:
        """Return the best plan, its days shortened as far as the other goals allow if asked for.

        Shorter days are tried by halving, in steps of five minutes, with the same wishes.
        """
        best, wishes = self.best.draft, self.best.wishes
        assert best is not None
        assert wishes is not None
        if all(goal.name != "smooth days" for goal in self.goals):
            return best
        limits = [
            math.inf if goal.name == "smooth days" else max(least + goal.slack, value)
            for goal, least, value in zip(self.goals, self.least, self.best.values, strict=True)
        ]
        low, high = 1, DAY // SHORT_DAY
        while low < high:
            middle = (low + high) // 2
            bench = Bench(self.problem, day_minutes=middle * SHORT_DAY)
            draft = Dispatcher(bench).run(wishes)
            worth = None if draft is None else values(self.goals, self.problem, draft)
            if (
                draft is not None
                and worth is not None
                and all(value <= limit for value, limit in zip(worth, limits, strict=True))
            ):
                best, high = draft, middle
            else:
                low = middle + 1
        return best

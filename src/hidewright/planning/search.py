"""Looks for better plans by changing what the dispatcher puts first: simulated annealing.

Kirkpatrick, Gelatt and Vecchi, Optimization by simulated annealing, Science 220 (1983) 671-680. It
is cooled by rounds, never by the clock, and does not know how many there will be: a search of more
rounds begins with the same rounds.
"""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Literal

from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft, Wishes
from hidewright.planning.goals import Goal, energies, values
from hidewright.planning.pressure import Pressure, root_mean_square
from hidewright.planning.problem import MACHINES, SHORTEST_PIECE, Problem, reached

#: Steps have a key of their own in the first, middle and last part of the batch.
PARTS = 3
#: Rounds until the first cooling is done; each one is twice as long as the one before.
FIRST_COOLING = 60
#: Hot and cold, as shares of the working minutes of the plan.
HOT, COLD = 0.0015, 0.0001
#: A working minute above what an earlier goal allows counts as so many of the goal in work.
EXCESS = 20.0
#: All ends count a little, so that plans that finish together are told apart.
FLOW = 0.02
#: A working minute, root mean square, by which steps are behind the best finish counts as so many
#: of the finish; and such a share of the changes is to a load that is among the furthest behind.
PRESSURE, AT_THE_LAST = 2.0, 0.15
#: Days are shortened by so many minutes at a time, to make them alike.
SHORT_DAY = 5
#: Rules to begin with: minutes of the key for each load before it in line, of steps that lead to
#: the slowest station and of those behind it; minutes by which waits are stretched.
RULES = ((DAY, 0, 5), (DAY, 0, 0), (DAY // 4, 50, 5), (DAY, 200, 5), (0, 0, 5), (0, 1000, 5))
#: What the latest starts, that the keys begin with, are for: whichever comes first of an order's
#: due date and a common finish; the due dates; the finish, though some order may be late.
Aim = Literal["dates and finish", "dates", "finish"]
AIMS: tuple[Aim, ...] = ("dates and finish", "dates", "finish")
#: Before all else.
URGENT = -1e7


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
    """

    steps: list[list[float]]
    loads: list[float]
    places: list[int]
    stretch: list[int]
    flush: float
    scrap: float

    def copy(self) -> "Leaning":
        """Return one that can be changed by itself."""
        return Leaning(
            steps=[row[:] for row in self.steps],
            loads=self.loads[:],
            places=self.places[:],
            stretch=self.stretch[:],
            flush=self.flush,
            scrap=self.scrap,
        )


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
        bench: The same, laid out.
        bounds: Of the same.
        goals: In order.
        seed: Of the random changes.
    """

    def __init__(
        self, problem: Problem, bench: Bench, bounds: Bounds, goals: Sequence[Goal], seed: int
    ) -> None:
        self.problem, self.bench, self.bounds, self.goals = problem, bench, bounds, goals
        self.random = random.Random(seed)
        self.best = Found()
        names = sorted({one.step for one in problem.operations})
        self.step_of = [names.index(one.step) for one in problem.operations]
        loads = sorted({one.load for one in problem.operations})
        place = {load: k for k, load in enumerate(loads)}
        self.load_of = [place[one.load] for one in problem.operations]
        self.steps, self.loads = len(names), len(loads)
        self.part_of = [k * PARTS // max(1, self.loads) for k in self.load_of]
        self._fewest = self._fewest_setups()
        self.limits: list[float] = [math.inf] * len(goals)
        self.least = [math.inf] * len(goals)
        self.pressure: Pressure | None = None
        self.behind: list[int] = []

    def rounds(self) -> Iterator[Found]:
        """Go on for ever; after each round the best plan so far is there."""
        start: tuple[list[float], list[float], Leaning] | None = None
        for rule in self._rules():
            self.base, self.slopes, leaning = rule
            before = self.best.draft
            self._try(leaning, len(self.goals) - 1)
            if start is None or self.best.draft is not before:
                start = rule
            yield self.best
        assert start is not None
        self.base, self.slopes, leaning = start
        if self.best.draft is not None:
            self.pressure = Pressure(self.bounds, max(self.best.draft.ends))
        length = FIRST_COOLING
        while True:
            for stage in self._stages():
                for standing in self._cooled(leaning, stage, length):
                    leaning = standing
                    yield self.best
            length *= 2

    def done(self, bound: int) -> bool:
        """Whether the best plan cannot be bettered: nothing late, at the bound, fewest flushes."""
        least = {"on time": 0, "finish": bound, "flushes": self._fewest}
        return self.best.draft is not None and all(
            value <= least.get(goal.name, -1)
            for goal, value in zip(self.goals, self.best.values, strict=True)
        )

    def _stages(self) -> list[int]:
        """Return the goals in which something is left to gain; the last one if in none."""
        worth = {"on time": 0, "flushes": self._fewest}
        open_ = [
            k
            for k, goal in enumerate(self.goals)
            if goal.name != "smooth days"
            and (not self.best.values or self.best.values[k] > worth.get(goal.name, -1))
        ]
        return open_ or [len(self.goals) - 1]

    def _fewest_setups(self) -> int:
        """Return how often machines must be set up anew at least."""
        setups, colours = self.bench.setups, self.bench.colours
        used = [{colours[i] for i in self.problem.at(m) if setups[i]} for m in MACHINES]
        return sum(max(0, len(some) - 1) for some in used)

    def _cooled(self, leaning: Leaning, stage: int, length: int) -> Iterator[Leaning]:
        """Cool down once, for one goal; yields where it stands each round, the best one last."""
        best, energy = leaning, self._try(leaning, stage)
        lowest = energy
        yield leaning
        scale = max(500.0, min(energy, 1e6))
        for number in range(length):
            heat = scale * HOT * (COLD / HOT) ** (number / length)
            changed = self._changed(leaning)
            then = self._try(changed, stage)
            if then <= energy or self.random.random() < math.exp((energy - then) / heat):
                leaning, energy = changed, then
                if energy < lowest:
                    lowest, best = energy, leaning
            yield leaning if number < length - 1 else best

    def _changed(self, leaning: Leaning) -> Leaning:
        """Return a leaning with one thing changed at random."""
        out, draw = leaning.copy(), self.random
        if self.behind and draw.random() < AT_THE_LAST:
            self._sooner(out)
            return out
        what = draw.random()
        if what < 0.45:
            row = out.steps[draw.randrange(self.steps)]
            by = draw.gauss(0.0, 300.0)
            for part in range(PARTS) if draw.random() < 0.3 else (draw.randrange(PARTS),):
                row[part] += by
        elif what < 0.65:
            out.loads[draw.randrange(self.loads)] += draw.gauss(0.0, 500.0)
        elif what < 0.75:
            one, other = draw.randrange(self.loads), draw.randrange(self.loads)
            out.places[one], out.places[other] = out.places[other], out.places[one]
        elif what < 0.80:
            out.flush = abs(out.flush + draw.gauss(0.0, draw.choice((100.0, 3000.0))))
        elif what < 0.85:
            out.scrap = abs(out.scrap + draw.gauss(0.0, 300.0))
        else:
            out.stretch[draw.randrange(self.steps)] = draw.randrange(2 * SHORTEST_PIECE)
        return out

    def _sooner(self, leaning: Leaning) -> None:
        """Let a load that is among the furthest behind go sooner."""
        draw, most = self.random, max(self.behind)
        load = self.load_of[draw.choice([i for i, by in enumerate(self.behind) if 2 * by > most])]
        if draw.random() < 0.5:
            leaning.loads[load] -= abs(draw.gauss(0.0, 500.0))
        else:
            other, places = draw.randrange(self.loads), leaning.places
            places[load], places[other] = places[other], places[load]

    def wishes(self, leaning: Leaning) -> Wishes:
        """Return what a leaning asks of the dispatcher."""
        steps, parts, loads = self.step_of, self.part_of, self.load_of
        row, shift, places = leaning.steps, leaning.loads, leaning.places
        return Wishes(
            keys=[
                base + row[s][p] + shift[k] + slope * places[k]
                for base, slope, s, p, k in zip(
                    self.base, self.slopes, steps, parts, loads, strict=True
                )
            ],
            stretch=[leaning.stretch[s] for s in steps],
            flush_key=leaning.flush,
            scrap_key=leaning.scrap,
        )

    def _try(self, leaning: Leaning, stage: int) -> float:
        """Return what a leaning is worth for a goal, and keep its plan if it is the best."""
        wishes = self.wishes(leaning)
        draft = Dispatcher(self.bench, wishes).run()
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
        last = max(draft.ends)
        mean = sum(draft.ends) / self.bench.count
        flow = FLOW * mean * axis.worked(last) / max(1, last)
        return EXCESS * over + energy[stage] + rest + flow + self._pressed(draft, stage)

    def _pressed(self, draft: Draft, stage: int) -> float:
        """Return what counts beside the finish: how far the steps are behind the best one."""
        self.behind = []
        if self.pressure is None or self.goals[stage].name != "finish":
            return 0.0
        if max(draft.ends) <= self.pressure.target:
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
            draft = Dispatcher(bench, wishes).run()
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

    # -- rules to begin with -----------------------------------------------------------------------

    def _rules(self) -> Iterator[tuple[list[float], list[float], Leaning]]:
        """Yield keys by several rules: latest starts, the slow station first, load by load."""
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
            yield (
                base,
                slopes,
                Leaning(
                    steps=[[0.0] * PARTS for _ in range(self.steps)],
                    loads=[0.0] * self.loads,
                    places=places[:],
                    stretch=[stretch] * self.steps,
                    flush=60.0,
                    scrap=0.0,
                ),
            )

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

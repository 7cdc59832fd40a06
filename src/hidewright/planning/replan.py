"""Today went otherwise: a plan for what is left that changes as little as possible."""

import math
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, replace

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.calendar import DAY
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft
from hidewright.planning.goals import USUAL_GOALS, Goal
from hidewright.planning.plan import Plan, late_by_order
from hidewright.planning.problem import Problem
from hidewright.planning.repair import Repair, Since, Turn
from hidewright.planning.schedule import Budget, schedule

#: How all is laid down where nobody minds what is held overnight, until it is laid down.
UNSHARED: tuple[tuple[Since, Turn], ...] = (("minute", "lost last"), ("any", "lost last"))
#: How all is laid down where what cannot stay pushes the rest, and where some of it gives way: no
#: other way was the best one for a change of a plan but by a step or two.
PUSHING: tuple[tuple[Since, Turn], ...] = (
    ("minute", "in time"),
    ("minute", "lost last"),
    ("minute", "last"),
    ("day", "last"),
    ("any", "in time"),
    ("any", "lost last"),
)
GIVING_WAY: tuple[tuple[Since, Turn], ...] = (("minute", "in time"), ("minute", "lost last"))
#: By such a share of the time left the finish may be later than the plan's made anew.
KEEP_WITHIN = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Replanned:
    """A plan and how it differs from the one before.

    Attributes:
        plan: None when nothing was found that keeps what is fixed.
        moved: Operations that begin at another minute, ascending.
        other_day: Those of them that begin on another day.
        minutes: By which those that stay on their day begin sooner or later, taken together.
    """

    plan: Plan | None
    moved: tuple[int, ...] = ()
    other_day: tuple[int, ...] = ()
    minutes: int = 0


def replan(
    problem: Problem,
    before: Plan,
    *,
    seed: int,
    budget: Budget,
    goals: Sequence[Goal] = USUAL_GOALS,
    keep_within: int = DAY,
) -> Replanned:
    """Return a plan near to an old one.

    What is done, running or pinned is in ``problem.fixed``, the time in ``problem.now``. Of several
    plans, one made anew among them, the one is taken whose orders are the fewest days late; then
    the one that moves the fewest operations to another day, then the one that moves them by the
    fewest minutes. Where all can stay, all stays.

    Args:
        problem: As it is now: other hours, fewer stations, more orders.
        before: The plan until now; it may lack operations that are new.
        seed: For the search of the plan that is made anew.
        budget: Of that search.
        goals: Of that search, in order.
        keep_within: Minutes by which the finish may be later than the plan's made anew, to keep
            more; or a fiftieth of the time left, where that is more. Any time of that day will do.
    """
    dispatcher = Dispatcher(Bench(problem))
    anew = schedule(
        problem, seed=seed, budget=budget, goals=goals, bounded=False, dispatcher=dispatcher
    ).plan
    finish = (before if anew is None else anew).finish
    latest = finish + max(keep_within, round(KEEP_WITHIN * (finish - problem.now)))
    nearest = _Nearest(problem, before, latest)
    nearest.look_at(before)
    if nearest.rank[:2] == (0, 0):
        return nearest.found
    if anew is not None:
        nearest.look_at(anew, checked=True)
    found = _mended(dispatcher, before, copy(nearest), checked=True)
    if found.plan is None or not breaches(problem, found.plan):
        return found
    return _mended(dispatcher, before, nearest, checked=False)


class _Nearest:
    """The plan that is nearest to an old one, of those looked at.

    Args:
        problem: As it is now.
        before: The plan until now.
        latest: Minute on whose day it should finish at the latest.
    """

    def __init__(self, problem: Problem, before: Plan, latest: int) -> None:
        self.problem, self.latest = problem, latest
        self.old = before.starts()
        self.found = Replanned(plan=None)
        self.rank: tuple[float, ...] = (math.inf,)

    @property
    def most(self) -> float:
        """So many operations may be on another day in a plan that is nearer."""
        return self.rank[2] if self.rank[:2] == (0, 0) else math.inf

    def look_at(self, new: Plan | Draft, *, checked: bool = False) -> None:
        """Take a plan if it is the best so far and keeps every rule, as one known to does."""
        starts = new.starts()
        moved = [i for i, old in self.old.items() if i in starts and starts[i] != old]
        other_day = [i for i in moved if self.old[i] // DAY != starts[i] // DAY]
        minutes = sum(abs(starts[i] - self.old[i]) for i in set(moved).difference(other_day))
        late = max(0, new.finish // DAY - self.latest // DAY)
        rank = self._late_days(new), late, len(other_day), minutes
        if rank >= self.rank:
            return
        plan = new if isinstance(new, Plan) else new.plan()
        if checked or not breaches(self.problem, plan):
            self.rank = rank
            self.found = Replanned(
                plan=plan,
                moved=tuple(sorted(moved)),
                other_day=tuple(sorted(other_day)),
                minutes=minutes,
            )

    def _late_days(self, new: Plan | Draft) -> int:
        """Return the begun days by which orders are late, by weight."""
        late = late_by_order(self.problem, new.order_finish(self.problem))
        days = [-(-by // DAY) for by in late]
        return sum(one.weight * by for one, by in zip(self.problem.orders, days, strict=True))


def _mended(dispatcher: Dispatcher, before: Plan, nearest: _Nearest, *, checked: bool) -> Replanned:
    """Return the nearest plan there is, those among them in which as much stays as can.

    Args:
        dispatcher: Of the problem as it is now.
        before: The plan until now.
        nearest: Knows those looked at already.
        checked: Whether what the dispatcher lays down is taken to keep every rule: so nearly always
            it does, and it is not looked at in vain for each of the plans.
    """
    problem, repair = dispatcher.bench.problem, Repair(dispatcher, before)

    def look(repair: Repair, ways: Sequence[tuple[Since, Turn]], *, checked: bool) -> None:
        for since, turn in ways:
            draft = repair.draft(since, turn, nearest.most)
            if draft is not None:
                nearest.look_at(draft, checked=checked)

    pinned = tuple(span for span in before.spans if repair.can_stay(span.operation))
    around = replace(problem, fixed=(*problem.fixed, *pinned))
    pinned_around = Repair(Dispatcher(Bench(around)), before)
    look(pinned_around, (("minute", "in time"),), checked=False)
    look(repair, UNSHARED, checked=checked)
    repair.share_out_nights()
    look(repair, PUSHING, checked=checked)
    repair.relieve()
    look(repair, GIVING_WAY, checked=checked)
    return nearest.found

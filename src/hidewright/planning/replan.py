"""Today went otherwise: a plan for what is left that changes as little as possible."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.calendar import DAY
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
            more.
    """
    anew = schedule(problem, seed=seed, budget=budget, goals=goals, bounded=False).plan
    plans = [] if breaches(problem, before) else [before]
    in_time = anew is not None and before.finish <= anew.finish + keep_within
    if plans and in_time and not _late_days(problem, before):
        return _compared(before, before)
    plans += _mended(problem, before)
    if anew is None:
        plans = [one for one in plans if not breaches(problem, one)]
    else:
        plans.append(anew)
    if not plans:
        return Replanned(plan=None)
    latest = (plans[-1] if anew is None else anew).finish + keep_within

    def rank(plan: Plan) -> tuple[int, ...]:
        told = _compared(before, plan)
        late = max(0, plan.finish - latest)
        return _late_days(problem, plan), late, len(told.other_day), told.minutes

    best = (one for one in sorted(plans, key=rank) if one is anew or not breaches(problem, one))
    return _compared(before, next(best))


def _mended(problem: Problem, before: Plan) -> Iterator[Plan]:
    """Yield plans in which as much stays as can; not all of them may keep every rule."""
    repair = Repair(problem, Bench(problem), before)
    pinned = tuple(span for span in before.spans if repair.can_stay(span.operation))
    around = replace(problem, fixed=(*problem.fixed, *pinned))
    yield from _laid(Repair(around, Bench(around), before), (("minute", "in time"),))
    yield from _laid(repair, UNSHARED)
    repair.share_out_nights()
    yield from _laid(repair, PUSHING)
    repair.relieve()
    yield from _laid(repair, GIVING_WAY)


def _laid(repair: Repair, ways: Sequence[tuple[Since, Turn]]) -> Iterator[Plan]:
    for since, turn in ways:
        draft = repair.draft(since, turn)
        if draft is not None:
            yield draft.plan()


def _late_days(problem: Problem, plan: Plan) -> int:
    """Return the begun days by which orders are late, by weight."""
    late = late_by_order(problem, plan)
    return sum(one.weight * -(-by // DAY) for one, by in zip(problem.orders, late, strict=True))


def _compared(before: Plan, plan: Plan) -> Replanned:
    old = {i: spans[0].start for i, spans in before.spans_of().items()}
    new = {i: spans[0].start for i, spans in plan.spans_of().items()}
    moved = tuple(sorted(i for i, start in new.items() if i in old and old[i] != start))
    return Replanned(
        plan=plan,
        moved=moved,
        other_day=tuple(i for i in moved if old[i] // DAY != new[i] // DAY),
        minutes=sum(abs(new[i] - old[i]) for i in moved if old[i] // DAY == new[i] // DAY),
    )

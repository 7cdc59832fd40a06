"""Today went otherwise: a plan for what is left that changes as little as possible."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.calendar import DAY
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft, Wishes
from hidewright.planning.goals import USUAL_GOALS, Goal, values
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Problem
from hidewright.planning.schedule import Budget, schedule

#: Behind all that can stay where it was.
LAST = 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Replanned:
    """A plan and how it differs from the one before.

    Attributes:
        plan: None when nothing was found that keeps what is fixed.
        moved: Operations that begin at another minute, ascending.
        other_day: Those of them that begin on another day.
    """

    plan: Plan | None
    moved: tuple[int, ...] = ()
    other_day: tuple[int, ...] = ()


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
    plans the one that moves the fewest operations to another day is taken, then the one that moves
    the fewest at all; but none that is later than need be for an order that is due.

    Args:
        problem: As it is now: other hours, fewer stations, more orders.
        before: The plan until now; it may lack operations that are new.
        seed: For the search beside the plans that keep the old order.
        budget: Of that search.
        goals: In order.
        keep_within: Minutes by which the finish may be later than it could be, to keep more.
    """
    plans = [(draft.plan(), values(goals, problem, draft)) for draft in _kept(problem, before)]
    answer = schedule(problem, seed=seed, budget=budget, goals=goals)
    if answer.plan is not None:
        plans.append((answer.plan, values(goals, problem, _draft(problem, answer.plan))))
    if not plans:
        return Replanned(plan=None)
    best = min(worth for _, worth in plans)
    slack = [goal.slack + (keep_within if goal.name == "finish" else 0) for goal in goals]
    near = [
        plan
        for plan, worth in plans
        if all(
            value <= least + more
            for value, least, more, goal in zip(worth, best, slack, goals, strict=True)
            if goal.name in ("on time", "finish")
        )
    ]
    told = [_compared(before, plan) for plan in near]
    return min(told, key=lambda one: (len(one.other_day), len(one.moved)))


def _kept(problem: Problem, before: Plan) -> Iterator[Draft]:
    """Yield plans that keep the old starts where they can, or only the old order."""
    spans_of = before.spans_of()
    every = range(len(problem.operations))
    known = [spans_of[i][0].start if i in spans_of else None for i in every]
    # by their ends: what was split goes on behind what it was interrupted for
    order = [float(spans_of[i][-1].end) if i in spans_of else LAST + i for i in every]
    displaced = _displaced(problem, before)
    behind = [LAST + key if i in displaced else key for i, key in enumerate(order)]
    for keys, wait in ((behind, True), (order, True), (order, False)):
        bench = Bench(problem)
        if wait:
            bench.release = [
                max(release, start or 0)
                for release, start in zip(bench.release, known, strict=True)
            ]
        draft = Dispatcher(
            bench,
            Wishes(keys=keys, stretch=[0] * len(keys), flush_key=0.0, scrap_key=0.0),
        ).run()
        if draft is not None and not breaches(problem, draft.plan()):
            yield draft


def _displaced(problem: Problem, before: Plan) -> set[int]:
    """Return the operations that cannot stay where they were."""
    asked = {one.operation for one in problem.fixed}
    out = {span.operation for span in before.spans if span.start < problem.now} - asked
    for person, one in enumerate(problem.persons):
        windows = one.calendar.until(before.finish + 1)
        for span in before.spans:
            if span.person == person and not any(
                begin <= span.start and span.end <= end for begin, end in windows
            ):
                out.add(span.operation)
    return out - asked


def _draft(problem: Problem, plan: Plan) -> Draft:
    spans = plan.spans_of()
    return Draft(
        ends=[spans[i][-1].end for i in range(len(problem.operations))],
        pieces=[[one.start, one.end, one.operation, one.person] for one in plan.spans],
        flushes=plan.flushes(problem),
    )


def _compared(before: Plan, plan: Plan) -> Replanned:
    old = {i: spans[0].start for i, spans in before.spans_of().items()}
    new = {i: spans[0].start for i, spans in plan.spans_of().items()}
    moved = tuple(sorted(i for i, start in new.items() if i in old and old[i] != start))
    return Replanned(
        plan=plan,
        moved=moved,
        other_day=tuple(i for i in moved if old[i] // DAY != new[i] // DAY),
    )

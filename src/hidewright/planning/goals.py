"""What a plan is to be good at, in order: each goal may give up a little for the next ones."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from hidewright.planning.calendar import DAY, WorkAxis
from hidewright.planning.draft import Draft
from hidewright.planning.problem import Problem

GoalName = Literal["on time", "finish", "flushes", "smooth days"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """One goal.

    Attributes:
        name: ``on time``: late minutes times weight, over all orders; ``finish``: the minute the
            last operation ends; ``flushes``: changes of colour or board; ``smooth days``: hands-on
            minutes of the fullest day.
        slack: How much worse than the best known it may become for the goals behind it, in that
            unit.
    """

    name: GoalName
    slack: int = 0


USUAL_GOALS = (Goal(name="on time"), Goal(name="finish"), Goal(name="flushes"))


def values(goals: Sequence[Goal], problem: Problem, draft: Draft) -> tuple[int, ...]:
    """Return what a plan is worth by each goal; less is better."""
    return tuple(_WORTH[goal.name](problem, draft) for goal in goals)


def dates_first(problem: Problem, goals: Sequence[Goal]) -> bool:
    """Whether being on time comes before the finish, for any order."""
    names = [goal.name for goal in goals]
    if "on time" not in names or all(one.due is None for one in problem.orders):
        return False
    return "finish" not in names or names.index("on time") < names.index("finish")


def energies(
    goals: Sequence[Goal], problem: Problem, draft: Draft, axis: WorkAxis
) -> tuple[float, ...]:
    """Return the same in working minutes, where a night or a weekend is no step: for the search."""
    out = []
    for goal in goals:
        if goal.name == "on time":
            out.append(float(_late(problem, draft, axis)))
        elif goal.name == "finish":
            out.append(float(axis.worked(draft.finish)))
        elif goal.name == "flushes":
            out.append(float(draft.flushes * max(1, problem.flush_minutes)))
        else:
            out.append(float(_fullest(problem, draft)))
    return tuple(out)


def _finish(_: Problem, draft: Draft) -> int:
    return draft.finish


def _flushes(_: Problem, draft: Draft) -> int:
    return draft.flushes


def _fullest(_: Problem, draft: Draft) -> int:
    days: dict[int, int] = {}
    for start, end, _operation, person in draft.pieces:
        if person >= 0:
            days[start // DAY] = days.get(start // DAY, 0) + end - start
    return max(days.values(), default=0)


def _late(problem: Problem, draft: Draft, axis: WorkAxis | None = None) -> int:
    dues = [one.due for one in problem.orders]
    if not any(due is not None for due in dues):
        return 0
    late = 0
    for order, due, end in zip(problem.orders, dues, draft.order_finish(problem), strict=True):
        if due is not None and end > due:
            late += order.weight * (axis.worked(end) - axis.worked(due) + 1 if axis else end - due)
    return late


_WORTH: dict[GoalName, Callable[[Problem, Draft], int]] = {
    "on time": _late,
    "finish": _finish,
    "flushes": _flushes,
    "smooth days": _fullest,
}

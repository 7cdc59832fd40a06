"""Cuts off the first and last parts of times that lead nowhere.

The start of each operation is tried in the first and last part of the time left to it; a part that
leaves no time to some operation is cut off (Martin and Shmoys, A new approach to computing optimal
schedules for the job-shop scheduling problem, IPCO 1996).
"""

from collections.abc import Callable, Sequence

from hidewright.planning.narrowing import Narrowing, Times
from hidewright.planning.rules import Rules


def shaved(
    rules: Rules,
    until: Sequence[int],
    late_at_most: int | None = None,
    stops: Callable[[], bool] = lambda: False,
    within: Times | None = None,
) -> Times:
    """Return the times that are left, less their first and last parts that lead nowhere.

    Each is looked at once.

    Args:
        rules: Of the problem.
        until: Latest end of each operation.
        late_at_most: Late minutes by weight that are allowed; None for any.
        stops: Asked now and then whether to leave it at what is shaved by then.
        within: What is left where the operations may end later; None for nothing known.

    Raises:
        OutOfTime: When nothing is left: no plan is in time.
    """
    left = Narrowing(rules, until, late_at_most, within)
    for i in range(len(until)):
        if stops():
            break
        left.shave(i)
    return left.times()


def in_time(
    rules: Rules,
    finish: int,
    late: int | None,
    stops: Callable[[], bool] = lambda: False,
    within: Times | None = None,
) -> Times:
    """Return the times that are left by a finish and late minutes by weight, see ``shaved``.

    Args:
        rules: Of the problem.
        finish: All is to be finished by then; ``NEVER`` for any time.
        late: Late minutes by weight that are allowed; None for any.
        stops: See ``shaved``.
        within: See ``shaved``.

    Raises:
        OutOfTime: When nothing is left: no plan is as good.
    """
    latest = rules.bounds.dates(finish, late)
    until = [latest[one.order] for one in rules.problem.operations]
    return shaved(rules, until, late, stops, within)

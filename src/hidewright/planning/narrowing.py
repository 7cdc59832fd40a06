"""What is left of the times of each operation if all is to be finished in time.

From a latest finish, or latest ends, the soonest and latest starts and ends of all operations are
drawn together: by waits, working windows, what cannot be done or held at once, setting up, hands
and stations. Nothing is left when no plan is in time. All rules are necessary ones, so that what is
ruled out is not in any plan; the shortest piece of what may be split is not looked at.

Hands and stations are tested as if all work could be split at will (Jackson 1955, see
``bounds.py``). Drawing start times together by trying parts of them is due to Martin and Shmoys, A
new approach to computing optimal schedules for the job-shop scheduling problem, IPCO 1996.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.planning.bench import NEVER
from hidewright.planning.hours_by_minute import hours_by_minute
from hidewright.planning.narrowing_kernels import (
    LATEST_END,
    OPERATION,
    ORDER,
    PLACE,
    WORKED,
    Net,
    narrowed,
    shaved_off,
)
from hidewright.planning.problem import SHORTEST_PIECE
from hidewright.planning.rules import Rules


class OutOfTime(Exception):  # noqa: N818 - it is no mistake
    """No plan is in time."""


@dataclass(slots=True)
class Times:
    """The times that are left, by operation, and the minutes known to be worked."""

    soonest: list[int]
    soonest_end: list[int]
    latest: list[int]
    latest_end: list[int]
    minutes: list[int]


class Narrowing:
    """The times that are left to plans that end by some time, at first by the rules alone.

    Args:
        rules: Of the problem.
        until: Latest end of each operation.
        late_at_most: Late minutes by weight that are allowed; None for any.
        within: Times known to be left where less is asked for; None for any.

    Raises:
        OutOfTime: When none are left.
    """

    def __init__(
        self,
        rules: Rules,
        until: Sequence[int],
        late_at_most: int | None,
        within: Times | None = None,
    ) -> None:
        problem = rules.problem
        self.net = _net(rules, max(0, *until), late_at_most)
        if within is None:
            since = [max(problem.now, problem.orders[o.order].release) for o in problem.operations]
            never = [NEVER] * len(until)
            rows = [since, [0] * len(until), never, list(until)]
            rows.append([one.minutes for one in problem.operations])
        else:
            rows = [within.soonest, within.soonest_end, within.latest, within.latest_end]
            rows.append(within.minutes)
        self.table = np.array(rows, np.int64)
        self.table[LATEST_END] = np.minimum(self.table[LATEST_END], until)
        if not narrowed(self.net, self.table, np.ones(len(until), np.bool_)):
            raise OutOfTime

    def shave(self, i: int) -> None:
        """Cut off the first and last parts of an operation's start that lead nowhere.

        Raises:
            OutOfTime: When nothing is left.
        """
        if not shaved_off(self.net, self.table, i):
            raise OutOfTime

    def times(self) -> Times:
        """Return the times that are left."""
        return Times(*self.table.tolist())


def _net(rules: Rules, last: int, late_at_most: int | None) -> Net:
    """Return the rules in arrays, see ``Net``."""
    problem = rules.problem
    crews = problem.crews
    windows_of = [
        [(begin, min(end, last)) for begin, end in windows if begin < last]
        for windows in (problem.persons[crew[0]].calendar.until(last) for crew in crews)
    ]
    hours = [hours_by_minute(windows, last) for windows in windows_of]
    if len(crews) > 1:
        hours.insert(0, hours_by_minute([w for windows in windows_of for w in windows], last))
    each = zip(crews, hours[-len(crews) :], strict=True)
    hands_worked = sum(len(crew) * one[WORKED, :-1] for crew, one in each)
    first_waits, waits = _rows(
        [some for pair in zip(rules.after, rules.before, strict=True) for some in pair], 3
    )
    operations = np.zeros(len(rules.whole) + 1, OPERATION)
    operations["after"], operations["before"][:-1] = first_waits[::2], first_waits[1::2]
    operations["apart"] = rules.first_apart
    for row, one, whole, pauses in zip(
        operations[:-1], problem.operations, rules.whole, rules.pauses, strict=True
    ):
        row["minutes"], row["setup"] = one.minutes, problem.setup_minutes(one)
        row["splits"], row["pauses"], row["order"] = not whole, pauses, one.order
    machines, done_at = _places(
        [
            [
                (i, _number(one.colours, colour))
                for i, colour in zip(one.operations, one.colours, strict=True)
            ]
            for one in rules.booths
        ],
        [one.setup for one in rules.booths],
        2,
    )
    stations, holds = _places(
        [one.holds for one in rules.places], [one.capacity for one in rules.places], 4
    )
    first_windows, windows = _rows(windows_of, 2)
    shortest = [
        one.shortest_piece
        for one, whole, pauses in zip(problem.operations, rules.whole, rules.pauses, strict=True)
        if not whole or pauses
    ]
    dates = [(NEVER if one.due is None else one.due, one.weight) for one in problem.orders]
    return Net(
        operations=operations,
        orders=np.array(dates, ORDER),
        late_at_most=NEVER if late_at_most is None else late_at_most,
        waits=waits,
        apart=rules.apart,
        apart_of=rules.apart_of,
        machines=machines,
        done_at=done_at,
        stations=stations,
        holds=holds,
        persons=len(problem.persons),
        shortest=min(shortest, default=SHORTEST_PIECE),
        crews=first_windows,
        windows=windows,
        hours=np.array(hours),
        hands_worked=hands_worked,
    )


def _places(
    groups: Sequence[Sequence[tuple[int, ...]]], amounts: Sequence[int], width: int
) -> tuple[np.ndarray, np.ndarray]:
    """Return machines or stations as records, and the rows of all."""
    first, rows = _rows(groups, width)
    places = np.zeros(len(first), PLACE)
    places["first"], places["amount"][:-1] = first, amounts
    return places, rows


def _number(some: Sequence[str | None], one: str | None) -> int:
    """Return the place of a thing among those that differ, in the order in which they come."""
    return list(dict.fromkeys(some)).index(one)


def _rows(groups: Sequence[Sequence[tuple[int, ...]]], width: int) -> tuple[np.ndarray, np.ndarray]:
    """Return where the rows of each group begin, and all rows."""
    first = np.cumsum([0, *map(len, groups)])
    rows = np.array([row for group in groups for row in group], np.int64)
    return first, rows.reshape(-1, width)

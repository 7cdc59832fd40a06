"""What is left of the times of each operation if all is to be finished in time.

From a latest finish, or latest ends, the soonest and latest starts and ends of all operations are
drawn together: by waits, working windows, what cannot be done or held at once, setting up, hands
and stations. Nothing is left when no plan is in time. All rules are necessary ones, so that what is
ruled out is not in any plan; the shortest piece of what may be split is not looked at.

Hands and stations are tested as if all work could be split at will (Jackson 1955, see
``bounds.py``). Drawing start times together by trying parts of them is due to Martin and Shmoys, A
new approach to computing optimal schedules for the job-shop scheduling problem, IPCO 1996.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.planning.bench import NEVER
from hidewright.planning.hours_by_minute import hours_by_minute
from hidewright.planning.narrowing_kernels import LATEST_END, Net, begun, shaved_off
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
        self.net = _net(rules, max(until), late_at_most)
        if within is None:
            since = [max(problem.now, problem.orders[o.order].release) for o in problem.operations]
            never = [NEVER] * len(until)
            rows = [since, [0] * len(until), never, list(until), self.net.minutes]
        else:
            rows = [within.soonest, within.soonest_end, within.latest, within.latest_end]
            rows.append(within.minutes)
        self.table = np.array(rows, np.int64)
        self.table[LATEST_END] = np.minimum(self.table[LATEST_END], until)
        if not begun(self.net, self.table):
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
    problem, operations = rules.problem, rules.problem.operations
    crews = problem.crews
    windows_of = [
        [
            (begin, min(end, last))
            for begin, end in problem.persons[crew[0]].calendar.until(last)
            if begin < last
        ]
        for crew in crews
    ]
    hours = [hours_by_minute(windows, last) for windows in windows_of]
    all_hours = hours
    if len(crews) > 1:
        together = hours_by_minute([w for windows in windows_of for w in windows], last)
        all_hours = [together, *hours]
    hands_worked = sum(len(crew) * one.worked for crew, one in zip(crews, hours, strict=True))
    after_first, after = _rows(rules.after, 3)
    before_first, before = _rows(rules.before, 3)
    booth_first, booth = _rows(
        [
            [
                (i, _number(one.colours, colour))
                for i, colour in zip(one.operations, one.colours, strict=True)
            ]
            for one in rules.booths
        ],
        2,
    )
    place_first, place = _rows([one.holds for one in rules.places], 4)
    window_first, window = _rows(windows_of, 2)
    orders = problem.orders
    return Net(
        minutes=_ints(one.minutes for one in operations),
        setups=_ints(problem.setup_minutes(one) for one in operations),
        splits=~np.array(rules.whole, np.bool_),
        pauses=np.array(rules.pauses, np.bool_),
        order=_ints(one.order for one in operations),
        due=_ints(NEVER if one.due is None else one.due for one in orders),
        weight=_ints(one.weight for one in orders),
        late_at_most=NEVER if late_at_most is None else late_at_most,
        after_first=after_first,
        after=after,
        before_first=before_first,
        before=before,
        apart=np.ascontiguousarray(rules.apart.T),
        booth_first=booth_first,
        booth=booth,
        booth_setup=_ints(one.setup for one in rules.booths),
        place_first=place_first,
        place=place,
        capacity=_ints(one.capacity for one in rules.places),
        persons=len(problem.persons),
        shortest=min(
            (
                one.shortest_piece
                for one, whole, pauses in zip(operations, rules.whole, rules.pauses, strict=True)
                if not whole or pauses
            ),
            default=SHORTEST_PIECE,
        ),
        window_first=window_first,
        window=window,
        worked=np.array([one.worked for one in all_hours]),
        first_at=np.array([one.first_at for one in all_hours]),
        last_at=np.array([one.last_at for one in all_hours]),
        hands_worked=hands_worked,
    )


def _number(some: Sequence[str | None], one: str | None) -> int:
    """Return the place of a thing among those that differ, in the order in which they come."""
    return list(dict.fromkeys(some)).index(one)


def _ints(some: Iterable[int]) -> np.ndarray:
    return np.array(list(some), np.int64)


def _rows(groups: Sequence[Sequence[tuple[int, ...]]], width: int) -> tuple[np.ndarray, np.ndarray]:
    """Return where the rows of each group begin, and all rows."""
    first = np.cumsum([0, *map(len, groups)])
    rows = np.array([row for group in groups for row in group], np.int64)
    return first, rows.reshape(-1, width)

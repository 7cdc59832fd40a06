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
from hidewright.planning.bounds import fits
from hidewright.planning.hours_by_minute import HoursByMinute
from hidewright.planning.problem import SHORTEST_PIECE
from hidewright.planning.rules import Places, Rules


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

    def copy(self) -> "Times":
        """Return times that can be changed by themselves."""
        return Times(
            self.soonest[:],
            self.soonest_end[:],
            self.latest[:],
            self.latest_end[:],
            self.minutes[:],
        )


class Narrowing:
    """The rules of one problem, for plans that end by some time.

    Args:
        rules: Of the problem.
        until: Latest end of each operation.
        late_at_most: Late minutes by weight that are allowed; None for any.
    """

    def __init__(self, rules: Rules, until: Sequence[int], late_at_most: int | None) -> None:
        self.rules, self.problem = rules, rules.problem
        self.until, self.late_at_most = list(until), late_at_most
        last = max(until)
        crews = self.problem.crews
        windows_of = [self.problem.persons[one[0]].calendar.until(last) for one in crews]
        self.hours = HoursByMinute(windows_of, last)
        self.hours_of = [self.hours]
        if len(crews) > 1:
            self.hours_of = [HoursByMinute([windows], last) for windows in windows_of]
        self.hands_worked = _added_up(self.hours_of, [len(one) for one in crews])
        self.plain = [one.minutes for one in self.problem.operations]
        self.shortest = min(
            (
                one.shortest_piece
                for i, one in enumerate(self.problem.operations)
                if not rules.whole[i] or rules.pauses[i]
            ),
            default=SHORTEST_PIECE,
        )
        self.setups = [self.problem.setup_minutes(one) for one in self.problem.operations]

    # -- times -------------------------------------------------------------------------------------

    def begin(self, within: Times | None = None) -> Times:
        """Return the times that are left by the rules alone.

        Args:
            within: Times known to be left where less is asked for; None for any.

        Raises:
            OutOfTime: When none are.
        """
        problem = self.problem
        count = len(problem.operations)
        if within is not None:
            times = within.copy()
            times.latest_end = list(map(min, within.latest_end, self.until))
        else:
            times = Times(
                [max(problem.now, problem.orders[one.order].release) for one in problem.operations],
                [0] * count,
                [NEVER] * count,
                self.until[:],
                [one.minutes for one in problem.operations],
            )
        self._narrow(times, range(count))
        if not self._possible(times):
            raise OutOfTime
        return times

    def within(
        self, times: Times, i: int, *, since: int | None = None, upto: int | None = None
    ) -> Times | None:
        """Return what is left if an operation starts in a part of its time; None for nothing."""
        out = times.copy()
        if since is not None:
            out.soonest[i] = max(out.soonest[i], since)
        if upto is not None:
            out.latest[i] = min(out.latest[i], upto)
        try:
            self._narrow(out, [i])
        except OutOfTime:
            return None
        return out if self._possible(out) else None

    def _narrow(self, times: Times, changed: Iterable[int]) -> None:
        """Draw times together until no rule changes any."""
        todo = set(changed)
        while todo:
            self._follow(times, todo)
            todo = self._one_behind_other(times) | self._set_up(times) | self._in_time(times)

    def _follow(self, times: Times, changed: Iterable[int]) -> None:
        """Draw times together along the waits."""
        soonest, soonest_end = times.soonest, times.soonest_end
        latest, latest_end = times.latest, times.latest_end
        after, before = self.rules.after, self.rules.before
        line = list(changed)
        waiting = set(line)
        for i in line:
            waiting.discard(i)
            self._alone(times, i)
            for then, least, most in after[i]:
                moved = False
                if soonest_end[i] + least > soonest[then]:
                    soonest[then] = soonest_end[i] + least
                    moved = True
                if latest_end[i] + most < latest[then]:
                    latest[then] = latest_end[i] + most
                    moved = True
                if moved and then not in waiting:
                    waiting.add(then)
                    line.append(then)
                if soonest[then] - most > soonest_end[i]:
                    soonest_end[i] = soonest[then] - most
                    if i not in waiting:
                        waiting.add(i)
                        line.append(i)
            for then, least, most in before[i]:
                moved = False
                if latest[i] - least < latest_end[then]:
                    latest_end[then] = latest[i] - least
                    moved = True
                if soonest[i] - most > soonest_end[then]:
                    soonest_end[then] = soonest[i] - most
                    moved = True
                if moved and then not in waiting:
                    waiting.add(then)
                    line.append(then)
                if latest_end[then] + most < latest[i]:
                    latest[i] = latest_end[then] + most
                    if i not in waiting:
                        waiting.add(i)
                        line.append(i)

    def _alone(self, times: Times, i: int) -> None:
        """Draw the times of one operation together by its minutes and the working windows."""
        minutes = times.minutes[i]
        setup = self.setups[i] if minutes == self.plain[i] else 0
        if self.rules.pauses[i]:
            self._parted(times, i, minutes, minutes + setup, self.hours_of)
            return
        if not self.rules.whole[i]:
            self._parted(times, i, minutes, NEVER, [self.hours])
            return
        latest = self.hours.not_after(times.latest_end[i], minutes)
        if latest > times.latest[i]:
            latest = self.hours.not_after(times.latest[i] + minutes, minutes)
        soonest = self.hours.not_before(
            max(times.soonest[i], times.soonest_end[i] - minutes - setup), minutes
        )
        if soonest > latest:
            raise OutOfTime
        times.soonest[i], times.latest[i] = soonest, latest
        times.soonest_end[i] = max(times.soonest_end[i], soonest + minutes)
        times.latest_end[i] = min(times.latest_end[i], latest + minutes + setup)
        if times.soonest_end[i] > times.latest_end[i]:
            raise OutOfTime

    def _parted(
        self, times: Times, i: int, minutes: int, most: int, some: Sequence[HoursByMinute]
    ) -> None:
        """Do so for what has minutes from its start to its end at least and at most, by some hours.

        Whose hours it has is not known where there are several.
        """
        ways = [way for one in some if (way := _by_hours(one, times, i, minutes, most))]
        if not ways:
            raise OutOfTime
        soonest, soonest_end, latest, latest_end = zip(*ways, strict=True)
        times.soonest[i], times.soonest_end[i] = min(soonest), min(soonest_end)
        times.latest[i], times.latest_end[i] = max(latest), max(latest_end)

    # -- rules -------------------------------------------------------------------------------------

    def _one_behind_other(self, times: Times) -> set[int]:
        """Draw times together where only one of two orders is left; return what changed."""
        first_a, last_a, first_b, last_b = self.rules.apart
        soonest_end, latest = np.array(times.soonest_end), np.array(times.latest)
        a_cannot = soonest_end[last_a] > latest[first_b]
        b_cannot = soonest_end[last_b] > latest[first_a]
        if (a_cannot & b_cannot).any():
            raise OutOfTime
        last = np.concatenate((last_b[a_cannot], last_a[b_cannot]))
        then = np.concatenate((first_a[a_cannot], first_b[b_cannot]))
        later = np.array(times.soonest)[then] < soonest_end[last]
        sooner = np.array(times.latest_end)[last] > latest[then]
        for i, k in zip(last[later].tolist(), then[later].tolist(), strict=True):
            times.soonest[k] = max(times.soonest[k], times.soonest_end[i])
        for i, k in zip(last[sooner].tolist(), then[sooner].tolist(), strict=True):
            times.latest_end[i] = min(times.latest_end[i], times.latest[k])
        return {*then[later].tolist(), *last[sooner].tolist()}

    def _set_up(self, times: Times) -> set[int]:
        """Add the minutes of setting up where the colour surely changes; return what changed."""
        changed: set[int] = set()
        for booth in self.rules.booths:
            some, colours = booth.operations, booth.colours
            for x, i in enumerate(some):
                if times.minutes[i] == self.plain[i] and any(
                    colours[y] != colours[x]
                    and self._surely(times, k, i)
                    and all(
                        colours[z] != colours[x]
                        or z == x
                        or self._surely(times, i, other)
                        or self._surely(times, other, k)
                        for z, other in enumerate(some)
                    )
                    for y, k in enumerate(some)
                ):
                    times.minutes[i] = self.plain[i] + booth.setup
                    changed.add(i)
        return changed

    @staticmethod
    def _surely(times: Times, a: int, b: int) -> bool:
        """Whether the second of two operations that cannot be at once cannot be the first."""
        return times.soonest_end[b] > times.latest[a]

    def _in_time(self, times: Times) -> set[int]:
        """Draw latest ends together by the late minutes that are left; return what changed."""
        if self.late_at_most is None:
            return set()
        orders = self.problem.orders
        late = [0] * len(orders)
        for one, end in zip(self.problem.operations, times.soonest_end, strict=True):
            due = orders[one.order].due
            if due is not None and end - due > late[one.order]:
                late[one.order] = end - due
        left = self.late_at_most - sum(
            order.weight * minutes for order, minutes in zip(orders, late, strict=True)
        )
        if left < 0:
            raise OutOfTime
        changed: set[int] = set()
        for i, one in enumerate(self.problem.operations):
            order = orders[one.order]
            if order.due is not None:
                end = order.due + late[one.order] + left // order.weight
                if end < times.latest_end[i]:
                    times.latest_end[i] = end
                    changed.add(i)
        return changed

    def _possible(self, times: Times) -> bool:
        """Whether hands and stations might do it, if they could split all at will."""
        worked, soonest, latest_end = self.hours.worked, times.soonest, times.latest_end
        if not all(_at_once(one, times) for one in self.rules.places):
            return False
        hands_worked = self.hands_worked
        jobs = [
            (hands_worked[a], hands_worked[b], minutes)
            for a, b, minutes in zip(soonest, latest_end, times.minutes, strict=True)
        ]
        for booth in self.rules.booths:
            plain = [i for i in booth.operations if times.minutes[i] == self.plain[i]]
            known = len(booth.operations) - len(plain)
            changes = len(set(booth.colours)) - 1 - known
            if changes > 0:
                since, upto = min(soonest[i] for i in plain), max(latest_end[i] for i in plain)
                minutes = changes * booth.setup
                jobs.append((hands_worked[since], hands_worked[upto], minutes))
        if len(self.problem.persons) == 1:
            jobs += [(worked[a], worked[b], b - a) for a, b in self._scraps(times)]
        return fits(jobs) and all(
            fits(
                [
                    (one.capacity * soonest[first], one.capacity * latest_end[last], amount * held)
                    for first, last, amount, held in one.holds
                ]
            )
            for one in self.rules.places
        )

    def _scraps(self, times: Times) -> list[tuple[int, int]]:
        """Return what is left between work whose time is known and is of no use to any other.

        No piece of what may be split, or part of what pauses, is as short, and what is done in one
        go is too long or has its time elsewhere.
        """
        whole, soonest, latest = self.rules.whole, times.soonest, times.latest
        known, others = [], []
        for i, minutes in enumerate(times.minutes):
            if not whole[i] or self.rules.pauses[i]:
                continue
            if soonest[i] == latest[i] and times.soonest_end[i] == times.latest_end[i]:
                known.append((soonest[i], times.soonest_end[i]))
            elif minutes < self.shortest:
                others.append((soonest[i], latest[i], minutes))
        known.sort()
        out = []
        at = 0
        for begin, end in zip(self.hours.opens, self.hours.shuts, strict=True):
            free = begin
            while at < len(known) and known[at][0] < end:
                if 0 < known[at][0] - free < self.shortest:
                    out.append((free, known[at][0]))
                free = known[at][1]
                at += 1
            if 0 < end - free < self.shortest and end < self.hours.last:
                out.append((free, end))
        return [
            (a, b)
            for a, b in out
            if all(b - a < m or min(last, b - m) < max(first, a) for first, last, m in others)
        ]


def _by_hours(
    hours: HoursByMinute, times: Times, i: int, minutes: int, most: int
) -> tuple[int, int, int, int] | None:
    """Return what is left of the times of an operation done in some hours, soonest first."""
    first, last = max(times.soonest[i], times.soonest_end[i]), times.latest_end[i]
    if first > hours.last or last < 0:
        return None
    begun = max(hours.worked[times.soonest[i]], hours.worked[times.soonest_end[i]] - most)
    done = min(hours.worked[last], hours.worked[min(times.latest[i], hours.last)] + most)
    if begun + minutes > done:
        return None
    soonest, latest_end = hours.last_at[begun], hours.first_at[done]
    soonest_end = max(times.soonest_end[i], hours.first_at[begun + minutes])
    latest = min(times.latest[i], hours.last_at[done - minutes])
    if soonest > latest or soonest_end > latest_end:
        return None
    return soonest, soonest_end, latest, latest_end


def _added_up(hours_of: Sequence[HoursByMinute], persons: Sequence[int]) -> Sequence[int]:
    """Return the minutes that all have worked before each minute, so many persons by each hours."""
    if len(hours_of) == 1 and persons[0] == 1:
        return hours_of[0].worked
    worked = np.array([one.worked for one in hours_of])
    added: list[int] = (np.array(persons) @ worked).tolist()
    return added


def _at_once(places: Places, times: Times) -> bool:
    """Whether no more is held at once than there is, of what is surely held."""
    changes: list[tuple[int, int]] = []
    for first, last, amount, _ in places.holds:
        if times.latest[first] < times.soonest_end[last]:
            changes.append((times.latest[first], amount))
            changes.append((times.soonest_end[last], -amount))
    held = 0
    for _, amount in sorted(changes):
        held += amount
        if held > places.capacity:
            return False
    return True

"""Proves that no plan of a small batch is better: what a better one needs leads nowhere.

Times are halved, one operation after the other, until nothing is left anywhere, or an end is
reached that is no plan yet but that no rule forbids. Which operation is next matters much: it is
the one that has led nowhere most often for the time it has left (Boussemart, Hemery, Lecoutre and
Sais, Boosting systematic search by weighting constraints, ECAI 2004). Half of the trials are made
so at once. For the other half all times are shaved before: the start of each operation is tried in
the first and last part of the time left to it, and a part that leads nowhere is cut off.
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hidewright.planning.bench import NEVER
from hidewright.planning.narrowing import Narrowing, OutOfTime, Times
from hidewright.planning.rules import Rules

#: Parts of times that are tried in a round.
TRIALS_A_ROUND = 20


@dataclass(slots=True)
class Trials:
    """Counts what is tried.

    Attributes:
        effort: Rounds that are shared out over attempts.
        rounds_left: That may follow at most, whatever the effort; None for any number.
        over: Asked before each round.
        done: Trials until now.
        pause: Trials behind which an attempt ends.
    """

    effort: int
    rounds_left: int | None
    over: Callable[[], bool]
    done: int = 0
    pause: int = 0

    @property
    def rounds(self) -> int:
        """Return the rounds done; to begin is one."""
        return max(1, -(-self.done // TRIALS_A_ROUND))

    @property
    def spent(self) -> bool:
        """Whether there are no more rounds."""
        left = self.effort if self.rounds_left is None else min(self.effort, self.rounds_left)
        rounds, within = divmod(self.done, TRIALS_A_ROUND)
        return within == 0 and (rounds >= left or self.over())

    def take(self) -> None:
        """Count one more.

        Raises:
            Spent: When it may not be done any more.
        """
        if self.done >= self.pause or self.spent:
            raise Spent
        self.done += 1


class Spent(Exception):  # noqa: N818 - it is no mistake
    """All trials are done."""


def refuted(
    rules: Rules, until: Sequence[int], trials: Trials, late_at_most: int | None = None
) -> bool:
    """Whether it is proven that no plan is in time; False when that is not known.

    Args:
        rules: Of the problem.
        until: Latest end of each operation.
        trials: Until its pause.
        late_at_most: Late minutes by weight that are allowed; None for any.
    """
    if min(until, default=0) <= rules.problem.now:
        return True
    try:
        return _Attempt(Narrowing(rules, until, late_at_most), trials).leads_nowhere()
    except OutOfTime:
        return True
    except Spent:
        return False


def shaved(rules: Rules, until: Sequence[int], late_at_most: int | None = None) -> Times:
    """Return the times that are left, less their first and last parts that lead nowhere.

    Args:
        rules: Of the problem.
        until: Latest end of each operation; some plan is in time.
        late_at_most: Late minutes by weight that are allowed; None for any.
    """
    net = Narrowing(rules, until, late_at_most)
    trials = Trials(effort=NEVER, rounds_left=None, over=lambda: False, pause=NEVER)
    return _Attempt(net, trials).shaved(net.begin())


def raised(low: int, high: int, trials: Trials, refutes: Callable[[int], bool]) -> int:
    """Return a value that no plan is under, from one known to be so to one that a plan has.

    Two thirds of the rounds are for the value just under that of the plan.

    Args:
        low: No plan has less.
        high: A plan has it.
        trials: For all of it.
        refutes: Whether it is proven that no plan has a value or less.
    """
    share = TRIALS_A_ROUND * trials.effort
    trials.pause = trials.done + 2 * share // 3
    if low >= high or refutes(high - 1):
        return high
    high -= 1
    while low < high and not trials.spent:
        middle = (low + high) // 2
        trials.pause = trials.done + share // 6
        if refutes(middle):
            low = middle + 1
        else:
            high = middle
    return low


class _Attempt:
    """One attempt to leave no time for anything."""

    def __init__(self, net: Narrowing, trials: Trials) -> None:
        self.net, self.trials = net, trials
        self.failed = [1] * len(net.plain)

    def leads_nowhere(self) -> bool:
        """Whether all parts of all times lead nowhere; False where an end is reached.

        Raises:
            OutOfTime: When they do.
            Spent: When it is not known.
        """
        times, pause = self.net.begin(), self.trials.pause
        self.trials.pause = (self.trials.done + pause) // 2
        try:
            return self._nothing_left(times)
        except Spent:
            self.trials.pause = pause
            return self._nothing_left(self.shaved(times))

    def _nothing_left(self, times: Times) -> bool:
        stack = [times]
        while stack:
            times = stack.pop()
            found = self._next(times)
            if found is None:
                if self._is_end(times):
                    return False
                continue
            i, upto = found
            halves = (self._within(times, i, since=upto + 1), self._within(times, i, upto=upto))
            stack += [one for one in halves if one is not None]
        return True

    def _is_end(self, times: Times) -> bool:
        """Whether times whose work in one go is fixed cannot be cut off either."""
        try:
            self.shaved(times)
        except OutOfTime:
            return False
        return True

    def _within(
        self, times: Times, i: int, *, since: int | None = None, upto: int | None = None
    ) -> Times | None:
        self.trials.take()
        out = self.net.within(times, i, since=since, upto=upto)
        self.failed[i] += out is None
        return out

    def shaved(self, times: Times) -> Times:
        """Return times less those first and last parts that lead nowhere, each looked at once."""
        for i in range(len(times.soonest)):
            for front in (True, False):
                step = max(1, (times.latest[i] - times.soonest[i]) // 2)
                while step and times.soonest[i] < times.latest[i]:
                    shorter = self._cut(times, i, step, front=front)
                    if shorter is None:
                        step //= 2
                    else:
                        times = shorter
        return times

    def _cut(self, times: Times, i: int, step: int, *, front: bool) -> Times | None:
        """Return times less a first or last part of a start's, if that leads nowhere."""
        if front:
            upto = times.soonest[i] + step - 1
            if upto >= times.latest[i] or self._within(times, i, upto=upto) is not None:
                return None
            rest = self._within(times, i, since=upto + 1)
        else:
            since = times.latest[i] - step + 1
            if since <= times.soonest[i] or self._within(times, i, since=since) is not None:
                return None
            rest = self._within(times, i, upto=since - 1)
        if rest is None:
            raise OutOfTime
        return rest

    def _next(self, times: Times) -> tuple[int, int] | None:
        """Return the operation whose time is halved next, and where; None for an end.

        What may start in several windows goes first, then what has led nowhere most often for the
        time it has left.
        """
        opens = self.net.hours.opens
        best: tuple[bool, float, int, int, int] | None = None
        for i, (soonest, latest) in enumerate(zip(times.soonest, times.latest, strict=True)):
            if soonest != latest and self.net.rules.whole[i]:
                first, last = bisect_right(opens, soonest), bisect_right(opens, latest)
                often = self.failed[i] / (latest - soonest + 1)
                key = (first == last, -often, i, first, last)
                best = key if best is None else min(best, key)
        if best is None:
            return None
        _, _, i, first, last = best
        if first == last:
            return i, (times.soonest[i] + times.latest[i]) // 2
        return i, opens[(first + last - 1) // 2] - 1

"""Proves that no plan of a small batch is better: what a better one needs leads nowhere.

The start of each operation is tried in the first and last part of the time left to it; a part that
leads nowhere is cut off. Then times are halved, one operation after the other, until nothing is
left anywhere, or an end is reached that is no plan yet but that no rule forbids. Which operation is
next matters much, and differs from batch to batch: half of the trials go by windows and long work,
half from the end of the batch.
"""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass

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
        self.place = {i: k for k, i in enumerate(net.rules.order)}

    def leads_nowhere(self) -> bool:
        """Whether all parts of all times lead nowhere; False where an end is reached.

        Raises:
            OutOfTime: When they do.
            Spent: When it is not known.
        """
        times = self._shaved(self.net.begin())
        pause = self.trials.pause
        self.trials.pause = (self.trials.done + pause) // 2
        try:
            return self._nothing_left(times, self._windows_first)
        except Spent:
            self.trials.pause = pause
            return self._nothing_left(times, self._last_first)

    def _nothing_left(self, times: Times, key_of: Callable[[Times, int], tuple[int, ...]]) -> bool:
        stack = [times]
        while stack:
            times = stack.pop()
            found = self._next(times, key_of)
            if found is None:
                return False
            i, upto = found
            halves = (self._within(times, i, since=upto + 1), self._within(times, i, upto=upto))
            stack += [one for one in halves if one is not None]
        return True

    def _within(
        self, times: Times, i: int, *, since: int | None = None, upto: int | None = None
    ) -> Times | None:
        self.trials.take()
        return self.net.within(times, i, since=since, upto=upto)

    def _shaved(self, times: Times) -> Times:
        """Return times less those first and last parts that lead nowhere."""
        cut = True
        while cut:
            cut = False
            for i in range(len(times.soonest)):
                for front in (True, False):
                    step = max(1, (times.latest[i] - times.soonest[i]) // 2)
                    while step and times.soonest[i] < times.latest[i]:
                        shorter = self._cut(times, i, step, front=front)
                        if shorter is None:
                            step //= 2
                        else:
                            times, cut = shorter, True
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

    def _next(
        self, times: Times, key_of: Callable[[Times, int], tuple[int, ...]]
    ) -> tuple[int, int] | None:
        """Return the operation whose time is halved, the one with the least key, and where."""
        open_ = [
            i
            for i, (soonest, latest) in enumerate(zip(times.soonest, times.latest, strict=True))
            if soonest != latest and self.net.rules.whole[i]
        ]
        if not open_:
            return None
        i = min(open_, key=lambda i: key_of(times, i))
        first, last = self._windows(times, i)
        if first == last:
            return i, (times.soonest[i] + times.latest[i]) // 2
        return i, self.net.hours.opens[(first + last - 1) // 2] - 1

    def _windows(self, times: Times, i: int) -> tuple[int, int]:
        """Return the first and the last window that an operation may start in."""
        opens = self.net.hours.opens
        return bisect_right(opens, times.soonest[i]), bisect_right(opens, times.latest[i])

    def _windows_first(self, times: Times, i: int) -> tuple[int, ...]:
        """Return a key by which what may start in several windows goes first, then long work."""
        first, last = self._windows(times, i)
        return (first == last, -times.minutes[i], self.place[i])

    def _last_first(self, times: Times, i: int) -> tuple[int, ...]:
        """Return a key by which what may start last goes first, then what has little time."""
        return (-times.latest[i], times.latest[i] - times.soonest[i])

"""What moves in a plan with a step: later what waits for it, sooner what is before it.

Day by day: what a day has to do is added up, not laid down.
"""

from bisect import bisect_right
from collections.abc import Sequence

from hidewright.planning.bench import NEVER, Bench
from hidewright.planning.calendar import DAY, joined
from hidewright.planning.free_time import first_spans
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Span

#: Days behind the old finish on which something may go.
BEYOND = 28
#: (minutes, operation, no sooner than, no later than)
Free = tuple[int, int, int, int]
#: Starts, ends, what moved, what is hurried, loads of the days, what is on them.
State = tuple[list[int], list[int], set[int], set[int], dict[int, int], dict[int, set[int]]]


class Moves:
    """A plan day by day, and how its steps move.

    Args:
        bench: The problem as it is now, laid out.
        before: The plan until now; it may lack operations that are new.

    Attributes:
        known: Whether an operation was in the plan.
        still: Whether it is fixed, begun or new: its day is not looked for here.
        soonest: Minute before which each operation cannot begin, whatever it waits for.
        was: Start and end of each operation until now.
        start: Start of each operation by now.
        end: End of each operation by now.
        moved: Operations that are to be on another day than they were, or at another time of it.
        hurried: Those of them that must be sooner, or were asked for.
        load: Minutes of work on each day.
        room: Minutes that hands work on each day.
        free: What may go from a day, where that is known.
        limits: Where an operation must be, where that is known.
    """

    def __init__(self, bench: Bench, before: Plan) -> None:
        self.problem, self.bench = bench.problem, bench
        self.spans = before.spans_of()
        every = range(bench.count)
        self.known = [i in self.spans or i in bench.fixed for i in every]
        self.still = [i in bench.fixed or i in bench.begun or not self.known[i] for i in every]
        self.spans.update(bench.fixed)
        spans = self.spans
        self.minutes = [
            sum(one.end - one.start for one in spans[i]) if i in spans else bench.minutes[i]
            for i in every
        ]
        self.start = [spans[i][0].start if i in spans else 0 for i in every]
        self.end = [spans[i][-1].end if i in spans else 0 for i in every]
        self.soonest = bench.release[:]
        self.was = list(zip(self.start, self.end, strict=True))
        self.moved: set[int] = set()
        self.hurried: set[int] = set()
        self.free: dict[int, list[Free]] = {}
        self.limits: dict[int, tuple[int, int]] = {}
        self._lay_out_waits()
        self._lay_out_holds()
        self._lay_out_days([one for some in spans.values() for one in some])

    def can_stay(self, i: int) -> bool:
        """Whether an operation that is planned anew may be where it was."""
        return not self.still[i] and i not in self.moved

    # -- laid out ----------------------------------------------------------------------------------

    def _lay_out_waits(self) -> None:
        problem, bench = self.problem, self.bench
        self.after: list[list[tuple[int, int, int]]] = [[] for _ in self.known]
        self.before: list[list[tuple[int, int, int]]] = [[] for _ in self.known]
        for one in problem.waits:
            most = NEVER if one.most is None else one.most
            self.after[one.before].append((one.after, one.least, most))
            self.before[one.after].append((one.before, one.least, most))
        of_order: dict[int, list[int]] = {}
        for i, operation in enumerate(problem.operations):
            of_order.setdefault(operation.order, []).append(i)
        #: Operations that are an order by themselves: a day was asked for them.
        self.asked = {
            some[0]: due
            for order, some in of_order.items()
            if len(some) == 1 and (due := problem.orders[order].due) is not None
        }
        self.due = [problem.orders[one.order].due or NEVER for one in problem.operations]
        #: What may give way: it holds nothing, nothing is set up for it, no wait ties it to others.
        self.yields = [
            not self.still[i]
            and i not in self.asked
            and bench.unit[i] == i
            and i not in bench.members
            and bench.colours[i] is None
            and not bench.takes[i]
            and not bench.gives[i]
            for i in range(bench.count)
        ]

    def _lay_out_holds(self) -> None:
        held: dict[str, int] = {}
        for one in self.problem.holds:
            held[one.station] = held.get(one.station, 0) + one.amount
        capacity = {one.name: one.capacity for one in self.problem.stations}
        today = self.problem.now // DAY
        #: Holds of what there is not enough of for all at once, and how much there is; of those
        #: that are over the ones of today.
        self.scarce = [
            (one, capacity[one.station])
            for one in self.problem.holds
            if held[one.station] > capacity[one.station]
            and self.known[one.first]
            and self.known[one.last]
            and not (self.still[one.last] and self.end[one.last] // DAY < today)
        ]
        #: The same as (station, amount, first, last, how much there is), for what is asked often.
        self.scarce_rows = [
            (one.station, one.amount, one.first, one.last, most) for one, most in self.scarce
        ]

    def _lay_out_days(self, spans: Sequence[Span]) -> None:
        now = self.problem.now
        until = max([now] + [one.end for one in spans]) + BEYOND * DAY
        every = [one for some in self.bench.windows for one in some if one[0] < until]
        self.windows = joined(every)
        self.opens = [begin for begin, _ in self.windows]
        days: dict[int, list[tuple[int, int]]] = {}
        for one in every:
            days.setdefault(one[0] // DAY, []).append(one)
        left = [one for one in spans if one.end > now]
        for span in left:  # nobody may be at work on its day any more
            day = span.start // DAY
            days.setdefault(day, [(day * DAY, day * DAY)])
        self.days = sorted(days)
        self.first = {day: min(begin for begin, _ in days[day]) for day in days}
        self.last = {day: max(end for _, end in days[day]) for day in days}
        self.room = {day: sum(end - begin for begin, end in days[day]) for day in days}
        self.load = dict.fromkeys(days, 0)
        self.on: dict[int, set[int]] = {day: set() for day in days}
        #: Days on which each operation was worked on until now.
        self.days_of: list[set[int]] = [set() for _ in self.known]
        for span in left:
            self.load[span.start // DAY] += span.end - max(span.start, now)
            self.on[span.start // DAY].add(span.operation)
            self.days_of[span.operation].add(span.start // DAY)

    # -- one moves ------------------------------------------------------------------------------

    def _soonest(self, i: int) -> int:
        """Return the minute before which an operation cannot begin by what is before it."""
        return max(
            [self.soonest[i]]
            + [self.end[a] + least for a, least, _ in self.before[i] if self.known[a]]
            + [
                self.start[b] - most - self.minutes[i]
                for b, _, most in self.after[i]
                if self.known[b]
            ]
        )

    def _latest(self, i: int) -> int:
        """Return the minute at which it must end by what is behind it."""
        return min(
            [self.due[i]]
            + [self.start[b] - least for b, least, _ in self.after[i] if self.known[b]]
            + [
                self.end[a] + most + self.minutes[i]
                for a, _, most in self.before[i]
                if self.known[a]
            ]
        )

    def _limits(self, i: int) -> tuple[int, int]:
        """Return no sooner than when an operation begins, and no later than when it ends."""
        if i not in self.limits:
            self.limits[i] = self._soonest(i), self._latest(i)
        return self.limits[i]

    def _push(self, i: int, soonest: int) -> None:
        """Let an operation begin no sooner, and what it would disturb."""
        todo = [(i, soonest)]
        while todo:
            i, soonest = todo.pop()
            if self.still[i] or self.start[i] >= soonest:
                continue
            if not self._lay(i, soonest):
                continue
            todo += [(b, self.end[i] + least) for b, least, _ in self.after[i] if self.known[b]]
            todo += [
                (a, self.start[i] - most - self.minutes[a])
                for a, _, most in self.before[i]
                if self.known[a] and most < NEVER
            ]

    def _lay(self, i: int, soonest: int) -> bool:
        """Let an operation begin at the first minute at which somebody works; false for none."""
        at = bisect_right(self.opens, soonest) - 1
        at += at < 0 or self.windows[at][1] <= soonest
        pauses = self.bench.kinds[i] != "never"
        found = first_spans(self.windows, at, (), soonest, self.minutes[i], 1, False, pauses)
        if found:
            self._put(i, found[0][0], found[-1][1])
        return bool(found)

    def _pull(self, i: int, latest: int) -> None:
        """Let an operation end no later, and what it waits for."""
        todo = [(i, latest)]
        while todo:
            i, latest = todo.pop()
            if self.still[i] or self.end[i] <= latest:
                continue
            start, end = self._back(latest, self.minutes[i])
            if start < self.problem.now:
                continue
            self._put(i, start, end)
            self.hurried.add(i)
            todo += [(a, start - least) for a, least, _ in self.before[i] if self.known[a]]
            todo += [
                (b, end + most + self.minutes[b])
                for b, _, most in self.after[i]
                if self.known[b] and most < NEVER
            ]

    def _back(self, latest: int, minutes: int) -> tuple[int, int]:
        """Return the last start and end by which somebody can do some minutes; (-1, -1) if none."""
        end = -1
        for at in range(bisect_right(self.opens, latest - 1) - 1, -1, -1):
            begin, stop = self.windows[at][0], min(self.windows[at][1], latest)
            end = stop if end < 0 else end
            if stop - begin >= minutes:
                return stop - minutes, end
            minutes -= stop - begin
        return -1, -1

    def _put(self, i: int, start: int, end: int) -> None:
        """Note that an operation moves."""
        old, new = self.start[i] // DAY, start // DAY
        if old in self.load:
            self.load[old] -= self.minutes[i]
            self.on[old].discard(i)
        if new in self.load:
            self.load[new] += self.minutes[i]
            self.on[new].add(i)
        self.start[i], self.end[i] = start, end
        self.moved.add(i)
        for j in (i, *[j for j, _, _ in (*self.before[i], *self.after[i])]):
            self.limits.pop(j, None)
            for day in (old, self.start[j] // DAY, *self.days_of[j]):
                self.free.pop(day, None)

    # -- to and fro -----------------------------------------------------------------------------

    def _state(self) -> State:
        on = {day: some.copy() for day, some in self.on.items()}
        sets = self.moved.copy(), self.hurried.copy()
        return self.start[:], self.end[:], *sets, self.load.copy(), on

    def _restore(self, state: State) -> None:
        start, end, moved, hurried, load, on = state
        self.start, self.end = start[:], end[:]
        self.moved, self.hurried, self.load = moved.copy(), hurried.copy(), load.copy()
        self.on = {day: some.copy() for day, some in on.items()}
        self.free, self.limits = {}, {}

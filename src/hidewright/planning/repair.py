"""Mends a plan: what cannot stay goes elsewhere, and what it crowds out moves by the fewest steps.

To push all that follows (Abumaizar and Svestka, Rescheduling job shops under random disruptions,
Int. J. Production Research 35 (1997) 2065-2082) carries what a full day cannot hold through all the
days behind it, and each of them moves some steps. Here a step of the full day goes to any day on
which it may be, one of that day to another, until a day has time left: an ejection chain (Glover,
Discrete Applied Mathematics 65 (1996) 223-253), the shortest there is.
"""

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from hidewright.planning.bench import NEVER, Bench
from hidewright.planning.calendar import DAY, joined
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft, Wishes
from hidewright.planning.free_time import first_spans
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Kind, Problem, Span

#: (operation, day that it goes to)
Chain = tuple[tuple[int, int], ...]
Since = Literal["minute", "day", "any"]
Turn = Literal["first", "in time", "lost last", "last"]
#: Behind all that can stay where it was.
LAST = 1e9
#: Days behind the old finish on which something may go.
BEYOND = 28


class Repair:
    """A plan that is mended: first day by day, then laid down by the dispatcher.

    Args:
        problem: As it is now.
        bench: The same, laid out.
        before: The plan until now; it may lack operations that are new.

    Attributes:
        known: Whether an operation was in the plan.
        still: Whether it is fixed, begun or new: its day is not looked for here.
        moved: Operations that are to be on another day than they were, or at another time of it.
        hurried: Those of them that must be sooner, or were asked for.
        lost: Those of them whose time is gone: nobody is at work then any more.
        gave: Those of them that gave way.
        order: Keys of the operations that do not move: by their ends, for what was split goes on
            behind what it was interrupted for.
        load: Minutes of work on each day.
        room: Minutes that hands work on each day.
    """

    def __init__(self, problem: Problem, bench: Bench, before: Plan) -> None:
        self.problem, self.bench = problem, bench
        self.soonest = bench.release[:]
        spans = before.spans_of()
        every = range(bench.count)
        self.known = [i in spans or i in bench.fixed for i in every]
        self.still = [i in bench.fixed or i in bench.begun or not self.known[i] for i in every]
        spans.update(bench.fixed)
        self.minutes = [
            sum(one.end - one.start for one in spans[i]) if i in spans else bench.minutes[i]
            for i in every
        ]
        self.start = [spans[i][0].start if i in spans else 0 for i in every]
        self.end = [spans[i][-1].end if i in spans else 0 for i in every]
        self.order = [float(self.end[i]) if self.known[i] else LAST + i for i in every]
        self.moved: set[int] = set()
        self.hurried: set[int] = set()
        self.gave: set[int] = set()
        self.lost: set[int] = set()
        self._lay_out_waits()
        self._lay_out_days([one for some in spans.values() for one in some])
        self._place_what_is_new()
        self._move_what_cannot_stay(spans)

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
        for span in left:
            self.load[span.start // DAY] += span.end - max(span.start, now)
            self.on[span.start // DAY].add(span.operation)

    def _place_what_is_new(self) -> None:
        """Let what is new go where it is needed by what waits for it."""
        starts = {i: self.start[i] for i, known in enumerate(self.known) if known}
        for i in reversed(self.bench.order):
            needed = [starts[b] - least for b, least, _ in self.after[i] if b in starts]
            if i not in starts and needed:
                starts[i], end = self._back(min(needed), self.minutes[i])
                self.order[i] = float(end)

    # -- what must move ----------------------------------------------------------------------------

    def _move_what_cannot_stay(self, spans: Mapping[int, Sequence[Span]]) -> None:
        for i in self.bench.order:
            if not self.still[i]:
                if not self._at_work(spans[i]) and self._lay(i, self.start[i]):
                    self.lost.add(i)
                self._push(i, self._soonest(i))
        for i, due in self.asked.items():
            if i in self.moved or self.end[i] > due:
                self.hurried.add(i)
                self._pull(i, due)

    def _at_work(self, spans: Sequence[Span]) -> bool:
        """Whether those who were to do something still work then."""
        for span in spans:
            windows = self.bench.windows[span.person]
            at = self.bench.window_at(span.person, span.start)
            if at == len(windows) or not windows[at][0] <= span.start <= span.end <= windows[at][1]:
                return False
        return True

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
        kind: Kind = "never" if self.bench.kinds[i] == "never" else "breaks"
        found = first_spans(self.windows, at, (), soonest, self.minutes[i], kind, 1)
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

    # -- what gives way ----------------------------------------------------------------------------

    def relieve(self) -> None:
        """Let something give way on each day that has too much."""
        for number, day in enumerate(self.days[:-1]):
            while self.load[day] > self.room[day]:
                chain = self._chain(day)
                for i, other in reversed(chain):
                    begin = max(self.first[other], self._soonest(i))
                    self._put(i, begin, begin + self.minutes[i])
                    self.gave.add(i)
                if chain:
                    continue
                free = [i for i in self.on[day] if not self.still[i] and i not in self.moved]
                if not free:
                    break
                last = max(free, key=lambda i: (self.order[i], i))
                self._push(last, self.first[self.days[number + 1]])

    def _chain(self, day: int) -> Chain:
        """Return the chain that relieves a day by the fewest steps a minute.

        The last of them goes where time is left, each other one where the next one leaves.
        """
        over = self.load[day] - self.room[day]
        best: Chain = ()
        ratio, least = float("inf"), over
        while least > 0:
            found = self._shortest(day, least)
            if found and len(found) / min(self.minutes[found[0][0]], over) < ratio:
                best, ratio = found, len(found) / min(self.minutes[found[0][0]], over)
            least //= 2
        return best

    def _shortest(self, day: int, least: int) -> Chain:
        """Return the shortest chain whose first operation has some minutes at least."""
        seen = {day}
        line: list[tuple[int, int, Chain]] = [(day, least, ())]
        for here, need, path in line:
            for minutes, i in sorted((self.minutes[i], i) for i in self.on[here]):
                if minutes < need or not self.yields[i] or i in self.moved:
                    continue
                for other in self._days_for(i):
                    if other in seen:
                        continue
                    over = self.load[other] + minutes - self.room[other]
                    then = (*path, (i, other))
                    if over <= 0:
                        return then
                    seen.add(other)
                    line.append((other, over, then))
        return ()

    def _days_for(self, i: int) -> Iterator[int]:
        """Yield the days on which an operation disturbs nothing before or behind it."""
        soonest, latest = self._soonest(i), self._latest(i)
        for day in self.days[bisect_right(self.days, soonest // DAY - 1) :]:
            if self.first[day] + self.minutes[i] > latest:
                return
            if max(soonest, self.first[day]) + self.minutes[i] <= min(latest, self.last[day]):
                yield day

    # -- laid down ---------------------------------------------------------------------------------

    def draft(self, since: Since, turn: Turn) -> Draft | None:
        """Return a plan in which each operation is on its day, if it can.

        Args:
            since: What stays begins no sooner than it did, than its day, or at any time.
            turn: What cannot stay goes first on its day, or just in time for what waits for it, or
                last of all; or only what lost its time goes last.
        """
        days = [start // DAY for start in self.start]
        open_ = [self.first.get(day, 0) for day in days]
        begin = {"minute": self.start, "day": open_, "any": self.soonest}[since]
        self.bench.release = [
            max(soonest, open_[i] if i in self.moved else begin[i])
            for i, soonest in enumerate(self.soonest)
        ]
        keys = [self._key(i, days[i], turn) for i in range(self.bench.count)]
        wishes = Wishes(keys=keys, stretch=[0] * len(keys), flush_key=0.0, scrap_key=0.0)
        draft = Dispatcher(self.bench, wishes).run()
        self.bench.release = self.soonest
        return draft

    def _key(self, i: int, day: int, turn: Turn) -> float:
        if i not in self.moved:
            return self.order[i]
        last = turn == "last" or (turn == "lost last" and i in self.lost)
        if i not in self.gave and i in self.hurried and turn != "in time":
            return float(self.first.get(day, 0))
        if i not in self.gave and turn != "in time":
            return self.order[i] + last * LAST
        return float(min(self._latest(i), self.last.get(day, NEVER)))

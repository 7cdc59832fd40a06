"""A problem laid out in lists, for the dispatcher that goes through it thousands of times."""

from bisect import bisect_right

from hidewright.planning.calendar import DAY, joined
from hidewright.planning.problem import MACHINES, Operation, Problem, Span, Wait

#: Later than any plan.
NEVER = 10**12
#: A wait that may be so many minutes longer than the least is a long one.
LONG = 2 * DAY

Windows = list[tuple[int, int]]
#: Operations of the same class can start at the same moments: minutes, kind, needs, what follows.
ClassMark = tuple[object, ...]


class Bench:
    """The lists; none of them is changed once made, but the hours may be others.

    Operations that a largest wait ties together are one unit: they are laid down together, so that
    no largest wait can be missed. The unit's number is that of its first operation. Where the wait
    is a long one, there are days to choose from: what follows is a unit of its own.

    Attributes:
        windows: Working windows of each person, from ``now`` to the horizon.
        followers: (after, least) of the waits behind each operation, within its unit left out.
        takes: (station, amount) at the start of each operation.
        gives: (station, amount) at the end of each operation.
        members: Operations of each unit in order; units of one operation are not listed.
        unit: Unit of each operation.
        waiting: How many waits stand before each unit.
        whole: Whether an operation is done in one go: it must be, or two pieces of it are too long.
        inside: (before, least, most) of the waits within its unit that stand before an operation.
        class_of: Class of each unit.
    """

    def __init__(self, problem: Problem, *, day_minutes: int = DAY) -> None:
        self.problem = problem
        operations = problem.operations
        self.count = len(operations)
        self.minutes = [one.minutes for one in operations]
        self.kinds = [one.kind for one in operations]
        self.shortest = [one.shortest_piece for one in operations]
        self.whole = [problem.in_one_go(i) for i in range(self.count)]
        self.colours = [one.colour for one in operations]
        self.machines = [MACHINES.index(one.machine) for one in operations]
        self.setups = [problem.setup_minutes(one) for one in operations]
        self.fixed = fixed_whole(problem)
        self.begun = {s.operation: 0 for s in problem.fixed if s.operation not in self.fixed}
        for span in problem.fixed:
            if span.operation in self.begun:
                self.begun[span.operation] += span.end - span.start
        self.release = [max(problem.now, problem.orders[o.order].release) for o in operations]
        self._lay_out_stations()
        self._tie_units()
        self._lay_out_waits()
        self._sort_classes()
        self.horizon = horizon(problem, day_minutes)
        self.keep_hours(
            [
                _from(problem.now, _shortened(one.calendar.until(self.horizon), day_minutes))
                for one in problem.persons
            ]
        )

    def keep_hours(self, windows: list[Windows]) -> None:
        """Set the working windows of each person, in order."""
        self.windows = windows
        self.opens = [[begin for begin, _ in one] for one in windows]

    def window_at(self, person: int, time: int) -> int:
        """Return the number of the window that holds a time, or of the next one."""
        at = bisect_right(self.opens[person], time) - 1
        return at if at >= 0 and time < self.windows[person][at][1] else at + 1

    def _lay_out_stations(self) -> None:
        problem = self.problem
        names = [one.name for one in problem.stations]
        number = {name: i for i, name in enumerate(names)}
        self.capacity = [one.capacity for one in problem.stations]
        self.takes: list[list[tuple[int, int]]] = [[] for _ in range(self.count)]
        self.gives: list[list[tuple[int, int]]] = [[] for _ in range(self.count)]
        for hold in problem.holds:
            self.takes[hold.first].append((number[hold.station], hold.amount))
            self.gives[hold.last].append((number[hold.station], hold.amount))

    def _tie_units(self) -> None:
        root = list(range(self.count))
        #: (after, least, most) of the long wait behind an operation, if there is one.
        self.loose = self._loose()

        def find(i: int) -> int:
            while root[i] != i:
                i = root[i]
            return i

        for wait in self.problem.waits:
            if wait.most is None or wait.before in self.fixed or wait.after in self.fixed:
                continue
            if self._is_loose(wait):
                continue
            a, b = sorted((find(wait.before), find(wait.after)))
            root[b] = a
        together: dict[int, list[int]] = {}
        for i in self._in_order():
            together.setdefault(find(i), []).append(i)
        self.members = {group[0]: group for group in together.values() if len(group) > 1}
        #: (station, amount) that the operations of a unit take, wherever in it.
        self.unit_takes = {
            head: sorted({take for i in group for take in self.takes[i]})
            for head, group in self.members.items()
        }
        self.unit = list(range(self.count))
        for head, group in self.members.items():
            for i in group:
                self.unit[i] = head

    def _loose(self) -> dict[int, tuple[int, int, int]]:
        """Return (after, least, most) of the long waits, by what is before.

        What follows holds nothing and waits for nothing else, so that it can start on any of
        several days: it need not be laid down with what is before.
        """
        count = [0] * self.count
        for wait in self.problem.waits:
            count[wait.after] += 1
        longs: dict[int, list[tuple[int, int, int]]] = {}
        for wait in self.problem.waits:
            a, b = wait.before, wait.after
            if (
                wait.most is not None
                and wait.most - max(0, wait.least) >= LONG
                and count[b] == 1
                and b not in self.fixed
                and not self.takes[b]
                and self.colours[b] is None
                and self.kinds[a] != "any"
            ):
                longs.setdefault(a, []).append((b, wait.least, wait.most))
        return {a: some[0] for a, some in longs.items() if len(some) == 1}

    def _is_loose(self, wait: Wait) -> bool:
        return wait.before in self.loose and self.loose[wait.before][0] == wait.after

    def _in_order(self) -> list[int]:
        """Return the operations, each behind those it waits for."""
        after: dict[int, list[int]] = {}
        waiting = [0] * self.count
        for wait in self.problem.waits:
            after.setdefault(wait.before, []).append(wait.after)
            waiting[wait.after] += 1
        order = [i for i, number in enumerate(waiting) if not number]
        for i in order:
            for then in after.get(i, ()):
                waiting[then] -= 1
                if not waiting[then]:
                    order.append(then)
        self.order = order
        return order

    def _lay_out_waits(self) -> None:
        self.followers: list[list[tuple[int, int]]] = [[] for _ in range(self.count)]
        self.inside: list[list[tuple[int, int, int]]] = [[] for _ in range(self.count)]
        self.waiting = [0] * self.count
        #: Latest start of an operation that waits for a fixed one.
        self.latest: dict[int, int] = {}
        #: Latest end of an operation that a pinned one waits for.
        self.must_end: dict[int, int] = {}
        ends = {i: spans[-1].end for i, spans in self.fixed.items()}
        starts = {i: spans[0].start for i, spans in self.fixed.items()}
        for wait in self.problem.waits:
            a, b = wait.before, wait.after
            if b in self.fixed:
                self.must_end[a] = min(self.must_end.get(a, NEVER), starts[b] - wait.least)
                if wait.most is not None:
                    soonest = starts[b] - wait.most - self.minutes[a]
                    self.release[a] = max(self.release[a], soonest)
                continue
            if a in self.fixed:
                self.release[b] = max(self.release[b], ends[a] + wait.least)
                if wait.most is not None and not self._is_loose(wait):
                    self.latest[b] = min(self.latest.get(b, NEVER), ends[a] + wait.most)
            elif self.unit[a] == self.unit[b]:
                most = NEVER if wait.most is None else wait.most
                self.inside[b].append((a, wait.least, most))
            else:
                self.followers[a].append((b, wait.least))
                self.waiting[self.unit[b]] += 1

    def _sort_classes(self) -> None:
        marks: dict[ClassMark, int] = {}
        self.class_of = [
            marks.setdefault(self._mark(i), len(marks)) if self.unit[i] == i else -1
            for i in range(self.count)
        ]
        self.classes = len(marks)

    def _mark_behind(self, i: int) -> object:
        if i not in self.loose:
            return None
        b, least, most = self.loose[i]
        return (self.minutes[b], self.kinds[b], least, most)

    def _mark(self, head: int) -> ClassMark:
        group = self.members.get(head, [head])
        place = {i: k for k, i in enumerate(group)}
        return tuple(
            (
                self.minutes[i],
                self.kinds[i],
                self.colours[i],
                self.machines[i],
                tuple(self.takes[i]),
                tuple((place[a], least, most) for a, least, most in self.inside[i]),
                self.latest.get(i),
                self._mark_behind(i),
            )
            for i in group
        )


def fixed_whole(problem: Problem) -> dict[int, list[Span]]:
    """Return the spans of the operations that are fixed as a whole, by operation."""
    spans: dict[int, list[Span]] = {}
    for span in sorted(problem.fixed):
        spans.setdefault(span.operation, []).append(span)
    return {
        i: group
        for i, group in spans.items()
        if sum(s.end - s.start for s in group) >= problem.operations[i].minutes
    }


def horizon(problem: Problem, day_minutes: int = DAY) -> int:
    """Return a minute by which any sensible plan is finished: twice the work, and all waits."""
    if not problem.persons:
        return problem.now + sum(one.minutes for one in problem.operations)
    week = sum(
        min(sum(end - begin for begin, end in windows), day_minutes)
        for person in problem.persons
        for windows in person.calendar.week
    )
    work = sum(one.minutes + problem.setup_minutes(one) for one in problem.operations)
    longest = _longest_chain(problem.operations, problem)
    special = max((day for p in problem.persons for day, _ in p.calendar.special), default=0)
    latest = max(
        [problem.now, special * DAY, *(one.release for one in problem.orders)]
        + [span.end for span in problem.fixed]
    )
    weeks = 2 * work // max(1, week) + 8
    return latest + weeks * 7 * DAY + 4 * longest


def _longest_chain(operations: tuple[Operation, ...], problem: Problem) -> int:
    """Return an upper limit of the waiting minutes of one load, the loads taken together."""
    waits: dict[int, int] = {}
    for wait in problem.waits:
        load = operations[wait.after].load
        waits[load] = waits.get(load, 0) + max(0, wait.least)
    return max(waits.values(), default=0)


def _shortened(windows: Windows, day_minutes: int) -> Windows:
    """Return windows of which each day keeps its first minutes only."""
    if day_minutes >= DAY:
        return windows
    used: dict[int, int] = {}
    out = []
    for begin, end in windows:
        day = begin // DAY
        kept = min(end - begin, day_minutes - used.get(day, 0))
        if kept > 0:
            used[day] = used.get(day, 0) + kept
            out.append((begin, begin + kept))
    return out


def _from(now: int, windows: Windows) -> Windows:
    """Return what is left of windows from a minute on."""
    return joined((max(begin, now), end) for begin, end in windows if end > now)

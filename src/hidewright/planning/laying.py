"""What is done so far in a run through a bench, and how work is laid down as a whole.

A step with a largest wait behind it starts only if what must follow is laid down with it.
"""

from bisect import insort
from collections.abc import Sequence
from heapq import heappush

from hidewright.planning.bench import NEVER, Bench
from hidewright.planning.draft import Piece, Wishes
from hidewright.planning.free_time import first_spans
from hidewright.planning.problem import MACHINES, Span

#: (operation, person, spans)
Laid = list[tuple[int, int, list[tuple[int, int]]]]


class Laying:
    """The state of one run, and the rules by which it changes.

    Args:
        bench: What is to be done.
        wishes: What is to go first.
    """

    def __init__(self, bench: Bench, wishes: Wishes) -> None:
        count, persons = bench.count, range(len(bench.windows))
        self.bench, self.keys, self.stretch = bench, list(wishes.keys), wishes.stretch
        self.latest = dict(bench.latest)
        self.alarms: list[tuple[int, int]] = []
        self.flush_key, self.scrap_key = wishes.flush_key, wishes.scrap_key
        self.ends = [-1] * count
        self.left = bench.minutes[:]
        self.ready_at = bench.release[:]
        self.waiting = bench.waiting[:]
        self.level = bench.capacity[:]
        self.frees: list[list[tuple[int, int]]] = [[] for _ in bench.capacity]
        self.pending: list[tuple[int, int]] = []
        self.ready: list[list[tuple[float, int]]] = [[] for _ in range(bench.classes + 1)]
        self.filled: set[int] = set()
        self.next_free = NEVER
        self.time = [bench.problem.now for _ in persons]
        self.window = [0 for _ in persons]
        self.busy: list[list[tuple[int, int]]] = [[] for _ in persons]
        self.idle_since = [NEVER for _ in persons]
        self.open_piece: list[Piece | None] = [None for _ in persons]
        self.pieces: list[Piece] = []
        self.machine_free, self.flushes = [0 for _ in MACHINES], 0
        self.set_for: list[str | None] = [None for _ in MACHINES]
        self.undone = count
        self.late = self.untimely = False

    def _is_single(self, unit: int) -> bool:
        return unit not in self.bench.members and self.bench.colours[unit] is None

    # -- work laid down as a whole -----------------------------------------------------------------

    def _laid(self, unit: int, person: int, now: int, limit: int) -> Laid | None:
        """Return (operation, person, spans) of a unit whose first operation starts now."""
        bench = self.bench
        if not self._stations_free(unit, now):
            return None
        if unit not in bench.members:
            minutes = bench.minutes[unit]
            if bench.colours[unit] is not None:
                if now < self.machine_free[bench.machines[unit]]:
                    return None
                minutes += self._setup(unit, self.set_for)
            if bench.kinds[unit] == "never":
                spans = [(now, now + minutes)] if now + minutes <= limit else []
            else:
                spans = self._spans(person, now, unit, minutes, self.busy[person])
            if not spans or spans[0][0] != now:
                # begun a little later its last part may be long enough
                late = bool(spans) and bench.kinds[unit] == "breaks" and bench.shortest[unit] > 1
                self.untimely |= late
                return None
            if unit in bench.loose and not self._can_follow(unit, spans[-1][1]):
                return None
            return [(unit, person, spans)]
        for station, amount in bench.unit_takes[unit]:
            free = self.level[station]
            if free < amount and free + sum([a for _, a in self.frees[station]]) < amount:
                return None
        return self._laid_together(unit, person, now, limit)

    def _laid_together(self, head: int, person: int, earliest: int, limit: int) -> Laid | None:
        """Return the spans of a unit of several operations; with a limit the first starts now."""
        bench = self.bench
        if limit and bench.kinds[head] == "never" and earliest + bench.minutes[head] > limit:
            return None
        self.untimely = True
        out: Laid = []
        ends: dict[int, int] = {}
        taken: list[tuple[int, int]] = []
        extra: dict[int, list[tuple[int, int]]] = {}
        machine_free, set_for = self.machine_free[:], self.set_for[:]
        for i in bench.members.get(head, [head]):
            soonest, latest = max(self.ready_at[i], earliest), self.latest.get(i, NEVER)
            for before, least, most in bench.inside[i]:
                soonest = max(soonest, ends[before] + min(least + self.stretch[i], most))
                latest = min(latest, ends[before] + most)
            minutes = bench.minutes[i]
            if bench.colours[i] is not None:
                soonest = max(soonest, machine_free[bench.machines[i]])
                minutes += self._setup(i, set_for)
            who, spans = self._soonest_person(person, soonest, i, minutes, extra, i == head)
            if (
                not spans
                or spans[0][0] > latest
                or (limit and i == head and spans[0][0] > earliest)
            ):
                return None
            if bench.takes[i] and not self._free_then(i, spans[0][0], taken):
                return None
            taken.extend(bench.takes[i])
            for span in spans:
                insort(extra.setdefault(who, self.busy[who][:]), span)
            ends[i] = spans[-1][1]
            if i in bench.loose and not self._can_follow(i, ends[i]):
                return None
            if bench.colours[i] is not None:
                machine_free[bench.machines[i]] = ends[i]
                set_for[bench.machines[i]] = bench.colours[i]
            out.append((i, who, spans))
        return out

    def _soonest_person(
        self,
        person: int,
        soonest: int,
        operation: int,
        minutes: int,
        extra: dict[int, list[tuple[int, int]]],
        is_head: bool,
    ) -> tuple[int, list[tuple[int, int]]]:
        """Return who can start an operation soonest, and when; the person asked goes first."""
        best, best_spans = (
            person,
            self._spans(
                person, soonest, operation, minutes, extra.get(person) or self.busy[person]
            ),
        )
        if is_head or (best_spans and best_spans[0][0] == soonest):
            return best, best_spans
        for other in range(len(self.time)):
            if other != person:
                since = max(soonest, self.time[other])
                busy = extra.get(other) or self.busy[other]
                spans = self._spans(other, since, operation, minutes, busy)
                if spans and (not best_spans or spans[0][0] < best_spans[0][0]):
                    best, best_spans = other, spans
        return best, best_spans

    def _lay_down(self, unit: int, laid: Laid) -> None:
        """Commit the spans of a unit; who does the first one goes on behind it."""
        for operation, who, spans in laid:
            self.late |= spans[0][0] > self.latest.get(operation, NEVER)
            for station, amount in self.bench.takes[operation]:
                self.level[station] -= amount
            for begin, end in spans:
                self.pieces.append([begin, end, operation, who])
            at_once = operation == unit and len(spans) == 1 and spans[0][0] <= self.time[who]
            if at_once:
                self.time[who] = max(self.time[who], spans[0][1])
            else:
                for span in spans:
                    insort(self.busy[who], span)
            self.open_piece[who] = None
            end = spans[-1][1]
            if self.bench.colours[operation] is not None:
                machine = self.bench.machines[operation]
                self.flushes += self._setup(operation, self.set_for) > 0
                self.set_for[machine], self.machine_free[machine] = (
                    self.bench.colours[operation],
                    end,
                )
            self.left[operation] = 0
            self._done(operation, end)

    def _setup(self, operation: int, set_for: Sequence[str | None]) -> int:
        """Return the minutes of setting up a machine for an operation."""
        colour = set_for[self.bench.machines[operation]]
        other = colour is not None and colour != self.bench.colours[operation]
        return self.bench.setups[operation] if other else 0

    def _spans(
        self, person: int, soonest: int, operation: int, minutes: int, busy: list[tuple[int, int]]
    ) -> list[tuple[int, int]]:
        bench = self.bench
        return first_spans(
            bench.windows[person],
            bench.window_at(person, soonest),
            busy,
            soonest,
            minutes,
            bench.kinds[operation],
            bench.shortest[operation],
        )

    # -- stations ----------------------------------------------------------------------------------

    def _stations_free(self, operation: int, now: int) -> bool:
        for station, amount in self.bench.takes[operation]:
            if self.level[station] < amount and self._level_at(station, now) < amount:
                return False
        return True

    def _level_at(self, station: int, time: int) -> int:
        """Return what is free of a station from a time on, by all that is known."""
        return self.level[station] + sum(a for then, a in self.frees[station] if then <= time)

    def _free_then(self, operation: int, time: int, taken: list[tuple[int, int]]) -> bool:
        for station, amount in self.bench.takes[operation]:
            amount += sum(a for s, a in taken if s == station)
            if self._level_at(station, time) < amount:
                return False
        return True

    # -- what follows ------------------------------------------------------------------------------

    def _done(self, operation: int, end: int) -> None:
        """Note that an operation ends: free its stations, let its followers come up."""
        self.ends[operation] = end
        self.undone -= 1
        self.late |= end > self.bench.must_end.get(operation, NEVER)
        several = len(self.time) > 1
        for station, amount in self.bench.gives[operation]:
            heappush(self.frees[station], (end, amount))
            self.next_free = min(self.next_free, end)
            if several:
                self._wake(end)
        if operation in self.bench.loose:
            self._let_follow(operation, end)
        for then, least in self.bench.followers[operation]:
            at = end + least
            if self.ready_at[then] < at:
                self.ready_at[then] = at
            unit = self.bench.unit[then]
            self.waiting[unit] -= 1
            if not self.waiting[unit]:
                self._come_up(unit)

    def _can_follow(self, operation: int, end: int) -> bool:
        """Whether what has days to follow an operation can, if it ends at a time."""
        then, least, most = self.bench.loose[operation]
        return self.bench.last_start(then, end + least, end + most)[0] >= 0

    def _let_follow(self, operation: int, end: int) -> None:
        """Note until when what has days to follow an operation must start."""
        then, least, most = self.bench.loose[operation]
        self.latest[then], alarm = self.bench.last_start(then, end + least, end + most)
        heappush(self.alarms, (alarm, then))

    def _come_up(self, unit: int) -> None:
        heappush(self.pending, (self.ready_at[unit], unit))
        if len(self.time) > 1:
            self._wake(self.ready_at[unit])

    def _wake(self, time: int) -> None:
        """Let idle persons look again at a time."""
        for person, since in enumerate(self.idle_since):
            if since <= time < self.time[person]:
                self.time[person] = time
                self.window[person] = self.bench.window_at(person, time)

    # -- what is fixed -----------------------------------------------------------------------------

    def _begin(self) -> None:
        """Lay down what is fixed, then what must follow it, and let the rest come up."""
        bench = self.bench
        for operation, spans in bench.fixed.items():
            self._fix(operation, spans)
            for station, amount in bench.gives[operation]:
                heappush(self.frees[station], (spans[-1].end, amount))
                self.next_free = min(self.next_free, spans[-1].end)
            self.ends[operation] = spans[-1].end
            self.undone -= 1
            self.left[operation] = 0
        for end, i in sorted((spans[-1].end, i) for i, spans in bench.fixed.items()):
            if bench.colours[i] is not None:
                self.machine_free[bench.machines[i]] = end
                self.set_for[bench.machines[i]] = bench.colours[i]
        for operation in bench.loose:
            if operation in bench.fixed:
                self._let_follow(operation, bench.fixed[operation][-1].end)
        for operation in bench.begun:
            self._go_on(operation)
        free = [u for u, number in enumerate(self.waiting) if not number and bench.unit[u] == u]
        for unit in free:
            if unit in bench.fixed or unit in bench.begun:
                continue
            if any(i in bench.latest for i in bench.members.get(unit, [unit])):
                self._follow_fixed(unit)
            else:
                heappush(self.pending, (self.ready_at[unit], unit))

    def _fix(self, operation: int, spans: Sequence[Span]) -> None:
        for station, amount in self.bench.takes[operation]:
            self.level[station] -= amount
        for span in spans:
            self.pieces.append([span.start, span.end, operation, span.person])
            if span.person >= 0 and span.end > self.bench.problem.now:
                insort(self.busy[span.person], (span.start, span.end))

    def _go_on(self, operation: int) -> None:
        """Take up an operation that is begun."""
        bench = self.bench
        spans = [one for one in bench.problem.fixed if one.operation == operation]
        self._fix(operation, spans)
        left = bench.minutes[operation] - bench.begun[operation]
        self.left[operation] = left
        self.waiting[bench.unit[operation]] = -1
        if bench.kinds[operation] == "any" and self._is_single(operation):
            heappush(self.ready[bench.classes], (self.keys[operation], operation))
            self.filled.add(bench.classes)
            return
        person = spans[-1].person
        then = self._spans(person, bench.problem.now, operation, left, self.busy[person])
        for begin, end in then:
            insort(self.busy[person], (begin, end))
            self.pieces.append([begin, end, operation, person])
        self.late |= not then
        if then:
            self._done(operation, then[-1][1])

    def _follow_fixed(self, unit: int) -> None:
        """Lay down what a largest wait ties to something fixed."""
        laid = [
            found
            for person in range(len(self.time))
            if (found := self._laid_together(unit, person, self.bench.problem.now, 0)) is not None
        ]
        if laid:
            self._lay_down(unit, min(laid, key=lambda one: one[0][2][0]))
        else:
            self.late = True

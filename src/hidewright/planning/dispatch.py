"""What to do next: at each free moment the best step that can start, until all is done.

Work that may be split is left for a better step as soon as its shortest piece is done, and fills
what time is left before a break.
"""

from heapq import heapify, heappop, heappush

from hidewright.planning.bench import NEVER
from hidewright.planning.draft import Draft
from hidewright.planning.laying import Laid, Laying
from hidewright.planning.problem import SHORTEST_PIECE

#: Where hands idle because nothing fits, they look again after so many minutes.
LOOK_AGAIN = 5
#: With several persons, work that may be split is looked at again after so many minutes.
QUANTUM = 60
#: Key of what goes before all else.
HURRY = -1e9
#: So many windows in which nothing could start are a deadlock.
EMPTY_WINDOWS = 60


class Dispatcher(Laying):
    """One run through a bench; make a new one for each."""

    def run(self) -> Draft | None:
        """Return the plan; None where the steps block one another or a fixed time cannot be met."""
        self._begin()
        empty = 0
        persons = range(1, len(self.time))
        while self.undone and not self.late:
            person = 0
            for other in persons:
                if self.time[other] < self.time[person]:
                    person = other
            limit = self._at_work(person)
            if limit == NEVER:
                return None
            if limit < 0:  # moved on to its next window
                continue
            if self._do_next(person, limit):
                empty = 0
            elif self.time[person] >= self.bench.windows[person][self.window[person]][1]:
                empty += 1
                if empty > EMPTY_WINDOWS and not self.pending:
                    return None
        if self.late:
            return None
        return Draft(ends=self.ends, pieces=self.pieces, flushes=self.flushes)

    # -- the hands ---------------------------------------------------------------------------------

    def _at_work(self, person: int) -> int:
        """Return until when a person is free from its time on.

        -1 when its time moved on, ``NEVER`` beyond the horizon.
        """
        time = before = self.time[person]
        windows, busy = self.bench.windows[person], self.busy[person]
        at = self.window[person]
        while True:
            if at == len(windows):
                return NEVER
            begin, end = windows[at]
            if time >= end:
                at += 1
            elif time < begin:
                time = begin
            elif busy and busy[0][0] <= time:
                time = max(time, busy.pop(0)[1])
                self.idle_since[person] = NEVER
            else:
                break
        self.window[person] = at
        if time > before:
            self.time[person] = time
            return -1
        return min(end, busy[0][0]) if busy else end

    def _do_next(self, person: int, limit: int) -> bool:
        """Let a person do the best that can start now; return whether something did."""
        now = self.time[person]
        pending, keys, ready = self.pending, self.keys, self.ready
        class_of, minutes = self.bench.class_of, self.bench.minutes
        while pending and pending[0][0] <= now:
            unit = heappop(pending)[1]
            number = class_of[unit] if self.left[unit] == minutes[unit] else self.bench.classes
            heappush(ready[number], (keys[unit], unit))
            self.filled.add(number)
        if self.next_free <= now:
            self._free(now)
        while self.alarms and self.alarms[0][0] <= now:
            self._hurry(heappop(self.alarms)[1])
        best, best_key, best_class = -1, float("inf"), -1
        self.untimely = False
        laid: Laid | None = None
        for key, number, unit in self._line():
            if key >= best_key:
                break
            if self.bench.kinds[unit] == "any" and self._is_single(unit):
                unit = self._first_that_fits(number, now, limit, person)
                if unit < 0 or keys[unit] >= best_key:
                    continue
                best, best_key, best_class, laid = unit, keys[unit], number, None
            else:
                found = self._laid(unit, person, now, limit)
                if found is not None and 0 < limit - found[0][2][-1][1] < SHORTEST_PIECE:
                    key += self.scrap_key
                    if key >= best_key:
                        continue
                if found is not None:
                    best, best_key, best_class, laid = unit, key, number, found
        if best < 0:
            self._look_again(person, limit)
            return False
        self.idle_since[person] = NEVER
        self._take_out(best_class, best)
        if laid is None:
            self._work_on(best, person, now, limit)
        else:
            self._lay_down(best, laid)
        return True

    def _hurry(self, unit: int) -> None:
        """Let a unit go before all else: it has no other day left."""
        old = (keys := self.keys)[unit]
        keys[unit] = HURRY
        for number in self.filled:
            if (old, unit) in self.ready[number]:
                queue = self.ready[number]
                queue[queue.index((old, unit))] = (HURRY, unit)
                heapify(queue)
                return

    def _line(self) -> list[tuple[float, int, int]]:
        """Return (key, class, unit) of the first of each class that has any, in order."""
        colours, machines, line = self.bench.colours, self.bench.machines, []
        for number in self.filled:
            key, unit = self.ready[number][0]
            colour = colours[unit]
            if colour is not None and colour != self.set_for[machines[unit]]:
                key += self.flush_key
            line.append((key, number, unit))
        line.sort()
        return line

    def _take_out(self, number: int, unit: int) -> None:
        """Take a unit out of its class."""
        queue = self.ready[number]
        if queue[0][1] == unit:
            heappop(queue)
        else:
            queue.remove((self.keys[unit], unit))
            heapify(queue)
        if not queue:
            self.filled.discard(number)

    def _free(self, now: int) -> None:
        """Note what has come free by a time."""
        self.next_free = NEVER
        for station, frees in enumerate(self.frees):
            while frees and frees[0][0] <= now:
                self.level[station] += heappop(frees)[1]
            if frees and frees[0][0] < self.next_free:
                self.next_free = frees[0][0]

    def _look_again(self, person: int, limit: int) -> None:
        """Move an idle person's time on to when something may have changed."""
        now = self.time[person]
        then = limit
        if self.pending and self.pending[0][0] < then:
            then = self.pending[0][0]
        then = min(then, self.next_free)
        for free in self.machine_free:
            if now < free < then:
                then = free
        if self.untimely and then > now + LOOK_AGAIN:
            then = now + LOOK_AGAIN
        self.time[person] = max(then, now + 1)
        self.open_piece[person] = None
        if self.idle_since[person] == NEVER:
            self.idle_since[person] = now

    # -- work that may be split --------------------------------------------------------------------

    def _first_that_fits(self, number: int, now: int, limit: int, person: int) -> int:
        """Return the best of a class of which a piece can be done now; -1 for none."""
        queue = self.ready[number]
        unit = queue[0][1]
        if number < self.bench.classes and not self._stations_free(unit, now):
            return -1
        if self._piece(unit, now, limit, person):
            return unit
        fits = [one for one in queue if self._piece(one[1], now, limit, person)]
        return min(fits)[1] if fits else -1

    def _piece(self, unit: int, now: int, limit: int, person: int) -> int:
        """Return the minutes that can be done before a limit, 0 for none."""
        left, room = self.left[unit], limit - now
        if left <= room:
            return left
        shortest = self.bench.shortest[unit]
        room = min(room, left - shortest)
        if room >= shortest:
            return room
        piece = self.open_piece[person]
        goes_on = piece is not None and piece[2] == unit and piece[1] == now
        return room if goes_on and room > 0 else 0

    def _work_on(self, unit: int, person: int, now: int, limit: int) -> None:
        """Do a piece, as long as nothing better comes up."""
        take = self._piece(unit, now, limit, person)
        left, shortest = self.left[unit], self.bench.shortest[unit]
        piece = self.open_piece[person]
        goes_on = piece is not None and piece[2] == unit and piece[1] == now
        least = 1 if goes_on else shortest
        if take > least and left - least >= shortest:
            key, end = self.keys[unit], now + take
            come = [r for r, u in self.pending if r < end and self.keys[u] < key]
            cut = min(come) - now if come else take
            if len(self.time) > 1:
                cut = min(cut, QUANTUM)
            take = min(take, max(cut, least))
            if left - take < shortest and take < left:
                take = left - shortest
        if left == self.bench.minutes[unit]:
            self.late |= now > self.latest.get(unit, NEVER)
            for station, amount in self.bench.takes[unit]:
                self.level[station] -= amount
        end = now + take
        if goes_on and piece is not None:
            piece[1] = end
        else:
            piece = [now, end, unit, person]
            self.pieces.append(piece)
            self.open_piece[person] = piece
        self.time[person] = end
        self.left[unit] = left - take
        if take == left:
            self._done(unit, end)
        else:
            heappush(self.pending, (end, unit))

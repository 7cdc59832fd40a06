"""Mends a plan: what cannot stay goes elsewhere, and what it crowds out moves by the fewest steps.

To push all that follows (Abumaizar and Svestka, Rescheduling job shops under random disruptions,
Int. J. Production Research 35 (1997) 2065-2082) carries what a full day cannot hold through all the
days behind it, and each of them moves some steps. Here a step of the full day goes to any day on
which it may be, one of that day to another, until a day has time left: an ejection chain (Glover,
Discrete Applied Mathematics 65 (1996) 223-253), the shortest there is. A mould that would be held
twice overnight is changed for another night's in the same way, whatever moves the fewest steps.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from typing import Literal

from hidewright.planning.bench import NEVER
from hidewright.planning.calendar import DAY
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft, Wishes
from hidewright.planning.moves import Free, Moves
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Hold, Span

#: (operation, day that it goes to)
Chain = tuple[tuple[int, int], ...]
Since = Literal["minute", "day", "any"]
Turn = Literal["in time", "lost last", "last"]
#: Behind all that can stay where it was.
LAST = 1e9
#: So many days with a station free overnight, sooner and later, are tried for what held it.
NEAREST = 3
#: So many holds are sent elsewhere at most; where a station is lost for good, all must go by turns.
MOST_SENT = 20
#: More holds than so many are shared out only where that leads to nothing being held twice.
MANY = 400


class Repair(Moves):
    """A plan that is mended: first day by day, then laid down by the dispatcher.

    Args:
        dispatcher: Of the problem as it is now.
        before: The plan until now; it may lack operations that are new.

    Attributes:
        order: Keys of the operations that do not move: by their ends, for what was split goes on
            behind what it was interrupted for.
        lost: Operations whose time is gone: nobody is at work then any more.
        gave: Operations that gave way.
    """

    def __init__(self, dispatcher: Dispatcher, before: Plan) -> None:
        bench, self.dispatcher = dispatcher.bench, dispatcher
        super().__init__(bench, before)
        self.order = [float(self.end[i]) if self.known[i] else LAST + i for i in range(bench.count)]
        self.gave: set[int] = set()
        self.lost: set[int] = set()
        #: Day of what is done in one go, setting up nothing, until now; -1 for the rest.
        self.days_in_one_go = [
            start // DAY if kind == "never" and known and colour is None else -1
            for (start, _), kind, known, colour in zip(
                self.was, bench.kinds, self.known, bench.colours, strict=True
            )
        ]
        #: What the dispatcher was told already: releases and keys.
        self.seen: set[tuple[tuple[int, ...], tuple[float, ...]]] = set()
        self._place_what_is_new()
        self._move_what_cannot_stay()
        self._hurry_what_is_before()

    # -- what must move ----------------------------------------------------------------------------

    def _place_what_is_new(self) -> None:
        """Let what is new go where it is needed by what waits for it."""
        starts = {i: self.start[i] for i, known in enumerate(self.known) if known}
        for i in reversed(self.bench.order):
            needed = [starts[b] - least for b, least, _ in self.after[i] if b in starts]
            if i not in starts and needed:
                starts[i], end = self._back(min(needed), self.minutes[i])
                self.order[i] = float(end)

    def _move_what_cannot_stay(self) -> None:
        for i in self.bench.order:
            if not self.still[i]:
                if not self._at_work(self.spans[i]) and self._lay(i, self.start[i]):
                    self.lost.add(i)
                self._push(i, self._soonest(i))
        for i, due in self.asked.items():
            if i in self.moved or self.end[i] > due:
                self.hurried.add(i)
                self._pull(i, due)

    def _hurry_what_is_before(self) -> None:
        """Let what comes on the same day before something hurried go first on it, too.

        What it waits for; and what gives back overnight a station that it takes.
        """
        taken = {
            (one.station, self.start[one.first] // DAY)
            for one, _ in self.scarce
            if one.first in self.hurried
        }
        for one, _ in self.scarce:
            day = self.end[one.last] // DAY
            if self.start[one.first] // DAY < day and (one.station, day) in taken:
                self._hurry(one.last)
        for i in reversed(self.bench.order):
            day = self.start[i] // DAY
            if any(b in self.hurried and self.start[b] // DAY == day for b, _, _ in self.after[i]):
                self._hurry(i)

    def _hurry(self, i: int) -> None:
        if not self.still[i]:
            self.hurried.add(i)
            self.moved.add(i)

    def _at_work(self, spans: Sequence[Span]) -> bool:
        """Whether those who were to do something still work then."""
        for span in spans:
            windows = self.bench.windows[span.person]
            at = self.bench.window_at(span.person, span.start)
            if at == len(windows) or not windows[at][0] <= span.start <= span.end <= windows[at][1]:
                return False
        return True

    # -- stations held overnight -------------------------------------------------------------------

    def share_out_nights(self) -> None:
        """Send what holds a station to another day, where more is held overnight than there is.

        What is held sooner than it was is given back sooner, or it is not: whatever moves less.
        """
        begun = self._state()
        self._give_way_overnight()
        apart, told = self._state(), (self._excess(), len(self.moved))
        self._restore(begun)
        for one, _ in self.scarce:
            if one.first in self.hurried:
                self._give_back(one)
        self._give_way_overnight()
        if told <= (self._excess(), len(self.moved)):
            self._restore(apart)
        self._hurry_what_is_before()

    def _give_way_overnight(self) -> None:
        """Send holds elsewhere, each where it helps most.

        Of many, none goes where those that may go leave too much: what comes behind the first is
        taken to help no more than that did.
        """
        begun, pace = self._state(), 0
        for left in range(MOST_SENT, 0, -1):
            held, kept = self._held_overnight(), self._state()
            excess = _over(held)
            if not excess:
                return
            if len(self.scarce) > MANY and excess > left * pace > 0:
                self._restore(begun)
                return
            night = min(night for (_, night), over in held.items() if over > 0)
            best: tuple[int, ...] = (excess,)
            for k, (one, capacity) in enumerate(self.scarce):
                here = self.start[one.first] // DAY
                if not here <= night < self.end[one.last] // DAY or not self.can_stay(one.first):
                    continue
                free = [
                    day
                    for day in self.days
                    if day != here and held.get((one.station, day), -capacity) + one.amount <= 0
                ]
                at = bisect_right(free, here)
                for day in free[max(0, at - NEAREST) : at + NEAREST]:
                    if self._send(one, day):
                        rank = self._excess(), len(self.moved), abs(day - here), k, day
                        best = min(best, rank)
                    self._restore(kept)
            if len(best) == 1:
                return
            pace = excess - best[0]
            self._send(self.scarce[best[3]][0], best[4])

    def _held_overnight(self) -> dict[tuple[str, int], int]:
        """Return what is held of a station in a night, less what there is of it.

        What is given back on the day on which it is taken counts where it would be taken while too
        much is held from then on overnight.
        """
        held: dict[tuple[str, int], int] = {}
        since: dict[tuple[str, int], list[tuple[int, int]]] = {}
        by_day: list[tuple[str, int, int, int]] = []
        today, starts, ends = self.problem.now // DAY, self.start, self.end
        for station, amount, first, last, capacity in self.scarce_rows:
            start, end = starts[first], ends[last]
            taken, given = max(today, start // DAY), end // DAY
            if taken == given:
                by_day.append((station, amount, end, capacity))
            for night in range(taken, given):
                at = station, night
                held[at] = held.get(at, -capacity) + amount
                since.setdefault(at, []).append((start, amount))
        for station, amount, end, capacity in by_day:
            at = station, end // DAY
            if at not in since:
                continue
            beside = sum(amount for start, amount in since[at] if start < end)
            if beside and beside + amount > capacity:
                held[at] = max(0, held[at]) + amount
        return held

    def _excess(self) -> int:
        """Return by how much more is held than there is, all nights together."""
        return _over(self._held_overnight())

    def _send(self, hold: Hold, day: int) -> bool:
        """Let a hold begin on a day; return whether what is hurried already stays where it is."""
        first, was = hold.first, self.start[hold.first]
        hurried = [(i, self.start[i]) for i in self.hurried]
        if day > was // DAY:
            self._push(first, self.first[day])
        else:
            self._pull(first, self.last[day])
            self._give_back(hold)
        return (
            self.start[first] // DAY == day
            and all(self.start[i] <= start for i, start in hurried)
            and all(self._soonest(i) <= self.start[i] for i in self.moved)
        )

    def _give_back(self, hold: Hold) -> None:
        """Let what is held be given back as much sooner as it is taken."""
        sooner = self.was[hold.first][0] - self.start[hold.first]
        self._pull(hold.last, self.was[hold.last][1] - sooner)

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
        any_one = self._shortest(day, 1, ratio)
        free = self._free(day)
        before = len(free)
        while least > 0 and any_one:
            first = bisect_left(free, (least,))
            if first < before:  # else none may go first that might not before
                found = self._shortest(day, least, ratio * over) if first else any_one
                if found and len(found) / min(self.minutes[found[0][0]], over) < ratio:
                    best, ratio = found, len(found) / min(self.minutes[found[0][0]], over)
            least, before = least // 2, first
        return best

    def _shortest(self, day: int, least: int, steps: float) -> Chain:
        """Return the shortest chain whose first operation has some minutes at least.

        Args:
            day: That it begins on.
            least: Those minutes.
            steps: It is to have fewer.
        """
        unseen = [other for other in self.days if other != day]
        line: list[tuple[int, int, Chain]] = [(day, least, ())]
        for here, need, path in line:
            if len(path) + 1 >= steps or not unseen:
                break
            free = self._free(here)
            for minutes, i, soonest, latest in free[bisect_left(free, (need,)) :]:
                first = bisect_left(unseen, soonest // DAY)
                last = bisect_right(unseen, latest // DAY, first)
                if first == last:  # so it is nearly always
                    continue
                for other in self._days_for(minutes, soonest, latest, unseen[first:last]):
                    over = self.load[other] + minutes - self.room[other]
                    then = (*path, (i, other))
                    if over <= 0:
                        return then
                    unseen.remove(other)
                    line.append((other, over, then))
        return ()

    def _free(self, day: int) -> list[Free]:
        """Return what may go from a day, those of the fewest minutes first."""
        if day not in self.free:
            self.free[day] = sorted(
                (self.minutes[i], i, *self._limits(i))
                for i in self.on[day]
                if self.yields[i] and i not in self.moved
            )
        return self.free[day]

    def _days_for(self, minutes: int, soonest: int, latest: int, days: list[int]) -> list[int]:
        """Return those of some days on which an operation disturbs nothing before or behind it."""
        return [
            day
            for day in days
            if max(soonest, self.first[day]) + minutes <= min(latest, self.last[day])
        ]

    # -- laid down ---------------------------------------------------------------------------------

    def draft(self, since: Since, turn: Turn, most: float) -> Draft | None:
        """Return a plan in which each operation is on its day, if it can; None if seen already.

        Args:
            since: What stays begins no sooner than it did, than its day, or at any time.
            turn: What cannot stay goes just in time for what waits for it, or last of all; or only
                what lost its time goes last, and what is hurried first on its day.
            most: Where more operations than so many are on another day than they were, it is given
                up.
        """
        days = [start // DAY for start in self.start]
        open_ = [self.first.get(day, 0) for day in days]
        begin = {"minute": self.start, "day": open_, "any": self.soonest}[since]
        release = [
            max(soonest, open_[i] if i in self.moved else begin[i])
            for i, soonest in enumerate(self.soonest)
        ]
        keys = [self._key(i, days[i], turn) for i in range(self.bench.count)]
        asked = tuple(release), tuple(keys)
        if asked in self.seen:
            return None
        self.seen.add(asked)
        return self.dispatcher.run(
            Wishes(
                keys=keys,
                stretch=[0] * len(keys),
                flush_key=0.0,
                scrap_key=0.0,
                release=release,
                days=self.days_in_one_go,
                elsewhere=most,
            )
        )

    def _key(self, i: int, day: int, turn: Turn) -> float:
        if i not in self.moved:
            return self.order[i]
        last = turn == "last" or (turn == "lost last" and i in self.lost)
        if i not in self.gave and i in self.hurried and turn != "in time":
            return float(self.first.get(day, 0))
        if i not in self.gave and turn != "in time":
            return self.order[i] + last * LAST
        return float(min(self._latest(i), self.last.get(day, NEVER)))


def _over(held: Mapping[tuple[str, int], int]) -> int:
    """Return by how much more is held than there is, all nights together."""
    return sum(over for over in held.values() if over > 0)

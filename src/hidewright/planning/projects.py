"""Problems without hands: orders of work that are broken up in places, over and over.

Schedules are built by taking the operations in an order and starting each as soon as its waits and
stations allow (serial schedule generation; Kolisch and Hartmann, in Weglarz (ed.), Project
Scheduling, 1999, 147-178), then pushed to the right and back to the left (Tormos and Lova, Annals
of Operations Research 102 (2001) 65-81).
"""

import math
import random
from collections.abc import Iterator
from heapq import heapify, heappop, heappush

from hidewright.planning.plan import Plan
from hidewright.planning.problem import Problem, Span

#: Orders to begin with.
FIRST_ORDERS = 40
#: Of 60 operations so many are taken out of their places at once, and moved by about so many.
STRETCHES, MOVES = (7, 10, 14, 22, 32), (2, 4, 8, 16)
#: A finish worse by such a share is taken up, less and more by turns of so many rounds.
HEAT, TURN = 0.004, 2500

#: One side of time: (other operation, minutes from its end to this start), for each operation.
Waits = list[list[tuple[int, int]]]


def suits(problem: Problem) -> bool:
    """Whether it is without hands, largest waits and stations held over several steps."""
    return (
        not problem.by_hand
        and not problem.fixed
        and all(wait.most is None for wait in problem.waits)
        and all(hold.first == hold.last for hold in problem.holds)
    )


class Project:
    """The best order so far, the one in work, and the lists they are about."""

    def __init__(self, problem: Problem, seed: int) -> None:
        self.problem, self.random = problem, random.Random(seed)
        self.count = len(problem.operations)
        self.minutes = [one.minutes for one in problem.operations]
        self.before: Waits = [[] for _ in self.minutes]
        self.after: Waits = [[] for _ in self.minutes]
        for wait in problem.waits:
            self.before[wait.after].append((wait.before, wait.least))
            self.after[wait.before].append((wait.after, wait.least))
        number = {one.name: k for k, one in enumerate(problem.stations)}
        self.capacity = [one.capacity for one in problem.stations]
        self.needs: list[list[tuple[int, int]]] = [[] for _ in self.minutes]
        for hold in problem.holds:
            self.needs[hold.first].append((number[hold.station], hold.amount))
        self.release = [problem.orders[one.order].release for one in problem.operations]
        self.best: list[int] = []
        self.finish = 10**9

    def rounds(self) -> Iterator[int]:
        """Go on for ever; after each round ``best`` holds the starts and ``finish`` their end."""
        standing = (10**9, list[int]())
        for order in self._first_orders():
            standing = min(standing, self._improved(order))
            yield self.finish
        number = 0
        while True:
            number += 1
            finish = standing[0]
            child = self._improved(self._broken(standing[1]))
            heat = HEAT * finish * (0.5 + 0.5 * math.cos(2.0 * math.pi * number / TURN)) + 0.02
            worse = child[0] - finish
            if worse <= 0 or self.random.random() < math.exp(-worse / heat):
                standing = child
            yield self.finish

    def plan(self) -> Plan:
        """Return the best schedule as a plan."""
        return Plan(
            spans=tuple(
                sorted(
                    Span(start=start, end=start + self.minutes[i], operation=i, person=-1)
                    for i, start in enumerate(self.best)
                )
            )
        )

    def _first_orders(self) -> Iterator[list[int]]:
        """Yield orders by the latest start first, ties and more broken at random."""
        tail = self._tails()
        yield self._by_key([-float(one) for one in tail])
        spread = max(tail, default=0)
        for k in range(1, FIRST_ORDERS):
            noise = spread * 0.5 * k / FIRST_ORDERS
            yield self._by_key([self.random.uniform(0.0, noise) - one for one in tail])

    def _tails(self) -> list[int]:
        tail = self.minutes[:]
        for i in reversed(self._by_key([0.0] * self.count)):
            for then, least in self.after[i]:
                tail[i] = max(tail[i], self.minutes[i] + least + tail[then])
        return tail

    def _by_key(self, key: list[float]) -> list[int]:
        """Return the operations by key, each behind those it waits for."""
        waiting = [len(one) for one in self.before]
        free = [(key[i], i) for i, number in enumerate(waiting) if not number]
        heapify(free)
        out = []
        while free:
            _, i = heappop(free)
            out.append(i)
            for then, _ in self.after[i]:
                waiting[then] -= 1
                if not waiting[then]:
                    heappush(free, (key[then], then))
        return out

    def _broken(self, order: list[int]) -> list[int]:
        """Return an order in which a stretch is in some other order."""
        length = self.random.choice(STRETCHES) * self.count // 60 + 2
        first = self.random.randrange(max(1, self.count - length // 2))
        moves = self.random.choice(MOVES)
        key = [0.0] * self.count
        for place, i in enumerate(order):
            moved = first <= place < first + length
            key[i] = place + (self.random.gauss(0.0, moves) if moved else 0.0)
        return self._by_key(key)

    def _improved(self, order: list[int]) -> tuple[int, list[int]]:
        """Return the finish of the schedule of an order, pushed right and left, and its order."""
        starts = self._scheduled(order, self.before, self.release)
        finish = self._finish(starts)
        while True:
            by_end = sorted(range(self.count), key=lambda i: -(starts[i] + self.minutes[i]))
            by_end = self._sound(by_end, self.after)
            mirrored = self._scheduled(by_end, self.after, [0] * self.count)
            by_start = sorted(range(self.count), key=lambda i: -(mirrored[i] + self.minutes[i]))
            by_start = self._sound(by_start, self.before)
            then = self._scheduled(by_start, self.before, self.release)
            if self._finish(then) >= finish:
                break
            starts, finish = then, self._finish(then)
        if finish < self.finish:
            self.best, self.finish = starts, finish
        ordered = self._sound(sorted(range(self.count), key=starts.__getitem__), self.before)
        return finish, ordered

    def _sound(self, order: list[int], before: Waits) -> list[int]:
        """Return an order changed as little as is needed to have each behind those it waits for."""
        place = {i: k for k, i in enumerate(order)}
        if all(place[a] < place[i] for i in order for a, _ in before[i]):
            return order
        out: list[int] = []
        done = [False] * self.count
        for i in order:
            todo = [i]
            while todo:
                top = todo[-1]
                missing = [a for a, _ in before[top] if not done[a]]
                if missing:
                    todo.extend(missing)
                    continue
                todo.pop()
                if not done[top]:
                    done[top] = True
                    out.append(top)
        return out

    def _finish(self, starts: list[int]) -> int:
        return max((s + m for s, m in zip(starts, self.minutes, strict=True)), default=0)

    def _scheduled(self, order: list[int], before: Waits, release: list[int]) -> list[int]:
        """Return the soonest starts when the operations are taken in an order.

        What is in use of a station is kept as whole numbers whose bits are minutes: bit t of the
        k-th says that at least k of the station are in use in minute t.
        """
        starts = [0] * self.count
        ends = [0] * self.count
        used = [[0] * (capacity + 1) for capacity in self.capacity]
        for i in order:
            start = release[i]
            for other, least in before[i]:
                if ends[other] + least > start:
                    start = ends[other] + least
            minutes, needs = self.minutes[i], self.needs[i]
            if needs and minutes:
                taken = 0
                for station, amount in needs:
                    taken |= used[station][self.capacity[station] - amount + 1]
                start = _first_gap(taken >> start, minutes) + start
                span = ((1 << minutes) - 1) << start
                for station, amount in needs:
                    _add(used[station], amount, span)
            starts[i], ends[i] = start, start + minutes
        return starts


def _first_gap(taken: int, minutes: int) -> int:
    """Return where the first so many zero bits in a row begin.

    >>> _first_gap(0b110110, 2)
    6
    """
    if not taken:
        return 0
    blocked, length = taken, 1
    while length < minutes:  # blocked: where a gap of so many bits cannot begin
        step = min(length, minutes - length)
        blocked |= blocked >> step
        length += step
    return (~blocked & (blocked + 1)).bit_length() - 1


def _add(levels: list[int], amount: int, span: int) -> None:
    for k in range(len(levels) - 1, 0, -1):
        if k <= amount:
            levels[k] |= span
        else:
            levels[k] |= levels[k - amount] & span

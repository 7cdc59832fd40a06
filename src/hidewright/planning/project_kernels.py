"""The compiled heart of the search for problems without hands: schedules built from orders.

Operations are numbered from 0, times are whole minutes. ``Net`` holds the problem in flat arrays:
what belongs to operation ``i`` stands from ``first[i]`` up to ``first[i + 1]``.
"""

# mypy: disable-error-code="misc,no-untyped-def,untyped-decorator,import-untyped,assignment"

from heapq import heappop, heappush
from typing import Any, NamedTuple

import numpy as np
from numba import njit

#: Of 60 operations so many are taken out of their places at once, and moved by about so many.
STRETCHES, MOVES = np.array([7, 10, 14, 22, 32]), np.array([2.0, 4.0, 8.0, 16.0])


class Waits(NamedTuple):
    """What each operation waits for, seen from one end of time.

    Attributes:
        first: (operations + 1,) where the waits of each begin.
        other: (waits,) the operation that is waited for.
        least: (waits,) minutes from its end to the start, at least.
    """

    first: Any
    other: Any
    least: Any


class Net(NamedTuple):
    """A problem without hands, in arrays.

    Attributes:
        minutes: (operations,) how long each takes.
        release: (operations,) the minute before which it cannot start.
        before: What each waits for.
        after: The same from the other end of time: what waits for it.
        first: (operations + 1,) where the needs of each begin.
        station: (needs,) of which station.
        amount: (needs,) how much.
        capacity: (stations,) how much there is.
        used: (stations, minutes) where what is in use is noted while a schedule is built: zero
            before and behind that, and no schedule is longer.
    """

    minutes: Any
    release: Any
    before: Waits
    after: Waits
    first: Any
    station: Any
    amount: Any
    capacity: Any
    used: Any


@njit(cache=True, nogil=True)
def built(net, waits, release, order):
    """Return the soonest starts (operations,) when the operations are taken in an order.

    Serial schedule generation: Kolisch and Hartmann, in Weglarz (ed.), Project Scheduling, 1999,
    147-178.
    """
    count = len(order)
    starts, ends = np.zeros(count, np.int64), np.zeros(count, np.int64)
    used = net.used
    for i in order:
        start = release[i]
        for k in range(waits.first[i], waits.first[i + 1]):
            start = max(start, ends[waits.other[k]] + waits.least[k])
        minutes, first, last = net.minutes[i], net.first[i], net.first[i + 1]
        if minutes and first < last:
            free_since = start
            at = start
            while at < free_since + minutes:
                for k in range(first, last):
                    station = net.station[k]
                    if used[station, at] + net.amount[k] > net.capacity[station]:
                        free_since = at + 1
                        break
                at += 1
            start = free_since
            for k in range(first, last):
                for at in range(start, start + minutes):
                    used[net.station[k], at] += net.amount[k]
        starts[i], ends[i] = start, start + minutes
    used[:, : np.max(ends)] = 0
    return starts


@njit(cache=True, nogil=True)
def sound(waits, order):
    """Return an order changed as little as is needed to have each behind those it waits for."""
    count = len(order)
    done = np.zeros(count, np.bool_)
    out, todo = np.zeros(count, np.int64), np.zeros(count + len(waits.other), np.int64)
    made = 0
    for i in order:
        todo[0], depth = i, 1
        while depth:
            top, missing = todo[depth - 1], depth
            if not done[top]:
                for k in range(waits.first[top], waits.first[top + 1]):
                    if not done[waits.other[k]]:
                        todo[missing] = waits.other[k]
                        missing += 1
            if missing > depth:
                depth = missing
                continue
            depth -= 1
            if not done[top]:
                done[top] = True
                out[made] = top
                made += 1
    return out


@njit(cache=True, nogil=True)
def by_key(net, key):
    """Return the operations by key (operations,), each behind those it waits for."""
    count = len(key)
    waiting = net.before.first[1:] - net.before.first[:-1]
    free = [(key[0], 0) for _ in range(0)]
    for i in range(count):
        if not waiting[i]:
            heappush(free, (key[i], i))
    out = np.zeros(count, np.int64)
    for place in range(count):
        i = heappop(free)[1]
        out[place] = i
        for k in range(net.after.first[i], net.after.first[i + 1]):
            then = net.after.other[k]
            waiting[then] -= 1
            if not waiting[then]:
                heappush(free, (key[then], then))
    return out


@njit(cache=True, nogil=True)
def improved(net, order):
    """Return (finish, starts, order) of the schedule of an order, pushed right and left.

    As long as that finishes sooner: Tormos and Lova, Annals of Operations Research 102 (2001)
    65-81.
    """
    starts = built(net, net.before, net.release, order)
    finish = np.max(starts + net.minutes)
    at_once = np.zeros(len(order), np.int64)
    while True:
        by_end = np.argsort(-(starts + net.minutes), kind="mergesort")
        mirrored = built(net, net.after, at_once, sound(net.after, by_end))
        by_start = np.argsort(-(mirrored + net.minutes), kind="mergesort")
        then = built(net, net.before, net.release, sound(net.before, by_start))
        sooner = np.max(then + net.minutes)
        if sooner >= finish:
            break
        starts, finish = then, sooner
    return finish, starts, sound(net.before, np.argsort(starts, kind="mergesort"))


@njit(cache=True, nogil=True)
def broken(net, order, draws, shifts):
    """Return an order in which a stretch is in some other order.

    Args:
        net: The problem.
        order: (operations,) as it is.
        draws: (3,) of 0 to 1: how long the stretch is, where it begins, how far it is moved.
        shifts: (operations,) of a normal distribution.
    """
    count = len(order)
    length = STRETCHES[int(draws[0] * len(STRETCHES))] * count // 60 + 2
    first = int(draws[1] * max(1, count - length // 2))
    moves = MOVES[int(draws[2] * len(MOVES))]
    key = np.zeros(count)
    for place in range(count):
        moved = first <= place < first + length
        key[order[place]] = place + (moves * shifts[place] if moved else 0.0)
    return by_key(net, key)


@njit(cache=True, nogil=True)
def climbed(net, order, finish, heats, draws, shifts):
    """Break an order up and improve it, over and over; a worse one is taken up by its heat.

    Args:
        net: The problem.
        order: (operations,) where it stands.
        finish: Of that.
        heats: (tries,) minutes.
        draws: (tries, 4) of 0 to 1.
        shifts: (tries, operations) of a normal distribution.

    Returns:
        (order, finish) where it stands then, (starts, finish) of the best one on the way.
    """
    best_starts, best = np.zeros(len(order), np.int64), net.used.shape[1] + 1
    for k in range(len(heats)):
        then, starts, child = improved(net, broken(net, order, draws[k], shifts[k]))
        if then < best:
            best_starts, best = starts, then
        if then <= finish or draws[k, 3] < np.exp((finish - then) / heats[k]):
            order, finish = child, then
    return order, finish, best_starts, best

"""The compiled heart of narrowing: times drawn together, and parts of them tried.

Times are a table ``(5, operations) int64``, by rows: soonest start, soonest end, latest start,
latest end, and the minutes known to be worked. Where a function returns a bool, it says whether
anything is left.
"""

# mypy: disable-error-code="misc,no-untyped-def,untyped-decorator,import-untyped,assignment"

from typing import Any, NamedTuple

import numpy as np
from numba import njit

from hidewright.planning.bench import NEVER
from hidewright.planning.deadline_kernels import fits
from hidewright.planning.hours_kernels import not_after, not_before

#: Rows of times.
SOONEST, SOONEST_END, LATEST, LATEST_END, MINUTES = range(5)
#: Rows of hours, see ``Net``.
WORKED, FIRST_AT, LAST_AT = range(3)
#: No number and the last minute, typed: for a plain 0 the compiler would make a function anew.
ZERO, END = np.int64(0), np.int64(NEVER)

#: An operation: minutes, setting up not counted, and those of setting up that may come to them;
#: whether other work may split it, and whether it pauses over breaks; its order; the first rows of
#: the waits behind it and before it, and of the pairs that it stands in.
OPERATION = np.dtype(
    [
        (name, "i8")
        for name in ["minutes", "setup", "splits", "pauses", "order", "after", "before", "apart"]
    ]
)
#: An order: its date, ``NEVER`` for none, and the weight of a late minute.
ORDER = np.dtype([("due", "i8"), ("weight", "i8")])
#: A machine, or a station: the first row of what is done at it, or holds it; the minutes of setting
#: it up, or how much there is.
PLACE = np.dtype([("first", "i8"), ("amount", "i8")])


class Net(NamedTuple):
    """The rules of a problem, for plans that end by some time, in arrays.

    Of what belongs to several things together, that of one stands from its first row up to the
    first one of the next; behind the last thing there is one more, for that.

    Attributes:
        operations: (operations + 1,) records.
        orders: (orders,) records.
        late_at_most: Late minutes by weight that are allowed, ``NEVER`` for any.
        waits: (operation, least, most) of those behind each operation, and before each.
        apart: (pairs, 4) of what cannot be at once, see ``Rules``.
        apart_of: Numbers of the pairs that each operation stands in.
        machines: (machines + 1,) records.
        done_at: (operation, colour) at each machine.
        stations: (stations + 1,) records.
        holds: (first operation, last operation, amount, least minutes) of each station.
        persons: How many there are.
        shortest: Minutes of the shortest piece, or part of what pauses, that there is.
        crews: (crews + 1,) the first window of each.
        windows: (begin, end) of the working windows of each crew.
        hours: (hours, 3, last + 2) of the hours in which someone works and, if there are several
            crews, of each crew: working minutes before each minute, first time before which so many
            minutes are worked, last such time.
        hands_worked: (last + 1,) minutes that all hands together have worked before each minute.
    """

    operations: Any
    orders: Any
    late_at_most: Any
    waits: Any
    apart: Any
    apart_of: Any
    machines: Any
    done_at: Any
    stations: Any
    holds: Any
    persons: Any
    shortest: Any
    crews: Any
    windows: Any
    hours: Any
    hands_worked: Any


@njit(cache=True, nogil=True)
def narrowed(net, times, changed):
    """Draw times together until no rule changes any, and return whether anything is left.

    Args:
        net: The rules.
        times: Drawn together in place.
        changed: ``(operations,) bool``, which of them are others than they were; none, behind it.
    """
    count = len(changed)
    line, moved = np.zeros(count, np.int64), np.zeros(count, np.bool_)
    while True:
        waiting = ZERO
        for i in range(count):
            if changed[i]:
                line[waiting] = i
                waiting += 1
        if not waiting:
            return _possible(net, times)
        moved[:] = False
        if not _followed(net, times, line, waiting, changed, moved):
            return False
        if not _one_behind_other(net, times, changed, moved):
            return False
        _set_up(net, times, changed)
        if not _in_time(net, times, changed):
            return False


@njit(cache=True, nogil=True)
def shaved_off(net, times, i):
    """Cut the first and last parts off an operation's start that lead nowhere, larger and larger.

    Where the part of a size leads somewhere, half of it is tried.
    """
    changed = np.zeros(times.shape[1], np.bool_)
    for front in (True, False):
        step, grows = 1, True
        while step and times[SOONEST, i] < times[LATEST, i]:
            first, last = times[SOONEST, i], times[LATEST, i]
            edge = first + step if front else last - step + 1
            part, rest = times.copy(), times.copy()
            if front:
                part[LATEST, i], rest[SOONEST, i] = edge - 1, edge
            else:
                part[SOONEST, i], rest[LATEST, i] = edge, edge - 1
            changed[:] = False
            changed[i] = True
            if edge > last or edge <= first or narrowed(net, part, changed):
                step, grows = step // 2, False
                continue
            changed[:] = False
            changed[i] = True
            if not narrowed(net, rest, changed):
                return False
            step = 2 * step if grows else step
            for row in range(len(times)):
                for k in range(times.shape[1]):
                    times[row, k] = rest[row, k]
    return True


# -- waits ----------------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _followed(net, times, line, waiting, queued, seen):
    """Draw times together along the waits, of operations in line; note which are seen."""
    soonest, soonest_end = times[SOONEST], times[SOONEST_END]
    latest, latest_end = times[LATEST], times[LATEST_END]
    count, at = len(line), 0
    while waiting:
        i = line[at % count]
        at, waiting = at + 1, waiting - 1
        queued[i], seen[i] = False, True
        if not _alone(net, times, i):
            return False
        again = False
        for k in range(net.operations[i].after, net.operations[i].before):
            then, least, most = net.waits[k, 0], net.waits[k, 1], net.waits[k, 2]
            moved = False
            if soonest_end[i] + least > soonest[then]:
                soonest[then] = soonest_end[i] + least
                moved = True
            if latest_end[i] + most < latest[then]:
                latest[then] = latest_end[i] + most
                moved = True
            if moved:
                waiting = _put_in_line(line, at, waiting, queued, then)
            if soonest[then] - most > soonest_end[i]:
                soonest_end[i] = soonest[then] - most
                again = True
        for k in range(net.operations[i].before, net.operations[i + 1].after):
            then, least, most = net.waits[k, 0], net.waits[k, 1], net.waits[k, 2]
            moved = False
            if latest[i] - least < latest_end[then]:
                latest_end[then] = latest[i] - least
                moved = True
            if soonest[i] - most > soonest_end[then]:
                soonest_end[then] = soonest[i] - most
                moved = True
            if moved:
                waiting = _put_in_line(line, at, waiting, queued, then)
            if latest_end[then] + most < latest[i]:
                latest[i] = latest_end[then] + most
                again = True
        if again:
            waiting = _put_in_line(line, at, waiting, queued, i)
    return True


@njit(cache=True, nogil=True)
def _put_in_line(line, at, waiting, queued, i):
    """Put an operation behind those that wait, if it does not; return how many do then."""
    if queued[i]:
        return waiting
    queued[i] = True
    line[(at + waiting) % len(line)] = i
    return waiting + 1


@njit(cache=True, nogil=True)
def _alone(net, times, i):
    """Draw the times of one operation together by its minutes and the working windows."""
    minutes, one = times[MINUTES, i], net.operations[i]
    setup = one.setup if minutes == one.minutes else 0
    if one.splits:
        return _parted(times, i, minutes, END, net.hours[:1])
    if one.pauses:
        return _parted(times, i, minutes, minutes + setup, net.hours[len(net.hours) > 1 :])
    latest = not_after(net.crews, net.windows, times[LATEST_END, i], minutes)
    if latest > times[LATEST, i]:
        latest = not_after(net.crews, net.windows, times[LATEST, i] + minutes, minutes)
    begin = max(times[SOONEST, i], times[SOONEST_END, i] - minutes - setup)
    soonest = not_before(net.crews, net.windows, begin, minutes)
    times[SOONEST, i], times[LATEST, i] = soonest, latest
    times[SOONEST_END, i] = max(times[SOONEST_END, i], soonest + minutes)
    times[LATEST_END, i] = min(times[LATEST_END, i], latest + minutes + setup)
    return soonest <= latest and times[SOONEST_END, i] <= times[LATEST_END, i]


@njit(cache=True, nogil=True)
def _parted(times, i, minutes, most, hours):
    """Do so for what has minutes from its start to its end at least and at most, by some hours.

    Whose hours it has is not known where there are several.
    """
    end = hours.shape[2] - 2
    soonest, soonest_end, latest, latest_end = NEVER, NEVER, -1, -1
    first, last = max(times[SOONEST, i], times[SOONEST_END, i]), times[LATEST_END, i]
    if first > end or last < 0 or times[LATEST, i] < 0:
        return False
    for k in range(len(hours)):
        worked, first_at, last_at = hours[k, WORKED], hours[k, FIRST_AT], hours[k, LAST_AT]
        begin = max(worked[times[SOONEST, i]], worked[times[SOONEST_END, i]] - most)
        done = min(worked[last], worked[min(times[LATEST, i], end)] + most)
        if begin + minutes > done:
            continue
        here_end = max(times[SOONEST_END, i], first_at[begin + minutes])
        here_latest = min(times[LATEST, i], last_at[done - minutes])
        if last_at[begin] > here_latest or here_end > first_at[done]:
            continue
        soonest, soonest_end = min(soonest, last_at[begin]), min(soonest_end, here_end)
        latest, latest_end = max(latest, here_latest), max(latest_end, first_at[done])
    times[SOONEST, i], times[SOONEST_END, i] = soonest, soonest_end
    times[LATEST, i], times[LATEST_END, i] = latest, latest_end
    return soonest < NEVER


# -- rules ----------------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _one_behind_other(net, times, changed, moved):
    """Draw times together where only one of two orders is left, of what has moved."""
    for i in range(len(moved)):
        if not moved[i]:
            continue
        for row in range(net.operations[i].apart, net.operations[i + 1].apart):
            if not _in_order(times, _four(net.apart, net.apart_of[row]), changed):
                return False
    return True


@njit(cache=True, nogil=True)
def _in_order(times, pair, changed):
    """Draw times together of two that cannot be at once where only one order is left."""
    first_a, last_a, first_b, last_b = pair
    a_cannot = times[SOONEST_END, last_a] > times[LATEST, first_b]
    b_cannot = times[SOONEST_END, last_b] > times[LATEST, first_a]
    if a_cannot and b_cannot:
        return False
    if a_cannot or b_cannot:
        last, then = (last_b, first_a) if a_cannot else (last_a, first_b)
        if times[SOONEST, then] < times[SOONEST_END, last]:
            times[SOONEST, then] = times[SOONEST_END, last]
            changed[then] = True
        if times[LATEST_END, last] > times[LATEST, then]:
            times[LATEST_END, last] = times[LATEST, then]
            changed[last] = True
    return True


@njit(cache=True, nogil=True)
def _set_up(net, times, changed):
    """Add the minutes of setting up where the colour surely changes."""
    for machine in range(len(net.machines) - 1):
        here = net.done_at[net.machines[machine].first : net.machines[machine + 1].first]
        for x in range(len(here)):
            i = here[x, 0]
            if times[MINUTES, i] == net.operations[i].minutes and _changes(times, here, x):
                times[MINUTES, i] += net.machines[machine].amount
                changed[i] = True


@njit(cache=True, nogil=True)
def _changes(times, here, x):
    """Whether some work of another colour surely comes before, and none of the same behind it."""
    i, colour = here[x, 0], here[x, 1]
    for y in range(len(here)):
        k = here[y, 0]
        if here[y, 1] == colour or not _surely(times, k, i):
            continue
        for z in range(len(here)):
            other = here[z, 0]
            same = z != x and here[z, 1] == colour
            if same and not (_surely(times, i, other) or _surely(times, other, k)):
                break
        else:
            return True
    return False


@njit(cache=True, nogil=True)
def _surely(times, a, b):
    """Whether the second of two operations that cannot be at once cannot be the first."""
    return times[SOONEST_END, b] > times[LATEST, a]


@njit(cache=True, nogil=True)
def _in_time(net, times, changed):
    """Draw latest ends together by the late minutes that are left."""
    if net.late_at_most == NEVER:
        return True
    late, left = np.zeros(len(net.orders), np.int64), net.late_at_most
    for i in range(len(changed)):
        k = net.operations[i].order
        later = times[SOONEST_END, i] - net.orders[k].due - late[k]
        if later > 0:
            late[k] += later
            left -= net.orders[k].weight * later
    if left < 0:
        return False
    for i in range(len(changed)):
        k = net.operations[i].order
        end = net.orders[k].due + late[k] + left // net.orders[k].weight
        if end < times[LATEST_END, i]:
            times[LATEST_END, i] = end
            changed[i] = True
    return True


# -- what must be done together -------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _possible(net, times):
    """Whether hands and stations might do it, if they could split all at will."""
    for station in range(len(net.stations) - 1):
        holds = net.holds[net.stations[station].first : net.stations[station + 1].first]
        if not _at_once(times, holds, net.stations[station].amount):
            return False
    if not _by_hands(net, times):
        return False
    for station in range(len(net.stations) - 1):
        holds = net.holds[net.stations[station].first : net.stations[station + 1].first]
        capacity = net.stations[station].amount
        jobs = np.zeros((len(holds), 3), np.int64)
        for k in range(len(holds)):
            first, last, amount, held = _four(holds, k)
            jobs[k, 0] = capacity * times[SOONEST, first]
            jobs[k, 1] = capacity * times[LATEST_END, last]
            jobs[k, 2] = amount * held
        if not fits(jobs):
            return False
    return True


@njit(cache=True, nogil=True)
def _at_once(times, holds, capacity):
    """Whether no more is held at once than there is, of what is surely held."""
    for k in range(len(holds)):
        at = times[LATEST, holds[k, 0]]
        if at >= times[SOONEST_END, holds[k, 1]]:
            continue
        held = 0
        for n in range(len(holds)):
            if times[LATEST, holds[n, 0]] <= at < times[SOONEST_END, holds[n, 1]]:
                held += holds[n, 2]
        if held > capacity:
            return False
    return True


@njit(cache=True, nogil=True)
def _by_hands(net, times):
    """Whether hands might do it, if they could split all at will."""
    count, worked = times.shape[1], net.hands_worked
    jobs = np.zeros((2 * count + len(net.machines) + len(net.windows), 3), np.int64)
    for i in range(count):
        jobs[i, 0], jobs[i, 1] = worked[times[SOONEST, i]], worked[times[LATEST_END, i]]
        jobs[i, 2] = times[MINUTES, i]
    made = count
    for machine in range(len(net.machines) - 1):
        here = net.done_at[net.machines[machine].first : net.machines[machine + 1].first]
        since, upto, known, colours = NEVER, -1, 0, 0
        for x in range(len(here)):
            i, colour = here[x, 0], here[x, 1]
            if times[MINUTES, i] == net.operations[i].minutes:
                since, upto = min(since, times[SOONEST, i]), max(upto, times[LATEST_END, i])
            else:
                known += 1
            colours = max(colours, colour + 1)
        if colours - 1 - known > 0:
            jobs[made, 0], jobs[made, 1] = worked[since], worked[upto]
            jobs[made, 2] = (colours - 1 - known) * net.machines[machine].amount
            made += 1
    if net.persons == 1:
        made = _scraps(net, times, jobs, made)
    return fits(jobs[:made])


@njit(cache=True, nogil=True)
def _scraps(net, times, jobs, made):
    """Add what is left between work whose time is known and is of no use to any other.

    No piece of what may be split, or part of what pauses, is as short, and what is done in one go
    is too long or has its time elsewhere. Returns how many jobs there are then.
    """
    count = 0
    known = np.zeros((times.shape[1], 2), np.int64)
    others = np.zeros(times.shape[1], np.bool_)
    for i in range(len(others)):
        if net.operations[i].splits or net.operations[i].pauses:
            continue
        begin, end = times[SOONEST, i], times[SOONEST_END, i]
        if begin == times[LATEST, i] and end == times[LATEST_END, i]:
            known[count, 0], known[count, 1] = begin, end
            count += 1
        elif times[MINUTES, i] < net.shortest:
            others[i] = True
    in_line = np.argsort(known[:count, 0])
    at, last = 0, len(net.hands_worked) - 1
    for w in range(len(net.windows)):
        free, end = net.windows[w, 0], net.windows[w, 1]
        while at < count and known[in_line[at], 0] < end:
            begin = known[in_line[at], 0]
            if 0 < begin - free < net.shortest and _is_scrap(times, others, free, begin):
                made = _scrap(net, jobs, made, free, begin)
            free = known[in_line[at], 1]
            at += 1
        if 0 < end - free < net.shortest and end < last and _is_scrap(times, others, free, end):
            made = _scrap(net, jobs, made, free, end)
    return made


@njit(cache=True, nogil=True)
def _is_scrap(times, others, begin, end):
    """Whether none of some short works can be done in a time."""
    for i in range(len(others)):
        minutes = times[MINUTES, i]
        first, last = max(times[SOONEST, i], begin), min(times[LATEST, i], end - minutes)
        if others[i] and end - begin >= minutes and last >= first:
            return False
    return True


@njit(cache=True, nogil=True)
def _scrap(net, jobs, made, begin, end):
    jobs[made, 0], jobs[made, 1] = net.hands_worked[begin], net.hands_worked[end]
    jobs[made, 2] = end - begin
    return made + 1


@njit(cache=True, nogil=True)
def _four(table, k):
    return table[k, 0], table[k, 1], table[k, 2], table[k, 3]

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

#: Rows of times.
SOONEST, SOONEST_END, LATEST, LATEST_END, MINUTES = range(5)


class Net(NamedTuple):
    """The rules of a problem, for plans that end by some time, in arrays.

    Of what belongs to several things together, that of thing ``k`` stands from its first row up to
    the first one of ``k + 1``.

    Attributes:
        minutes: (operations,) of each, setting up not counted.
        setups: (operations,) minutes of setting up that may come to it.
        splits: (operations,) whether other work may split it.
        pauses: (operations,) whether it pauses over breaks.
        order: (operations,) number of its order.
        due: (orders,) minute, ``NEVER`` for none.
        weight: (orders,) of a late minute.
        late_at_most: Late minutes by weight that are allowed, ``NEVER`` for any.
        after_first, after: (operation, least, most) of the waits behind each operation.
        before_first, before: The same of those before it.
        apart: (pairs, 4) of what cannot be at once, see ``Rules``.
        booth_first, booth: (operation, colour) at each machine.
        booth_setup: (machines,) minutes of setting up.
        place_first, place: (first operation, last operation, amount, least minutes) of the holds of
            each station.
        capacity: (stations,) how much there is.
        persons: How many there are.
        shortest: Minutes of the shortest piece, or part of what pauses, that there is.
        window_first, window: (begin, end) of the working windows of each crew.
        worked: (hours, last + 1) working minutes before each minute of the hours in which someone
            works, and, if there are several crews, of each crew.
        first_at: (hours, last + 2) first time before which so many minutes are worked.
        last_at: (hours, last + 2) last such time.
        hands_worked: (last + 1,) minutes that all hands together have worked before each minute.
    """

    minutes: Any
    setups: Any
    splits: Any
    pauses: Any
    order: Any
    due: Any
    weight: Any
    late_at_most: Any
    after_first: Any
    after: Any
    before_first: Any
    before: Any
    apart: Any
    booth_first: Any
    booth: Any
    booth_setup: Any
    place_first: Any
    place: Any
    capacity: Any
    persons: Any
    shortest: Any
    window_first: Any
    window: Any
    worked: Any
    first_at: Any
    last_at: Any
    hands_worked: Any


@njit(cache=True, nogil=True)
def begun(net, times):
    """Draw times together by the rules alone."""
    changed = np.ones(len(net.minutes), np.bool_)
    return _narrowed(net, times, changed) and _possible(net, times)


@njit(cache=True, nogil=True)
def shaved_off(net, times, i):
    """Cut the first and last parts off an operation's start that lead nowhere, larger and larger.

    Where the part of a size leads somewhere, half of it is tried.
    """
    for front in (True, False):
        step, grows = 1, True
        while step and times[SOONEST, i] < times[LATEST, i]:
            first, last = times[SOONEST, i], times[LATEST, i]
            middle = first + step - 1 if front else last - step + 1
            if front:
                leads = middle >= last or _leads(net, times, i, first, middle)[0]
            else:
                leads = middle <= first or _leads(net, times, i, middle, last)[0]
            if leads:
                step, grows = step // 2, False
                continue
            step = 2 * step if grows else step
            if front:
                some, rest = _leads(net, times, i, middle + 1, last)
            else:
                some, rest = _leads(net, times, i, first, middle - 1)
            if not some:
                return False
            times[:] = rest
    return True


@njit(cache=True, nogil=True)
def _leads(net, times, i, since, upto):
    """Return whether anything is left if an operation starts in a part of its time, and what."""
    rest = times.copy()
    rest[SOONEST, i], rest[LATEST, i] = since, upto
    changed = np.zeros(len(net.minutes), np.bool_)
    changed[i] = True
    return _narrowed(net, rest, changed) and _possible(net, rest), rest


@njit(cache=True, nogil=True)
def _narrowed(net, times, changed):
    """Draw times together until no rule changes any; which changed is none behind it."""
    count = len(changed)
    line = np.zeros(count, np.int64)
    while True:
        waiting = 0
        for i in range(count):
            if changed[i]:
                line[waiting] = i
                waiting += 1
        if not waiting:
            return True
        if not _followed(net, times, line, waiting, changed):
            return False
        if not _one_behind_other(net, times, changed):
            return False
        _set_up(net, times, changed)
        if not _in_time(net, times, changed):
            return False


# -- waits ----------------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _followed(net, times, line, waiting, queued):
    """Draw times together along the waits, of operations in line."""
    soonest, soonest_end = times[SOONEST], times[SOONEST_END]
    latest, latest_end = times[LATEST], times[LATEST_END]
    count, at = len(line), 0
    while waiting:
        i = line[at % count]
        at, waiting = at + 1, waiting - 1
        queued[i] = False
        if not _alone(net, times, i):
            return False
        again = False
        for k in range(net.after_first[i], net.after_first[i + 1]):
            then, least, most = net.after[k, 0], net.after[k, 1], net.after[k, 2]
            moved = False
            if soonest_end[i] + least > soonest[then]:
                soonest[then] = soonest_end[i] + least
                moved = True
            if latest_end[i] + most < latest[then]:
                latest[then] = latest_end[i] + most
                moved = True
            if moved and not queued[then]:
                queued[then] = True
                line[(at + waiting) % count] = then
                waiting += 1
            if soonest[then] - most > soonest_end[i]:
                soonest_end[i] = soonest[then] - most
                again = True
        for k in range(net.before_first[i], net.before_first[i + 1]):
            then, least, most = net.before[k, 0], net.before[k, 1], net.before[k, 2]
            moved = False
            if latest[i] - least < latest_end[then]:
                latest_end[then] = latest[i] - least
                moved = True
            if soonest[i] - most > soonest_end[then]:
                soonest_end[then] = soonest[i] - most
                moved = True
            if moved and not queued[then]:
                queued[then] = True
                line[(at + waiting) % count] = then
                waiting += 1
            if latest_end[then] + most < latest[i]:
                latest[i] = latest_end[then] + most
                again = True
        if again and not queued[i]:
            queued[i] = True
            line[(at + waiting) % count] = i
            waiting += 1
    return True


@njit(cache=True, nogil=True)
def _alone(net, times, i):
    """Draw the times of one operation together by its minutes and the working windows."""
    minutes = times[MINUTES, i]
    setup = net.setups[i] if minutes == net.minutes[i] else 0
    if net.pauses[i]:
        crews = len(net.worked) > 1
        return _parted(net, times, i, minutes, minutes + setup, 1 if crews else 0, len(net.worked))
    if net.splits[i]:
        return _parted(net, times, i, minutes, NEVER, 0, 1)
    latest = not_after(net.window_first, net.window, times[LATEST_END, i], minutes)
    if latest > times[LATEST, i]:
        latest = not_after(net.window_first, net.window, times[LATEST, i] + minutes, minutes)
    begin = max(times[SOONEST, i], times[SOONEST_END, i] - minutes - setup)
    soonest = not_before(net.window_first, net.window, begin, minutes)
    times[SOONEST, i], times[LATEST, i] = soonest, latest
    times[SOONEST_END, i] = max(times[SOONEST_END, i], soonest + minutes)
    times[LATEST_END, i] = min(times[LATEST_END, i], latest + minutes + setup)
    return soonest <= latest and times[SOONEST_END, i] <= times[LATEST_END, i]


@njit(cache=True, nogil=True)
def _parted(net, times, i, minutes, most, first_hours, last_hours):
    """Do so for what has minutes from its start to its end at least and at most, by some hours.

    Whose hours it has is not known where there are several.
    """
    end = len(net.hands_worked) - 1
    soonest, soonest_end, latest, latest_end = NEVER, NEVER, -1, -1
    first, last = max(times[SOONEST, i], times[SOONEST_END, i]), times[LATEST_END, i]
    if first > end or last < 0 or times[LATEST, i] < 0:
        return False
    for k in range(first_hours, last_hours):
        worked = net.worked[k]
        begin = max(worked[times[SOONEST, i]], worked[times[SOONEST_END, i]] - most)
        done = min(worked[last], worked[min(times[LATEST, i], end)] + most)
        if begin + minutes > done:
            continue
        here_end = max(times[SOONEST_END, i], net.first_at[k, begin + minutes])
        here_latest = min(times[LATEST, i], net.last_at[k, done - minutes])
        if net.last_at[k, begin] > here_latest or here_end > net.first_at[k, done]:
            continue
        soonest, soonest_end = min(soonest, net.last_at[k, begin]), min(soonest_end, here_end)
        latest, latest_end = max(latest, here_latest), max(latest_end, net.first_at[k, done])
    times[SOONEST, i], times[SOONEST_END, i] = soonest, soonest_end
    times[LATEST, i], times[LATEST_END, i] = latest, latest_end
    return soonest < NEVER


@njit(cache=True, nogil=True)
def not_before(first, windows, time, minutes):
    """Return the soonest start of work that some crew does in one go; ``NEVER`` if it has none.

    Args:
        first: (crews + 1,) where the windows of each crew begin.
        windows: (begin, end) of each.
        time: Not before this minute.
        minutes: Of the work.
    """
    found = NEVER
    for crew in range(len(first) - 1):
        low, high = first[crew], first[crew + 1]
        while low < high:
            middle = (low + high) // 2
            if windows[middle, 1] > time:
                high = middle
            else:
                low = middle + 1
        for k in range(low, first[crew + 1]):
            start = max(time, windows[k, 0])
            if start >= found:
                break
            if start + minutes <= windows[k, 1]:
                found = start
    return found


@njit(cache=True, nogil=True)
def not_after(first, windows, time, minutes):
    """Return the latest start of such work that ends by a time; -``NEVER`` if it has none."""
    found = -NEVER
    for crew in range(len(first) - 1):
        low, high = first[crew], first[crew + 1]
        while low < high:
            middle = (low + high) // 2
            if windows[middle, 0] >= time:
                high = middle
            else:
                low = middle + 1
        for k in range(low - 1, first[crew] - 1, -1):
            start = min(time, windows[k, 1]) - minutes
            if start <= found:
                break
            if start >= windows[k, 0]:
                found = start
    return found


# -- rules ----------------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _one_behind_other(net, times, changed):
    """Draw times together where only one of two orders is left."""
    for k in range(len(net.apart)):
        first_a, last_a, first_b, last_b = _four(net.apart, k)
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
    for machine in range(len(net.booth_setup)):
        here = net.booth[net.booth_first[machine] : net.booth_first[machine + 1]]
        for x in range(len(here)):
            i = here[x, 0]
            if times[MINUTES, i] == net.minutes[i] and _changes(times, here, x):
                times[MINUTES, i] = net.minutes[i] + net.booth_setup[machine]
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
    late = np.zeros(len(net.due), np.int64)
    for i in range(len(net.order)):
        order = net.order[i]
        late[order] = max(late[order], times[SOONEST_END, i] - net.due[order])
    left = net.late_at_most - np.sum(net.weight * late)
    if left < 0:
        return False
    for i in range(len(net.order)):
        order = net.order[i]
        end = net.due[order] + late[order] + left // net.weight[order]
        if end < times[LATEST_END, i]:
            times[LATEST_END, i] = end
            changed[i] = True
    return True


# -- what must be done together -------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _possible(net, times):
    """Whether hands and stations might do it, if they could split all at will."""
    for station in range(len(net.capacity)):
        holds = net.place[net.place_first[station] : net.place_first[station + 1]]
        if not _at_once(times, holds, net.capacity[station]):
            return False
    if not _by_hands(net, times):
        return False
    for station in range(len(net.capacity)):
        holds = net.place[net.place_first[station] : net.place_first[station + 1]]
        jobs = np.zeros((len(holds), 3), np.int64)
        for k in range(len(holds)):
            first, last, amount, held = _four(holds, k)
            jobs[k, 0] = net.capacity[station] * times[SOONEST, first]
            jobs[k, 1] = net.capacity[station] * times[LATEST_END, last]
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
    count, worked = len(net.minutes), net.hands_worked
    jobs = np.zeros((count + len(net.booth_setup) + count + len(net.window), 3), np.int64)
    for i in range(count):
        jobs[i, 0], jobs[i, 1] = worked[times[SOONEST, i]], worked[times[LATEST_END, i]]
        jobs[i, 2] = times[MINUTES, i]
    made = count
    for machine in range(len(net.booth_setup)):
        here = net.booth[net.booth_first[machine] : net.booth_first[machine + 1]]
        since, upto, known, colours = NEVER, -1, 0, 0
        for x in range(len(here)):
            i, colour = here[x, 0], here[x, 1]
            if times[MINUTES, i] == net.minutes[i]:
                since, upto = min(since, times[SOONEST, i]), max(upto, times[LATEST_END, i])
            else:
                known += 1
            colours = max(colours, colour + 1)
        if colours - 1 - known > 0:
            jobs[made, 0], jobs[made, 1] = worked[since], worked[upto]
            jobs[made, 2] = (colours - 1 - known) * net.booth_setup[machine]
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
    known = np.zeros((len(net.minutes), 2), np.int64)
    others = np.zeros(len(net.minutes), np.bool_)
    for i in range(len(net.minutes)):
        if net.splits[i] or net.pauses[i]:
            continue
        begin, end = times[SOONEST, i], times[SOONEST_END, i]
        if begin == times[LATEST, i] and end == times[LATEST_END, i]:
            known[count, 0], known[count, 1] = begin, end
            count += 1
        elif times[MINUTES, i] < net.shortest:
            others[i] = True
    in_line = np.argsort(known[:count, 0])
    at, last = 0, len(net.hands_worked) - 1
    for w in range(len(net.window)):
        free, end = net.window[w, 0], net.window[w, 1]
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

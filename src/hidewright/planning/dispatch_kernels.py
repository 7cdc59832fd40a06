"""The compiled heart of the dispatcher: what to do next, and how work is laid down as a whole.

At each free moment the best step that can start does, until all is done. Work that may be split is
left for a better step as soon as its shortest piece is done, and fills what time is left before a
break. A step with a largest wait behind it starts only if what must follow is laid down with it.
"""

# mypy: disable-error-code="misc,no-untyped-def,untyped-decorator,import-untyped,assignment"

import numpy as np
from numba import njit

from hidewright.planning import free_time
from hidewright.planning.bench import NEVER
from hidewright.planning.calendar import DAY
from hidewright.planning.dispatch_state import ALARMS, BEGUN, PENDING, STATIONS
from hidewright.planning.problem import SHORTEST_PIECE

#: Where hands idle because nothing fits, they look again after so many minutes.
LOOK_AGAIN = 5
#: With several persons, work that may be split is looked at again after so many minutes.
QUANTUM = 60
#: Key of what goes before all else.
HURRY = -1e9
#: So many windows in which nothing could start are a deadlock.
EMPTY_WINDOWS = 60
#: No number, the first one and the last minute, typed: for a plain 0 the compiler would make each
#: function anew.
NONE, ZERO, END = np.int64(-1), np.int64(0), np.int64(NEVER)

#: Where ``free_time`` changes this file must, too: what is kept of it compiled is kept by its date.
first_spans = njit(cache=True, nogil=True)(free_time.first_spans)


@njit(cache=True, nogil=True)
def dispatched(run, begun, flush_key, scrap_key):
    """Go through a run from its beginning and return whether all is done, and in time.

    Args:
        run: What is fixed is laid down in it; of what can start, the unit with the smallest key
            does.
        begun: (n, 3) operation that is begun, the minutes of it that are done, and who does it.
        flush_key: Added to the key of what needs a change of colour first.
        scrap_key: Added to the key of what leaves a scrap of time before a break, of no use.
    """
    tally, persons = run.tally[0], run.persons
    _begin(run, begun)
    empty = 0
    while tally.undone and not tally.late and not tally.full:
        person = ZERO
        for other in range(1, len(persons)):
            if persons[other].time < persons[person].time:
                person = other
        limit = _at_work(persons, run.windows, run.taken, person)
        if limit == NEVER:
            return False
        if limit < 0:  # moved on to its next window
            continue
        if _do_next(run, person, limit, flush_key, scrap_key):
            empty = 0
        elif persons[person].time >= run.windows[persons[person].window, 1]:
            empty += 1
            if empty > EMPTY_WINDOWS and not run.heaps[tally.classes + PENDING].count:
                return False
    return not tally.late and not tally.full


# -- heaps -----------------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _push(entries, heap, key, value):
    """Put a value into a heap."""
    heap.count += 1
    _sift_up(entries, heap.first, heap.count - 1, key, value)


@njit(cache=True, nogil=True)
def _sift_up(entries, first, place, key, value):
    """Put a value at a place of a heap, or nearer to its top where it belongs."""
    while place:
        above = (place - 1) // 2
        other = entries[first + above]
        if other.key < key or (other.key == key and other.value <= value):
            break
        entries[first + place] = other
        place = above
    entries[first + place].key, entries[first + place].value = key, value


@njit(cache=True, nogil=True)
def _pull(entries, heap, place):
    """Take the value at a place out of a heap and return it."""
    first = heap.first
    gone = entries[first + place].value
    heap.count -= 1
    size = heap.count
    if place == size:
        return gone
    key, value = entries[first + size].key, entries[first + size].value
    while True:
        below = 2 * place + 1
        if below >= size:
            break
        one = entries[first + below]
        if below + 1 < size:
            other = entries[first + below + 1]
            if other.key < one.key or (other.key == one.key and other.value < one.value):
                below, one = below + 1, other
        if key < one.key or (key == one.key and value <= one.value):
            break
        entries[first + place] = one
        place = below
    _sift_up(entries, first, place, key, value)
    return gone


@njit(cache=True, nogil=True)
def _place_of(entries, heap, value):
    """Return the place of a value in a heap; -1 where it is not there."""
    for place in range(heap.count):
        if entries[heap.first + place].value == value:
            return place
    return -1


# -- the hands -------------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _at_work(persons, windows, taken, person):
    """Return until when a person is free from its time on.

    -1 when its time moved on, ``NEVER`` beyond the horizon.
    """
    who, busy = persons[person], taken[0, person]
    time, at = who.time, who.window
    while True:
        if at == who.shuts:
            return NEVER
        if time >= windows[at, 1]:
            at += 1
        elif time < windows[at, 0]:
            time = windows[at, 0]
        elif who.head < who.tail and busy[who.head, 0] <= time:
            time = max(time, busy[who.head, 1])
            who.head += 1
            who.idle_since = NEVER
        else:
            break
    who.window = at
    if time > who.time:
        who.time = time
        return -1
    if who.head < who.tail:
        return min(windows[at, 1], busy[who.head, 0])
    return windows[at, 1]


@njit(cache=True, nogil=True)
def _do_next(run, person, limit, flush_key, scrap_key):
    """Let a person do the best that can start now; return whether something did."""
    operations, entries, tally = run.operations, run.entries, run.tally[0]
    now = run.persons[person].time
    _come_up_to(operations, entries, run.heaps, tally, now)
    best, best_key, best_class, best_size = NONE, np.inf, NONE, ZERO
    tally.untimely = 0
    in_line = _line_up(run, flush_key)
    while in_line:
        key, number = _first_in_line(run.line, in_line)
        in_line -= 1
        if key >= best_key:
            break
        unit = entries[run.heaps[number].first].value
        one = operations[unit]
        if one.splits and not one.several and one.colour < 0:
            unit = _first_that_fits(run, number, now, limit, person)
            if unit >= 0 and operations[unit].key < best_key:
                best, best_key, best_class, best_size = unit, operations[unit].key, number, ZERO
            continue
        first = tally.pieces + best_size
        size = _laid(run, unit, person, now, limit, first)
        if not size:
            continue
        scrap = limit - _first_end(run.pieces, first, size)
        worth = key + scrap_key if 0 < scrap < SHORTEST_PIECE else key
        if worth < best_key:
            best, best_key, best_class, best_size = unit, worth, number, size
            _move(run.pieces, first, size, tally.pieces)
    if best < 0:
        _look_again(run, person, limit)
        return False
    run.persons[person].idle_since = NEVER
    heap = run.heaps[best_class]
    _pull(entries, heap, _place_of(entries, heap, best))
    if best_size:
        _lay_down(run, best, best_size)
    else:
        _work_on(run, best, person, now, limit)
    return True


@njit(cache=True, nogil=True)
def _come_up_to(operations, entries, heaps, tally, now):
    """Note what has come up or free by a time, and what has no other day left then."""
    pending, alarms = heaps[tally.classes + PENDING], heaps[tally.classes + ALARMS]
    while pending.count and entries[pending.first].key <= now:
        unit = _pull(entries, pending, ZERO)
        one = operations[unit]
        number = one.class_of if one.left == one.minutes else tally.classes + BEGUN
        _push(entries, heaps[number], one.key, unit)
    if tally.next_free <= now:
        soonest = float(NEVER)
        for number in range(tally.classes + STATIONS, len(heaps)):
            heap = heaps[number]
            while heap.count and entries[heap.first].key <= now:
                heap.level += _pull(entries, heap, ZERO)
            if heap.count:
                soonest = min(soonest, entries[heap.first].key)
        tally.next_free = int(soonest)
    while alarms.count and entries[alarms.first].key <= now:
        unit = _pull(entries, alarms, ZERO)
        operations[unit].key = HURRY
        for number in (operations[unit].class_of, tally.classes + BEGUN):
            place = _place_of(entries, heaps[number], unit) if number >= 0 else -1
            if place >= 0:
                _sift_up(entries, heaps[number].first, place, HURRY, unit)


@njit(cache=True, nogil=True)
def _line_up(run, flush_key):
    """Put the classes that have any into line, by the key of the first of each; return how many."""
    operations, entries, line, count = run.operations, run.entries, run.line, ZERO
    for number in range(run.tally[0].classes + 1):
        heap = run.heaps[number]
        if heap.count:
            entry = entries[heap.first]
            one, key = operations[entry.value], entry.key
            if one.colour >= 0 and one.colour != run.machines[one.machine].set_for:
                key += flush_key
            line[count].key, line[count].value = key, number
            count += 1
    return count


@njit(cache=True, nogil=True)
def _first_in_line(line, count):
    """Return the key and the class of the first in line, and let the last one take its place."""
    first = ZERO
    for k in range(1, count):
        if line[k].key < line[first].key or (
            line[k].key == line[first].key and line[k].value < line[first].value
        ):
            first = k
    key, number = line[first].key, line[first].value
    line[first].key, line[first].value = line[count - 1].key, line[count - 1].value
    return key, number


@njit(cache=True, nogil=True)
def _look_again(run, person, limit):
    """Move an idle person's time on to when something may have changed."""
    who, tally = run.persons[person], run.tally[0]
    now, then, pending = who.time, min(limit, tally.next_free), run.heaps[tally.classes + PENDING]
    if pending.count:
        then = min(then, int(run.entries[pending.first].key))
    for machine in range(len(run.machines)):
        free = run.machines[machine].free
        if now < free < then:
            then = free
    if tally.untimely and then > now + LOOK_AGAIN:
        then = now + LOOK_AGAIN
    who.time = max(then, now + 1)
    who.piece = -1
    if who.idle_since == NEVER:
        who.idle_since = now


# -- work that may be split ------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _first_that_fits(run, number, now, limit, person):
    """Return the best of a class of which a piece can be done now; -1 for none."""
    first, entries = run.heaps[number].first, run.entries
    unit, tally = entries[first].value, run.tally[0]
    if number < tally.classes and not _stations_free(run, unit, now):
        return -1
    if _piece(run, unit, now, limit, person):
        return unit
    best, best_key = NONE, np.inf
    for row in range(first, first + run.heaps[number].count):
        unit, key = entries[row].value, entries[row].key
        is_first = key < best_key or (key == best_key and unit < best)
        if is_first and _piece(run, unit, now, limit, person):
            best, best_key = unit, key
    return best


@njit(cache=True, nogil=True)
def _goes_on(persons, pieces, unit, now, person):
    """Whether a person has been at a unit until now."""
    piece = persons[person].piece
    return piece >= 0 and pieces[piece, 2] == unit and pieces[piece, 1] == now


@njit(cache=True, nogil=True)
def _piece(run, unit, now, limit, person):
    """Return the minutes that can be done before a limit, 0 for none."""
    one, room = run.operations[unit], limit - now
    if one.left <= room:
        return one.left
    room = min(room, one.left - one.shortest)
    if room >= one.shortest:
        return room
    if room > 0 and _goes_on(run.persons, run.pieces, unit, now, person):
        return room
    return 0


@njit(cache=True, nogil=True)
def _work_on(run, unit, person, now, limit):
    """Do a piece, as long as nothing better comes up."""
    operations, entries, tally = run.operations, run.entries, run.tally[0]
    one, take = operations[unit], _piece(run, unit, now, limit, person)
    goes_on = _goes_on(run.persons, run.pieces, unit, now, person)
    least = 1 if goes_on else one.shortest
    pending = run.heaps[tally.classes + PENDING]
    if take > least and one.left - least >= one.shortest:
        cut = take
        for row in range(pending.first, pending.first + pending.count):
            if entries[row].key < now + cut and operations[entries[row].value].key < one.key:
                cut = int(entries[row].key) - now
        if len(run.persons) > 1:
            cut = min(cut, QUANTUM)
        take = min(take, max(cut, least))
        if one.left - take < one.shortest and take < one.left:
            take = one.left - one.shortest
    if one.left == one.minutes:
        if now > one.latest:
            tally.late = 1
        _take(run, unit)
    end = now + take
    if goes_on:
        run.pieces[run.persons[person].piece, 1] = end
    else:
        run.persons[person].piece = tally.pieces
        if _note(run.pieces, tally, tally.pieces, now, end, unit, person):
            tally.pieces += 1
    run.persons[person].time = end
    one.left -= take
    if one.left:
        _push(entries, pending, float(end), unit)
    else:
        _done(run, unit, end)


# -- work laid down as a whole ---------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _first_end(pieces, first, size):
    """Return where the first operation of what is laid down ends."""
    row = first
    while row + 1 < first + size and pieces[row + 1, 2] == pieces[first, 2]:
        row += 1
    return pieces[row, 1]


@njit(cache=True, nogil=True)
def _laid(run, unit, person, now, limit, first):
    """Lay a unit down from a row of the pieces on, if it can start now; return how many rows."""
    operations, tally = run.operations, run.tally[0]
    one = operations[unit]
    if not _stations_free(run, unit, now):
        return 0
    if one.several:
        for row in range(one.unit_takes, operations[unit + 1].unit_takes):
            heap, amount = run.heaps[run.rows[row, 0]], run.rows[row, 1]
            if heap.level < amount and _level_at(run.entries, heap, END) < amount:
                return 0
        return _laid_together(run, unit, person, now, limit, first)
    minutes = one.minutes
    if one.colour >= 0:
        machine = run.machines[one.machine]
        if now < machine.free:
            return 0
        minutes += _setup(one, machine.set_for)
    size, end = ZERO, now + minutes
    if one.splits or one.pauses:
        who = run.persons[person]
        spans = _spans(run, person, now, one, minutes, run.taken[0, person, who.head : who.tail])
        if not spans:
            return 0
        if spans[0][0] != now:  # begun a little later its last part may be long enough
            if one.pauses and one.shortest > 1:
                tally.untimely = 1
            return 0
        for begin, end in spans:
            size += _note(run.pieces, tally, first + size, begin, end, unit, person)
    elif end <= limit:
        size = _note(run.pieces, tally, first, now, end, unit, person)
    if size and one.then >= 0 and not _can_follow(run, one, end):
        return 0
    return size


@njit(cache=True, nogil=True)
def _laid_together(run, head, person, earliest, limit, first):
    """Lay down a unit of several operations; with a limit the first starts now."""
    operations, machines, tally = run.operations, run.machines, run.tally[0]
    one = operations[head]
    if limit and not one.splits and not one.pauses and earliest + one.minutes > limit:
        return 0
    tally.untimely = 1
    for other in range(len(run.persons)):
        run.persons[other].tried = -1
    for number in range(len(machines)):
        machines[number].tried_free = machines[number].free
        machines[number].tried_set_for = machines[number].set_for
    size, members = ZERO, one.members
    for place in range(members, operations[head + 1].members):
        i = run.rows[place, 0]
        one, machine = operations[i], machines[operations[i].machine]
        soonest, latest = max(one.ready_at, earliest), one.latest
        for row in range(one.inside, operations[i + 1].inside):
            end, most = operations[run.rows[row, 0]].tried_end, run.rows[row, 2]
            soonest = max(soonest, end + min(run.rows[row, 1] + one.stretch, most))
            latest = min(latest, end + most)
        minutes = one.minutes
        if one.colour >= 0:
            soonest = max(soonest, machine.tried_free)
            minutes += _setup(one, machine.tried_set_for)
        who, spans = _soonest_person(run, person, soonest, one, minutes, i == head)
        if not spans:
            return 0
        start, end = spans[0][0], spans[-1][1]
        if start > latest or (limit and i == head and start > earliest):
            return 0
        if not _free_then(run, members, place, start):
            return 0
        for begin, stop in spans:
            _try_time(run, who, begin, stop)
            size += _note(run.pieces, tally, first + size, begin, stop, i, who)
        if tally.full or (one.then >= 0 and not _can_follow(run, one, end)):
            return 0
        one.tried_end = end
        if one.colour >= 0:
            machine.tried_free, machine.tried_set_for = end, one.colour
    return size


@njit(cache=True, nogil=True)
def _taken(run, person):
    """Return the times of a person that are taken, with those of the unit that is being tried."""
    who = run.persons[person]
    if who.tried >= 0:
        return run.taken[1, person, : who.tried]
    return run.taken[0, person, who.head : who.tail]


@njit(cache=True, nogil=True)
def _try_time(run, person, begin, end):
    """Take a person's time for a unit that is being tried."""
    who, tried = run.persons[person], run.taken[1, person]
    if who.tried < 0:
        who.tried = who.tail - who.head
        for row in range(who.tried):
            tried[row, 0] = run.taken[0, person, who.head + row, 0]
            tried[row, 1] = run.taken[0, person, who.head + row, 1]
    if who.tried == len(tried):
        run.tally[0].full = 1
        return
    _insert(tried, ZERO, who.tried, begin, end)
    who.tried += 1


@njit(cache=True, nogil=True)
def _insert(spans, first, last, begin, end):
    """Put a span in order into those of some rows; the row behind them is free."""
    while last > first and (
        spans[last - 1, 0] > begin or (spans[last - 1, 0] == begin and spans[last - 1, 1] > end)
    ):
        spans[last, 0], spans[last, 1] = spans[last - 1, 0], spans[last - 1, 1]
        last -= 1
    spans[last, 0], spans[last, 1] = begin, end


@njit(cache=True, nogil=True)
def _soonest_person(run, person, soonest, one, minutes, is_head):
    """Return who can start an operation soonest, and when; the person asked goes first."""
    best, best_spans = person, _spans(run, person, soonest, one, minutes, _taken(run, person))
    if is_head or (best_spans and best_spans[0][0] == soonest):
        return best, best_spans
    for other in range(len(run.persons)):
        if other != person:
            since = max(soonest, run.persons[other].time)
            spans = _spans(run, other, since, one, minutes, _taken(run, other))
            if spans and (not best_spans or spans[0][0] < best_spans[0][0]):
                best, best_spans = other, spans
    return best, best_spans


@njit(cache=True, nogil=True)
def _lay_down(run, unit, size):
    """Commit the next rows of the pieces; who does the first operation goes on behind it."""
    operations, pieces, tally = run.operations, run.pieces, run.tally[0]
    first = tally.pieces
    tally.pieces = last = first + size
    while first < last:
        start, operation, person = pieces[first, 0], pieces[first, 2], pieces[first, 3]
        behind = first + 1
        while behind < last and pieces[behind, 2] == operation:
            behind += 1
        one, who, end = operations[operation], run.persons[person], pieces[behind - 1, 1]
        if start > one.latest:
            tally.late = 1
        _take(run, operation)
        if operation == unit and behind == first + 1 and start <= who.time:
            who.time = max(who.time, end)
        else:
            for row in range(first, behind):
                _keep_busy(run, person, pieces[row, 0], pieces[row, 1])
        who.piece = -1
        if one.colour >= 0:
            machine = run.machines[one.machine]
            tally.flushes += _setup(one, machine.set_for) > 0
            machine.set_for, machine.free = one.colour, end
        one.left = 0
        _done(run, operation, end)
        first = behind


@njit(cache=True, nogil=True)
def _setup(one, set_for):
    """Return the minutes of setting up a machine for an operation."""
    return one.setup if set_for >= 0 and set_for != one.colour else 0


@njit(cache=True, nogil=True)
def _spans(run, person, soonest, one, minutes, busy):
    """Return the earliest spans of an operation by a person."""
    opens, shuts = run.persons[person].opens, run.persons[person].shuts
    at = _window_at(run.windows, opens, shuts, soonest) - opens
    windows = run.windows[opens:shuts]
    return first_spans(
        windows, at, busy, soonest, minutes, one.shortest, one.splits != 0, one.pauses != 0
    )


@njit(cache=True, nogil=True)
def _opened_by(windows, opens, shuts, time):
    """Return the row behind the last window of a person that has begun at a time."""
    while opens < shuts:
        middle = (opens + shuts) // 2
        if windows[middle, 0] <= time:
            opens = middle + 1
        else:
            shuts = middle
    return opens


@njit(cache=True, nogil=True)
def _window_at(windows, opens, shuts, time):
    """Return the row of the window that holds a time, or of the next one."""
    at = _opened_by(windows, opens, shuts, time)
    return at - 1 if at > opens and time < windows[at - 1, 1] else at


@njit(cache=True, nogil=True)
def _note(pieces, tally, row, start, end, operation, person):
    """Write a piece of work into a row and return 1; 0 where there is no room."""
    if row >= len(pieces):
        tally.full = 1
        return 0
    pieces[row, 0], pieces[row, 1], pieces[row, 2], pieces[row, 3] = start, end, operation, person
    return 1


@njit(cache=True, nogil=True)
def _move(pieces, first, size, to):
    """Move some rows of the pieces up."""
    for row in range(size):
        for k in range(4):
            pieces[to + row, k] = pieces[first + row, k]


@njit(cache=True, nogil=True)
def _keep_busy(run, person, begin, end):
    """Take a person's time."""
    who, busy = run.persons[person], run.taken[0, person]
    if who.tail == len(busy):
        for row in range(who.head, who.tail):
            busy[row - who.head, 0], busy[row - who.head, 1] = busy[row, 0], busy[row, 1]
        who.head, who.tail = 0, who.tail - who.head
    if who.tail == len(busy):
        run.tally[0].full = 1
        return
    _insert(busy, who.head, who.tail, begin, end)
    who.tail += 1


# -- stations --------------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _take(run, operation):
    """Take what an operation takes."""
    for row in range(run.operations[operation].takes, run.operations[operation + 1].takes):
        run.heaps[run.rows[row, 0]].level -= run.rows[row, 1]


@njit(cache=True, nogil=True)
def _stations_free(run, operation, now):
    for row in range(run.operations[operation].takes, run.operations[operation + 1].takes):
        heap, amount = run.heaps[run.rows[row, 0]], run.rows[row, 1]
        if heap.level < amount and _level_at(run.entries, heap, now) < amount:
            return False
    return True


@njit(cache=True, nogil=True)
def _level_at(entries, heap, time):
    """Return what is free of a station from a time on, by all that is known."""
    level = heap.level
    for row in range(heap.first, heap.first + heap.count):
        if entries[row].key <= time:
            level += entries[row].value
    return level


@njit(cache=True, nogil=True)
def _free_then(run, members, place, time):
    """Whether what a member of a unit takes is free at a time, those before it laid down, too."""
    operations, rows = run.operations, run.rows
    i = rows[place, 0]
    for row in range(operations[i].takes, operations[i + 1].takes):
        number, amount = rows[row, 0], rows[row, 1]
        for before in range(members, place):
            j = rows[before, 0]
            for other in range(operations[j].takes, operations[j + 1].takes):
                if rows[other, 0] == number:
                    amount += rows[other, 1]
        if _level_at(run.entries, run.heaps[number], time) < amount:
            return False
    return True


# -- what follows ----------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _done(run, operation, end):
    """Note that an operation ends: free its stations, let its followers come up."""
    operations, tally = run.operations, run.tally[0]
    one, then = operations[operation], operations[operation + 1]
    one.end = end
    tally.undone -= 1
    if one.day >= 0 and (end - one.minutes) // DAY != one.day:
        tally.elsewhere -= 1
    if end > one.must_end or tally.elsewhere < 0:
        tally.late = 1
    for row in range(one.gives, then.gives):
        _push(run.entries, run.heaps[run.rows[row, 0]], float(end), run.rows[row, 1])
        tally.next_free = min(tally.next_free, end)
        _wake(run.persons, run.windows, end)
    if one.then >= 0:
        _let_follow(run, one)
    for row in range(one.followers, then.followers):
        behind = operations[run.rows[row, 0]]
        behind.ready_at = max(behind.ready_at, end + run.rows[row, 1])
        operations[behind.unit].waiting -= 1
        if not operations[behind.unit].waiting:
            _come_up(run, behind.unit)
            _wake(run.persons, run.windows, operations[behind.unit].ready_at)


@njit(cache=True, nogil=True)
def _come_up(run, unit):
    """Let a unit wait for its time; it does so but once."""
    one, tally = run.operations[unit], run.tally[0]
    one.waiting = -1
    _push(run.entries, run.heaps[tally.classes + PENDING], float(one.ready_at), unit)


@njit(cache=True, nogil=True)
def _wake(persons, windows, time):
    """Let idle persons look again at a time; who is alone looks again anyway."""
    if len(persons) == 1:
        return
    for person in range(len(persons)):
        who = persons[person]
        if who.idle_since <= time < who.time:
            who.time = time
            who.window = _window_at(windows, who.opens, who.shuts, time)


@njit(cache=True, nogil=True)
def _can_follow(run, one, end):
    """Whether what has days to follow an operation can, if it ends at a time."""
    return _last_start(run, one, end)[0] >= 0


@njit(cache=True, nogil=True)
def _let_follow(run, one):
    """Note until when what has days to follow an operation must start."""
    latest, alarm = _last_start(run, one, one.end)
    run.operations[one.then].latest = latest
    _push(run.entries, run.heaps[run.tally[0].classes + ALARMS], float(alarm), one.then)


@njit(cache=True, nogil=True)
def _last_start(run, one, end):
    """Return when what has days to follow an operation can start at the latest.

    And the minute at which the window before it begins; -1 where it cannot start.
    """
    then, soonest, latest = run.operations[one.then], end + one.then_least, end + one.then_most
    room = then.minutes if then.whole else then.shortest
    best, alarm = NONE, NONE
    for person in range(len(run.persons)):
        who = run.persons[person]
        at = _opened_by(run.windows, who.opens, who.shuts, latest) - 1
        while at >= who.opens and run.windows[at, 1] > soonest:
            start = min(latest, run.windows[at, 1] - room)
            if start >= max(run.windows[at, 0], soonest):
                before = max(soonest, run.windows[max(who.opens, at - 1), 0])
                if start > best or (start == best and before > alarm):
                    best, alarm = start, before
                break
            at -= 1
    return best, alarm


# -- what is fixed ---------------------------------------------------------------------------------


@njit(cache=True, nogil=True)
def _begin(run, begun):
    """Lay down what follows on what is fixed, and let the rest come up."""
    operations = run.operations
    for i in range(len(operations) - 1):
        if operations[i].is_fixed and operations[i].then >= 0:
            _let_follow(run, operations[i])
    for row in range(len(begun)):
        _go_on(run, begun[row, 0], begun[row, 1], begun[row, 2])
    for unit in range(len(operations) - 1):
        one, tied = operations[unit], False
        if one.waiting or one.unit != unit or one.is_fixed:
            continue
        for place in range(one.members, operations[unit + 1].members):
            tied |= operations[run.rows[place, 0]].must_start < NEVER
        if tied:
            _follow_fixed(run, unit)
        else:
            _come_up(run, unit)


@njit(cache=True, nogil=True)
def _go_on(run, operation, done, person):
    """Take up an operation that is begun."""
    one, tally = run.operations[operation], run.tally[0]
    one.left = one.minutes - done
    run.operations[one.unit].waiting = -1
    if one.splits and not one.several and one.colour < 0:
        _push(run.entries, run.heaps[tally.classes + BEGUN], one.key, operation)
        return
    machine, left = run.machines[one.machine], one.left
    if one.colour >= 0:
        left += _setup(one, machine.set_for)
    spans = _spans(run, person, tally.now, one, left, _taken(run, person))
    if not spans:
        tally.late = 1
        return
    for begin, end in spans:
        _keep_busy(run, person, begin, end)
        tally.pieces += _note(run.pieces, tally, tally.pieces, begin, end, operation, person)
    if one.colour >= 0:
        machine.set_for, machine.free = one.colour, end
    _done(run, operation, end)


@njit(cache=True, nogil=True)
def _follow_fixed(run, unit):
    """Lay down what a largest wait ties to something fixed."""
    tally, best_size = run.tally[0], ZERO
    for person in range(len(run.persons)):
        first = tally.pieces + best_size
        size = _laid_together(run, unit, person, tally.now, ZERO, first)
        if size and (not best_size or run.pieces[first, 0] < run.pieces[tally.pieces, 0]):
            _move(run.pieces, first, size, tally.pieces)
            best_size = size
    if best_size:
        run.operations[unit].waiting = -1
        _lay_down(run, unit, best_size)
    else:
        tally.late = 1

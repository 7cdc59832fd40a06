"""The state of a dispatcher's run, in records and arrays that compiled code can read.

Of what belongs to several operations together, that of operation ``i`` stands from its first row up
to the first one of ``i + 1``. Of classes and stations only the numbers are known here.
"""

from typing import Any, NamedTuple

import numpy as np

#: Heaps behind those of the classes, in which units are that can start: of units done in part, by
#: their key; of what comes up, and of what has no other day left, by the minute. Those of the
#: stations follow: amounts, by the minute at which they come free.
BEGUN, PENDING, ALARMS, STATIONS = 0, 1, 2, 3


def _record(**names: str) -> np.dtype:
    return np.dtype(
        [(name, kind) for kind, words in names.items() for name in words.split()], align=True
    )


#: An operation: what never changes; the first rows of what it takes and gives, of what its unit
#: takes, of what follows and what is before it within its unit, and of the members of its unit;
#: what changes in a run. Without a colour, or a long wait behind it (``then``), there is -1.
OPERATION = _record(
    i8="minutes splits pauses shortest whole colour machine setup unit class_of several is_fixed "
    "must_end must_start then then_least then_most takes gives unit_takes followers inside members "
    "left ready_at latest waiting end tried_end stretch day",
    f8="key",
)
#: What a heap is sorted by, and what is in it.
ENTRY = _record(f8="key", i8="value")
#: Where a heap begins, how much is in it; what is free of its station.
HEAP = _record(i8="first count level")
#: A person: its windows from the first up to the last; its time and the window that it is in, since
#: when it idles, the piece it may go on with (-1 for none); where the times already taken begin and
#: stop, and how many there are with those of a unit that is being tried (-1: none of it).
PERSON = _record(i8="opens shuts time window idle_since piece head tail tried")
#: A machine: from when on it is free, and for which colour it is set up (-1 for none); the same
#: with a unit that is being tried.
MACHINE = _record(i8="free set_for tried_free tried_set_for")
#: A run as a whole; so many operations may yet be on another ``day`` than they are to be; ``full``
#: says that there was not room enough.
TALLY = _record(i8="now classes undone late untimely next_free flushes pieces elsewhere full")


class Run(NamedTuple):
    """What is to be done, and the state of one run.

    Attributes:
        operations: (operations + 1,) of ``OPERATION``.
        rows: (n, 3) a station's heap and the amount taken or given; operation behind and its least
            wait; operation before within the unit, its least and its largest wait; member of a
            unit.
        entries: (n,) of ``ENTRY``: the heaps, one behind the other.
        heaps: (heaps,) of ``HEAP``.
        line: (classes + 1,) of ``ENTRY``: the classes that have any, by the key of the first.
        persons: (persons,) of ``PERSON``.
        windows: (n, 2) begin and end of the working windows of one person after the other.
        taken: (2, persons, room, 2) times already taken, in order; with those of a unit that is
            being tried.
        pieces: (room, 4) start, end, operation and person of what is laid down; behind it what is
            the best to lay down next, and what is being tried.
        machines: (machines,) of ``MACHINE``.
        tally: (1,) of ``TALLY``.
    """

    operations: Any
    rows: Any
    entries: Any
    heaps: Any
    line: Any
    persons: Any
    windows: Any
    taken: Any
    pieces: Any
    machines: Any
    tally: Any

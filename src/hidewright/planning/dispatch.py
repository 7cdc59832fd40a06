"""What to do next: at each free moment the best step that can start, until all is done."""

from collections.abc import Sequence

import numpy as np

from hidewright.planning.bench import NEVER, Bench, Windows
from hidewright.planning.dispatch_kernels import dispatched
from hidewright.planning.dispatch_state import (
    ALARMS,
    BEGUN,
    ENTRY,
    HEAP,
    MACHINE,
    OPERATION,
    PENDING,
    PERSON,
    STATIONS,
    TALLY,
    Run,
)
from hidewright.planning.draft import Draft, Wishes
from hidewright.planning.problem import MACHINES, Span

#: Room for so many pieces of each operation at first.
PIECES = 4


class Dispatcher:
    """Makes plans of a bench, each in one run.

    Args:
        bench: What is to be done; its hours may become others between two runs.
    """

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        spans = {
            **bench.fixed,
            **{i: [one for one in bench.problem.fixed if one.operation == i] for i in bench.begun},
        }
        self.begun = np.array(
            [(i, done, spans[i][-1].person) for i, done in bench.begun.items()], np.int64
        ).reshape(-1, 3)
        self.fixed = [one for some in spans.values() for one in some]
        self.pieces = np.array(
            [(one.start, one.end, one.operation, one.person) for one in self.fixed], np.int64
        ).reshape(-1, 4)
        self.operations, self.rows = _operations(bench)
        self.heaps, self.entries = _heaps(bench, spans)
        self.machines = _machines(bench, self.operations["colour"])
        self.tally = _tally(bench, len(self.fixed))
        self.room = PIECES * bench.count + len(self.fixed) + 64
        self._keep_hours(bench.windows)

    def run(self, wishes: Wishes) -> Draft | None:
        """Return the plan; None where the steps block one another or a fixed time cannot be met."""
        if self.hours is not self.bench.windows:
            self._keep_hours(self.bench.windows)
        while True:
            run = self._beginning(wishes)
            done = dispatched(run, self.begun, float(wishes.flush_key), float(wishes.scrap_key))
            tally = run.tally[0]
            if done:
                return Draft(
                    ends=run.operations["end"][:-1].tolist(),
                    pieces=run.pieces[: tally["pieces"]].tolist(),
                    flushes=int(tally["flushes"]),
                )
            if not tally["full"]:
                return None
            self.room *= 2

    def _keep_hours(self, hours: list[Windows]) -> None:
        """Take up the working windows of each person."""
        self.hours = hours
        first, windows = _rows(hours)
        self.windows = windows[:, :2].copy()
        self.persons = np.zeros(len(hours), PERSON)
        self.persons["opens"], self.persons["shuts"] = first[:-1], first[1:]
        self.persons["window"], self.persons["time"] = first[:-1], self.bench.problem.now
        self.persons["idle_since"] = NEVER
        self.persons["piece"] = self.persons["tried"] = -1
        now = self.bench.problem.now
        self.busy = [
            sorted((one.start, one.end) for one in self.fixed if one.person == p and one.end > now)
            for p in range(len(hours))
        ]
        self.persons["tail"] = [len(some) for some in self.busy]

    def _beginning(self, wishes: Wishes) -> Run:
        """Return a run in which what is fixed is laid down."""
        operations = self.operations.copy()
        operations["key"][:-1], operations["stretch"][:-1] = wishes.keys, wishes.stretch
        if wishes.release:
            operations["ready_at"][:-1] = wishes.release
        operations["day"][:-1] = wishes.days or -1
        tally = self.tally.copy()
        tally["elsewhere"] = min(wishes.elsewhere, NEVER)
        pieces = np.zeros((self.room, 4), np.int64)
        pieces[: len(self.pieces)] = self.pieces
        taken = np.zeros((2, len(self.busy), self.room, 2), np.int64)
        for person, some in enumerate(self.busy):
            taken[0, person, : len(some)] = some or 0
        return Run(
            operations=operations,
            rows=self.rows,
            entries=self.entries.copy(),
            heaps=self.heaps.copy(),
            line=np.zeros(self.bench.classes + 1, ENTRY),
            persons=self.persons.copy(),
            windows=self.windows,
            taken=taken,
            pieces=pieces,
            machines=self.machines.copy(),
            tally=tally,
        )


def _rows(groups: Sequence[Sequence[Sequence[int]]]) -> tuple[np.ndarray, np.ndarray]:
    """Return where the rows of each group begin, and all rows, of three, one behind the other."""
    rows = [row for group in groups for row in group]
    out = np.zeros((len(rows), 3), np.int64)
    if rows:
        out[:, : len(rows[0])] = rows
    return np.cumsum([0, *map(len, groups)]), out


def _operations(bench: Bench) -> tuple[np.ndarray, np.ndarray]:
    """Return the operations, and the rows that belong to them."""
    every = range(bench.count)
    columns = {
        "minutes": bench.minutes,
        "splits": [kind == "any" for kind in bench.kinds],
        "pauses": [kind == "breaks" for kind in bench.kinds],
        "shortest": bench.shortest,
        "whole": bench.whole,
        "colour": _colours(bench),
        "machine": bench.machines,
        "setup": bench.setups,
        "unit": bench.unit,
        "class_of": bench.class_of,
        "several": [i in bench.members for i in every],
        "is_fixed": [i in bench.fixed for i in every],
        "must_end": [bench.must_end.get(i, NEVER) for i in every],
        "must_start": [bench.latest.get(i, NEVER) for i in every],
        "latest": [bench.latest.get(i, NEVER) for i in every],
        "left": [0 if i in bench.fixed else bench.minutes[i] for i in every],
        "ready_at": bench.release,
        "waiting": bench.waiting,
        "end": [bench.fixed[i][-1].end if i in bench.fixed else -1 for i in every],
        "then": [bench.loose[i][0] if i in bench.loose else -1 for i in every],
        "then_least": [bench.loose[i][1] if i in bench.loose else 0 for i in every],
        "then_most": [bench.loose[i][2] if i in bench.loose else 0 for i in every],
    }
    operations = np.zeros(bench.count + 1, OPERATION)
    for name, values in columns.items():
        operations[name][:-1] = values
    members = [
        [(j,) for j in bench.members.get(i, [i])] if bench.unit[i] == i else [] for i in every
    ]
    rows: list[np.ndarray] = []

    def keep(name: str, groups: Sequence[Sequence[Sequence[int]]], *, heaps: bool = False) -> None:
        first, some = _rows(groups)
        operations[name] = first + sum(map(len, rows))
        some[:, 0] += bench.classes + STATIONS if heaps else 0
        rows.append(some)

    keep("takes", bench.takes, heaps=True)
    keep("gives", bench.gives, heaps=True)
    keep("unit_takes", [bench.unit_takes.get(i, []) for i in every], heaps=True)
    keep("followers", bench.followers)
    keep("inside", bench.inside)
    keep("members", members)
    return operations, np.concatenate(rows)


def _heaps(bench: Bench, spans: dict[int, list[Span]]) -> tuple[np.ndarray, np.ndarray]:
    """Return the heaps and their entries: the stations' hold what is fixed."""
    heaps = np.zeros(bench.classes + STATIONS + len(bench.capacity), HEAP)
    stations = bench.classes + STATIONS
    room = np.zeros(len(heaps), np.int64)
    for number in bench.class_of:
        if number >= 0:
            room[number] += 1
    room[bench.classes + BEGUN] = room[bench.classes + PENDING] = bench.count
    room[bench.classes + ALARMS] = len(bench.loose)
    heaps["level"][stations:] = bench.capacity
    free: dict[int, list[tuple[int, int]]] = {}
    for i in range(bench.count):
        for station, amount in bench.gives[i]:
            room[stations + station] += 1
            if i in bench.fixed:
                free.setdefault(stations + station, []).append((spans[i][-1].end, amount))
        for station, amount in bench.takes[i]:
            if i in spans:
                heaps["level"][stations + station] -= amount
    heaps["first"] = np.cumsum(room) - room
    entries = np.zeros(int(room.sum()), ENTRY)
    for number, some in free.items():
        first = heaps["first"][number]
        heaps["count"][number] = len(some)
        for row, (end, amount) in enumerate(sorted(some)):  # what is in order is a heap
            entries[first + row] = (end, amount)
    return heaps, entries


def _colours(bench: Bench) -> list[int]:
    """Return the number of the colour of each operation; -1 for none."""
    numbers = {colour: k for k, colour in enumerate(dict.fromkeys(filter(None, bench.colours)))}
    return [-1 if one is None else numbers[one] for one in bench.colours]


def _machines(bench: Bench, colours: np.ndarray) -> np.ndarray:
    """Return the machines as what is fixed leaves them."""
    machines = np.zeros(len(MACHINES), MACHINE)
    machines["set_for"] = machines["tried_set_for"] = -1
    for end, i in sorted((spans[-1].end, i) for i, spans in bench.fixed.items()):
        if colours[i] >= 0:
            machine = machines[bench.machines[i]]
            machine["free"], machine["set_for"] = end, colours[i]
    return machines


def _tally(bench: Bench, pieces: int) -> np.ndarray:
    """Return a run as a whole as what is fixed leaves it."""
    tally = np.zeros(1, TALLY)
    tally["now"], tally["classes"] = bench.problem.now, bench.classes
    tally["undone"], tally["pieces"] = bench.count - len(bench.fixed), pieces
    tally["next_free"] = min(
        (spans[-1].end for i, spans in bench.fixed.items() if bench.gives[i]), default=NEVER
    )
    return tally

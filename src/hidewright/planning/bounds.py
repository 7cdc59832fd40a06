"""When a batch can be finished at the soonest: what no plan can beat.

Three relaxations, each of which drops what makes planning hard and keeps a truth:

- the hands: all steps, between their soonest start and latest end, on the hands' working minutes,
  split at will. Such a preemptive single-machine problem is solved by taking the earliest deadline
  first (Jackson 1955; Carlier 1982, An algorithm for the one-machine sequencing problem). A time
  by which even that cannot finish is no finish; the first one that can is found by halving.
- a station: its places are held back to back, each for the shortest hold there is.
- both: no more loads can have left, or begun to hold, a station than it has let through by then;
  the k-th of them to be worked at a step cannot be sooner than that allows.
"""

from collections.abc import Sequence

import numpy as np

from hidewright.planning.bench import NEVER, Bench
from hidewright.planning.calendar import WorkAxis
from hidewright.planning.deadline_kernels import fits
from hidewright.planning.hours import Hours
from hidewright.planning.hours_kernels import latest_ends
from hidewright.planning.late_bounds import Late, late_between
from hidewright.planning.problem import MACHINES, Kind, Order, Problem
from hidewright.planning.station_bounds import Through, through

#: (release, deadline, minutes) on the axis of working minutes.
Job = tuple[int, int, int]
#: How often it may be asked how late the orders must be: so often by the square of the operations,
#: but not less often than so.
LATE_TRIES, LEAST_TRIES = 12_000_000, 30


class Bounds:
    """Bounds of one problem."""

    def __init__(self, problem: Problem, bench: Bench) -> None:
        self.problem, self.bench = problem, bench
        self.hours = Hours(bench.windows)
        self.axis = WorkAxis(bench.windows)
        self.left = [
            0 if i in bench.fixed else minutes - bench.begun.get(i, 0)
            for i, minutes in enumerate(bench.minutes)
        ]
        self.before: list[list[tuple[int, int]]] = [[] for _ in self.left]
        for wait in problem.waits:
            self.before[wait.after].append((wait.before, wait.least))
        self._lay_out(bench)
        self.heads, self.soonest = self._heads()
        self.through = through(problem, bench, self.hours, self.heads)
        self._lates: dict[int, Late] = {}

    def _lay_out(self, bench: Bench) -> None:
        """Lay out in arrays what latest ends are made of."""
        place = {i: k for k, i in enumerate(bench.order)}
        free = [wait for wait in self.problem.waits if wait.after not in bench.fixed]
        free.sort(key=lambda wait: -place[wait.before])
        ties = [(wait.before, wait.after, wait.least) for wait in free]
        self._ties = np.array(ties, np.int64).reshape(-1, 3)
        self._orders = np.array([one.order for one in self.problem.operations])
        self._minutes = np.array(self.left, np.int64)
        whole = [kind == "never" and i not in bench.begun for i, kind in enumerate(bench.kinds)]
        self._whole = np.array(whole, np.bool_)
        self._fixed = sorted(bench.fixed)

    def finish(self, at_most: int, late: int | None = None) -> int:
        """Return the minute before which no plan finishes.

        Args:
            at_most: Finish of a plan there is.
            late: Plans with more late minutes by weight are left out; None for none of them.
        """
        low = min(at_most, max(self.soonest, default=0))
        high = at_most
        while low < high:
            middle = (low + high) // 2
            if self._possible(self.dates(middle, late)):
                high = middle
            else:
                low = middle + 1
        return low

    def dates(self, finish: int, late: int | None) -> list[int]:
        """Return by when each order is finished if all are by a time, and none is later than so."""
        out = [finish] * len(self.problem.orders)
        if late is None:
            return out
        most = self._late(late).most
        for place, (k, one) in enumerate(self._dated()):
            by = most[place] if most else late // one.weight
            out[k] = min(finish, (one.due or 0) + by)
        return out

    def least_late(self, late: int) -> int:
        """Return late minutes by weight that no plan beats.

        Args:
            late: Of a plan there is.
        """
        return self._late(late - 1).least if late else 0

    def _late(self, late: int) -> Late:
        """Return how late orders are in plans with so many late minutes by weight at most."""
        if late not in self._lates:
            dated = self._dated()

            def possible(minutes: Sequence[int]) -> bool:
                finish_of = [NEVER] * len(self.problem.orders)
                for (k, one), by in zip(dated, minutes, strict=True):
                    finish_of[k] = (one.due or 0) + by
                return self._possible(finish_of)

            weights = [one.weight for _, one in dated]
            tries = max(LEAST_TRIES, LATE_TRIES // self.bench.count**2)
            self._lates[late] = late_between(weights, late, possible, tries)
        return self._lates[late]

    def _dated(self) -> list[tuple[int, Order]]:
        """Return the orders that have a date, with their numbers."""
        return [(k, one) for k, one in enumerate(self.problem.orders) if one.due is not None]

    def _possible(self, finish_of: list[int]) -> bool:
        ends = self.latest_ends(finish_of)
        if any(end < soonest for end, soonest in zip(ends, self.soonest, strict=True)):
            return False
        if not all(one.in_time(ends) for one in self.through):
            return False
        free = [i for i, minutes in enumerate(self.left) if minutes]
        jobs = [(self.heads[i], ends[i], self.left[i]) for i in free] + self._flushes(ends)
        if not self._fits(jobs):
            return False
        return all(self._fits(self._queued(one, free, ends)) for one in self.through if one.steps)

    def _queued(self, one: Through, free: list[int], ends: list[int]) -> list[Job]:
        """Return the jobs with the starts that a station leaves to the first, second, ... load.

        Who is first is not known. Of two jobs of a step the one with more minutes for each place it
        holds and no later deadline may take the earlier start in any plan, by an exchange of times;
        so the jobs go by such minutes, shared out over the times all places are held, and deadlines
        are made to rise along with them.
        """
        queued = {i for group, _ in one.steps for i, _ in group}
        jobs = [(self.heads[i], ends[i], self.left[i]) for i in free if i not in queued]
        for group, starts in one.steps:
            first = min(self.heads[i] for i, _ in group)
            order = sorted(group, key=lambda pair: (-self.left[pair[0]] / pair[1], ends[pair[0]]))
            deadline = through = 0
            for i, amount in order:
                deadline = max(deadline, ends[i])
                done, held = 0, 0
                while held < amount:
                    cycle = through // one.capacity
                    part = min(amount - held, (cycle + 1) * one.capacity - through)
                    held, through = held + part, through + part
                    upto = -(-self.left[i] * held // amount)
                    jobs.append((max(starts[cycle], first), deadline, upto - done))
                    done = upto
        return jobs + self._flushes(ends)

    def _flushes(self, ends: list[int]) -> list[Job]:
        """Return the work of setting machines up as often as there are colours, less one."""
        out: list[Job] = []
        for machine in MACHINES:
            here = [i for i in self.problem.at(machine) if i not in self.bench.fixed]
            changes = len({self.bench.colours[i] for i in here}) - 1
            minutes = changes * max((self.bench.setups[i] for i in here), default=0)
            if minutes > 0:
                out.append((min(self.heads[i] for i in here), max(ends[i] for i in here), minutes))
        return out

    def _fits(self, jobs: list[Job]) -> bool:
        """Whether the hands can do all jobs, splitting them at will."""
        table = np.array(jobs, np.int64).reshape(-1, 3)
        table[:, :2] = self.axis.all_worked(table[:, :2])
        return bool(fits(table))

    def _heads(self) -> tuple[list[int], list[int]]:
        """Return the soonest start and end of each operation."""
        bench = self.bench
        starts, ends = bench.release[:], [0] * bench.count
        for i in bench.order:
            if i in bench.fixed:
                starts[i], ends[i] = bench.fixed[i][0].start, bench.fixed[i][-1].end
                continue
            for before, least in self.before[i]:
                starts[i] = max(starts[i], ends[before] + least)
            kind: Kind = "any" if i in bench.begun else bench.kinds[i]
            ends[i] = self.hours.soonest(starts[i], self.left[i], kind)
        return starts, ends

    def latest_ends(self, finish_of: Sequence[int]) -> list[int]:
        """Return the latest end of each operation that lets its order be finished in time."""
        by_order = np.array(finish_of, np.int64)
        ends: np.ndarray = np.minimum(by_order[self._orders], self.bench.horizon)
        latest_ends(ends, self._ties, self._minutes, self._whole, self.hours.table)
        ends[self._fixed] = NEVER
        out: list[int] = ends.tolist()
        return out

"""Variables and constraints that say to the solver what a plan is."""

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any, Literal

from hidewright.planning.alike import Stretch, colours_alike, stretches
from hidewright.planning.exact_hands import Hands, Part
from hidewright.planning.narrowing import Times
from hidewright.planning.pieces import Piece, cut_up, given_out, joined_up
from hidewright.planning.plan import Plan, late_by_order, lateness
from hidewright.planning.problem import MACHINES, Machine, Operation, Problem, Span
from hidewright.planning.twins import in_order, twins

#: What is to be least: the minute of the finish, the late minutes by weight, or the minutes of
#: setting machines up and, where they are the same, the sum of all starts.
Least = Literal["finish", "late", "starts"]

#: What the solver does more: on the order of what cannot be at once, by linear programming, or to
#: raise its bound from below.
Means = Literal["order of pieces", "sums", "least first", "none"]


class Model:
    """Variables and constraints of a problem.

    Args:
        problem: Nothing is fixed.
        times: That are left to the operations; None for any.
        bound: A finish known not to be beaten.
        latest: No plan that finishes later is looked for.
        most_pieces: Of what may be split; None for as many as there can be, which a proof needs.

    Attributes:
        means: Of the solver, that pay for it.
    """

    means: Means = "order of pieces"

    def __init__(
        self,
        problem: Problem,
        times: Times | None = None,
        *,
        bound: int,
        latest: int,
        most_pieces: int | None = None,
    ) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.latest, self.most_pieces = problem, latest, most_pieces
        self.limits = times
        self.model = cp_model.CpModel()
        self.hands = Hands(problem, self.model, latest)
        self.windows = self.hands.windows
        self.starts: list[Any] = []
        self.ends: list[Any] = []
        self.parts: list[list[Part]] = []
        self.sizes: list[Any] = []
        self.arcs: dict[Machine, list[tuple[int, int, Any]]] = {}
        self.twins: list[tuple[list[tuple[int, int]], tuple[int, int], bool]] = []
        self.alike: list[Stretch] = []
        self.sooner: dict[tuple[int, int, bool], Any] = {}
        self.finish = self.model.new_int_var(bound, latest, "finish")
        for number, operation in enumerate(problem.operations):
            self._add(number, operation)
        if times is not None:
            self._keep_to(times)
        self._waits()
        self._stations()
        self._hands()
        for machine in MACHINES:
            self._machine(machine)
        self._twins()
        self.late: Any = 0
        self.each_late: list[tuple[Any, int]] = []

    # -- operations --------------------------------------------------------------------------------

    def _add(self, number: int, operation: Operation) -> None:
        soonest = max(self.problem.now, self.problem.orders[operation.order].release)
        if not operation.hands:
            start = self.model.new_int_var(soonest, self.latest - operation.minutes, f"s{number}")
            self._note(start, start + operation.minutes, [])
        elif self.problem.in_one_go(number):
            self._in_one_go(number, operation, soonest)
        elif operation.kind == "breaks":
            self._over_breaks(number, operation, soonest)
        else:
            self._in_pieces(number, operation, soonest)
        self.model.add(self.finish >= self.ends[number])

    def _keep_to(self, times: Times) -> None:
        told = self.model.add_linear_constraint
        for i, (start, end) in enumerate(zip(self.starts, self.ends, strict=True)):
            told(start, times.soonest[i], times.latest[i])
            told(end, times.soonest_end[i], times.latest_end[i])

    def _note(self, start: Any, end: Any, parts: list[Part], size: Any = None) -> None:
        self.starts.append(start)
        self.ends.append(end)
        self.parts.append(parts)
        self.sizes.append(size)

    def _in_one_go(self, number: int, operation: Operation, soonest: int) -> None:
        from ortools.sat.python import cp_model

        minutes = operation.minutes
        size = self._size(number, operation)
        rooms = self.hands.rooms(soonest, self.latest, minutes)
        start = self.model.new_int_var_from_domain(
            cp_model.Domain.from_intervals(rooms), f"s{number}"
        )
        if isinstance(size, int):
            part = (start, minutes, start + minutes, None)
            self._note(start, start + minutes, [part], minutes)
            interval = self.model.new_fixed_size_interval_var(start, minutes, f"i{number}")
            self.hands.do(number, 0, part, interval)
            return
        end = self.model.new_int_var(soonest, self.latest, f"e{number}")
        interval = self.model.new_interval_var(start, size, end, f"i{number}")
        self.hands.do(number, 0, (start, size, end, None), interval)
        self._note(start, end, [(start, size, end, None)], size)

    def _size(self, number: int, operation: Operation) -> Any:
        """Return the minutes of an operation, a variable where a machine may be set up for it."""
        from ortools.sat.python import cp_model

        minutes, setup = operation.minutes, self.problem.setup_minutes(operation)
        if not setup:
            return minutes
        either = cp_model.Domain.from_values([minutes, minutes + setup])
        return self.model.new_int_var_from_domain(either, f"z{number}")

    def _over_breaks(self, number: int, operation: Operation, soonest: int) -> None:
        """Add a part for each working window that it can reach into: one behind the other."""
        from ortools.sat.python import cp_model

        model, least, size = self.model, operation.shortest_piece, self._size(number, operation)
        longest = operation.minutes + self.problem.setup_minutes(operation)
        opens_of = [
            [(max(a, soonest), min(b, self.latest)) for a, b in windows if b > soonest]
            for windows in self.hands.windows_of
        ]
        room = cp_model.Domain.from_intervals([[a, b] for opens in opens_of for a, b in opens])
        parts: list[Part] = []
        by: list[Any] = []
        for k in range(max(_most_windows(opens, longest, least) for opens in opens_of)):
            name = f"{number}.{k}"
            start = model.new_int_var_from_domain(room, f"s{name}")
            end = model.new_int_var_from_domain(room, f"e{name}")
            length = model.new_int_var(0 if parts else 1, longest, f"z{name}")
            if not parts:
                parts.append((start, length, end, None))
                interval = model.new_interval_var(start, length, end, f"i{name}")
                by = self.hands.do(number, k, parts[-1], interval)
                continue
            there = model.new_bool_var(f"p{name}")
            part = (start, length, end, there)
            interval = model.new_optional_interval_var(*part, f"i{name}")
            for one, here in zip(by, self.hands.do(number, k, part, interval), strict=True):
                model.add_implication(here, one)
            _, _, before, known = parts[-1]
            if known is None:
                model.add(parts[0][1] >= least).only_enforce_if(there)
            else:
                model.add_implication(there, known)
                model.add(parts[-1][1] >= least).only_enforce_if(known, there.Not())
            crossed = []
            for crew, opens in enumerate(opens_of):
                for (_, shuts), (then, _) in pairwise(opens):
                    crossed.append(model.new_bool_var(""))
                    model.add(before == shuts).only_enforce_if(crossed[-1])
                    model.add(start == then).only_enforce_if(crossed[-1])
                    if by:
                        model.add_implication(crossed[-1], by[crew])
            model.add(sum(crossed) == there)
            model.add(start == before).only_enforce_if(there.Not())
            model.add(end == start).only_enforce_if(there.Not())
            model.add(length == 0).only_enforce_if(there.Not())
            parts.append(part)
        if parts[-1][3] is not None:
            model.add(parts[-1][1] >= least).only_enforce_if(parts[-1][3])
        model.add(sum(length for _, length, _, _ in parts) == size)
        self._note(parts[0][0], parts[-1][2], parts, size)

    def _in_pieces(self, number: int, operation: Operation, soonest: int) -> None:
        """Add as many pieces as there can be; what is longer than two shortest ones is two."""
        from ortools.sat.python import cp_model

        size, shortest = self._size(number, operation), operation.shortest_piece
        minutes = operation.minutes + self.problem.setup_minutes(operation)
        count, longest, apart = minutes // shortest, 2 * shortest - 1, 0
        if self.most_pieces is not None:
            count, longest, apart = min(count, self.most_pieces), minutes, 1
        first, last = soonest, self.latest
        if self.limits is not None:
            first, last = self.limits.soonest[number], self.limits.latest_end[number]
        opens = [[max(a, first), min(b, last)] for a, b in self.windows]
        room = cp_model.Domain.from_intervals([[a, b] for a, b in opens if a < b])
        parts: list[Part] = []
        for k in range(count):
            name = f"{number}.{k}"
            start = self.model.new_int_var_from_domain(room, f"s{name}")
            end = self.model.new_int_var_from_domain(room, f"e{name}")
            length = self.model.new_int_var_from_domain(
                cp_model.Domain.from_intervals([[0, 0], [shortest, min(longest, minutes)]]),
                f"z{name}",
            )
            there = self.model.new_bool_var(f"p{name}")
            part = (start, length, end, there)
            interval = self.model.new_optional_interval_var(*part, f"i{name}")
            self.hands.do(number, k, part, interval)
            self.model.add(length >= shortest).only_enforce_if(there)
            self.model.add(length == 0).only_enforce_if(there.Not())
            if parts:
                before = parts[-1]
                self.model.add_implication(there, before[3])
                self.model.add(start >= before[2] + apart).only_enforce_if(there)
                self.model.add(start == before[2]).only_enforce_if(there.Not())
                self.model.add(end == start).only_enforce_if(there.Not())
            else:
                self.model.add(there == 1)
            parts.append(part)
        self.model.add(sum(length for _, length, _, _ in parts) == size)
        if len(self.hands.crews) > 1:  # one behind the other, though not by the same hands
            self.model.add(parts[-1][2] - parts[0][0] >= size)
        self._note(parts[0][0], parts[-1][2], parts, size)

    # -- rules -------------------------------------------------------------------------------------

    def _waits(self) -> None:
        for wait in self.problem.waits:
            start, end = self.starts[wait.after], self.ends[wait.before]
            self.model.add(start >= end + wait.least)
            if wait.most is not None:
                self.model.add(start <= end + wait.most)

    def _stations(self) -> None:
        for station in self.problem.stations:
            intervals, amounts = [], []
            for k, hold in enumerate(self.problem.holds):
                if hold.station != station.name:
                    continue
                intervals.append(self._held(hold.first, hold.last, f"{station.name}{k}"))
                amounts.append(hold.amount)
            if not intervals:
                continue
            if min(amounts) * 2 > station.capacity:
                self.model.add_no_overlap(intervals)
            else:
                self.model.add_cumulative(intervals, amounts, station.capacity)

    def _held(self, first: int, last: int, name: str) -> Any:
        start = self.starts[first]
        if first == last and not self.problem.operations[first].hands:
            return self.model.new_fixed_size_interval_var(
                start, self.problem.operations[first].minutes, name
            )
        length = self.model.new_int_var(0, self.latest, f"h{name}")
        return self.model.new_interval_var(start, length, self.ends[last], name)

    def _hands(self) -> None:
        self.hands.add()

    def _machine(self, machine: Machine) -> None:
        """Order the operations at a machine, and set it up where the colour changes."""
        booth = self.problem.at(machine)
        if not booth:
            return
        flush = self.problem.setup_minutes(self.problem.operations[booth[0]])
        if not flush:
            self.model.add_no_overlap([self._held(i, i, f"{machine}{i}") for i in booth])
            return
        arcs: list[tuple[int, int, Any]] = []
        for a, i in enumerate(booth, 1):
            arcs.append((0, a, self.model.new_bool_var(f"first{i}")))
            arcs.append((a, 0, self.model.new_bool_var(f"last{i}")))
            colour = self.problem.operations[i].colour
            changed = []
            for b, j in enumerate(booth, 1):
                if i == j:
                    continue
                follows = self.model.new_bool_var(f"a{j}.{i}")
                arcs.append((b, a, follows))
                self.model.add(self.starts[i] >= self.ends[j]).only_enforce_if(follows)
                if self.problem.operations[j].colour != colour:
                    changed.append(follows)
            if self.sizes[i] is not None:
                plain = self.problem.operations[i].minutes
                self.model.add(self.sizes[i] == plain + flush * sum(changed))
        self.model.add_circuit(arcs)
        self.arcs[machine] = arcs

    def _twins(self) -> None:
        """Put loads that are the same in order, where some best plan has them so."""
        if not self.problem.by_hand:
            return
        for first, second in twins(self.problem):
            for places, (k, end) in in_order(self.problem, first):
                times = self.ends if end else self.starts
                self.model.add(times[first[k]] <= times[second[k]])
                rows = [(first[x], second[x]) for x in places]
                self.twins.append((rows, (first[k], second[k]), end))
        self._colours()
        if self.most_pieces is None:  # where no proof is looked for, more plans are sooner found
            self._in_stretches(in_pieces=True)

    def _colours(self) -> None:
        """Put colours that may change names in one order."""
        for first, second in colours_alike(self.problem):
            self.model.add(self.ends[first[0]] <= self.starts[second[0]])
            rows = list(zip(first, second, strict=True))
            self.twins.append((rows, (first[0], second[0]), False))

    def _in_stretches(self, *, in_pieces: bool) -> None:
        """Put what lies between steps that differ in their order."""
        self.alike = list(stretches(self.problem, in_pieces=in_pieces))
        for one in self.alike:
            sooner = [self._sooner(a, b, end=end) for a, b, end in one.beside]
            later = [there.Not() for there in sooner]
            for a, b in one.rows:
                self._one_first(a, b, sooner)
                self._one_first(b, a, later)

    def _sooner(self, a: int, b: int, *, end: bool) -> Any:
        """Return whether the first of two operations begins, or ends, sooner."""
        if (a, b, end) not in self.sooner:
            times = self.ends if end else self.starts
            first = self.sooner[a, b, end] = self.model.new_bool_var("")
            self.model.add(times[a] <= times[b]).only_enforce_if(first)
            self.model.add(times[b] <= times[a]).only_enforce_if(first.Not())
        return self.sooner[a, b, end]

    def _one_first(self, a: int, b: int, when: list[Any]) -> None:
        """Put one of two operations of a stretch first when some things hold."""
        self.model.add(self.starts[a] <= self.starts[b]).only_enforce_if(when)

    def aim(self, least: Least, at_least: int, at_most: int | None) -> None:
        """Say what is to be least; late minutes by weight lie between limits, None for any."""
        self.least, self.late_range = least, (at_least, at_most)
        if at_most is not None:
            self._due(at_least, at_most)
        if least == "starts":
            setups = (
                size - one.minutes
                for size, one in zip(self.sizes, self.problem.operations, strict=True)
                if self.problem.setup_minutes(one)
            )
            self.model.minimize(sum(self.starts) + self._a_setup * sum(setups))
        else:
            self.model.minimize(self.finish if least == "finish" else self.late)

    @property
    def _a_setup(self) -> int:
        """A minute of setting up counts as more than all starts."""
        return self.latest * len(self.starts) + 1

    def worth(self, plan: Plan) -> int:
        """Return what is to be least of a plan."""
        if self.least == "late":
            return lateness(self.problem, plan)
        if self.least == "finish":
            return plan.finish
        setups = sum(one.end - one.start for one in plan.spans)
        setups -= sum(one.minutes for one in self.problem.operations)
        return sum(plan.starts().values()) + self._a_setup * setups

    def _due(self, at_least: int, at_most: int) -> None:
        """Count late minutes by weight, between limits."""
        self.late = self.model.new_int_var(at_least, at_most, "late")
        total = []
        for number, order in enumerate(self.problem.orders):
            if order.due is None:
                continue
            late = self.model.new_int_var(0, at_most, f"late{number}")
            for i, one in enumerate(self.problem.operations):
                if one.order == number:
                    self.model.add(late >= self.ends[i] - order.due)
            self.each_late.append((late, number))
            total.append(order.weight * late)
        self.model.add(self.late == sum(total))

    # -- to and from plans -------------------------------------------------------------------------

    def hint(self, plan: Plan) -> None:
        """Give the solver a whole plan to begin with."""
        told = self.model.add_hint
        spans = self._in_twins_order(plan.spans_of())
        told(self.finish, plan.finish)
        self._hint_late(plan)
        for i, operation in enumerate(self.problem.operations):
            if not operation.hands:
                told(self.starts[i], spans[i][0].start)
                continue
            if self.problem.setup_minutes(operation):
                told(self.sizes[i], sum(one.end - one.start for one in spans[i]))
            if self.problem.in_one_go(i):
                told(self.starts[i], spans[i][0].start)
                self.hands.hint(i, 0, spans[i][0].person)
                if self.problem.setup_minutes(operation):
                    told(self.ends[i], spans[i][0].end)
            else:
                self._hint_pieces(i, spans[i])
        for machine, arcs in self.arcs.items():
            self._hint_order(self.problem.at(machine), arcs, spans)

    def _hint_late(self, plan: Plan) -> None:
        if not self.each_late:
            return
        late = late_by_order(self.problem, plan.order_finish(self.problem))
        for variable, number in self.each_late:
            self.model.add_hint(variable, late[number])
        self.model.add_hint(self.late, lateness(self.problem, plan))

    def _hint_pieces(self, i: int, spans: list[Span]) -> None:
        told = self.model.add_hint
        cut, operation = spans, self.problem.operations[i]
        if self.most_pieces is None and operation.kind == "any":
            cut = cut_up(spans, operation.shortest_piece)
        last = spans[-1].end
        for k, (start, size, end, there) in enumerate(self.parts[i]):
            one = cut[k] if k < len(cut) else None
            begin, stop = (one.start, one.end) if one else (last, last)
            told(start, begin)
            told(end, stop)
            told(size, stop - begin)
            self.hands.hint(i, k, one.person if one else None)
            if there is not None:
                told(there, one is not None)

    def _hint_order(
        self, some: Sequence[int], arcs: list[tuple[int, int, Any]], spans: dict[int, list[Span]]
    ) -> None:
        order = sorted(range(len(some)), key=lambda k: spans[some[k]][0].start)
        follows = {(a + 1, b + 1) for a, b in pairwise(order)}
        if order:
            follows |= {(0, order[0] + 1), (order[-1] + 1, 0)}
        for a, b, arc in arcs:
            self.model.add_hint(arc, (a, b) in follows)

    def _in_twins_order(self, spans: dict[int, list[Span]]) -> dict[int, list[Span]]:
        """Return the spans with those of loads that are the same given out in order."""
        out = dict(spans)
        for _ in spans:
            changed = False
            for rows, (first, second), end in self.twins:
                a, b = out[first], out[second]
                if (b[-1].end < a[-1].end) if end else (b[0].start < a[0].start):
                    changed = True
                    for x, y in rows:
                        out[x], out[y] = out[y], out[x]
            for one in self.alike:
                changed |= self._sort(out, one)
            if not changed:
                break
        return out

    def _sort(self, spans: dict[int, list[Span]], stretch: Stretch) -> bool:
        """Put a stretch in the order of what lies beside it; return whether that changed any."""
        sooner = [
            (spans[a][-1].end <= spans[b][-1].end)
            if end
            else (spans[a][0].start <= spans[b][0].start)
            for a, b, end in stretch.beside
        ]
        changed = False
        if all(sooner) or not any(sooner):
            for a, b in stretch.rows:
                x, y = (a, b) if sooner[0] else (b, a)
                if spans[x][0].start > spans[y][0].start:
                    spans[a], spans[b], changed = spans[b], spans[a], True
        return changed

    def raw(self, value: Callable[[Any], int]) -> list[Piece]:
        """Return the pieces that the variables tell."""
        raw: list[Piece] = []
        for i, operation in enumerate(self.problem.operations):
            if not operation.hands:
                start = value(self.starts[i])
                raw.append((start, start + operation.minutes, i, 0))
                continue
            for k, (start, size, _, there) in enumerate(self.parts[i]):
                if there is None or value(there):
                    begin = value(start)
                    minutes = size if isinstance(size, int) else value(size)
                    crew = self.hands.crew_of(i, k, value)
                    raw.append((begin, begin + minutes, i, crew))
        return raw

    def plan(self, raw: Sequence[Piece]) -> Plan | None:
        """Return the plan of such pieces, joined and given to persons."""
        return Plan(spans=given_out(joined_up(raw), self.problem))


def _most_windows(opens: Sequence[tuple[int, int]], minutes: int, least: int) -> int:
    """Return how many working windows some minutes can reach into, of the ends a least part."""
    most = 1
    for first in range(len(opens)):
        reached, left = 1, minutes - 2 * least
        for a, b in opens[first + 1 :]:
            if left < 0:
                break
            reached, left = reached + 1, left - (b - a)
        most = max(most, reached)
    return most


def solver_for(seconds: float, seed: int = 0, means: Means = "none") -> Any:
    """Return a solver that works alone, for so many deterministic seconds at most.

    Args:
        seconds: Deterministic ones.
        seed: For its random choices.
        means: What it does more.
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    told = solver.parameters
    told.random_seed = seed % 2**31
    told.num_workers = 1
    told.cp_model_probing_level = 0
    told.max_presolve_iterations = 1  # more of them take longer than they save
    told.linearization_level = int(means == "sums")
    told.use_objective_lb_search = means in ("sums", "least first")
    told.use_dynamic_precedence_in_disjunctive = False  # with it the solver may end the process
    told.use_strong_propagation_in_disjunctive = means == "order of pieces"
    told.max_deterministic_time = seconds
    told.catch_sigint_signal = False  # who presses Ctrl-C means the program, not this search
    return solver

"""What hands can do from one time to another, said to the solver without the pieces of work.

What may be split is a span, from the start of its first piece to the end of its last. How much of
each operation is done by the end of each window, and by some times within, is a number of its own;
between two such times no more of one is done than there are minutes, and no more of all than the
hands have. That holds in every plan, for any number of persons, so what no such spans beat, no plan
beats. Where works and their latest ends crowd, it is as strong as to split all work at will (see
``bounds.py``), for the solver adds the shares up over any times by linear programming. It is not
enough for a plan: there may be none of the best spans.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from hidewright.planning.exact_filling import FillingModel
from hidewright.planning.exact_model import Means, Model, solver_for
from hidewright.planning.narrowing import Times
from hidewright.planning.pieces import Piece
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Operation
from hidewright.planning.rules import Rules

#: Deterministic seconds that laying what is split into its gaps may take.
FILLING = 0.1
#: Minutes by which what is split may reach beyond its span when it is laid: first so, else so.
REACHES = (0, 30)
#: Minutes by which all may be sooner or later where that order leads to no plan, and of how many
#: pieces what is split may then be.
NEAR, FEW_PIECES = 60, 3
#: Minutes between the times at which shares are looked at, and where that is not enough.
CELL, FINE_CELL = 60, 15
#: So many shares of operations are many: linear programming does not pay for itself any more.
MANY_SHARES = 2800
#: (minute at which hands rest, minute from which they work again); the same at a time within.
Pause = tuple[int, int]


class SharesModel(Model):
    """Variables and constraints that every plan keeps, those of pieces left out.

    Args:
        rules: Of the problem.
        times: That are left to the operations.
        bound: A finish known not to be beaten.
        latest: No plan that finishes later is looked for.
        cell: Minutes between the times at which shares are looked at.
    """

    means: Means = "sums"

    def __init__(
        self, rules: Rules, times: Times, *, bound: int, latest: int, cell: int = CELL
    ) -> None:
        self.rules, self.times, self.bound, self.cell = rules, times, bound, cell
        self.sides: dict[tuple[int, Pause], tuple[Any, Any]] = {}
        if self.means == "sums" and many_shares(rules, times, cell):
            self.means = "least first"
        super().__init__(rules.problem, times, bound=bound, latest=latest)

    def _in_pieces(self, number: int, operation: Operation, soonest: int) -> None:
        from ortools.sat.python import cp_model

        begins = [[a, b - 1] for a, b in self.windows]
        ends = [[a + 1, b] for a, b in self.windows]
        new = self.model.new_int_var_from_domain
        self._note(
            new(cp_model.Domain.from_intervals(begins), f"s{number}"),
            new(cp_model.Domain.from_intervals(ends), f"e{number}"),
            [],
        )

    def _hands(self) -> None:
        super()._hands()
        self._share_out()

    def _share_out(self) -> None:
        """Let no more be done between two pauses than hands can do."""
        model, axis = self.model, self.hands.axis
        minutes = [one.minutes for one in self.problem.operations]
        pauses = self._pauses()
        done: Sequence[Any] = [0] * len(minutes)
        for (_, begin), (end, opens) in pairwise(pauses):
            before, done = done, [self._done(i, (end, opens)) for i in range(len(minutes))]
            shares = [a - b for a, b in zip(done, before, strict=True)]
            for share in shares:
                if not isinstance(share, int):
                    model.add_linear_constraint(share, 0, end - begin)
            model.add(sum(shares) <= axis.worked(end) - axis.worked(begin))
            if opens <= self.bound:
                left = sum(minutes) - sum(done)
                model.add(left <= axis.most_from(opens) * (self.finish - opens))

    def _pauses(self) -> list[Pause]:
        """Return when hands pause from the soonest time on until the latest, and times within."""
        first = min(self.times.soonest)
        out: list[Pause] = []
        for opens, shuts in self.windows:
            begin, end = max(opens, first), min(shuts, self.latest)
            if begin >= end:
                continue
            out.append((out.pop()[0] if out else begin, begin))
            cells = range(begin + self.cell, end - self.cell // 2 + 1, self.cell)
            changes = (t for t in self.hands.axis.times if begin < t < end)
            out += [(t, t) for t in sorted({*cells, *changes})]
            out.append((end, self.latest))
        return out

    def _sides(self, i: int, pause: Pause) -> tuple[Any, Any]:
        """Return whether an operation ends before a pause, and whether it starts behind it."""
        if (i, pause) not in self.sides:
            model, (end, opens) = self.model, pause
            ended, ahead = model.new_bool_var(""), model.new_bool_var("")
            model.add(self.ends[i] <= end).only_enforce_if(ended)
            model.add(self.ends[i] > end).only_enforce_if(ended.Not())
            model.add(self.starts[i] >= opens).only_enforce_if(ahead)
            model.add(self.starts[i] < opens).only_enforce_if(ahead.Not())
            model.add_implication(ended, ahead.Not())
            self.sides[i, pause] = ended, ahead
        return self.sides[i, pause]

    def _done(self, i: int, pause: Pause) -> Any:
        """Return the minutes of an operation done before a pause, setting up not counted."""
        model, (end, opens), operation = self.model, pause, self.problem.operations[i]
        minutes = operation.minutes
        if self.times.latest_end[i] <= end:
            return minutes
        if self.times.soonest[i] >= opens:
            return 0
        ended, ahead = self._sides(i, pause)
        done = model.new_int_var(0, minutes, "")
        model.add(done == minutes).only_enforce_if(ended)
        model.add(done == 0).only_enforce_if(ahead)
        model.add(done <= end - self.starts[i]).only_enforce_if(ahead.Not())
        if self.rules.whole[i] and not self.rules.pauses[i]:
            begun = end - self.starts[i] - self.problem.setup_minutes(operation)
            model.add(done >= begun).only_enforce_if(ended.Not(), ahead.Not())
        else:
            model.add(minutes - done <= self.ends[i] - opens).only_enforce_if(ended.Not())
        return done

    # -- to and from plans -------------------------------------------------------------------------

    def hint(self, plan: Plan) -> None:
        """Give the solver a whole plan to begin with: what is in one go, and spans around it."""
        from ortools.sat.python import cp_model

        spans = self._in_twins_order(plan.spans_of())
        model = self.model.clone()
        for i, whole in enumerate(self.rules.whole):
            if whole:
                model.add(self.starts[i] == spans[i][0].start)
        solver = solver_for(FILLING)
        if solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            for k, value in enumerate(solver.response_proto.solution):
                self.model.add_hint(self.model.get_int_var_from_proto_index(k), value)

    def raw(self, value: Callable[[Any], int]) -> list[Piece]:
        """Return the pieces of all, the spans of what is split among them."""
        spans = [
            (value(self.starts[i]), value(self.ends[i]), i, 0)
            for i, whole in enumerate(self.rules.whole)
            if not whole
        ]
        return super().raw(value) + spans

    def plan(self, raw: Sequence[Piece]) -> Plan | None:
        """Return the best plan of such spans found; None for none.

        First work in one go stays in that order; then all is near to its time, in few pieces.
        """
        if self.rules.spans_suffice:
            for reach in REACHES:
                model = FillingModel(self.rules, raw, latest=self.latest, reach=reach)
                plan = self._plan_by(model)
                if plan is not None:
                    return plan
        times = _near(self.times, raw)
        return self._plan_by(
            Model(self.problem, times, bound=0, latest=self.latest, most_pieces=FEW_PIECES)
        )

    def _plan_by(self, model: Model) -> Plan | None:
        from ortools.sat.python import cp_model

        model.aim(self.least, *self.late_range)
        solver = solver_for(FILLING, means=model.means)
        if solver.solve(model.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return model.plan(model.raw(solver.value))
        return None


def many_shares(rules: Rules, times: Times, cell: int = CELL) -> bool:
    """Whether a model has many shares, by the working minutes left to all operations."""
    worked = rules.bounds.hours.axis.worked
    left = zip(times.soonest, times.latest_end, strict=True)
    return sum(worked(end) - worked(begin) for begin, end in left) > MANY_SHARES * cell


def _near(times: Times, raw: Sequence[Piece]) -> Times:
    """Return times that are near to some spans."""
    begin: dict[int, int] = {}
    last: dict[int, int] = {}
    for start, end, i, _ in raw:
        begin[i], last[i] = min(start, begin.get(i, start)), max(end, last.get(i, end))
    some = range(len(times.minutes))
    return Times(
        [max(times.soonest[i], begin[i] - NEAR) for i in some],
        [max(times.soonest_end[i], last[i] - NEAR) for i in some],
        [min(times.latest[i], begin[i] + NEAR) for i in some],
        [min(times.latest_end[i], last[i] + NEAR) for i in some],
        times.minutes,
    )

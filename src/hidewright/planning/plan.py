"""A plan: when each operation is worked on, and by whom."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from hidewright.planning.calendar import DAY
from hidewright.planning.problem import Problem, Span

#: ``feasible`` is a plan not proven best; ``unknown`` means none was found, nor its lack proven.
Status = Literal["optimal", "feasible", "infeasible", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Spans of all operations.

    Attributes:
        spans: In order of their start. The first span of an operation at a machine begins with
            setting it up, where that must be.
    """

    spans: tuple[Span, ...]

    def spans_of(self) -> dict[int, list[Span]]:
        """Return the spans by operation, each in order."""
        out: dict[int, list[Span]] = {}
        for span in self.spans:
            out.setdefault(span.operation, []).append(span)
        return out

    def starts(self) -> dict[int, int]:
        """Return the minute at which each operation begins."""
        out: dict[int, int] = {}
        for span in self.spans:
            out.setdefault(span.operation, span.start)
        return out

    @property
    def finish(self) -> int:
        """Minute at which the last operation ends."""
        return max((one.end for one in self.spans), default=0)

    def order_finish(self, problem: Problem) -> list[int]:
        """Return the minute at which each order is finished; 0 for an order without work."""
        out = [0] * len(problem.orders)
        for span in self.spans:
            order = problem.operations[span.operation].order
            out[order] = max(out[order], span.end)
        return out

    def flushes(self, problem: Problem) -> int:
        """Return how often the booth's colour changes."""
        spans = self.spans_of()
        sprayed = sorted((spans[i][0].start, i) for i in problem.at("booth") if i in spans)
        colours = [problem.operations[i].colour for _, i in sprayed]
        return sum(a != b for a, b in pairwise(colours))

    def day_loads(self) -> dict[int, int]:
        """Return the hands-on minutes of each day that has work; no span passes midnight."""
        out: dict[int, int] = {}
        for span in self.spans:
            if span.person >= 0:
                out[span.start // DAY] = out.get(span.start // DAY, 0) + span.end - span.start
        return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A plan and what is known about it.

    Attributes:
        status: How good it is.
        plan: None when there is none.
        bound: Minute before which no plan can finish; where dates come first, none that is as much
            on time.
        rounds: Rounds of search done; the same number and seed give the same plan.
    """

    status: Status
    plan: Plan | None
    bound: int
    rounds: int


def late_by_order(problem: Problem, ends: Sequence[int]) -> list[int]:
    """Return the minutes by which each order is late; 0 for one that is on time, or has no date.

    Args:
        problem: That has the orders.
        ends: Minute at which each is finished.
    """
    return [
        0 if order.due is None else max(0, end - order.due)
        for order, end in zip(problem.orders, ends, strict=True)
    ]


def lateness(problem: Problem, plan: Plan) -> int:
    """Return the late minutes of all orders, by weight."""
    late = late_by_order(problem, plan.order_finish(problem))
    return sum(order.weight * by for order, by in zip(problem.orders, late, strict=True))

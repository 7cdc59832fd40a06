"""The one door to the solver that proves: small batches, and problems without hands.

Work that may be split is modelled piece by piece, so that a proof holds for every plan there is.
The solver works alone and by deterministic time, so that its plans come in the same order each
time; it can be stopped behind any of them.
"""

from dataclasses import dataclass
from typing import Any, Literal

from hidewright.planning.exact_model import Model
from hidewright.planning.plan import Plan, Status
from hidewright.planning.problem import Problem

#: What is to be least: the minute of the finish, or the late minutes by weight.
Least = Literal["finish", "late"]
#: Deterministic seconds that count as a round.
ROUND_SECONDS = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the solver says.

    Attributes:
        status: ``optimal`` and ``infeasible`` are proven.
        plan: The best one found; None when there is none.
        bound: No plan finishes sooner; none of those that are no later than asked for.
        rounds: One for each plan found, and those of the effort if all of it was spent or saved.
    """

    status: Status
    plan: Plan | None
    bound: int
    rounds: int


def prove(
    problem: Problem,
    *,
    bound: int,
    hint: Plan | None,
    latest: int,
    seed: int,
    effort: int,
    rounds: int | None = None,
    seconds: float | None = None,
    least: Least = "finish",
    late_at_least: int = 0,
    late_at_most: int | None = None,
) -> Proof:
    """Look for the plan that finishes first, or is least late, and for the proof of it.

    Args:
        problem: All persons keep the same hours.
        bound: A finish known not to be beaten.
        hint: A plan to begin with.
        latest: A minute by which some plan, if there is any, is finished.
        seed: For the solver's random choices.
        effort: Rounds of deterministic time at most.
        rounds: Stop behind so many plans found.
        seconds: Stop after so many by the clock.
        least: What is to be least.
        late_at_least: Late minutes, by weight, known not to be beaten.
        late_at_most: No plan that is later is looked for; None for due dates that do not matter.
    """
    from ortools.sat.python import cp_model

    if hint is not None and least == "finish":
        latest = hint.finish
    model = Model(problem, bound=bound, latest=latest)
    if late_at_most is not None:
        model.due(late_at_least, late_at_most)
    model.model.minimize(model.finish if least == "finish" else model.late)
    if hint is not None:
        model.hint(hint)
    solver = cp_model.CpSolver()
    told = solver.parameters
    told.random_seed = seed % 2**31
    told.num_workers = 1
    told.cp_model_probing_level = 0
    told.linearization_level = 0
    told.max_deterministic_time = effort * ROUND_SECONDS
    if seconds is not None:
        told.max_time_in_seconds = max(0.01, seconds)
    seen = _seen(model, rounds)
    status = solver.solve(model.model, seen)
    count, plan = seen.count, seen.plan
    if status == cp_model.INFEASIBLE:
        return Proof(status="infeasible", plan=None, bound=bound, rounds=effort)
    if status == cp_model.OPTIMAL:
        proven = plan.finish if least == "finish" else bound
        return Proof(status="optimal", plan=plan, bound=proven, rounds=count + effort)
    if solver.response_proto.deterministic_time >= effort * ROUND_SECONDS:
        at_least = int(solver.best_objective_bound) if count and least == "finish" else bound
        count, bound = count + effort, max(bound, at_least)
    found: Status = "unknown" if plan is None else "feasible"
    return Proof(status=found, plan=plan, bound=bound, rounds=count)


def _seen(model: "Model", most: int | None) -> Any:
    """Return a callback that keeps the last plan, and stops behind so many."""
    from ortools.sat.python import cp_model

    class Seen(cp_model.CpSolverSolutionCallback):
        def __init__(self) -> None:
            super().__init__()
            self.count = 0
            self.plan: Plan | None = None

        def on_solution_callback(self) -> None:
            self.count += 1
            self.plan = model.plan(self.value)
            if self.count == most:
                self.stop_search()

    return Seen()

"""Small batches, proven best: first the least lateness, where dates come first, then the finish."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from hidewright.planning.bench import NEVER
from hidewright.planning.exact import Proof, prove, prove_in_spans
from hidewright.planning.exact_model import Least
from hidewright.planning.exact_spans import spans_suffice
from hidewright.planning.goals import Goal, dates_first
from hidewright.planning.plan import Plan, lateness
from hidewright.planning.problem import Problem
from hidewright.planning.refuting import Trials, raised, refuted, shaved
from hidewright.planning.rules import Rules

#: Batches up to so many pieces of work are small.
SMALL = 200
#: Rounds of trials for each round of the solver.
TRIALS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long the solver may go on.

    Attributes:
        rounds: Of deterministic time, for each stage.
        seed: For its random choices.
        rounds_left: Given the rounds done, those that may follow; None for any number.
        seconds_left: Asked before each stage; None for no clock.
    """

    rounds: int
    seed: int
    rounds_left: Callable[[int], int | None]
    seconds_left: Callable[[], float] | None

    def behind(self, done: int) -> "Effort":
        """Return what is left behind some rounds."""
        return replace(self, rounds_left=lambda rounds: self.rounds_left(done + rounds))

    def trials(self) -> Trials:
        """Return the trials that may be made before the solver begins."""
        clock = self.seconds_left
        return Trials(
            effort=TRIALS * self.rounds,
            rounds_left=self.rounds_left(0),
            over=lambda: clock is not None and clock() <= 0.0,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Proven:
    """What the solver says of both stages.

    Attributes:
        proof: Of the finish, among the plans that are no later than the best.
        late_at_least: Late minutes by weight that no plan beats.
    """

    proof: Proof
    late_at_least: int


def provable(problem: Problem, goals: Sequence[Goal]) -> bool:
    """Whether a batch is small enough, and plain enough, for the solver."""
    pieces = sum(
        max(1, one.minutes // one.shortest_piece) if one.kind == "any" else 1
        for one in problem.operations
    )
    same_hours = len({one.calendar for one in problem.persons}) == 1
    plain = all(one.kind != "breaks" for one in problem.operations)
    aims = "finish" in {goal.name for goal in goals}
    return pieces <= SMALL and same_hours and plain and aims and not problem.fixed


def proven(
    problem: Problem,
    goals: Sequence[Goal],
    *,
    bound: int,
    late_at_least: int,
    hint: Plan,
    effort: Effort,
) -> Proven:
    """Look for the best plan of a small batch, and for the proof that none is better.

    Where dates come first and some order is late, the least lateness is sought before the finish.
    That proof needs a date for every order: what has none might be put off for ever.

    Args:
        problem: See ``provable``.
        goals: In order.
        bound: A finish known not to be beaten.
        late_at_least: Late minutes by weight known not to be beaten.
        hint: A plan to begin with.
        effort: How long.
    """
    if not dates_first(problem, goals):
        return Proven(proof=_finish(Rules(problem), bound, hint, effort, None), late_at_least=0)
    rules, late, done = Rules(problem), lateness(problem, hint), 0
    if late > late_at_least:
        if any(one.due is None for one in problem.orders):
            proof = Proof(status="feasible", plan=hint, bound=bound, rounds=0)
            return Proven(proof=proof, late_at_least=late_at_least)
        if not spans_suffice(rules):
            late_at_least, done = _least_late(rules, late_at_least, late, effort)
    if late > late_at_least:
        first = _solved(
            rules,
            until=_dues(problem, late),
            bound=bound,
            hint=hint,
            latest=max((one.due or 0) + late // one.weight for one in problem.orders),
            effort=effort.behind(done),
            least="late",
            late_at_least=late_at_least,
            late_at_most=late,
        )
        hint, done = first.plan or hint, done + first.rounds
        late = lateness(problem, hint)
        late_at_least = max(late_at_least, first.bound)
        if late > late_at_least:
            proof = Proof(status="feasible", plan=hint, bound=bound, rounds=done)
            return Proven(proof=proof, late_at_least=late_at_least)
    proof = _finish(rules, bound, hint, effort.behind(done), late)
    proof = replace(proof, plan=proof.plan or hint, rounds=done + proof.rounds)
    return Proven(proof=proof, late_at_least=late)


def _finish(
    rules: Rules, bound: int, hint: Plan, effort: Effort, late_at_most: int | None
) -> Proof:
    trials = effort.trials()
    dues = _dues(rules.problem, late_at_most)

    def refutes(finish: int) -> bool:
        until = [min(due, finish) for due in dues]
        return refuted(rules, until, trials, late_at_most)

    if not spans_suffice(rules):
        bound = raised(bound, hint.finish, trials, refutes)
    if bound >= hint.finish:
        return Proof(status="optimal", plan=hint, bound=bound, rounds=trials.rounds)
    proof = _solved(
        rules,
        until=[min(due, hint.finish) for due in dues],
        bound=bound,
        hint=hint,
        latest=hint.finish,
        effort=effort.behind(trials.rounds),
        least="finish",
        late_at_least=late_at_most or 0,
        late_at_most=late_at_most,
    )
    return replace(proof, rounds=trials.rounds + proof.rounds)


def _least_late(rules: Rules, low: int, late: int, effort: Effort) -> tuple[int, int]:
    """Return late minutes by weight that no plan beats, and the rounds done."""
    trials = effort.trials()
    at_least = raised(
        low, late, trials, lambda most: refuted(rules, _dues(rules.problem, most), trials, most)
    )
    return at_least, trials.rounds


def _dues(problem: Problem, late_at_most: int | None) -> list[int]:
    """Return the latest ends of operations that some late minutes by weight allow."""
    if late_at_most is None:
        return [NEVER] * len(problem.operations)
    latest = [
        NEVER if one.due is None else one.due + late_at_most // one.weight for one in problem.orders
    ]
    return [latest[one.order] for one in problem.operations]


def _solved(
    rules: Rules,
    *,
    until: list[int],
    bound: int,
    hint: Plan,
    latest: int,
    effort: Effort,
    least: Least,
    late_at_least: int,
    late_at_most: int | None,
) -> Proof:
    left = effort.rounds_left(0)
    if left is not None and left <= 0:
        return Proof(status="feasible", plan=hint, bound=bound, rounds=0)
    if spans_suffice(rules):
        return prove_in_spans(
            rules,
            times=shaved(rules, until, late_at_most),
            bound=bound,
            hint=hint,
            seed=effort.seed,
            effort=effort.rounds,
            rounds=left,
            seconds=effort.seconds_left,
            least=least,
            late_at_least=late_at_least,
            late_at_most=late_at_most,
        )
    return prove(
        rules.problem,
        bound=bound,
        hint=hint,
        latest=latest,
        seed=effort.seed,
        effort=effort.rounds,
        rounds=left,
        seconds=None if effort.seconds_left is None else effort.seconds_left(),
        least=least,
        late_at_least=late_at_least,
        late_at_most=late_at_most,
    )

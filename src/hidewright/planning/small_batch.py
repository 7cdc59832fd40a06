"""Small batches, proven best: first the least lateness, where dates come first, then the finish."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from hidewright.planning.exact import Proof, prove_in_spans
from hidewright.planning.exact_model import Least
from hidewright.planning.goals import Goal, dates_first
from hidewright.planning.plan import Plan, lateness
from hidewright.planning.problem import Problem
from hidewright.planning.rules import Rules

#: Batches up to so many articles are small, and those of so many pieces of work at most.
SMALL_ARTICLES, SMALL_PIECES = 8, 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long the solver may go on.

    Attributes:
        rounds: Of deterministic time, for each stage.
        seed: For its random choices.
        rounds_left: Given the rounds done, those that may follow; None for any number.
        stops: Asked now and then whether to stop at once; what it raises stops too.
    """

    rounds: int
    seed: int
    rounds_left: Callable[[int], int | None]
    stops: Callable[[], bool]

    def behind(self, done: int) -> "Effort":
        """Return what is left behind some rounds."""
        return replace(self, rounds_left=lambda rounds: self.rounds_left(done + rounds))


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
    """Whether a batch is small enough for the solver."""
    pieces = sum(
        max(1, one.minutes // one.shortest_piece) if one.kind == "any" else 1
        for one in problem.operations
    )
    aims = "finish" in {goal.name for goal in goals}
    small = pieces <= SMALL_PIECES or _articles(problem) <= SMALL_ARTICLES
    return small and aims and not problem.fixed


def _articles(problem: Problem) -> int:
    """Return how many articles a batch has, by what goes through the workshop together."""
    most: dict[int, int] = {}
    for one in problem.operations:
        most[one.load] = max(most.get(one.load, 0), one.pieces)
    return sum(most.values())


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
    if late > late_at_least and any(one.due is None for one in problem.orders):
        proof = Proof(status="feasible", plan=hint, bound=bound, rounds=0)
        return Proven(proof=proof, late_at_least=late_at_least)
    if late > late_at_least:
        first = _solved(
            rules,
            bound=bound,
            hint=hint,
            effort=effort,
            least="late",
            late_at_least=late_at_least,
            late_at_most=late,
        )
        hint, done = first.plan or hint, first.rounds
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
    if bound >= hint.finish:
        return Proof(status="optimal", plan=hint, bound=bound, rounds=0)
    return _solved(
        rules,
        bound=bound,
        hint=hint,
        effort=effort,
        least="finish",
        late_at_least=late_at_most or 0,
        late_at_most=late_at_most,
    )


def _solved(
    rules: Rules,
    *,
    bound: int,
    hint: Plan,
    effort: Effort,
    least: Least,
    late_at_least: int,
    late_at_most: int | None,
) -> Proof:
    left = effort.rounds_left(0)
    if left is not None and left <= 0:
        return Proof(status="feasible", plan=hint, bound=bound, rounds=0)
    return prove_in_spans(
        rules,
        bound=bound,
        hint=hint,
        seed=effort.seed,
        effort=effort.rounds,
        rounds=left,
        stops=effort.stops,
        least=least,
        late_at_least=late_at_least,
        late_at_most=late_at_most,
    )

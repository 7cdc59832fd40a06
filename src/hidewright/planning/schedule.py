"""Makes the plan: rules, search and proof by turns, until it is proven best or time is up."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.exact import Proof, begun_sooner, prove
from hidewright.planning.goals import USUAL_GOALS, Goal, dates_first
from hidewright.planning.plan import Answer, Plan, Status, lateness
from hidewright.planning.problem import Problem
from hidewright.planning.project_bounds import soonest_finish
from hidewright.planning.search import Search
from hidewright.planning.small_batch import Effort, provable, proven

#: Rounds of search in the first turn, and of proof, for problems without hands; and how they grow.
FIRST_SEARCH, FIRST_PROOF = 100, 25
#: Rounds of search before a small batch is given to the solver, and rounds it then has; these grow
#: from turn to turn.
SMALL_SEARCH, SMALL_PROOF = 2000, 75
SEARCH_GROWTH, PROOF_GROWTH = 5, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How far a search is.

    Attributes:
        rounds: Done.
        finish: Minute at which the best plan so far ends; None while there is none.
        proving: Whether it is being proven that none is better.
    """

    rounds: int
    finish: int | None
    proving: bool = False


Told = Callable[[Standing], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """When to stop; whatever comes first.

    Attributes:
        rounds: After so many; None for any number.
        proof_rounds: So many more for a batch that is small enough to be proven.
        seconds_left: Asked now and then; None for no clock.
        told: Told behind each round how far it is, and again and again during a proof; what it
            raises ends the search within about a second. It changes no plan. None for nobody.
    """

    rounds: int | None = None
    proof_rounds: int = 0
    seconds_left: Callable[[], float] | None = None
    told: Told | None = None

    def stops(self, standing: Standing) -> bool:
        """Tell how far it is, and return whether to stop there."""
        self.tells(standing)
        return self.over(standing.rounds)

    def tells(self, standing: Standing) -> bool:
        """Tell how far it is, for what goes on whatever the clock says."""
        if self.told is not None:
            self.told(standing)
        return False

    def over(self, rounds: int) -> bool:
        """Whether to stop after some rounds."""
        if self.rounds is not None and rounds >= self.rounds:
            return True
        return self.seconds_left is not None and self.seconds_left() <= 0.0

    def with_proof(self) -> "Budget":
        """Return the same with the rounds of a proof among the others."""
        if self.rounds is None:
            return self
        return replace(self, rounds=self.rounds + self.proof_rounds, proof_rounds=0)

    def rounds_left(self, rounds: int) -> int | None:
        """Return the rounds left after some; None for any number."""
        return None if self.rounds is None else self.rounds - rounds


def schedule(
    problem: Problem,
    *,
    seed: int,
    budget: Budget,
    goals: Sequence[Goal] = USUAL_GOALS,
    bounded: bool = True,
    dispatcher: Dispatcher | None = None,
) -> Answer:
    """Return the best plan found for a problem, and how good it can be at most.

    Args:
        problem: What is to be planned.
        seed: For all that is random: the same seed and rounds give the same plan.
        budget: When to stop. At least one round is done.
        goals: In order. A proof is about the finish alone, where that is all that counts.
        bounded: Whether to learn how soon any plan of a batch can finish; else the bound is
            ``now``.
        dispatcher: Of a batch, where there is one already.

    Raises:
        AssertionError: When the checker does not accept the plan; that is our mistake.
    """
    if problem.by_hand:
        answer = _batch(dispatcher or Dispatcher(Bench(problem)), seed, budget, goals, bounded)
    else:
        answer = _project(problem, seed, budget)
    if answer.plan is not None:
        found = breaches(problem, answer.plan)
        assert not found, found[0].sentence
    return answer


# -- batches --------------------------------------------------------------------------------------


def _batch(
    dispatcher: Dispatcher, seed: int, budget: Budget, goals: Sequence[Goal], bounded: bool
) -> Answer:
    problem = dispatcher.bench.problem
    bounds = Bounds(problem, dispatcher.bench)
    search = Search(problem, dispatcher, bounds, goals, seed)
    by_date = dates_first(problem, goals)
    rounds, bound, late_at_least = 0, -1 if bounded else problem.now, 0
    best: Plan | None = None
    finish: int | None = None

    def rank(one: Plan) -> tuple[int, int]:
        return (lateness(problem, one) if by_date else 0, one.finish)

    proof_due: float = math.inf
    if provable(problem, goals):
        proof_due, budget = SMALL_SEARCH, budget.with_proof()
    turn = SMALL_PROOF
    for found in search.rounds():
        rounds += 1
        if found.draft is not None and found.draft.finish != finish:
            finish = found.draft.finish
            bound = bounds.finish(finish) if bound < 0 else min(bound, finish)
        standing = Standing(rounds=rounds, finish=finish if best is None else best.finish)
        if search.done(bound) or budget.stops(standing):
            break
        if rounds >= proof_due and found.draft is not None:
            told = proven(
                problem,
                goals,
                bound=bound,
                late_at_least=max(
                    late_at_least, bounds.least_late(lateness(problem, found.draft.plan()))
                )
                if by_date
                else 0,
                hint=min([found.draft.plan()] + ([best] if best else []), key=rank),
                effort=_effort(turn, seed, budget, standing),
            )
            rounds += told.proof.rounds
            turn *= PROOF_GROWTH
            proof_due = rounds + SMALL_SEARCH
            bound = max(bound, told.proof.bound)
            late_at_least = max(late_at_least, told.late_at_least)
            if told.proof.plan is not None and (best is None or rank(told.proof.plan) < rank(best)):
                best = told.proof.plan
            if told.proof.status == "optimal" or budget.over(rounds):
                break
    late_at_least = max(late_at_least, search.late_at_least)
    plan = search.levelled().plan() if search.best.draft is not None else None

    if best is not None and (plan is None or rank(best) < rank(plan)):
        standing = Standing(rounds=rounds, finish=best.finish, proving=True)
        plan = begun_sooner(
            problem,
            best,
            late_at_most=lateness(problem, best) if by_date else None,
            seed=seed,
            stops=lambda: budget.tells(standing),
        )
    if plan is None:
        return Answer(status="unknown", plan=None, bound=max(bound, 0), rounds=rounds)
    if bounded and by_date and plan.finish > bound:
        slack = next(goal.slack for goal in goals if goal.name == "on time")
        bound = max(bound, bounds.finish(plan.finish, lateness(problem, plan) + slack))
    is_best = plan.finish <= bound and rank(plan)[0] <= late_at_least
    status: Status = "optimal" if is_best else "feasible"
    return Answer(status=status, plan=plan, bound=min(bound, plan.finish), rounds=rounds)


def _effort(turn: int, seed: int, budget: Budget, standing: Standing) -> Effort:
    return Effort(
        rounds=turn,
        seed=seed,
        rounds_left=lambda done: budget.rounds_left(standing.rounds + done),
        stops=lambda: budget.stops(replace(standing, proving=True)),
    )


def _proved(
    problem: Problem,
    bound: int,
    hint: Plan | None,
    seed: int,
    budget: Budget,
    rounds: int,
    effort: int,
    latest: int = 0,
) -> Proof:
    standing = Standing(rounds=rounds, finish=None if hint is None else hint.finish, proving=True)
    return prove(
        problem,
        bound=bound,
        hint=hint,
        latest=latest,
        seed=seed,
        effort=effort,
        rounds=budget.rounds_left(rounds),
        stops=lambda: budget.stops(standing),
    )


# -- problems without hands -----------------------------------------------------------------------


def _project(problem: Problem, seed: int, budget: Budget) -> Answer:
    bound = soonest_finish(problem)
    if bound is None:
        return Answer(status="infeasible", plan=None, bound=0, rounds=0)
    latest = _latest(problem)
    project = None
    if _suits(problem):
        from hidewright.planning.projects import Project  # its kernels take long to load

        project = Project(problem, seed)
    going = project.rounds() if project is not None else iter(())
    rounds, best = 0, None
    for searched, proved in _turns():
        if project is not None:
            rounds = _search(going, rounds + searched, rounds, bound, budget)
            if best is None or project.finish < best.finish:
                best = project.plan()
            if best.finish <= bound:
                return Answer(status="optimal", plan=best, bound=best.finish, rounds=rounds)
        if budget.over(rounds):
            break
        proof = _proved(problem, bound, best, seed, budget, rounds, proved, latest)
        rounds += proof.rounds
        bound = max(bound, proof.bound)
        if proof.status == "infeasible":
            return Answer(status="infeasible", plan=None, bound=bound, rounds=rounds)
        if proof.plan is not None and (best is None or proof.plan.finish < best.finish):
            best = proof.plan
        if best is not None and (proof.status == "optimal" or best.finish <= bound):
            return Answer(status="optimal", plan=best, bound=best.finish, rounds=rounds)
        if budget.over(rounds):
            break
    return Answer(
        status="feasible" if best is not None else "unknown", plan=best, bound=bound, rounds=rounds
    )


def _suits(problem: Problem) -> bool:
    """Whether it is without hands, largest waits and stations held over several steps."""
    return (
        not problem.by_hand
        and not problem.fixed
        and all(wait.most is None for wait in problem.waits)
        and all(hold.first == hold.last for hold in problem.holds)
    )


def _turns() -> Iterator[tuple[int, int]]:
    searched, proved = FIRST_SEARCH, FIRST_PROOF
    while True:
        yield searched, proved
        searched, proved = SEARCH_GROWTH * searched, PROOF_GROWTH * proved


def _search(going: Iterator[int], until: int, rounds: int, bound: int, budget: Budget) -> int:
    """Go on with a search; return the rounds done in all."""
    while rounds < until:
        finish = next(going)
        rounds += 1
        if budget.stops(Standing(rounds=rounds, finish=finish)) or finish <= bound:
            break
    return rounds


def _latest(problem: Problem) -> int:
    """Return a minute by which any plan can be finished, if there is one."""
    waits = [max(0, wait.least, wait.most or 0) for wait in problem.waits]
    longest: dict[int, int] = {}
    for wait, length in zip(problem.waits, waits, strict=True):
        longest[wait.after] = max(longest.get(wait.after, 0), length)
    release = max(one.release for one in problem.orders)
    total = sum(one.minutes for one in problem.operations) + sum(longest.values())
    return max(problem.now, release) + total

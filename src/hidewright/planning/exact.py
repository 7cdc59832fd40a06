"""The one door to the solver that proves: small batches, and problems without hands.

Work that may be split is modelled piece by piece, so that a proof holds for every plan there is.
The solver works alone and by deterministic time, so that its plans come in the same order each
time; it can be stopped behind any of them, and at any moment.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from hidewright.planning.bench import NEVER
from hidewright.planning.exact_model import Least, Model, solver_for
from hidewright.planning.exact_shares import FEW_PIECES, FINE_CELL, SharesModel, many_shares
from hidewright.planning.exact_spans import SpansModel
from hidewright.planning.narrowing import OutOfTime, Times
from hidewright.planning.pieces import Piece
from hidewright.planning.plan import Plan, Status, lateness
from hidewright.planning.problem import Problem
from hidewright.planning.rules import Rules
from hidewright.planning.shaving import in_time

#: Deterministic seconds that count as a round.
ROUND_SECONDS = 0.02
#: The effort is divided by that where only a plan is looked for, of few pieces before all else or
#: in any other way.
GLANCE, LOOK = 4, 2
#: The last model, behind which nothing else is tried, has so many times the effort.
LAST = 2
#: Of what was found last, so many are tried whether there is a plan of them.
TRIED = 4
#: Rounds in which a plan that is found is begun sooner.
SOONER = 12
#: What leaves no time is looked for until so many tries have left some, or twice as many none.
TRIES_LEFT = 3
#: Seconds after which it is asked again whether to stop.
ASKED_EACH_S = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What the solver says.

    Attributes:
        status: ``optimal`` and ``infeasible`` are proven.
        plan: The best one found; None when there is none.
        bound: No plan has less of what is to be least; of a finish, none of those that are no later
            than asked for.
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
    stops: Callable[[], bool] = lambda: False,
    least: Least = "finish",
    late_at_least: int = 0,
    late_at_most: int | None = None,
) -> Proof:
    """Look for the plan that finishes first, or is least late, and for the proof of it.

    Args:
        problem: Nothing is fixed.
        bound: A finish known not to be beaten.
        hint: A plan to begin with.
        latest: A minute by which some plan, if there is any, is finished.
        seed: For the solver's random choices.
        effort: Rounds of deterministic time at most.
        rounds: Stop behind so many plans found.
        stops: Asked now and then whether to stop at once; what it raises stops too.
        least: What is to be least.
        late_at_least: Late minutes, by weight, known not to be beaten.
        late_at_most: No plan that is later is looked for; None for due dates that do not matter.
    """
    if hint is not None and least == "finish":
        latest = hint.finish
    model = Model(problem, bound=bound, latest=latest)
    model.aim(least, late_at_least, late_at_most)
    proof, _ = _solved(
        model,
        hint,
        at_least=bound if least == "finish" else late_at_least,
        seed=seed,
        effort=effort,
        rounds=rounds,
        stops=stops,
    )
    return proof


def prove_in_spans(
    rules: Rules,
    *,
    bound: int,
    hint: Plan,
    seed: int,
    effort: int,
    rounds: int | None = None,
    stops: Callable[[], bool] = lambda: False,
    least: Least = "finish",
    late_at_least: int = 0,
    late_at_most: int | None = None,
) -> Proof:
    """Do as ``prove``, much sooner, without the pieces of what is split as long as that does.

    The times left to the operations are drawn together anew with each better plan; before the bound
    is left to a solver, it is raised to what leaves some time to all (a destructive bound: Klein
    and Scholl, European Journal of Operational Research 112 (1999) 322-346).

    For one pair of hands a plan is looked for first whose uncrossed spans share no piece, near to
    the plan there is, for a while; where that is hard, and the shares are not many, what hands can
    do from time to time is a bound soonest; any spans are one that is nearer, raised from below.
    There may be no plan of the best spans: then one is looked for of which each work has few
    pieces; then the scraps of time are looked at, which make the model large; then the room on
    either side of each break, and only if that is not enough, all pieces.
    Where spans may not be uncrossed, a plan of few pieces is looked for first; what hands can do is
    the bound, then at shorter times; then all pieces are looked at.

    Args:
        rules: Of the problem.
        bound: A finish known not to be beaten.
        hint: A plan to begin with.
        seed: For the solver's random choices.
        effort: Rounds of deterministic time at most, for each model.
        rounds: Stop behind so many things found.
        stops: See ``prove``.
        least: What is to be least.
        late_at_least: See ``prove``.
        late_at_most: See ``prove``.
    """
    sought = least == "finish"
    at_least, done = bound if sought else late_at_least, 0
    plan, all_looked_at = hint, False
    value = hint.finish if sought else lateness(rules.problem, hint)

    def left(worth: int, within: Times | None, rules: Rules = rules) -> Times:
        late = late_at_most if sought else worth
        return in_time(rules, worth if sought else NEVER, late, stops, within)

    times, times_of = left(value, None), value
    for way in _ways(rules):
        if way.where_hard and all_looked_at:
            continue
        if way.shaves:
            left_to_do = None if rounds is None else rounds - done
            at_least, raised = _least_left(left, at_least, value, times, left_to_do, stops)
            done += raised
            if at_least >= value or done == rounds or stops():
                break
        if way.where_hard and many_shares(rules, times):
            continue
        most = value
        if way.betters:
            try:
                most = value - 1
                within = left(most, None, way.rules()) if way.rules else left(most, times)
            except OutOfTime:
                at_least, done = value, done + 1
                break
        else:
            if times_of > value:
                times, times_of = left(value, times), value
            within = times
        model = way.model(
            within,
            bound=at_least if sought else bound,
            latest=min(max(within.latest_end), most) if sought else max(within.latest_end),
        )
        model.aim(least, late_at_least if sought else at_least, late_at_most if sought else most)
        proof, all_looked_at = _solved(
            model,
            plan if way.hinted and not way.betters else None,
            at_least=at_least,
            seed=seed,
            effort=effort * way.times // way.share,
            rounds=None if rounds is None else rounds - done,
            stops=stops,
        )
        done += proof.rounds
        if proof.plan is not None and model.worth(proof.plan) < value:
            plan, value = proof.plan, model.worth(proof.plan)
        if way.proves:
            none_is_better = way.betters and proof.status == "infeasible"
            at_least = value if none_is_better else proof.bound
        if value <= at_least or done == rounds or stops():
            break
    status: Status = "optimal" if value <= at_least else "feasible"
    return Proof(status=status, plan=plan, bound=at_least, rounds=done)


def begun_sooner(
    problem: Problem,
    plan: Plan,
    *,
    late_at_most: int | None,
    seed: int,
    stops: Callable[[], bool] = lambda: False,
) -> Plan:
    """Return a plan as good whose work is begun as soon as was found for a while.

    What is found and proven has the soonest finish, but what does not count for it may be at any
    time. There are no more minutes of setting up; then the sum of all starts is as little as can
    be.

    Args:
        problem: Nothing is fixed.
        plan: A plan of it.
        late_at_most: Late minutes by weight that are allowed; None for any.
        seed: For the solver's random choices.
        stops: See ``prove``.
    """
    rules = Rules(problem, twins_in_order=False)
    model = Model(
        problem,
        in_time(rules, plan.finish, late_at_most, stops),
        bound=0,
        latest=plan.finish,
        most_pieces=max(FEW_PIECES, *map(len, plan.spans_of().values())),
    )
    model.aim("starts", 0, late_at_most)
    proof, _ = _solved(model, plan, at_least=0, seed=seed, effort=SOONER, rounds=None, stops=stops)
    found = proof.plan
    return found if found is not None and model.worth(found) < model.worth(plan) else plan


def _least_left(
    left: Callable[[int, Times | None], Times],
    low: int,
    high: int,
    times: Times,
    most: int | None,
    stops: Callable[[], bool],
) -> tuple[int, int]:
    """Return the least that leaves time to all, found by halving, and how often it was raised.

    Args:
        left: Of the times that are left, those if it is to be as little as so; raises
            ``OutOfTime``.
        low: Known not to be beaten.
        high: There is a plan of it.
        times: Left for that plan.
        most: So often at most; None for any.
        stops: Asked behind each try whether to stop.
    """
    tries = raised = 0
    while low < high and max(tries, raised / 2) < TRIES_LEFT and raised != most and not stops():
        middle = (low + high) // 2
        try:
            times, high, tries = left(middle, times), middle, tries + 1
        except OutOfTime:
            low, raised = middle + 1, raised + 1
    return low, raised


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """A model, and what it is for: ``proves`` bounds, ``where_hard`` as the one before it was.

    Before one that ``shaves``, it is looked for what leaves no time; one that ``betters`` looks
    for what is better than the plan there is only; one not ``hinted`` is not told of that plan,
    for it would look near to it. The effort is divided by ``share``, and is ``times`` as much. Its
    times may be by ``rules`` of its own.
    """

    model: Callable[..., Model]
    proves: bool = True
    share: int = 1
    times: int = 1
    where_hard: bool = False
    shaves: bool = False
    betters: bool = False
    hinted: bool = True
    rules: Callable[[], Rules] | None = None


def _ways(rules: Rules) -> tuple[_Way, ...]:
    """Return models, each for what the one before leaves open."""
    shares = partial(SharesModel, rules)

    def pieces(times: Times, *, bound: int, latest: int, most: int | None = None) -> Model:
        return Model(rules.problem, times, bound=bound, latest=latest, most_pieces=most)

    few = _Way(model=partial(pieces, most=FEW_PIECES), proves=False, share=LOOK, hinted=False)
    if not rules.spans_suffice:
        return (
            replace(few, share=GLANCE),
            _Way(model=shares, shaves=True, betters=True),
            _Way(model=partial(shares, cell=FINE_CELL), betters=True),
            replace(few, betters=True),
            _Way(model=pieces, betters=True, times=LAST),
        )
    spans = partial(SpansModel, rules)
    return (
        _Way(model=partial(spans, scraps=False, shared=False), proves=False, share=LOOK),
        _Way(model=shares, where_hard=True, shaves=True, betters=True),
        _Way(model=partial(spans, scraps=False, shared=True)),
        replace(few, betters=True),
        _Way(model=partial(spans, scraps=True, shared=True), betters=True),
        _Way(model=partial(spans, scraps=True, shared=True, rooms=True), betters=True),
        # pieces of twins in order may be too short
        _Way(
            model=pieces,
            betters=True,
            times=LAST,
            rules=partial(Rules, rules.problem, twins_in_order=False),
        ),
    )


def _solved(
    model: Model,
    hint: Plan | None,
    *,
    at_least: int,
    seed: int,
    effort: int,
    rounds: int | None,
    stops: Callable[[], bool],
) -> tuple[Proof, bool]:
    """Return what the solver says, and whether it has looked at all there is."""
    from ortools.sat.python import cp_model

    if hint is not None:
        model.hint(hint)
    solver = solver_for(effort * ROUND_SECONDS, seed, model.means)
    seen = _seen(model, rounds)
    status = _status(solver, model, seen, stops)
    count = len(seen.found)
    if status == cp_model.INFEASIBLE:
        return Proof(status="infeasible", plan=None, bound=at_least, rounds=effort), True
    plan = _best_plan(model, seen.found, stops)
    if status == cp_model.OPTIMAL:
        at_least, count = round(solver.objective_value), count + effort
    elif solver.response_proto.deterministic_time >= effort * ROUND_SECONDS:
        if model.least == "finish":
            at_least = max(at_least, int(solver.best_objective_bound))
        count += effort
    found: Status = "unknown" if plan is None else "feasible"
    if plan is not None and model.worth(plan) <= at_least:
        found = "optimal"
    proof = Proof(status=found, plan=plan, bound=at_least, rounds=count)
    return proof, status == cp_model.OPTIMAL


def _status(solver: Any, model: Model, seen: Any, stops: Callable[[], bool]) -> Any:
    """Solve in a thread beside this one, which asks whether to stop; return how that ended.

    The clock has no part in it: what is found, and in which order, stays the same.
    """
    with ThreadPoolExecutor(max_workers=1) as beside:
        going = beside.submit(solver.solve, model.model, seen)
        try:
            while not wait((going,), ASKED_EACH_S).done and not stops():
                pass
        finally:
            while not wait((going,), 0.0).done:
                solver.stop_search()  # that does nothing before the search has begun
                wait((going,), ASKED_EACH_S)
        return going.result()


def _best_plan(
    model: Model, found: Sequence[tuple[int, list[Piece]]], stops: Callable[[], bool]
) -> Plan | None:
    """Return the best plan of what was found last; of what is no better itself, none is looked for.

    Args:
        model: That it was found by.
        found: (what is to be least, pieces).
        stops: See ``prove``.
    """
    best: Plan | None = None
    for value, raw in found[: -TRIED - 1 : -1]:
        if (best is not None and model.worth(best) <= value) or stops():
            break
        plan = model.plan(raw)
        if plan is not None and (best is None or model.worth(plan) < model.worth(best)):
            best = plan
    return best


def _seen(model: Model, most: int | None) -> Any:
    """Return a callback that keeps what is found, and stops behind so many."""
    from ortools.sat.python import cp_model

    class Seen(cp_model.CpSolverSolutionCallback):
        def __init__(self) -> None:
            super().__init__()
            self.found: list[tuple[int, list[Piece]]] = []

        def on_solution_callback(self) -> None:
            self.found.append((round(self.objective_value), model.raw(self.value)))
            if len(self.found) == most:
                self.stop_search()

    return Seen()

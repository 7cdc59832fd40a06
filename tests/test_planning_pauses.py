"""Small batches with work that pauses over breaks, held against every order and every piece."""

import random
from collections.abc import Callable, Sequence
from itertools import pairwise, permutations, product
from typing import Any

import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.bounds import Bounds
from hidewright.planning.calendar import DAY, every_day
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.exact import prove, prove_in_spans
from hidewright.planning.goals import USUAL_GOALS
from hidewright.planning.plan import Plan
from hidewright.planning.problem import (
    Hold,
    Kind,
    Machine,
    Operation,
    Person,
    Problem,
    Station,
    Wait,
)
from hidewright.planning.rules import Rules
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.search import Search
from hidewright.planning.small_batch import SMALL_ARTICLES, provable

Windows = tuple[tuple[int, int], ...]
#: Windows as short as the work, so that it reaches into several and a least part counts.
DAYS: tuple[Windows, ...] = (
    ((30, 70), (80, 130), (150, 190)),
    ((60, 120), (150, 200)),
    ((100, 160),),
)
KINDS: tuple[Kind, ...] = ("never", "breaks", "breaks", "any")
MACHINES: tuple[Machine, ...] = ("booth", "laser")


def whole_work(
    draw: random.Random, most: int, kinds: Sequence[Kind], persons_of: Callable[..., Any]
) -> Problem:
    """Return three operations at least and so many at most that other work does not split."""
    least, operations = draw.choice((1, 6, 11)), []
    for load in range(draw.randint(3, most)):
        kind = draw.choice(kinds)
        operations.append(
            Operation(
                load=load // 2,
                step=f"step {load}",
                minutes=draw.randint(3, 30 if kind == "never" else 75),
                kind=kind,
                least_part=least,
                colour=draw.choice(("black", "brown", None)),
                machine="laser",
            )
        )
    waits = [
        Wait(before=a, after=b, least=draw.choice((0, 0, 7, 45)))
        for a, b in pairwise(range(len(operations)))
        if operations[a].load == operations[b].load
    ]
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        persons=persons_of(draw),
        board_minutes=draw.choice((0, 9)),
    )


def by_one(seed: int) -> Problem:
    """Return up to five operations of one person, none of which other work may split."""

    def one(draw: random.Random) -> tuple[Person, ...]:
        return (Person(name="Wren", calendar=every_day(draw.choice(DAYS), range(7))),)

    return whole_work(random.Random(seed), 5, ("never", "breaks", "breaks"), one)


def first_finish(problem: Problem) -> int:
    """Return the finish of the best order and doers there are, each work as soon as it can be."""
    numbers = range(len(problem.operations))
    windows = [one.calendar.until(20 * DAY) for one in problem.persons]
    orders = [
        order
        for order in permutations(numbers)
        if all(order.index(w.before) < order.index(w.after) for w in problem.waits)
    ]
    best = 20 * DAY
    for order, doers in product(orders, product(range(len(windows)), repeat=len(numbers))):
        best = min(best, _laid_down(problem, windows, order, doers))
    return best


def _laid_down(
    problem: Problem,
    windows: Sequence[list[tuple[int, int]]],
    order: Sequence[int],
    doers: Sequence[int],
) -> int:
    """Return the finish where each starts as soon as it can, but not before the one before it."""
    ends: dict[int, int] = {}
    free = [0] * len(windows)
    now = machine = 0
    colour = None
    for i in order:
        one = problem.operations[i]
        ready = [now, free[doers[i]]]
        ready += [ends[w.before] + w.least for w in problem.waits if w.after == i]
        setup = 0
        if one.colour is not None:
            ready.append(machine)
            setup = problem.board_minutes if colour not in (None, one.colour) else 0
            colour = one.colour
        now, end = _soonest(windows[doers[i]], max(ready), one, one.minutes + setup)
        ends[i] = free[doers[i]] = end
        machine = end if one.colour is not None else machine
    return max(ends.values())


def _soonest(
    windows: list[tuple[int, int]], ready: int, one: Operation, minutes: int
) -> tuple[int, int]:
    for start in range(ready, windows[-1][1]):
        left = minutes
        parts: list[tuple[int, int]] = []
        for begin, end in windows:
            if left and end > start and (parts or begin <= start):
                parts.append((max(begin, start), min(end, max(begin, start) + left)))
                left -= parts[-1][1] - parts[-1][0]
        if not parts or left or (len(parts) > 1 and one.kind == "never"):
            continue
        if len(parts) == 1 or min(parts[k][1] - parts[k][0] for k in (0, -1)) >= one.least_part:
            return start, parts[-1][1]
    raise AssertionError("it never ends")


def mixed(seed: int) -> Problem:
    """Return two or three loads for one person or two: of all kinds, at machines, with holds."""
    draw = random.Random(seed)
    persons = draw.choice((1, 1, 2))
    windows = draw.choice(DAYS)
    longest, least = max(b - a for a, b in windows), draw.choice((1, 5, 10))
    operations: list[Operation] = []
    waits, holds = [], []
    for load in range(draw.randint(2, 3)):
        first = len(operations)
        for k in range(draw.randint(2, 3)):
            kind = draw.choice(KINDS)
            most = longest - 12 if kind == "never" else longest * 3 // 2
            colour = draw.choice(("black", "brown")) if draw.random() < 0.3 else None
            operations.append(
                Operation(
                    load=load,
                    step=f"step {k}",
                    minutes=draw.randint(3, most),
                    kind=kind,
                    least_part=least,
                    colour=colour,
                    machine=draw.choice(MACHINES),
                )
            )
        for a, b in pairwise(range(first, len(operations))):
            low = draw.choice((0, 0, 5, 30))
            most_wait = None if draw.random() < 0.7 else low + draw.choice((1500, 3000))
            waits.append(Wait(before=a, after=b, least=low, most=most_wait))
            if draw.random() < 0.4:
                holds.append(Hold(station="mould", first=a, last=b))
    person = every_day(windows, range(7))
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        stations=(Station(name="mould", capacity=draw.randint(1, 2)),),
        holds=tuple(holds),
        persons=tuple(Person(name=f"person {k}", calendar=person) for k in range(persons)),
        flush_minutes=draw.choice((0, 8, 12)),
        board_minutes=draw.choice((0, 5)),
    )


def begun_with(problem: Problem) -> Plan | None:
    """Return a plan to begin with, where the rules alone find one."""
    dispatcher = Dispatcher(Bench(problem))
    search = Search(problem, dispatcher, Bounds(problem, dispatcher.bench), USUAL_GOALS, 0)
    found = next(iter(search.rounds()))
    return found.draft.plan() if found.draft is not None else None


def holds_at_the_best_order(problem: Problem, hint: Plan | None) -> None:
    """Let both proofs end at the finish of the best order there is."""
    best = first_finish(problem)
    assert hint is not None
    assert hint.finish >= best
    pieces = prove(problem, bound=0, hint=hint, latest=hint.finish, seed=0, effort=500)
    spans = prove_in_spans(Rules(problem), bound=0, hint=hint, seed=0, effort=500)
    for proof in (pieces, spans):
        assert (proof.status, proof.bound) == ("optimal", best)
        assert proof.plan is not None
        assert (proof.plan.finish, breaches(problem, proof.plan)) == (best, ())


def holds_as_by_every_piece(problem: Problem, hint: Plan) -> None:
    """Let no proof contradict the plan of the other, and the fast one be no weaker."""
    pieces = prove(problem, bound=0, hint=hint, latest=hint.finish, seed=0, effort=200)
    spans = prove_in_spans(Rules(problem), bound=0, hint=hint, seed=0, effort=200)
    for proof in (pieces, spans):
        if proof.plan is not None:
            assert breaches(problem, proof.plan) == ()
    assert spans.plan is not None
    assert pieces.bound <= spans.plan.finish
    assert pieces.plan is None or spans.bound <= pieces.plan.finish
    assert spans.status == "optimal" or pieces.status != "optimal"


@pytest.mark.parametrize("seed", range(30))
def test_what_pauses_is_proven_at_the_finish_of_the_best_order(seed: int) -> None:
    problem = by_one(seed)
    holds_at_the_best_order(problem, begun_with(problem))


@pytest.mark.parametrize(
    "seed",
    [*range(12), *(pytest.param(k, marks=pytest.mark.sweep) for k in range(12, 300))],
)
def test_work_of_all_kinds_is_proven_as_by_every_piece(seed: int) -> None:
    problem = mixed(seed)
    hint = begun_with(problem)
    if hint is None:
        pytest.skip("no plan by rules alone")
    holds_as_by_every_piece(problem, hint)


def test_a_first_off_is_no_hindrance_to_a_proof() -> None:
    problem = mixed(4)
    pausing = [i for i, one in enumerate(problem.operations) if one.kind == "breaks"]
    assert not all(problem.in_one_go(i) for i in pausing)
    assert provable(problem, USUAL_GOALS)
    answer = schedule(problem, seed=0, budget=Budget(rounds=1, proof_rounds=3000))
    assert answer.status == "optimal"


@pytest.mark.parametrize("articles", [SMALL_ARTICLES, SMALL_ARTICLES + 1])
def test_eight_articles_are_small_however_long_their_way(articles: int) -> None:
    steps = [
        Operation(load=load, step=f"step {k}", minutes=5, pieces=k % 2 + 1)
        for load in range(articles // 2)
        for k in range(60)
    ]
    steps += [Operation(load=articles, step="last", minutes=5)] * (articles % 2)
    nine_to_five = every_day(((540, 1020),), range(5))
    problem = Problem(
        operations=tuple(steps), persons=(Person(name="Wren", calendar=nine_to_five),)
    )
    assert provable(problem, USUAL_GOALS) == (articles <= SMALL_ARTICLES)


def test_a_machine_that_needs_no_setting_up_takes_one_work_at_a_time_all_the_same() -> None:
    both = every_day(((540, 1020),), range(5))
    steps = [Operation(load=k, step="dye", minutes=40 + k, colour="black") for k in range(3)]
    problem = Problem(
        operations=tuple(steps), persons=tuple(Person(name=n, calendar=both) for n in ("A", "B"))
    )
    hint = begun_with(problem)
    assert hint is not None
    proof = prove(problem, bound=0, hint=hint, latest=hint.finish, seed=0, effort=100)
    assert (proof.status, proof.bound) == ("optimal", 540 + 40 + 41 + 42)

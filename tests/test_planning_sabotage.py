"""A thousand sabotaged plans: the checker rejects each of them, by the rule that was broken."""

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from hidewright.planning import acceptance
from hidewright.planning.acceptance import breaches
from hidewright.planning.calendar import every_day
from hidewright.planning.plan import Plan
from hidewright.planning.problem import (
    Hold,
    Operation,
    Order,
    Person,
    Problem,
    Span,
    Station,
    Wait,
)
from hidewright.planning.schedule import Budget, schedule

LOADS, ROUNDS = 5, 10
Sabotaged = tuple[Problem, Plan] | None


def workshop(draw: random.Random) -> Problem:
    """Return loads that hold a mould overnight, are sprayed, glued in time, sewn and waxed."""
    operations: list[Operation] = []
    waits: list[Wait] = []
    holds: list[Hold] = []
    for load in range(LOADS):
        first = len(operations)
        route = (
            ("soak", 3, "never", None, 0, None),
            ("press", 10, "never", None, 10, 25),
            ("demould", 4, "never", None, 720, None),
            ("dye", 12, "never", ("black", "brown")[load % 2], 0, None),
            ("glue", 8, "never", None, 180, None),
            ("clamp", 6, "never", None, 5, 20),
            ("sew", draw.randint(120, 240), "any", None, 45, None),
            ("wax", draw.randint(200, 260), "breaks", None, 0, None),
        )
        for k, (step, minutes, kind, colour, least, most) in enumerate(route):
            if k:
                waits.append(Wait(before=first + k - 1, after=first + k, least=least, most=most))
            operations.append(
                Operation(load=load, step=step, minutes=minutes, kind=kind, colour=colour)  # type: ignore[arg-type]
            )
        holds.append(Hold(station="mould", first=first + 1, last=first + 2))
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        stations=(Station(name="mould", capacity=2),),
        holds=tuple(holds),
        persons=tuple(
            Person(name=name, calendar=every_day(((540, 750), (810, 1020)), range(5)))
            for name in ("one", "two")
        ),
        flush_minutes=15,
        orders=(Order(release=600),),
    )


def moved(plan: Plan, old: Span, **change: int) -> Plan:
    new = replace(old, **change)
    return Plan(spans=tuple(sorted(new if span == old else span for span in plan.spans)))


def shifted(plan: Plan, operation: int, by: int) -> Plan:
    return Plan(
        spans=tuple(
            sorted(
                replace(one, start=one.start + by, end=one.end + by)
                if one.operation == operation
                else one
                for one in plan.spans
            )
        )
    )


# Each returns a problem and a plan that breaks it, or None where there is nothing to break there.


def too_short(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    return problem, moved(plan, span := draw.choice(plan.spans), end=span.end - 1)


def left_out(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    gone = draw.randrange(len(problem.operations))
    return problem, Plan(spans=tuple(one for one in plan.spans if one.operation != gone))


def into_a_break(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    one = draw.choice(plan.spans)
    length = one.end - one.start
    day = one.start // 1440 * 1440
    begin = day + draw.choice((750 - length + 1, 809, 1020 - length + 1, 539))
    return problem, moved(plan, one, start=begin, end=begin + length)


def wait_cut_short(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    wait = draw.choice(problem.waits)
    spans = plan.spans_of()
    waited = spans[wait.after][0].start - spans[wait.before][-1].end
    return problem, shifted(plan, wait.after, wait.least - 1 - waited)


def wait_drawn_out(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    wait = draw.choice([one for one in problem.waits if one.most is not None])
    spans = plan.spans_of()
    waited = spans[wait.after][0].start - spans[wait.before][-1].end
    assert wait.most is not None
    return problem, shifted(plan, wait.after, wait.most + 1 - waited)


def one_mould_less(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    """Take a mould away, or let a hold take one more, where two are in use at once."""
    spans = plan.spans_of()
    times = [
        (spans[h.first][0].start, spans[h.last][-1].end, k) for k, h in enumerate(problem.holds)
    ]
    at = draw.choice(times)[0]
    using = [k for start, end, k in times if start <= at < end]
    if len(using) < 2:
        return None
    if draw.random() < 0.5:
        holds = list(problem.holds)
        k = draw.choice(using)
        holds[k] = replace(holds[k], amount=2)
        return replace(problem, holds=tuple(holds)), plan
    return replace(problem, stations=(Station(name="mould", capacity=1),)), plan


def no_flush(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    flushed = [
        one
        for one in plan.spans
        if problem.operations[one.operation].step == "dye" and one.end - one.start > 12
    ]
    one = draw.choice(flushed)
    return problem, moved(plan, one, start=one.start + problem.flush_minutes)


def two_things_at_once(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    one = draw.choice(plan.spans)
    beside = [
        other
        for other in plan.spans
        if other.person != one.person and one.start < other.end and other.start < one.end
    ]
    return (problem, moved(plan, one, person=beside[0].person)) if beside else None


def split_in_two(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    whole = [s for s in plan.spans if problem.operations[s.operation].kind == "never"]
    one = draw.choice(whole)
    middle = draw.randrange(one.start + 1, one.end)
    parts = (replace(one, end=middle), replace(one, start=middle))
    return problem, Plan(spans=tuple(sorted([*(s for s in plan.spans if s != one), *parts])))


def crumb(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    sewn = [s for s in plan.spans if problem.operations[s.operation].kind == "any"]
    one = draw.choice(sewn)
    middle = one.start + draw.randrange(1, 10)
    parts = (replace(one, end=middle), replace(one, start=middle))
    return problem, Plan(spans=tuple(sorted([*(s for s in plan.spans if s != one), *parts])))


def before_its_order(problem: Problem, plan: Plan, draw: random.Random) -> Sabotaged:
    first = min(plan.spans)
    orders = (replace(problem.orders[0], release=first.start + draw.randint(1, 30)),)
    return replace(problem, orders=orders), plan


SABOTEURS: tuple[tuple[Callable[[Problem, Plan, random.Random], Sabotaged], set[str]], ...] = (
    (too_short, {"work"}),
    (left_out, {"work"}),
    (into_a_break, {"hours"}),
    (wait_cut_short, {"wait"}),
    (wait_drawn_out, {"wait"}),
    (one_mould_less, {"station"}),
    (no_flush, {"work"}),
    (two_things_at_once, {"hands"}),
    (split_in_two, {"pieces"}),
    (crumb, {"pieces"}),
    (before_its_order, {"release"}),
)


@pytest.fixture(scope="module")
def good() -> list[tuple[Problem, Plan]]:
    made = []
    for seed in range(4):
        problem = workshop(random.Random(seed))
        answer = schedule(problem, seed=seed, budget=Budget(rounds=ROUNDS))
        assert answer.plan is not None
        assert breaches(problem, answer.plan) == ()
        made.append((problem, answer.plan))
    return made


def test_each_of_a_thousand_sabotaged_plans_is_rejected(good: list[tuple[Problem, Plan]]) -> None:
    draw = random.Random(0)
    done = dict.fromkeys(range(len(SABOTEURS)), 0)
    number = 0
    while sum(done.values()) < 1000:
        which = number % len(SABOTEURS)
        number += 1
        sabotage, rules = SABOTEURS[which]
        problem, plan = draw.choice(good)
        spoilt = sabotage(problem, plan, draw)
        if spoilt is None:
            continue
        done[which] += 1
        broken = {one.rule for one in breaches(*spoilt)}
        assert broken & rules, (sabotage.__name__, broken)
    assert min(done.values()) > 20


def test_the_checker_shares_only_nouns_with_the_engine() -> None:
    made_of = {
        value.__module__
        for value in vars(acceptance).values()
        if getattr(value, "__module__", "").startswith("hidewright")
    }
    assert made_of == {
        "hidewright.planning.acceptance",
        "hidewright.planning.plan",
        "hidewright.planning.problem",
    }

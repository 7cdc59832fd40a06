"""Plans that the solver found, whose work is begun as soon as can be."""

from dataclasses import replace

import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.calendar import DAY, every_day
from hidewright.planning.exact import begun_sooner
from hidewright.planning.plan import Plan, lateness
from hidewright.planning.problem import Operation, Order, Person, Problem, Span, Wait
from hidewright.planning.schedule import Budget, schedule
from test_planning_crews import of_all_kinds
from test_planning_pauses import begun_with, mixed


@pytest.mark.parametrize("seed", range(8))
def test_what_is_begun_sooner_is_as_good_and_keeps_every_rule(seed: int) -> None:
    for made in (mixed, of_all_kinds):
        problem = made(seed)
        late = begun_with(replace(problem, now=2 * DAY))
        if late is None:
            continue
        dated = replace(problem, orders=(Order(due=late.finish - 100),))
        for by_date in (None, lateness(dated, late)):
            sooner = begun_sooner(dated, late, late_at_most=by_date, seed=0)
            assert breaches(dated, sooner) == ()
            assert sooner.finish <= late.finish
            assert sum(sooner.starts().values()) < sum(late.starts().values()) - DAY


def test_what_can_be_begun_at_once_is_and_no_machine_is_set_up_more_for_it() -> None:
    """Dyed black (and sewn), sewn, black and brown: starts of 0, 60, 90 and 150 minutes.

    Brown before the second black would begin at 90 and that at 148, two minutes sooner in all, but
    for a change of colour more; brown first, they are 0, 38, 118 and 148, four minutes later.
    """
    minutes = (60, 38, 60, 30)
    colours = ("black", "brown", "black", None)
    problem = Problem(
        operations=tuple(
            Operation(load=k, step=f"step {k}", minutes=m, colour=c)
            for k, (m, c) in enumerate(zip(minutes, colours, strict=True))
        ),
        waits=(Wait(before=2, after=3, least=0),),
        persons=(Person(name="Wren", calendar=every_day(((0, 600),))),),
        flush_minutes=20,
    )
    spans = ((100, 138, 1), (200, 280, 2), (280, 310, 3), (400, 460, 0))
    plan = Plan(spans=tuple(Span(start=a, end=b, operation=i, person=0) for a, b, i in spans))
    assert breaches(problem, plan) == ()
    sooner = begun_sooner(problem, plan, late_at_most=None, seed=0)
    assert sooner.starts() == {2: 0, 3: 60, 0: 90, 1: 150}
    assert breaches(problem, sooner) == ()


@pytest.mark.parametrize(
    "problem", [mixed(3), mixed(9), of_all_kinds(1), of_all_kinds(33)], ids="abcd"
)
def test_what_is_proven_best_is_not_put_off(problem: Problem) -> None:
    answer = schedule(problem, seed=0, budget=Budget(rounds=1, proof_rounds=3000))
    assert answer.status == "optimal"
    assert answer.plan is not None
    sooner = begun_sooner(problem, answer.plan, late_at_most=None, seed=0)
    assert sum(sooner.starts().values()) == sum(answer.plan.starts().values())

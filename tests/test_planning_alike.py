"""Loads that differ in some steps: what is put in order is in some best plan."""

import random
from dataclasses import replace

import pytest
from ortools.sat.python import cp_model

from hidewright.planning.alike import colours_alike, stretches
from hidewright.planning.calendar import every_day
from hidewright.planning.exact_model import Model, solver_for
from hidewright.planning.exact_spans import SpansModel
from hidewright.planning.problem import (
    Hold,
    Kind,
    Operation,
    Order,
    Person,
    Problem,
    Station,
    Wait,
)
from hidewright.planning.rules import Rules
from hidewright.planning.shaving import in_time

HOURS = ((540, 640), (680, 780))
STEPS: tuple[tuple[str, int, Kind, int, int | None], ...] = (
    ("press", 9, "never", 0, None),
    ("demould", 5, "never", 50, None),
    ("dye", 8, "never", 0, None),
    ("glue", 6, "never", 15, 30),
    ("sew", 24, "any", 20, None),
    ("wax", 7, "never", 15, None),
)


def route(
    colours: str, sewing: tuple[int, ...], *, persons: int = 1, moulds: int = 1, seed: int = 0
) -> Problem:
    """Return loads of six steps, each of one colour, with its own minutes of sewing."""
    draw = random.Random(seed)
    minutes = {step: work + draw.randint(0, 5) for step, work, *_ in STEPS}
    operations: list[Operation] = []
    waits: list[Wait] = []
    holds: list[Hold] = []
    for load, (colour, sewn) in enumerate(zip(colours, sewing, strict=True)):
        first = len(operations)
        for k, (step, _, kind, least, most) in enumerate(STEPS):
            if k:
                waits.append(Wait(before=first + k - 1, after=first + k, least=least, most=most))
            operations.append(
                Operation(
                    load=load,
                    step=step,
                    minutes=sewn if step == "sew" else minutes[step],
                    kind=kind,
                    order=load % 2,
                    colour=colour if step == "dye" else None,
                )
            )
        holds.append(Hold(station="mould", first=first, last=first + 1))
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        stations=(Station(name="mould", capacity=moulds),),
        holds=tuple(holds),
        persons=tuple(Person(name=str(k), calendar=every_day(HOURS)) for k in range(persons)),
        flush_minutes=11,
        orders=(Order(name="a"), Order(name="b")),
    )


def steps_of(problem: Problem, rows: tuple[tuple[int, int], ...]) -> list[str]:
    return [problem.operations[a].step for a, _ in rows]


def test_what_lies_between_steps_that_differ_is_in_the_order_of_those_beside_it() -> None:
    """One colour, one order: only the sewing differs."""
    problem = replace(route("bb", (24, 30)), orders=(Order(), Order()))
    one_order = tuple(replace(one, order=0) for one in problem.operations)
    before, behind = stretches(replace(problem, operations=one_order), in_pieces=False)
    assert steps_of(problem, before.rows) == ["press", "demould", "dye", "glue"]
    assert before.beside == ((4, 10, False),)
    assert steps_of(problem, behind.rows) == ["wax"]
    assert behind.beside == ((4, 10, True),)


def test_the_order_counts_at_the_last_step_alone_and_a_colour_where_another_load_has_it() -> None:
    problem = route("bbt", (24, 24, 24))
    told = [
        (steps_of(problem, one.rows), one.beside) for one in stretches(problem, in_pieces=False)
    ]
    assert told == [
        (["press", "demould", "dye", "glue", "sew"], ((5, 11, False),)),
        (["press", "demould"], ((2, 14, False),)),
        (["glue", "sew", "wax"], ((2, 14, True),)),
        (["press", "demould"], ((8, 14, False),)),
        (["glue", "sew"], ((8, 14, True), (11, 17, False))),
    ]


def test_what_may_be_split_is_no_stretch_where_its_pieces_are_kept() -> None:
    problem = route("bt", (24, 24))
    told = [steps_of(problem, one.rows) for one in stretches(problem, in_pieces=True)]
    assert told == [["press", "demould", "dye", "glue"]]


def test_colours_of_the_same_loads_may_change_names() -> None:
    problem = route("bbtt", (24, 30, 24, 30))
    (pair,) = colours_alike(problem)
    assert [problem.operations[i].colour for i in pair[0][:2]] == ["b"] * 2
    assert [problem.operations[i].colour for i in pair[1][:2]] == ["t"] * 2
    # loads of other minutes
    assert colours_alike(route("bbtt", (24, 30, 24, 31))) == []


class AllPlans(Model):
    """The model that puts nothing in order."""

    def _twins(self) -> None:
        pass


def least(model: Model, most: int) -> int:
    model.aim("finish", 0, most)
    solver = solver_for(20.0)
    assert solver.solve(model.model) == cp_model.OPTIMAL
    found: int = round(solver.objective_value)
    return found


@pytest.mark.parametrize("seed", range(6))
def test_some_best_plan_is_in_order(seed: int) -> None:
    draw = random.Random(seed)
    loads = draw.choice((2, 3))
    colours = "".join(draw.choice("bt") for _ in range(loads))
    sewing = tuple(draw.choice((20, 24)) for _ in range(loads))
    persons = draw.choice((1, 1, 2))
    problem = route(colours, sewing, persons=persons, moulds=draw.choice((1, 2)), seed=seed)
    dated = replace(problem, orders=tuple(Order(name=k, due=draw.randint(600, 2500)) for k in "ab"))
    late = draw.randint(0, 2500)
    bare = AllPlans(dated, bound=0, latest=9000)
    bare.aim("late", 0, 20000)
    solver = solver_for(20.0)
    assert solver.solve(bare.model) == cp_model.OPTIMAL
    late += round(solver.objective_value)
    finish = least(AllPlans(dated, bound=0, latest=9000), late)
    assert least(Model(dated, bound=0, latest=9000), late) == finish
    if persons == 1:
        times = in_time(Rules(dated), finish, late)
        spans = SpansModel(
            Rules(dated), times, bound=0, latest=finish, scraps=True, shared=True, rooms=True
        )
        assert least(spans, late) <= finish

"""What is proven without the pieces of what is split, held against the model that has them all."""

import random
from dataclasses import replace

import pytest
from ortools.sat.python import cp_model

from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import NEVER
from hidewright.planning.calendar import every_day
from hidewright.planning.exact import Proof, prove, prove_in_spans
from hidewright.planning.exact_model import Means, Model, solver_for
from hidewright.planning.exact_shares import CELL, FINE_CELL, SharesModel
from hidewright.planning.exact_spans import SpansModel
from hidewright.planning.plan import Plan, lateness
from hidewright.planning.problem import (
    Hold,
    Kind,
    Operation,
    Order,
    Person,
    Problem,
    Span,
    Station,
    Wait,
)
from hidewright.planning.rules import Rules
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.shaving import in_time, shaved
from hidewright.planning.twins import twins

HOURS = ((540, 640), (680, 780))


def seeds(quick: int, slow: int, all_of_them: int) -> list[object]:
    """Return seeds: so many for every run, so many with the slow ones, the rest for sweeps."""
    return [
        *range(quick),
        *(pytest.param(k, marks=pytest.mark.slow) for k in range(quick, slow)),
        *(pytest.param(k, marks=pytest.mark.sweep) for k in range(slow, all_of_them)),
    ]


def small(seed: int) -> Problem:
    """Return two or three loads, some of them the same, much of whose work may be split."""
    draw = random.Random(seed)
    operations: list[Operation] = []
    waits: list[Wait] = []
    holds: list[Hold] = []
    minutes = [draw.randint(4, 12) for _ in range(6)]
    loads = draw.choice((2, 2, 3))
    for load in range(loads):
        first = len(operations)
        other = draw.choice((0, 0, draw.randint(1, 9)))
        route: tuple[tuple[str, int, Kind, int, int | None], ...] = (
            ("soak", minutes[0], "never", 0, None),
            ("press", minutes[1], "never", 5, 40),
            ("demould", minutes[2], "never", 60, None),
            ("sew", 4 * minutes[3] + other, "any", 0, None),
            ("dye", minutes[4], "never", 0, None),
            ("edge", 2 * minutes[5] + other, "any", 20, None),
            ("wax", 5, "never", 15, None),
        )
        for k, (step, work, kind, least, most) in enumerate(route):
            if k:
                waits.append(Wait(before=first + k - 1, after=first + k, least=least, most=most))
            colour = ("black", "brown")[load % 2] if step == "dye" else None
            operations.append(
                Operation(
                    load=load,
                    step=step,
                    minutes=work,
                    kind=kind,
                    order=load % 2,
                    colour=colour,
                )
            )
        holds.append(Hold(station="mould", first=first + 1, last=first + 2))
    return Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        stations=(Station(name="mould", capacity=draw.choice((1, 2))),),
        holds=tuple(holds),
        persons=(Person(name="one", calendar=every_day(HOURS)),),
        flush_minutes=11,
        orders=tuple(
            Order(name=f"{k}", due=draw.randint(600, 3000), weight=draw.randint(1, 2))
            for k in range(2)
        ),
    )


def begun(problem: Problem) -> Plan:
    answer = schedule(
        replace(problem, orders=(Order(),) * len(problem.orders)), seed=0, budget=Budget(rounds=30)
    )
    assert answer.plan is not None
    return answer.plan


def least_late_by_pieces(problem: Problem, hint: Plan, late: int, seed: int, effort: int) -> Proof:
    """Return what the model of all pieces finds and proves of the least lateness."""
    latest = max((one.due or 0) + late // one.weight for one in problem.orders)
    return prove(
        problem,
        bound=0,
        hint=hint,
        latest=latest,
        seed=seed,
        effort=effort,
        least="late",
        late_at_most=late,
    )


def by_spans(
    problem: Problem, hint: Plan, late: int | None = None, effort: int = 100, bound: int = 0
) -> Proof:
    return prove_in_spans(
        Rules(problem),
        bound=bound,
        hint=hint,
        seed=0,
        effort=effort,
        least="finish" if late is None else "late",
        late_at_most=late,
    )


@pytest.mark.parametrize("seed", seeds(3, 14, 40))
def test_the_best_finish_by_spans_is_the_best_by_all_pieces(seed: int) -> None:
    problem = small(seed)
    hint = begun(problem)
    pieces = prove(problem, bound=0, hint=hint, latest=hint.finish, seed=seed, effort=15)
    spans = by_spans(problem, hint)
    assert pieces.plan is not None
    assert spans.plan is not None
    assert breaches(problem, spans.plan) == ()
    assert spans.bound <= pieces.plan.finish
    assert pieces.bound <= spans.plan.finish
    assert spans.status == "optimal" or seed == 14  # that needs more effort
    if pieces.status == spans.status == "optimal":
        assert spans.plan.finish == pieces.plan.finish


@pytest.mark.parametrize("seed", seeds(6, 20, 40))
def test_the_least_lateness_by_spans_is_the_least_by_all_pieces(seed: int) -> None:
    problem = small(seed)
    hint = begun(problem)
    late = lateness(problem, hint)
    if not late:
        problem = replace(
            problem, orders=tuple(replace(one, due=hint.finish - 150) for one in problem.orders)
        )
        late = lateness(problem, hint)
    pieces = least_late_by_pieces(problem, hint, late, seed, effort=15)
    spans = by_spans(problem, hint, late)
    assert pieces.plan is not None
    assert spans.plan is not None
    assert breaches(problem, spans.plan) == ()
    assert spans.bound <= lateness(problem, pieces.plan)
    assert spans.status == "optimal" or seed == 17
    if pieces.status == spans.status == "optimal":
        assert lateness(problem, spans.plan) == lateness(problem, pieces.plan)


def test_scraps_of_time_count_where_there_is_no_plan_without() -> None:
    """Soaked for 5 minutes, pressed 5 minutes later for 10: a piece of sewing is longer than 5."""
    problem = Problem(
        operations=(
            Operation(load=0, step="soak", minutes=5),
            Operation(load=0, step="press", minutes=10),
            Operation(load=1, step="sew", minutes=25, kind="any"),
            Operation(load=2, step="sew", minutes=35, kind="any"),
        ),
        waits=(Wait(before=0, after=1, least=5, most=5),),
        persons=(Person(name="Wren", calendar=every_day(((540, 720),))),),
    )
    hint = begun(problem)
    proof = by_spans(problem, hint)
    assert proof.status == "optimal"
    assert proof.bound == 540 + 5 + 5 + 10 + 25 + 35


def test_spans_do_for_one_pair_of_hands_and_no_largest_wait_beside_what_is_split() -> None:
    problem = small(0)
    assert Rules(problem).spans_suffice
    two = replace(problem, persons=(*problem.persons, *problem.persons))
    assert not Rules(two).spans_suffice
    for k, wait in enumerate(problem.waits[:4]):
        soon = (*problem.waits[:k], replace(wait, most=90), *problem.waits[k + 1 :])
        # waits behind the soaking, pressing, demoulding and sewing: the last two touch the sewing
        assert Rules(replace(problem, waits=soon)).spans_suffice is (k < 2)


def test_what_was_one_piece_is_shared_out_where_spans_would_cross() -> None:
    """Windows of 13, 12, 11 and 10 minutes, 13 + 11 of one work and 12 + 10 of another.

    No window holds two pieces of ten, and the first work is followed by waxing 29 minutes later: to
    end with that at 625 the works cross. Uncrossed, one minute of the second window is left for the
    second work.
    """
    windows = ((540, 553), (560, 572), (580, 591), (600, 610), (620, 720))
    problem = Problem(
        operations=(
            Operation(load=0, step="sew", minutes=24, kind="any"),
            Operation(load=0, step="wax", minutes=5),
            Operation(load=1, step="sew", minutes=22, kind="any"),
        ),
        waits=(Wait(before=0, after=1, least=29),),
        persons=(Person(name="Wren", calendar=every_day(windows)),),
    )
    late = ((0, 620, 644), (2, 644, 666), (1, 673, 678))
    hint = Plan(spans=tuple(Span(operation=i, start=a, end=b, person=0) for i, a, b in late))
    rules, made = Rules(problem), {}
    for shared in (True, False):
        model = SpansModel(
            rules,
            shaved(rules, [hint.finish] * 3),
            bound=0,
            latest=hint.finish,
            scraps=False,
            shared=shared,
        )
        model.aim("finish", 0, None)
        solver = solver_for(1.0)
        solver.solve(model.model)
        made[shared] = round(solver.objective_value)
    assert made[True] == 625 < made[False]
    proof = by_spans(problem, hint)
    assert (proof.status, proof.bound) == ("optimal", 625)


def test_what_is_left_behind_a_break_is_a_piece_beside_what_lies_in_the_span() -> None:
    """Soaking is over at 625: of 20 minutes of edges 10 are done by the break, though 15 would fit.

    Behind it, at 680, are 50 of sewing, which then rests longer, and 10 of them, with 30 to dry
    and a minute of wax behind.
    """
    problem = Problem(
        operations=(
            Operation(load=0, step="soak", minutes=85),
            Operation(load=1, step="edge", minutes=20, kind="any"),
            Operation(load=1, step="wax", minutes=1),
            Operation(load=2, step="sew", minutes=50, kind="any"),
            Operation(load=2, step="wax", minutes=1),
        ),
        waits=(
            Wait(before=0, after=1),
            Wait(before=1, after=2, least=30),
            Wait(before=0, after=3, least=55),
            Wait(before=3, after=4, least=35),
        ),
        persons=(Person(name="Wren", calendar=every_day(HOURS)),),
    )
    hint = begun(problem)
    for shared in (False, True):
        model = SpansModel(
            Rules(problem),
            shaved(Rules(problem), [hint.finish] * 5),
            bound=0,
            latest=hint.finish,
            scraps=False,
            shared=shared,
            rooms=True,
        )
        model.aim("finish", 0, None)
        solver = solver_for(1.0)
        solver.solve(model.model)
        assert round(solver.objective_value) == 680 + 50 + 10 + 30 + 1
    assert by_spans(problem, hint).status == "optimal"


@pytest.mark.parametrize("seed", seeds(3, 14, 40))
def test_no_plan_of_all_pieces_beats_spans_with_their_rooms(seed: int) -> None:
    problem = small(seed)
    hint = begun(problem)
    pieces = prove(problem, bound=0, hint=hint, latest=hint.finish, seed=seed, effort=15)
    assert pieces.plan is not None
    model = SpansModel(
        Rules(problem),
        in_time(Rules(problem), pieces.plan.finish, None),
        bound=0,
        latest=pieces.plan.finish,
        scraps=True,
        shared=True,
        rooms=True,
    )
    model.aim("finish", 0, None)
    solver = solver_for(1.0)
    assert solver.solve(model.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN)
    assert solver.best_objective_bound <= pieces.plan.finish


@pytest.mark.parametrize("seed", range(8))
def test_times_without_twins_in_order_hold_plans_with_twins_in_any_order(seed: int) -> None:
    problem = small(seed)
    plan = begun(problem)
    times = in_time(Rules(problem, twins_in_order=False), plan.finish, None)
    starts = plan.starts()
    for first, second in (((), ()), *twins(problem)):
        other = dict(zip((*first, *second), (*second, *first), strict=True))
        exchanged = {i: starts[other.get(i, i)] for i in starts}
        assert all(times.soonest[i] <= start <= times.latest[i] for i, start in exchanged.items())


def test_twins_are_not_put_in_order_where_a_largest_wait_needs_their_pieces() -> None:
    """Each sewing of 25 minutes fills a window of 15 and one of 10; in order one has 5 left."""
    windows = ((540, 555), (600, 615), (660, 670), (720, 730), (800, 900))
    problem = Problem(
        operations=(
            Operation(load=0, step="sew", minutes=25, kind="any"),
            Operation(load=1, step="sew", minutes=25, kind="any"),
            Operation(load=2, step="edge", minutes=30, kind="any"),
            Operation(load=2, step="wax", minutes=5),
        ),
        waits=(Wait(before=0, after=2), Wait(before=1, after=2), Wait(before=2, after=3, most=90)),
        persons=(Person(name="Wren", calendar=every_day(windows)),),
    )
    assert len(twins(problem)) == 1
    best = prove(problem, bound=0, hint=None, latest=3000, seed=0, effort=100)
    assert (best.status, best.bound) == ("optimal", 800 + 30 + 5)
    assert best.plan is not None
    times = in_time(Rules(problem), best.bound, None)
    starts = best.plan.starts()
    assert all(times.soonest[i] <= starts[i] <= times.latest[i] for i in starts)


def with_a_gap() -> Problem:
    """Return an hour of sewing beside a load that rests for 10 minutes, without any break."""
    return Problem(
        operations=(
            Operation(load=0, step="soak", minutes=5),
            Operation(load=0, step="press", minutes=10),
            Operation(load=1, step="sew", minutes=60, kind="any"),
        ),
        waits=(Wait(before=0, after=1, least=10, most=10),),
        persons=(Person(name="Wren", calendar=every_day(((0, 1440),))),),
    )


def test_hours_without_a_break_have_spans_too() -> None:
    """The soaking is over at 5; 60 minutes of sewing fill the 10 to the pressing and lie behind."""
    problem = with_a_gap()
    proof = by_spans(problem, begun(problem))
    assert (proof.status, proof.bound) == ("optimal", 5 + 10 + 60)


@pytest.mark.parametrize(("most", "finish"), [(1, 5 + 10 + 10 + 60), (2, 5 + 10 + 60)])
def test_what_has_few_pieces_fills_as_many_gaps(most: int, finish: int) -> None:
    """As above: in one piece the sewing is done behind the pressing, or before the soaking."""
    problem = with_a_gap()
    model = Model(problem, bound=0, latest=200, most_pieces=most)
    model.aim("finish", 0, None)
    solver = solver_for(1.0)
    solver.solve(model.model)
    plan = model.plan(model.raw(solver.value))
    assert plan is not None
    assert breaches(problem, plan) == ()
    assert (plan.finish, len(plan.spans_of()[2])) == (finish, most)


def shares_alone(
    problem: Problem, hint: Plan, late: int | None = None, bound: int = 0, cell: int = CELL
) -> int:
    """Return what no plan beats by what hands can do from time to time."""
    rules = Rules(problem)
    times = in_time(rules, hint.finish if late is None else NEVER, late)
    model = SharesModel(rules, times, bound=bound, latest=max(times.latest_end), cell=cell)
    model.aim("finish" if late is None else "late", 0, late)
    solver = solver_for(3.0, means="sums")
    solver.solve(model.model)
    return int(solver.best_objective_bound)


@pytest.mark.parametrize("seed", seeds(3, 20, 60))
def test_no_plan_of_all_pieces_beats_what_hands_can_do_from_time_to_time(seed: int) -> None:
    one = small(seed)
    problem = replace(one, persons=one.persons * (1 + seed % 3))
    hint = begun(problem)
    pieces = prove(problem, bound=0, hint=hint, latest=hint.finish, seed=seed, effort=30)
    assert pieces.plan is not None
    coarse, fine = (shares_alone(problem, pieces.plan, cell=cell) for cell in (CELL, FINE_CELL))
    assert coarse <= fine <= pieces.plan.finish
    shares = by_spans(problem, hint)
    assert shares.plan is not None
    assert breaches(problem, shares.plan) == ()
    assert shares.bound <= pieces.plan.finish
    assert pieces.bound <= shares.plan.finish
    late = lateness(problem, hint)
    if late:
        least = least_late_by_pieces(problem, hint, late, seed, effort=30)
        assert least.plan is not None
        assert shares_alone(problem, hint, late) <= lateness(problem, least.plan)


def five_works() -> Problem:
    """Return five works that may be split, for two pairs of hands."""
    return Problem(
        operations=tuple(
            Operation(load=k, step=f"sew {k}", minutes=50, kind="any") for k in range(5)
        ),
        persons=tuple(Person(name=str(k), calendar=every_day(HOURS)) for k in range(2)),
    )


def test_two_pairs_of_hands_do_no_more_than_both_can() -> None:
    """Five works of 50 minutes fill 100 of each pair and, behind the break, 25."""
    problem = five_works()
    hint = begun(problem)
    assert shares_alone(problem, hint, bound=680) == 680 + 25
    proof = by_spans(problem, hint, bound=680)
    assert (proof.status, proof.bound) == ("optimal", 680 + 25)


def test_a_plan_of_two_pairs_of_hands_is_found_near_to_spans() -> None:
    """As above; each pair of hands works for 125 minutes, and no work is done by both at once."""
    problem = five_works()
    rules = Rules(problem)
    model = SharesModel(rules, in_time(rules, 705, None), bound=0, latest=705)
    model.aim("finish", 0, None)
    spans = [(540, 590), (540, 590), (590, 640), (570, 705), (580, 705)]
    plan = model.plan([(*ends, i, 0) for i, ends in enumerate(spans)])
    assert plan is not None
    assert breaches(problem, plan) == ()
    assert plan.finish == 680 + 25


def test_a_plan_is_found_near_to_spans_where_their_order_leads_to_none() -> None:
    """Between the dips 15 minutes hold ten of sewing, or the waxing and seven that are lost."""
    problem = Problem(
        operations=(
            Operation(load=0, step="dip", minutes=5),
            Operation(load=0, step="dip again", minutes=5),
            Operation(load=1, step="wax", minutes=8),
            Operation(load=2, step="sew", minutes=20, kind="any"),
        ),
        waits=(Wait(before=0, after=1, least=15, most=15),),
        persons=(Person(name="Wren", calendar=every_day(((540, 640),))),),
    )
    rules, finish = Rules(problem), 540 + 5 + 15 + 5 + 8 + 10
    times = in_time(rules, finish, None)
    model = SpansModel(rules, times, bound=0, latest=finish, scraps=False, shared=True)
    model.aim("finish", 0, None)
    spans = [(540, 545), (560, 565), (545, 553), (545, 583)]
    plan = model.plan([(*ends, i, 0) for i, ends in enumerate(spans)])
    assert plan is not None
    assert breaches(problem, plan) == ()
    assert plan.finish == finish


def test_what_must_be_done_within_some_hours_counts_though_its_window_is_longer() -> None:
    """From 600 to 780 one pair of hands has 180 minutes; a minute more is asked for."""
    operations = [Operation(load=0, step="soak", minutes=60)]
    waits = []
    for load, minutes in enumerate((45, 45, 91)):
        i = len(operations)
        operations += [
            Operation(load=load, step=f"sew {load}", minutes=minutes, kind="any"),
            Operation(load=load, step=f"wax {load}", minutes=10),
        ]
        waits += [Wait(before=0, after=i), Wait(before=i, after=i + 1, least=60)]
    problem = Problem(
        operations=tuple(operations),
        waits=tuple(waits),
        persons=(Person(name="Wren", calendar=every_day(((540, 1020),))),),
    )
    hint = begun(problem)
    assert shares_alone(problem, hint) == 600 + 45 + 45 + 91 + 60 + 10


@pytest.mark.parametrize("means", ["order of pieces", "sums", "least first", "none"])
def test_the_solver_is_never_asked_for_what_may_end_the_process(means: Means) -> None:
    """Its order of intervals that is found on the way meets a check that aborts (version 9.15)."""
    assert not solver_for(1.0, means=means).parameters.use_dynamic_precedence_in_disjunctive

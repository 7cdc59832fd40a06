"""Where a break parts a step: never for less than a least part, and never for wet work."""

import json
import random
from dataclasses import replace

import pytest

from hidewright.catalogue.step_rows import built_in_times
from hidewright.planning.acceptance import breaches
from hidewright.planning.calendar import every_day
from hidewright.planning.free_time import first_spans
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Operation, Person, Problem, Span, Wait
from hidewright.planning.schedule import Budget, schedule
from hidewright.store.plan_problem import read_problem

HOURS = every_day(((540, 750), (810, 1020)), range(5))
Spans = list[tuple[int, int]]


def by_trying(windows: Spans, busy: Spans, soonest: int, minutes: int, least: int) -> Spans:
    """Return the spans of the first minute from which work can go on but for breaks."""
    for start in range(soonest, windows[-1][1]):
        spans: Spans = []
        left = minutes
        for begin, end in windows:
            if end > start and left:
                first = max(begin, start)
                spans.append((first, min(end, first + left)))
                left -= spans[-1][1] - first
        free = not any(a < stop and begin < b for a, b in spans for begin, stop in busy)
        long = len(spans) == 1 or min(b - a for a, b in (spans[0], spans[-1])) >= least
        if not left and spans[0][0] == start and free and long:
            return spans
    return []


@pytest.mark.parametrize("seed", range(60))
def test_work_that_pauses_over_breaks_is_laid_as_trying_every_minute_does(seed: int) -> None:
    draw = random.Random(seed)
    windows: Spans = []
    time = 0
    for _ in range(6):
        begin = time + draw.randint(1, 12)
        time = begin + draw.choice((4, 15, 30, 60))
        windows.append((begin, time))
    busy: Spans = []
    for begin, end in windows:
        if draw.random() < 0.4:
            start = draw.randrange(begin, end)
            busy.append((start, draw.randint(start + 1, end)))
    for _ in range(20):
        soonest, minutes = draw.randrange(windows[1][1]), draw.randint(1, 70)
        least = min(draw.choice((1, 5, 10)), minutes)
        at = next(k for k, (_, end) in enumerate(windows) if end > soonest)
        found = first_spans(windows, at, busy, soonest, minutes, least, False, True)
        assert found == by_trying(windows, busy, soonest, minutes, least)


def waxing(minutes: int, least: int, before: int) -> Problem:
    """Return a step in one go that leaves little time before a break, and one that may pause."""
    first = Operation(load=0, step="cut", minutes=before)
    wax = Operation(load=0, step="wax", minutes=minutes, kind="breaks", least_part=least)
    return Problem(
        operations=(first, wax),
        waits=(Wait(before=0, after=1),),
        persons=(Person(name="one", calendar=HOURS),),
    )


def test_a_plan_with_a_part_that_is_too_short_is_refused() -> None:
    problem = waxing(40, 10, before=200)
    spans = [(0, 540, 740), (1, 741, 750), (1, 810, 841)]
    plan = Plan(
        spans=tuple(Span(operation=i, start=a, end=b, person=0) for i, a, b in sorted(spans))
    )
    assert [one.rule for one in breaches(problem, plan)] == ["pieces"]
    for allowed in (waxing(40, 9, before=200), waxing(40, 1, before=200)):
        assert breaches(allowed, plan) == ()
    begun = replace(problem, fixed=plan.spans[:2], now=750)
    assert breaches(begun, plan) == (), "what has happened is not judged"


@pytest.mark.parametrize(
    ("minutes", "before", "least", "spans"),
    [
        (41, 200, 10, [(740, 750), (810, 841)]),
        (41, 200, 11, [(810, 851)]),
        (41, 175, 10, [(720, 750), (810, 821)]),
        (41, 175, 1, [(715, 750), (810, 816)]),
        (19, 200, 10, [(810, 829)]),
    ],
)
def test_a_step_waits_until_its_parts_are_long_enough(
    minutes: int, before: int, least: int, spans: Spans
) -> None:
    plan = schedule(waxing(minutes, least, before), seed=0, budget=Budget(rounds=3)).plan
    assert plan is not None
    assert [(one.start, one.end) for one in plan.spans_of()[1]] == spans


def test_a_problem_of_a_file_pauses_after_any_minute() -> None:
    """There ``breaks`` may pause over breaks, and no more is said."""
    asked = {
        "ops": [[0, 0, "cut", 209, "never", 1, None], [1, 0, "wax", 5, "breaks", 1, None]],
        "waits": [[0, 1, 0, None]],
        "holds": [],
        "hours": [[540, 750], [810, 1020]],
        "weekdays": [0, 1, 2, 3, 4],
        "persons": 1,
        "capacity": {},
        "flush_minutes": 0,
        "booth_ops": [],
    }
    problem = read_problem(json.dumps(asked).encode(), name="x").problem
    plan = schedule(problem, seed=0, budget=Budget(rounds=3)).plan
    assert plan is not None
    assert [(s.start, s.end) for s in plan.spans_of()[1]] == [(749, 750), (810, 814)]


def test_wet_work_is_never_parted() -> None:
    wet = {
        "dye",
        "dye edges",
        "paint edges",
        "last coat on edges",
        "set magnet",
        "put together",
        "glue with water-based glue",
        "glue with contact glue",
    }
    rows = {one.name: one for one in built_in_times()}
    assert {name: rows[name].interrupt for name in wet} == dict.fromkeys(wet, "never")

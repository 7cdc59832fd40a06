"""The dispatcher: what is begun is brought to its end, and compiled it does what is written."""

import os
import random
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace

import pytest

from hidewright.planning import dispatch_kernels
from hidewright.planning.acceptance import breaches
from hidewright.planning.bench import Bench
from hidewright.planning.dispatch import Dispatcher
from hidewright.planning.draft import Draft, Wishes
from hidewright.planning.problem import Problem, Span
from hidewright.planning.warm import compile_kernels
from test_planning_random import made_up


def wished(problem: Problem, seed: int) -> Wishes:
    """Return wishes at random."""
    draw = random.Random(seed)
    return Wishes(
        keys=[draw.uniform(-1e4, 1e4) for _ in problem.operations],
        stretch=[draw.choice((0, 0, 5)) for _ in problem.operations],
        flush_key=draw.choice((0.0, 300.0)),
        scrap_key=draw.choice((0.0, 200.0)),
    )


def begun(problem: Problem, draft: Draft, draw: random.Random) -> Iterator[Problem]:
    """Yield the problem as it is at some times of a plan: what was at work then is begun."""
    undated = tuple(replace(one, due=None) for one in problem.orders)
    for _ in range(4):
        now = draw.randrange(problem.now, draft.finish)
        fixed = tuple(
            Span(
                start=start,
                end=end if problem.operations[i].kind == "never" else min(end, now),
                operation=i,
                person=person,
            )
            for start, end, i, person in sorted(draft.pieces)
            if start < now
        )
        yield replace(problem, orders=undated, fixed=fixed, now=now)


@pytest.mark.parametrize("seed", range(40))
def test_what_is_begun_is_brought_to_its_end_and_all_behind_it_done_once(seed: int) -> None:
    problem = made_up(seed)
    draft = Dispatcher(Bench(problem)).run(wished(problem, seed))
    assert draft is not None
    for then in begun(problem, draft, random.Random(seed)):
        found = Dispatcher(Bench(then)).run(wished(problem, seed + 1))
        assert found is not None
        assert breaches(then, found.plan()) == ()


@pytest.mark.parametrize("seed", range(5))
def test_where_room_lacks_there_is_more_and_the_plan_is_the_same(seed: int) -> None:
    problem = made_up(seed)
    wishes, dispatcher = wished(problem, seed), Dispatcher(Bench(problem))
    usual = dispatcher.run(wishes)
    dispatcher.room = 4
    assert dispatcher.run(wishes) == usual
    assert dispatcher.room > len(problem.operations)


def test_once_warm_nothing_is_compiled_any_more() -> None:
    compile_kernels()
    kernels = [one for one in vars(dispatch_kernels).values() if hasattr(one, "signatures")]
    made = [len(one.signatures) for one in kernels]  # none where it came with what calls it
    assert len(dispatch_kernels.dispatched.signatures) == max(made) == 1
    for seed in range(4):
        problem = made_up(seed)
        draft = Dispatcher(Bench(problem)).run(wished(problem, seed))
        assert draft is not None
        for then in begun(problem, draft, random.Random(seed)):
            Dispatcher(Bench(then)).run(wished(problem, seed))
    assert [len(one.signatures) for one in kernels] == made


def compiled_and_not(program: str) -> list[bytes]:
    """Return what a program says with its kernels compiled, and with them not."""
    return [
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "NUMBA_DISABLE_JIT": off, "PYTHONPATH": os.pathsep.join(sys.path)},
            check=True,
            capture_output=True,
        ).stdout
        for off in ("0", "1")
    ]


def test_not_compiled_it_makes_the_same_plans() -> None:
    said = compiled_and_not(ALL_PLANS)
    assert said[0] == said[1]
    assert len(said[0]) > 1000


#: Says some plans of made-up workshops; not compiled, records are read by name otherwise.
ALL_PLANS = """
import numba, numpy as np
from hidewright.planning import dispatch
from test_planning_dispatch import Bench, Dispatcher, made_up, wished
if numba.config.DISABLE_JIT:
    compiled = dispatch.dispatched
    def dispatched(run, *more):
        named = (one.view(np.recarray) if one.dtype.names else one for one in run)
        return compiled(type(run)(*named), *more)
    dispatch.dispatched = dispatched
for seed in range(6):
    problem = made_up(seed)
    print(Dispatcher(Bench(problem)).run(wished(problem, seed)))
"""

"""The times that are left, drawn together by compiled code and by the same code not compiled."""

from collections.abc import Callable
from contextlib import suppress

import numpy as np
import pytest

from hidewright.planning import deadline_kernels, hours_kernels, narrowing_kernels
from hidewright.planning.narrowing import Narrowing, OutOfTime
from hidewright.planning.problem import Problem
from hidewright.planning.rules import Rules
from hidewright.planning.shaving import in_time
from hidewright.planning.warm import compile_kernels
from test_planning_crews import of_all_kinds
from test_planning_dispatch import compiled_and_not
from test_planning_pauses import mixed
from test_planning_shaving import tiny

#: Minutes that are given beyond a bound no plan beats.
BEYOND = (0, 5, 40, 300)
#: Late minutes by weight.
LATE = 400


def times_left() -> list[str]:
    """Return what is left of the times of some problems, as text.

    They are of one person and of several, of equal hours or not, with dates and without.
    """
    out = []
    for problem in (made(seed) for seed in range(6) for made in (mixed, of_all_kinds, tiny)):
        rules = Rules(problem)
        soonest = rules.bounds.finish(rules.bounds.bench.horizon)
        late = LATE if any(one.due is not None for one in problem.orders) else None
        for beyond in BEYOND:
            try:
                out.append(repr(in_time(rules, soonest + beyond, late)))
            except OutOfTime:
                out.append("none")
    return out


def test_once_warm_nothing_is_compiled_any_more() -> None:
    compile_kernels()
    kernels = [
        one
        for module in (narrowing_kernels, deadline_kernels, hours_kernels)
        for one in vars(module).values()
        if hasattr(one, "signatures")
    ]
    made = [len(one.signatures) for one in kernels]
    assert len(narrowing_kernels.narrowed.signatures) == 1
    times_left()
    assert [len(one.signatures) for one in kernels] == made


@pytest.mark.parametrize("made", [mixed, of_all_kinds, tiny])
def test_no_rule_leaves_less_when_all_are_asked_again(made: Callable[[int], Problem]) -> None:
    """Only what has moved is looked at again; so nothing that has may be missed."""
    shaved_off = 0
    for seed in range(40):
        rules = Rules(made(seed))
        count = len(rules.whole)
        finish = rules.bounds.finish(rules.bounds.bench.horizon) + BEYOND[-1]
        with suppress(OutOfTime):
            left = Narrowing(rules, [finish] * count, None)
            for i in range(count):
                before = left.table.copy()
                left.shave(i)
                shaved_off += (left.table != before).any()
                asked_again = left.table.copy()
                assert narrowing_kernels.narrowed(left.net, asked_again, np.ones(count, np.bool_))
                assert (asked_again == left.table).all()
    assert shaved_off > 5


@pytest.mark.parametrize("finish", [0, -1, -5000])
def test_before_all_begins_there_is_no_time(finish: int) -> None:
    for made in (mixed, of_all_kinds, tiny):
        with pytest.raises(OutOfTime):
            in_time(Rules(made(0)), finish, None)


def test_not_compiled_the_same_times_are_left() -> None:
    """Not compiled, a place that is not in an array is an error."""
    said = compiled_and_not(ALL_TIMES)
    assert said[0] == said[1]
    assert said[0].count(b"Times") > 20
    assert said[0].count(b"none") > 5


#: Says the times left to some problems; not compiled, records are read by name otherwise.
ALL_TIMES = """
import numba, numpy as np
from hidewright.planning import narrowing
from test_planning_narrowing import times_left
if numba.config.DISABLE_JIT:
    laid_out = narrowing._net
    def with_names(*asked):
        net = laid_out(*asked)
        return type(net)(*(
            one.view(np.recarray) if isinstance(one, np.ndarray) and one.dtype.names else one
            for one in net
        ))
    narrowing._net = with_names
print(*times_left(), sep="\\n")
"""

"""Hides filled and what is left over taken in: sizes that only exchanges and trades bring home."""

from itertools import combinations

import pytest

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Corners, Hide
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.cut import cut
from hidewright.nesting.hides import DENSEST, Areas, Filling
from hidewright.nesting.laying import lattice_for
from hidewright.nesting.problem import Budget, Problem

HIGH = 10.0
#: A hide that may be filled with bars of 100 mm in all.
LONG = 100.0 / DENSEST


def box(width: float) -> Corners:
    return ((0.0, 0.0), (width, 0.0), (width, HIGH), (0.0, HIGH))


def bars(*lengths: float, hides: int) -> Problem:
    return Problem(
        goal="hides",
        hides=tuple(Hide(name=str(k), outline=box(LONG)) for k in range(hides)),
        pieces=tuple(Cutting(name=f"{k}", outline=box(v)) for k, v in enumerate(lengths)),
    )


@pytest.fixture(scope="module")
def filled() -> tuple[Problem, Filling, list[int]]:
    # by size the first hide takes 50 and 34, the second 33, 33 and 30, and 20 is left over
    problem = bars(50.0, 34.0, 33.0, 33.0, 30.0, 20.0, hides=2)
    lattices = [lattice_for(problem, hide).with_tables() for hide in range(2)]
    areas = Areas(
        hides=(LONG * HIGH,) * 2, pieces=tuple(p.outline[1][0] * HIGH for p in problem.pieces)
    )
    filling = Filling(
        lattices.__getitem__, areas, patience=30, seed=1, budget=Budget(rounds=20_000)
    )
    filling.fill((0, 1), range(6))
    left = list(filling.left)
    filling.take_in()
    return problem, filling, left


def test_the_largest_first_leaves_a_piece_over(filled: tuple[Problem, Filling, list[int]]) -> None:
    assert filled[2] == [5]


def test_trades_bring_room_together_for_it(filled: tuple[Problem, Filling, list[int]]) -> None:
    assert filled[1].left == []
    there = {frozenset(one.kinds) for one in filled[1].filled.values()}
    # two hides of 100 hold 200: 50 + 30 + 20 and 34 + 33 + 33 is the only way
    whole = frozenset(range(6))
    lengths = [piece.outline[1][0] for piece in filled[0].pieces]
    ways = [
        {frozenset(some), whole - frozenset(some)}
        for n in range(7)
        for some in combinations(range(6), n)
        if sum(lengths[k] for k in some) == 100.0
    ]
    assert there in ways


def test_bars_lie_on_as_few_hides_as_their_length_needs() -> None:
    problem = bars(50.0, 34.0, 33.0, 33.0, 30.0, 20.0, hides=4)
    answer = cut(problem, rounds=20_000, seed=1)
    assert (answer.figure, answer.bound) == (2.0, 2.0)
    assert faults_of(problem, answer.layout) == ()

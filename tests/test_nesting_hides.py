"""Hides filled and what is left over taken in: sizes that only exchanges and trades bring home."""

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Corners, Hide
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.cut import cut
from hidewright.nesting.hides import DENSEST, Areas, Filling
from hidewright.nesting.laying import lattice_for
from hidewright.nesting.problem import Budget, Problem

HIGH = 10.0


def box(width: float) -> Corners:
    return ((0.0, 0.0), (width, 0.0), (width, HIGH), (0.0, HIGH))


def bars(*lengths: float, hides: tuple[float, ...]) -> Problem:
    """Return bars to lay on hides that may be filled with so many mm of them."""
    return Problem(
        goal="hides",
        hides=tuple(Hide(name=str(k), outline=box(v / DENSEST)) for k, v in enumerate(hides)),
        pieces=tuple(Cutting(name=f"{k}", outline=box(v)) for k, v in enumerate(lengths)),
    )


def filling_of(problem: Problem) -> Filling:
    """Return all hides filled with the pieces in their order."""
    hides = range(len(problem.hides))
    lattices = [lattice_for(problem, hide).with_tables() for hide in hides]
    areas = Areas(
        hides=tuple(hide.outline[1][0] * HIGH for hide in problem.hides),
        pieces=tuple(piece.outline[1][0] * HIGH for piece in problem.pieces),
    )
    filling = Filling(
        lattices.__getitem__, areas, patience=30, seed=1, budget=Budget(rounds=20_000)
    )
    filling.fill(hides, range(len(problem.pieces)))
    return filling


def on_hides(filling: Filling) -> dict[int, tuple[int, ...]]:
    return {hide: tuple(sorted(one.kinds)) for hide, one in filling.filled.items()}


def test_a_piece_left_over_takes_the_place_of_a_smaller_one_that_fits_elsewhere() -> None:
    filling = filling_of(bars(50.0, 60.0, hides=(60.0, 50.0)))
    assert (on_hides(filling), filling.left) == ({0: (0,), 1: ()}, [1])
    assert filling.take_in()
    assert (on_hides(filling), filling.left) == ({0: (1,), 1: (0,)}, [])


def test_trades_bring_room_together_for_a_piece_left_over() -> None:
    # by size the first hide takes 50 and 34, the second 33, 33 and 30, and 20 is left over
    filling = filling_of(bars(50.0, 34.0, 33.0, 33.0, 30.0, 20.0, hides=(100.0, 100.0)))
    assert (on_hides(filling), filling.left) == ({0: (0, 1), 1: (2, 3, 4)}, [5])
    assert filling.take_in()
    # they come to 200: 50 + 30 + 20 and 34 + 33 + 33 is the only way to halve that
    assert sorted(on_hides(filling).values()) == [(0, 4, 5), (1, 2, 3)]


def test_what_finds_no_room_is_left_over() -> None:
    filling = filling_of(bars(50.0, 40.0, 20.0, hides=(100.0,)))
    assert not filling.take_in()
    assert filling.left == [2]


def test_bars_lie_on_as_few_hides_as_their_length_needs() -> None:
    problem = bars(50.0, 34.0, 33.0, 33.0, 30.0, 20.0, hides=(100.0,) * 4)
    answer = cut(problem, rounds=20_000, seed=1)
    assert (answer.figure, answer.bound) == (2.0, 2.0)
    assert faults_of(problem, answer.layout) == ()

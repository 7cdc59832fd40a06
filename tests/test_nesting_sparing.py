"""Pieces that ask for little make way: moved to the worst leather that does, if it has room."""

import numpy as np

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Corners, GradeArea, Hide
from hidewright.nesting.laying import lattice_for
from hidewright.nesting.problem import Budget, Problem
from hidewright.nesting.separation import Pieces

GOOD, PLAIN = 0, 1


def box(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Corners:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def laid_in_the_better_half(side: float, count: int) -> tuple[Pieces, float]:
    """Return pieces of grades 1 and 2 on the half of grade 1 to the left, and its width, steps."""
    hide = Hide(
        name="halves",
        outline=box(400.0, 200.0),
        areas=(
            GradeArea(grade=1, outline=box(200.0, 200.0)),
            GradeArea(grade=2, outline=box(200.0, 200.0, 200.0)),
        ),
    )
    pieces = (
        Cutting(name="good", outline=box(50.0, 50.0), grade=1, count=2),
        Cutting(name="plain", outline=box(side, side), grade=2, count=count),
    )
    problem = Problem(goal="sets", hides=(hide,), pieces=pieces, spacing_mm=2.0)
    lattice = lattice_for(problem).with_all_tables()
    laid = Pieces(lattice, [GOOD] * 2 + [PLAIN] * count, seed=1)
    laid.state.at[:, :2] = 0
    assert laid.total > 0
    return laid, 200.0 / lattice.step_mm


def test_what_asks_for_grade_2_leaves_grade_1_and_overlaps_nothing_there() -> None:
    pieces, border = laid_in_the_better_half(40.0, 3)
    before = pieces.state.at[:2].copy()
    pieces.spare()
    middles = pieces.state.at[2:, 0] + pieces.lattice.field.size[pieces.state.at[2:, 2], 0] / 2.0
    assert (middles > border - 8).all()  # a cell of 8 steps tells the grade
    assert (pieces.state.at[:2] == before).all()
    depth = pieces.depth.copy()
    assert not depth[2:].any()
    assert pieces.total == depth.sum() > 0  # those of grade 1 still lie on one another
    assert np.array_equal(pieces.depth, depth)
    assert pieces.allowed


def test_what_finds_no_room_there_stays_where_it_is() -> None:
    pieces, border = laid_in_the_better_half(150.0, 2)
    pieces.spare()
    right = pieces.state.at[2:, 0] > border / 2.0
    assert sorted(right.tolist()) == [False, True]  # there is room for one of them


def test_only_what_overlaps_is_moved_where_leather_is_not_to_be_spared() -> None:
    pieces, border = laid_in_the_better_half(40.0, 3)
    apart = round(60.0 / pieces.lattice.step_mm)
    pieces.state.at[:, 0] = [0, 0, apart, 2 * apart, 0]
    pieces.state.at[:, 1] = [0, 0, 0, 0, 2 * apart]
    before = pieces.state.at[2:].copy()
    pieces.spares = False
    assert pieces.separate(Budget(rounds=200), strikes=3, patience=50)
    assert (pieces.state.at[2:] == before).all()
    pieces.state.at[:2] = 0
    pieces.spares = True
    assert pieces.separate(Budget(rounds=200), strikes=3, patience=50)
    assert (pieces.state.at[2:, 0] > border - apart).all()

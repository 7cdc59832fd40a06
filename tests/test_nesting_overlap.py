"""What a piece overlaps at a place: the short way to it agrees with the depths of pairs."""

import numpy as np
import pytest

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Hide
from hidewright.nesting.kernels import FAR, _settled_boxes, _survey, _weighed
from hidewright.nesting.laying import lattice_for
from hidewright.nesting.problem import Problem
from hidewright.nesting.separation import LISTED, Pieces

HOOK = ((0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (10.0, 10.0), (10.0, 20.0), (0.0, 20.0))
BAR = ((0.0, 0.0), (45.0, 0.0), (45.0, 8.0), (0.0, 8.0))


def crowd(count: int, length: float) -> Pieces:
    """Return as many hooks, and bars, at random on a sheet 90 mm high."""
    sheet = Hide(name="0", outline=((0.0, 0.0), (400.0, 0.0), (400.0, 90.0), (0.0, 90.0)))
    pieces = tuple(
        Cutting(name=name, outline=outline, count=count, rotations_deg=(0.0, 90.0, 135.0))
        for name, outline in (("hook", HOOK), ("bar", BAR))
    )
    problem = Problem(goal="length", hides=(sheet,), pieces=pieces, spacing_mm=1.0)
    laid = Pieces(lattice_for(problem).with_all_tables(), [0] * count + [1] * count, seed=1)
    laid.scatter_within(length / laid.lattice.step_mm)
    weight = np.random.default_rng(1).uniform(1.0, 3.0, laid.state.weight.shape)
    laid.state.weight[:] = weight + weight.T
    return laid


# lists of a few; lists too short for all that reach there, where all others are looked at
@pytest.mark.parametrize(("count", "length"), [(6, 400.0), (LISTED, 80.0)], ids=["few", "crowd"])
def test_the_overlap_weighed_at_a_place_is_that_of_the_piece_laid_there(
    count: int, length: float
) -> None:
    laid = crowd(count, length)
    field, state, room, at = laid.lattice.field, laid.state, laid._room, laid.state.at
    for i in (0, 1, count, count + 1):
        there = at[i].copy()
        _survey(field, state, i, room)
        assert (room.count.max() > LISTED) == (count == LISTED)
        for o in range(field.choices[laid.kinds[i]], field.choices[laid.kinds[i] + 1]):
            _settled_boxes(field, state, i, o, room.box)
            box, limit = room.box.copy(), state.limit - field.size[o]
            for _ in range(40):
                x, y = (laid.draw(int(most) + 1) for most in limit)
                weighed = _weighed(
                    box, field.depths, state.weight[i], room.count, room.items, room.cell, x, y, FAR
                )
                at[i] = x, y, o
                laid.total  # noqa: B018 - the depths with the piece laid there
                at[i] = there
                assert weighed == pytest.approx(float(laid.depth[i] @ state.weight[i]))

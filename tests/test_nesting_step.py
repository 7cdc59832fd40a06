"""How fine the lattice is: such that pieces may touch where their boxes do."""

import numpy as np
import pytest
import shapely

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Corners, Hide
from hidewright.nesting.laying import lattice_for
from hidewright.nesting.problem import Problem
from hidewright.nesting.step import _fitting


def rounded(width: float, height: float) -> Corners:
    """Return a rectangle with corners of a radius of 4."""
    shape = shapely.box(4.0, 4.0, width - 4.0, height - 4.0).buffer(4.0, quad_segs=4)
    return tuple((x, y) for x, y in shapely.get_coordinates(shape)[:-1].tolist())


@pytest.mark.parametrize("unit", [1.0, 0.7, 1.3])
def test_round_pieces_whose_boxes_are_multiples_of_a_unit_lose_nothing_side_by_side(
    unit: float,
) -> None:
    spacing = 2.0 * unit
    sides = np.array([[78.0, 98.0], [86.0, 58.0], [113.0, 47.0]]) * unit
    pieces = tuple(
        Cutting(
            name=str(width),
            outline=rounded(width, height),
            rotations_deg=(0.0,),
        )
        for width, height in sides.tolist()
    )
    hide = Hide(name="0", outline=((0.0, 0.0), (900.0, 0.0), (900.0, 700.0), (400.0, 710.0)))
    problem = Problem(goal="sets", hides=(hide,), pieces=pieces, spacing_mm=spacing)
    assert lattice_for(problem).step_mm == pytest.approx(unit)


def test_where_lengths_agree_on_no_step_it_is_the_least() -> None:
    lengths = np.random.default_rng(1).uniform(20.0, 200.0, 40)
    assert _fitting(lengths, 0.9) == 0.9

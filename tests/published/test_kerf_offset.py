"""Kerf, the worked example of two cutting services' pages on kerf.

With a kerf of 0.2 mm a slot drawn 2.0 x 4.0 comes out 2.2 x 4.2 as a hole and 1.8 x 3.8 as a part;
to get 2.0 x 4.0, the hole is drawn 1.8 x 3.8 and the part 2.2 x 4.2.
"""

from dataclasses import replace

import pytest

from hidewright.catalogue.boards import Board
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.part import Part, PartHole
from hidewright.geometry.shapes import rectangle
from hidewright.tooling.kerf import cut_outlines


def board() -> Board:
    return replace(find(built_in_catalogue().boards, "MDF 3 mm"), kerf_mm=0.2)


def test_a_hole_of_2_by_4_is_drawn_1_8_by_3_8() -> None:
    hole = PartHole(outline=rectangle(2.0, 4.0), purpose="window")
    part = Part(
        name="plate", role="frame", board=board(), outline=rectangle(20.0, 20.0), holes=(hole,)
    )
    (drawn,) = cut_outlines(part).inner
    assert (drawn.width, drawn.height) == pytest.approx((1.8, 3.8), abs=1e-9)


def test_a_part_of_2_by_4_is_drawn_2_2_by_4_2() -> None:
    part = Part(name="peg", role="plug", board=board(), outline=rectangle(2.0, 4.0))
    drawn = cut_outlines(part).outer
    assert (drawn.width, drawn.height) == pytest.approx((2.2, 4.2), abs=1e-9)

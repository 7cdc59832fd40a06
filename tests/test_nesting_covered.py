"""A flaw under another part: where it may lie, by a closed form, in search and in checker."""

from dataclasses import replace

import pytest

from hidewright.design.cutting import Cutting, Placement
from hidewright.design.hide import Corners, Flaw, Hide
from hidewright.errors import RequestError
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.bound import bound_of
from hidewright.nesting.cut import cut
from hidewright.nesting.problem import Problem


def box(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Corners:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


#: 100 mm long; another part lies over 30 to 50 mm of it, all across.
PANEL = Cutting(
    name="panel",
    outline=box(100.0, 56.0),
    grade=1,
    clear_of=3,
    covered=(box(20.0, 28.0, 30.0), box(20.0, 28.0, 30.0, 28.0)),
    covered_clear_of=1,
)


def question(piece: Cutting, severity: int = 2) -> Problem:
    """Return a hide from x = 30 to 200 mm with a scar from 120 to 130 that no place goes by."""
    scar = Flaw(kind="scar", severity=severity, outline=box(10.0, 20.0, 120.0, 20.0))
    hide = Hide(name="narrow", outline=box(170.0, 60.0, 30.0), flaws=(scar,))
    return Problem(goal="sets", hides=(hide,), pieces=(piece,))


# laid at x it is covered from x + 30 to x + 50; turned by 180 degrees, from x - 50 to x - 30
@pytest.mark.parametrize(("angle", "least", "most"), [(0.0, 80.0, 90.0), (180.0, 160.0, 170.0)])
def test_a_scar_lies_where_the_piece_is_covered_and_nowhere_else(
    angle: float, least: float, most: float
) -> None:
    problem = question(replace(PANEL, rotations_deg=(angle,)))
    answer = cut(problem, rounds=30, seed=1)
    (placement,) = answer.layout
    assert answer.figure == 1.0
    assert least <= placement.x_mm <= most
    y = 2.0 if angle == 0.0 else 58.0
    for x, sound in (
        (least - 0.1, False),
        (least + 0.1, True),
        (most - 0.1, True),
        (most + 0.1, False),
    ):
        one = Placement(piece=0, copy=0, hide=0, angle_deg=angle, x_mm=x, y_mm=y)
        faults = faults_of(problem, (one,))
        assert (faults == ()) is sound
        assert sound or "bears a flaw where it shows" in faults[0]


@pytest.mark.parametrize(
    ("piece", "severity"), [(PANEL, 1), (replace(PANEL, covered_clear_of=None), 2)]
)
def test_a_worse_flaw_and_one_on_a_piece_that_asks_for_none_may_lie_nowhere(
    piece: Cutting, severity: int
) -> None:
    problem = question(piece, severity)
    with pytest.raises(RequestError, match="fits nowhere"):
        cut(problem, rounds=30, seed=1)
    one = Placement(piece=0, copy=0, hide=0, angle_deg=0.0, x_mm=85.0, y_mm=2.0)
    assert "touches a flaw" in faults_of(problem, (one,))[0]


def test_the_bound_counts_the_leather_under_a_flaw_that_may_be_covered() -> None:
    # 170 x 60 mm for 100 x 56 mm: one; a flaw of half the hide would leave none were it all barred
    scar = Flaw(kind="scar", severity=2, outline=box(85.0, 60.0, 30.0))
    problem = question(PANEL)
    marked = replace(problem, hides=(replace(problem.hides[0], flaws=(scar,)),))
    assert bound_of(marked) == 1.0
    barred = replace(marked, pieces=(replace(PANEL, covered_clear_of=3),))
    assert bound_of(barred) == 0.0

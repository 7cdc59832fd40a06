"""The checker refuses each of 1,000 layouts that were sound until one thing was spoilt."""

import math
import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from hidewright.design.cutting import Cutting, Layout, Placement
from hidewright.design.hide import Corners, Flaw, GradeArea, Hide
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.problem import Problem

SPACING, MARGIN, SIDE = 2.0, 5.0, 30.0
COLUMNS, ROWS = 6, 4
HALF = (COLUMNS // 2) * (SIDE + SPACING)


def box(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Corners:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def wedge() -> Corners:
    """Return a piece that is neither its mirror image nor itself turned by less than a circle."""
    return ((0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (8.0, SIDE), (0.0, 12.0))


def sound(draw: random.Random) -> tuple[Problem, Layout]:
    """Return a chequered field of pieces, exactly the spacing apart, with flaws in empty places.

    The left half is of grade 1, the right of grade 2; pieces of grade 1 lie left only, at least
    one touching the border between the two.
    """
    cells = [(c, r) for c in range(COLUMNS) for r in range(ROWS)]
    empty = draw.sample(cells, 4)
    full = [cell for cell in cells if cell not in empty]
    width = COLUMNS * (SIDE + SPACING) - SPACING + 2 * MARGIN
    height = ROWS * (SIDE + SPACING) - SPACING + 2 * MARGIN
    border = MARGIN + HALF - SPACING / 2
    flaws = tuple(
        Flaw(kind="scar", severity=1, outline=box(8.0, 8.0, *_corner(c, r, 11.0))) for c, r in empty
    )
    hide = Hide(
        name="field",
        outline=box(width, height),
        areas=(
            GradeArea(grade=1, outline=box(border, height)),
            GradeArea(grade=2, outline=box(width - border, height, border)),
        ),
        flaws=flaws,
    )
    left = [cell for cell in full if cell[0] < COLUMNS // 2]
    right = [cell for cell in full if cell[0] >= COLUMNS // 2]
    pieces = (
        Cutting(name="good", outline=wedge(), count=len(left), grade=1, rotations_deg=(0.0, 180.0)),
        Cutting(name="fair", outline=wedge(), count=len(right), grade=2, rotations_deg=(0.0,)),
    )
    problem = Problem(
        goal="length",
        hides=(hide,),
        pieces=pieces,
        spacing_mm=SPACING,
        edge_margin_mm=MARGIN,
    )
    layout = [_at(0, n, *cell, turned=draw.random() < 0.5) for n, cell in enumerate(left)]
    layout += [_at(1, n, *cell, turned=False) for n, cell in enumerate(right)]
    draw.shuffle(layout)
    return problem, tuple(layout)


def _corner(column: int, row: int, further: float = 0.0) -> tuple[float, float]:
    pitch = SIDE + SPACING
    return MARGIN + column * pitch + further, MARGIN + row * pitch + further


def _at(piece: int, copy: int, column: int, row: int, *, turned: bool) -> Placement:
    x, y = _corner(column, row, SIDE if turned else 0.0)
    angle = 180.0 if turned else 0.0
    return Placement(piece=piece, copy=copy, hide=0, angle_deg=angle, x_mm=x, y_mm=y)


Sabotage = Callable[[Problem, Layout, random.Random], Layout]


def _with(layout: Layout, number: int, placement: Placement) -> Layout:
    return (*layout[:number], placement, *layout[number + 1 :])


def nearer_by_a_twentieth(problem: Problem, layout: Layout, draw: random.Random) -> Layout:
    """Move a piece by 0.05 mm towards its right neighbour, or the edge that is there."""
    taken = {
        (p.x_mm - (SIDE if p.angle_deg else 0.0), p.y_mm - (SIDE if p.angle_deg else 0.0))
        for p in layout
    }
    pitch = SIDE + SPACING
    beside = [
        n
        for n, p in enumerate(layout)
        if p.angle_deg == 0.0 and any(math.dist((p.x_mm + pitch, p.y_mm), t) < 1e-6 for t in taken)
    ]
    n = draw.choice(beside)
    return _with(layout, n, replace(layout[n], x_mm=layout[n].x_mm + 0.05))


def over_the_margin(problem: Problem, layout: Layout, draw: random.Random) -> Layout:
    lowest = [n for n, p in enumerate(layout) if p.y_mm == MARGIN]
    n = draw.choice(lowest)
    return _with(layout, n, replace(layout[n], y_mm=MARGIN - 0.05))


def wrong_grade(problem: Problem, layout: Layout, draw: random.Random) -> Layout:
    good = draw.choice([n for n, p in enumerate(layout) if p.piece == 0 and p.angle_deg == 0.0])
    fair = draw.choice([n for n, p in enumerate(layout) if p.piece == 1])
    a, b = layout[good], layout[fair]
    swapped = _with(layout, good, replace(a, x_mm=b.x_mm, y_mm=b.y_mm))
    return _with(swapped, fair, replace(b, x_mm=a.x_mm, y_mm=a.y_mm))


def mirrored(problem: Problem, layout: Layout, draw: random.Random) -> Layout:
    n = draw.choice([n for n, p in enumerate(layout) if p.angle_deg == 0.0])
    p = layout[n]
    return _with(layout, n, replace(p, mirrored=True, x_mm=p.x_mm + SIDE))


def one_missing(problem: Problem, layout: Layout, draw: random.Random) -> Layout:
    n = draw.randrange(len(layout))
    return (*layout[:n], *layout[n + 1 :])


def one_twice(problem: Problem, layout: Layout, draw: random.Random) -> Layout:
    a, b = draw.sample([n for n, p in enumerate(layout) if p.piece == 1], 2)
    return _with(layout, a, replace(layout[a], copy=layout[b].copy))


def on_a_flaw(problem: Problem, layout: Layout, draw: random.Random) -> Layout:
    flaw = draw.choice(problem.hides[0].flaws)
    x, y = flaw.outline[0]
    kind = 0 if x < MARGIN + HALF - SPACING else 1
    n = draw.choice([n for n, p in enumerate(layout) if p.piece == kind and p.angle_deg == 0.0])
    return _with(layout, n, replace(layout[n], x_mm=x - 11.0, y_mm=y - 11.0))


def wrong_direction(problem: Problem, layout: Layout, draw: random.Random) -> Layout:
    n = draw.choice([n for n, p in enumerate(layout) if p.angle_deg == 0.0])
    p = layout[n]
    return _with(layout, n, replace(p, angle_deg=90.0, x_mm=p.x_mm + SIDE))


SABOTAGES: tuple[tuple[Sabotage, str], ...] = (
    (nearer_by_a_twentieth, "mm apart"),
    (over_the_margin, "from its edge"),
    (wrong_grade, "grade is worse"),
    (mirrored, "wrong face up"),
    (one_missing, "instead of"),
    (one_twice, "lies there 2 times"),
    (on_a_flaw, "touches a flaw"),
    (wrong_direction, "is turned by 90"),
)


@pytest.mark.parametrize(("sabotage", "word"), SABOTAGES, ids=[s.__name__ for s, _ in SABOTAGES])
def test_each_sabotage_is_found_for_its_own_reason(sabotage: Sabotage, word: str) -> None:
    draw = random.Random(sabotage.__name__)
    for _ in range(1000 // len(SABOTAGES)):
        problem, layout = sound(draw)
        assert faults_of(problem, layout) == ()
        faults = faults_of(problem, sabotage(problem, layout, draw))
        assert any(word in fault for fault in faults), faults


def test_pieces_without_spacing_may_touch_and_not_overlap() -> None:
    hide = Hide(name="field", outline=box(100.0, 50.0))
    piece = Cutting(name="square", outline=box(50.0, 50.0), count=2)
    problem = Problem(goal="length", hides=(hide,), pieces=(piece,))
    left = Placement(piece=0, copy=0, hide=0, angle_deg=0.0, x_mm=0.0, y_mm=0.0)
    right = replace(left, copy=1, x_mm=50.0)
    assert faults_of(problem, (left, right)) == ()
    near = faults_of(problem, (left, replace(right, x_mm=49.95)))
    assert len(near) == 1
    assert "overlap" in near[0]
    off = faults_of(problem, (left, replace(right, x_mm=50.05)))
    assert len(off) == 1
    assert "over its edge" in off[0]


@pytest.mark.parametrize(("severity", "clear_of", "touched"), [(1, 1, True), (2, 1, False)])
def test_a_flaw_counts_by_its_severity(severity: int, clear_of: int, touched: bool) -> None:
    flaw = Flaw(kind="tick", severity=severity, outline=box(1.0, 1.0, 10.0, 10.0))
    hide = Hide(name="field", outline=box(50.0, 50.0), flaws=(flaw,))
    piece = Cutting(name="square", outline=box(10.0, 10.0), clear_of=clear_of)
    problem = Problem(goal="length", hides=(hide,), pieces=(piece,))
    # corner to corner: touching is as bad as lying on it
    laid = Placement(piece=0, copy=0, hide=0, angle_deg=0.0, x_mm=0.0, y_mm=0.0)
    assert (faults_of(problem, (laid,)) != ()) is touched

"""What a layout must be whatever was asked for: closed forms, invariants, repeatability."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Corners, Flaw, GradeArea, Hide, ThicknessArea
from hidewright.errors import RequestError
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.bound import bound_of
from hidewright.nesting.cut import cut
from hidewright.nesting.lattice import MOST_WAYS, orientations_of
from hidewright.nesting.problem import Problem


def box(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Corners:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def strip(height: float, *pieces: Cutting, length: float = 1000.0, spacing: float = 0.0) -> Problem:
    hide = Hide(name="0", outline=box(length, height))
    return Problem(goal="length", hides=(hide,), pieces=pieces, spacing_mm=spacing)


def square(side: float, count: int, **asks: object) -> Cutting:
    return replace(Cutting(name="square", outline=box(side, side), count=count), **asks)  # type: ignore[arg-type]


def test_squares_that_tile_a_strip_tile_it() -> None:
    answer = cut(strip(40.0, square(10.0, 20)), rounds=2000, seed=1)
    assert answer.figure == pytest.approx(20 * 10.0 * 10.0 / 40.0, rel=1e-9)
    assert answer.bound == pytest.approx(answer.figure, rel=1e-9)
    assert answer.used == pytest.approx(1.0, rel=1e-9)


def test_spacing_is_kept_and_no_more() -> None:
    # four squares in a column of 4 * 10 + 3 * 2, five columns with four gaps between
    answer = cut(strip(46.0, square(10.0, 20), spacing=2.0), rounds=2000, seed=1)
    assert answer.figure == pytest.approx(5 * 10.0 + 4 * 2.0, abs=1e-4)


def test_a_bare_rectangle_is_thick_enough_only_where_it_says_so() -> None:
    thin, thick = box(100.0, 40.0), box(100.0, 40.0, x=100.0)
    hide = Hide(
        name="0",
        outline=box(200.0, 40.0),
        thicknesses=(
            ThicknessArea(outline=thin, thickness_mm=1.2),
            ThicknessArea(outline=thick, thickness_mm=2.0),
        ),
    )
    asks = square(20.0, 1, thickness_mm=(1.8, 2.2))
    answer = cut(Problem(goal="sets", hides=(hide,), pieces=(asks,)), rounds=300, seed=1)
    assert 9 <= answer.figure <= 10
    assert min(place.x_mm for place in answer.layout) >= 100.0


def test_two_triangles_make_a_square() -> None:
    triangle = Cutting(
        name="half",
        outline=((0.0, 0.0), (10.0, 0.0), (0.0, 10.0)),
        count=8,
        rotations_deg=(0.0, 180.0),
    )
    assert cut(strip(20.0, triangle), rounds=2000, seed=1).figure == pytest.approx(20.0, abs=1e-4)


def test_a_piece_lies_in_the_window_of_another() -> None:
    frame = Cutting(name="frame", outline=box(30.0, 30.0), holes=(box(12.0, 12.0, 9.0, 9.0),))
    answer = cut(strip(30.0, frame, square(10.0, 1), spacing=1.0), rounds=500, seed=1)
    assert answer.figure == pytest.approx(30.0, abs=1e-4)


def test_of_very_many_ways_to_turn_some_are_left_out() -> None:
    degrees = tuple(float(angle) for angle in range(0, 360, 3))
    pieces = [
        Cutting(
            name=str(k),
            outline=((0.0, 0.0), (30.0 + k, 0.0), (0.0, 10.0)),
            rotations_deg=degrees,
            may_mirror=True,
        )
        for k in range(9)
    ]
    ways = orientations_of(pieces, ())
    assert sum(map(len, ways)) <= MOST_WAYS
    for of_piece in ways:
        angles = sorted({way.angle_deg for way in of_piece})
        steps = {later - earlier for earlier, later in pairwise(angles)}
        assert (angles[0], len(steps)) == (0.0, 1)  # evenly spread, the first of them kept
        assert len(angles) > MOST_WAYS / 36  # of two for each angle and nine pieces half or more


def test_a_mirrored_piece_is_laid_only_where_that_is_allowed() -> None:
    hook = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (10.0, 20.0), (10.0, 10.0), (0.0, 10.0))
    left, right = hook, tuple((-x, y) for x, y in reversed(hook))
    pair = (Cutting(name="a", outline=left), Cutting(name="b", outline=left, may_mirror=True))
    answer = cut(strip(20.0, *pair), rounds=500, seed=1)
    assert [p.mirrored for p in answer.layout if p.piece == 0] == [False]
    alone = Cutting(name="b", outline=right, may_mirror=True)
    # the two interlock to 20 x 30 only when one is mirrored or turned
    assert answer.figure <= cut(strip(20.0, pair[0], alone), rounds=500, seed=1).figure + 1e-3


@pytest.mark.parametrize("goal", ["sets", pytest.param("length", marks=pytest.mark.slow)])
def test_no_layout_beats_the_bound(goal: str) -> None:
    for seed in range(2):
        problem = graded(seed)
        if goal == "length":
            problem = replace(problem, goal="length", sets=3)
        answer = cut(problem, rounds=300, seed=seed)
        better = answer.figure <= answer.bound if goal == "sets" else answer.figure >= answer.bound
        assert better
        assert faults_of(problem, answer.layout) == ()


def graded(seed: int) -> Problem:
    """Return a hide with three grades and flaws, drawn round a circle by a seed."""
    angles = [2.0 * math.pi * k / 24 for k in range(24)]
    outline = tuple(
        (
            200.0 + (150.0 + 20.0 * math.sin(3.0 * a + seed)) * math.cos(a),
            150.0 + (120.0 + 15.0 * math.cos(2.0 * a - seed)) * math.sin(a),
        )
        for a in angles
    )
    areas = (
        GradeArea(grade=1, outline=box(120.0, 400.0, 140.0, -50.0)),
        GradeArea(grade=2, outline=box(50.0, 400.0, 90.0, -50.0)),
        GradeArea(grade=2, outline=box(50.0, 400.0, 260.0, -50.0)),
        GradeArea(grade=3, outline=box(90.0, 400.0, 0.0, -50.0)),
        GradeArea(grade=3, outline=box(90.0, 400.0, 310.0, -50.0)),
    )
    flaws = tuple(
        Flaw(kind="scar", severity=s, outline=box(9.0, 6.0, 120.0 + 50.0 * s, 140.0))
        for s in (1, 2, 3)
    )
    pieces = (
        Cutting(name="front", outline=box(40.0, 30.0), grade=1, clear_of=3),
        Cutting(
            name="side", outline=box(60.0, 12.0), grade=2, clear_of=2, rotations_deg=(0.0, 90.0)
        ),
        Cutting(name="tab", outline=box(12.0, 12.0), grade=3, clear_of=1, count=2),
    )
    return Problem(
        goal="sets",
        hides=(Hide(name="0", outline=outline, areas=areas, flaws=flaws),),
        pieces=pieces,
        spacing_mm=2.0,
        edge_margin_mm=4.0,
    )


def test_equal_seed_and_rounds_give_the_equal_layout() -> None:
    assert cut(graded(1), rounds=300, seed=7) == cut(graded(1), rounds=300, seed=7)


def test_what_is_called_off_comes_again_with_its_rounds() -> None:
    asked = 0

    def called_off() -> bool:
        nonlocal asked
        asked += 1
        return asked > 900

    stopped = cut(graded(2), rounds=10**9, seed=3, called_off=called_off)
    assert 0 < stopped.rounds <= 900
    assert cut(graded(2), rounds=stopped.rounds, seed=3) == stopped


def test_the_bound_moves_with_the_problem() -> None:
    problem = graded(0)

    def moved(ring: Corners) -> Corners:
        return tuple((x + 512.0, y - 256.0) for x, y in ring)

    hide = problem.hides[0]
    there = Hide(
        name="0",
        outline=moved(hide.outline),
        areas=tuple(replace(a, outline=moved(a.outline)) for a in hide.areas),
        flaws=tuple(replace(f, outline=moved(f.outline)) for f in hide.flaws),
    )
    away = replace(problem, hides=(there,))
    assert bound_of(away) == bound_of(problem)
    assert cut(away, rounds=200, seed=1).figure == cut(problem, rounds=200, seed=1).figure


def test_several_hides_take_all_pieces() -> None:
    hides = tuple(Hide(name=str(k), outline=box(100.0, 100.0)) for k in range(3))
    piece = Cutting(name="long", outline=box(90.0, 20.0), count=8, rotations_deg=None)
    problem = Problem(goal="hides", hides=hides, pieces=(piece,))
    answer = cut(problem, rounds=4000, seed=1)
    assert (answer.figure, answer.bound) == (2.0, 2.0)  # five fit on one, and eight are asked for
    assert faults_of(problem, answer.layout) == ()


@pytest.mark.parametrize(
    ("piece", "words"),
    [
        (square(50.0, 1), "the widest such place 40.0 mm, 10.0 mm too little"),
        (Cutting(name="bar", outline=box(1200.0, 10.0)), "200.0 mm too long"),
    ],
)
def test_a_piece_that_fits_nowhere_is_named(piece: Cutting, words: str) -> None:
    with pytest.raises(RequestError, match=f"piece {piece.name} fits nowhere.*{words}"):
        cut(strip(40.0, piece), rounds=10, seed=1)


def test_a_hide_without_room_within_its_margin_is_told() -> None:
    hide = Hide(name="scrap", outline=box(12.0, 12.0))
    problem = Problem(goal="hides", hides=(hide,), pieces=(square(5.0, 1),), edge_margin_mm=6.0)
    with pytest.raises(RequestError, match=r"piece square fits nowhere.*there is no such place"):
        cut(problem, rounds=10, seed=1)


def test_too_few_rounds_are_told() -> None:
    with pytest.raises(RequestError, match="no layout was found in 1 rounds"):
        cut(strip(10.0, square(10.0, 30), length=301.0), rounds=1, seed=1)


def test_the_bound_is_the_ratio_of_grown_areas() -> None:
    # a square grown by a disc of radius r: A + 4 s r + pi r^2; its half of the field is grown with
    # mitred corners, 52 x 102; the other pieces may use all the field, less the flaw
    half = GradeArea(grade=1, outline=box(50.0, 100.0))
    rest = GradeArea(grade=2, outline=box(50.0, 100.0, 50.0))
    flaw = Flaw(kind="hole", severity=1, outline=box(20.0, 20.0, 60.0, 40.0))
    hide = Hide(name="0", outline=box(100.0, 100.0), areas=(half, rest), flaws=(flaw,))
    grown = 100.0 + 40.0 + math.pi
    for good, bears, wanted in (
        (True, 3, 52.0 * 102.0),
        (False, 0, 102.0**2),
        (False, 1, 102.0**2 - 18.0**2),
    ):
        piece = square(10.0, 1, grade=1 if good else 2, clear_of=bears)
        problem = Problem(goal="sets", hides=(hide,), pieces=(piece,), spacing_mm=2.0)
        assert bound_of(problem) == math.floor(wanted / grown)
        # pickier pieces count against what the less picky may use as well
        both = replace(problem, pieces=(piece, square(10.0, 1, name="other", clear_of=bears)))
        assert bound_of(both) == math.floor(
            min(52.0 * 102.0 / grown / (2 if good else 1), wanted / grown / 2)
        )


def test_pieces_that_bear_flaws_are_not_counted_against_where_none_may_be() -> None:
    flaw = Flaw(kind="hole", severity=1, outline=box(100.0, 60.0))
    hide = Hide(name="0", outline=box(100.0, 100.0), flaws=(flaw,))
    picky, hardy = square(10.0, 1, clear_of=1), square(10.0, 1, name="hardy", clear_of=0)
    problem = Problem(goal="sets", hides=(hide,), pieces=(picky, hardy))
    assert bound_of(problem) == 40  # 40 x 100 for the picky alone; 100 x 100 for both holds 50

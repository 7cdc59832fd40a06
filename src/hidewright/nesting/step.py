"""How fine a lattice suits a problem."""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.geometry.segment import Floats
from hidewright.nesting.lattice import TABLES, Orientation, numbers_in_tables, reach_of
from hidewright.nesting.problem import Problem

#: Steps in the side of a piece of mean size: on a strip, on one hide, on one of several.
STEPS_STRIP, STEPS_HIDE, STEPS_MANY = 100, 80, 40
#: On one of several no fewer, though then not all depth tables find room at once.
FEWEST_STEPS = 20
#: Points of a hide's map at most, for each orientation.
MOST_POINTS = 4_000_000
#: Points of all its maps together: of one hide, of one of several.
ALL_POINTS, ALL_POINTS_MANY = 200_000_000, 50_000_000
#: By how much at least a lattice is made coarser at a time until its depth tables find room.
COARSER = 1.005
#: A step that suits the boxes of pieces is taken when less than this share of the least step is
#: lost with it, on the sides of boxes and elsewhere; lengths at random lose all of it.
WORTH = 0.75
#: Coordinates are tried as multiples of a unit, to this share of it.
EXACT = 1e-6


def step_of(problem: Problem, ways: Sequence[Sequence[Orientation]]) -> float:
    """Return the distance of a lattice's points, mm.

    It follows the size of the pieces; where all lengths are multiples of some not much smaller
    unit, it is a part or a multiple of that, so that pieces may touch exactly; else it is such that
    pieces side by side in their boxes lose little.
    """
    counts = [piece.count for piece in problem.pieces]
    sides = [math.sqrt(float(np.prod(of_piece[0].size))) for of_piece in ways]
    mean = float(np.average(sides, weights=counts))
    steps = STEPS_HIDE
    if problem.goal == "hides":
        steps = STEPS_MANY
    elif problem.goal == "length" and not (problem.hides[0].areas or problem.hides[0].flaws):
        steps = STEPS_STRIP
    least = mean / steps
    flat = [way for of_piece in ways for way in of_piece]
    coarsest = mean / FEWEST_STEPS if problem.goal == "hides" else math.inf
    sizes = np.array([way.size for way in flat])
    least = min(_for_tables(sizes, problem.spacing_mm, least), coarsest)
    least = max(least, _for_maps(problem, len(flat)))
    return _aligned(problem, flat, least)


def _for_tables(sizes: Floats, spacing: float, least: float) -> float:
    """Return the least step, from some on, at which the tables of all orientations find room."""
    while (numbers := numbers_in_tables(reach_of(sizes, spacing, least))) > TABLES:
        least *= max(math.sqrt(numbers / TABLES), COARSER)
    return least


def _for_maps(problem: Problem, orientations: int) -> float:
    least = 0.0
    for hide in problem.hides:
        if not (hide.areas or hide.flaws or hide.holes):
            continue
        corners = np.array(hide.outline)
        area = float(np.prod(np.ptp(corners, axis=0)))
        most = ALL_POINTS_MANY if problem.goal == "hides" else ALL_POINTS
        least = max(least, area / min(MOST_POINTS, most / orientations))
    return math.sqrt(least)


def _aligned(problem: Problem, flat: Sequence[Orientation], least: float) -> float:
    lengths = [v for way in flat for ring in way.rings for v in ring.ravel().tolist()]
    lengths.append(problem.spacing_mm)
    unit = _unit(lengths)
    if unit is None or unit < least / 16.0:
        return _fitting(np.array([way.size for way in flat]) + problem.spacing_mm, least)
    if unit >= least:
        return unit / math.floor(unit / least)
    return unit * math.ceil(least / unit)


def _fitting(lengths: Floats, least: float) -> float:
    """Return the step, from some on, at which two pieces lose least where they touch.

    Where they touch with their boxes' sides that is what lengths lack to whole steps; elsewhere it
    is half a step. Where no step suits many of the lengths it is the least.
    """
    steps = [least]
    for length in np.unique(lengths).tolist():
        most = int(length / least)
        steps += [length / k for k in range(most // 2 + 1, most + 1)]

    def lost(step: float) -> float:
        missing = np.ceil(lengths / step - EXACT) * step - lengths
        return float(missing.mean()) + step / 2.0

    best = min(steps, key=lost)
    return best if lost(best) < WORTH * least else least


def _unit(lengths: Sequence[float]) -> float | None:
    """Return the largest number that all lengths are multiples of, if they are round enough."""
    whole = 0
    for length in lengths:
        count = round(length * 1000.0)
        if abs(length * 1000.0 - count) > EXACT * 1000.0:
            return None
        whole = math.gcd(whole, count)
    return whole / 1000.0 if whole else None

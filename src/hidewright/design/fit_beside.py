"""Do things go in beside one another where dividers stand up in a hollow."""

import math
from collections.abc import Callable, Sequence
from itertools import product

import numpy as np

from hidewright.design.fit import clearance_in
from hidewright.design.hollow import Hollow
from hidewright.design.slabs import Slab
from hidewright.geometry.distance import apart_when_moved, signed_distances
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import dense_points
from hidewright.geometry.segment import Point

#: Places of a thing are tried on a grid of so many lines each way, then halved so often.
LINES, HALVINGS = 13, 6
#: Outlines that reach into one another are looked at so densely, mm.
STEP_MM = 1.0


def clearance_beside(hollow: Hollow, slabs: Sequence[Slab]) -> float:
    """Return the least room of things laid one after another beside dividers, mm.

    The largest is laid first, each where it has most room to wall, dividers and those that lie
    there. Other ways of laying them are not tried, so they may fit though it is negative.

    Args:
        hollow: With its dividers, without a mouth: things are laid in from above.
        slabs: With their clearances.
    """
    taken: list[Outline] = list(hollow.islands)
    least = np.inf
    for slab in sorted(slabs, key=lambda one: -one.plan.area):
        room, (x, y) = _best_place(hollow, slab, taken)
        least = min(least, room)
        taken.append(slab.plan.moved(x, y))
    return float(least)


def _best_place(hollow: Hollow, slab: Slab, taken: Sequence[Outline]) -> tuple[float, Point]:
    left, bottom, right, top = hollow.outline.bounds
    x = (left + right) / 2.0, max((right - left - slab.width_mm) / 2.0, 0.0)
    y = (bottom + top) / 2.0, max((top - bottom - slab.length_mm) / 2.0, 0.0)
    plan = slab.plan

    def room(at: Point, most: float) -> float:
        apart = np.inf
        for other in taken:
            apart = min(apart, _apart(plan, at, other, most))
            if round(apart, 3) < most:
                return apart
        return min(apart, clearance_in(hollow, slab, at=at, least_mm=most))

    found = _best(room, x, y, LINES)
    for halving in range(1, HALVINGS + 1):
        reach = 2.0**-halving * 2.0 / (LINES - 1)
        _, (at_x, at_y) = found
        found = _best(room, (at_x, x[1] * reach), (at_y, y[1] * reach), 3)
    return found


def _best(
    room: Callable[[Point, float], float],
    x: tuple[float, float],
    y: tuple[float, float],
    lines: int,
) -> tuple[float, Point]:
    """Return (room, place) of the roomiest place on a grid about a middle, each (middle, reach).

    Of places as roomy as one another it is the one nearest to the middle: there is room to move on.
    Places are tried from the middle outwards; how little room there is where another has more is
    not worked out, so ``room`` is given the most that was found.
    """
    steps = np.linspace(-1.0, 1.0, lines)
    places = [(float(x[0] + x[1] * u), float(y[0] + y[1] * v)) for u, v in product(steps, repeat=2)]
    far = [(math.dist(at, (x[0], y[0])), i, at) for i, at in enumerate(dict.fromkeys(places))]
    best = (-math.inf, (x[0], y[0]))
    for _, _, at in sorted(far):
        found = room(at, round(best[0], 3))
        if round(found, 3) > round(best[0], 3):
            best = (found, at)
    return best


def _apart(plan: Outline, at: Point, other: Outline, most: float) -> float:
    """Return how far an outline moved to a place is from another, mm; negative where they overlap.

    Where there is room elsewhere it is not worked out by how much they do.
    """
    apart = apart_when_moved(plan, at, other)
    if apart > 0.0:
        return apart
    if most >= 0.0:
        return -math.inf
    one = plan.moved(*at)
    return -max(_depth(one, other), _depth(other, one))


def _depth(one: Outline, other: Outline) -> float:
    """Return how deep the edge or the middle of an outline lies within another, mm."""
    points = np.vstack([dense_points(other.segments, STEP_MM), other.centroid])
    return float(signed_distances(one, points).max())

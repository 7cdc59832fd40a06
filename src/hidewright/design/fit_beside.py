"""Do things go in beside one another where dividers stand up in a hollow."""

import math
from collections.abc import Callable, Sequence
from itertools import product

import numpy as np

from hidewright.design.fit import clearance_in
from hidewright.design.hollow import Hollow
from hidewright.design.slabs import Slab
from hidewright.geometry.distance import signed_distances
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

    def room(at: Point) -> float:
        apart = min((_apart(slab.plan.moved(*at), one) for one in taken), default=np.inf)
        return min(apart, clearance_in(hollow, slab, at=at))

    found = _best(room, x, y, LINES)
    for halving in range(1, HALVINGS + 1):
        reach = 2.0**-halving * 2.0 / (LINES - 1)
        _, (at_x, at_y) = found
        found = _best(room, (at_x, x[1] * reach), (at_y, y[1] * reach), 3)
    return found


def _best(
    room: Callable[[Point], float],
    x: tuple[float, float],
    y: tuple[float, float],
    lines: int,
) -> tuple[float, Point]:
    """Return (room, place) of the roomiest place on a grid about a middle, each (middle, reach).

    Of places as roomy as one another it is the one nearest to the middle: there is room to move on.
    """
    steps = np.linspace(-1.0, 1.0, lines)
    places = [(float(x[0] + x[1] * u), float(y[0] + y[1] * v)) for u, v in product(steps, repeat=2)]
    tried = ((room(at), at) for at in dict.fromkeys(places))
    return max(tried, key=lambda one: (round(one[0], 3), -math.dist(one[1], (x[0], y[0]))))


def _apart(one: Outline, other: Outline) -> float:
    """Return how far two outlines are apart, mm; negative where one reaches into the other."""
    apart = float(one.polygon.distance(other.polygon))
    if apart > 0.0:
        return apart
    return -max(_depth(one, other), _depth(other, one))


def _depth(one: Outline, other: Outline) -> float:
    """Return how deep the edge or the middle of an outline lies within another, mm."""
    points = np.vstack([dense_points(other.segments, STEP_MM), other.centroid])
    return float(signed_distances(one, points).max())

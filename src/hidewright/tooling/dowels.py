"""Where plates are pinned, so that each goes on in one way only."""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point

#: Candidates for a place within a plug lie on a grid of this many lines each way.
GRID = 25


def dowel_places(
    plate: tuple[float, float, float, float], border_mm: float, dowel_mm: float
) -> tuple[Point, ...]:
    """Return the centres of four dowels in the border of a plate, mm.

    Three stand in corners; the fourth, at the right, is moved down from its corner, so that the
    pattern is met by no turn and no turning over, of a square plate neither: each misses by at
    least three dowel diameters.

    Args:
        plate: (left, bottom, right, top) of the plate.
        border_mm: Width of board outside the blank; the dowels stand in its middle.
        dowel_mm: Diameter.
    """
    left, bottom, right, top = plate
    d = border_mm / 2.0
    moved = max(3.0 * dowel_mm, 0.2 * (top - bottom - border_mm))
    return (
        (left + d, bottom + d),
        (right - d, bottom + d),
        (left + d, top - d),
        (right - d, top - d - moved),
    )


def pin_places(
    outline: Outline, diameter_mm: float, web_mm: float, pockets: Sequence[Outline] = ()
) -> tuple[Point, ...]:
    """Return the centres of three pins within a plug, or none where they do not fit.

    Their triangle has three different sides, so that a plate turned or turned over does not meet
    them: the sides differ by at least two diameters. It is at least half a diameter high, since a
    plate goes over three pins in a row face down too. They keep off pockets as off the edge.
    """
    places = _inside(outline, diameter_mm / 2.0 + web_mm, pockets)
    if len(places) < 3:
        return ()
    one = places[int(np.argmin(places[:, 0] + places[:, 1]))]
    two = places[int(np.argmax(places[:, 0] - 0.6 * places[:, 1]))]
    a = math.dist(one, two)
    b = np.hypot(*(places - one).T)
    c = np.hypot(*(places - two).T)
    differ = np.minimum(np.minimum(abs(b - a), abs(c - a)), abs(b - c))
    shortest = np.minimum(np.minimum(b, c), a)
    (ux, uy), (vx, vy) = two - one, (places - one).T
    doubled = abs(ux * vy - uy * vx)
    high = doubled / np.maximum(np.maximum(b, c), max(a, 1e-9))
    fits = (differ >= 2.0 * diameter_mm) & (shortest >= diameter_mm + web_mm)
    fits &= high >= diameter_mm / 2.0
    if not fits.any():
        return ()
    three = places[int(np.argmax(np.round(np.where(fits, doubled, -1.0), 6)))]
    return _point(one), _point(two), _point(three)


def hole_places(
    outline: Outline,
    diameter_mm: float,
    web_mm: float,
    taken: Sequence[tuple[Point, float]],
    most: int,
    pockets: Sequence[Outline] = (),
) -> tuple[Point, ...]:
    """Return the centres of up to ``most`` holes within a plug, far from one another.

    Args:
        outline: The plug, mm.
        diameter_mm: Of the holes.
        web_mm: Board left to the outline and to other holes.
        taken: (centre, diameter) of holes that are there.
        most: How many are wanted.
        pockets: Larger holes that are there.
    """
    places = _inside(outline, diameter_mm / 2.0 + web_mm, pockets)
    found: list[Point] = []
    for _ in range(most):
        room = np.full(len(places), math.inf)
        for (x, y), other in (*taken, *((p, diameter_mm) for p in found)):
            apart = np.hypot(places[:, 0] - x, places[:, 1] - y)
            room = np.minimum(room, apart - (other + diameter_mm) / 2.0)
        # the first hole lies well within: both far from others and from the edge
        score = np.minimum(room, signed_distances(outline, places) if len(places) else room)
        if not len(places) or room.max() < web_mm:
            break
        score = np.where(room >= web_mm, score if not found else room, -1.0)
        found.append(_point(places[int(np.argmax(np.round(score, 6)))]))
    return tuple(found)


def _inside(outline: Outline, inset_mm: float, pockets: Sequence[Outline]) -> Floats:
    left, bottom, right, top = outline.bounds
    xs, ys = np.linspace(left, right, GRID), np.linspace(bottom, top, GRID)
    grid: Floats = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    # chords lie within 0.01 mm of the outline
    kept: Floats = grid[signed_distances(outline, grid) >= inset_mm + 0.01]
    for pocket in pockets:
        kept = kept[signed_distances(pocket, kept) <= -(inset_mm + 0.01)]
    return kept


def _point(row: Floats) -> Point:
    return (float(row[0]), float(row[1]))

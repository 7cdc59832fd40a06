"""Where a box, such as that of words, stands free: in an area, or between areas and lines."""

import math
from collections.abc import Sequence

import numpy as np
import shapely

from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point

#: Corners of a box, one after another, or the two ends of a line.
Box = Sequence[Point]
#: An area: its outer edge, then those of its windows.
Rings = Sequence[Outline]


def place_within(
    rings: Rings, width: float, height: float, clear: float
) -> tuple[Point, float] | None:
    """Return (middle, reading angle) of a box in an area, so far from its edges, mm; None if none.

    It is about the middle of the largest circle in the area or of the box round it, level or along
    it: a slim area may have room in other places.
    """
    area = _area(rings)
    around = shapely.minimum_rotated_rectangle(area)
    corners = shapely.get_coordinates(around)
    x, y = max(np.diff(corners[:3], axis=0).tolist(), key=lambda side: math.hypot(*side))
    along = math.remainder(math.atan2(y, x), math.pi)  # read from below or from the right
    for middle in (widest(rings), _at(shapely.centroid(around))):
        for angle in (0.0, along):
            box = shapely.Polygon(box_about(middle, width, height, angle))
            if shapely.contains(area, box) and shapely.distance(area.boundary, box) >= clear:
                return middle, angle
    return None


def widest(rings: Rings) -> Point:
    """Return the middle of the largest circle in an area, mm."""
    return _at(shapely.get_point(shapely.maximum_inscribed_circle(_area(rings)), 0))


def box_about(middle: Point, width: float, height: float, angle: float = 0.0) -> Box:
    """Return the corners of a box about a point, turned by radians, mm."""
    c, s = math.cos(angle), math.sin(angle)
    halves = [(i * width / 2, j * height / 2) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return [(middle[0] + u * c - v * s, middle[1] + u * s + v * c) for u, v in halves]


def free_places(
    areas: Sequence[Rings], lines: Sequence[Outline], width: float, height: float, clear: float
) -> Floats:
    """Return (n, 2) middles, half a height apart, of level boxes clear of areas and lines, mm.

    The outermost stand just outside of all of it.
    """
    taken = [*map(_area, areas), *(one.rim for one in lines)]
    left, bottom, right, top = shapely.total_bounds(taken)
    xs = np.arange(left - width, right + width, height / 2)
    ys = np.arange(bottom - 2 * height, top + 2 * height, height / 2)
    middles: Floats = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    (x, y), w, h = middles.T, width / 2, height / 2
    boxes = shapely.box(x - w, y - h, x + w, y + h)
    hit = shapely.STRtree(taken).query(boxes, predicate="dwithin", distance=clear)[0]
    free = np.ones(len(boxes), dtype=bool)
    free[hit] = False
    found: Floats = middles[free]
    return found


def nearest_free(
    places: Floats, to: Point, width: float, height: float, clear: float, others: Sequence[Box]
) -> tuple[Point, Point]:
    """Return (middle, begin): the free place nearest to a point, and where a pointer leaves it, mm.

    Neither the box nor its pointer to the point touches other ones, if there is such a place.

    Args:
        places: (n, 2) middles of level boxes, one at least.
        to: What is pointed at.
        width: Of the box.
        height: Of the box.
        clear: Left free round it.
        others: Boxes and pointers that stand already.
    """
    stand = shapely.geometrycollections(
        [shapely.convex_hull(shapely.multipoints(one)) for one in others]
    )
    shapely.prepare(stand)
    order = np.argsort(np.hypot(*(places - to).T), kind="stable")
    found: list[tuple[Point, Point]] = []
    for x, y in places[order].tolist():
        box = shapely.Polygon(box_about((x, y), width, height))
        pointer = shapely.shortest_line(box, shapely.Point(to))
        found.append(((x, y), _at(shapely.get_point(pointer, 0))))
        if not (shapely.dwithin(stand, box, clear) or shapely.intersects(stand, pointer)):
            return found[-1]
    return found[0]


def _area(rings: Rings) -> shapely.Polygon:
    outer, *windows = (one.flat_points() for one in rings)
    return shapely.Polygon(outer, windows)


def _at(point: shapely.Point) -> Point:
    return (float(point.x), float(point.y))

"""What a piece must keep clear of on a hide: its edge, flaws, worse grades, other thickness."""

import shapely

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Hide
from hidewright.geometry.segment import Floats
from hidewright.nesting.convex import convex_parts, simple
from hidewright.nesting.ground import graded, marred, polygon_of, thick, thickness_ranges

#: Pieces keep this far from flaws, so that none is touched, mm.
CLEARANCE_MM = 0.01
#: What a piece must keep clear of with more corners than this is drawn with fewer, by this share of
#: its size further in: a hide's edge is known no better.
MANY_HIDE_CORNERS, HIDE_OUTSIDE = 600, 2e-4
#: What a piece must keep clear of: (convex parts, mm; by how much, mm).
Obstacles = tuple[tuple[tuple[Floats, ...], float], ...]


def _box_round(hide: Hide) -> shapely.Geometry:
    left, bottom, right, top = shapely.bounds(polygon_of(hide.outline))
    box: shapely.Geometry = shapely.box(left - 1.0, bottom - 1.0, right + 1.0, top + 1.0)
    return box


def obstacles_of(
    hide: Hide,
    piece: Cutting,
    edge_margin_mm: float,
    taken: tuple[shapely.Geometry, float],
) -> Obstacles:
    """Return what a piece must keep clear of, whatever the thickness."""
    whole, box = polygon_of(hide.outline), _box_round(hide)
    holes = shapely.union_all([polygon_of(hole) for hole in hide.holes])
    outside = shapely.difference(box, whole)
    found = [
        (outside, edge_margin_mm),
        (holes, 0.0),
        (marred(hide, piece.clear_of_throughout), CLEARANCE_MM),
        taken,
    ]
    if hide.areas:
        found.append((shapely.difference(box, graded(hide, piece.grade)), 0.0))
    return tuple(_obstacle(area, grown) for area, grown in found if not shapely.is_empty(area))


def flaws_where_shown(hide: Hide, piece: Cutting) -> Obstacles:
    """Return the flaws that a piece may bear only where another part lies over it."""
    mild = marred(hide, piece.clear_of, milder_than=piece.clear_of_throughout)
    return () if shapely.is_empty(mild) else (_obstacle(mild, CLEARANCE_MM),)


def thicknesses_to_avoid(hide: Hide, piece: Cutting) -> tuple[Obstacles, ...]:
    """Return what a piece must keep clear of for its thickness: of all of any one of these."""
    box = _box_round(hide)
    areas = [shapely.difference(box, thick(hide, *one)) for one in thickness_ranges(hide, piece)]
    return tuple((_obstacle(area, 0.0),) for area in areas)


def _obstacle(area: shapely.Geometry, grown: float) -> tuple[tuple[Floats, ...], float]:
    return convex_parts(simple(area, MANY_HIDE_CORNERS, HIDE_OUTSIDE)), grown

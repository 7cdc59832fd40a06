"""Where on a hide a piece may lie at all, by what it asks for."""

from collections.abc import Sequence

import shapely

from hidewright.design.hide import Corners, Hide
from hidewright.nesting.problem import Cutting

#: Areas drawn side by side may gape by twice this, mm: no knife tells it.
SEAM_MM = 0.02


def polygon_of(outline: Corners, holes: Sequence[Corners] = ()) -> shapely.Geometry:
    """Return the area of an outline without its holes, mended where rounding made it cross."""
    area = shapely.make_valid(shapely.Polygon(outline))
    for hole in holes:
        area = shapely.difference(area, shapely.make_valid(shapely.Polygon(hole)))
    return area


def graded(hide: Hide, grade: int) -> shapely.Geometry:
    """Return where a hide is of a grade or better."""
    whole = polygon_of(hide.outline, hide.holes)
    if not hide.areas:
        return whole
    good = shapely.union_all(
        [polygon_of(area.outline, area.holes) for area in hide.areas if area.grade <= grade]
    )
    closed = shapely.buffer(good, SEAM_MM, join_style="mitre")
    good = shapely.union(good, shapely.buffer(closed, -SEAM_MM, join_style="mitre"))
    return shapely.intersection(good, whole)


def marred(hide: Hide, clear_of: int) -> shapely.Geometry:
    """Return what flaws of a severity, and of worse, cover."""
    return shapely.union_all(
        [polygon_of(flaw.outline) for flaw in hide.flaws if flaw.severity <= clear_of]
    )


def usable(hide: Hide, piece: Cutting, edge_margin_mm: float) -> shapely.Geometry:
    """Return all that a piece may cover, mm."""
    inner = shapely.buffer(polygon_of(hide.outline), -edge_margin_mm, quad_segs=32)
    good = shapely.intersection(graded(hide, piece.grade), inner)
    return shapely.difference(good, marred(hide, piece.clear_of))

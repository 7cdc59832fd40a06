"""Where on a hide a piece may lie at all, by what it asks for."""

import math
from collections.abc import Sequence

import shapely
from shapely import affinity

from hidewright.design.cutting import Cutting, Placement
from hidewright.design.hide import Corners, Hide

#: Areas drawn side by side may gape by twice this, mm: no knife tells it.
SEAM_MM = 0.02
#: Thicknesses are told to 0.01 mm at best: what arithmetic adds does not part them, mm.
ALIKE_MM = 1e-9


def polygon_of(outline: Corners, holes: Sequence[Corners] = ()) -> shapely.Geometry:
    """Return the area of an outline without its holes, mended where rounding made it cross."""
    area = shapely.make_valid(shapely.Polygon(outline))
    for hole in holes:
        area = shapely.difference(area, shapely.make_valid(shapely.Polygon(hole)))
    return area


def shape_of(piece: Cutting) -> shapely.Geometry:
    """Return the area of a piece with all that is laid with it."""
    whole = polygon_of(piece.outline, piece.holes)
    return shapely.union_all([whole, *map(polygon_of, piece.others)]) if piece.others else whole


def shown_of(piece: Cutting) -> shapely.Geometry:
    """Return the area of a piece, and all laid with it, that no other part lies over."""
    return shapely.difference(shape_of(piece), shapely.union_all([*map(polygon_of, piece.covered)]))


def laid(piece: Cutting, placement: Placement) -> shapely.Geometry:
    """Return the area that a copy of a piece covers where it lies."""
    shape = shape_of(piece)
    if placement.mirrored:
        shape = affinity.scale(shape, -1.0, 1.0, origin=(0.0, 0.0))
    shape = affinity.rotate(shape, placement.angle_deg, origin=(0.0, 0.0))
    return affinity.translate(shape, placement.x_mm, placement.y_mm)


def graded(hide: Hide, grade: int) -> shapely.Geometry:
    """Return where a hide is of a grade or better."""
    whole = polygon_of(hide.outline, hide.holes)
    if not hide.areas:
        return whole
    return _joined(
        [polygon_of(area.outline, area.holes) for area in hide.areas if area.grade <= grade], whole
    )


def thick(hide: Hide, least: float, most: float) -> shapely.Geometry:
    """Return where a hide is of a thickness within a range; where that is not known, all of it."""
    whole = polygon_of(hide.outline, hide.holes)
    if not hide.thicknesses:
        return whole
    suits = [
        polygon_of(a.outline, a.holes) for a in hide.thicknesses if least <= a.thickness_mm <= most
    ]
    return _joined(suits, whole)


def thickness_ranges(hide: Hide, piece: Cutting) -> tuple[tuple[float, float], ...]:
    """Return ranges of thickness, in any one of which a copy must lie as a whole; none is anywhere.

    They are those that the piece takes, and no wider than it may differ; none is part of another.
    """
    if not hide.thicknesses or (piece.thickness_mm is None and piece.agrees_mm is None):
        return ()
    low, high = piece.thickness_mm or (0.0, math.inf)
    if piece.agrees_mm is None:
        return ((low, high),)
    there = sorted({a.thickness_mm for a in hide.thicknesses if low <= a.thickness_mm <= high})
    found: list[tuple[float, float]] = []
    for least in there:
        most = max(t for t in there if t <= least + piece.agrees_mm + ALIKE_MM)
        if not found or most > found[-1][1]:
            found.append((least, most))
    return tuple(found) or ((low, high),)


def _joined(areas: Sequence[shapely.Geometry], whole: shapely.Geometry) -> shapely.Geometry:
    """Return areas of a hide as one, closed where they were drawn side by side."""
    good = shapely.union_all(list(areas))
    closed = shapely.buffer(good, SEAM_MM, join_style="mitre")
    good = shapely.union(good, shapely.buffer(closed, -SEAM_MM, join_style="mitre"))
    return shapely.intersection(good, whole)


def marred(hide: Hide, clear_of: int, milder_than: int | None = None) -> shapely.Geometry:
    """Return what flaws of a severity, and of worse, cover; those milder than some if given."""
    return shapely.union_all(
        [
            polygon_of(flaw.outline)
            for flaw in hide.flaws
            if flaw.severity <= clear_of and (milder_than is None or flaw.severity > milder_than)
        ]
    )


def usable(hide: Hide, piece: Cutting, edge_margin_mm: float) -> shapely.Geometry:
    """Return all that a piece may cover, mm."""
    inner = shapely.buffer(polygon_of(hide.outline), -edge_margin_mm, quad_segs=32)
    good = shapely.intersection(graded(hide, piece.grade), inner)
    ranges = thickness_ranges(hide, piece)
    if ranges:
        good = shapely.intersection(good, thick(hide, ranges[0][0], ranges[-1][1]))
    return shapely.difference(good, marred(hide, piece.clear_of_throughout))

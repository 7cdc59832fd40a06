"""Openings cut out of a sheet one after another."""

import math
from collections.abc import Iterable

from hidewright.geometry.boolean import Region, difference, union
from hidewright.geometry.outline import Outline


def take_away(outline: Outline, openings: Iterable[Outline]) -> tuple[Region, ...]:
    """Return what is left of a sheet when openings are cut out of it; openings may overlap.

    An opening inside the sheet becomes a hole, one over its edge changes the edge, one right
    through it parts the sheet.
    """
    left: tuple[Region, ...] = (Region(outer=outline),)
    for opening in openings:
        left = tuple(part for region in left for part in _without(region, opening))
    return left


def largest(regions: Iterable[Region]) -> Outline:
    """Return the outer edge of the largest of at least one region."""
    return max(regions, key=lambda region: region.outer.area).outer


def _without(region: Region, opening: Outline) -> tuple[Region, ...]:
    apart: list[Outline] = []
    for hole in region.holes:
        both = union(hole, opening)
        if len(both) == 1:
            opening = both[0].outer
        else:
            apart.append(hole)
    parts = difference(region.outer, opening)
    return tuple(
        Region(
            outer=part.outer,
            holes=(*part.holes, *(h for h in apart if part.outer.contains(_a_point_of(h)))),
        )
        for part in parts
    )


def _a_point_of(hole: Outline) -> tuple[float, float]:
    """Return a point just inside a hole, which the sheet around it also surrounds."""
    seg = hole.segments[0]
    (x, y), (nx, ny) = seg.point_at(seg.length / 2), seg.normal_at(seg.length / 2)
    step = min(1e-3, math.sqrt(hole.area) / 10)
    return (x - nx * step, y - ny * step)

"""What is left of a hide once pieces are cut from it and is worth keeping."""

from collections.abc import Sequence

import shapely

from hidewright.design.hide import Corners, Flaw, GradeArea, Hide, ThicknessArea
from hidewright.nesting.ground import polygon_of

#: Leather narrower than this is not kept, nor pieces of less area: mm, mm2. Common practice, no
#: source.
NARROWEST_MM = 80.0
SMALLEST_MM2 = 20_000.0
#: An outline of what is left may be off by this, always on the inside, mm.
OFF_MM = 1.0


def remnants_of(
    hide: Hide, taken: Sequence[shapely.Geometry], spacing_mm: float
) -> tuple[Hide, ...]:
    """Return what is worth keeping, the largest first, with the flaws and areas on it.

    What is left beside the pieces is opened by a disc, so that tongues between pieces are no part
    of it, and drawn with few corners inside its edge.

    Args:
        hide: What was cut.
        taken: The areas of the pieces, as they lay.
        spacing_mm: Room kept round each, which is wasted too.
    """
    whole = polygon_of(hide.outline, hide.holes)
    gone = shapely.buffer(shapely.union_all(list(taken)), spacing_mm, join_style="mitre")
    left = shapely.difference(whole, gone)
    half = NARROWEST_MM / 2.0
    open_ = shapely.buffer(shapely.buffer(left, -half), half - OFF_MM)
    parts = [
        part
        for part in shapely.get_parts(shapely.simplify(open_, OFF_MM * 0.9))
        if isinstance(part, shapely.Polygon) and part.area >= SMALLEST_MM2
    ]
    parts.sort(key=lambda part: -part.area)
    count = len(parts)
    return tuple(
        _remnant(hide, part, f"rest of {hide.name}" + (f" {n}" if count > 1 else ""))
        for n, part in enumerate(parts, start=1)
    )


def _remnant(hide: Hide, part: shapely.Polygon, name: str) -> Hide:
    def is_on(ring: Corners) -> bool:
        return bool(shapely.intersects(part, polygon_of(ring)))

    flaws: tuple[Flaw, ...] = tuple(f for f in hide.flaws if is_on(f.outline))
    areas: tuple[GradeArea, ...] = tuple(a for a in hide.areas if is_on(a.outline))
    thick: tuple[ThicknessArea, ...] = tuple(a for a in hide.thicknesses if is_on(a.outline))
    return Hide(
        name=name,
        outline=_corners(part.exterior),
        holes=tuple(_corners(ring) for ring in part.interiors),
        areas=areas,
        flaws=flaws,
        thicknesses=thick,
        backbone_deg=hide.backbone_deg,
    )


def _corners(ring: shapely.LinearRing) -> Corners:
    return tuple((float(x), float(y)) for x, y in ring.coords[:-1])

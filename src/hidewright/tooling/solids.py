"""Plug and frame as solids with their real radii, for those who print or mill them."""

import math

from hidewright.design.pressed_zone import PressedIsland, PressedZone
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.surface import Surface, framed_plate, rounded_prism


def plug_solid(zone: PressedZone) -> Surface:
    """Return the plug standing on z = 0, its top edge rounded by the crown radius, mm.

    A leaning wall comes in as it rises, up to where the rounding leaves it. Dividers have their
    pockets, rounded at the top.

    Raises:
        RequestError: When crown radius and lean do not fit the outline.
    """
    return rounded_prism(
        zone.plug,
        0.0,
        zone.height_mm,
        zone.crown_radius_mm,
        rounded_holes=[(island.pocket, island.foot_radius_mm) for island in zone.islands],
        lean=zone.wall_angle,
    )


def divider_solid(island: PressedIsland, gap_mm: float, high_mm: float) -> Surface:
    """Return a divider's block standing on what hangs from the floor, its free edge rounded, mm."""
    return rounded_prism(island.block(gap_mm), 0.0, high_mm, island.top_radius_mm)


def frame_solid(
    zone: PressedZone, gap_mm: float, outer: Outline, heights_mm: tuple[float, float]
) -> Surface:
    """Return the frame of one zone between two heights, its lower window edge rounded by the lip.

    Its wall stands one gap from the plug's, square to it, so it leans alike; above the plug it
    stands upright.

    Args:
        zone: What it presses.
        gap_mm: Space between plug and window, square to their walls.
        outer: Outline of the frame.
        heights_mm: Of its lower and upper face over the base.

    Raises:
        RequestError: When the lip radius does not fit the window or the height.
    """
    lean, (low, high) = zone.wall_angle, heights_mm
    leans_to = min(zone.height_mm, high)
    narrowest = gap_mm / math.cos(lean) - leans_to * math.tan(lean)
    return framed_plate(
        outer,
        offset(zone.plug, narrowest),
        low,
        high,
        zone.lip_radius_mm,
        face="bottom",
        lean=lean,
        upright_mm=high - leans_to if lean else 0.0,
    )

"""Plug and frame as solids with their real radii, for those who print or mill them."""

import math

from hidewright.design.pressed_zone import PressedZone
from hidewright.errors import RequestError
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.surface import Surface, framed_plate, rounded_prism


def plug_solid(zone: PressedZone) -> Surface:
    """Return the plug standing on z = 0, its top edge rounded by the crown radius, mm.

    Raises:
        RequestError: When the crown radius does not fit the outline, or the wall leans.
    """
    _must_be_upright(zone)
    return rounded_prism(zone.plug, 0.0, zone.height_mm, zone.crown_radius_mm)


def frame_solid(
    zone: PressedZone, gap_mm: float, outer: Outline, heights_mm: tuple[float, float]
) -> Surface:
    """Return the frame of one zone between two heights, its lower window edge rounded by the lip.

    Args:
        zone: What it presses.
        gap_mm: Space between plug and window.
        outer: Outline of the frame.
        heights_mm: Of its lower and upper face over the base.

    Raises:
        RequestError: When the lip radius does not fit the window or the height, or the wall leans.
    """
    _must_be_upright(zone)
    window = offset(zone.plug, gap_mm)
    return framed_plate(outer, window, *heights_mm, zone.lip_radius_mm, face="bottom")


def _must_be_upright(zone: PressedZone) -> None:
    if zone.wall_angle:
        raise RequestError(
            f"{zone.place}: a solid of a wall leaning {math.degrees(zone.wall_angle):.1f} degrees",
            because="only upright walls are drawn as solids",
            mend="Cut it from stepped plates, or set wall_angle to 0",
        )

"""The window by which a template is located on the outside of a moulded wall, dry."""

import math
from dataclasses import dataclass

from hidewright.catalogue.boards import Board
from hidewright.catalogue.leathers import Leather
from hidewright.design.piece import ZONE_DEPTH, MouldedZone
from hidewright.errors import Remark, Remedy
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.tooling.run_on import run_on

#: Room between wall and window for leather of the middle of its range, mm; common practice.
FIT_MM = 0.3
#: Room that the thickest leather of the range still has, mm.
TIGHTEST_FIT_MM = 0.1
#: Upright wall that a window must touch to be located by it, mm; common practice.
LAND_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WallWindow:
    """A window that goes down over a moulded wall.

    Attributes:
        outline: Edge of the window, mm; it runs on straight beyond a mouth.
        from_hollow_mm: How far it lies outside the hollow's inside outline.
        easing_mm: Radius of its lower edge, which clears the lip.
        plates: Sheets that must lie on one another for the window to reach the upright wall.
        land_mm: Height of upright wall that the window then touches.
    """

    outline: Outline
    from_hollow_mm: float
    easing_mm: float
    plates: int
    land_mm: float


def wall_window(
    zone: MouldedZone, leather: Leather, board: Board, run_on_mm: float = 12.0
) -> WallWindow:
    """Return the window of a template that lies on the flange and is located by the wall.

    The flange's outer face is one thickness t above the plane of the zone's outline, and the
    outside of an upright wall is t outside it. Between them is the lip, an arc of radius R about
    (t + R, t + R). The window is upright at t + c from the outline and its lower edge is rounded
    by the same R, so about (t + c + R, t + R): the leather's own arc moved outwards by c, which
    never touches it. It clears a dried lip larger than R by up to c as well, and presses into one
    larger by e > c by hypot(e - c, e) - e only: 0.04 mm for a lip half a mm larger.
    The window touches the wall from t + R up to the crown's arc or to the template's top.
    A wall leaning in by an angle a is t / cos a - z tan a outside the outline at a height z; its
    foot, just above the lip, locates the window.

    Args:
        zone: The moulded zone, dry, lying with its convex side up.
        leather: The wall is taken as thick as the middle of its range; the room c is 0.3 mm, or
            more where the range is so wide that the thickest would have under 0.1 mm.
        board: What the template is cut from.
        run_on_mm: How far the window runs on beyond a mouth, over what the window is wider.
    """
    t = wall_thickness_mm(leather)
    foot = t + zone.lip_radius_mm
    lean = zone.wall_angle
    outside = t / math.cos(lean) - (foot * math.tan(lean) if lean else 0.0)
    away = outside + fit_mm(leather)
    hollow: Outline = zone.outline
    for mouth in zone.mouths:
        hollow = run_on(hollow, mouth, away + run_on_mm)
    # the crown's arc begins where its normal leaves the wall's
    crown_from = zone.depth_mm - zone.crown_radius_mm * (1.0 - math.sin(lean))
    wall_land = crown_from - foot
    wanted = zone.lip_radius_mm + min(LAND_MM, max(wall_land, 0.0))
    plates = max(1, math.ceil(wanted / board.thickness_mm - 1e-9))
    return WallWindow(
        outline=offset(hollow, away),
        from_hollow_mm=away,
        easing_mm=zone.lip_radius_mm,
        plates=plates,
        land_mm=max(min(crown_from, t + plates * board.thickness_mm) - foot, 0.0),
    )


def land_remark(place: str, zone: MouldedZone, window: WallWindow) -> tuple[Remark, ...]:
    """Return the remark that a wall is too low to hold a template, if it is."""
    if window.land_mm >= LAND_MM - 1e-9:
        return ()
    missing = LAND_MM - window.land_mm
    crown = zone.crown_radius_mm - missing
    remedies = [Remedy(field=ZONE_DEPTH, value=f"{zone.depth_mm + missing:.1f} mm")]
    if crown >= 0.5:
        remedies.insert(0, Remedy(field="measures.crown_radius", value=f"{crown:.1f} mm"))
    return (
        Remark(
            code="wall-too-low-for-template",
            severity="warning",
            place=f"{place}/{zone.name}",
            amount=window.land_mm,
            limit=LAND_MM,
            sentence=(
                f"Between lip and crown only {window.land_mm:.1f} mm of the wall stand upright, "
                f"the template needs {LAND_MM:g} mm to be located by: centre it by eye and measure "
                "from the crown"
            ),
            remedies=tuple(remedies),
        ),
    )


def wall_thickness_mm(leather: Leather) -> float:
    """Return the dry thickness a wall is taken for: the middle of the leather's range, mm."""
    return (leather.thickness_min_mm + leather.thickness_max_mm) / 2


def fit_mm(leather: Leather) -> float:
    """Return the room between wall and window for leather of the middle of its range, mm."""
    spread = (leather.thickness_max_mm - leather.thickness_min_mm) / 2
    return max(FIT_MM, spread + TIGHTEST_FIT_MM)

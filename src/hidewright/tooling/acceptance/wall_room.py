"""How far a template's window stands off the inside of a moulded wall."""

import math
from dataclasses import dataclass

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.piece import Piece
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point

#: Room for leather of the middle of its range, and for the thickest, mm; common practice.
MIDDLE_ROOM_MM, THICKEST_ROOM_MM = 0.3, 0.1


@dataclass(frozen=True, eq=False, kw_only=True)
class Wall:
    """A moulded wall as a template meets it, dry.

    Attributes:
        outline: Inside of the hollow at the flange.
        room_mm: From there to the template's window: the leather, and room for it.
        lip_mm: Radius of the lip that the window's lower edge clears.
        mouths: (begin, end) of each mouth, the hollow to the left.
        has_flange: Whether any of it ends in a flange that a template lies on.
    """

    outline: Outline
    room_mm: float
    lip_mm: float
    mouths: tuple[tuple[Point, Point], ...]
    has_flange: bool

    def behind(self, points: Floats) -> Floats:
        """Return which points lie behind every mouth's line, bool (n,)."""
        behind = np.full(len(points), True)
        for (x0, y0), (x1, y1) in self.mouths:
            out = (points[:, 0] - x0) * (y1 - y0) - (points[:, 1] - y0) * (x1 - x0)
            behind &= out <= 1e-6 * math.hypot(x1 - x0, y1 - y0)
        return behind


def walls_of(piece: Piece, leather: Leather, *, mirrored: bool) -> tuple[Wall, ...]:
    """Return the walls of a piece, as seen from above in use.

    The wall is as thick as the middle of the leather's range; a wall leaning in by an angle a is
    t / cos a - z tan a outside the outline at a height z, and is met just above its lip.
    """
    walls = []
    for zone in piece.zones:
        outline = zone.outline.mirrored() if mirrored else zone.outline
        t = (leather.thickness_min_mm + leather.thickness_max_mm) / 2.0
        spread = (leather.thickness_max_mm - leather.thickness_min_mm) / 2.0
        a = zone.wall_angle
        foot = t / math.cos(a) - (t + zone.lip_radius_mm) * math.tan(a)
        paths = [outline.span_path(mouth) for mouth in zone.mouths]
        walls.append(
            Wall(
                outline=outline,
                room_mm=foot + max(MIDDLE_ROOM_MM, spread + THICKEST_ROOM_MM),
                lip_mm=zone.lip_radius_mm,
                mouths=tuple((p.start, p.end) for p in paths),
                has_flange=any(zone.ending(s.span) == "flange" for s in outline.segments),
            )
        )
    return tuple(walls)

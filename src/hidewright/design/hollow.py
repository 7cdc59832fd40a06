"""The room inside: a dry hollow, its real inner surface and the way into it."""

import math
from dataclasses import dataclass

from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline


@dataclass(frozen=True, slots=True, kw_only=True)
class Shell:
    """One moulded half of a hollow, or the flat side of a flat-backed one.

    Attributes:
        depth_mm: Height of its inside over the plane where the halves meet; 0 for a flat side.
        crown_radius_mm: Inside radius where its wall meets its crown.
        wall_angle: Lean of its wall inwards, radians.
    """

    depth_mm: float
    crown_radius_mm: float
    wall_angle: float = 0.0

    def inset_at(self, height_mm: float) -> float:
        """Return how far the wall has come in at a height over the meeting plane, mm.

        The wall leans in by its angle up to the crown's arc, which is tangent to wall and crown.

        Raises:
            RequestError: Above the crown.
        """
        r, d, lean = self.crown_radius_mm, self.depth_mm, self.wall_angle
        if height_mm > d + 1e-9:
            raise RequestError(f"{height_mm:g} mm is above a hollow {d:g} mm deep")
        # the arc touches the wall where the normal has turned from the wall to straight up
        touch = d - r * (1.0 - math.sin(lean))
        if height_mm <= touch:
            return height_mm * math.tan(lean)
        centre_inset = touch * math.tan(lean) + r * math.cos(lean)
        rise = min(height_mm - (d - r), r)
        return centre_inset - math.sqrt(max(r * r - rise * rise, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Hollow:
    """The room for the carried things in the closed article, dry.

    Attributes:
        name: The zone or zones that make it.
        outline: Inside outline on the plane where the halves meet, mm.
        shells: The half above that plane and the half below it.
        mouth: Span of the outline through which things go in; empty when they are laid in from
            above, through the open face.
        is_open: Whether its face stays open, so that things may stand out of it.
        mouth_y_mm: Where the mouth is cut, in the outline's frame; the way in runs along -y. Not
            used without a mouth.
        grip_mm: How much of a thing pushed home can be gripped past the leather: the depth of a
            thumb notch, or the open height of a tray.
        islands: What stands up in it, such as dividers, as far as their feet round out.
    """

    name: str
    outline: DryOutline
    shells: tuple[Shell, Shell]
    mouth: str = ""
    is_open: bool = False
    mouth_y_mm: float = 0.0
    grip_mm: float = 0.0
    islands: tuple[Outline, ...] = ()

    @property
    def depth_mm(self) -> float:
        """Inside height in all, mm."""
        return self.shells[0].depth_mm + self.shells[1].depth_mm

"""A place within a moulded zone that is left standing, such as a divider between two things."""

import math
from dataclasses import dataclass

from hidewright.design.states import DryOutline
from hidewright.errors import RequestError

#: Flat leather that stays between a divider's foot and the rounding of a wall, mm (common
#: practice, no source).
FLAT_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Island:
    """A divider: the bottom of a hollow is pressed back there, so that it stands up inside.

    Attributes:
        name: Unique within the zone.
        outline: Its foot on the hollow's bottom, inside, dry, in the piece's frame, mm.
        height_mm: Of its top over that bottom, dry.
        top_radius_mm: Radius round its top on the far side: of the block that presses it back.
        foot_radius_mm: Inside radius between bottom and foot: of the pocket's edge in the plug.
    """

    name: str
    outline: DryOutline
    height_mm: float
    top_radius_mm: float
    foot_radius_mm: float

    def __post_init__(self) -> None:
        for label, value in (
            ("height", self.height_mm),
            ("top radius", self.top_radius_mm),
            ("foot radius", self.foot_radius_mm),
        ):
            if not (math.isfinite(value) and value > 0):
                raise RequestError(
                    f"{self.name}: {label} of {value:g} mm", because="it must be > 0"
                )
        if self.top_radius_mm > self.height_mm:
            raise RequestError(
                f"{self.name}: top radius {self.top_radius_mm:g} mm",
                because=f"it is larger than the height of {self.height_mm:g} mm",
                mend=f"Give at most {self.height_mm:g} mm",
            )

    def room_mm(self, wall_mm: float) -> float:
        """Return how far its foot must be from a wall's foot that rounds over this far, mm."""
        return self.foot_radius_mm + FLAT_MM + wall_mm

"""What can be learned: each quantity, the coordinate it is learned on, and how far it may be off.

Quantities are learned on logarithms, so that none goes where it cannot be: a kerf stays above
nothing, a share below one, a stretch above one. The spreads say how far the catalogue may be off
for one workshop: one standard deviation of the logarithm, 0.25 is about a quarter either way. All
are assumed; no source gives them.
"""

import math
from dataclasses import dataclass
from typing import Literal

from hidewright.errors import RequestError

#: What the logarithm is taken of: the value, what lacks to 1, or what is above 1.
Scale = Literal["value", "1 - value", "value - 1"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """One number that a workshop has of its own.

    Attributes:
        name: As in results, such as ``kerf_mm``.
        words: For the maker.
        unit: ``mm``, ``%`` for shares, ``x`` for factors, ``h``; empty for plain numbers.
        scale: What the logarithm is taken of.
        spread: How far the catalogue may be off: standard deviation of that logarithm.
    """

    name: str
    words: str
    unit: str
    scale: Scale = "value"
    spread: float

    def to_log(self, value: float) -> float:
        """Return the coordinate of a value.

        Raises:
            RequestError: When the quantity cannot have it.
        """
        inside = {"value": value, "1 - value": 1.0 - value, "value - 1": value - 1.0}[self.scale]
        if not (math.isfinite(inside) and inside > 0.0):
            limit = {"value": "above 0", "1 - value": "below 1", "value - 1": "above 1"}
            raise RequestError(f"{self.words} of {value:g}", because=f"it is {limit[self.scale]}")
        return math.log(inside)

    def from_log(self, coordinate: float) -> float:
        """Return the value at a coordinate: the inverse of ``to_log``."""
        inside = math.exp(coordinate)
        if self.scale == "1 - value":
            return 1.0 - inside
        return inside + 1.0 if self.scale == "value - 1" else inside


BOARD = (
    Quantity(name="kerf_mm", words="kerf", unit="mm", spread=0.25),
    Quantity(name="thickness_mm", words="thickness", unit="mm", spread=0.03),
)
LEATHER = (
    Quantity(name="thickness_mm", words="middle thickness, dry", unit="mm", spread=0.06),
    Quantity(name="soak_growth_along", words="growth along when soaked", unit="%", spread=0.5),
    Quantity(name="soak_growth_across", words="growth across when soaked", unit="%", spread=0.5),
    Quantity(
        name="soak_growth_thickness", words="growth in thickness when soaked", unit="%", spread=0.4
    ),
    Quantity(name="shrinkage_along", words="shrinkage along, dried held", unit="%", spread=0.5),
    Quantity(name="shrinkage_across", words="shrinkage across, dried held", unit="%", spread=0.5),
    Quantity(
        name="held_shrinkage",
        words="shrinkage that holding takes away",
        unit="%",
        scale="1 - value",
        spread=0.35,
    ),
    Quantity(
        name="set_ratio",
        words="stretch that stays when dry",
        unit="%",
        scale="1 - value",
        spread=0.35,
    ),
    Quantity(name="stiffness", words="stiffness wet, over the catalogue's", unit="x", spread=0.4),
    Quantity(name="wet_friction", words="friction, wet", unit="", spread=0.3),
    Quantity(name="pull_in_factor", words="pull-in, over what is solved", unit="x", spread=0.15),
    Quantity(
        name="stretch_limit",
        words="stretch it bears wet, across",
        unit="x",
        scale="value - 1",
        spread=0.25,
    ),
    Quantity(
        name="grain_limit",
        words="stretch its grain bears wet",
        unit="x",
        scale="value - 1",
        spread=0.25,
    ),
    Quantity(name="drying_hours", words="time constant of drying", unit="h", spread=0.35),
)
#: How much longer than the catalogue's a kind of work takes.
MINUTES = Quantity(name="minutes", words="minutes, over the catalogue's", unit="x", spread=0.3)
#: e in mean time = first x count ** -e; -log2 of the learning share.
EXPONENT = Quantity(
    name="learning_exponent", words="how fast a batch is learned", unit="", spread=0.5
)

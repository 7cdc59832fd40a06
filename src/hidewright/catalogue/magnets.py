"""Small strong magnets for closures."""

import math
from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_lie_between
from hidewright.errors import RequestError

#: Sintered magnets of this family, g/cm3 (data sheets: at least 7.4, typically 7.5).
MAGNET_DENSITY_G_CM3 = 7.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Magnet:
    """A magnet magnetised through its thickness.

    Attributes:
        name: What the maker calls it.
        shape: A disc has a diameter, a block a length and a width.
        diameter_mm: Of a disc; 0 for a block.
        length_mm: Of a block; 0 for a disc.
        width_mm: Of a block; 0 for a disc.
        thickness_mm: Pole to pole.
        remanence_T: Remanent flux density of the grade.
        grade: The seller's grade.
        plating: What keeps it from rusting.
        source: Where the figures come from.
    """

    name: str
    shape: Literal["disc", "block"]
    diameter_mm: float = 0.0
    length_mm: float = 0.0
    width_mm: float = 0.0
    thickness_mm: float
    remanence_T: float
    grade: str
    plating: str = "nickel"
    source: str

    def __post_init__(self) -> None:
        must_be_named("magnet", self.name, self.source)
        sizes = (
            {"diameter_mm": self.diameter_mm}
            if self.shape == "disc"
            else {"length_mm": self.length_mm, "width_mm": self.width_mm}
        )
        must_lie_between(self.name, 0.1, 200.0, thickness_mm=self.thickness_mm, **sizes)
        strays = (self.length_mm, self.width_mm) if self.shape == "disc" else (self.diameter_mm,)
        if any(strays):
            raise RequestError(
                f"{self.name}: a {self.shape} with the measures of another shape",
                mend="A disc has diameter_mm, a block length_mm and width_mm",
            )
        if not 0.01 <= self.remanence_T <= 1.6:
            raise RequestError(
                f"{self.name}: remanence_T is {self.remanence_T:g}",
                because="permanent magnets have between 0.01 and 1.6 T",
                mend="1 T is 10 kG: a grade of 13.2 kG is written 1.32",
            )

    @property
    def pole_area_mm2(self) -> float:
        """Area of one pole face, mm2."""
        if self.shape == "disc":
            return math.pi / 4 * self.diameter_mm**2
        return self.length_mm * self.width_mm

    @property
    def mass_g(self) -> float:
        """Mass, g, at 7.5 g/cm3."""
        return self.pole_area_mm2 * self.thickness_mm * MAGNET_DENSITY_G_CM3 / 1000

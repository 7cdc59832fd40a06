"""Leathers as they are bought: part of the hide, tannage, thickness, and how they take water."""

import math
from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_lie_between
from hidewright.errors import RequestError

PartOfHide = Literal["side", "shoulder", "bend", "belly"]
Tannage = Literal["vegetable", "chrome", "combination", "unknown"]
#: A source says so behind the names of figures that the workshop's own readings bear on.
MEASURED = "measured in this workshop"
#: Less of a stretch never stays.
LEAST_SET = 0.1
#: More than this, as ln(wet length / dry length), no leather shrinks when it dries free.
MOST_FREE = 0.29


def most_shrinkage(held_shrinkage: float) -> float:
    """Return the largest shrinkage from formed to dry of a leather, as a share of its length.

    Args:
        held_shrinkage: Share of the free shrinkage that does not come about when it dries held.
    """
    return 1.0 - math.exp(-MOST_FREE * (1.0 - held_shrinkage))


@dataclass(frozen=True, slots=True, kw_only=True)
class Leather:
    """A leather as it lies on the bench. Along and across are to the backbone.

    The changes with water have no published figures for small vegetable-tanned goods: they are
    assumed, and the maker's own test piece should replace them.

    Attributes:
        name: What the maker calls it.
        part_of_hide: Where on the hide it is cut.
        tannage: Only vegetable-tanned leather is moulded wet.
        thickness_min_mm: Thinnest of the range it is sold in, dry.
        thickness_max_mm: Thickest of that range, dry.
        soak_growth_along: Share it grows along when soaked: soaked = cut x (1 + growth).
        soak_growth_across: The same across.
        soak_growth_thickness: The same through its thickness.
        shrinkage_along: Share it loses along from formed to dry: dry = formed x (1 - shrinkage).
        shrinkage_across: The same across.
        stretch_limit_along: Largest stretch wet before the grain cracks; 1.2 is a fifth longer.
        stretch_limit_across: The same across.
        grain_limit: Largest stretch of the grain face alone, stretch and bending together. 1.5 is
            what a sheet bent over half its thickness shows outside, which sound vegetable-tanned
            leather must bear without cracking.
        wet_matrix_MPa: Shear modulus of the soaked leather without its fibres.
        wet_fibre_along_MPa: What the fibres along add, at small stretch.
        wet_fibre_across_MPa: The same across.
        wet_rise_along: How soon they stiffen, as b in exp(b strain^2).
        wet_rise_across: The same across.
        wet_friction: Coefficient of friction between wet leather and a sealed board.
        pull_in_factor: How far its edge is drawn in, over what the pressing is solved to.
        set_ratio: Share of the stretch that stays when it has dried on its mould.
        held_shrinkage: Share of the free shrinkage that does not come about when it dries held.
        drying_hours: Slowest time constant of drying, 2.0 mm thick, both faces open, still air of
            20 degrees C and 50 % humidity; see ``TimeLaw``.
        density_g_cm3: Apparent density, dry.
        source: Where the figures come from.
    """

    name: str
    part_of_hide: PartOfHide
    tannage: Tannage = "vegetable"
    thickness_min_mm: float
    thickness_max_mm: float
    soak_growth_along: float = 0.005
    soak_growth_across: float = 0.010
    soak_growth_thickness: float = 0.05
    shrinkage_along: float = 0.010
    shrinkage_across: float = 0.015
    stretch_limit_along: float = 1.15
    stretch_limit_across: float = 1.20
    grain_limit: float = 1.5
    wet_matrix_MPa: float = 1.5
    wet_fibre_along_MPa: float = 8.0
    wet_fibre_across_MPa: float = 5.0
    wet_rise_along: float = 6.0
    wet_rise_across: float = 5.0
    wet_friction: float = 0.30
    pull_in_factor: float = 1.0
    set_ratio: float = 0.83
    held_shrinkage: float = 0.80
    drying_hours: float = 3.2
    density_g_cm3: float = 0.90
    source: str

    def is_measured(self, field: str) -> bool:
        """Whether its source says that a figure was measured in the workshop."""
        own, said, _ = self.source.partition(f" {MEASURED}")
        return bool(said) and field in own.split(", ")

    def __post_init__(self) -> None:
        must_be_named("leather", self.name, self.source)
        must_lie_between(
            self.name,
            0.1,
            12.0,
            thickness_min_mm=self.thickness_min_mm,
            thickness_max_mm=self.thickness_max_mm,
        )
        must_lie_between(self.name, 0.01, 1000.0, wet_matrix_MPa=self.wet_matrix_MPa)
        must_lie_between(self.name, 0.01, 100.0, pull_in_factor=self.pull_in_factor)
        must_lie_between(self.name, 0.01, 1000.0, drying_hours=self.drying_hours)
        must_lie_between(self.name, 0.1, 3.0, density_g_cm3=self.density_g_cm3)
        if self.thickness_max_mm < self.thickness_min_mm:
            raise RequestError(
                f"{self.name}: thickness from {self.thickness_min_mm:g} down to "
                f"{self.thickness_max_mm:g} mm",
                mend="Give the thinnest first",
            )
        must_lie_between(
            self.name,
            0.0,
            0.2,
            soak_growth_along=self.soak_growth_along,
            soak_growth_across=self.soak_growth_across,
            shrinkage_along=self.shrinkage_along,
            shrinkage_across=self.shrinkage_across,
        )
        must_lie_between(self.name, 0.0, 0.5, soak_growth_thickness=self.soak_growth_thickness)
        must_lie_between(
            self.name,
            0.0,
            1000.0,
            wet_fibre_along_MPa=self.wet_fibre_along_MPa,
            wet_fibre_across_MPa=self.wet_fibre_across_MPa,
            wet_rise_along=self.wet_rise_along,
            wet_rise_across=self.wet_rise_across,
        )
        must_lie_between(self.name, 0.0, 1.0, wet_friction=self.wet_friction)
        must_lie_between(self.name, LEAST_SET, 0.99, set_ratio=self.set_ratio)
        must_lie_between(self.name, 0.0, 0.99, held_shrinkage=self.held_shrinkage)
        most = most_shrinkage(self.held_shrinkage)
        for field in ("shrinkage_along", "shrinkage_across"):
            if getattr(self, field) > most + 1e-6:  # rows are written with six decimals
                raise RequestError(
                    f"{self.name}: {field} is {getattr(self, field):g}",
                    because=f"drying held takes away {self.held_shrinkage:g} of the free shrinkage "
                    f"(held_shrinkage), so that it would shrink by more than "
                    f"{1 - math.exp(-MOST_FREE):.0%} when it dries free",
                    mend=f"Write {math.floor(most * 1000) / 1000:g} or less, or less for "
                    "held_shrinkage",
                )
        for field, stretch in (
            ("stretch_limit_along", self.stretch_limit_along),
            ("stretch_limit_across", self.stretch_limit_across),
            ("grain_limit", self.grain_limit),
        ):
            if not 1.0 < stretch <= 2.0:
                raise RequestError(
                    f"{self.name}: {field} is {stretch:g}",
                    because="it is length stretched over length before, above 1 and up to 2",
                    mend="Give a stretch such as 1.2, not a strain such as 0.2",
                )

    @property
    def thickness_mm(self) -> float:
        """Middle of the range it is sold in, mm, dry."""
        return (self.thickness_min_mm + self.thickness_max_mm) / 2

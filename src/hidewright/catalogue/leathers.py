"""Leathers as they are bought: part of the hide, tannage, thickness, and how they take water."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_be_positive
from hidewright.errors import RequestError

PartOfHide = Literal["side", "shoulder", "bend", "belly"]
Tannage = Literal["vegetable", "chrome", "combination", "unknown"]
#: A source says so behind the names of figures that the workshop's own readings bear on.
MEASURED = "measured in this workshop"


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
        must_be_positive(
            self.name,
            thickness_min_mm=self.thickness_min_mm,
            thickness_max_mm=self.thickness_max_mm,
            wet_matrix_MPa=self.wet_matrix_MPa,
            pull_in_factor=self.pull_in_factor,
            drying_hours=self.drying_hours,
            density_g_cm3=self.density_g_cm3,
        )
        if self.thickness_max_mm < self.thickness_min_mm:
            raise RequestError(
                f"{self.name}: thickness from {self.thickness_min_mm:g} down to "
                f"{self.thickness_max_mm:g} mm",
                mend="Give the thinnest first",
            )
        for field, share, top in (
            ("soak_growth_along", self.soak_growth_along, 0.2),
            ("soak_growth_across", self.soak_growth_across, 0.2),
            ("soak_growth_thickness", self.soak_growth_thickness, 0.5),
            ("shrinkage_along", self.shrinkage_along, 0.2),
            ("shrinkage_across", self.shrinkage_across, 0.2),
            ("wet_fibre_along_MPa", self.wet_fibre_along_MPa, 1000.0),
            ("wet_fibre_across_MPa", self.wet_fibre_across_MPa, 1000.0),
            ("wet_rise_along", self.wet_rise_along, 1000.0),
            ("wet_rise_across", self.wet_rise_across, 1000.0),
            ("wet_friction", self.wet_friction, 1.0),
            ("set_ratio", self.set_ratio, 0.99),
            ("held_shrinkage", self.held_shrinkage, 0.99),
        ):
            if not 0 <= share <= top:
                raise RequestError(
                    f"{self.name}: {field} is {share:g}",
                    because=f"it lies between 0 and {top:g}",
                    mend="Write 1.5 % as 0.015" if top < 1 else "",
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

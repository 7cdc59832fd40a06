"""Boards and clear sheet that moulds, templates and blocks are cut from."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_lie_between
from hidewright.errors import RequestError

BoardMaterial = Literal["mdf", "plywood", "acrylic", "card"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """A flat sheet for the laser.

    Attributes:
        name: What the maker calls it.
        material: What it is made of.
        thickness_mm: As measured, or nominal.
        thickness_tolerance_mm: A sheet may be this much thicker or thinner.
        kerf_mm: Full width of the cut, mean of both faces; a cut is offset by half of it.
        min_feature_mm: Nothing cut from it may be narrower, not even between two small holes.
        min_web_mm: Board left between two long cuts is at least this wide where it carries load.
        sheet_width_mm: Longer side of the sheet as bought.
        sheet_height_mm: Shorter side.
        bending_modulus_MPa: Stiffness in bending.
        bending_strength_MPa: Breaking stress in bending.
        transparent: Whether marks and leather show through.
        source: Where the figures come from.
    """

    name: str
    material: BoardMaterial
    thickness_mm: float
    thickness_tolerance_mm: float
    kerf_mm: float
    min_feature_mm: float = 1.0
    min_web_mm: float
    sheet_width_mm: float = 600.0
    sheet_height_mm: float = 400.0
    bending_modulus_MPa: float
    bending_strength_MPa: float
    transparent: bool = False
    source: str

    @property
    def material_words(self) -> str:
        """What it is made of, as it is written in a sentence."""
        return "MDF" if self.material == "mdf" else self.material

    def __post_init__(self) -> None:
        must_be_named("board", self.name, self.source)
        must_lie_between(self.name, 0.05, 50.0, thickness_mm=self.thickness_mm)
        must_lie_between(self.name, 0.0, 50.0, thickness_tolerance_mm=self.thickness_tolerance_mm)
        must_lie_between(
            self.name, 0.01, 100.0, min_feature_mm=self.min_feature_mm, min_web_mm=self.min_web_mm
        )
        must_lie_between(
            self.name,
            20.0,
            5000.0,
            sheet_width_mm=self.sheet_width_mm,
            sheet_height_mm=self.sheet_height_mm,
        )
        must_lie_between(self.name, 1.0, 1e6, bending_modulus_MPa=self.bending_modulus_MPa)
        must_lie_between(self.name, 0.1, 1e4, bending_strength_MPa=self.bending_strength_MPa)
        if self.thickness_tolerance_mm >= self.thickness_mm:
            raise RequestError(
                f"{self.name}: {self.thickness_mm:g} mm thick, give or take "
                f"{self.thickness_tolerance_mm:g} mm",
                because="the sheet could then be thinner than nothing",
            )
        if not 0.0 <= self.kerf_mm <= 2.0:
            raise RequestError(
                f"{self.name}: kerf_mm is {self.kerf_mm:g}",
                because="a laser cuts 0.05 to 0.5 mm wide, a fine saw up to 2 mm",
                mend="Cut a test square, measure square and hole: the kerf is half the difference",
            )

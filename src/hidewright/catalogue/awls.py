"""Awls that open the marked holes through the whole stack."""

from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_lie_between
from hidewright.errors import RequestError


@dataclass(frozen=True, slots=True, kw_only=True)
class Awl:
    """A stitching awl.

    Attributes:
        name: What the maker calls it.
        section: Shape of the blade across.
        width_mm: Widest part of the blade: the length of the slit.
        thickness_mm: Across the slit.
        source: Where the figures come from.
    """

    name: str
    section: Literal["diamond", "round"]
    width_mm: float
    thickness_mm: float
    source: str

    def __post_init__(self) -> None:
        must_be_named("awl", self.name, self.source)
        must_lie_between(
            self.name, 0.1, 20.0, width_mm=self.width_mm, thickness_mm=self.thickness_mm
        )
        if self.thickness_mm > self.width_mm:
            raise RequestError(
                f"{self.name}: {self.thickness_mm:g} mm thick and only {self.width_mm:g} mm wide",
                mend="Give the larger measure as the width",
            )

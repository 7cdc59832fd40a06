"""Blunt needles for holes that are made beforehand."""

from dataclasses import dataclass

from hidewright.catalogue.checks import must_be_named, must_lie_between


@dataclass(frozen=True, slots=True, kw_only=True)
class Needle:
    """A harness needle; the smaller its number, the thicker it is.

    Attributes:
        name: Its number.
        diameter_mm: Of the shaft; two shafts and the thread pass one hole.
        source: Where the figures come from.
    """

    name: str
    diameter_mm: float
    source: str

    def __post_init__(self) -> None:
        must_be_named("needle", self.name, self.source)
        must_lie_between(self.name, 0.1, 10.0, diameter_mm=self.diameter_mm)

"""Threads for sewing by hand with two needles."""

import math
from dataclasses import dataclass
from typing import Literal

from hidewright.catalogue.checks import must_be_named, must_lie_between
from hidewright.errors import RequestError

Fibre = Literal["polyester", "nylon", "linen", "cotton"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A sewing thread.

    Attributes:
        name: What the maker calls it.
        fibre: What it is spun from.
        tex: Mass in g of 1000 m.
        diameter_mm: As measured, waxed if it is waxed; formulas only estimate it.
        pitch_min_mm: Finest stitch it suits.
        pitch_max_mm: Longest stitch it suits.
        source: Where the figures come from.
    """

    name: str
    fibre: Fibre
    tex: float
    diameter_mm: float
    pitch_min_mm: float
    pitch_max_mm: float
    source: str

    def __post_init__(self) -> None:
        must_be_named("thread", self.name, self.source)
        must_lie_between(self.name, 1.0, 10_000.0, tex=self.tex)
        must_lie_between(self.name, 0.05, 5.0, diameter_mm=self.diameter_mm)
        must_lie_between(
            self.name, 0.5, 50.0, pitch_min_mm=self.pitch_min_mm, pitch_max_mm=self.pitch_max_mm
        )
        if self.pitch_max_mm < self.pitch_min_mm:
            raise RequestError(
                f"{self.name}: pitch from {self.pitch_min_mm:g} down to {self.pitch_max_mm:g} mm",
                mend="Give the finest pitch first",
            )

    @property
    def ticket(self) -> float:
        """Metric ticket number: three times the metres in a gram, 3000 / Tex."""
        return ticket_from_tex(self.tex)


def ticket_from_tex(tex: float) -> float:
    """Return the metric ticket, 3 x 1000 / Tex (thread makers' numbering).

    >>> ticket_from_tex(40)
    75.0
    """
    return 3000.0 / tex


def tex_from_denier(denier: float) -> float:
    """Return Tex from denier, g of 9000 m.

    >>> tex_from_denier(630)
    70.0
    """
    return denier / 9.0


def diameter_from_tex(tex: float, fibre_density_g_cm3: float) -> float:
    """Return the diameter of an unwaxed thread, mm: 0.0444 sqrt(Tex / density).

    A solid cylinder of fibre has the diameter sqrt(4 Tex / (pi 1e3 density)) = 0.03568 sqrt(Tex /
    density); a thread is loosely packed (0.646 of its section is fibre). Waxed cords and linen
    come out thicker than this: measure those.

    Args:
        tex: Mass in g of 1000 m.
        fibre_density_g_cm3: 1.38 polyester, 1.14 nylon, 1.50 linen.
    """
    return 0.0444 * math.sqrt(tex / fibre_density_g_cm3)

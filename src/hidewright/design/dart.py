"""A relief dart: a wedge cut out of a blank's margin, so that the leather round it is let in."""

import math
from dataclasses import dataclass

from hidewright.geometry.segment import Point


@dataclass(frozen=True, slots=True, kw_only=True)
class Dart:
    """One dart as it lies pressed, closed: a line from the leather's edge inward.

    Attributes:
        mouth: Where it leaves the edge, in the blank's frame, formed, mm.
        tip: Where it ends.
    """

    mouth: Point
    tip: Point

    @property
    def length_mm(self) -> float:
        """From mouth to tip."""
        return math.dist(self.mouth, self.tip)

"""Leather's even change of size from one state to the next, along and across the backbone."""

import math
from dataclasses import dataclass

import numpy as np

from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """An even change of size along and across the backbone, from one state to the next.

    Attributes:
        along: Size after divided by size before, along the backbone (the piece's y axis turned by
            its stretch angle).
        across: The same across the backbone.
        angle: Direction of the backbone in the piece's frame, radians from its y axis.
    """

    along: float
    across: float
    angle: float = 0.0

    def __post_init__(self) -> None:
        for name, value in (("along", self.along), ("across", self.across)):
            if not 0.5 < value < 2.0:
                raise RequestError(
                    f"size change {name} the backbone of {value:g}",
                    because="leather changes size by a few per cent when it is wetted or dries",
                    mend="Give growth and shrinkage as a few per cent",
                )

    @property
    def inverse(self) -> "Change":
        """The way back."""
        return Change(along=1.0 / self.along, across=1.0 / self.across, angle=self.angle)

    @property
    def is_nothing(self) -> bool:
        """Whether it changes nothing."""
        return self.along == 1.0 and self.across == 1.0

    @property
    def matrix(self) -> Floats:
        """(2, 2) what it does to a column of x and y about the origin."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        turn = np.array([[c, s], [-s, c]])  # into axes with the backbone along y
        matrix: Floats = turn.T @ np.diag([self.across, self.along]) @ turn
        return matrix

    def of_points(self, points: Floats) -> Floats:
        """Return (n, 2) points moved by the change about the origin, mm."""
        moved: Floats = points @ self.matrix  # which is symmetric
        return moved

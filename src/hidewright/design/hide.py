"""A hide as it lies on the bench, or a sheet: its edge, what mars it, and how good it is where."""

import math
from dataclasses import dataclass

from hidewright.errors import RequestError
from hidewright.geometry.segment import Point

#: Corners of a closed polygon, either way round, the first not repeated; mm.
Corners = tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaw:
    """A spot that some pieces must not touch.

    Attributes:
        kind: What it is: hole, cut, brand, scar, vein, stain, stretch mark.
        severity: 1 is the worst; the larger, the more pieces may lie on it.
        outline: Its edge, mm in the hide's frame.
    """

    kind: str
    severity: int
    outline: Corners

    def __post_init__(self) -> None:
        check_corners(self.outline, f"the {self.kind}'s outline")


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeArea:
    """A part of a hide that is as good everywhere.

    Attributes:
        grade: 1 is the best.
        outline: Its edge, mm in the hide's frame.
        holes: What lies within the edge and is not of it.
    """

    grade: int
    outline: Corners
    holes: tuple[Corners, ...] = ()

    def __post_init__(self) -> None:
        for ring in (self.outline, *self.holes):
            check_corners(ring, f"an area of grade {self.grade}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hide:
    """What pieces are cut from.

    Attributes:
        name: The maker's own name for it.
        outline: Its edge, mm.
        holes: Where there is nothing; they have no margin.
        areas: Grade areas; a hide without any is of the best grade everywhere.
        flaws: What mars it.
    """

    name: str
    outline: Corners
    holes: tuple[Corners, ...] = ()
    areas: tuple[GradeArea, ...] = ()
    flaws: tuple[Flaw, ...] = ()

    def __post_init__(self) -> None:
        for ring in (self.outline, *self.holes):
            check_corners(ring, f"the outline of {self.name}")

    @property
    def left_mm(self) -> float:
        """Where it begins along x, mm."""
        return min(x for x, _ in self.outline)


def check_corners(corners: Corners, what: str) -> None:
    """Refuse what is no polygon.

    Raises:
        RequestError: When there are fewer than three corners, or one is not a finite number.
    """
    if len(corners) < 3:
        raise RequestError(f"{what} has {len(corners)} corners", mend="Give at least three")
    for number, (x, y) in enumerate(corners):
        if not (math.isfinite(x) and math.isfinite(y)):
            raise RequestError(
                f"corner {number + 1} of {what} is ({x}, {y})", mend="Give finite numbers"
            )

"""A hide as it lies on the bench, or a sheet: its edge, what mars it, and how good it is where."""

import math
from dataclasses import dataclass, replace
from typing import Any

from hidewright.errors import RequestError
from hidewright.geometry.segment import Point

#: Corners of a closed polygon, either way round, the first not repeated; mm.
Corners = tuple[Point, ...]
#: No leather is thicker, mm.
MOST_THICK_MM = 20.0
#: What mars hides, and how badly as a rule: 1 is fit for no piece, 3 only for what nobody sees.
#: From memory; the maker judges each.
FLAW_KINDS: tuple[tuple[str, int], ...] = (
    ("hole", 1),
    ("cut", 1),
    ("brand", 1),
    ("scar", 2),
    ("stain", 2),
    ("vein", 3),
    ("stretch mark", 3),
)
#: Of a place that no piece may lie on, whatever it bears.
KEPT_FREE = 0


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
class ThicknessArea:
    """A part of a hide that is as thick everywhere.

    Attributes:
        thickness_mm: As measured, dry.
        outline: Its edge, mm in the hide's frame.
        holes: What lies within the edge and is not of it.
    """

    thickness_mm: float
    outline: Corners
    holes: tuple[Corners, ...] = ()

    def __post_init__(self) -> None:
        if not 0.0 < self.thickness_mm < MOST_THICK_MM:
            raise RequestError(
                f"leather {self.thickness_mm:g} mm thick",
                mend=f"Give more than 0 and less than {MOST_THICK_MM:g} mm",
            )
        for ring in (self.outline, *self.holes):
            check_corners(ring, f"an area {self.thickness_mm:g} mm thick")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hide:
    """What pieces are cut from.

    Attributes:
        name: The maker's own name for it.
        outline: Its edge, mm.
        holes: Where there is nothing; they have no margin.
        areas: Grade areas; a hide without any is of the best grade everywhere.
        flaws: What mars it.
        thicknesses: How thick it is where; without any it suits all pieces.
        backbone_deg: Along which direction its backbone runs, counter-clockwise from x: pieces'
            turns are told from there.
    """

    name: str
    outline: Corners
    holes: tuple[Corners, ...] = ()
    areas: tuple[GradeArea, ...] = ()
    flaws: tuple[Flaw, ...] = ()
    thicknesses: tuple[ThicknessArea, ...] = ()
    backbone_deg: float = 0.0

    def __post_init__(self) -> None:
        for ring in (self.outline, *self.holes):
            check_corners(ring, f"the outline of {self.name}")

    @property
    def area_mm2(self) -> float:
        """What there is of it, without its holes."""
        return area_of(self.outline) - math.fsum(area_of(hole) for hole in self.holes)

    @property
    def left_mm(self) -> float:
        """Where it begins along x, mm."""
        return min(x for x, _ in self.outline)


def with_grade(hide: Hide, grade: int, outline: Corners) -> Hide:
    """Return a hide with an area of a grade marked on it, over what was marked there before.

    Where nothing was marked the rest is of the best grade.
    """
    before = hide.areas or (GradeArea(grade=1, outline=hide.outline),)
    kept = tuple(replace(area, holes=(*area.holes, outline)) for area in before)
    return replace(hide, areas=(*kept, GradeArea(grade=grade, outline=outline)))


def with_thickness(hide: Hide, thickness_mm: float, outline: Corners) -> Hide:
    """Return a hide with a thickness measured in an area, over what was measured there before."""
    kept = tuple(replace(area, holes=(*area.holes, outline)) for area in hide.thicknesses)
    area = ThicknessArea(thickness_mm=thickness_mm, outline=outline)
    return replace(hide, thicknesses=(*kept, area))


def without_mark(hide: Hide, what: str, number: int) -> Hide:
    """Return a hide with a mark taken away; what lay round an area lies there again.

    Args:
        hide: The hide.
        what: ``flaws``, ``areas``, ``thicknesses`` or ``holes``.
        number: Which of them.
    """
    marks = getattr(hide, what)
    left = (*marks[:number], *marks[number + 1 :])
    if what in ("areas", "thicknesses"):
        gone = marks[number].outline
        left = tuple(
            replace(area, holes=tuple(hole for hole in area.holes if hole != gone)) for area in left
        )
    changes: dict[str, Any] = {what: left}
    return replace(hide, **changes)


def area_of(corners: Corners) -> float:
    """Return the area of a simple polygon, either way round (Gauss's shoelace formula), mm2."""
    pairs = zip(corners, (*corners[1:], corners[0]), strict=True)
    return abs(math.fsum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)) / 2.0


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

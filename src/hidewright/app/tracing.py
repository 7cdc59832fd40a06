"""A hide as it is traced over its photo: outlines and marks, each edit giving a new tracing."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import Literal

from hidewright.design.hide import Corners, Flaw, GradeArea, Hide, ThicknessArea
from hidewright.errors import RequestError
from hidewright.geometry.segment import Point

#: A line that is drawn over a stretch of the edge begins and ends within this of it, mm.
NEAR_MM = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """An area drawn by the maker.

    Attributes:
        sort: A flaw or a grade area.
        kind: Of flaw; empty for a grade area.
        level: Severity or grade.
        outline: Corners, mm.
    """

    sort: Literal["flaw", "grade"]
    kind: str
    level: int
    outline: Corners

    @property
    def label(self) -> str:
        """What it is, in words."""
        if self.sort == "grade":
            return f"area of grade {self.level}"
        return f"{self.kind}, severity {self.level}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tracing:
    """All that is drawn over one photo.

    Attributes:
        outline: The hide's edge, mm.
        holes: Where there is no leather.
        marks: Flaws and grade areas, in the order in which they were drawn.
        backbone_deg: Direction of the backbone, counter-clockwise from x.
    """

    outline: Corners
    holes: tuple[Corners, ...] = ()
    marks: tuple[Mark, ...] = ()
    backbone_deg: float = 0.0

    @property
    def rings(self) -> tuple[tuple[str, str, str, Corners], ...]:
        """(Name, sort, label, corners) of everything drawn; names are for ``with_ring``."""
        found = [("edge", "edge", "edge of the hide", self.outline)]
        for k, hole in enumerate(self.holes):
            found.append((f"hole {k}", "hole", f"hole {k + 1}", hole))
        for k, mark in enumerate(self.marks):
            found.append((f"mark {k}", mark.sort, mark.label, mark.outline))
        return tuple(found)

    def with_ring(self, name: str, corners: Corners) -> "Tracing":
        """Return it with other corners of one ring."""
        sort, _, number = name.partition(" ")
        if sort == "edge":
            return replace(self, outline=corners)
        k = int(number)
        if sort == "hole":
            return replace(self, holes=(*self.holes[:k], corners, *self.holes[k + 1 :]))
        mark = replace(self.marks[k], outline=corners)
        return replace(self, marks=(*self.marks[:k], mark, *self.marks[k + 1 :]))

    def without(self, name: str) -> "Tracing":
        """Return it without a hole or a mark."""
        sort, _, number = name.partition(" ")
        k = int(number)
        if sort == "hole":
            return replace(self, holes=(*self.holes[:k], *self.holes[k + 1 :]))
        return replace(self, marks=(*self.marks[:k], *self.marks[k + 1 :]))

    def with_stretch(self, line: Corners) -> "Tracing":
        """Return it with the edge going along a line, between the corners nearest to its ends.

        Of the two ways round between those corners the shorter one gives way.

        Raises:
            RequestError: When the line begins or ends far from the edge, or both ends are nearest
                to one corner.
        """
        first, last = (_nearest(self.outline, end) for end in (line[0], line[-1]))
        for end, k in ((line[0], first), (line[-1], last)):
            if math.dist(self.outline[k], end) > NEAR_MM:
                raise RequestError(
                    "the new stretch does not begin and end on the edge",
                    because=f"one end is {math.dist(self.outline[k], end):.0f} mm away from it",
                    mend="Tap first on the edge, then along the right way, and last on the edge",
                )
        if first == last:
            raise RequestError(
                "the new stretch begins and ends at one corner",
                mend="Draw it from one place on the edge to another",
            )
        n = len(self.outline)
        onward = tuple(self.outline[(first + k) % n] for k in range((last - first) % n + 1))
        back = tuple(self.outline[(last + k) % n] for k in range((first - last) % n + 1))
        if _length(onward) <= _length(back):
            kept = (*back[1:-1],) if len(back) > 2 else ()
            return replace(self, outline=(*line, *kept))
        return replace(self, outline=(*line[::-1], *onward[1:-1]))

    def as_hide(self, name: str, thickness_mm: float | None) -> Hide:
        """Return the hide; where grade areas are drawn, the rest of it is of the best grade.

        Args:
            name: The maker's own.
            thickness_mm: Measured, the same all over; None when it was not.

        Raises:
            RequestError: When a ring is no polygon, the thickness none of leather, or two grade
                areas lie over one another.
        """
        thick = () if thickness_mm is None else (thickness_mm,)
        return Hide(
            name=name,
            outline=self.outline,
            holes=self.holes,
            areas=_graded(self.outline, [m for m in self.marks if m.sort == "grade"]),
            flaws=tuple(
                Flaw(kind=m.kind, severity=m.level, outline=m.outline)
                for m in self.marks
                if m.sort == "flaw"
            ),
            thicknesses=tuple(ThicknessArea(thickness_mm=t, outline=self.outline) for t in thick),
            backbone_deg=self.backbone_deg,
        )


def _graded(whole: Corners, drawn: Sequence[Mark]) -> tuple[GradeArea, ...]:
    for one, two in combinations(drawn, 2):
        if _overlap(one.outline, two.outline):
            raise RequestError(
                f"the {one.label} and the {two.label} lie over one another",
                because="a place has one grade",
                mend="Draw them side by side",
            )
    areas = tuple(GradeArea(grade=mark.level, outline=mark.outline) for mark in drawn)
    rest = GradeArea(grade=1, outline=whole, holes=tuple(mark.outline for mark in drawn))
    return (rest, *areas) if drawn else ()


def _overlap(one: Corners, two: Corners) -> bool:
    crossed = any(
        _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0
        for a, b in _sides(one)
        for c, d in _sides(two)
    )
    return crossed or _holds(one, two[0]) or _holds(two, one[0])


def _sides(ring: Corners) -> list[tuple[Point, Point]]:
    return list(zip(ring, (*ring[1:], ring[0]), strict=True))


def _side(start: Point, end: Point, point: Point) -> float:
    """Return on which side of a line a point lies: positive is left."""
    (x0, y0), (x1, y1), (x, y) = start, end, point
    return (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)


def _holds(ring: Corners, point: Point) -> bool:
    """Return whether a point lies within a ring, by counting the sides to its right."""
    x, y = point
    right = (
        (x1 - x0) * (y - y0) / (y1 - y0) + x0 > x
        for (x0, y0), (x1, y1) in _sides(ring)
        if (y0 > y) != (y1 > y)
    )
    return sum(right) % 2 == 1


def _nearest(corners: Corners, to: Point) -> int:
    return min(range(len(corners)), key=lambda k: math.dist(corners[k], to))


def _length(line: Corners) -> float:
    return math.fsum(math.dist(a, b) for a, b in pairwise(line))

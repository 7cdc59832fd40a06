"""Open hollows on a plug: two joined mouth to mouth, or one that runs on past its mouth."""

import math
from dataclasses import dataclass

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, Segment, line
from hidewright.tooling.run_on import run_on, walls

#: Name of the stretches of a plug's wall that are cut away between mouths or beyond one.
WASTE = "waste"
#: Run-on beyond a single mouth when the blank names no waste, mm.
USUAL_WASTE_MM = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Two hollows joined mouth to mouth.

    Attributes:
        outline: Both of them and the waste between.
        waste_mm: (narrowest, widest) distance between the mouths.
        kink: Largest angle between a wall and the straight bridge over the waste, radians.
        widths_mm: Inside width at the one mouth and at the other.
    """

    outline: Outline
    waste_mm: tuple[float, float]
    kink: float
    widths_mm: tuple[float, float]


def ends_of(outline: Outline, mouth: str) -> tuple[Point, Point]:
    """Return where a mouth begins and ends, counter-clockwise."""
    wall = walls(outline, mouth)
    return wall.end, wall.start


def joined_at_mouths(one: Outline, mouth: str, other: Outline, other_mouth: str) -> Joint:
    """Return two hollows as one, the waste between their mouths bridged by straight walls.

    Raises:
        RequestError: When the mouths touch or overlap.
    """
    first, second = walls(one, mouth), walls(other, other_mouth)
    if min(math.dist(first.end, second.start), math.dist(second.end, first.start)) < 0.5:
        raise RequestError(
            "the mouths of a pair touch",
            because="they are cut apart, and the cut takes some leather away",
            mend="Place the two pieces with 3 to 6 mm between their mouths",
        )
    there = line(first.end, second.start, WASTE)
    back = line(second.end, first.start, WASTE)
    kink = max(
        _angle(first.tangent_at(first.length), there.tangent_at(0.0)),
        _angle(there.tangent_at(0.0), second.tangent_at(0.0)),
        _angle(second.tangent_at(second.length), back.tangent_at(0.0)),
        _angle(back.tangent_at(0.0), first.tangent_at(0.0)),
    )
    if kink > math.pi / 3:
        raise RequestError(
            "the mouths of a pair do not face one another",
            because=f"a straight wall between them would turn by {math.degrees(kink):.0f} degrees",
            mend="Turn one of the two pieces half round, mouth to mouth",
        )
    return Joint(
        outline=Outline((*first.segments, there, *second.segments, back)),
        waste_mm=(min(there.length, back.length), max(there.length, back.length)),
        kink=kink,
        widths_mm=(math.dist(first.start, first.end), math.dist(second.start, second.end)),
    )


def run_on_past(outline: Outline, mouth: str, waste_mm: float, corner_mm: float) -> Outline:
    """Return a hollow that runs on straight past its mouth, so that the cut meets a full section.

    Args:
        outline: The hollow, formed.
        mouth: Its open span.
        waste_mm: How far the full section reaches beyond the mouth.
        corner_mm: Radius of the two corners at the new end, at least the crown radius; less where
            the end is too narrow for it.
    """
    radius = min(corner_mm, 0.49 * math.dist(*ends_of(outline, mouth)))
    wall = walls(run_on(outline, mouth, waste_mm + 1.5 * radius), mouth).segments
    (left, right) = wall[-1].end, wall[0].start
    ux, uy = wall[-1].tangent_at(wall[-1].length)
    vx, vy = wall[0].tangent_at(0.0)
    span = math.dist(left, right)
    ex, ey = (right[0] - left[0]) / span, (right[1] - left[1]) / span
    turn_left, turn_right = _angle((ux, uy), (ex, ey)), _angle((ex, ey), (vx, vy))
    a, b = radius * math.tan(turn_left / 2), radius * math.tan(turn_right / 2)
    into = (left[0] - ux * a, left[1] - uy * a)
    across = (left[0] + ex * a, left[1] + ey * a)
    out_of = (right[0] - ex * b, right[1] - ey * b)
    back = (right[0] + vx * b, right[1] + vy * b)
    return Outline(
        (
            *wall[1:-1],
            line(wall[-1].start, into, wall[-1].span),
            Segment(start=into, end=across, bulge=math.tan(turn_left / 4), span=WASTE),
            line(across, out_of, WASTE),
            Segment(start=out_of, end=back, bulge=math.tan(turn_right / 4), span=WASTE),
            line(back, wall[0].end, wall[0].span),
        )
    )


def mouth_path(outline: Outline, mouth: str) -> Path:
    """Return the line along which the hollow is cut open."""
    return outline.span_path(mouth)


def _angle(a: Point, b: Point) -> float:
    return abs(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]))

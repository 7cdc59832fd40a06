"""A tool's outline as the plan of a hollow: rounded, and straight from its widest place on."""

import math
from collections.abc import Iterator
from contextlib import contextmanager

from hidewright.errors import RequestError
from hidewright.geometry.distance import width_across
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline, Path, joined
from hidewright.geometry.segment import Point, Segment, line

#: Straight wall between the widest place and the mouth, at least, mm.
LEAST_STRAIGHT_MM = 1.0
#: A wall may run back under itself by this much, mm.
OVERHANG_MM = 1e-6
#: The neck is measured this far below the tool's upper end, mm.
NECK_MM = 0.5


def moved_to_mouth(plan: Outline, below_mm: float) -> Outline:
    """Return a plan moved so that it ends below the mouth y = 0 and its middle is on x = 0."""
    left, _, right, top = plan.bounds
    return plan.moved(-(left + right) / 2, -below_mm - top)


def swept_to_mouth(
    plan: Outline, *, ease_mm: float, corner_radius_mm: float, inward_radius_mm: float
) -> Outline:
    """Return the room that a plan takes up as it comes in through the mouth, rounded.

    The plan is eased, swept straight to y = 0 from its widest place, outward corners are rounded
    from inside (cut off) and inward corners from outside (filled).

    Args:
        plan: Where the tool lies, its way in along -y.
        ease_mm: Added all round.
        corner_radius_mm: Least radius of outward corners.
        inward_radius_mm: Least radius of inward corners.

    Returns:
        Spans ``mouth``, from right to left on y = 0, and ``rim``; both walls end upright.

    Raises:
        RequestError: When the plan is still widening at the mouth or hooks back under itself, or
            a radius does not go into it.
    """
    eased = offset(plan, ease_mm) if ease_mm else plan
    bottom = _bottom(eased)
    (left, left_y), (right, right_y) = bottom.start, bottom.end
    high = -LEAST_STRAIGHT_MM
    if max(left_y, right_y) > high:
        out = max(left_y, right_y) - high
        raise RequestError(
            f"the widest place of the tool is {max(left_y, right_y):.1f} mm from the mouth",
            because="the cover would be wider inside the mouth than at it",
            mend=f"Let the tool stand {out:.1f} mm less far out of the mouth (mouth_clearance)",
            where="carried",
        )
    top = 4.0 * (corner_radius_mm + inward_radius_mm)  # far enough that the mouth stays sharp
    swept = Outline(
        joined(
            (
                line((right, top), (left, top)),
                line((left, top), (left, left_y)),
                *bottom.segments,
                line((right, right_y), (right, top)),
            )
        )
    )
    with _rounding("corner_radius", corner_radius_mm, "a narrow part of the tool goes"):
        swept = offset(offset(swept, -corner_radius_mm), corner_radius_mm)
    with _rounding("inward_radius", inward_radius_mm, "a notch of the tool closes to a hole"):
        swept = offset(offset(swept, inward_radius_mm), -inward_radius_mm)
    return _cut_at_mouth(swept, left, right)


@contextmanager
def _rounding(field: str, radius_mm: float, lost: str) -> Iterator[None]:
    """Tell an offset that fails as the radius it is for."""
    try:
        yield
    except RequestError as refused:
        raise RequestError(
            f"{field.replace('_', ' ')} of {radius_mm:g} mm",
            because=f"rounded by as much, {lost}",
            mend=refused.mend,
            where=f"measures.{field}",
        ) from refused


def width_of_neck(outline: Outline) -> float:
    """Return how wide a tool is at its upper end, where its handle begins, mm."""
    return width_across(outline, outline.bounds[3] - NECK_MM)


def _cut_at_mouth(swept: Outline, left: float, right: float) -> Outline:
    """Return what lies under y = 0; both walls there are straight and upright."""
    chain = swept.as_path()
    begin, finish = chain.nearest((left, 0.0))[0], chain.nearest((right, 0.0))[0]
    if begin < finish:
        parts = chain.part(begin, finish).segments
    else:  # the outline's own start lies on the way
        parts = (*chain.part(begin, chain.length).segments, *chain.part(0.0, finish).segments)
    upright = (not s.is_arc and abs(s.start[0] - s.end[0]) < 1e-6 for s in (parts[0], parts[-1]))
    if not all(upright):
        raise RequestError(
            "the rounding of the hollow's corners",
            because="it reaches up to the mouth, whose walls must end straight",
            mend="Give a smaller corner radius, or let the tool go further in (mouth_clearance)",
            where="measures.corner_radius",
        )
    ends = ((left, 0.0), (right, 0.0))
    rim = joined((line(ends[0], parts[0].end), *parts[1:-1], line(parts[-1].start, ends[1])))
    return Outline((line(ends[1], ends[0], "mouth"), *(s.named("rim") for s in rim)))


def _bottom(plan: Outline) -> Path:
    """Return a plan from its leftmost place along the bottom to its rightmost place.

    Of several places equally far out, the lowest counts.

    Raises:
        RequestError: When it hooks back under itself on the way.
    """
    chain = plan.as_path()
    far = [p for seg in plan.segments for p in _outermost(seg)]
    left_x, right_x = min(p[0] for p in far), max(p[0] for p in far)
    left = min((p for p in far if p[0] < left_x + OVERHANG_MM), key=lambda p: p[1])
    right = min((p for p in far if p[0] > right_x - OVERHANG_MM), key=lambda p: p[1])
    begin, finish = chain.nearest(left)[0], chain.nearest(right)[0]
    if begin < finish:
        parts = chain.part(begin, finish).segments
    else:
        parts = (
            *(chain.part(begin, chain.length).segments if chain.length - begin > 1e-6 else ()),
            *(chain.part(0.0, finish).segments if finish > 1e-6 else ()),
        )
    for seg in parts:
        backwards = min(seg.tangent_at(0.0)[0], seg.tangent_at(seg.length)[0])
        if backwards < -1e-6:
            x, y = seg.start
            raise RequestError(
                f"the tool's outline hooks back near ({x:.1f}, {y:.1f}) mm",
                because="it does not come out of a close hollow along its length",
                mend="Draw its outline without the hook, filled in up to the mouth",
                where="carried",
            )
    return Path(tuple(parts))


def _outermost(seg: Segment) -> tuple[Point, ...]:
    """Return the places of a segment that may be its furthest left or right."""
    ends = (seg.start, seg.end)
    if not seg.is_arc:
        return ends
    (cx, cy), r = seg.centre, seg.radius
    sides = ((cx - r, cy), (cx + r, cy))
    return (*ends, *(p for p in sides if math.isclose(seg.nearest(p)[1], 0.0, abs_tol=1e-9)))

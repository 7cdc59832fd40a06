"""A hollow that runs on straight beyond its mouth, as it was moulded and as a block needs it."""

from hidewright.geometry.outline import Outline, Path, joined
from hidewright.geometry.segment import Point, line


def run_on(outline: Outline, mouth: str, by_mm: float) -> Outline:
    """Return an outline whose walls run on straight beyond a mouth.

    Args:
        outline: A hollow with an open span, mm.
        mouth: Name of that span; the new end is straight and keeps the name.
        by_mm: How far the walls run on, along themselves.

    Returns:
        The longer outline; what is added at the walls belongs to the spans of the walls.
    """
    wall = walls(outline, mouth)
    (ux, uy), (vx, vy) = wall.tangent_at(wall.length), wall.tangent_at(0.0)
    left = (wall.end[0] + ux * by_mm, wall.end[1] + uy * by_mm)
    right = (wall.start[0] - vx * by_mm, wall.start[1] - vy * by_mm)
    first, last = wall.segments[0], wall.segments[-1]
    parts = (
        line(right, wall.start, first.span),
        *wall.segments,
        line(wall.end, left, last.span),
    )
    return Outline((*joined(parts), line(left, right, mouth)))


def walls(outline: Outline, mouth: str) -> Path:
    """Return everything but the mouth as an open path, counter-clockwise."""
    turned = outline.starting_at(mouth).segments
    return Path(tuple(s for s in turned if s.span != mouth))


def beyond(outline: Outline, mouth: str, reach_mm: float) -> Outline:
    """Return a rectangle over everything beyond the straight line across a mouth.

    Args:
        outline: A hollow with an open span, mm.
        mouth: Name of that span.
        reach_mm: How far the rectangle reaches to both sides and outwards.
    """
    wall = walls(outline, mouth)
    start, end = wall.end, wall.start  # counter-clockwise along the mouth, the hollow on its left
    length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length

    def at(along: float, out: float) -> Point:
        return (start[0] + ux * along + uy * out, start[1] + uy * along - ux * out)

    low, high = -reach_mm, length + reach_mm
    corners = (at(low, 0.0), at(low, reach_mm), at(high, reach_mm), at(high, 0.0))
    sides = zip(corners, (*corners[1:], corners[0]), strict=True)
    return Outline(tuple(line(a, b) for a, b in sides))

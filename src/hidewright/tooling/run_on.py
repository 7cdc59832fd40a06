"""A hollow that runs on straight beyond its mouth, as it was moulded and as a block needs it."""

from hidewright.geometry.boolean import clip_half_plane
from hidewright.geometry.outline import Outline, Path, joined
from hidewright.geometry.segment import line


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


def behind(board: Outline, hollow: Outline, mouth: str) -> Outline:
    """Return the part of a board on the hollow's side of the straight line across its mouth."""
    wall = walls(hollow, mouth)
    (x0, y0), (x1, y1) = wall.end, wall.start  # along the mouth, the hollow to the left
    parts = clip_half_plane(board, (x0, y0), (x1 - x0, y1 - y0), mouth)
    return max(parts, key=lambda part: part.area)

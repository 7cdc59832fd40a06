"""The line that the holes of one layer lie on."""

import math
from collections.abc import Sequence

from hidewright.design.piece import Piece
from hidewright.design.seam import SeamEdge
from hidewright.errors import RequestError
from hidewright.geometry.offset import offset, offset_path
from hidewright.geometry.outline import JOIN_MM, Outline, Path
from hidewright.geometry.segment import Point, Segment
from hidewright.stitching.anchors import is_closed

#: A hole may be nearer to a neighbouring edge than the inset by this much, mm.
SLACK_MM = 1e-9


def stitch_line(piece: Piece, edge: SeamEdge, inset_mm: float) -> Path:
    """Return the line of one layer's holes, from its first hole to its last, in sewing direction.

    It runs inside the span at the inset. It begins where the length left unsewn ends, and in any
    case at least one inset from the edge that the span ends at: a first hole one inset below a
    mouth. Where the outline runs on smoothly beyond the span, it begins square to the span's end.

    Args:
        piece: The layer.
        edge: Which span, in which direction, and what is left unsewn.
        inset_mm: Hole to edge, mm.

    Raises:
        RequestError: When the inset is too large for the piece, or nothing is left to sew.
    """
    whole = whole_line(piece, edge, inset_mm)
    return between_ends(whole, piece, edge, ends_needed(whole, piece, edge, inset_mm))


def whole_line(piece: Piece, edge: SeamEdge, inset_mm: float) -> Path:
    """Return the span moved inwards by the inset, over its whole length, in sewing direction."""
    along = piece.outline.span_path(edge.span)
    try:
        if is_closed(along):
            line = _begun_at(offset(piece.outline, -inset_mm), along.start).as_path()
        else:
            line = offset_path(along, -inset_mm)
    except RequestError as error:
        raise RequestError(
            f"{piece.name}: a stitch line {inset_mm:g} mm inside {edge.span!r}",
            because=f"{error.what}, {error.because}",
            mend=f"{error.mend}, as the inset" if error.mend else "Give a smaller inset",
        ) from error
    return line.backwards() if edge.runs_backwards else line


def ends_needed(whole: Path, piece: Piece, edge: SeamEdge, inset_mm: float) -> tuple[float, float]:
    """Return what must stay free at (first, last) end beyond what is left unsewn, mm along.

    So much that the hole keeps the inset from the edges next to the span. None on a closed line.
    """
    others = tuple(s for s in piece.outline.segments if s.span != edge.span)
    if is_closed(whole) or not others:
        return (0.0, 0.0)
    first = _clear_from(whole, others, inset_mm) - edge.skip_mm[0]
    last = _clear_from(whole.backwards(), others, inset_mm) - edge.skip_mm[1]
    return (max(first, 0.0), max(last, 0.0))


def between_ends(whole: Path, piece: Piece, edge: SeamEdge, ends_mm: tuple[float, float]) -> Path:
    """Return the whole line without what is left unsewn and what stays free at its ends."""
    begin, finish = edge.skip_mm[0] + ends_mm[0], whole.length - edge.skip_mm[1] - ends_mm[1]
    if finish - begin < JOIN_MM:
        raise RequestError(
            f"{piece.name}: nothing is left to sew along {edge.span!r}",
            because=f"of {whole.length:.1f} mm, {begin:.1f} mm are free at the beginning and "
            f"{whole.length - finish:.1f} mm at the end",
            mend="Sew a longer edge, leave less unsewn, or use a smaller inset",
        )
    return whole if begin <= 0 and finish >= whole.length else whole.part(begin, finish)


def _begun_at(closed: Outline, point: Point) -> Outline:
    """Return the same outline begun at the joint nearest to a point."""
    k = min(range(len(closed.segments)), key=lambda i: math.dist(closed.segments[i].start, point))
    return Outline(closed.segments[k:] + closed.segments[:k])


def _clear_from(line: Path, next_to: Sequence[Segment], inset_mm: float) -> float:
    """Return how far along a line first keeps the inset from other edges, mm."""

    def away(along: float) -> float:
        point = line.point_at(along)
        return min(s.nearest(point)[1] for s in next_to)

    low, high, step = 0.0, 0.0, inset_mm / 4.0
    while away(high) < inset_mm - SLACK_MM:
        if high >= line.length:
            return line.length
        low, high = high, min(high + step, line.length)
    while high - low > 1e-12 * max(high, 1.0):
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        low, high = (low, middle) if away(middle) >= inset_mm else (middle, high)
    return high

"""A small calm picture of an article, to know it by in a list."""

import contextlib
from collections.abc import Iterator, Sequence
from html import escape

from hidewright.design.design import Design
from hidewright.design.piece import Piece
from hidewright.drawing.drawing import union_bounds
from hidewright.drawing.line_styles import number
from hidewright.drawing.svg import path_data
from hidewright.errors import RequestError
from hidewright.geometry.offset import offset_path
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point
from hidewright.workshop.views.svg_view import clipped

#: Size of the picture, and the room kept round the article, in its own units.
WIDTH, HEIGHT, MARGIN = 240.0, 180.0, 12.0


def thumbnail(design: Design) -> str:
    """Return an inline SVG of 240 x 180: the front as it looks closed, its flap over it.

    The front is the first moulded piece. What is sewn to it lies behind it, its flap laid back as
    the article lies open; a piece of another shape stands beside it. Classes, no colours: ``skin``,
    ``shade`` (a moulded hollow), ``stitches``, ``hole``.
    """
    pieces = _shown(design)
    moved = _side_by_side(pieces)
    left, bottom, right, top = union_bounds(
        p.outline.moved(*shift).bounds for p, shift in zip(pieces, moved, strict=True)
    )
    scale = min((WIDTH - 2 * MARGIN) / (right - left), (HEIGHT - 2 * MARGIN) / (top - bottom))
    x, y = WIDTH / 2 - scale * (left + right) / 2, HEIGHT / 2 + scale * (bottom + top) / 2
    inner = "".join(
        _piece(design, piece, scale, (x + scale * dx, y - scale * dy))
        for piece, (dx, dy) in zip(pieces, moved, strict=True)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="thumb" role="img" width="{WIDTH:g}" '
        f'height="{HEIGHT:g}" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" '
        f'aria-label="{escape(f"{design.name}, {design.kind}")}">{inner}</svg>'
    )


def _shown(design: Design) -> tuple[Piece, ...]:
    """Return what is drawn, the undermost first: at most what lies behind, and the front."""
    moulded = [p for p in design.pieces if p.zones]
    front = moulded[0] if moulded else design.pieces[0]
    others = [p for p in design.pieces if p.role == front.role and p is not front]
    return (*others[:1], front)


def _side_by_side(pieces: Sequence[Piece]) -> list[Point]:
    """Return shifts: pieces that share a frame lie over one another, others apart."""
    front = pieces[-1]
    x0, y0, x1, y1 = front.outline.bounds
    shifts: list[Point] = []
    for piece in pieces[:-1]:
        left, bottom, right, top = piece.outline.bounds
        behind = abs(left - x0) < 1.0 and abs(right - x1) < 1.0 and abs(bottom - y0) < 1.0
        gap = 0.08 * (x1 - x0)
        shifts.append((0.0, 0.0) if behind else (x1 - left + gap, (y0 + y1 - bottom - top) / 2))
    return [*shifts, (0.0, 0.0)]


def _piece(design: Design, piece: Piece, scale: float, at: Point) -> str:
    """Return one piece; ``at`` is where its origin lies in the picture."""
    skin = _data(piece.outline, scale, at)
    hollows = "".join(
        f'<path class="shade" d="{_data(zone.outline, scale, at)}"/>' for zone in piece.zones
    )
    parts = [f'<path class="skin" d="{skin}"/>', clipped(hollows, skin) if hollows else ""]
    parts += [f'<path class="stitches" d="{_data(p, scale, at)}"/>' for p in _sewn(design, piece)]
    parts += [
        f'<circle class="hole" cx="{number(at[0] + scale * h.at[0])}" '
        f'cy="{number(at[1] - scale * h.at[1])}" '
        f'r="{number(max(scale * h.diameter_mm / 2, 1.2))}"/>'
        for h in piece.holes
    ]
    return "".join(parts)


def _sewn(design: Design, piece: Piece) -> Iterator[Path]:
    """Yield the lines along which a piece is sewn; what is too narrow for its seam has none."""
    for seam in design.seams:
        for edge in seam.edges:
            if edge.piece == piece.name:
                with contextlib.suppress(RequestError):
                    yield offset_path(piece.outline.span_path(edge.span), -seam.inset_mm)


def _data(curve: Outline | Path, scale: float, at: Point) -> str:
    """Return the data of a curve's path, scaled, its origin at a point of the picture."""
    frame = (-at[0], at[1])
    return path_data(curve.scaled(scale), frame)

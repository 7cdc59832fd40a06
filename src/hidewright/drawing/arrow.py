"""A double arrow: along what, not which way."""

from hidewright.drawing.drawing import Layer, Stroke
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Point, line, turn

#: Barbs are at most so long, mm, and so long at most over the arrow.
BARB_MM, BARB_SHARE = 4.0, 0.25


def double_arrow(centre: Point, long: float, angle: float, layer: Layer) -> list[Stroke]:
    """Return a double arrow about a point; its angle is from the y axis, radians."""
    ends = [turn((0.0, s * long / 2), angle) for s in (-1, 1)]
    at = [(centre[0] + p[0], centre[1] + p[1]) for p in ends]
    strokes = [Stroke(curve=Path((line(at[0], at[1]),)), layer=layer)]
    barb_mm = min(BARB_MM, BARB_SHARE * long)
    for tip, sense in ((at[1], 1.0), (at[0], -1.0)):
        for lean in (-0.4, 0.4):
            barb = turn((0.0, -sense * barb_mm), angle + lean)
            start = (tip[0] + barb[0], tip[1] + barb[1])
            strokes.append(Stroke(curve=Path((line(start, tip),)), layer=layer))
    return strokes

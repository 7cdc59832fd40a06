"""A drawing as SVG: real size in mm, one group per layer, true arcs."""

import math
import re
from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape

from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text
from hidewright.drawing.line_styles import CAPITAL_HEIGHT, dashes_mm, number
from hidewright.geometry.once import kept
from hidewright.geometry.outline import Chain, Outline
from hidewright.geometry.segment import Point, Segment

INK = "#000000"
#: Clear border round a drawing without a sheet, mm, so that no line lies on the page's edge.
BORDER_MM = 2.0


def to_svg(drawing: Drawing) -> bytes:
    """Return the drawing as SVG 1.1, one user unit to the mm.

    The page is the drawing's sheet; without a sheet it is the box round its lines and words with
    a border of 2 mm. Each outline is one closed path. Arcs are ``A`` commands of a quarter turn at
    most: rounding the ends of a half circle to 1e-4 mm would otherwise move its middle by
    hundredths. The same drawing gives the same bytes.
    """
    border = BORDER_MM if drawing.sheet is None else 0.0
    left, bottom, right, top = drawing.extent
    left, bottom, right, top = left - border, bottom - border, right + border, top + border
    width, height = number(right - left), number(top - bottom)
    frame = (left, top)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" '
        f'height="{height}mm" viewBox="0 0 {width} {height}">',
        f"<title>{escape(drawing.title)}</title>",
    ]
    return "\n".join([*lines, *layer_groups(drawing, frame), "</svg>", ""]).encode()


def layer_groups(drawing: Drawing, frame: Point) -> list[str]:
    """Return one ``g`` for each layer; ``frame`` is the drawing point at the page's upper left."""
    names = _identifiers(drawing.layers)
    return [
        line
        for layer, name in zip(drawing.layers, names, strict=True)
        for line in _group(drawing, layer, name, frame)
    ]


def path_data(curve: Chain, frame: Point = (0.0, 0.0)) -> str:
    """Return the ``d`` of a path; ``frame`` is the drawing point at the page's upper left."""
    closed = isinstance(curve, Outline)
    return kept(curve, ("path data", frame), lambda: _path_data(curve.segments, closed, frame))


def _path_data(curve: Sequence[Segment], closed: bool, frame: Point) -> str:
    first = _written(curve[0].start, frame)
    parts, last = [f"M{first}"], first
    for segment in curve:
        radius, left = number(segment.radius) if segment.is_arc else "", segment.bulge > 0
        for point in quarter_ends(segment):
            end = _written(point, frame)
            if end == last:
                continue  # shorter than what is written
            if radius:
                # y runs down on the page: a left turn is against the positive angle of SVG
                parts.append(f"A{radius} {radius} 0 0 {0 if left else 1} {end}")
            elif not (closed and segment is curve[-1] and end == first):
                parts.append(f"L{end}")  # the last line of a closed path is drawn by Z
            last = end
    return "".join(parts) + ("Z" if closed else "")


def quarter_ends(segment: Segment) -> Sequence[Point]:
    """Return the ends of its equal parts of at most a quarter turn; a line is one part."""
    n = math.ceil(abs(segment.sweep) / (math.pi / 2) - 1e-6)
    step = segment.length / max(n, 1)
    return [*(segment.point_at(i * step) for i in range(1, n)), segment.end]


def _group(drawing: Drawing, layer: Layer, name: str, frame: Point) -> Iterator[str]:
    pattern = " ".join(number(v) for v in dashes_mm(layer.style))
    dash = f' stroke-dasharray="{pattern}"' if pattern else ""
    yield (
        f'<g id="{name}" fill="none" stroke="{INK}" stroke-width="{number(layer.weight_mm)}"{dash}>'
    )
    yield f"<title>{escape(layer.name)}</title>"
    for stroke in drawing.strokes:
        if stroke.layer == layer:
            yield _path(stroke, frame)
    for text in drawing.texts:
        if text.layer == layer:
            yield _text(text, frame)
    yield "</g>"


def _path(stroke: Stroke, frame: Point) -> str:
    data = path_data(stroke.curve, frame)
    if not stroke.part:
        return f'<path d="{data}"/>'
    return f'<path d="{data}"><title>{escape(stroke.part)}</title></path>'


def _text(text: Text, frame: Point) -> str:
    x, y = _written(text.at, frame).split()
    turn = ""
    if abs(text.angle) > 1e-9:
        turn = f' transform="rotate({number(-math.degrees(text.angle))} {x} {y})"'
    return (
        f'<text x="{x}" y="{y}" font-family="DejaVu Sans, sans-serif" '
        f'font-size="{number(text.height_mm / CAPITAL_HEIGHT)}" text-anchor="{text.anchor}" '
        f'fill="{INK}" stroke="none"{turn}>{escape(text.words)}</text>'
    )


def _written(point: Point, frame: Point) -> str:
    """Return a drawing point as text on the page, where y runs down."""
    return f"{number(point[0] - frame[0])} {number(frame[1] - point[1])}"


def _identifiers(layers: Sequence[Layer]) -> list[str]:
    """Return one XML name per layer, such as ``cut-inside``, no two alike."""
    names: list[str] = []
    for layer in layers:
        plain = re.sub(r"[^A-Za-z0-9]+", "-", layer.name).strip("-").lower()
        plain = plain if plain[:1].isalpha() else f"layer-{plain}".rstrip("-")
        name, n = plain, 2
        while name in names:
            name, n = f"{plain}-{n}", n + 1
        names.append(name)
    return names

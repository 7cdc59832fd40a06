"""A filled map as SVG: triangles coloured by their value, a colour bar, and lines over it."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Literal
from xml.sax.saxutils import escape

import numpy as np
import numpy.typing as npt

from hidewright.drawing.colour_ramp import ramp, shaded
from hidewright.drawing.drawing import Drawing, Layer, Stroke, Text, union_bounds
from hidewright.drawing.line_styles import dashes_mm, number
from hidewright.drawing.svg import BORDER_MM, INK, layer_groups, path_data
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Floats, Point, line

Ints = npt.NDArray[np.int64]

#: More classes than this are not told apart by their colour.
MOST_CLASSES = 12
#: Edges of classes are rounded to so many decimals, so that they are written as they are meant.
DIGITS = 10
#: Corners of triangles are written to this many decimals of a mm.
FILL_DECIMALS = 2
#: Neighbouring fills overlap by half of this, so that no hair of paper shows between them, mm.
OVERLAP_MM = 0.2
#: A line over the map is seen on dark colours too by a white rim of this width, mm.
RIM_MM = 0.35
#: A map is drawn on a page at least so wide, for its words, mm.
LEAST_WIDTH_MM = 120.0
#: Words take about this width a letter, over the height of a capital; a run of capitals takes more.
LETTER_MM = 0.75
BAR_MM, BAR_HIGH_MM, LINE_MM, WORDS_MM = 100.0, 5.0, 5.0, 2.5
#: Room for half a number left of the bar; length of the sample of a line, mm.
BAR_IN_MM, SAMPLE_MM = 4.0, 14.0

BAR = Layer(name="colour bar", weight_mm=0.15)
LIMIT = Layer(name="limit on the bar", weight_mm=0.7)
OUTLINE_MM = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatMap:
    """Triangles in the plane, each with a value. Lengths in mm, y up.

    Attributes:
        title: One line of words.
        quantity: What the values are, in words.
        unit: Unit of the values, such as ``%`` or ``mm``; may be empty.
        points: (n, 2).
        triangles: (m, 3) numbers of points, counter-clockwise as seen.
        values: (m,).
        edges: Where one class of values ends and the next begins, rising; they hold all values.
        limit: Value beyond which a triangle is hatched and outlined; None when there is none.
        dark_least: The least value is darkest, not the largest.
        order: (m,) whole numbers: triangles with larger ones are painted later, over the others.
        light: (m,) share of the light that falls on each, 0 to 1.
        strokes: Lines over the map; their layers are told below it.
    """

    title: str
    quantity: str
    unit: str
    points: Floats
    triangles: Ints
    values: Floats
    edges: tuple[float, ...]
    limit: float | None = None
    dark_least: bool = False
    order: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    light: Floats = field(default_factory=lambda: np.zeros(0))
    strokes: tuple[Stroke, ...] = ()

    def __post_init__(self) -> None:
        m = len(self.triangles)
        object.__setattr__(self, "order", self.order if len(self.order) else np.zeros(m, np.int64))
        object.__setattr__(self, "light", self.light if len(self.light) else np.ones(m))
        if m == 0 or not {len(self.values), len(self.order), len(self.light)} == {m}:
            raise RequestError(f"{self.title}: every triangle takes one value, and there is one")
        steps = np.diff(self.edges)
        if not (1 <= len(steps) <= MOST_CLASSES and (steps > 0).all()):
            raise RequestError(f"{self.title}: 1 to {MOST_CLASSES} classes, one above the other")
        if not (self.values.min() >= self.edges[0] and self.values.max() <= self.edges[-1]):
            raise RequestError(
                f"{self.title}: values from {self.values.min():g} to {self.values.max():g}",
                because=f"the classes go from {self.edges[0]:g} to {self.edges[-1]:g}",
            )

    @property
    def classes(self) -> Ints:
        """(m,) class of each triangle: ``edges[k] <= value < edges[k + 1]``, the last closed."""
        k = np.searchsorted(self.edges, self.values, side="right") - 1
        return np.minimum(k, len(self.edges) - 2).astype(np.int64)

    @property
    def beyond(self) -> npt.NDArray[np.bool_]:
        """(m,) which triangles pass the limit."""
        if self.limit is None:
            return np.zeros(len(self.values), dtype=np.bool_)
        passed: npt.NDArray[np.bool_] = self.values > self.limit
        return passed

    @property
    def colours(self) -> tuple[str, ...]:
        """One colour for each class, in full light."""
        shades = ramp(max(len(self.edges) - 1, 2))[: len(self.edges) - 1]
        return shades[::-1] if self.dark_least else shades


def even_classes(low: float, high: float, most: int = 10) -> tuple[float, ...]:
    """Return round numbers, evenly apart, that hold values from low to high.

    Args:
        low: Least value.
        high: Largest value.
        most: So many classes at most.

    Example:
        >>> even_classes(0.3, 21.0)
        (0.0, 2.5, 5.0, 7.5, 10.0, 12.5, 15.0, 17.5, 20.0, 22.5)
    """
    span = max(high - low, 1e-6 * max(abs(high), 1.0))
    ten = 10.0 ** math.floor(math.log10(span / most))
    for step in (ten * f for f in (1.0, 2.0, 2.5, 5.0, 10.0, 20.0)):
        first = math.floor(low / step)
        last = max(math.floor(high / step), first + 1)
        # what lies beyond the last whole step, or comes to lie inside when rounded
        first -= round(first * step, DIGITS) > low
        last += round(last * step, DIGITS) < high
        if last - first <= most:
            return tuple(round(k * step, DIGITS) for k in range(first, last + 1))
    raise AssertionError("twenty times a tenth of the span is twice as much as is wanted")


def heat_map_svg(heat: HeatMap) -> bytes:
    """Return the map as SVG, one user unit to the mm: true to scale when its points are.

    Triangles of one class, light and order are one path. Those beyond the limit are hatched in
    white and outlined in black, so that they read without colour. The same triangles in another
    order give the same bytes.
    """
    low, high = heat.points.min(axis=0), heat.points.max(axis=0)
    boxes = [(float(low[0]), float(low[1]), float(high[0]), float(high[1]))]
    boxes += [stroke.curve.bounds for stroke in heat.strokes]
    left, bottom, right, top = union_bounds(boxes)
    wide = max(right - left, LEAST_WIDTH_MM, 1.3 * WORDS_MM * LETTER_MM * len(heat.title))
    left = (left + right - wide) / 2.0
    bar = (left + BAR_IN_MM, bottom - 4.0)
    below = _below(heat, bar)
    page_left, page_top = left - BORDER_MM, top + LINE_MM + BORDER_MM + 2.0
    width = number(wide + 2 * BORDER_MM)
    height = number(page_top - below.extent[1] + BORDER_MM)
    frame = (page_left, page_top)
    head = Text(words=heat.title, at=(left, top + 3.0), height_mm=1.3 * WORDS_MM, layer=BAR)
    over = Drawing(
        title=heat.title,
        strokes=(*heat.strokes, *below.strokes),
        texts=(head, *below.texts),
    )
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" '
        f'height="{height}mm" viewBox="0 0 {width} {height}">',
        f"<title>{escape(heat.title)}</title>",
        '<defs><pattern id="hatch" width="1.4" height="1.4" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path d="M0.7 0V1.4" stroke="#ffffff" stroke-width="0.45"/>'
        "</pattern></defs>",
        f'<g id="map" stroke-width="{OVERLAP_MM}" stroke-linejoin="round">',
        *_fills(heat, frame),
        "</g>",
        *_bar(heat, bar, frame),
        *_rims(heat, frame),
        *layer_groups(over, frame),
        "</svg>",
        "",
    ]
    return "\n".join(parts).encode()


def _fills(heat: HeatMap, frame: Point) -> Iterator[str]:
    """Paint class by class in order, and over each order what passes the limit in it."""
    written = np.round((heat.points - frame) * (1.0, -1.0), FILL_DECIMALS) + 0.0
    at = [f"{x:g} {y:g}" for x, y in written.tolist()]
    kinds, kind = np.unique(
        np.column_stack([heat.order, heat.classes, heat.light]), axis=0, return_inverse=True
    )
    edges = _open_sides(heat.triangles, kind.ravel(), len(kinds))
    passed, beyond = heat.triangles[heat.beyond], heat.order[heat.beyond]
    colours, inside = heat.colours, _sides(passed)
    for order, some in groupby(zip(kinds.tolist(), edges, strict=True), key=lambda one: one[0][0]):
        for (_, k, light), sides in some:
            colour, data = shaded(colours[int(k)], light), _paths(sides, at)
            yield f'<path class="c{int(k)}" fill="{colour}" stroke="{colour}" d="{data}"/>'
        if (now := passed[beyond == order]).size:
            (sides,) = _open_sides(now, np.zeros(len(now), dtype=int), 1)
            data = _paths(sides, at)
            yield f'<path class="hatched" fill="url(#hatch)" stroke="none" d="{data}"/>'
            rim = {(a, b) for a, b in _sides(now) if (b, a) not in inside}
            yield (
                f'<path class="outlined" fill="none" stroke="{INK}" stroke-width="{OUTLINE_MM}" '
                f'd="{_paths(sorted(rim, reverse=True), at)}"/>'
            )


def _sides(triangles: Ints) -> set[tuple[int, int]]:
    pairs = triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2).tolist()
    return {(a, b) for a, b in pairs}


def _open_sides(triangles: Ints, kind: Ints, kinds: int) -> list[list[tuple[int, int]]]:
    """Return for each kind its sides that no two of its triangles share, the largest first.

    They are the edge of the area that triangles of the kind cover.
    """
    n = int(triangles.max(initial=0)) + 1
    first = np.repeat(kind, 3) * n
    a, b = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    ways = np.unique((first + a) * n + b)
    ways = ways[~np.isin(ways, (first + b) * n + a)][::-1]
    found: list[list[tuple[int, int]]] = [[] for _ in range(kinds)]
    starts, ends = divmod(ways, n)
    for one, start, end in zip(
        (starts // n).tolist(), (starts % n).tolist(), ends.tolist(), strict=True
    ):
        found[one].append((start, end))
    return found


def _paths(sides: Iterable[tuple[int, int]], at: Sequence[str]) -> str:
    """Chain sides, the largest first, from point to point; smallest numbers begin."""
    onward: dict[int, list[int]] = defaultdict(list)
    arriving: dict[int, int] = defaultdict(int)
    for a, b in sides:
        onward[a].append(b)
        arriving[b] += 1
    # open chains begin where more sides leave than arrive
    starts = [a for a in sorted(onward) for _ in range(len(onward[a]) - arriving[a])]
    parts: list[str] = []
    for start in (*starts, *sorted(onward)):
        while onward[start]:
            chain = [start]
            while onward.get(chain[-1]):
                chain.append(onward[chain[-1]].pop())
            closed = chain[-1] == start
            on = [at[k] for k in (chain[1:-1] if closed else chain[1:])]
            parts.append(f"M{at[start]}L{' '.join(on)}{'Z' if closed else ''}")
    return "".join(parts)


def _rims(heat: HeatMap, frame: Point) -> Iterator[str]:
    yield '<g id="rims" fill="none" stroke="#ffffff" stroke-opacity="0.7">'
    for stroke in heat.strokes:
        data = path_data(stroke.curve, frame)
        width = number(stroke.layer.weight_mm + 2 * RIM_MM)
        dash = " ".join(number(v) for v in dashes_mm(stroke.layer.style))
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        yield f'<path stroke-width="{width}"{dashes} d="{data}"/>'
    yield "</g>"


def _bar(heat: HeatMap, corner: Point, frame: Point) -> Iterator[str]:
    """Fill the colour bar; its lines and words come with those of the drawing."""
    yield '<g id="bar">'
    for k, colour in enumerate(heat.colours):
        x0, x1 = (_along(heat, edge) for edge in heat.edges[k : k + 2])
        box = (
            f'x="{number(corner[0] + x0 - frame[0])}" y="{number(frame[1] - corner[1])}" '
            f'width="{number(x1 - x0)}" height="{number(BAR_HIGH_MM)}"'
        )
        yield f'<rect {box} fill="{colour}"/>'
        if heat.limit is not None and heat.edges[k] >= heat.limit:
            yield f'<rect {box} fill="url(#hatch)"/>'
    yield "</g>"


def _below(heat: HeatMap, corner: Point) -> Drawing:
    """Return what stands below the map: the bar's lines and numbers, and what each line means."""
    left, top = corner
    foot = top - BAR_HIGH_MM
    ticks = [_along(heat, edge) for edge in heat.edges]
    strokes = [_line((left + x, top), (left + x, foot - 1.0), BAR) for x in ticks]
    strokes += [_line((left, y), (left + BAR_MM, y), BAR) for y in (top, foot)]
    numbers = [f"{edge:g}" for edge in heat.edges]
    wide = WORDS_MM * LETTER_MM * (max(map(len, numbers)) + 1)
    every = math.ceil(wide * (len(ticks) - 1) / BAR_MM)
    texts = [
        _words(words, (left + x, foot - 4.2), "middle")
        for words, x in list(zip(numbers, ticks, strict=True))[::every]
    ]
    unit = f", {heat.unit}" if heat.unit else ""
    texts.append(_words(f"{heat.quantity}{unit}", (left, foot - 9.0)))
    rows = [(layer, layer.name) for layer in dict.fromkeys(s.layer for s in heat.strokes)]
    if heat.limit is not None:
        x = left + _along(heat, heat.limit)
        strokes.append(_line((x, top + 1.5), (x, foot - 1.5), LIMIT))
        rows.insert(0, (LIMIT, f"limit, {heat.limit:g} {heat.unit}; hatched where it is passed"))
    y = foot - 9.0 - LINE_MM
    for layer, words in rows:
        strokes += _sample(heat, layer, (left, y + 0.4 * WORDS_MM))
        texts.append(_words(words, (left + SAMPLE_MM + 3.0, y)))
        y -= LINE_MM
    return Drawing(title=heat.title, strokes=tuple(strokes), texts=tuple(texts))


def _sample(heat: HeatMap, layer: Layer, at: Point) -> list[Stroke]:
    """Return what a layer looks like, to be told beside it: a small ring, an arrow, or a line."""
    ring = next((s.curve for s in heat.strokes if s.layer == layer), None)
    if isinstance(ring, Outline) and max(ring.width, ring.height) <= LINE_MM:
        x, y = ring.bounds[0] + ring.width / 2.0, ring.bounds[1] + ring.height / 2.0
        return [Stroke(curve=ring.moved(at[0] + SAMPLE_MM / 2.0 - x, at[1] - y), layer=layer)]
    ends = (at, (at[0] + SAMPLE_MM, at[1]))
    barbs = [
        _line(end, (end[0] + back * SAMPLE_MM / 6.0, end[1] + up * SAMPLE_MM / 12.0), layer)
        for end, back in zip(ends, (1.0, -1.0), strict=True)
        for up in (1.0, -1.0)
        if layer.sample == "arrow"
    ]
    return [_line(*ends, layer), *barbs]


def _along(heat: HeatMap, value: float) -> float:
    """How far along the bar a value stands, mm: every class is as wide as the others."""
    return float(np.interp(value, heat.edges, np.linspace(0.0, BAR_MM, len(heat.edges))))


def _line(start: Point, end: Point, layer: Layer) -> Stroke:
    return Stroke(curve=Path((line(start, end),)), layer=layer)


def _words(words: str, at: Point, anchor: Literal["start", "middle"] = "start") -> Text:
    return Text(words=words, at=at, height_mm=WORDS_MM, anchor=anchor, layer=BAR)

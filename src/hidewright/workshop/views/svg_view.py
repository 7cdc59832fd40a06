"""What a flat picture on the screen is made of: marks on named layers, true sizes, words."""

import math
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import Literal, NamedTuple

from hidewright.drawing.drawing import union_bounds
from hidewright.drawing.line_styles import number
from hidewright.drawing.svg import path_data
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point
from hidewright.units.length import LengthUnit, format_length
from hidewright.units.number import decimal_text

Box = tuple[float, float, float, float]


class Frame(NamedTuple):
    """The room on the page that a picture fills, in sizes of its type."""

    wide: float
    high: float


#: That of a wide screen.
USUAL = Frame(56.0, 48.0)
#: (name, label, whether it is shown at first).
ViewLayer = tuple[str, str, bool]
Anchor = Literal["start", "middle", "end"]

#: Room kept for a letter over the size of the type; the widest of the usual screen types needs it.
LETTER = 0.6
#: Of arrowheads, over the size of the type.
ARROW_LONG, ARROW_WIDE = 0.75, 0.26
#: Times sign between two sizes.
BY = " × "


@dataclass(frozen=True, slots=True, kw_only=True)
class Handle:
    """A place of a drawing that can be dragged to change one measure.

    Attributes:
        field: Dotted field of the design file, such as ``measures.width``.
        place: ``piece`` or ``piece/zone`` whose line is dragged.
        segment: Index of the line or arc on that outline.
        of: How many lines and arcs that outline has.
        along: Share of that line or arc at which it is held.
        at: That spot, mm; in a view with y down, else in the piece's frame.
        direction: Unit direction in which it moves as the measure grows.
        gain: How far it moves in the drawing a mm of the measure.
        value: Of the measure now, mm.
        low, high: What is allowed, mm.
        label: What it changes, in words.
        origin: Where the piece's own origin lies in the view, mm; it stays still while dragging.
    """

    field: str
    place: str
    segment: int
    of: int
    along: float
    at: Point
    direction: Point
    gain: float
    value: float
    low: float
    high: float
    label: str
    origin: Point = (0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlatView:
    """A flat picture for the screen.

    Attributes:
        svg: One ``svg`` element; mm, y down; a ``g`` with ``data-layer`` for each layer; coloured
            by classes only.
        layers: What can be switched, in drawing order.
        frame: (left, top, width, height) of all of it, mm.
        alt: One sentence that says what is drawn and its main sizes.
        handles: What can be dragged, in the frame of the view.
        spots: Where remarks on a place are shown: (piece, hollow, seam, leather or part, point).
    """

    svg: str
    layers: tuple[ViewLayer, ...]
    frame: Box
    alt: str
    handles: tuple[Handle, ...] = ()
    spots: tuple[tuple[str, Point], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One element of a picture.

    Attributes:
        layer: Name of its layer.
        svg: Its markup.
        box: (left, bottom, right, top) with y up, mm.
        place: What it stands for: remarks on that are shown at its left end.
    """

    layer: str
    svg: str
    box: Box
    place: str = ""


def view_of(
    marks: Sequence[Mark],
    layers: Iterable[ViewLayer],
    alt: str,
    type_mm: float,
    handles: tuple[Handle, ...] = (),
) -> FlatView:
    """Return marks gathered on their layers; layers without a mark are left out.

    Args:
        marks: With y up.
        layers: In drawing order, the undermost first.
        alt: What is drawn.
        type_mm: Size of the type; all words are told as a share of it.
        handles: Already in the frame of the view, y down.
    """
    left, bottom, right, top = union_bounds(m.box for m in marks)
    pad = 0.8 * type_mm
    frame = (left - pad, -top - pad, right - left + 2 * pad, top - bottom + 2 * pad)
    used = {m.layer for m in marks}
    kept = tuple(layer for layer in layers if layer[0] in used)
    groups = [
        f'<g data-layer="{name}" class="{name}">'
        + "".join(m.svg for m in marks if m.layer == name)
        + "</g>"
        for name, _, _ in kept
    ]
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="flat" role="img" '
        f'viewBox="{" ".join(number(v) for v in frame)}" font-size="{number(type_mm)}" '
        f'aria-label="{escape(alt)}">' + "".join(groups) + "</svg>"
    )
    spots: dict[str, Point] = {}
    for m in marks:
        if m.place:
            spots.setdefault(m.place, (m.box[0], -(m.box[1] + m.box[3]) / 2))
    return FlatView(
        svg=svg, layers=kept, frame=frame, alt=alt, handles=handles, spots=tuple(spots.items())
    )


def spot(layer: str, place: str, at: Point) -> Mark:
    """Return a mark that is not drawn: remarks on a place are shown there."""
    return Mark(layer=layer, svg="", box=(*at, *at), place=place)


def standing_for(place: str, mark: Mark) -> Mark:
    """Return a mark at which remarks on a place are shown."""
    return replace(mark, place=place)


def flag_beside(place: str, lines: Sequence[Mark], name: Mark) -> Mark:
    """Return a spot left of the longest of some lines, as high as one of them.

    A flag is higher than a line: there it leaves all of them free.
    """
    left = min(mark.box[0] for mark in lines)
    return spot("words", place, (left, (name.box[1] + name.box[3]) / 2))


def type_size(width_mm: float, height_mm: float, frame: Frame) -> float:
    """Return the size of the type for a picture of about this size in a frame, mm."""
    return max(width_mm / frame.wide, height_mm / frame.high)


# -- lines and words ------------------------------------------------------------------------------


def drawn(layer: str, curve: Outline | Path, shift: Point = (0.0, 0.0), look: str = "") -> Mark:
    """Return an outline or path, moved; its stroke keeps its width at every zoom."""
    left, bottom, right, top = curve.bounds
    data = path_data(curve, (-shift[0], -shift[1]))
    dx, dy = shift
    return _path(layer, data, (left + dx, bottom + dy, right + dx, top + dy), look)


def pierced(
    outer: Outline, inner: Sequence[Outline], shift: Point, layers: tuple[str, str, str]
) -> tuple[Mark, ...]:
    """Return an area with holes in it, moved: its face, its holes and its edge on three layers."""
    dx, dy = shift
    left, bottom, right, top = outer.bounds
    box = (left + dx, bottom + dy, right + dx, top + dy)
    edge, *holes = (path_data(o, (-dx, -dy)) for o in (outer, *inner))
    face, inside, outside = layers
    marks = (
        _path(face, edge + "".join(holes), box, "pierced"),
        _path(outside, edge, box, ""),
    )
    return (*marks, _path(inside, "".join(holes), box, "")) if holes else marks


def within(mark: Mark, outer: Outline, shift: Point = (0.0, 0.0)) -> Mark:
    """Return a mark of which only what lies within an outline is seen."""
    data = path_data(outer, (-shift[0], -shift[1]))
    return replace(mark, svg=clipped(mark.svg, data))


def clipped(svg: str, data: str) -> str:
    """Return markup of which only what lies within a closed path is seen.

    The path is named by its own data: the same name on one page is the same path.
    """
    name = f"within-{zlib.crc32(data.encode()):08x}"
    clip = f'<clipPath id="{name}"><path d="{data}"/></clipPath>'
    return f'{clip}<g clip-path="url(#{name})">{svg}</g>'


def hatched(layer: str, outer: Outline, apart: float, lean: float = 1.0) -> Mark:
    """Return slanting lines over an area, as cut material is drawn; ``lean`` -1 turns them."""
    left, bottom, right, top = outer.bounds
    high = top - bottom
    n = math.ceil((right - left + high) / apart)
    data = "".join(
        f"M{number(x)} {number(-bottom)}l{number(lean * high)} {number(-high)}"
        for x in (left + (i + 0.5) * apart - (high if lean > 0 else 0.0) for i in range(n))
    )
    return within(_path(layer, data, outer.bounds, "hatch"), outer)


def polyline(layer: str, points: Sequence[Point], look: str = "", closed: bool = False) -> Mark:
    """Return straight lines from point to point."""
    data = "M" + "L".join(f"{number(x)} {number(-y)}" for x, y in points) + ("Z" if closed else "")
    return _path(layer, data, _around(points), look)


def circles(layer: str, at: Sequence[Point], radius: float, look: str = "") -> Mark:
    """Return circles of one size as one path, each a subpath of two half arcs."""
    r = number(radius)
    data = "".join(
        f"M{number(x - radius)} {number(-y)}a{r} {r} 0 1 0 {number(2 * radius)} 0"
        f"a{r} {r} 0 1 0 {number(-2 * radius)} 0Z"
        for x, y in at
    )
    left, bottom, right, top = _around(at)
    box = (left - radius, bottom - radius, right + radius, top + radius)
    return _path(layer, data, box, look)


def slits(layer: str, at: Sequence[tuple[Point, float]], length: float, look: str = "") -> Mark:
    """Return short strokes as one path, each a subpath: (middle, direction in radians)."""
    half = length / 2
    ends = [(x, y, half * math.cos(a), half * math.sin(a)) for (x, y), a in at]
    data = "".join(
        f"M{number(x - u)} {number(v - y)}L{number(x + u)} {number(-y - v)}" for x, y, u, v in ends
    )
    left, bottom, right, top = _around([p for p, _ in at])
    return _path(layer, data, (left - half, bottom - half, right + half, top + half), look)


def said(
    layer: str,
    words: str,
    at: Point,
    type_mm: float,
    size: float = 1.0,
    anchor: Anchor = "middle",
    angle: float = 0.0,
    look: str = "",
) -> Mark:
    """Return a line of words on its base line.

    Args:
        layer: Name of its layer.
        words: One line.
        at: Anchor point, mm.
        type_mm: Size of the picture's type.
        size: Over that size.
        anchor: Which point of the line the anchor is.
        angle: Direction of reading, radians counter-clockwise.
        look: Class of its own.
    """
    x, y = at
    turned = f' transform="rotate({number(-math.degrees(angle))} {number(x)} {number(-y)})"'
    svg = (
        f'<text x="{number(x)}" y="{number(-y)}"'
        + (f' font-size="{number(size)}em"' if size != 1.0 else "")
        + (f' text-anchor="{anchor}"' if anchor != "start" else "")
        + (turned if abs(angle) > 1e-9 else "")
        + (f' class="{look}"' if look else "")
        + f">{escape(words)}</text>"
    )
    em = size * type_mm
    wide = LETTER * em * len(words)
    first = {"start": 0.0, "middle": -wide / 2, "end": -wide}[anchor]
    c, s = math.cos(angle), math.sin(angle)
    corners = [(u, v) for u in (first, first + wide) for v in (-0.25 * em, 0.8 * em)]
    return Mark(
        layer=layer,
        svg=svg,
        box=_around([(x + u * c - v * s, y + u * s + v * c) for u, v in corners]),
    )


def words_wide(words: str, type_mm: float, size: float = 1.0) -> float:
    """Return the width kept for a line of words, mm."""
    return LETTER * size * type_mm * len(words)


# -- sizes ----------------------------------------------------------------------------------------


def size_words(mm: float, unit: LengthUnit, decimals: int = 1) -> str:
    """Return a size as it is written on a drawing.

    >>> size_words(64.04, "mm"), size_words(25.4 * 2.5, "in"), size_words(64.0, "in")
    ('64 mm', '2 1/2 in', '2.52 in')
    """
    if unit == "mm":
        return f"{decimal_text(mm, decimals)} mm"
    exact = format_length(mm, "in")
    return exact if "." not in exact else f"{decimal_text(mm / 25.4, decimals + 1)} in"


def level_size(
    layer: str,
    a: Point,
    b: Point,
    level: float,
    words: str,
    type_mm: float,
    *,
    beyond: bool = False,
) -> tuple[Mark, ...]:
    """Return a size along x from ``a`` to ``b``, its line at the height ``level``.

    Extension lines run from the two points to the line. Where the room between them is too small,
    arrows come from outside and the words stand beyond ``b``, where ``beyond`` puts them anyway.
    """
    return _size(layer, a, b, level, words, type_mm, upright=False, beyond=beyond)


def upright_size(
    layer: str, a: Point, b: Point, level: float, words: str, type_mm: float
) -> tuple[Mark, ...]:
    """Return a size along y from ``a`` to ``b``, its line at x = ``level``, read from the right."""
    return _size(
        layer, (a[1], a[0]), (b[1], b[0]), level, words, type_mm, upright=True, beyond=False
    )


def leader(
    layer: str, tip: Point, away: Point, words: str, type_mm: float, size: float = 1.0
) -> tuple[Mark, ...]:
    """Return words at ``away`` with an arrow from them to a point; they stand beyond its tail."""
    rightwards = away[0] >= tip[0]
    gap = 0.3 * type_mm if rightwards else -0.3 * type_mm
    return (
        polyline(layer, (away, tip), "dim"),
        _arrowheads(layer, ((tip, math.atan2(tip[1] - away[1], tip[0] - away[0])),), type_mm),
        said(
            layer,
            words,
            (away[0] + gap, away[1] - 0.35 * size * type_mm),
            type_mm,
            size,
            "start" if rightwards else "end",
        ),
    )


def _size(
    layer: str,
    a: Point,
    b: Point,
    level: float,
    words: str,
    type_mm: float,
    *,
    upright: bool,
    beyond: bool,
) -> tuple[Mark, ...]:
    """Return a size along the first coordinate; ``upright`` swaps the two."""

    def at(along: float, across: float) -> Point:
        return (across, along) if upright else (along, across)

    if b[0] < a[0]:
        a, b = b, a
    em, wide = type_mm, words_wide(words, type_mm)
    room = b[0] - a[0]
    outside = room < 2 * ARROW_LONG * em + 0.4 * em
    beside = beyond or outside or room < wide + 0.6 * em
    data = []
    for along, across in (a, b):
        sense = math.copysign(1.0, level - across)
        if abs(level - across) > 0.8 * em:
            ends = (at(along, across + sense * 0.35 * em), at(along, level + sense * 0.45 * em))
            data.append(ends)
    tail = 1.6 * em if outside else 0.0
    data.append((at(a[0] - tail, level), at(b[0] + tail, level)))
    lines = "".join(
        f"M{number(p[0])} {number(-p[1])}L{number(q[0])} {number(-q[1])}" for p, q in data
    )
    forth, back = (math.pi / 2, -math.pi / 2) if upright else (0.0, math.pi)
    heads = ((at(*(a[0], level)), back), (at(*(b[0], level)), forth))
    if outside:
        heads = ((heads[0][0], forth), (heads[1][0], back))
    turned = math.pi / 2 if upright else 0.0
    lift = (-0.32 * em) if upright else 0.32 * em
    if beside:
        end = b[0] + max(tail, 0.3 * em)
        side: Anchor = "start"
        if upright and level < min(a[1], b[1]) - em:
            side, spot = "end", (level - 0.35 * em, (a[0] + b[0] - 0.7 * em) / 2)
        elif upright:
            spot = (level + 0.35 * em, end - 0.7 * em if outside else (a[0] + b[0] - 0.7 * em) / 2)
        else:
            spot = (end + 0.3 * em, level - 0.33 * em)
        text = said(layer, words, spot, em, 1.0, side)
    else:
        text = said(layer, words, at((a[0] + b[0]) / 2, level + lift), em, 1.0, "middle", turned)
    return (
        _path(layer, lines, _around([p for pair in data for p in pair]), "dim"),
        _arrowheads(layer, heads, em),
        text,
    )


def _arrowheads(layer: str, tips: Iterable[tuple[Point, float]], type_mm: float) -> Mark:
    """Return filled arrowheads: (tip, direction it points to)."""
    long, wide = ARROW_LONG * type_mm, ARROW_WIDE * type_mm
    data: list[str] = []
    points: list[Point] = []
    for (x, y), a in tips:
        c, s = math.cos(a), math.sin(a)
        bx, by = x - long * c, y - long * s
        three = ((x, y), (bx - wide * s, by + wide * c), (bx + wide * s, by - wide * c))
        points += three
        data.append("M" + "L".join(f"{number(u)} {number(-v)}" for u, v in three) + "Z")
    return _path(layer, "".join(data), _around(points), "arrow")


def _path(layer: str, data: str, box: Box, look: str) -> Mark:
    named = f' class="{look}"' if look else ""
    svg = f'<path{named} vector-effect="non-scaling-stroke" d="{data}"/>'
    return Mark(layer=layer, svg=svg, box=box)


def _around(points: Sequence[Point]) -> Box:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))

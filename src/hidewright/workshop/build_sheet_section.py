"""A mould in section, as it stands on the bench: plates by their heights, and the leather."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from hidewright.design.part import MouldTool, Part
from hidewright.design.piece import MouldedZone
from hidewright.design.pressed_zone import PressedZone
from hidewright.drawing.drawing import Layer, Stroke
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import circle, polygon, rectangle
from hidewright.workshop.tooling_chain import Moulding

PLATE = Layer(name="plate", style="solid", weight_mm=0.2)
LEATHER = Layer(name="leather", style="solid", weight_mm=0.9)
SIZE = Layer(name="size", style="solid", weight_mm=0.15)
KNIFE = Layer(name="cut here", style="dashed", weight_mm=0.7)
EASED = Layer(name="round this edge", style="solid", weight_mm=0.5)
MIDDLE = Layer(name="middle of the mould", style="dash-dot", weight_mm=0.15)
#: A plate thinner than this has no room for its thickness, mm.
TOLD_MM = 4.0
#: Flange that is shown beside a wall, mm.
FLANGE_MM = 12.0
#: Room between the section and its size, mm.
BESIDE_MM = 8.0

Interval = tuple[float, float]
#: Words, the point they belong to, and how far below or above it they stand on the paper, mm.
Word = tuple[str, Point, Point]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Strokes of a section, x along the cut and y up, mm, and words in it."""

    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...]


def section_of(moulding: Moulding, upper: str) -> Section:
    """Return a mould and its leather, cut through the middle of its first hollow or its divider.

    Args:
        moulding: Blank, hollows and tool.
        upper: ``frame`` while it is pressed, ``hold-down ring`` while it dries.
    """
    tool, plug = moulding.tool, moulding.zones[0].plug
    left, _, right, _ = plug.bounds
    y = _cut_at(moulding)
    strokes: list[Stroke] = []
    for part in tool.parts:
        low = _bottom(part, upper, tool)
        if low is not None:
            for begin, end in _solid(part, y):
                strokes.append(_box((begin, end), low, part.board.thickness_mm))
    tops = [s.curve.bounds[3] for s in strokes]
    base = min(s.curve.bounds[1] for s in strokes)
    far = max(s.curve.bounds[2] for s in strokes)
    strokes.append(Stroke(curve=_leather(moulding, y), layer=LEATHER))
    if upper != "frame":
        return Section(strokes=tuple(strokes), words=())
    high = max(tops)
    strokes += _size(far + BESIDE_MM, base, high)
    word = (f"{high - base:.2f} mm closed", ((left + right) / 2, high), (0.0, 1.2))
    return Section(strokes=tuple(strokes), words=(word,))


def half_section(moulding: Moulding, *, eased: bool) -> Section:
    """Return the right half of an empty mould, each plate with its thickness.

    Args:
        moulding: Blank, hollows and tool.
        eased: Mark the edges that are rounded over, instead of telling the plates.
    """
    tool, plug = moulding.tool, moulding.zones[0].plug
    left, _, right, _ = plug.bounds
    middle, y = (left + right) / 2, _cut_at(moulding)
    standing = [(p, low) for p in tool.parts if (low := _bottom(p, "frame", tool)) is not None]
    far = max(part.outline.bounds[2] for part, _ in standing)
    strokes: list[Stroke] = []
    words: list[Word] = []
    marks: list[Point] = []
    for part, low in standing:
        high = low + part.board.thickness_mm
        for begin, end in _solid(part, y):
            if end <= middle + 1.0:
                continue
            across = (max(begin, middle), end)
            strokes.append(_box(across, low, part.board.thickness_mm))
            if not eased and part.board.thickness_mm >= TOLD_MM:
                at = ((across[0] + across[1]) / 2, (low + high) / 2)
                words.append((f"{round(part.board.thickness_mm, 2):g} mm", at, (0.0, -0.95)))
            for easing in part.easings:
                edge = begin if easing.edge == "window" else end
                marks.append((edge, high if easing.face == "top" else low))
    if eased:
        strokes += [Stroke(curve=circle(2.0, at), layer=EASED) for at in marks]
    base = min(s.curve.bounds[1] for s in strokes)
    above = max(s.curve.bounds[3] for s in strokes)
    half = Path((line((middle, base - 2.0), (middle, above + 2.0)),))
    strokes.append(Stroke(curve=half, layer=MIDDLE))
    told = "round the ringed edges" if eased else "right half, from the middle"
    words.append((told, ((middle + far) / 2, above + 2.0), (0.0, 1.2)))
    return Section(strokes=tuple(strokes), words=tuple(words))


def _cut_at(moulding: Moulding) -> float:
    """Return where a mould is cut: through its first divider, or the middle of its first hollow."""
    zone = moulding.zones[0]
    _, bottom, _, top = (zone.islands[0].pocket if zone.islands else zone.plug).bounds
    return (bottom + top) / 2


def wall_section(zone: MouldedZone) -> Section:
    """Return a moulded zone in section, flange down and walls upright, and where it is cut."""
    wide, high = zone.outline.width / 2, zone.depth_mm
    crown = min(zone.crown_radius_mm, 0.9 * wide, 0.9 * high)
    cut = zone.cut_height_mm or 0.0
    corners = ((-wide, 0.0), (wide, 0.0), (wide, high), (-wide, high))
    shell = polygon(corners, (0.0, 0.0, crown, crown))
    sides = (-1.0, 1.0)
    flange = [Path((line((s * wide, 0.0), (s * (wide + FLANGE_MM), 0.0)),)) for s in sides]
    knife = Path((line((-wide - FLANGE_MM, cut), (wide + FLANGE_MM, cut)),))
    return Section(
        strokes=(
            Stroke(curve=shell, layer=PLATE),
            *(Stroke(curve=side, layer=PLATE) for side in flange),
            Stroke(curve=knife, layer=KNIFE),
        ),
        words=((f"{cut:g} mm over the flange", (0.0, cut), (0.0, 1.2)),),
    )


def intervals(outline: Outline, y: float) -> tuple[Interval, ...]:
    """Return where a level line lies inside an outline, from left to right, mm."""
    points = outline.flat_points(0.05)
    a, b = points, np.roll(points, -1, axis=0)
    crosses = (a[:, 1] > y) != (b[:, 1] > y)
    a, b = a[crosses], b[crosses]
    at = np.sort(a[:, 0] + (b[:, 0] - a[:, 0]) * (y - a[:, 1]) / (b[:, 1] - a[:, 1]))
    return tuple((float(at[i]), float(at[i + 1])) for i in range(0, len(at) - 1, 2))


def less(whole: Iterable[Interval], taken: Sequence[Interval]) -> tuple[Interval, ...]:
    """Return what is left of intervals when others are taken out.

    Example:
        >>> less([(0.0, 10.0)], [(2.0, 3.0), (8.0, 12.0)])
        ((0.0, 2.0), (3.0, 8.0))
    """
    left = list(whole)
    for low, high in taken:
        left = [
            piece
            for begin, end in left
            for piece in ((begin, min(end, low)), (max(begin, high), end))
            if piece[1] > piece[0]
        ]
    return tuple(left)


def _bottom(part: Part, upper: str, tool: MouldTool) -> float | None:
    """Return at which height a part stands; None for one that is not in the stack now."""
    if part.role == "hold-down ring":
        return tool.flange_gap_mm if upper == part.role else None
    if part.role in ("frame", "cavity floor", "divider block") and upper != "frame":
        return None
    return part.bottom_mm


def _solid(part: Part, y: float) -> tuple[Interval, ...]:
    holes = (*part.holes_for("window"), *part.holes_for("pocket"))
    return less(intervals(part.outline, y), [i for hole in holes for i in intervals(hole, y)])


def _leather(moulding: Moulding, y: float) -> Path:
    """Return the middle of the leather from edge to edge over the plugs under the cut."""
    tool = moulding.tool
    beside, low = tool.gap_mm / 2, tool.flange_gap_mm / 2
    edges = intervals(moulding.edge, y)
    points: list[Point] = [(edges[0][0], low)]
    for zone in sorted(moulding.zones, key=lambda z: z.plug.bounds[0]):
        for begin, end in intervals(zone.plug, y):
            high = zone.height_mm + beside
            points += [
                (begin - beside, low),
                (begin - beside, high),
                *_over_dividers(zone, y, beside),
                (end + beside, high),
                (end + beside, low),
            ]
    points.append((edges[-1][1], low))
    return Path(tuple(line(a, b) for a, b in pairwise(points)))


def _over_dividers(zone: PressedZone, y: float, beside: float) -> list[Point]:
    """Return how the middle of the leather dips into the pockets under the cut."""
    high = zone.height_mm + beside
    found = [
        [(a + beside, high), (a + beside, deep), (b - beside, deep), (b - beside, high)]
        for island in zone.islands
        for deep in (high - island.height_mm,)
        for a, b in intervals(island.pocket, y)
    ]
    return [point for dip in sorted(found) for point in dip]


def _box(across: Interval, bottom: float, thickness: float) -> Stroke:
    wide = across[1] - across[0]
    middle = ((across[0] + across[1]) / 2, bottom + thickness / 2)
    return Stroke(curve=rectangle(wide, thickness).moved(*middle), layer=PLATE)


def _size(x: float, low: float, high: float) -> list[Stroke]:
    """Return an upright size line with a tick at each end."""
    lines = [((x, low), (x, high))]
    lines += [((x - 4.0, y), (x + 4.0, y)) for y in (low, high)]
    return [Stroke(curve=Path((line(a, b),)), layer=SIZE) for a, b in lines]

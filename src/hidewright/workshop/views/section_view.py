"""The section through a moulded zone: leather as it is formed, between the plates, to scale."""

import math
from collections.abc import Iterable
from itertools import pairwise

from hidewright.catalogue.leathers import Leather
from hidewright.design.part import MouldTool, Part
from hidewright.geometry.outline import Outline, outline
from hidewright.geometry.segment import Floats, Point, Segment, line
from hidewright.units.length import LengthUnit
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_cut import ROUND, Cut, IslandCut, cuts_of
from hidewright.workshop.forming_maps import layer_name
from hidewright.workshop.forming_section import (
    back,
    block_profile,
    crown_centre,
    lip_centre,
    plug_profile,
    pocket_side,
    told_of,
)
from hidewright.workshop.views.svg_view import (
    USUAL,
    Box,
    FlatView,
    Frame,
    Mark,
    ViewLayer,
    circles,
    drawn,
    hatched,
    leader,
    level_size,
    polyline,
    said,
    size_words,
    spot,
    type_size,
    upright_size,
    view_of,
    words_wide,
)

LAYERS: tuple[ViewLayer, ...] = (
    ("tool", "Plug, frame and base", True),
    ("hatching", "Hatching of the boards", True),
    ("joint", "Joints of the boards", True),
    ("sheet", "Leather", True),
    ("worst", "Worst place", True),
    ("size", "Sizes", True),
    ("words", "Names", True),
)
#: Boards are shown this far beyond the leather's edge, mm.
BEYOND_MM = 5.0
#: Lines of the hatching are so far apart, in sizes of the type.
HATCH = 0.75
#: Waves of a line where something is broken off, mm.
WAVE_MM = 3.0
DIAGONAL = math.sqrt(0.5)
#: In a frame less wide than this the sizes are numbered, and so much of it stays beside the drawing
#: for the numbers, in sizes of the type.
WIDE_ENOUGH, BESIDE = 44.0, 11.0


def section_view(
    one: PressedBlank,
    layer: Layer,
    leather: Leather,
    tool: MouldTool,
    unit: LengthUnit = "mm",
    frame: Frame = USUAL,
) -> FlatView:
    """Return the section through the place that uses most of what the leather bears.

    Of a zone with islands it is the place on them, so that the section goes through one.

    From left to right: the plug, broken off in its middle, the wall, the flange to its edge, and
    the boards, broken off beyond it. All of it soaked, as it lies in the closed mould.

    Args:
        one: The pressed blank.
        layer: The layer of it that is cut through.
        leather: That layer's.
        tool: The mould it lies in.
        unit: In which sizes are told.
        frame: What the picture fills.
    """
    cut = cuts_of(layer, leather)[-1]
    left, right = float(cut.inner[0, 0]), cut.edge_mm + BEYOND_MM
    bottom, top = _heights(tool.parts)
    say = _Words(numbered=frame.wide < WIDE_ENOUGH)
    em = (
        type_size((right - left) / (1.0 - BESIDE / frame.wide), top - bottom, frame)
        if say.numbered
        else type_size(right - left + 22.0, top - bottom + 14.0, frame)
    )
    bodies = _bodies(cut, tool, (left, right), top)
    marks: list[Mark] = []
    for i, body in enumerate(bodies):
        marks += [drawn("tool", body), hatched("hatching", body, HATCH * em, 1.0 - 2.0 * (i % 2))]
    marks += _joints(cut, tool, (left, right))
    face = [*_points(cut.inner), *_points(cut.outer[::-1])]
    marks.append(polyline("sheet", face, closed=True))
    marks += _worst(cut, top, em, say)
    marks += _sizes(cut, tool, (left, bottom, right, top), unit, em, say)
    marks += _names(cut, tool, layer is one.layers[0], (left, bottom, right, top), em)
    for zone in layer.zones:
        marks.append(spot("sheet", zone.place, (left + 1.5 * em, cut.tools.depth_mm + em)))
    if cut.island:
        marks += _island_sizes(cut.island, cut.tools.depth_mm, unit, em, say)
        x = sum(float(side[-1, 0]) for side in cut.island.block) / 2.0
        z = 0.5 * (float(cut.island.block[0][0, 1]) + bodies[-1].bounds[3]) - 0.4 * em
        marks.append(said("words", "block", (x, z), em, 1.1, "middle", look="title"))
    under = min(m.box[1] for m in marks) - 1.5 * em
    for i, words in enumerate(say.key):
        marks.append(said("size", words, (left - 2.2 * em, under - 1.5 * i * em), em, 1.0, "start"))
    return view_of(marks, LAYERS, _alt(one, layer, cut, unit), em)


class _Words:
    """Says what a place is, at the place itself or by a number that a key explains."""

    def __init__(self, *, numbered: bool) -> None:
        self.numbered = numbered
        self.key: list[str] = []

    def __call__(self, words: str, of: str = "") -> str:
        if not self.numbered:
            return words
        self.key.append(f"{len(self.key) + 1}: {of}{words}")
        return str(len(self.key))


def _heights(parts: Iterable[Part]) -> tuple[float, float]:
    """Return the lowest and highest face of all parts that are stacked, mm."""
    stacked = [(p.bottom_mm, p.board.thickness_mm) for p in parts if p.bottom_mm is not None]
    return min(b for b, _ in stacked), max(b + t for b, t in stacked)


def _bodies(
    cut: Cut, tool: MouldTool, ends: tuple[float, float], top: float
) -> tuple[Outline, ...]:
    """Return base, plug and frame cut through, and the floor over them if there is one."""
    left, right = ends
    low, _ = _heights(tool.parts)
    floors = [p for p in tool.parts if p.role == "cavity floor"]
    under_floor = min((p.bottom_mm or 0.0 for p in floors), default=top)
    bodies = [
        _box(left, low, right, 0.0),
        *_plug(cut, left, right),
        _frame(cut, tool.flange_gap_mm, right, under_floor),
    ]
    if cut.island:
        block = block_profile(cut.island, under_floor)
        bodies.append(outline((*block, line(block[-1].end, block[0].start))))
    if floors:
        bodies.append(_box(left, under_floor, right, top))
    return tuple(bodies)


def _plug(cut: Cut, left: float, right: float) -> list[Outline]:
    """Return the plug broken off on the left; in two parts where a pocket goes through it."""
    depth, begin, inside = cut.tools.depth_mm, left, _wave(left, 0.0, cut.tools.depth_mm)
    parts = []
    if cut.island:
        far, inside = pocket_side(cut.island, True), back(pocket_side(cut.island, False))
        stump = (line((left, depth), far[0].start), *far, line(far[-1].end, (left, 0.0)))
        parts.append(outline((*stump, *_wave(left, 0.0, depth))))
        begin = inside[-1].end[0]
    plug = plug_profile(cut.tools, begin, right)
    return [*parts, outline((*plug[:-1], line((0.0, 0.0), inside[0].start), *inside))]


def _frame(cut: Cut, under: float, right: float, top: float) -> Outline:
    """Return the frame: its lip, its wall up to its top, its under face on the stop blocks."""
    gap, r = cut.tools.gap_mm, cut.tools.lip_radius_mm
    lip = Segment(start=(gap + r, under), end=(gap, under + r), bulge=-math.tan(math.pi / 8))
    return outline(
        (
            lip,
            line(lip.end, (gap, top)),
            line((gap, top), (right, top)),
            *_wave(right, top, under),
            line((right, under), lip.start),
        )
    )


def _box(left: float, bottom: float, right: float, top: float) -> Outline:
    return outline(
        (
            line((left, bottom), (right, bottom)),
            *_wave(right, bottom, top),
            line((right, top), (left, top)),
            *_wave(left, top, bottom),
        )
    )


def _wave(x: float, begin: float, finish: float) -> tuple[Segment, ...]:
    """Return the wavy line along which a board is broken off, from one height to another."""
    n = 2 * max(1, round(abs(finish - begin) / WAVE_MM / 2))
    z = [begin + (finish - begin) * k / n for k in range(n + 1)]
    return tuple(
        Segment(start=(x, a), end=(x, b), bulge=0.35 if k % 2 else -0.35)
        for k, (a, b) in enumerate(pairwise(z))
    )


def _joints(cut: Cut, tool: MouldTool, ends: tuple[float, float]) -> list[Mark]:
    """Return where boards lie on one another."""
    left, right = ends
    marks = []
    for part in tool.parts:
        z = part.bottom_mm
        if z is None or z <= 0.0:
            continue
        if part.role in ("plug", "shim") and z < cut.tools.depth_mm - cut.tools.crown_radius_mm:
            marks += [polyline("joint", ((a, z), (b, z))) for a, b in _plug_at(cut, left)]
        elif part.role == "divider block" and cut.island and z > float(cut.island.block[0][-1, 1]):
            a, b = (float(side[-1, 0]) for side in cut.island.block)
            marks.append(polyline("joint", ((a, z), (b, z))))
        elif part.role == "frame" and z > tool.flange_gap_mm + cut.tools.lip_radius_mm:
            marks.append(polyline("joint", ((cut.tools.gap_mm, z), (right, z))))
    return marks


def _plug_at(cut: Cut, left: float) -> list[tuple[float, float]]:
    """Return from where to where the plug's boards reach, under their rounded edges."""
    if cut.island is None:
        return [(left, 0.0)]
    far, near = (float(side[-1, 0]) for side in cut.island.pocket)
    return [(left, far), (near, 0.0)]


def _worst(cut: Cut, top: float, em: float, say: _Words) -> list[Mark]:
    x, z = float(cut.worst[0]), float(cut.worst[1])
    words = say(f"{told_of(cut)}: {100 * cut.share:.0f} % of what it bears is used")
    return [
        circles("worst", [(x, z)], 0.9 * em),
        polyline("worst", ((x, z + 0.9 * em), (x, top + 1.2 * em))),
        said("worst", words, (x, top + 1.6 * em), em, 1.0, "start" if x < 6 * em else "middle"),
    ]


def _sizes(
    cut: Cut, tool: MouldTool, box: Box, unit: LengthUnit, em: float, say: _Words
) -> list[Mark]:
    left, bottom, right, top = box
    tools = cut.tools
    crown, lip = crown_centre(tools), lip_centre(tools)
    lip = (lip[0], tool.flange_gap_mm + tools.lip_radius_mm)
    on_crown, on_lip = (
        _towards(crown, tools.crown_radius_mm, 1),
        _towards(lip, tools.lip_radius_mm, -1),
    )
    wall = max(crown[1], lip[1]) - 0.5 * em
    edge, flange = float(cut.inner[-1, 0]), tools.outer_mm
    thin = int(cut.thickness.argmin())
    x_thin, z_thin = (cut.inner[thin] + cut.outer[thin]) / 2.0
    # the words of the lip stay under those of the gap
    rise = min(max(wall - 1.4 * em - on_lip[1], 0.4 * em), 2.4 * em)
    slit = say(size_words(tool.flange_gap_mm, unit, 2), "room for the flange ")
    away = min(crown[0] - 0.4 * em, -0.4 * em)
    return [
        *upright_size(
            "size",
            (left, 0.0),
            (left, tools.depth_mm),
            left - 2.2 * em,
            say(f"depth {size_words(tools.depth_mm, unit, 2)}"),
            em,
        ),
        *level_size(
            "size",
            (0.0, wall),
            (tools.gap_mm, wall),
            wall,
            say(f"gap {size_words(tools.gap_mm, unit, 2)}"),
            em,
        ),
        *leader(
            "size",
            on_crown,
            (away, on_crown[1] - (on_crown[0] - away)),
            say(f"crown R {size_words(tools.crown_radius_mm, unit)}"),
            em,
        ),
        *leader(
            "size",
            on_lip,
            (on_lip[0] + 2.4 * em, on_lip[1] + rise),
            say(f"lip R {size_words(tools.lip_radius_mm, unit)}"),
            em,
        ),
        *level_size(
            "size",
            (flange, bottom),
            (edge, bottom),
            bottom - 2.2 * em,
            say(f"flange {size_words(edge - flange, unit)}, held"),
            em,
        ),
        *upright_size(
            "size",
            (right, bottom),
            (right, top),
            right + 4.4 * em + words_wide(slit, em),
            say(f"closed {size_words(tool.closed_height_mm, unit, 2)}"),
            em,
        ),
        *upright_size(
            "size",
            (right, 0.0),
            (right, tool.flange_gap_mm),
            right + 2.2 * em,
            slit,
            em,
        ),
        *leader(
            "size",
            (float(x_thin), float(z_thin)),
            (float(x_thin) - 2.5 * em, float(cut.outer[0, 1]) + 1.6 * em),
            say(f"thinnest {size_words(float(cut.thickness[thin]), unit, 2)}"),
            em,
        ),
    ]


def _island_sizes(
    island: IslandCut, plug_mm: float, unit: LengthUnit, em: float, say: _Words
) -> list[Mark]:
    """Return the radii of an island's pocket and block, and how far it is pressed back."""
    tools, low = island.tools, plug_mm - island.tools.depth_mm
    (foot_x, foot_z), (top_x, top_z) = (
        (float(side[1][ROUND // 2, 0]), float(side[1][ROUND // 2, 1]))
        for side in (island.pocket, island.block)
    )
    (far, _), (near, _) = (side[-1].tolist() for side in island.pocket)
    middle = 0.5 * (far + near)
    return [
        *leader(
            "size",
            (foot_x, foot_z),
            (foot_x + 1.4 * em, foot_z - 1.4 * em),
            say(f"foot R {size_words(tools.lip_radius_mm, unit)}"),
            em,
        ),
        polyline("size", ((middle, low - 2.3 * em), (top_x, top_z)), "dim"),
        said(
            "size",
            say(f"top R {size_words(tools.crown_radius_mm, unit)}"),
            (middle, low - 3.1 * em),
            em,
        ),
        said(
            "size",
            say(f"pressed back {size_words(tools.depth_mm, unit, 2)}"),
            (middle, low - 4.4 * em),
            em,
        ),
    ]


def _towards(centre: Point, radius: float, sense: int) -> Point:
    """Return the middle of an arc, up and right of its centre or down and left of it."""
    reach = sense * DIAGONAL * radius
    return (centre[0] + reach, centre[1] + reach)


def _names(cut: Cut, tool: MouldTool, on_plug: bool, box: Box, em: float) -> list[Mark]:
    left, bottom, right, top = box
    board = next(p.board.name for p in tool.parts if p.role == "base")
    frame_x = 0.62 * right + 0.38 * cut.tools.outer_mm
    told = (
        ("plug" if on_plug else "layer below", (left + 0.9 * em, 0.45 * em), "start"),
        ("frame", (frame_x, 0.5 * (tool.flange_gap_mm + top) - 0.4 * em), "middle"),
        (f"base, {board}", (frame_x, 0.5 * bottom - 0.4 * em), "middle"),
    )
    return [
        said("words", words, at, em, 1.1, "start" if anchor == "start" else "middle", look="title")
        for words, at, anchor in told
    ]


def _points(face: Floats) -> list[Point]:
    return [(float(d), float(z)) for d, z in face]


def _alt(one: PressedBlank, layer: Layer, cut: Cut, unit: LengthUnit) -> str:
    t = cut.tools
    return (
        f"Section through {layer_name(one, layer)}, soaked and pressed: depth "
        f"{size_words(t.depth_mm, unit, 2)}, crown radius {size_words(t.crown_radius_mm, unit)}, "
        f"lip radius {size_words(t.lip_radius_mm, unit)}, gap {size_words(t.gap_mm, unit, 2)}, "
        f"leather {size_words(float(cut.thickness.min()), unit, 2)} where it is thinnest; "
        f"{100 * cut.share:.0f} % of what it bears is used at the worst place"
        + (f" of {cut.place}, which is cut through." if cut.place else ".")
    )

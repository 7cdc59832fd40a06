"""The section of a pressed sheet through its worst place, with plug, base and frame."""

import math
from typing import Literal

from hidewright.catalogue.leathers import Leather
from hidewright.drawing.drawing import Drawing, Stroke, Text
from hidewright.drawing.drawing import Layer as Line
from hidewright.forming.profile import Tools
from hidewright.geometry.outline import Path, joined
from hidewright.geometry.refit import points_to_segments
from hidewright.geometry.segment import Floats, Point, Segment, arc, line
from hidewright.geometry.shapes import circle
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_cut import Cut, IslandCut, cuts_of
from hidewright.workshop.forming_line import PAGE_MM
from hidewright.workshop.forming_maps import layer_name
from hidewright.workshop.forming_pull_in import arrow, straight

#: A section is drawn as large as fits on a page, at one of these scales.
SCALES = (5, 4, 3, 2, 1)
#: Room on a sheet that lies, mm: a section through a divider is long and low.
LYING_MM = 250.0
#: Its faces are refitted within this, mm at full size.
FACE_MM = 0.01
#: Plug walls shorter than this are left out, mm.
LEAST_LINE_MM = 0.02

#: What is written, where and how it lies to that place.
Words = tuple[str, Point, Literal["start", "middle", "end"]]

FACES = Line(name="leather, formed", weight_mm=0.5)
THROUGH = Line(name="through the leather", weight_mm=0.1)
PLUG = Line(name="plug and base", weight_mm=0.25)
#: Room that two lines of words need one over the other, mm on paper.
ROOM_MM = 6.0
#: Where the plug's height is told, as a share of it.
HEIGHT_TOLD = 0.3
FRAME = Line(name="frame", style="dashed", weight_mm=0.25)
BLOCK = Line(name="block of a divider, under the floor", style="dashed", weight_mm=0.25)
SIZE = Line(name="measures, mm", weight_mm=0.13, sample="arrow")
WORST = Line(name="worst place", weight_mm=0.35, sample="ring")


def plug_profile(tools: Tools, from_d: float, to_d: float) -> tuple[Segment, ...]:
    """Return the plug's face, top edge and wall, and the base it stands on, mm.

    The wall is the tangent from the plug's foot to the arc of its top edge.
    """
    r, (cx, cy) = tools.crown_radius_mm, crown_centre(tools)
    turn = math.asin(r / math.hypot(cx, cy)) + math.atan2(cy, -cx)
    top = arc((cx, cy), (cx, tools.depth_mm), -turn)
    parts = [line((from_d, tools.depth_mm), top.start), top]
    if math.dist(top.end, (0.0, 0.0)) > LEAST_LINE_MM:
        parts.append(line(top.end, (0.0, 0.0)))
    return (*parts, line(parts[-1].end, (to_d, 0.0)))


def pocket_side(island: IslandCut, far: bool) -> tuple[Segment, ...]:
    """Return a side of an island's pocket, from the plug's face round its edge to the base, mm."""
    edge = island.pocket[0 if far else 1]
    x, z = edge[-1].tolist()
    return (*_rounded(edge), line((x, z), (x, 0.0)))


def block_profile(island: IslandCut, top: float) -> tuple[Segment, ...]:
    """Return an island's block from its far side under a height, round below, to its near, mm."""
    far, near = island.block
    (left, low), (right, _) = far[-1].tolist(), near[-1].tolist()
    return (
        line((left, top), (left, low)),
        *_rounded(far[::-1]),
        line(_point(far[0]), _point(near[0])),
        *_rounded(near),
        line((right, low), (right, top)),
    )


def back(parts: tuple[Segment, ...]) -> tuple[Segment, ...]:
    """Return a way from its end to its start."""
    return tuple(one.backwards() for one in reversed(parts))


def plug_with_pocket(cut: Cut, left: float, right: float) -> tuple[Segment, ...]:
    """Return the plug's face, broken by a pocket where an island is cut, its edge and its wall."""
    if cut.island is None:
        return plug_profile(cut.tools, left, right)
    far, near = pocket_side(cut.island, True), back(pocket_side(cut.island, False))
    return (
        line((left, cut.tools.depth_mm), far[0].start),
        *far,
        line(far[-1].end, near[0].start),
        *near,
        *plug_profile(cut.tools, near[-1].end[0], right),
    )


def frame_profile(tools: Tools, to_d: float) -> tuple[Segment, ...]:
    """Return the frame's under face, its lip and its wall up to the plug's height, mm.

    The wall leans as the plug's does, the gap away from it.
    """
    cx, cy = lip_centre(tools)
    under = tools.thickness_mm
    lip = arc((cx, cy), (cx, under), tools.wall_angle - math.pi / 2.0)
    top = max(tools.depth_mm, cy + 1.0)
    end = lip.end[0] - (top - lip.end[1]) * math.tan(tools.wall_angle)
    return (line((to_d, under), lip.start), lip, line(lip.end, (end, top)))


def crown_centre(tools: Tools) -> Point:
    """Return the centre of the arc of the plug's top edge, mm."""
    return (tools.inner_mm, tools.depth_mm - tools.crown_radius_mm)


def lip_centre(tools: Tools) -> Point:
    """Return the centre of the arc of the frame's lip, mm."""
    return (tools.outer_mm, tools.thickness_mm + tools.lip_radius_mm)


def section_drawings(
    one: PressedBlank, layer: Layer, leather: Leather
) -> tuple[tuple[str, Drawing], ...]:
    """Return the sections by name, through the worst place first, measures told at full size."""
    cuts = cuts_of(layer, leather)
    names = ("section", *(f"section of {cut.place}" for cut in cuts[1:]))
    return tuple(
        (name, _drawing(f"{layer_name(one, layer)}: {name}", cut))
        for name, cut in zip(names, cuts, strict=True)
    )


def _drawing(name: str, cut: Cut) -> Drawing:
    left, right = float(cut.inner[0, 0]), cut.edge_mm + 3.0
    page = LYING_MM if cut.island else PAGE_MM
    scale = next((s for s in SCALES if (right - left) * s <= page), 1)
    tools = (
        (plug_with_pocket(cut, left, right), PLUG),
        (frame_profile(cut.tools, right), FRAME),
        *([(block_profile(cut.island, _top(cut)), BLOCK)] if cut.island else []),
    )
    through = [(_point(a), _point(b)) for a, b in zip(cut.inner, cut.outer, strict=True)]
    lines = [*through[::3], through[-1]]
    sizes = _sizes(cut, scale)
    return Drawing(
        title=f"{name}, {scale} to 1",
        strokes=(
            *(_face(face * scale, scale) for face in (cut.inner, cut.outer)),
            *(straight(_at(a, scale), _at(b, scale), THROUGH) for a, b in lines),
            *(
                Stroke(curve=Path(tuple(s.scaled(scale) for s in parts)), layer=kind)
                for parts, kind in tools
            ),
            Stroke(curve=circle(2.0, _point(cut.worst * scale)), layer=WORST),
            *sizes[0],
        ),
        texts=sizes[1],
    )


def told_of(cut: Cut) -> str:
    """Return what the ring of a section shows."""
    return f"most used of {cut.place} here" if cut.place else "worst place"


def _sizes(cut: Cut, scale: int) -> tuple[list[Stroke], tuple[Text, ...]]:
    """Return the lines and words of the measures."""
    tools = cut.tools
    left, top = float(cut.inner[0, 0]), _top(cut)
    crown, lip = crown_centre(tools), lip_centre(tools)
    diagonal = math.sqrt(0.5)
    on_crown = (
        crown[0] + diagonal * tools.crown_radius_mm,
        crown[1] + diagonal * tools.crown_radius_mm,
    )
    on_lip = (lip[0] - diagonal * tools.lip_radius_mm, lip[1] - diagonal * tools.lip_radius_mm)
    level = 0.5 * (crown[1] + lip[1])
    # on a low wall words stand over one another: the gap's over the lip's radius, what is thinnest
    # over both, the crown's radius below the plug where it would meet the plug's height
    raised = max(ROOM_MM - scale * (level - lip[1]), 0.0)
    crown_at = _at(crown, scale, (-1.0, -1.0))
    frame_y = 0.5 * scale * (level + tools.depth_mm) + 2.0
    thin = int(cut.thickness.argmin())
    upright, in_pocket = left, False
    thin_at = _at((tools.gap_mm, top), scale, (7.0, -4.0))
    if raised:
        thin_at = _at((tools.gap_mm, level), scale, (7.0, raised + 2.25))
        if crown_at[1] < scale * HEIGHT_TOLD * tools.depth_mm + 3.0:
            crown_at = (crown_at[0], -3.2)
        frame_y = max(frame_y, scale * (lip[1] - tools.lip_radius_mm) + 2.5)
    if cut.island:
        # beside the pocket, on the side of the wall
        upright = float(cut.island.pocket[1][0, 0]) + 13.0 / scale
        in_pocket = bool(cut.outer[thin, 0] < upright)
    if cut.island and in_pocket:
        low = tools.depth_mm - cut.island.tools.depth_mm
        thin_at = _at((_middle(cut.island), low), scale, (0.0, -6.0))
    strokes = [
        *arrow(_at(crown, scale), _at(on_crown, scale), SIZE),
        *arrow(_at(lip, scale), _at(on_lip, scale), SIZE),
        *arrow(_at((-4.0 / scale, level), scale), _at((0.0, level), scale), SIZE),
        *arrow(
            _at((tools.gap_mm + 4.0 / scale, level), scale), _at((tools.gap_mm, level), scale), SIZE
        ),
        *(
            mark
            for end in (0.0, tools.depth_mm)
            for mark in arrow(
                _at((upright, 0.5 * tools.depth_mm), scale), _at((upright, end), scale), SIZE
            )
        ),
        straight(
            _point(cut.worst * scale), _at((float(cut.worst[0]), top), scale, (0.0, 4.0)), SIZE
        ),
        straight(
            _point((cut.inner if in_pocket else cut.outer)[thin] * scale),
            (thin_at[0] - 1.0, thin_at[1] + 1.0),
            SIZE,
        ),
    ]
    words: list[Words] = [
        (f"R {tools.crown_radius_mm:.1f}", crown_at, "end"),
        (f"R {tools.lip_radius_mm:.1f}", _at(lip, scale, (1.0, 0.5)), "start"),
        (
            f"gap {tools.gap_mm:.2f}",
            _at((tools.gap_mm, level), scale, (8.0 if raised else 5.0, raised - 1.25)),
            "start",
        ),
        (
            f"plug {tools.depth_mm:.2f} high",
            _at((upright, HEIGHT_TOLD * tools.depth_mm), scale, (1.5, -1.25)),
            "start",
        ),
        (
            f"{told_of(cut)}: {100 * cut.share:.0f} % used",
            _at((float(cut.worst[0]), top), scale, (0.0, 5.0)),
            "middle",
        ),
        (
            f"thinnest {cut.thickness[thin]:.2f}",
            thin_at,
            "middle" if in_pocket else "start",
        ),
        (f"{cut.thickness[0]:.2f}", _point(cut.outer[0] * scale + (1.0, 1.5)), "start"),
        (
            f"{cut.thickness[-1]:.2f} at the edge",
            _point(cut.inner[-1] * scale + (0.0, -4.5)),
            "end",
        ),
        (
            "frame",
            (lip[0] * scale + (32.0 if raised else 4.0), frame_y),
            "start",
        ),
        (
            f"enlarged {scale} to 1; measures in mm, soaked",
            _at((left, 0.0), scale, (0.0, -8.0)),
            "start",
        ),
    ]
    if cut.island:
        on_island = _island_sizes(cut.island, top, scale)
        strokes += on_island[0]
        words += on_island[1]
    return strokes, tuple(
        Text(words=said, at=at, height_mm=2.5, anchor=anchor, layer=SIZE)
        for said, at, anchor in words
    )


def _middle(island: IslandCut) -> float:
    """Half way across a block, mm."""
    return 0.5 * float(island.block[0][-1, 0] + island.block[1][-1, 0])


def _island_sizes(island: IslandCut, top_mm: float, scale: int) -> tuple[list[Stroke], list[Words]]:
    """Return the lines and words of an island's radii and of its height.

    Args:
        island: The cut through it.
        top_mm: Up to where its block is drawn.
        scale: Of the drawing.
    """
    tools, (_, near) = island.tools, island.block
    turned = len(near) // 2
    foot, top = island.pocket[1], near
    foot_centre = (float(foot[0, 0]), float(foot[-1, 1]))
    top_centre = (float(top[0, 0]), float(top[-1, 1]))
    middle = _middle(island)
    strokes = [
        *arrow(_at(foot_centre, scale), _at(_point(foot[turned]), scale), SIZE),
        *arrow(_at(top_centre, scale), _at(_point(top[turned]), scale), SIZE),
    ]
    return strokes, [
        (f"R {tools.lip_radius_mm:.1f}", _at(foot_centre, scale, (1.0, -2.0)), "start"),
        (f"R {tools.crown_radius_mm:.1f}", _at(top_centre, scale, (-1.0, 0.5)), "end"),
        ("block", _at((float(near[-1, 0]), top_mm), scale, (1.5, 1.0)), "start"),
        (
            f"pressed back {tools.depth_mm:.2f}",
            _at((middle, 0.0), scale, (0.0, -4.0)),
            "middle",
        ),
    ]


def _top(cut: Cut) -> float:
    """Up to which height tools over the plug are drawn, mm."""
    return cut.tools.depth_mm + 1.5 * cut.tools.thickness_mm


def _rounded(points: Floats) -> list[Segment]:
    return list(points_to_segments(points, FACE_MM)[0])


def _face(points: Floats, scale: int) -> Stroke:
    segments, _ = points_to_segments(points, FACE_MM * scale)
    return Stroke(curve=Path(joined(segments)), layer=FACES)


def _at(point: Point, scale: int, off: Point = (0.0, 0.0)) -> Point:
    return (scale * point[0] + off[0], scale * point[1] + off[1])


def _point(at: Floats) -> Point:
    return (float(at[0]), float(at[1]))

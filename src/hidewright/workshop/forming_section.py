"""The section of a pressed sheet through its worst place, with plug, base and frame."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.drawing.drawing import Drawing, Stroke, Text
from hidewright.drawing.drawing import Layer as Line
from hidewright.forming.answers import thickness_at_points
from hidewright.forming.mesh import CAP, FLANGE
from hidewright.forming.pressing import Pressing
from hidewright.forming.profile import OnArcs, Rows, Tools, section
from hidewright.forming.solve import Pressed
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Path, joined
from hidewright.geometry.refit import points_to_segments
from hidewright.geometry.segment import Floats, Point, Segment, arc, line
from hidewright.geometry.shapes import circle
from hidewright.workshop.forming_chain import Layer, PressedBlank
from hidewright.workshop.forming_maps import (
    BOTTOM_MM,
    Worst,
    along_column,
    flange_mm,
    layer_name,
    worst_of,
)
from hidewright.workshop.forming_pull_in import arrow, straight

#: Steps in which a section is drawn; arcs turn a few degrees a step.
FINE = Rows(crown=24, wall=12, lip=24)
#: A section is drawn as large as fits on this width, mm, at one of these scales.
WIDTH_MM, SCALES = 180.0, (5, 4, 3, 2, 1)
#: Its faces are refitted within this, mm at full size.
FACE_MM = 0.01
#: Plug walls shorter than this are left out, mm.
LEAST_LINE_MM = 0.02

FACES = Line(name="leather, formed", weight_mm=0.5)
THROUGH = Line(name="through the leather", weight_mm=0.1)
PLUG = Line(name="plug and base", weight_mm=0.25)
#: Room that two lines of words need one over the other, mm on paper.
ROOM_MM = 5.0
FRAME = Line(name="frame", style="dashed", weight_mm=0.25)
SIZE = Line(name="measures, mm", weight_mm=0.13)
WORST = Line(name="worst place", weight_mm=0.35)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """The section of a pressed sheet through its worst place, at full size.

    Lengths d run outward of the plug's wall, heights z upward of the base that plug and flange
    stand on, mm.

    Attributes:
        tools: Radii, gap and depth.
        inner: (n, 2) the leather's face towards the plug, from the bottom to its edge.
        outer: (n, 2) its other face.
        thickness: (n,) between them.
        worst: (2,) the middle of the worst triangle, brought into the section.
        share: Of the limit, used there.
        edge_mm: How far outward the leather ends.
    """

    tools: Tools
    inner: Floats
    outer: Floats
    thickness: Floats
    worst: Floats
    share: float
    edge_mm: float


def cut_through_worst(layer: Layer, leather: Leather) -> Cut:
    """Return the section along the column through the triangle that uses most of its limit.

    Islands are not cut through: maps and remarks tell of them. The leather runs on the arcs of the
    solved section, its faces half the formed thickness to either side.
    """
    sheet, worst = layer.sheet, worst_of(layer, leather, on_islands=False)
    pressing = sheet.pressing
    assert isinstance(pressing, Pressing)
    hollow = pressing.hollows[worst.hollow]
    j, on = worst.column, sheet.warm.arcs[worst.hollow]
    one = OnArcs(
        crown_h=on.crown_h[j : j + 1],
        lip_h=on.lip_h[j : j + 1],
        crown_ease=on.crown_ease[j : j + 1],
    )
    band = sheet.layout.bands[worst.hollow]
    fine, solved = (section(hollow.tools, rows, one) for rows in (FINE, band.rows))
    at_points = thickness_at_points(sheet)
    edge_mm = flange_mm(sheet, worst.hollow, j)
    bottom = np.linspace(hollow.tools.inner_mm - BOTTOM_MM, float(fine.d[0, 0]), 6)[:-1]
    flange = np.linspace(float(fine.d[0, -1]), edge_mm, 12)[1:]
    on_arcs = np.interp(fine.share[0], solved.share[0], at_points[band.grid[j]])
    h_bottom = _thickness_in_plan(sheet, CAP, along_column(sheet, worst.hollow, j, bottom))
    h_flange = _thickness_in_plan(sheet, FLANGE, along_column(sheet, worst.hollow, j, flange))
    # the bottom keeps its face towards the plug level, the flange its face on the frame
    on_plug = fine.cap_z[0] - on_arcs[0] / 2.0
    on_frame = fine.flange_z[0] + on_arcs[-1] / 2.0
    middle = np.column_stack(
        [
            np.concatenate([bottom, fine.d[0], flange]),
            np.concatenate([on_plug + h_bottom / 2.0, fine.z[0], on_frame - h_flange / 2.0]),
        ]
    )
    # heights from the middle of an unthinned flange to the base under it
    middle[:, 1] += pressing.thickness_mm / 2.0
    up = np.array([[0.0, 1.0]])
    on_the_arcs = np.column_stack([fine.normal_d[0], fine.normal_z[0]])
    normal = np.concatenate(
        [up.repeat(len(bottom), axis=0), on_the_arcs, up.repeat(len(flange), axis=0)]
    )
    h = np.concatenate([h_bottom, on_arcs, h_flange])
    half = 0.5 * h[:, None] * normal
    return Cut(
        tools=hollow.tools,
        inner=middle - half,
        outer=middle + half,
        thickness=h,
        worst=_in_section(sheet, worst, middle),
        share=worst.share,
        edge_mm=edge_mm,
    )


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


def section_drawing(one: PressedBlank, layer: Layer, leather: Leather) -> Drawing:
    """Return the section through the worst place, enlarged, its measures told at full size."""
    cut = cut_through_worst(layer, leather)
    left, right = float(cut.inner[0, 0]), cut.edge_mm + 3.0
    scale = next((s for s in SCALES if (right - left) * s <= WIDTH_MM), 1)
    tools = (
        (plug_profile(cut.tools, left, right), PLUG),
        (frame_profile(cut.tools, right), FRAME),
    )
    through = [(_point(a), _point(b)) for a, b in zip(cut.inner, cut.outer, strict=True)]
    lines = [*through[::3], through[-1]]
    name = layer_name(one, layer)
    sizes = _sizes(cut, scale)
    return Drawing(
        title=f"{name}: section, {scale} to 1",
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


def _sizes(cut: Cut, scale: int) -> tuple[list[Stroke], tuple[Text, ...]]:
    """Return the lines and words of the measures."""
    tools = cut.tools
    left, top = float(cut.inner[0, 0]), tools.depth_mm + 1.5 * tools.thickness_mm
    crown, lip = crown_centre(tools), lip_centre(tools)
    diagonal = math.sqrt(0.5)
    on_crown = (
        crown[0] + diagonal * tools.crown_radius_mm,
        crown[1] + diagonal * tools.crown_radius_mm,
    )
    on_lip = (lip[0] - diagonal * tools.lip_radius_mm, lip[1] - diagonal * tools.lip_radius_mm)
    level = 0.5 * (crown[1] + lip[1])
    # on a low wall the lip's radius stands beside the words of the gap
    beside = 1.0 if scale * (level - lip[1]) >= ROOM_MM else 17.0
    thin = int(cut.thickness.argmin())
    strokes = [
        *arrow(_at(crown, scale), _at(on_crown, scale), SIZE),
        *arrow(_at(lip, scale), _at(on_lip, scale), SIZE),
        *arrow(_at((-4.0 / scale, level), scale), _at((0.0, level), scale), SIZE),
        *arrow(
            _at((tools.gap_mm + 4.0 / scale, level), scale), _at((tools.gap_mm, level), scale), SIZE
        ),
        *arrow(_at((left, 0.5 * tools.depth_mm), scale), _at((left, 0.0), scale), SIZE),
        *arrow(_at((left, 0.5 * tools.depth_mm), scale), _at((left, tools.depth_mm), scale), SIZE),
        straight(
            _point(cut.worst * scale), _at((float(cut.worst[0]), top), scale, (0.0, 4.0)), SIZE
        ),
        straight(
            _point(cut.outer[thin] * scale), _at((tools.gap_mm, top), scale, (6.0, -3.0)), SIZE
        ),
    ]
    words: list[tuple[str, Point, Literal["start", "middle", "end"]]] = [
        (f"R {tools.crown_radius_mm:.1f}", _at(crown, scale, (-1.0, -1.0)), "end"),
        (f"R {tools.lip_radius_mm:.1f}", _at(lip, scale, (beside, 0.5)), "start"),
        (f"gap {tools.gap_mm:.2f}", _at((tools.gap_mm, level), scale, (5.0, -1.25)), "start"),
        (
            f"plug {tools.depth_mm:.2f} high",
            _at((left, 0.5 * tools.depth_mm), scale, (1.5, -1.25)),
            "start",
        ),
        (
            f"worst place: {100 * cut.share:.0f} % used",
            _at((float(cut.worst[0]), top), scale, (0.0, 5.0)),
            "middle",
        ),
        (
            f"thinnest {cut.thickness[thin]:.2f}",
            _at((tools.gap_mm, top), scale, (7.0, -4.0)),
            "start",
        ),
        (f"{cut.thickness[0]:.2f}", _point(cut.outer[0] * scale + (1.0, 1.5)), "start"),
        (
            f"{cut.thickness[-1]:.2f} at the edge",
            _point(cut.inner[-1] * scale + (0.0, -4.5)),
            "end",
        ),
        ("frame", _at((lip[0], 0.5 * (level + tools.depth_mm)), scale, (4.0, 2.0)), "start"),
        (
            f"enlarged {scale} to 1; measures in mm, soaked",
            _at((left, 0.0), scale, (0.0, -8.0)),
            "start",
        ),
    ]
    return strokes, tuple(
        Text(words=said, at=at, height_mm=2.5, anchor=anchor, layer=SIZE)
        for said, at, anchor in words
    )


def _thickness_in_plan(sheet: Pressed, region: int, places: Floats) -> Floats:
    """(k,) formed thickness at places in plan on bottoms or on the flange, mm."""
    layout, h = sheet.layout, thickness_at_points(sheet)
    triangles = layout.triangles[layout.region == region]
    first, second, third = np.moveaxis(sheet.shape.points[triangles, :2], 1, 0)
    along, aside = second - first, third - first
    away = places[:, None, :] - first
    area = _cross(along, aside)
    shares = np.stack([_cross(away, aside) / area, _cross(along, away) / area], axis=-1)
    shares = np.concatenate([1.0 - shares.sum(axis=-1, keepdims=True), shares], axis=-1)
    # in the triangle round each place; beyond the edge, in the one that it is least far out of
    at = np.arange(len(places)), shares.min(axis=-1).argmax(axis=1)
    share = np.maximum(shares[at], 0.0)
    thick: Floats = (share / share.sum(axis=-1, keepdims=True) * h[triangles[at[1]]]).sum(axis=-1)
    return thick


def _cross(u: Floats, v: Floats) -> Floats:
    return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])


def _in_section(sheet: Pressed, worst: Worst, middle: Floats) -> Floats:
    """(2,) the point of the section's middle line nearest to the worst triangle."""
    pressing = sheet.pressing
    assert isinstance(pressing, Pressing)
    x, y, z = sheet.shape.points[sheet.layout.triangles[worst.triangle]].mean(axis=0).tolist()
    outline = pressing.hollows[worst.hollow].outline
    d = -float(signed_distances(outline, np.array([[x, y]]))[0])
    away = np.linalg.norm(middle - (d, z + pressing.thickness_mm / 2.0), axis=1)
    point: Floats = middle[away.argmin()]
    return point


def _face(points: Floats, scale: int) -> Stroke:
    segments, _ = points_to_segments(points, FACE_MM * scale)
    return Stroke(curve=Path(joined(segments)), layer=FACES)


def _at(point: Point, scale: int, off: Point = (0.0, 0.0)) -> Point:
    return (scale * point[0] + off[0], scale * point[1] + off[1])


def _point(at: Floats) -> Point:
    return (float(at[0]), float(at[1]))

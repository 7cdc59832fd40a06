"""A pressed sheet cut through its worst place: both faces of the leather, islands on the way."""

from dataclasses import dataclass

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.forming.answers import thickness_at_points
from hidewright.forming.mesh import CAP, FLANGE, eased, fitting, sampled
from hidewright.forming.pressing import Pressing
from hidewright.forming.profile import OnArcs, Rows, Section, Tools, section
from hidewright.forming.solved import Pressed
from hidewright.geometry.segment import Floats, cross
from hidewright.workshop.forming_chain import Layer
from hidewright.workshop.forming_line import (
    Crossing,
    Worst,
    along_column,
    bottom_mm,
    column_at,
    crossing_of,
    flange_mm,
    section_places,
)

#: Steps in which a section is drawn; arcs turn a few degrees a step.
FINE = Rows(crown=24, wall=12, lip=24)
#: Steps in which the rounded edges of pocket and block are drawn.
ROUND = 16


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class IslandCut:
    """The tools of an island in a section; sides are (far, near) of the zone's wall.

    Attributes:
        tools: Radii, gap and height of the island.
        pocket: (n, 2) each, from the plug's face round its edge and down to the base.
        block: (n, 2) each, from the block's lower face round its edge and up the side.
    """

    tools: Tools
    pocket: tuple[Floats, Floats]
    block: tuple[Floats, Floats]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """The section of a pressed sheet through a worst place, at full size.

    Lengths d run outward of the plug's wall, heights z upward of the base that plug and flange
    stand on, mm.

    Attributes:
        tools: Radii, gap and depth.
        inner: (n, 2) the leather's face towards the plug, from the bottom to its edge.
        outer: (n, 2) its other face.
        thickness: (n,) between them; the faces of an island's wall that is not met quite at a
            right angle are drawn a little further apart.
        place: Name of the island that the worst place is on; empty off islands.
        worst: (2,) the middle of the worst triangle, brought into the section.
        share: Of the limit, used there.
        edge_mm: How far outward the leather ends.
        island: The island that is cut through, if any.
    """

    tools: Tools
    inner: Floats
    outer: Floats
    thickness: Floats
    place: str
    worst: Floats
    share: float
    edge_mm: float
    island: IslandCut | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stretch:
    """A stretch of the section: its middle, what lies to half a thickness over it, thickness."""

    middle: Floats
    normal: Floats
    thickness: Floats


def cuts_of(layer: Layer, leather: Leather) -> tuple[Cut, ...]:
    """Return the section through the worst place, and one through an island if that has none."""
    return tuple(_cut(layer.sheet, worst) for worst in section_places(layer, leather))


def _cut(sheet: Pressed, worst: Worst) -> Cut:
    """The section along the column through a worst triangle.

    Where the column, run on over the bottom, crosses an island, the section goes through that too.
    The leather runs on the arcs of the solved section, its faces half the formed thickness to
    either side.
    """
    pressing = sheet.pressing
    assert isinstance(pressing, Pressing)
    tools = pressing.hollows[worst.hollow].tools
    edge_mm = flange_mm(sheet, worst.hollow, worst.column)
    met = crossing_of(sheet, worst.hollow, worst.column)
    wall = _wall(sheet, worst)
    inner_mm, outer_mm = float(wall.middle[0, 0]), float(wall.middle[-1, 0])
    flange = _flat(sheet, worst, wall, FLANGE, np.linspace(outer_mm, edge_mm, 12)[1:])
    stretches = [wall, flange]
    if met is None:
        end = min(bottom_mm(sheet, worst.hollow, worst.column), inner_mm)
        stretches.insert(0, _flat(sheet, worst, wall, CAP, np.linspace(end, inner_mm, 6)[:-1]))
    else:
        far, near = (_foot(sheet, wall, met, side) for side in (0, 1))
        far_foot, near_foot = float(far.middle[0, 0]), float(near.middle[-1, 0])
        top = np.linspace(float(far.middle[-1, 0]), float(near.middle[0, 0]), 6)[1:-1]
        stretches = [
            _flat(sheet, worst, wall, CAP, np.linspace(met.until_mm, far_foot, 6)[:-1]),
            far,
            _top(sheet, worst, near, top),
            near,
            _flat(sheet, worst, wall, CAP, np.linspace(near_foot, inner_mm, 12)[1:-1]),
            *stretches,
        ]
    middle = np.concatenate([one.middle for one in stretches])
    half = 0.5 * np.concatenate([one.thickness[:, None] * one.normal for one in stretches])
    return Cut(
        tools=tools,
        inner=middle - half,
        outer=middle + half,
        thickness=np.concatenate([one.thickness for one in stretches]),
        place=_name_of(pressing, int(sheet.layout.hollow[worst.triangle])),
        worst=_in_section(sheet, worst, middle),
        share=worst.share,
        edge_mm=edge_mm,
        island=None if met is None else _island(pressing, worst.hollow, met),
    )


def _name_of(form: Pressing, hollow: int) -> str:
    on = form.hollows[hollow] if hollow >= 0 else None
    return on.name.removeprefix(f"{on.within}/") if on is not None and on.within else ""


def _wall(sheet: Pressed, worst: Worst) -> _Stretch:
    """The arcs and the wall of the zone, along its column."""
    form = sheet.pressing
    assert isinstance(form, Pressing)
    fine, h = _column(sheet, worst.hollow, worst.column, form.hollows[worst.hollow].tools)
    # heights from the middle of an unthinned flange to the base under it
    middle = np.column_stack([fine.d[0], fine.z[0] + form.thickness_mm / 2.0])
    return _Stretch(
        middle=middle,
        normal=np.column_stack([fine.normal_d[0], fine.normal_z[0]]),
        thickness=h,
    )


def _foot(sheet: Pressed, wall: _Stretch, met: Crossing, side: int) -> _Stretch:
    """The arcs and the wall of an island on its far (0) or near side (1), towards the wall."""
    form, k = sheet.pressing, met.island
    assert isinstance(form, Pressing)
    outline = form.hollows[k].outline
    j = column_at(sheet, met, met.sides(outline, 0.0)[side])
    out = sampled(outline, sheet.layout.bands[k].counts)[1]
    fine, h = _column(sheet, k, j, fitting(form.hollows[k]))
    across = np.array([met.sides(outline, float(d))[side] for d in fine.d[0]])
    # its foot keeps its face on the plug, as the bottom round it does
    level = wall.middle[0, 1] - wall.thickness[0] / 2.0 + form.thickness_mm / 2.0
    normal = np.column_stack([-fine.normal_d[0] * (out[j] @ met.ahead), fine.normal_z[0]])
    towards = slice(None, None, 1 if side else -1)
    return _Stretch(
        middle=np.column_stack([across, level - fine.z[0]])[towards],
        normal=(normal / (normal**2).sum(axis=1)[:, None])[towards],
        thickness=h[towards],
    )


def _column(sheet: Pressed, k: int, j: int, tools: Tools) -> tuple[Section, Floats]:
    """A column of a hollow's band in fine steps, and the thickness there."""
    form, band = sheet.pressing, sheet.layout.bands[k]
    assert isinstance(form, Pressing)
    on = eased(form, k, band, sheet.warm.arcs[k])
    one = OnArcs(
        crown_h=on.crown_h[j : j + 1],
        lip_h=on.lip_h[j : j + 1],
        crown_ease=on.crown_ease[j : j + 1],
    )
    fine, solved = (section(tools, rows, one) for rows in (FINE, band.rows))
    at_points = thickness_at_points(sheet)[band.grid[j]]
    return fine, np.interp(fine.share[0], solved.share[0], at_points)


def _flat(sheet: Pressed, worst: Worst, wall: _Stretch, region: int, d: Floats) -> _Stretch:
    """The bottom, which keeps its face towards the plug level, or the flange its on the frame."""
    end, way = (0, 1.0) if region == CAP else (-1, -1.0)
    face = wall.middle[end, 1] - way * wall.thickness[end] / 2.0
    return _level(sheet, worst, region, d, float(face), way)


def _top(sheet: Pressed, worst: Worst, near: _Stretch, d: Floats) -> _Stretch:
    """The top of an island, which keeps its face towards the block level."""
    face = near.middle[0, 1] + near.thickness[0] / 2.0
    return _level(sheet, worst, CAP, d, float(face), -1.0)


def _level(
    sheet: Pressed, worst: Worst, region: int, d: Floats, face_mm: float, way: float
) -> _Stretch:
    """Level leather, its middle half its thickness over (1) or under (-1) the face that is flat."""
    places = along_column(sheet, worst.hollow, worst.column, d)
    h = _thickness_in_plan(sheet, region, places)
    return _Stretch(
        middle=np.column_stack([d, face_mm + way * h / 2.0]),
        normal=np.array([[0.0, 1.0]]).repeat(len(d), axis=0),
        thickness=h,
    )


def _island(form: Pressing, zone: int, met: Crossing) -> IslandCut:
    """The rounded edges of pocket and block where a section crosses them."""
    one, plug = form.hollows[met.island], form.hollows[zone].tools.depth_mm
    tools = one.tools
    turn = np.linspace(0.0, np.pi / 2.0, ROUND)
    sin, cos = 1.0 - np.sin(turn), 1.0 - np.cos(turn)
    foot, top = tools.lip_radius_mm, tools.crown_radius_mm
    low = plug + tools.gap_mm - tools.depth_mm

    def sides(off: Floats, z: Floats) -> tuple[Floats, Floats]:
        met_at = np.array([met.sides(one.outline, float(o)) for o in off])
        return np.column_stack([met_at[:, 0], z]), np.column_stack([met_at[:, 1], z])

    return IslandCut(
        tools=tools,
        pocket=sides(tools.gap_mm + foot * sin, plug - foot * cos),
        block=sides(-top * sin, low + top * cos),
    )


def _thickness_in_plan(sheet: Pressed, region: int, places: Floats) -> Floats:
    """(k,) formed thickness at places in plan on bottoms or on the flange, mm."""
    layout, h = sheet.layout, thickness_at_points(sheet)
    triangles = layout.triangles[layout.region == region]
    first, second, third = np.moveaxis(sheet.shape.points[triangles, :2], 1, 0)
    along, aside = second - first, third - first
    away = places[:, None, :] - first
    area = cross(along, aside)
    shares = np.stack([cross(away, aside) / area, cross(along, away) / area], axis=-1)
    shares = np.concatenate([1.0 - shares.sum(axis=-1, keepdims=True), shares], axis=-1)
    # in the triangle round each place; beyond the edge, in the one that it is least far out of
    at = np.arange(len(places)), shares.min(axis=-1).argmax(axis=1)
    share = np.maximum(shares[at], 0.0)
    thick: Floats = (share / share.sum(axis=-1, keepdims=True) * h[triangles[at[1]]]).sum(axis=-1)
    return thick


def _in_section(sheet: Pressed, worst: Worst, middle: Floats) -> Floats:
    """(2,) the point of the section's middle line nearest to the worst triangle."""
    *place, z = sheet.shape.points[sheet.layout.triangles[worst.triangle]].mean(axis=0).tolist()
    start, ahead = along_column(sheet, worst.hollow, worst.column, np.array([0.0, 1.0]))
    d = float((np.array(place) - start) @ (ahead - start))
    away = np.linalg.norm(middle - (d, z + sheet.pressing.thickness_mm / 2.0), axis=1)
    point: Floats = middle[away.argmin()]
    return point

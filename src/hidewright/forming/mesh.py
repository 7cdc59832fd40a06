"""Triangles over the formed sheet: structured rows round each edge, free points elsewhere.

The mesh lies in a plan in which the band of an upright wall has width, so that the same triangles
serve flat and formed. A ``Layout`` is the part that stays while measures are dragged: which points
there are and how they are joined. ``shape`` puts the points of a layout on the formed surface.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from hidewright.forming.darts import Cut, between, rim_of
from hidewright.forming.pattern import Harmonic, Pattern
from hidewright.forming.pressing import GivenSurface, Hollow, Pressing
from hidewright.forming.profile import OnArcs, Rows, Section, Tools, section
from hidewright.geometry.distance import nearest_on_ring
from hidewright.geometry.once import kept
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Bools, Floats

Ints = npt.NDArray[np.int64]

CAP, CROWN, WALL, LIP, FLANGE = range(5)
#: Inner rings keep at least this radius, mm, so that no triangle shrinks to nothing.
LEAST_RING_MM = 0.5
#: The crown's ease rises along its ring at most by this much a mm.
EASE_SLOPE = 0.3
#: It takes at most this share of the flat leather between it and an island, whose outline is taken
#: within this, mm.
EASE_TO_ISLAND, FOOT_MM = 0.5, 0.05


class Band(NamedTuple):
    """Where a hollow's edge is among the points: column j, row k is ``first + j * stations + k``.

    Attributes:
        first: Number of the first point.
        counts: Columns on each segment of the outline.
        rows: Steps across the edge.
    """

    first: int
    counts: tuple[int, ...]
    rows: Rows

    @property
    def columns(self) -> int:
        """Columns all round."""
        return sum(self.counts)

    @property
    def grid(self) -> Ints:
        """(columns, stations) point numbers."""
        n = self.columns * self.rows.stations
        return np.arange(self.first, self.first + n).reshape(self.columns, self.rows.stations)


@dataclass(frozen=True, kw_only=True, eq=False)
class Layout:
    """Points and triangles, without their places.

    Attributes:
        bands: One for each hollow.
        edge_counts: Points on each segment of the leather's edge, or of the hollow's outline when
            the edge runs parallel to that.
        edge: Point numbers along the leather's edge, counter-clockwise.
        flange: (columns, rows) point numbers of rows on the flange, from the lip's end to the edge;
            no columns when the flange is meshed freely.
        free_first: Number of the first point that is in no row.
        free_triangles: So many of the triangles, the first ones, are in no row.
        triangles: (m, 3) point numbers, counter-clockwise.
        region: (m,) CAP, CROWN, WALL, LIP or FLANGE.
        hollow: (m,) number of the hollow a triangle belongs to, -1 on the flange.
        column: (m,) column of the band a triangle lies in, -1 elsewhere.
        plan: (n, 2) places when it was made, mm.
        held: (n,) points that are clamped.
        cuts: One for each dart.
        shapes: What the outlines looked like: it serves only others of the same make.
    """

    bands: tuple[Band, ...]
    edge_counts: tuple[int, ...]
    edge: Ints
    flange: Ints
    free_first: int
    free_triangles: int
    triangles: Ints
    region: Ints
    hollow: Ints
    column: Ints
    plan: Floats
    held: Bools
    cuts: tuple[Cut, ...] = ()
    shapes: tuple[str, ...] = field(default=())

    @cached_property
    def pattern(self) -> Pattern:
        """Where triangles enter the matrix."""
        return Pattern.of(self.triangles, self.held)

    @cached_property
    def inner(self) -> Harmonic:
        """Carries what happens on the rows over to the free points."""
        return Harmonic.of(self.triangles[: self.free_triangles], self.plan, self.free_first)

    @cached_property
    def rim(self) -> Ints:
        """Point numbers along the leather's edge and into its darts, counter-clockwise."""
        return rim_of(self.edge, self.cuts)

    @cached_property
    def edge_triangles(self) -> tuple[Ints, Ints, Ints]:
        """(triangle, first point, second point) of each side that lies on the leather's edge."""
        ring = self.rim
        following = dict(zip(ring.tolist(), np.roll(ring, -1).tolist(), strict=True))
        found = []
        near = np.flatnonzero(np.isin(self.triangles, ring).sum(axis=1) >= 2)
        for t in near.tolist():
            corners = self.triangles[t].tolist()
            for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
                if following.get(a) == b:
                    found.append((t, a, b))
        table = np.array(found, dtype=np.int64)
        return table[:, 0], table[:, 1], table[:, 2]


class Shape(NamedTuple):
    """Points of a layout on the formed surface.

    Attributes:
        points: (n, 3) middle of the sheet, mm.
        plan: (n, 2) places in the plan of the mesh, mm.
        normals: (n, 3) unit, to the grain side.
        sections: One for each hollow.
        along: For each hollow (columns, 2) unit normals of its outline.
    """

    points: Floats
    plan: Floats
    normals: Floats
    sections: tuple[Section, ...]
    along: tuple[Floats, ...]


def fits(layout: Layout, pressing: Pressing | GivenSurface) -> bool:
    """Return whether a layout can be put on a pressing: same outlines but for their measures."""
    if isinstance(pressing, GivenSurface):
        return np.array_equal(layout.triangles, pressing.triangles)
    return layout.shapes == makes(pressing)


def shape(
    layout: Layout,
    pressing: Pressing | GivenSurface,
    edge: Floats,
    arcs: Sequence[OnArcs],
) -> Shape:
    """Return a layout's points on the formed surface.

    Args:
        layout: From ``meshed``, for this pressing or one of the same make.
        pressing: What is pressed.
        edge: (k, 2) where the points of the leather's edge lie, mm.
        arcs: The sheet on the arcs of each hollow.
    """
    if isinstance(pressing, GivenSurface):
        normals = _corner_normals(pressing.points, pressing.triangles)
        return Shape(pressing.points, layout.plan, normals, (), ())
    n = len(layout.plan)
    points, normals, plan = np.zeros((n, 3)), np.zeros((n, 3)), np.zeros((n, 2))
    normals[:, 2] = 1.0
    sections: list[Section] = []
    outward: list[Floats] = []
    levels: list[float] = []
    signs: list[float] = []
    for k, (hollow, band, on) in enumerate(zip(pressing.hollows, layout.bands, arcs, strict=True)):
        at, n2 = sampled(hollow.outline, band.counts)
        cut = section(fitting(hollow), band.rows, eased(pressing, k, band, on))
        parent = pressing.parent(hollow)
        up = 1.0 if parent is None else -signs[parent]
        base = 0.0 if parent is None else levels[parent]
        grid = band.grid
        inner = cut.d[:, :1]
        lerp = inner + (hollow.tools.outer_mm - inner) * cut.share
        points[grid, :2] = at[:, None, :] + n2[:, None, :] * cut.d[:, :, None]
        points[grid, 2] = base + up * cut.z
        normals[grid, :2] = up * n2[:, None, :] * cut.normal_d[:, :, None]
        normals[grid, 2] = cut.normal_z
        plan[grid] = at[:, None, :] + n2[:, None, :] * lerp[:, :, None]
        sections.append(cut)
        outward.append(n2)
        levels.append(base + up * float(cut.cap_z.mean()))
        signs.append(up)
    if layout.flange.size:
        lip = layout.flange[:, :1]
        f = np.linspace(0.0, 1.0, layout.flange.shape[1])[None, :, None]
        plan[layout.flange] = plan[lip] * (1.0 - f) + edge[:, None, :] * f
        points[layout.flange, :2] = points[lip, :2] * (1.0 - f) + edge[:, None, :] * f
        points[layout.flange, 2] = points[lip, 2]
    else:
        plan[layout.edge] = edge
        for sides, dart in zip(layout.cuts, pressing.darts, strict=True):
            plan[sides.before] = between(plan[sides.before[0]], dart.tip, sides)
            plan[sides.after] = plan[sides.before]
        points[layout.rim, :2] = plan[layout.rim]
        points[layout.rim, 2] = np.mean([c.flange_z.mean() for c in sections])
    rows = slice(0, layout.free_first)
    moved = np.column_stack([plan[rows] - layout.plan[rows], points[rows, 2]])
    free = layout.inner.spread(moved)
    plan[layout.free_first :] = layout.plan[layout.free_first :] + free[:, :2]
    points[layout.free_first :, :2] = plan[layout.free_first :]
    points[layout.free_first :, 2] = free[:, 2]
    return Shape(points, plan, normals, tuple(sections), tuple(outward))


def meridians(layout: Layout, shape: Shape, own: Ints) -> Floats:
    """Return (len, 3) unit directions across the edge, outward, of triangles ``own`` of bands."""
    a, b, c = layout.triangles[own].T
    normal = shape.normals[a] + shape.normals[b] + shape.normals[c]
    outward = np.zeros((len(own), 3))
    for k, along in enumerate(shape.along):
        mine = layout.hollow[own] == k
        j = layout.column[own[mine]]
        outward[mine, :2] = along[j] + np.roll(along, -1, axis=0)[j]
    square = (normal**2).sum(axis=1)[:, None]
    across = outward - (outward * normal).sum(axis=1)[:, None] * normal / square
    unit: Floats = across / np.linalg.norm(across, axis=1)[:, None]
    return unit


def edge_of(layout: Layout, pressing: Pressing | GivenSurface) -> Floats:
    """Return (k, 2) where the points of the leather's edge lie by the pressing's measures, mm."""
    if isinstance(pressing, GivenSurface):
        return np.array(layout.plan[layout.edge])
    if isinstance(pressing.edge, Outline):
        return sampled(pressing.edge, layout.edge_counts)[0]
    at, out = sampled(pressing.hollows[0].outline, layout.edge_counts)
    return at + out * pressing.edge


def sampled(outline: Outline, counts: Sequence[int]) -> tuple[Floats, Floats]:
    """Return ((n, 2) points, (n, 2) outward unit normals) evenly along each segment."""
    return kept(outline, ("sampled", tuple(counts)), lambda: _sampled(outline, counts))


def _sampled(outline: Outline, counts: Sequence[int]) -> tuple[Floats, Floats]:
    points, normals = [], []
    for seg, count in zip(outline.segments, counts, strict=True):
        f = np.arange(count) / count
        (x0, y0), (x1, y1) = seg.start, seg.end
        lean = np.arctan2(y1 - y0, x1 - x0) + seg.sweep * (f - 0.5)
        normals.append(np.column_stack([np.sin(lean), -np.cos(lean)]))
        if seg.is_arc:
            (cx, cy), out = seg.centre, np.sign(seg.curvature)
            points.append(np.array([cx, cy]) + normals[-1] * (out * seg.radius))
        else:
            points.append(np.column_stack([x0 + (x1 - x0) * f, y0 + (y1 - y0) * f]))
    found = np.concatenate(points), np.concatenate(normals)
    for one in found:
        one.setflags(write=False)  # all who ask are given the same
    return found


def _corner_normals(points: Floats, triangles: Ints) -> Floats:
    """(n, 3) unit normals at points: of the triangles round them, by their area."""
    p = points[triangles]
    face = np.cross(p[:, 1] - p[:, 0], p[:, 2] - p[:, 0])
    total = np.stack(
        [
            np.bincount(triangles.ravel(), weights=np.repeat(face[:, i], 3), minlength=len(points))
            for i in range(3)
        ],
        axis=1,
    )
    unit: Floats = total / np.linalg.norm(total, axis=1)[:, None]
    return unit


def makes(pressing: Pressing) -> tuple[str, ...]:
    """Return what outlines, edge and holding look like but for their measures."""

    def of(outline: Outline) -> str:
        return ",".join(
            f"{'line' if not s.is_arc else 'left' if s.curvature > 0 else 'right'}:{s.span}"
            for s in outline.segments
        )

    darts = [pressing.dart_segment(dart) for dart in pressing.darts]
    holds = f"{pressing.hold};{pressing.holds};{darts}"
    hollows = (f"{one.name}<{one.within}>{of(one.outline)}" for one in pressing.hollows)
    edge = of(pressing.edge) if isinstance(pressing.edge, Outline) else _parallel_make(pressing)
    return (holds, edge, *hollows)


def _parallel_make(pressing: Pressing) -> str:
    return "parallel" if flange_mm(pressing) > 0 else "at the lip"


def flange_mm(pressing: Pressing) -> float:
    """Width of a flange that runs parallel to the hollow; next to nothing counts as nothing."""
    assert not isinstance(pressing.edge, Outline)
    wide = pressing.edge - pressing.hollows[0].tools.outer_mm
    return wide if wide > 1e-6 else 0.0


def fitting(hollow: Hollow) -> Tools:
    """The tools with a crown radius that leaves every outer corner a ring of triangles."""
    tools = hollow.tools
    most = max(_tightest_mm(hollow.outline) - tools.lean_mm - LEAST_RING_MM, LEAST_RING_MM)
    return replace(tools, crown_radius_mm=min(tools.crown_radius_mm, most))


def _tightest_mm(outline: Outline) -> float:
    """The least radius of the outer corners, mm; infinite when there are none."""
    return min((s.radius for s in outline.segments if s.curvature > 0), default=np.inf)


def eased(pressing: Pressing, k: int, band: Band, on: OnArcs) -> OnArcs:
    """Return the sheet on a hollow's arcs, no wider round the crown than there is room for.

    Its corners and the islands in it limit the ease. Along the ring where the crown arc begins it
    may rise by ``EASE_SLOPE`` at most, so that small triangles are not torn between one column and
    the next.

    Args:
        pressing: What is pressed.
        k: Number of the hollow.
        band: Its edge among the points.
        on: As solved, not limited.
    """
    hollow = pressing.hollows[k]
    inner = fitting(hollow).inner_mm
    at, out = sampled(hollow.outline, band.counts)
    ring = at + out * inner
    corners = [s.radius if s.curvature > 0 else np.inf for s in hollow.outline.segments]
    room = np.maximum(np.repeat(corners, band.counts) + inner - LEAST_RING_MM, 0.0)
    for one in pressing.hollows:
        if one.within == hollow.name:
            # the floor that its block hangs from holds the bottom down
            room = np.minimum(room, max(hollow.tools.gap_mm - hollow.tools.thickness_mm, 0.0))
            foot = nearest_on_ring(one.outline.flat_points(FOOT_MM), ring)
            flat = np.linalg.norm(foot - ring, axis=1) - one.tools.outer_mm
            room = np.minimum(room, np.maximum(EASE_TO_ISLAND * flat, 0.0))
    ease = np.clip(on.crown_ease, 0.0, room)
    rise = EASE_SLOPE * np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    return replace(
        on, crown_ease=_sloping(_sloping(ease, rise)[::-1], np.roll(rise, 1)[::-1])[::-1]
    )


def _sloping(values: Floats, rise: Floats) -> Floats:
    """Values round a ring, lowered until each is no higher than the one before it and its rise."""
    over = np.tile(values, 2) - np.concatenate([[0.0], np.cumsum(np.tile(rise, 2))[:-1]])
    lowest = np.minimum.accumulate(over) + (np.tile(values, 2) - over)
    sloped: Floats = lowest[len(values) :]
    return sloped

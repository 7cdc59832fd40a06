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
from scipy.spatial import Delaunay, cKDTree

from hidewright.errors import RequestError
from hidewright.forming.darts import Cut, between, cuts_of, parted, rim_of
from hidewright.forming.pattern import Harmonic, Pattern
from hidewright.forming.pressing import GivenSurface, Hollow, Pressing, radii_allow
from hidewright.forming.profile import OnArcs, Rows, Section, Tools, section
from hidewright.geometry.distance import inside_ring
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

CAP, CROWN, WALL, LIP, FLANGE = range(5)
#: Free points stay this share of the mesh size away from the rows.
CLEAR = 0.62
#: A corner is divided at least every so many radians: 15 degrees.
ARC_STEP = np.radians(15.0)
#: Inner rings keep at least this radius, mm, so that no triangle shrinks to nothing.
LEAST_RING_MM = 0.5
#: The crown's ease rises along its ring at most by this much a mm.
EASE_SLOPE = 0.3
#: Sizes tried before a plan is called unmeshable.
TRIES = 4


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
    return layout.shapes == _makes(pressing)


def meshed(pressing: Pressing | GivenSurface, size_mm: float) -> Layout:
    """Return a mesh for a pressing.

    Args:
        pressing: What is pressed.
        size_mm: Side of a triangle, mm.

    Raises:
        RequestError: When a radius is too small, or hollows and edge come too near one another.
    """
    if not (np.isfinite(size_mm) and size_mm > 0):
        raise RequestError(f"mesh size of {size_mm:g} mm", because="it must be greater than 0")
    if isinstance(pressing, GivenSurface):
        return _given(pressing)
    for hollow in pressing.hollows:
        radii_allow(hollow)
    whole = pressing.edge if isinstance(pressing.edge, Outline) else pressing.hollows[0].outline
    reach = np.ptp(whole.flat_points(1.0), axis=0)
    if np.prod(reach) / size_mm**2 > 400_000:
        raise RequestError(
            f"mesh size of {size_mm:g} mm",
            because=f"it makes far too many triangles over {reach[0]:.0f} x {reach[1]:.0f} mm",
        )
    size = size_mm
    for _ in range(TRIES):
        layout = _attempt(pressing, size)
        if layout is not None:
            return layout
        size *= 0.7
    raise RequestError(
        "the leather cannot be divided into triangles",
        because="hollows, or a hollow and the leather's edge, come too near one another",
        mend="Set them further apart, or give smaller lip radii",
    )


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
    for hollow, band, on in zip(pressing.hollows, layout.bands, arcs, strict=True):
        at, n2 = sampled(hollow.outline, band.counts)
        tools = _fitting(hollow)
        ring = at + n2 * tools.inner_mm
        cut = section(tools, band.rows, _eased(on, hollow, band.counts, ring))
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
    return np.concatenate(points), np.concatenate(normals)


def _given(surface: GivenSurface) -> Layout:
    """Return the layout of a given surface: no rows, its edge the sides that one triangle has."""
    tri = surface.triangles
    sides = tri[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2).tolist()
    every = {(a, b) for a, b in sides}
    following = {a: b for a, b in sides if (b, a) not in every}
    ring = [min(following, default=0)]
    while following and following[ring[-1]] != ring[0] and len(ring) <= len(following):
        ring.append(following[ring[-1]])
    if len(ring) != len(following) or len(every) != len(sides):
        raise RequestError(
            "the surface's triangles do not make one sheet with one edge",
            mend="Join them along whole sides, without holes and without loose parts",
        )
    n, m = len(surface.points), len(tri)
    edge = np.array(ring)
    held = np.zeros(n, dtype=bool)
    held[edge] = surface.hold == "clamped"
    none = np.full(m, -1)
    return Layout(
        bands=(),
        edge_counts=(len(edge),),
        edge=edge,
        flange=np.zeros((0, 0), dtype=np.int64),
        free_first=n,
        free_triangles=0,
        triangles=tri,
        region=np.full(m, FLANGE),
        hollow=none,
        column=none,
        plan=np.array(surface.points[:, :2]),
        held=held,
    )


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


def _makes(pressing: Pressing) -> tuple[str, ...]:
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
    return "parallel" if _flange_mm(pressing) > 0 else "at the lip"


def _flange_mm(pressing: Pressing) -> float:
    """Width of a flange that runs parallel to the hollow; next to nothing counts as nothing."""
    assert not isinstance(pressing.edge, Outline)
    wide = pressing.edge - pressing.hollows[0].tools.outer_mm
    return wide if wide > 1e-6 else 0.0


def _fitting(hollow: Hollow) -> Tools:
    """The tools with a crown radius that leaves every outer corner a ring of triangles."""
    tools = hollow.tools
    most = max(_tightest_mm(hollow.outline) - tools.lean_mm - LEAST_RING_MM, LEAST_RING_MM)
    return replace(tools, crown_radius_mm=min(tools.crown_radius_mm, most))


def _tightest_mm(outline: Outline) -> float:
    """The least radius of the outer corners, mm; infinite when there are none."""
    return min((s.radius for s in outline.segments if s.curvature > 0), default=np.inf)


def _eased(on: OnArcs, hollow: Hollow, counts: Sequence[int], ring: Floats) -> OnArcs:
    """The sheet on the arcs, no wider round the crown than its corners have room for.

    ``ring`` is where the crown arc begins; along it the ease may rise by ``EASE_SLOPE`` at most, so
    that small triangles are not torn between one column and the next.
    """
    corners = [s.radius if s.curvature > 0 else np.inf for s in hollow.outline.segments]
    inner = _fitting(hollow).inner_mm
    room = np.maximum(np.repeat(corners, counts) + inner - LEAST_RING_MM, 0.0)
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


def _attempt(pressing: Pressing, size: float) -> Layout | None:
    bands: list[Band] = []
    rings: list[tuple[Floats, Floats]] = []
    plan: list[Floats] = []
    first = 0
    for hollow in pressing.hollows:
        tools = _fitting(hollow)
        full = OnArcs.even(tools.thickness_mm, 1)
        rows = _rows(section(tools, Rows(crown=4, wall=4, lip=4), full), size)
        cut = section(tools, rows, full)
        inner = tools.inner_mm
        counts = tuple(
            _count(s.length + max(s.sweep, 0.0) * tools.outer_mm * 0.5, s.sweep, size)
            for s in hollow.outline.segments
        )
        at, n2 = sampled(hollow.outline, counts)
        lerp = inner + (tools.outer_mm - inner) * cut.share
        band = at[:, None, :] + n2[:, None, :] * lerp[:, :, None]
        bands.append(Band(first, counts, rows))
        rings.append((band[:, 0], band[:, -1]))
        plan.append(band.reshape(-1, 2))
        first += band.shape[0] * band.shape[1]
    ring_numbers = [(b.grid[:, 0], b.grid[:, -1]) for b in bands]
    loops = [ring for pair in ring_numbers for ring in pair]
    cuts: tuple[Cut, ...] = ()
    if isinstance(pressing.edge, Outline):
        counts = tuple(_count(s.length, s.sweep, size) for s in pressing.edge.segments)
        edge, _ = sampled(pressing.edge, counts)
        flange = np.zeros((0, 0), dtype=np.int64)
        edge_numbers = np.arange(first, first + len(edge))
        plan.append(edge)
        loops.append(edge_numbers)
        cuts = cuts_of(pressing, counts, edge_numbers, first + len(edge), size)
        cut_places = [
            between(edge[sides.before[0] - first], dart.tip, sides)
            for sides, dart in zip(cuts, pressing.darts, strict=True)
        ]
        plan += [p for places in cut_places for p in (places[1:], places[:-1])]
    else:
        counts = bands[0].counts
        lip = ring_numbers[0][1]
        wide = _flange_mm(pressing)
        steps = int(np.ceil(wide / size))
        at, n2 = sampled(pressing.hollows[0].outline, counts)
        edge = at + n2 * (pressing.hollows[0].tools.outer_mm + wide)
        more = np.arange(first, first + len(lip) * steps).reshape(len(lip), steps)
        flange = np.column_stack([lip[:, None], more])
        f = np.linspace(0.0, 1.0, steps + 1)[None, 1:, None]
        plan.append((rings[0][1][:, None, :] * (1.0 - f) + edge[:, None, :] * f).reshape(-1, 2))
        edge_numbers = flange[:, -1]
    _must_nest(pressing, rings, edge)
    rows_points = np.concatenate(plan)
    lines = np.concatenate([edge, *(rows_points[cut.before[1:]] for cut in cuts)])
    kept = _free_points(pressing, rings, edge, lines, size)
    points = np.concatenate([rows_points, kept])
    flat = _flat_triangles(
        pressing, points, ring_numbers, loops, cuts, edge, len(rows_points), size
    )
    if flat is None:
        return None
    tri, region, owner = flat
    tri = parted(tri, points, cuts)
    parts = [(tri, region, owner, np.full(len(tri), -1))]
    parts += [_band_triangles(band, k) for k, band in enumerate(bands)]
    if flange.shape[1] > 1:
        parts.append(_flange_triangles(flange))
    joined = [np.concatenate(column) for column in zip(*parts, strict=True)]
    return Layout(
        bands=tuple(bands),
        edge_counts=counts,
        edge=edge_numbers,
        flange=flange,
        free_first=len(rows_points),
        free_triangles=len(tri),
        triangles=joined[0],
        region=joined[1],
        hollow=joined[2],
        column=joined[3],
        plan=points,
        held=_held(pressing, counts, edge_numbers, len(points)),
        cuts=cuts,
        shapes=_makes(pressing),
    )


def _count(length: float, sweep: float, size: float) -> int:
    """Points on a segment: even, so that squares halved in turn mirror at its middle, or one."""
    steps = max(np.ceil(length / size - 1e-9), np.ceil(abs(sweep) / ARC_STEP - 1e-9))
    return 1 if steps <= 1 else 2 * int(np.ceil(steps / 2.0))


def _rows(cut: Section, size: float) -> Rows:
    d, z = cut.d[0], cut.z[0]
    steps = np.hypot(np.diff(d), np.diff(z))
    crown, wall, lip = steps[:4].sum(), steps[4:8].sum(), steps[8:].sum()
    return Rows(
        crown=max(3, int(np.ceil(1.5 * crown / size))),
        wall=max(2, int(np.ceil(wall / size))),
        lip=max(3, int(np.ceil(1.5 * lip / size))),
    )


def _held(pressing: Pressing, counts: Sequence[int], edge: Ints, n: int) -> Bools:
    held = np.zeros(n, dtype=bool)
    if not isinstance(pressing.edge, Outline):
        held[edge] = pressing.hold == "clamped"
        return held
    at = 0
    for seg, count in zip(pressing.edge.segments, counts, strict=True):
        if pressing.hold_of(seg.span) == "clamped":
            held[edge[at : at + count]] = True
            held[edge[(at + count) % len(edge)]] = True
        at += count
    return held


def _must_nest(pressing: Pressing, rings: Sequence[tuple[Floats, Floats]], edge: Floats) -> None:
    """Check that no hollow's lip reaches beyond the leather, or into another hollow."""
    for i, hollow in enumerate(pressing.hollows):
        parent = pressing.parent(hollow)
        if parent is None and not isinstance(pressing.edge, Outline):
            continue
        room = edge if parent is None else rings[parent][0]
        where = "the leather's edge" if parent is None else pressing.hollows[parent].name
        outer = rings[i][1]
        inside = inside_ring(room, outer)
        if not inside.all():
            x, y = outer[np.flatnonzero(~inside)[0]]
            raise RequestError(
                f"{hollow.name}: its lip reaches beyond {where} at ({x:.1f}, {y:.1f}) mm",
                because="the sheet must lie flat for a little way round every hollow",
                mend="Make the leather larger there, or the lip radius smaller",
            )
        for j in range(i):
            if pressing.parent(pressing.hollows[j]) == parent and (
                inside_ring(rings[j][1], outer).any() or inside_ring(outer, rings[j][1]).any()
            ):
                raise RequestError(
                    f"{hollow.name} and {pressing.hollows[j].name} run into one another",
                    because="their lips overlap",
                    mend="Set them further apart",
                )


def _free_points(
    pressing: Pressing,
    rings: Sequence[tuple[Floats, Floats]],
    edge: Floats,
    lines: Floats,
    size: float,
) -> Floats:
    """Points of an even grid, clear of the rows and of ``lines``: the edge and its darts."""
    low, high = edge.min(axis=0), edge.max(axis=0)
    centre = (low + high) / 2.0
    rise = size * np.sqrt(3.0) / 2.0
    reach = np.ceil((high - low) / 2.0 / np.array([size, rise])).astype(int) + 1
    i, j = np.meshgrid(
        np.arange(-reach[0], reach[0] + 1), np.arange(-reach[1], reach[1] + 1), indexing="ij"
    )
    grid = centre + np.column_stack([(i + 0.5 * (j % 2)).ravel() * size, j.ravel() * rise])
    ring_points = np.concatenate([lines, *(r for pair in rings for r in pair)])
    away, _ = cKDTree(ring_points).query(grid, distance_upper_bound=CLEAR * size)
    grid = grid[np.isinf(away)]
    free: Floats = grid[_flat_part(pressing, rings, edge, grid) > -2]
    return free


def _flat_part(
    pressing: Pressing, rings: Sequence[tuple[Floats, Floats]], edge: Floats, points: Floats
) -> Ints:
    """Return which flat part points lie in: -1 the flange, k the bottom of hollow k, -2 none."""
    free_flange = isinstance(pressing.edge, Outline)
    part = np.where(inside_ring(edge, points), -1, -2) if free_flange else np.full(len(points), -2)
    for k, (inner, outer) in enumerate(rings):
        part[inside_ring(outer, points)] = -2
        part[inside_ring(inner, points)] = k
    return part


def _flat_triangles(
    pressing: Pressing,
    points: Floats,
    ring_numbers: Sequence[tuple[Ints, Ints]],
    loops: Sequence[Ints],
    cuts: Sequence[Cut],
    edge: Floats,
    free_first: int,
    size: float,
) -> tuple[Ints, Ints, Ints] | None:
    """Join rings and free points; None when a side of a ring or a dart is missing."""
    inner = [cut.before[1:] for cut in cuts]
    used = np.concatenate([*loops, *inner, np.arange(free_first, len(points))])
    # a tiny, always equal shift decides between equally good triangles the same way every time
    shift = 1e-4 * size * np.column_stack([np.sin(12.9898 * used), np.sin(78.233 * used + 1.0)])
    shift[: len(used) - (len(points) - free_first)] = 0.0
    tri = used[Delaunay(points[used] + shift).simplices]
    corner = points[tri]
    u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = 0.5 * (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    tri[area < 0] = tri[area < 0][:, ::-1]
    tri, corner = tri[abs(area) > 1e-6 * size**2], corner[abs(area) > 1e-6 * size**2]
    rings = [(points[a], points[b]) for a, b in ring_numbers]
    part = _flat_part(pressing, rings, edge, corner.mean(axis=1))
    tri, part = tri[part > -2], part[part > -2]
    n = len(points)
    sides = np.sort(tri[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    present = np.unique(sides[:, 0] * n + sides[:, 1])
    outermost = () if isinstance(pressing.edge, Outline) else (ring_numbers[0][1],)
    wanted = [np.column_stack([cut.before[:-1], cut.before[1:]]) for cut in cuts]
    for ring in loops:
        if not any(ring is one for one in outermost):
            wanted.append(np.column_stack([ring, np.roll(ring, -1)]))
    needed = np.sort(np.concatenate(wanted), axis=1)
    if not np.isin(needed[:, 0] * n + needed[:, 1], present).all():
        return None
    return tri, np.where(part == -1, FLANGE, CAP), part


def _band_triangles(band: Band, hollow: int) -> tuple[Ints, Ints, Ints, Ints]:
    rows = band.rows
    row_region = np.repeat([CROWN, WALL, LIP], [rows.crown, rows.wall, rows.lip])
    tri, column, row = _grid_triangles(band.grid)
    return tri, row_region[row], np.full(len(tri), hollow), column


def _flange_triangles(flange: Ints) -> tuple[Ints, Ints, Ints, Ints]:
    tri, _, _ = _grid_triangles(flange)
    none = np.full(len(tri), -1)
    return tri, np.full(len(tri), FLANGE), none, none


def _grid_triangles(grid: Ints) -> tuple[Ints, Ints, Ints]:
    """Halve the squares of a closed grid in turn one way and the other: triangles, column, row."""
    ahead = np.roll(grid, -1, axis=0)
    a, b, c, d = grid[:, :-1], grid[:, 1:], ahead[:, 1:], ahead[:, :-1]
    j, k = np.meshgrid(np.arange(a.shape[0]), np.arange(a.shape[1]), indexing="ij")
    even = (j + k) % 2 == 0
    one = np.stack([a, b, np.where(even, c, d)], axis=-1)
    two = np.stack([np.where(even, a, b), c, d], axis=-1)
    tri = np.concatenate([one.reshape(-1, 3), two.reshape(-1, 3)])
    return tri, np.concatenate([j.ravel()] * 2), np.concatenate([k.ravel()] * 2)

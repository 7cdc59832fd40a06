"""What is pressed: the hollows, the edge of the leather round them, and how that edge is held."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from hidewright.design.dart import Dart
from hidewright.errors import RequestError
from hidewright.forming.profile import Tools
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats
from hidewright.geometry.surface import Ints

#: How the leather's edge is kept while pressing. Under a plate it may slide; clamped it may not.
EdgeHold = Literal["plate", "clamped", "free"]
#: Stretches of outline that meet at more than this turn at a corner, radians.
SMOOTH = 1e-3
#: A dart begins where two stretches of the edge meet, to this, mm.
MEETS_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Hollow:
    """One hollow as it is pressed.

    Attributes:
        name: Unique within the pressing.
        outline: The plug's wall at its foot, counter-clockwise, smooth, mm.
        tools: Depth, radii, gap and leather thickness.
        within: Name of the hollow in whose bottom this one stands: an island or divider that is
            left standing there, pressed back by ``tools.depth_mm``. Empty in the flange.
    """

    name: str
    outline: Outline
    tools: Tools
    within: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressing:
    """A sheet of leather over its plugs.

    Attributes:
        hollows: At least one; a hollow within another comes after it.
        edge: Edge of the leather as it lies formed, or where the clamp begins: an outline, or round
            a single hollow how far from the plug's wall it runs, mm.
        thickness_mm: The sheet as it is laid in, soaked; the same in every hollow's tools.
        hold: How spans of the edge are held that are not named in ``holds``.
        holds: (span of the edge, how it is held).
        backbone: Direction of stretch axis 1, radians from the x axis.
        darts: Wedges cut out of the leather, as they lie closed; each begins where two segments of
            an edge that may slide meet.
    """

    hollows: tuple[Hollow, ...]
    edge: Outline | float
    thickness_mm: float
    hold: EdgeHold = "plate"
    holds: tuple[tuple[str, EdgeHold], ...] = ()
    backbone: float = 0.0
    darts: tuple[Dart, ...] = ()

    def __post_init__(self) -> None:
        if not self.hollows:
            raise RequestError("nothing is pressed", because="there is no hollow")
        if not math.isfinite(self.backbone):
            raise RequestError(
                "the direction of the backbone is missing",
                because="leather stretches differently along and across it",
                mend="Give an angle in degrees",
            )
        seen: list[str] = []
        for one in self.hollows:
            if one.name in seen:
                raise RequestError(f"two hollows are called {one.name!r}")
            if one.within and one.within not in seen:
                raise RequestError(
                    f"{one.name}: stands in {one.within!r}, which does not come before it"
                )
            if one.tools.thickness_mm != self.thickness_mm:
                raise RequestError(f"{one.name}: leather of another thickness than the sheet")
            seen.append(one.name)
        spans = self.edge.spans if isinstance(self.edge, Outline) else ()
        for span, _ in self.holds:
            if span not in spans:
                raise RequestError(
                    f"the leather's edge has no span {span!r}",
                    mend=f"It has: {', '.join(spans) or 'none that is named'}",
                )
        if not isinstance(self.edge, Outline):
            self._parallel_edge(self.edge)
        for dart in self.darts:
            self._lies_in_edge(dart)

    def _lies_in_edge(self, dart: Dart) -> None:
        x, y = dart.mouth
        what = f"the relief dart at ({x:.1f}, {y:.1f}) mm"
        if not isinstance(self.edge, Outline) or self.dart_segment(dart) is None:
            raise RequestError(what, because="it does not begin at a corner of the leather's edge")
        segments = self.edge.segments
        at = self.dart_segment(dart)
        assert at is not None
        if any(self.hold_of(segments[i].span) == "clamped" for i in (at - 1, at)):
            raise RequestError(
                what,
                because="the edge is clamped there: a dart lets in nothing that cannot slide",
                mend="Hold it by a plate, or leave the dart out",
            )
        if not self.edge.contains(dart.tip):
            raise RequestError(what, because="it ends beyond the leather")

    def dart_segment(self, dart: Dart) -> int | None:
        """Return the number of the edge's segment that begins where a dart does."""
        assert isinstance(self.edge, Outline)
        starts = [seg.start for seg in self.edge.segments]
        return next((i for i, s in enumerate(starts) if math.dist(s, dart.mouth) < MEETS_MM), None)

    def _parallel_edge(self, away_mm: float) -> None:
        top = [one for one in self.hollows if not one.within]
        if len(top) != 1:
            raise RequestError(
                "an edge at a distance from several hollows",
                because="it would not be one line",
                mend="Give the edge as an outline",
            )
        outer = top[0].tools.outer_mm
        if not (math.isfinite(away_mm) and away_mm >= outer - 1e-9):
            raise RequestError(
                f"the leather's edge {away_mm:g} mm from the plug's wall",
                because=f"gap and lip radius alone take {outer:g} mm: the depth is more than the "
                "leather allows",
                mend=f"Leave at least {outer:g} mm, or make the leather larger",
            )
        for seg in top[0].outline.segments:
            if seg.is_arc and seg.curvature < 0 and seg.radius <= away_mm:
                raise RequestError(
                    f"the leather's edge {away_mm:g} mm from the plug's wall",
                    because=f"it does not fit round the inner corner of {seg.radius:g} mm radius",
                    mend="Give the edge as an outline",
                )

    def hold_of(self, span: str) -> EdgeHold:
        """Return how a span of the edge is held."""
        return dict(self.holds).get(span, self.hold)

    def parent(self, hollow: Hollow) -> int | None:
        """Return the index of the hollow in whose bottom one stands."""
        names = [one.name for one in self.hollows]
        return names.index(hollow.within) if hollow.within else None

    @property
    def outermost(self) -> tuple[int, ...]:
        """For each hollow the number of the one in the flange that it stands in, or is."""
        found: list[int] = []
        for k, hollow in enumerate(self.hollows):
            parent = self.parent(hollow)
            found.append(k if parent is None else found[parent])
        return tuple(found)

    @property
    def ways(self) -> tuple[float, ...]:
        """For each hollow 1 where it is pressed up from the flange, -1 where back from a bottom."""
        found: list[float] = []
        for hollow in self.hollows:
            parent = self.parent(hollow)
            found.append(1.0 if parent is None else -found[parent])
        return tuple(found)


@dataclass(frozen=True, kw_only=True, eq=False)
class GivenSurface:
    """A formed surface given as triangles, instead of plugs that shape one.

    Attributes:
        points: (n, 3) middle of the sheet, mm; seen from above no triangle hides another.
        triangles: (m, 3) point numbers, counter-clockwise from above, in one piece without holes.
        thickness_mm: The sheet as it is laid in.
        hold: How its edge is held: clamped, it lay flat where it is.
        backbone: Direction of stretch axis 1, radians from the x axis.
    """

    points: Floats
    triangles: Ints
    thickness_mm: float
    hold: EdgeHold = "clamped"
    backbone: float = 0.0

    def __post_init__(self) -> None:
        points, tri = self.points, self.triangles
        if points.ndim != 2 or points.shape[1] != 3 or not np.isfinite(points).all():
            raise RequestError("the surface's points are not (n, 3) finite numbers")
        if tri.ndim != 2 or tri.shape[1] != 3 or len(tri) == 0:
            raise RequestError("the surface's triangles are not (m, 3) numbers of points")
        if tri.min() < 0 or tri.max() >= len(points):
            raise RequestError(
                "a triangle of the surface names a point that is not there",
                mend=f"Points are numbered from 0 to {len(points) - 1}",
            )
        if len(np.unique(tri)) != len(points):
            raise RequestError("a point of the surface belongs to no triangle")
        corner = points[tri][:, :, :2]
        u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
        if not (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0] > 0).all():
            raise RequestError(
                "a triangle of the surface stands upright or lies face down",
                because="the solve begins from the surface as it is seen from above",
                mend="Order its points counter-clockwise seen from above",
            )
        if not (math.isfinite(self.thickness_mm) and self.thickness_mm > 0):
            raise RequestError(f"thickness of {self.thickness_mm:g} mm")
        if not math.isfinite(self.backbone):
            raise RequestError("the direction of the backbone is missing")

    @property
    def hollows(self) -> tuple[Hollow, ...]:
        """None: nothing is shaped by tools here."""
        return ()


def radii_allow(hollow: Hollow) -> None:
    """Check that the outline's corners leave room for the crown and lip arcs.

    Raises:
        RequestError: "radius too small", with the place and the radius that would do.
    """
    tools, outline = hollow.tools, hollow.outline
    inward, outward = -tools.inner_mm, tools.outer_mm
    segments = outline.segments
    for before, after in zip(segments, (*segments[1:], segments[0]), strict=True):
        (ax, ay), (bx, by) = before.tangent_at(before.length), after.tangent_at(0.0)
        if abs(math.atan2(ax * by - ay * bx, ax * bx + ay * by)) > SMOOTH:
            raise _too_small(hollow, 0.0, inward if ax * by > ay * bx else outward, after.start)
    for seg in segments:
        if seg.is_arc:
            needed = inward if seg.curvature > 0 else outward
            if seg.radius < needed * (1.0 - 1e-9):
                raise _too_small(hollow, seg.radius, needed, seg.point_at(seg.length / 2))


def _too_small(
    hollow: Hollow, radius: float, needed: float, at: tuple[float, float]
) -> RequestError:
    inward = needed == -hollow.tools.inner_mm
    arc = "crown radius" if inward else "lip radius with the gap"
    return RequestError(
        f"{hollow.name}: corner radius too small: {radius:.2f} mm at ({at[0]:.1f}, {at[1]:.1f})",
        because=(
            f"the {arc} takes {needed:.2f} mm, and the sheet cannot run round a tighter "
            f"{'outer' if inward else 'inner'} corner"
        ),
        mend=f"Give the corner at least {np.ceil(needed * 100) / 100:.2f} mm, or a smaller {arc}",
    )

"""One part of leather in the finished article, laid flat at its flange and seen on the grain."""

import math
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from hidewright.design.island import Island
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Point

#: How the wall of a moulded zone ends along one span of its outline.
ZoneEdge = Literal["flange", "cut at height", "mouth"]
#: Field of a remedy for the depth of the moulded zone at its place, from the flange: the measure
#: that a kind has for it may count otherwise, such as to a rim cut at a height.
ZONE_DEPTH = "zone.depth"
#: A zone's mouth may lie on the piece's edge, within the chords that distances are taken to, mm.
OUTSIDE_MM = 0.02
EdgeFinish = Literal["raw", "bevelled and burnished", "painted"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MouldedZone:
    """The part of a piece that is pressed out of its plane, towards the grain side.

    Attributes:
        name: Unique within the piece.
        outline: Inside of the hollow at the flange, dry, in the piece's frame, mm. Its spans name
            how each stretch of wall ends, see ``edges``.
        depth_mm: Height of the hollow's inside above the flange's flesh face, dry.
        crown_radius_mm: Inside radius where wall and crown meet (the plug's top edge).
        lip_radius_mm: Outside radius where flange and wall meet (the frame's mouth).
        wall_angle: Lean of the wall inwards from upright, radians; 0 is what a laser can cut.
        edges: (span, ending) for every span of the outline that is not plain ``flange``.
        cut_height_mm: Height of the rim above the flange where a wall is ``cut at height``.
        grain_out: The grain is on the outside (convex side); False for a zone pressed the other
            way, as an inner layer of a box may be.
        islands: Places of its bottom that are pressed back, such as dividers.
    """

    name: str
    outline: DryOutline
    depth_mm: float
    crown_radius_mm: float
    lip_radius_mm: float
    wall_angle: float = 0.0
    edges: tuple[tuple[str, ZoneEdge], ...] = ()
    cut_height_mm: float | None = None
    grain_out: bool = True
    islands: tuple[Island, ...] = ()

    def __post_init__(self) -> None:
        for label, value in (
            ("depth", self.depth_mm),
            ("crown radius", self.crown_radius_mm),
            ("lip radius", self.lip_radius_mm),
        ):
            if value <= 0:
                raise RequestError(
                    f"{self.name}: {label} of {value:g} mm", because="it must be > 0"
                )
        if self.crown_radius_mm > self.depth_mm:
            raise RequestError(
                f"{self.name}: crown radius {self.crown_radius_mm:g} mm",
                because=f"it is larger than the depth of {self.depth_mm:g} mm",
                mend=f"Give at most {self.depth_mm:g} mm",
            )
        known = self.outline.spans
        for span, _ in self.edges:
            if span not in known:
                raise RequestError(
                    f"{self.name}: edge {span!r} is not a span of its outline",
                    mend=f"It has: {', '.join(known)}",
                )
        for island in self.islands:
            self._stands_within(island)
        for one, two in combinations(self.islands, 2):
            self._stand_apart(one, two)

    def _stands_within(self, island: Island) -> None:
        if island.height_mm >= self.depth_mm:
            raise RequestError(
                f"{self.name}: {island.name} stands {island.height_mm:g} mm high",
                because=f"the hollow is {self.depth_mm:g} mm deep",
                mend=f"Give it less than {self.depth_mm:g} mm",
            )
        wall = self.crown_radius_mm + self.depth_mm * math.tan(self.wall_angle)
        needed, foot = island.room_mm(wall), island.outline.polygon
        apart = float(self.outline.rim.distance(foot))
        if not self.outline.polygon.contains(foot) or apart < needed - OUTSIDE_MM:
            raise RequestError(
                f"{self.name}: {island.name} comes too near the wall",
                because=f"its foot is {apart:.1f} mm from the outline or beyond it; crown radius, "
                f"foot radius and a little flat leather take {needed:.1f} mm",
                mend="Draw it further inside, or give smaller radii",
            )

    def _stand_apart(self, one: Island, two: Island) -> None:
        apart = float(one.outline.polygon.distance(two.outline.polygon))
        needed = one.room_mm(two.foot_radius_mm)
        if apart < needed - OUTSIDE_MM:
            raise RequestError(
                f"{self.name}: {one.name} and {two.name} are {apart:.1f} mm apart",
                because=f"their foot radii and a little flat leather take {needed:.1f} mm",
                mend="Draw them further apart, or give smaller foot radii",
            )

    def ending(self, span: str) -> ZoneEdge:
        """Return how the wall ends along a span."""
        return dict(self.edges).get(span, "flange")

    @property
    def mouths(self) -> tuple[str, ...]:
        """The spans that are cut across the hollow."""
        return tuple(span for span, ending in self.edges if ending == "mouth")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fold:
    """A bent line.

    Attributes:
        name: Unique within the piece.
        line: The middle of the bent strip, straight, from edge to edge, mm.
        angle: How far it is folded when the article is closed, radians; positive brings the part
            to the left of the line up towards the flesh side (grain outside).
        inside_radius_mm: Radius on the inside of the fold.
        k_factor: Where the leather keeps its length: 0 inside face, 0.5 middle.
        strip_mm: Developed width of the bent strip, angle x (radius + K x thickness).
        glue_free_mm: Width kept free of glue to the (left, right) of the line.
    """

    name: str
    line: Path
    angle: float
    inside_radius_mm: float
    k_factor: float
    strip_mm: float
    glue_free_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PunchedHole:
    """A round hole through a piece, for a fitting or a strap.

    Attributes:
        name: What goes through, such as ``stud``.
        at: Centre, mm.
        diameter_mm: Size of the punch.
        slit: End of a slit that starts at the hole, for a hole that snaps over a stud; or None.
    """

    name: str
    at: Point
    diameter_mm: float
    slit: Point | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Skive:
    """A stretch of edge thinned from the flesh side.

    Attributes:
        span: The span of the piece's outline.
        width_mm: How far in from the edge.
        left_mm: Thickness left at the edge.
    """

    span: str
    width_mm: float
    left_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One part of leather in the finished article.

    Its frame: dry, flat at the flange, looked at on the grain side (outside), mm.

    Attributes:
        name: Unique within the design.
        role: Which of the design's leathers it is made of, such as ``body`` or ``lining``.
        outline: Trimmed outline with named spans (mouth, rim, fold side ...), dry.
        zones: Moulded zones.
        folds: Bent lines.
        holes: Punched holes, stitch holes excepted.
        cut_outs: Windows cut out of the piece, dry.
        stretch_angle: Direction of the backbone, radians from the piece's y axis.
        skives: Thinned edges.
        finishes: (span, finish) for edges that are not left raw.
    """

    name: str
    role: str
    outline: DryOutline
    zones: tuple[MouldedZone, ...] = ()
    folds: tuple[Fold, ...] = ()
    holes: tuple[PunchedHole, ...] = ()
    cut_outs: tuple[DryOutline, ...] = ()
    stretch_angle: float = 0.0
    skives: tuple[Skive, ...] = ()
    finishes: tuple[tuple[str, EdgeFinish], ...] = ()

    def __post_init__(self) -> None:
        for hole in self.holes:
            if not self.outline.contains(hole.at, hole.diameter_mm / 2):
                inside = float(signed_distances(self.outline, np.array([hole.at]))[0])
                raise RequestError(
                    f"{self.name}: the hole for the {hole.name} reaches "
                    f"{hole.diameter_mm / 2 - inside:.2f} mm beyond the piece",
                    mend="Move it, or make the piece larger",
                )
        for zone in self.zones:
            out = -float(np.min(signed_distances(self.outline, zone.outline.flat_points(0.1))))
            if out > OUTSIDE_MM:
                raise RequestError(
                    f"{self.name}: the zone {zone.name} reaches {out:.2f} mm beyond the piece",
                    mend="Make the piece larger, or the zone smaller",
                )

    def zone(self, name: str) -> MouldedZone:
        """Return a zone by name."""
        for zone in self.zones:
            if zone.name == name:
                return zone
        raise RequestError(
            f"{self.name} has no zone {name!r}",
            mend=f"It has: {', '.join(z.name for z in self.zones) or 'none'}",
        )

    @property
    def is_moulded(self) -> bool:
        """Whether any of it is pressed."""
        return bool(self.zones)

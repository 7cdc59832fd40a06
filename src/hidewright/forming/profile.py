"""The section of the formed sheet across a zone's edge: crown arc, wall, lip arc.

Lengths d run outward from the wall of the plug, heights z upward from where the middle of the sheet
lies on an unthinned flange. The sheet's middle runs half its thickness off the tools, so it bends
round the plug's edge with radius crown + h/2 and round the lip with radius lip + h/2; between the
two it is straight, along their common tangent.
"""

import math
from dataclasses import dataclass

import numpy as np

from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats

#: The most a wall may lean, radians: 60 degrees.
MOST_LEAN = math.radians(60.0)
#: Arcs that run into one another are drawn this much tighter at most before they are refused.
NEARLY = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """What shapes the edge of one zone.

    Attributes:
        depth_mm: Height of the plug's face over the plane on which the flange's inner face lies.
        crown_radius_mm: Radius of the plug's top edge.
        lip_radius_mm: Radius of the edge of the opening it is pressed through.
        gap_mm: From the plug's wall to the opening's, at a right angle to both.
        thickness_mm: The sheet as it is laid in, soaked.
        wall_angle: Lean of both walls inward, radians; both arcs touch them.
    """

    depth_mm: float
    crown_radius_mm: float
    lip_radius_mm: float
    gap_mm: float
    thickness_mm: float
    wall_angle: float = 0.0

    def __post_init__(self) -> None:
        for name, value in (
            ("depth", self.depth_mm),
            ("crown radius", self.crown_radius_mm),
            ("lip radius", self.lip_radius_mm),
            ("gap", self.gap_mm),
            ("thickness", self.thickness_mm),
        ):
            if not (np.isfinite(value) and value > 0):
                raise RequestError(f"{name} of {value:g} mm", because="it must be greater than 0")
        if not 0.0 <= self.wall_angle <= MOST_LEAN:
            raise RequestError(
                f"a wall that leans by {math.degrees(self.wall_angle):g} degrees",
                because="a wall stands upright or leans inward",
                mend=f"Give 0 to {math.degrees(MOST_LEAN):g} degrees",
            )

    @property
    def lean_mm(self) -> float:
        """How much further in the crown arc begins than over an upright wall, mm."""
        return -self.inner_mm - self.crown_radius_mm

    @property
    def inner_mm(self) -> float:
        """Where the crown arc begins, mm outward of the plug's foot: negative.

        A circle of radius r below the face touches a line that leans in by b from the foot, a
        height H below the face, when its centre is (r + (H - r) sin b)/cos b further in.
        """
        r, sin = self.crown_radius_mm, math.sin(self.wall_angle)
        return -(r + (self.depth_mm - r) * sin) / math.cos(self.wall_angle)

    @property
    def outer_mm(self) -> float:
        """Where the lip arc ends and the flange begins.

        A circle of radius r on the leather touches a line that leans in by b, the gap g off the
        plug's wall, when its centre is (g + r - (t + r) sin b)/cos b out from the plug's foot.
        """
        r, sin = self.lip_radius_mm, math.sin(self.wall_angle)
        return (self.gap_mm + r - (self.thickness_mm + r) * sin) / math.cos(self.wall_angle)


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Stations across the edge for m columns along the outline; arrays (m, k) unless told.

    Attributes:
        d: Outward of the plug's wall, mm.
        z: Height, mm.
        turn: (m,) how far the sheet turns on each arc, radians: a right angle less the walls' lean
            where it fills the gap.
        wall: (m,) length of the straight part between the arcs, mm.
        normal_d: Outward part of the unit normal on the grain side.
        normal_z: Its upward part.
        share: 0 at the crown's end to 1 at the flange, by length.
        cap_z: (m,) height of the sheet's middle on the plug's face.
        flange_z: (m,) height of it on the flange.
    """

    d: Floats
    z: Floats
    turn: Floats
    wall: Floats
    normal_d: Floats
    normal_z: Floats
    share: Floats
    cap_z: Floats
    flange_z: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """How many steps the crown arc, the wall and the lip arc are divided into."""

    crown: int
    wall: int
    lip: int

    @property
    def stations(self) -> int:
        """Rows of points."""
        return self.crown + self.wall + self.lip + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class OnArcs:
    """What the sheet is like on the two arcs, for m columns along the outline; (m,) each, mm.

    Attributes:
        crown_h: Thickness of the formed sheet on the crown arc.
        lip_h: The same on the lip arc.
        crown_ease: How much wider than the tool asks a stiff sheet runs round the crown.
    """

    crown_h: Floats
    lip_h: Floats
    crown_ease: Floats

    @staticmethod
    def even(thickness_mm: float, columns: int) -> "OnArcs":
        """Return a limp sheet of even thickness."""
        h, none = np.full(columns, thickness_mm), np.zeros(columns)
        return OnArcs(crown_h=h, lip_h=h, crown_ease=none)

    def opposite(self, other: "OnArcs") -> "OnArcs":
        """Return a sheet as far from this one as another is, the other way."""
        return OnArcs(
            crown_h=2.0 * self.crown_h - other.crown_h,
            lip_h=2.0 * self.lip_h - other.lip_h,
            crown_ease=np.maximum(2.0 * self.crown_ease - other.crown_ease, 0.0),
        )


def section(tools: Tools, rows: Rows, on: OnArcs) -> Section:
    """Return the stations across the edge.

    The common tangent of the two arcs: with centres apart by (D, Z) and radii adding up to R, the
    turn a solves D sin a + Z cos a = R.

    A stiff sheet runs round the crown wider than the tool asks: the gap keeps its wall to the plug,
    but its bottom stands off the plug's face. At the lip face and plate keep the flange flat.

    Args:
        tools: What shapes it.
        rows: Steps.
        on: The sheet on the arcs.

    Raises:
        RequestError: When crown and lip radius leave no room for a wall between them.
    """
    t = tools.thickness_mm
    # a wall thinner than the gap touches plug and opening; a thicker one is ironed to the gap
    too_thick = np.maximum((on.crown_h + on.lip_h) / (2.0 * tools.gap_mm), 1.0)
    rc = tools.crown_radius_mm + on.crown_h / too_thick / 2.0
    rl = tools.lip_radius_mm + on.lip_h / too_thick / 2.0
    crown_d = np.full_like(rc, tools.inner_mm)
    crown_z = np.full_like(rc, tools.depth_mm - t / 2.0 - tools.crown_radius_mm)
    lip_d = np.full_like(rl, tools.outer_mm)
    lip_z = np.full_like(rl, t / 2.0 + tools.lip_radius_mm)
    turn = _turn(rc + rl, lip_d - crown_d, lip_z - crown_z)
    crown_d = crown_d - on.crown_ease * np.sin(turn)
    crown_z = crown_z - on.crown_ease * np.cos(turn)
    rc = rc + on.crown_ease
    across, up = lip_d - crown_d, lip_z - crown_z
    apart = np.hypot(across, up)
    reach = np.minimum(apart / (rc + rl), 1.0)
    if np.any(reach < NEARLY):
        raise RequestError(
            f"crown radius {tools.crown_radius_mm:g} mm and lip radius "
            f"{tools.lip_radius_mm:g} mm with a depth of {tools.depth_mm:g} mm",
            because="the two arcs leave no wall between them",
            mend="Give smaller radii, or more depth",
        )
    rc, rl = rc * reach, rl * reach
    turn = _turn(rc + rl, across, up)
    wall = np.sqrt(np.maximum(apart**2 - (rc + rl) ** 2, 0.0))
    rc, rl, wall, at = rc[:, None], rl[:, None], wall[:, None], turn[:, None]
    length = (rc + rl) * at + wall
    s = _stations(rows, rc * at, wall, rl * at)

    on_crown = np.minimum(s / rc, at)
    on_lip = np.minimum((length - s) / rl, at)
    angle = np.minimum(on_crown, on_lip)
    along = np.clip(s - rc * at, 0.0, wall)
    sin, cos = np.sin(at), np.cos(at)
    crown_d, crown_z, lip_d, lip_z = (v[:, None] for v in (crown_d, crown_z, lip_d, lip_z))
    on_wall = s < rc * at + wall
    d = np.where(
        on_wall, crown_d + rc * np.sin(on_crown) + along * cos, lip_d - rl * np.sin(on_lip)
    )
    z = np.where(
        on_wall, crown_z + rc * np.cos(on_crown) - along * sin, lip_z - rl * np.cos(on_lip)
    )
    return Section(
        d=d,
        z=z,
        turn=turn,
        wall=wall[:, 0],
        normal_d=np.sin(angle),
        normal_z=np.cos(angle),
        share=s / length,
        cap_z=z[:, 0],
        flange_z=z[:, -1],
    )


def _turn(radii: Floats, across: Floats, up: Floats) -> Floats:
    """How far the sheet turns between two arcs whose centres are so far apart, radians."""
    apart = np.hypot(across, up)
    turn: Floats = np.arcsin(np.minimum(radii / apart, 1.0)) - np.arctan2(up, across)
    return turn


def _stations(rows: Rows, crown: Floats, wall: Floats, lip: Floats) -> Floats:
    """Lengths along the section at which the rows lie; a short wall borrows from the arcs."""
    least = 0.25 * rows.wall * (crown + lip) / (rows.crown + rows.lip)
    lent = 0.5 * np.maximum(least - wall, 0.0)
    to_wall, to_lip = crown - lent, crown + wall + lent
    end = crown + wall + lip
    steps = [np.linspace(0.0, 1.0, n + 1)[1:] for n in (rows.crown, rows.wall, rows.lip)]
    return np.concatenate(
        [
            np.zeros_like(crown),
            to_wall * steps[0],
            to_wall + (to_lip - to_wall) * steps[1],
            to_lip + (end - to_lip) * steps[2],
        ],
        axis=1,
    )

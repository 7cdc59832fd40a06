"""Rigid placements in space, and the panels of an article as it is unfolded and put together."""

import math
from dataclasses import dataclass

import numpy as np

from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats, Point

Vector = tuple[float, float, float]
#: A straight line by a point and a unit direction; what lies to its left belongs.
Half = tuple[Point, Point]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """A rigid placement: point -> rotation @ point + shift, mm.

    Attributes:
        rotation: Three rows of a proper rotation.
        shift: mm.
    """

    rotation: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    shift: Vector = (0.0, 0.0, 0.0)

    def of_points(self, points: Floats) -> Floats:
        """Return (n, 3) points placed, mm."""
        placed: Floats = points @ np.array(self.rotation).T + np.array(self.shift)
        return placed

    def then(self, outer: "Pose") -> "Pose":
        """Return this placement followed by another."""
        r = np.array(outer.rotation) @ np.array(self.rotation)
        t = np.array(outer.rotation) @ np.array(self.shift) + np.array(outer.shift)
        return _pose(r, t)

    @property
    def inverse(self) -> "Pose":
        """The placement that takes this one back."""
        back = np.array(self.rotation).T
        return _pose(back, -back @ np.array(self.shift))


def turned_about(start: Vector, direction: Vector, angle: float) -> Pose:
    """Return the turn about a line in space by an angle in radians (Rodrigues 1840)."""
    x, y, z = np.array(direction) / np.linalg.norm(direction)
    c, s = math.cos(angle), math.sin(angle)
    k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    r = np.eye(3) + s * k + (1.0 - c) * (k @ k)
    p = np.array(start)
    return _pose(r, p - r @ p)


def left_of(side: Half, point: Point) -> float:
    """Return how far a point lies to the left of a line, mm."""
    (x, y), (dx, dy) = side
    return (point[1] - y) * dx - (point[0] - x) * dy


def cut_to(side: Half, corners: Floats) -> Floats:
    """Return the part of a polygon (n, 2) that lies left of a line, mm; (0, 2) when none does."""
    kept: list[Floats] = []
    away = [left_of(side, (float(x), float(y))) for x, y in corners]
    for k, (at, here) in enumerate(zip(corners, away, strict=True)):
        before, there = corners[k - 1], away[k - 1]
        if (here >= 0.0) != (there >= 0.0):
            kept.append(before + (at - before) * there / (there - here))
        if here >= 0.0:
            kept.append(at)
    return np.array(kept).reshape(-1, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hinge:
    """How a panel hangs on its parent: a bent strip rolled up as the article closes.

    The strip lies between the parent's edge line and the panel; at s it is bent by s x angle, with
    its inside radius and the length of its neutral layer kept.

    Attributes:
        parent: Name of the parent panel, of the same piece.
        start: A point of the line where the parent ends and the strip begins, piece frame, mm.
        direction: Unit direction of that line; the panel lies to its left.
        angle: Fold at s = 1, radians; positive folds towards the flesh side (-z).
        strip_mm: Developed width of the strip, from that line to the panel.
        neutral_mm: Height of the layer that keeps its length above the flesh face, K x thickness.
    """

    parent: str
    start: Point
    direction: Point
    angle: float
    strip_mm: float
    neutral_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A part of a piece that stays flat (or keeps its moulded form) while the article closes.

    A panel's frame is its piece's frame: x, y as drawn, z towards the grain, z = 0 on the flesh
    face of the flange.

    Attributes:
        name: Unique within the assembly; the piece's name where it has one panel.
        piece: Name of the piece.
        pose: Where it lies in the article, for a panel without a hinge.
        hinge: What it hangs on; None for a panel that does not move.
        low_y, high_y: The panel is the part of the piece with y in this interval of the piece's
            frame, mm.
        sides: Further lines that bound it, where folds run another way; it lies left of each.
    """

    name: str
    piece: str
    pose: Pose = Pose()
    hinge: Hinge | None = None
    low_y: float = -math.inf
    high_y: float = math.inf
    sides: tuple[Half, ...] = ()

    @property
    def bounds(self) -> tuple[Half, ...]:
        """All lines that bound it, in the piece's frame; it lies left of each."""
        low = (((0.0, self.low_y), (1.0, 0.0)),) if math.isfinite(self.low_y) else ()
        high = (((0.0, self.high_y), (-1.0, 0.0)),) if math.isfinite(self.high_y) else ()
        return (*low, *high, *self.sides)

    def holds(self, point: Point, slack_mm: float = 1e-9) -> bool:
        """Whether a point of the piece's frame lies on it."""
        return all(left_of(side, point) >= -slack_mm for side in self.bounds)

    def part_of(self, corners: Floats) -> Floats:
        """Return the part of a polygon (n, 2) that lies on it (Sutherland and Hodgman 1974), mm.

        A polygon that the lines cut in several parts stays one, joined along the lines.
        """
        for side in self.bounds:
            corners = cut_to(side, corners)
        return corners


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """How the pieces lie to one another, from flat (s = 0) to closed (s = 1)."""

    panels: tuple[Panel, ...]

    def panel_at(self, piece: str, point: Point) -> Panel:
        """Return the panel of a piece that holds a point of its frame."""
        for panel in self.panels:
            if panel.piece == piece and panel.holds(point):
                return panel
        raise RequestError(f"no panel of {piece!r} holds the point ({point[0]:g}, {point[1]:g})")

    def pose_of(self, panel: Panel, s: float) -> Pose:
        """Return where a panel lies at s, from flat (0) to closed (1)."""
        if panel.hinge is None:
            return panel.pose
        parent = next(p for p in self.panels if p.name == panel.hinge.parent)
        return _hinged(panel.hinge, s).then(self.pose_of(parent, s))


def _hinged(hinge: Hinge, s: float) -> Pose:
    """Return the pose of a panel relative to its parent's frame with its strip bent by s.

    The neutral layer keeps its length, so at a bend of theta it lies on a radius strip / theta.
    The panel is first brought up to the hinge line, then turned about the bend's axis.
    """
    theta = hinge.angle * s
    if abs(theta) < 1e-12:
        return Pose()
    (px, py), (dx, dy) = hinge.start, hinge.direction
    w = hinge.strip_mm
    back = Pose(shift=(dy * w, -dx * w, 0.0))
    axis_height = hinge.neutral_mm - w / theta
    return back.then(turned_about((px, py, axis_height), (dx, dy, 0.0), -theta))


def _pose(rotation: Floats, shift: Floats) -> Pose:
    r = [(float(a), float(b), float(c)) for a, b, c in rotation]
    x, y, z = (float(v) for v in shift)
    return Pose(rotation=(r[0], r[1], r[2]), shift=(x, y, z))

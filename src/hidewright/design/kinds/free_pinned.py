"""Free pieces that nothing sews: laid by the fittings that hold them to others."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.geometry.segment import Floats, Point

#: Directions weigh as points this far off would, mm.
ARM_MM = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pinned:
    """Pieces that one fitting holds.

    Attributes:
        held: Name and place of each in its own frame, from the head of the fitting inwards.
    """

    held: tuple[tuple[str, Point], ...]


@dataclass(frozen=True, eq=False)
class Spot:
    """A place of a closed article: on the flesh face, with the grain's direction and the piece's x.

    Attributes:
        at, up, along: (3,) each.
    """

    at: Floats
    up: Floats
    along: Floats


def spot_on(panels: Sequence[Panel], pose: Pose, at: Point) -> Spot | None:
    """Return a place of a piece as the article is closed; None in a bent strip."""
    panel = next((p for p in panels if p.holds(at)), None)
    if panel is None:
        return None
    placed = Assembly(panels=tuple(panels)).pose_of(panel, 1.0).then(pose)
    turn = np.array(placed.rotation)
    return Spot(placed.of_points(np.array([[*at, 0.0]]))[0], turn[:, 2], turn[:, 0])


def pinned_pose(
    name: str,
    pins: Sequence[Pinned],
    panels: Mapping[str, Sequence[Panel]],
    poses: Mapping[str, Pose],
    sides: Mapping[str, str],
    thickness_of: Mapping[str, float],
) -> Pose | None:
    """Return where fittings hold a piece on pieces that lie already; None when none does.

    The layers lie on one another, the head on the grain of the first; pieces of one side have
    their grain the same way. One fitting keeps the piece as it was drawn beside the other, two or
    more turn it so that its holes lie best over theirs.

    Args:
        name: Of the piece.
        pins: All fittings that hold several layers.
        panels: Of every piece, in its own frame.
        poses: Of the largest panel of every piece that lies already.
        sides: front or back of each piece.
        thickness_of: Dry, mm.
    """
    own, wanted = [], []
    for pin in pins:
        k = next((i for i, (piece, _) in enumerate(pin.held) if piece in poses), None)
        j = next((i for i, (piece, _) in enumerate(pin.held) if piece == name), None)
        if k is None or j is None:
            continue
        here = spot_on(panels[name], Pose(), pin.held[j][1])
        there = spot_on(panels[pin.held[k][0]], poses[pin.held[k][0]], pin.held[k][1])
        if here is None or there is None:
            continue
        senses = [1.0 if sides[p] == sides[pin.held[0][0]] else -1.0 for p, _ in pin.held]
        below = [math.fsum(thickness_of[p] for p, _ in pin.held[1 : i + 1]) for i in (j, k)]
        # a layer that lies turned over has its flesh face where its grain would be
        height = [
            -depth + (thickness_of[pin.held[i][0]] if senses[i] < 0 else 0.0)
            for depth, i in zip(below, (j, k), strict=True)
        ]
        head = senses[k] * there.up
        own.append(here)
        wanted.append(
            Spot(there.at + (height[0] - height[1]) * head, senses[j] * head, there.along)
        )
    return _best(own, wanted) if own else None


def _best(own: Sequence[Spot], wanted: Sequence[Spot]) -> Pose:
    def points(spots: Sequence[Spot]) -> Floats:
        rows = [row for s in spots for row in (s.at, s.at + ARM_MM * s.up)]
        if len(spots) == 1:
            rows.append(spots[0].at + ARM_MM * spots[0].along)
        return np.array(rows)

    return nearest_pose(points(own), points(wanted))


def nearest_pose(own: Floats, wanted: Floats) -> Pose:
    """Return the placement that brings points (n, 3) nearest to others, by least squares.

    The turn is the proper rotation next to the matrix of their products, by its singular vectors
    (Kabsch 1976).
    """
    middle, target = own.mean(axis=0), wanted.mean(axis=0)
    u, _, v = np.linalg.svd((own - middle).T @ (wanted - target))
    flip = np.diag([1.0, 1.0, math.copysign(1.0, float(np.linalg.det(u @ v)))])
    turn = (u @ flip @ v).T.round(12) + 0.0
    shift = (target - turn @ middle).round(9) + 0.0
    rows = [(float(a), float(b), float(c)) for a, b, c in turn]
    x, y, z = (float(c) for c in shift)
    return Pose(rotation=(rows[0], rows[1], rows[2]), shift=(x, y, z))

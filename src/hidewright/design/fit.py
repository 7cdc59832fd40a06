"""Does a slab go into a hollow, how large must the hollow be, and what else goes in.

It fits when it lies inside the real inner surface of the dry hollow: wall, lean, crown and plan
corners, section by section from flesh face to crown.
"""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.hollow import Hollow
from hidewright.design.slabs import Slab, envelope, slab_of
from hidewright.errors import RequestError
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats, Point

#: Nobody stacks more of a thing in a pocket.
MOST_STACKED = 50
#: An envelope may touch the inner surface; beyond this it is too tight, mm.
TOUCH_MM = 0.005
#: Every so many points are looked at first where little room does not matter.
FEW = 7
#: The room round what is carried is sought to this, before it is rounded up, mm.
ENOUGH_MM = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Inside sizes of a hollow, dry, mm."""

    width_mm: float
    height_mm: float
    depth_mm: float


def clearance_in(
    hollow: Hollow,
    slab: Slab,
    below_mouth_mm: float = 0.0,
    at: Point | None = None,
    least_mm: float = -math.inf,
) -> float:
    """Return the least room between a slab and the hollow's inner surface, mm.

    The slab lies in the middle of the width, on the lower face, its upper end at the mouth (or in
    the middle of a hollow without one). Negative when it does not go in; measured level, in the
    plane of each section.

    Args:
        hollow: Dry hollow with its mouth (if any) towards +y.
        slab: With or without clearances.
        below_mouth_mm: How far its upper end lies below the mouth; negative stands proud.
        at: Where its middle lies instead, mm.
        least_mm: Room below this, to a thousandth, is not worked out: what is said is then too
            much, but still below it.
    """
    upper, lower = hollow.shells
    spare = hollow.depth_mm - slab.thickness_mm
    if spare < -TOUCH_MM and not hollow.is_open:
        return spare
    left, bottom, right, top = hollow.outline.bounds
    plan = slab.plan
    x = (left + right) / 2
    y = (bottom + top) / 2
    if hollow.mouth:
        y = hollow.mouth_y_mm - below_mouth_mm - slab.length_mm / 2
    x, y = at or (x, y)
    points = _plan_points(plan)
    sections: list[Floats] = []
    insets: list[float] = []
    # between two shells a thing lies in the middle, else on the flat side or on the floor
    low = -lower.depth_mm + (spare / 2 if lower.depth_mm > 0 and upper.depth_mm > 0 else 0.0)
    for h in _section_heights(slab, hollow, low):
        z = low + h
        if hollow.is_open and z > upper.depth_mm:
            continue
        shell, over = (upper, z) if z >= 0 else (lower, -z)
        wall_inset = shell.inset_at(min(over, shell.depth_mm))
        inset = slab.inset_at(h)
        sections.append(points[:, :2] - points[:, 2:] * inset + np.array([x, y]))
        insets.append(wall_inset)
    if not sections:
        return math.inf
    inside = np.concatenate(sections)
    walls = np.repeat(insets, len(points))
    if hollow.mouth:
        below = inside[:, 1] < hollow.mouth_y_mm - 1e-6
        inside, walls = inside[below], walls[below]

    def least(every: int) -> float:
        places = inside[::every]
        room = signed_distances(hollow.outline, places, hollow.mouth) - walls[::every]
        return float(np.min(room, initial=math.inf))

    if least_mm > -math.inf and round(few := least(FEW), 3) < least_mm:
        return few
    return least(1)


def goes_in(hollow: Hollow, slab: Slab, below_mouth_mm: float) -> bool:
    """Return whether a slab goes into a hollow, as ``clearance_in`` lays it, and hardly touches."""
    enough = -TOUCH_MM / 2
    return clearance_in(hollow, slab, below_mouth_mm, least_mm=enough) >= enough


def room_for(carried: tuple[Carried, ...], hollow_of: Callable[[Room], Hollow]) -> Room:
    """Return the smallest room, equal all round, in which what is carried fits with its clearances.

    Args:
        carried: At least one thing.
        hollow_of: The kind's hollow of a given room, with its radii.

    Returns:
        Room whose sizes are rounded up to 0.5 mm.
    """
    slab = envelope(carried)
    mouth = below_mouth(carried)

    def room(extra: float) -> Room:
        trial = Room(
            width_mm=slab.width_mm + 2 * extra,
            height_mm=slab.length_mm + extra + mouth,
            depth_mm=slab.thickness_mm,
        )
        if hollow_of(trial).mouth:
            return trial
        return replace(trial, height_mm=slab.length_mm + 2 * extra)

    def fits(extra: float) -> bool:
        try:
            hollow = hollow_of(room(extra))
        except RequestError:
            return False  # its radii do not go into so small a room
        return goes_in(hollow, slab, mouth)

    def rounded(extra: float) -> Room:
        exact = room(extra)
        return Room(
            width_mm=up_to_half(exact.width_mm),
            height_mm=up_to_half(exact.height_mm),
            depth_mm=up_to_half(exact.depth_mm),
        )

    step, extra = 8.0, 0.0
    while not fits(extra):
        extra += step
        if extra > 400.0:
            raise RequestError(
                "no hollow of this shape holds what is carried",
                mend="Make the crown and corner radii smaller",
            )
    low = max(extra - step, 0.0)
    while extra - low > ENOUGH_MM and rounded(low) != rounded(extra):
        middle = (low + extra) / 2
        low, extra = (low, middle) if fits(middle) else (middle, extra)
    return rounded(extra)


def corner_going_in(corner_mm: float, crown_mm: float, carried: tuple[Carried, ...]) -> float:
    """Return the plan radius of corners in a hollow made for what is carried, mm.

    One that is over half of the narrow side of what is carried would not go into a hollow that
    fits it: it becomes a third of that side, no less than the crown's radius.

    Args:
        corner_mm: As wanted.
        crown_mm: Inside radius between wall and crown.
        carried: At least one thing.
    """
    slab = envelope(carried)
    across = min(slab.width_mm, slab.length_mm)
    return corner_mm if corner_mm <= across / 2 else max(up_to_half(across / 3), crown_mm)


def what_fits(hollow: Hollow, things: Iterable[Thing]) -> tuple[tuple[Thing, int], ...]:
    """Return which things go into a hollow with the usual clearances, and how many stacked.

    Args:
        hollow: The dry room.
        things: To try, one by one.

    Returns:
        (thing, most that fit on one another) for those of which at least one fits; things longer
        than the hollow may stand proud of a mouth by up to a third of their length.
    """
    found: list[tuple[Thing, int]] = []
    for thing in things:
        one = slab_of(Carried(thing=thing))
        proud = max(one.length_mm - hollow.outline.height, 0.0) if hollow.mouth else 0.0
        if proud > one.length_mm / 3:
            continue
        most = 0
        while most < MOST_STACKED:
            stack = envelope((Carried(thing=thing, count=most + 1),))
            if clearance_in(hollow, stack, -proud, least_mm=-TOUCH_MM) < -TOUCH_MM:
                break
            most += 1
        if most:
            found.append((thing, most))
    return tuple(found)


def below_mouth(carried: tuple[Carried, ...]) -> float:
    """Return how far below the mouth the things are to end, mm; negative stands proud."""
    return max(c.mouth_clearance_mm for c in carried)


@lru_cache(maxsize=8)
def _plan_points(plan: Outline) -> Floats:
    """Return (n, 4): points of a plan about 2 mm apart and the outward normals there."""
    n = max(48, math.ceil(plan.length / 2.0))
    rows = [(*plan.point_at(s), *plan.normal_at(s)) for s in np.linspace(0, plan.length, n, False)]
    return np.array(rows)


def _section_heights(slab: Slab, hollow: Hollow, low: float) -> list[float]:
    """Return heights over the slab's lower face at which wall or edge can touch, mm."""
    t, e = slab.thickness_mm, slab.edge_radius_mm
    heights = {0.0, t, t / 2}
    rounds = [e * (1 - math.cos(a)) for a in np.linspace(0.0, math.pi / 2, 7)]
    heights |= {h for r in rounds for h in (r, t - r)}
    for shell, sign in zip(hollow.shells, (1.0, -1.0), strict=True):
        c = shell.crown_radius_mm
        for a in np.linspace(0.0, math.pi / 2, 7):
            z = sign * (shell.depth_mm - c * (1 - math.sin(a)))
            heights.add(z - low)
    return sorted(h for h in heights if 0.0 <= h <= t)


def up_to_half(mm: float) -> float:
    """Round up to half a mm, what a maker sets."""
    return math.ceil(round(mm * 2, 3)) / 2

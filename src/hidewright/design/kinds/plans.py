"""Plans of trays and boxes, and what their walls need to be pressed and cut at a height."""

import math
from typing import Literal

from hidewright.design.carried import Carried
from hidewright.design.fit import Room
from hidewright.design.kinds.limits import about, must_be_at_most
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.slabs import envelope
from hidewright.design.states import DryOutline
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import circle, rectangle, stadium

#: A fingertip goes down into this much room, mm (common practice, no source).
FINGERTIP_MM = 8.0

Plan = Literal["rectangle", "circle", "stadium"]


def plan_outline(plan: Plan, length: float, width: float, corner_radius: float) -> Outline:
    """Return a plan centred on the origin, its length along y, all one span ``rim``.

    A circle takes the width as its diameter; circle and stadium take no corner radius. All plans
    are their own mirror images.

    Raises:
        RequestError: When a measure does not go with the others, naming it.
    """
    if plan == "circle":
        return circle(width / 2)
    if plan == "stadium":
        with about("width"):
            return stadium(length, width).rotated(math.pi / 2).renamed(lambda _: "rim")
    with about("corner_radius"):
        return rectangle(width, length, corner_radius).renamed(lambda _: "rim")


def plan_size(plan: Plan, room: Room) -> tuple[float, float]:
    """Return (length, width) of a plan for a room, mm: a circle or stadium reaches the longer."""
    if plan == "circle":
        return max(room.height_mm, room.width_mm), max(room.height_mm, room.width_mm)
    if plan == "stadium":
        return max(room.height_mm, room.width_mm), room.width_mm
    return room.height_mm, room.width_mm


def walled(name: str, role: str, zone: MouldedZone, thickness_mm: float) -> Piece:
    """Return a piece whose walls are all cut at a height: nothing of its flange is left.

    Its outline is the outside of its wall in plan, which is where it ends when it is seen from
    above; the knife goes along the height-trim block, not along this line.
    """
    return Piece(
        name=name,
        role=role,
        outline=DryOutline(offset(zone.outline, thickness_mm)),
        zones=(zone,),
    )


def crown_fits(field: str, crown_radius_mm: float, depth_mm: float) -> None:
    """Refuse a crown radius that leaves no upright wall above it.

    Raises:
        RequestError: With the largest radius.
    """
    must_be_at_most(field, crown_radius_mm, depth_mm, f"the wall is {depth_mm:.1f} mm high")


def finger_depth_mm(carried: tuple[Carried, ...], plan: Outline, depth_mm: float) -> float:
    """Return how deep a fingertip gets down beside the things, at their ends or sides, mm.

    Things lie in the middle: half of the spare room is on either side of them.
    """
    if not carried:
        return depth_mm
    slab = envelope(carried)
    spare = max(plan.height - slab.length_mm, plan.width - slab.width_mm) / 2
    return depth_mm if spare >= FINGERTIP_MM else 0.0

"""Dividers of an open tray: ribs across it, as long as the radii of wall and foot leave them.

A divider's foot is a slot with half-round ends. It stands on the floor, free of the walls: where a
divider ran into a wall, the leather would have to stretch in both directions at once.
"""

import math
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

from hidewright.design.carried import Carried
from hidewright.design.fit import Room, up_to_half
from hidewright.design.island import FLAT_MM, Island
from hidewright.design.kinds.limits import about, must_be_at_least, must_be_at_most
from hidewright.design.kinds.open_tray_measures import OpenTrayMeasures
from hidewright.design.kinds.plans import FINGERTIP_MM
from hidewright.design.slabs import envelope
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.distance import width_across
from hidewright.geometry.offset import offset, offset_all
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import stadium

#: Leather of a flat lining that stays round its windows, mm (common practice, no source).
LINING_WEB_MM = 3.0
#: A divider may miss a limit by this much, mm.
SLACK_MM = 1e-6


def must_be_makeable(m: OpenTrayMeasures, deep_mm: float, thickest_mm: float) -> None:
    """Refuse dividers whose height, width or radii do not go with the other measures.

    Args:
        m: With or without dividers.
        deep_mm: Depth of the zone inside, over its flange.
        thickest_mm: All moulded leather, from the inside out.

    Raises:
        RequestError: With the limit.
    """
    if not m.dividers_mm:
        return
    must_be_at_most(
        "divider_height",
        m.divider_height_mm,
        min(m.depth_mm, deep_mm - thickest_mm),
        f"the tray is {m.depth_mm:g} mm deep, and the leather must stay over the mould's base",
    )
    must_be_at_most(
        "divider_top_radius",
        m.divider_top_radius_mm,
        m.divider_height_mm,
        f"the divider is {m.divider_height_mm:g} mm high",
    )
    takes = 2.0 * (thickest_mm + m.divider_top_radius_mm)
    must_be_at_least(
        "divider_width",
        m.divider_width_mm,
        takes,
        f"leather on both sides and the rounding of the block between take {takes:.1f} mm",
    )


def flat_mm(m: OpenTrayMeasures) -> float:
    """Return how much flat floor stays between two roundings, mm."""
    return LINING_WEB_MM if m.lining == "flat" else FLAT_MM


def plans_of(m: OpenTrayMeasures, plan: Outline) -> tuple[Outline, ...]:
    """Return the dividers' feet inside, in the order of their places, mm.

    Args:
        m: With or without dividers.
        plan: The tray's, inside.

    Raises:
        RequestError: Names the divider and where it may stand.
    """
    places = sorted(m.dividers_mm)
    if not places:
        return ()
    near_end = plan.bounds[1]
    half = m.divider_width_mm / 2.0
    with about("divider_width"):
        middles = _middles(m, plan)
    low, high = (end - near_end for end in (middles.bounds[1], middles.bounds[3]))
    for number, place in enumerate(places, 1):
        if not low - SLACK_MM <= place <= high + SLACK_MM:
            raise RequestError(
                f"divider {number} at {place:g} mm",
                because="its foot would come into the rounding between wall and floor",
                mend=f"Give a place from {math.ceil(low * 10) / 10:g} to "
                f"{math.floor(high * 10) / 10:g} mm, or smaller radii",
                where="measures.dividers",
            )
    apart = m.divider_width_mm + 2.0 * m.divider_foot_radius_mm + flat_mm(m)
    for number, (one, two) in enumerate(pairwise(places), 1):
        if two - one < apart - SLACK_MM:
            raise RequestError(
                f"dividers {number} and {number + 1} at {one:g} and {two:g} mm",
                because=f"width, foot radii and a little flat floor take {apart:.1f} mm",
                mend=f"Give places at least {apart:.1f} mm apart",
                where="measures.dividers",
            )
    feet: list[Outline] = []
    for place in places:
        y = min(max(near_end + place, middles.bounds[1]), middles.bounds[3])
        across = width_across(middles, y)
        feet.append(stadium(across + 2.0 * half, 2.0 * half).moved(0.0, y))
    return tuple(feet)


def _middles(m: OpenTrayMeasures, plan: Outline) -> Outline:
    """Return within which line the middles of a divider's half-round ends may lie.

    Raises:
        RequestError: When the tray is too narrow for any.
    """
    inset = m.crown_radius_mm + flat_mm(m) + m.divider_foot_radius_mm + m.divider_width_mm / 2.0
    left = offset_all(plan, -inset)
    if len(left) != 1:
        raise RequestError(
            f"a divider {m.divider_width_mm:g} mm wide",
            because="the roundings at its foot and at the walls leave no room for it on the floor "
            f"of a tray {min(plan.width, plan.height):g} mm wide",
            mend="Give a narrower divider, smaller radii or a wider tray",
        )
    return left[0].outer


def islands(
    m: OpenTrayMeasures, plans: tuple[Outline, ...], side_mm: float, raised_mm: float, top_mm: float
) -> tuple[Island, ...]:
    """Return the dividers of one layer.

    Args:
        m: Gives height and foot radius, inside.
        plans: Their feet inside.
        side_mm: How far further out than the inside this layer lies.
        raised_mm: How much lower than the inside floor this layer's lies under a flat lining.
        top_mm: Radius round the top on its far side.
    """
    return tuple(
        Island(
            name=f"divider {number}",
            outline=DryOutline(offset(plan, -side_mm)),
            height_mm=m.divider_height_mm + raised_mm,
            top_radius_mm=top_mm,
            foot_radius_mm=m.divider_foot_radius_mm + side_mm,
        )
        for number, plan in enumerate(plans, 1)
    )


def compartments_sized(
    m: OpenTrayMeasures,
    carried: tuple[Carried, ...],
    room_of: Callable[[tuple[Carried, ...]], Room],
) -> tuple[Room, OpenTrayMeasures]:
    """Return the room in all and the measures with dividers between the things, in their order.

    Args:
        m: With its dividers; each compartment takes one kind of thing.
        carried: What goes in, from the near end on.
        room_of: The smallest tray for something alone.

    Raises:
        RequestError: When there are not as many compartments as kinds of things.
    """
    if len(carried) != len(m.dividers_mm) + 1:
        raise RequestError(
            f"{len(carried)} kinds of things for {len(m.dividers_mm) + 1} compartments",
            because="each compartment is made to fit one kind of thing",
            mend="Give one divider fewer than kinds of things, or size the tray by hand",
            where="measures.dividers",
        )
    rooms = [room_of((one,)) for one in carried]
    between = m.divider_width_mm + 2.0 * m.divider_foot_radius_mm
    places, end = [], 0.0
    for number, (one, room) in enumerate(zip(carried, rooms, strict=True)):
        # beside a divider's foot there is no rounded wall to keep off
        at_wall = (room.height_mm - envelope((one,)).length_mm) / 2.0
        walls = (number == 0) + (number == len(carried) - 1)
        end += up_to_half(room.height_mm - (2 - walls) * at_wall)
        places.append(end + between / 2.0)
        end += between
    whole = Room(
        width_mm=max(room.width_mm for room in rooms),
        height_mm=end - between,
        depth_mm=max(room.depth_mm for room in rooms),
    )
    return whole, replace(m, dividers_mm=tuple(places[:-1]))


def finger_room_mm(carried: tuple[Carried, ...], plan: Outline, depth_mm: float) -> float:
    """Return how deep a fingertip gets down at the sides of every thing between dividers, mm."""
    widest = max((envelope((one,)).width_mm for one in carried), default=0.0)
    return depth_mm if (plan.width - widest) / 2.0 >= FINGERTIP_MM else 0.0

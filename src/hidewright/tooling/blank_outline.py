"""The rough blank: round the pieces on it, with margin, soaked as it is pressed and dry as cut."""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank
from hidewright.design.drying import BlankDrying
from hidewright.design.piece import Piece
from hidewright.design.pressed_zone import PressedZone
from hidewright.design.size_change import Change
from hidewright.design.states import (
    REFIT_MM,
    FormedOutline,
    formed_from_dry,
)
from hidewright.errors import RequestError
from hidewright.geometry.boolean import union
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.offset import offset_all
from hidewright.geometry.outline import Outline, joined
from hidewright.geometry.segment import Segment
from hidewright.tooling.pressed import put

#: Notches of the outline narrower than twice this are bridged: the knife goes straight on, mm.
BRIDGED_MM = 15.0
#: The edge begins at its joint furthest this way.
FIRST_WAY = (math.cos(1.0), math.sin(1.0))
#: An outline this far inside another everywhere adds nothing to it, mm.
COVERED_MM = 0.05


def formed_blank_edge(
    blank: Blank,
    pieces: Sequence[Piece],
    zones: Sequence[PressedZone],
    drying: BlankDrying,
    within_mm: float = REFIT_MM,
) -> FormedOutline:
    """Return the edge of the blank as it lies pressed, in the blank's frame.

    The pieces' outlines are taken as they lie before drying. The margin is added to that, round all
    pieces and plugs together, and notches are bridged.

    Args:
        blank: Gives the margin.
        pieces: All pieces it names, perhaps more.
        zones: What is pressed into it, from ``pressed_zones`` with the same drying.
        drying: Formed to dry.
        within_mm: How far the arcs of the pieces before drying may be from where they lie.

    Raises:
        RequestError: When the pieces lie so far apart that they are not one blank.
    """
    by_name = {piece.name: piece for piece in pieces}
    flat: list[Outline] = [zone.plug for zone in zones]
    for place in blank.places:
        piece = by_name[place.piece]
        flat.append(
            put(formed_from_dry(piece.outline, drying.flange(piece.name), within_mm), place)
        )
    return FormedOutline(_round_all(blank, flat))


def soaking(blank: Blank, pieces: Sequence[Piece], leather: Leather) -> Change:
    """Return cut to soaked of a blank, in its frame; its first piece tells the backbone."""
    first = blank.places[0]
    angle = next(p.stretch_angle for p in pieces if p.name == first.piece) + first.turn
    return Change(
        along=1.0 + leather.soak_growth_along,
        across=1.0 + leather.soak_growth_across,
        angle=angle,
    )


def _round_all(blank: Blank, flat: Sequence[Outline]) -> Outline:
    wide = [offset_all(one, blank.margin_mm + BRIDGED_MM)[0].outer for one in _outermost(flat)]
    whole = wide.pop(0)
    while wide:
        for i, one in enumerate(wide):
            regions = union(whole, one)
            if len(regions) == 1:
                whole = regions[0].outer
                del wide[i]
                break
        else:
            raise RequestError(
                f"blank {blank.name}: its pieces lie too far apart",
                because=f"with a margin of {blank.margin_mm:g} mm round each they do not touch",
                mend="Place them nearer to one another, or give each a blank of its own",
            )
    back = offset_all(whole, -BRIDGED_MM)
    return _begun_alike(joined(back[0].outer.segments))


def _begun_alike(around: Sequence[Segment]) -> Outline:
    """Return an outline that begins at the joint furthest along a slanting line.

    A slider moved a little then gives the same outline but for its measures; along an axis two
    joints of a symmetrical blank would lie equally far.
    """
    first = max(range(len(around)), key=lambda i: float(np.dot(FIRST_WAY, around[i].start)))
    return Outline((*around[first:], *around[:first]))


def _outermost(flat: Sequence[Outline]) -> list[Outline]:
    """Return outlines without those that lie wholly inside another."""
    by_size = sorted(flat, key=lambda one: -one.area)
    return [
        one
        for i, one in enumerate(by_size)
        if not any(
            signed_distances(other, one.flat_points()).min() > COVERED_MM for other in by_size[:i]
        )
    ]

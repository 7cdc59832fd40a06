"""Lidded box: a moulded base, and a moulded lid that closes over it with a stated slide fit.

Both are moulded crown up and cut at a height; the base is turned over, so that its crown is the
floor. The lid's crown comes to rest on the base's rim.
"""

import math
from dataclasses import dataclass, replace

from hidewright.catalogue.leathers import Leather
from hidewright.design.blank import Blank, PiecePlace
from hidewright.design.carried import Carried
from hidewright.design.design import Design
from hidewright.design.fit import corner_going_in, room_for
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds import usual
from hidewright.design.kinds.arches import TURNED_OVER
from hidewright.design.kinds.limits import must_be_at_least, must_be_at_most, raised_to_least
from hidewright.design.kinds.plans import (
    Plan,
    crown_fits,
    finger_depth_mm,
    plan_outline,
    plan_size,
    walled,
)
from hidewright.design.measure import check_limits, choice, measure
from hidewright.design.piece import MouldedZone, Piece
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.design.specification import Brief, Kind
from hidewright.design.states import DryOutline
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline

#: Upright wall of the lid that must slide on the base, mm (common practice, no source).
SLIDING_MM = 3.0
#: A new box's base shows at least this much below its lid, to be held by, mm (common practice).
HELD_BY_MM = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LiddedBoxMeasures:
    """Measures of a lidded box, all of the dry article."""

    plan: Plan = choice("rectangle", "shape seen from above")
    length_mm: float = measure(
        "length", 96.5, "inside length of the base; a circle takes the width", low=15, high=500
    )
    width_mm: float = measure("length", 55.5, "inside width of the base", low=15, high=500)
    depth_mm: float = measure(
        "length", 15.5, "inside depth of the base, from floor to rim", low=5, high=60
    )
    corner_radius_mm: float = measure(
        "length", 12.0, "plan radius of the corners of a rectangle, inside", low=1, high=250
    )
    crown_radius_mm: float = usual.crown_radius(
        5.0, "inside radius between wall and floor of the base"
    )
    lid_depth_mm: float = measure(
        "length", 10.0, "how far the lid comes down over the base", low=4, high=60
    )
    lid_crown_radius_mm: float = measure(
        "length", 4.0, "inside radius between wall and top of the lid", low=0.5, high=30
    )
    slide_fit_mm: float = measure(
        "length", 0.3, "room between lid and base on every side", low=0.05, high=2
    )
    lip_radius_mm: float = usual.lip_radius(3.0)
    cut_height_mm: float = measure(
        "length", 5.0, "how far above the flange the walls are cut", low=2, high=40
    )
    finger_room_mm: float = measure(
        "length", 8.0, "room for a fingertip at each end of what is carried", low=0, high=40
    )
    held_mm: float = usual.held()


def construct(brief: Brief[LiddedBoxMeasures]) -> Design:
    """Return the box: base and lid, each on a blank of its own."""
    m = brief.measures
    check_limits(m, "measures")
    leather = brief.leather("body")
    _must_close(m, leather)
    thickness = leather.thickness_mm
    plan = _plan(m)
    base = _piece(m, "base", plan, m.depth_mm, m.crown_radius_mm, thickness)
    over = offset(plan, thickness + m.slide_fit_mm)
    lid = _piece(m, "lid", over, m.lid_depth_mm, m.lid_crown_radius_mm, thickness)
    down = rests_above_mm(m) - m.lid_depth_mm - m.cut_height_mm
    return Design(
        name=brief.name,
        kind=brief.kind,
        carried=brief.carried,
        leathers=brief.leathers,
        pieces=(base, lid),
        seams=(),
        blanks=(_blank(m, base, "bottom"), _blank(m, lid, "lid")),
        hollows=(_hollow(m, brief.carried),),
        assembly=Assembly(
            panels=(
                Panel(
                    name="base",
                    piece="base",
                    pose=TURNED_OVER.then(Pose(shift=(0.0, 0.0, m.cut_height_mm))),
                ),
                Panel(name="lid", piece="lid", pose=Pose(shift=(0.0, 0.0, down))),
            )
        ),
        thread=brief.thread,
        held_by="lid with slide fit",
    )


def sized_for(m: LiddedBoxMeasures, carried: tuple[Carried, ...]) -> LiddedBoxMeasures:
    """Return the measures with the base made to fit what is carried, fingertips at both ends.

    The lid is made lower where the base would not show enough below it to be held by.
    """
    corner = corner_going_in(m.corner_radius_mm, m.crown_radius_mm, carried)

    def sized(length: float, width: float, depth: float) -> LiddedBoxMeasures:
        deep = max(depth, m.crown_radius_mm, m.lid_crown_radius_mm + SLIDING_MM)
        sizes = replace(m, length_mm=length, width_mm=width, depth_mm=deep)
        return raised_to_least(replace(sizes, corner_radius_mm=corner))

    room = room_for(carried, lambda r: _hollow(sized(*plan_size(m.plan, r), r.depth_mm), carried))
    longer = replace(room, height_mm=room.height_mm + 2 * m.finger_room_mm)
    box = sized(*plan_size(m.plan, longer), longer.depth_mm)
    shows = min(m.lid_depth_mm, box.depth_mm - HELD_BY_MM)
    return raised_to_least(
        replace(box, lid_depth_mm=max(shows, m.lid_crown_radius_mm + SLIDING_MM))
    )


def rests_above_mm(m: LiddedBoxMeasures) -> float:
    """Return how far above the base's rim the lid's inside comes to rest, mm.

    The rim's outer edge stands one slide fit from the lid's wall. There the lid's crown, an arc of
    radius r tangent to wall and top, is r - sqrt(r^2 - (r - slide)^2) below the top.
    """
    r, s = m.lid_crown_radius_mm, m.slide_fit_mm
    return r - math.sqrt(r * r - (r - s) ** 2) if s < r else 0.0


def _must_close(m: LiddedBoxMeasures, leather: Leather) -> None:
    crown_fits("crown_radius", m.crown_radius_mm, m.depth_mm)
    spread = (leather.thickness_max_mm - leather.thickness_min_mm) / 2
    must_be_at_least(
        "slide_fit",
        m.slide_fit_mm,
        spread,
        f"the thickest {leather.name} is {spread:g} mm over the middle of its range, and the lid "
        "would not go on",
    )
    must_be_at_least(
        "lid_depth",
        m.lid_depth_mm,
        m.lid_crown_radius_mm + SLIDING_MM,
        f"at least {SLIDING_MM:g} mm of the lid's wall must slide upright on the base",
    )
    most = m.depth_mm + leather.thickness_mm
    must_be_at_most(
        "lid_depth",
        m.lid_depth_mm,
        most,
        f"the base is only {most:.1f} mm high outside, and the lid would stand on the table",
    )


def _plan(m: LiddedBoxMeasures) -> Outline:
    return plan_outline(m.plan, m.length_mm, m.width_mm, m.corner_radius_mm)


def _piece(
    m: LiddedBoxMeasures, name: str, inside: Outline, depth: float, crown: float, thickness: float
) -> Piece:
    zone = MouldedZone(
        name="hollow",
        outline=DryOutline(inside),
        depth_mm=depth + m.cut_height_mm,
        crown_radius_mm=crown,
        lip_radius_mm=m.lip_radius_mm,
        edges=(("rim", "cut at height"),),
        cut_height_mm=m.cut_height_mm,
    )
    return walled(name, "body", zone, thickness)


def _blank(m: LiddedBoxMeasures, piece: Piece, name: str) -> Blank:
    return Blank(
        name=name,
        places=(PiecePlace(piece=piece.name),),
        role="body",
        margin_mm=m.lip_radius_mm + m.held_mm,
    )


def _hollow(m: LiddedBoxMeasures, carried: tuple[Carried, ...]) -> Hollow:
    """Return the base's room up to its rim; what the lid's rounding leaves above it is spare."""
    plan = _plan(m)
    return Hollow(
        name="base/hollow",
        outline=DryOutline(plan),
        shells=(
            Shell(depth_mm=0.0, crown_radius_mm=0.0),
            Shell(depth_mm=m.depth_mm, crown_radius_mm=m.crown_radius_mm),
        ),
        grip_mm=finger_depth_mm(carried, plan, m.depth_mm),
    )


LIDDED_BOX = Kind(
    name="lidded box",
    title="a moulded base and a moulded lid that closes over it with a slide fit",
    leathers=(("body", "vegetable-tanned shoulder 1.8-2.0 mm"),),
    carries=("specimen labels",),
    measures=LiddedBoxMeasures,
    construct=construct,
    sized_for=sized_for,
    own_fields=(
        ("lid", "measures.depth", "measures.lid_depth"),
        ("lid", "measures.crown_radius", "measures.lid_crown_radius"),
        ("lid", "measures.corner_radius", ""),  # it follows the base's
    ),
)

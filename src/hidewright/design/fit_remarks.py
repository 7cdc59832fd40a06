"""What stands in the way of putting the things in, holding them and drawing them out."""

import math

import numpy as np

from hidewright.design.carried import Carried
from hidewright.design.fit import TOUCH_MM, below_mouth, clearance_in, up_to_half
from hidewright.design.fit_beside import clearance_beside
from hidewright.design.hollow import Hollow
from hidewright.design.slabs import Slab, envelope, slab_of
from hidewright.errors import Remark, Remedy
from hidewright.geometry.distance import width_across

#: How much of a thing must be gripped to draw it out, mm (common practice, no source).
GRIP_MM = 8.0
#: Share of a hollow that small loose things fill (random packing of discs about 0.55-0.6).
LOOSE_FILL = 0.55


def fit_remarks(
    hollow: Hollow,
    carried: tuple[Carried, ...],
    held_by: str,
    remedies: tuple[Remedy, ...] = (),
) -> tuple[Remark, ...]:
    """Return what stands in the way of putting the things in, holding them and drawing them out.

    Args:
        hollow: The dry room.
        carried: What goes in.
        held_by: What keeps it in; empty if nothing does.
        remedies: Changes of the design file with which everything would fit.
    """
    if not carried:
        return (
            Remark(
                code="nothing-carried",
                severity="note",
                place=hollow.name,
                sentence="Nothing is carried, so the hollow is not checked against anything.",
            ),
        )
    slab = envelope(carried)
    below = below_mouth(carried)
    sizes = _size_remarks(hollow, slab, below, remedies)
    if hollow.islands and not hollow.mouth:
        sizes = _beside_remarks(hollow, carried)
    remarks = [*sizes, *_loose_remarks(hollow, carried)]
    remarks += _way_remarks(hollow, slab, carried, remedies)
    if hollow.mouth and not held_by:
        remarks.append(
            Remark(
                code="nothing-holds-it",
                severity="warning",
                place=hollow.name,
                sentence="Nothing named holds the things in: they can fall out of the mouth.",
            )
        )
    return tuple(remarks)


def _size_remarks(
    hollow: Hollow, slab: Slab, below_mouth_mm: float, remedies: tuple[Remedy, ...]
) -> list[Remark]:
    room = clearance_in(hollow, slab, below_mouth_mm)
    if room >= -TOUCH_MM:
        return []
    if hollow.depth_mm < slab.thickness_mm - TOUCH_MM and not hollow.is_open:
        need = up_to_half(slab.thickness_mm)
        return [
            Remark(
                code="too-thick",
                severity="forbids",
                place=hollow.name,
                amount=hollow.depth_mm,
                limit=need,
                sentence=(
                    f"With its clearance what is carried is {slab.thickness_mm:.1f} mm thick; "
                    f"the hollow is {hollow.depth_mm:.1f} mm deep inside."
                ),
                remedies=remedies,
            )
        ]
    sentence = (
        f"With its clearances what is carried is {slab.width_mm:.1f} x {slab.length_mm:.1f} mm and "
        f"touches the inside of wall, crown or corners by {-room:.1f} mm."
    )
    return [_too_tight(hollow, room, sentence, remedies)]


def _too_tight(
    hollow: Hollow, room_mm: float, sentence: str, remedies: tuple[Remedy, ...] = ()
) -> Remark:
    return Remark(
        code="too-tight",
        severity="forbids",
        place=hollow.name,
        amount=room_mm,
        limit=0.0,
        sentence=sentence,
        remedies=remedies,
    )


def _beside_remarks(hollow: Hollow, carried: tuple[Carried, ...]) -> list[Remark]:
    """Say when things do not lie beside the dividers of a hollow."""
    laid = [envelope((one,)) for one in carried if one.arrangement != "loose"]
    room = clearance_beside(hollow, laid)
    if room >= -TOUCH_MM:
        return []
    sentence = (
        "Laid in beside the dividers one after another, with their clearances, the things touch "
        f"wall, dividers or one another by {-room:.1f} mm."
    )
    return [_too_tight(hollow, room, sentence)]


def _way_remarks(
    hollow: Hollow, slab: Slab, carried: tuple[Carried, ...], remedies: tuple[Remedy, ...]
) -> list[Remark]:
    if not hollow.mouth:
        return _reach_remarks(hollow, slab)
    found: list[Remark] = []
    bottom = hollow.outline.bounds[1]
    narrowest, wide = _tightest_place(hollow, slab, below_mouth(carried))
    if narrowest < wide - TOUCH_MM:
        found.append(
            Remark(
                code="way-in-too-narrow",
                severity="forbids",
                place=hollow.name,
                amount=narrowest,
                limit=wide,
                sentence=(
                    f"On its way in the thing passes a place {narrowest:.1f} mm wide; it needs "
                    f"{wide:.1f} mm."
                ),
                remedies=remedies,
            )
        )
    length = max(slab_of(c).length_mm for c in carried)
    proud = bottom + length - hollow.mouth_y_mm
    grip = hollow.grip_mm + proud
    if grip < GRIP_MM:
        found.append(
            Remark(
                code="hard-to-grip",
                severity="warning",
                place=hollow.name,
                amount=max(grip, 0.0),
                limit=GRIP_MM,
                sentence=(
                    f"Only {max(grip, 0.0):.1f} mm of the thing can be gripped when it is pushed "
                    f"home; {GRIP_MM:g} mm is wanted, by a deeper thumb notch or a lower mouth."
                ),
            )
        )
    return found


def _reach_remarks(hollow: Hollow, slab: Slab) -> list[Remark]:
    """Say when fingers cannot take a thing out of a hollow it is laid into from above."""
    proud = max(slab.thickness_mm - hollow.depth_mm, 0.0)
    grip = hollow.grip_mm + proud
    wanted = min(GRIP_MM, hollow.depth_mm)
    if grip >= wanted:
        return []
    return [
        Remark(
            code="hard-to-take-out",
            severity="note",
            place=hollow.name,
            amount=grip,
            limit=wanted,
            sentence=(
                f"Fingers reach only {grip:.1f} mm down beside the thing; {wanted:g} mm is "
                "wanted: leave room for a finger, or tip it out."
            ),
        )
    ]


def _tightest_place(hollow: Hollow, slab: Slab, below_mouth_mm: float) -> tuple[float, float]:
    """Return (width of the hollow, width that passes there) where least room is left, mm.

    At a place as much passes as comes to rest further in: all of a slab over its middle; of a
    thing with an outline of its own, the widest that it is from there inwards.
    """
    stop = hollow.mouth_y_mm - 0.1
    if slab.outline is None:
        rest = hollow.outline.bounds[1] + slab.length_mm / 2
        places = [(float(y), slab.width_mm) for y in np.linspace(min(rest, stop), stop, 25)]
    else:
        top = hollow.mouth_y_mm - below_mouth_mm
        points = slab.plan.flat_points() + np.array([0.0, top - slab.length_mm / 2])
        inner = max(float(points[:, 1].min()), hollow.outline.bounds[1]) + 0.1
        places = []
        for y in np.linspace(min(inner, stop), stop, 50):
            passing = points[points[:, 1] <= y, 0]
            places.append((float(y), float(np.ptp(passing)) if len(passing) else 0.0))
    widths = [(width_across(hollow.outline, y), wide) for y, wide in places]
    return min(widths, key=lambda pair: pair[0] - pair[1])


def _loose_remarks(hollow: Hollow, carried: tuple[Carried, ...]) -> list[Remark]:
    loose = [c for c in carried if c.arrangement == "loose"]
    if not loose:
        return []
    solid = math.fsum(c.count * _volume(slab_of(c)) for c in loose)
    floor = hollow.outline.area - math.fsum(one.area for one in hollow.islands)
    inside = floor * hollow.depth_mm
    share = solid / inside
    if share <= LOOSE_FILL:
        return []
    fit = math.floor(LOOSE_FILL * inside / solid * sum(c.count for c in loose))
    return [
        Remark(
            code="too-many",
            severity="forbids",
            place=hollow.name,
            amount=share,
            limit=LOOSE_FILL,
            sentence=(
                f"The loose things would fill {share:.0%} of the hollow; about {LOOSE_FILL:.0%} "
                f"is what tumbles in. About {fit} of them fit."
            ),
        )
    ]


def _volume(slab: Slab) -> float:
    return slab.plan.area * slab.thickness_mm

"""A flap or strap that climbs over a moulded part by two folds: its fold lines and its panels."""

import math

from hidewright.design.folds import HingeStrip
from hidewright.design.piece import Fold
from hidewright.design.pose import Hinge, Panel, Pose
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import line

#: Room between flap or strap and what it folds over, and between mouth and hinge, mm.
HINGE_ROOM_MM = 0.5


def hinge_folds(strip: HingeStrip, half_width_mm: float) -> tuple[Fold, ...]:
    """Return the two folds of a hinge that begins half a mm above the mouth at y = 0.

    Args:
        strip: From ``hinge_strip``.
        half_width_mm: The fold lines run from this x to its negative.
    """
    middles = (
        HINGE_ROOM_MM + strip.bend_mm / 2,
        HINGE_ROOM_MM + strip.developed_mm - strip.bend_mm / 2,
    )
    return tuple(
        Fold(
            name=f"hinge {i + 1}",
            line=Path((line((half_width_mm, y), (-half_width_mm, y)),)),
            angle=math.pi / 2,
            inside_radius_mm=strip.inside_radius_mm,
            k_factor=0.5,
            strip_mm=strip.bend_mm,
            glue_free_mm=strip.bend_mm + 6.0,
        )
        for i, y in enumerate(middles)
    )


def hinge_panels(
    piece: str, strip: HingeStrip, pose: Pose, names: tuple[str, str, str]
) -> tuple[Panel, Panel, Panel]:
    """Return what lies below the mouth, the strip between the folds, and what comes down in front.

    Args:
        piece: Name of the piece; it folds towards its flesh side.
        strip: From ``hinge_strip``.
        pose: Where the part below the mouth lies.
        names: Of the three panels, in that order.
    """
    first = HINGE_ROOM_MM
    second = first + strip.bend_mm + strip.straight_mm
    below = Panel(name=names[0], piece=piece, pose=pose, high_y=first)
    hinge = Panel(
        name=names[1],
        piece=piece,
        low_y=first + strip.bend_mm,
        high_y=second,
        hinge=_quarter(names[0], first, strip),
    )
    front = Panel(
        name=names[2],
        piece=piece,
        low_y=second + strip.bend_mm,
        hinge=_quarter(names[1], second, strip),
    )
    return below, hinge, front


def _quarter(parent: str, y: float, strip: HingeStrip) -> Hinge:
    return Hinge(
        parent=parent,
        start=(0.0, y),
        direction=(1.0, 0.0),
        angle=math.pi / 2,
        strip_mm=strip.bend_mm,
        neutral_mm=strip.neutral_mm,
    )

"""A flap or strap that climbs over a moulded part by two folds: its fold lines and its panels."""

import math

from hidewright.design.folds import GLUE_FREE_BESIDE_MM, HingeStrip
from hidewright.design.piece import Fold
from hidewright.design.pose import Hinge, Panel, Pose
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import line

#: Room between flap or strap and what it folds over, and between mouth and hinge, mm.
HINGE_ROOM_MM = 0.5


#: A fold towards the flesh side, grain outside; its negative is that of a lining, grain inside.
GRAIN_OUT = math.pi / 2


def hinge_folds(
    strip: HingeStrip, half_width_mm: float, *, angle: float = GRAIN_OUT, lined: bool = False
) -> tuple[Fold, ...]:
    """Return the two folds of a hinge that begins half a mm above the mouth at y = 0.

    Args:
        strip: From ``hinge_strip``.
        half_width_mm: The fold lines run from this x to its negative.
        angle: Of each fold, radians.
        lined: Whether another layer is glued to it on either side of the hinge. Then the whole
            strip stays free of glue, so that the layers can move on one another there; otherwise
            only the bends do.
    """
    middles = (
        HINGE_ROOM_MM + strip.bend_mm / 2,
        HINGE_ROOM_MM + strip.developed_mm - strip.bend_mm / 2,
    )
    outer = (strip.bend_mm + 2 * GLUE_FREE_BESIDE_MM) / 2
    inner = (strip.bend_mm + strip.straight_mm) / 2 if lined else outer
    # the lines run towards -x: the part below the mouth lies to their left
    return tuple(
        Fold(
            name=f"hinge {i + 1}",
            line=Path((line((half_width_mm, y), (-half_width_mm, y)),)),
            angle=angle,
            inside_radius_mm=strip.inside_radius_mm,
            k_factor=0.5,
            strip_mm=strip.bend_mm,
            glue_free_mm=free,
        )
        for i, (y, free) in enumerate(zip(middles, ((outer, inner), (inner, outer)), strict=True))
    )


def hinge_panels(
    piece: str,
    strip: HingeStrip,
    pose: Pose,
    names: tuple[str, str, str],
    angle: float = GRAIN_OUT,
) -> tuple[Panel, Panel, Panel]:
    """Return what lies below the mouth, the strip between the folds, and what comes down in front.

    Args:
        piece: Name of the piece.
        strip: From ``hinge_strip`` with K = 0.5, so that whichever face is inside, its middle
            keeps its length.
        pose: Where the part below the mouth lies.
        names: Of the three panels, in that order.
        angle: Of each fold, radians; positive folds towards the flesh side.
    """
    first = HINGE_ROOM_MM
    second = first + strip.bend_mm + strip.straight_mm
    below = Panel(name=names[0], piece=piece, pose=pose, high_y=first)
    hinge = Panel(
        name=names[1],
        piece=piece,
        low_y=first + strip.bend_mm,
        high_y=second,
        hinge=_bent(names[0], first, strip, angle),
    )
    front = Panel(
        name=names[2],
        piece=piece,
        low_y=second + strip.bend_mm,
        hinge=_bent(names[1], second, strip, angle),
    )
    return below, hinge, front


def _bent(parent: str, y: float, strip: HingeStrip, angle: float) -> Hinge:
    return Hinge(
        parent=parent,
        start=(0.0, y),
        direction=(1.0, 0.0),
        angle=angle,
        strip_mm=strip.bend_mm,
        neutral_mm=strip.neutral_mm,
    )

"""What kinds with an open mouth share: the "U" of a shell with its flange, and its thumb notch."""

import math

from hidewright.design.fit import up_to_half
from hidewright.design.pose import Pose
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Segment, arc, line
from hidewright.geometry.shapes import arch

#: Looked at from behind: x and z turned over about the y axis.
TURNED_OVER = Pose(rotation=((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0)))


def flanged_arch(width: float, height: float, corner_radius: float, flange: float) -> Outline:
    """Return the trimmed edge of an arch-shaped hollow with an even flange round its rim."""
    return arch(width + 2 * flange, height + flange, corner_radius + flange)


def notch_going_in(radius_mm: float, width_mm: float, crown_mm: float) -> float:
    """Return a thumb notch's radius, made smaller where it would take up a narrow mouth, mm."""
    return max(min(radius_mm, up_to_half(width_mm / 3) - crown_mm), 0.0)


def notched(trimmed: Outline, radius: float, room: float) -> Outline:
    """Return an arch with a half-round thumb notch in the middle of its mouth.

    Args:
        trimmed: An arch whose straight span ``mouth`` lies on y = 0.
        radius: Of the notch, mm.
        room: Half the width in which a notch may lie, mm.

    Returns:
        The mouth becomes ``mouth right``, ``notch``, ``mouth left``.
    """
    if radius > room:
        raise RequestError(
            f"thumb notch of {radius:g} mm radius",
            because=f"only {room:.1f} mm beside the middle of the mouth is flat",
            mend=f"Give at most {room:.1f} mm",
            where="measures.notch_radius",
        )
    (right, _), (left, _) = trimmed.segments[0].start, trimmed.segments[0].end
    cut: tuple[Segment, ...] = (
        line((right, 0.0), (radius, 0.0), "mouth right"),
        arc((0.0, 0.0), (radius, 0.0), -math.pi, "notch"),
        line((-radius, 0.0), (left, 0.0), "mouth left"),
    )
    return Outline((*cut, *trimmed.segments[1:]))

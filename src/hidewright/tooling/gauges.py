"""Radius gauges: an angle that fits over an edge eased to its radius."""

import math
from collections.abc import Iterable

from hidewright.catalogue.boards import Board
from hidewright.design.part import Label, Part
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import arc, line

#: Width of a gauge's arms, and their length beyond the rounding, mm.
ARM_MM, REACH_MM = 8.0, 10.0


def radius_gauges(blank: str, radii: Iterable[float], board: Board) -> tuple[Part, ...]:
    """Return one gauge for each different radius of crowns and lips.

    Both are outer edges of the board, eased: the gauge's arms lie on its two faces and its inner
    corner is filled by a quarter round of the same radius, which shows light where the edge is off.
    """
    different = sorted({round(r, 2) for r in radii})
    return tuple(
        Part(
            name=f"{blank} radius gauge {radius:g} mm",
            role="radius gauge",
            board=board,
            outline=gauge_outline(radius, max(ARM_MM, board.min_web_mm)),
            labels=(
                Label(
                    words=f"R {radius:g}",
                    at=((max(ARM_MM, board.min_web_mm) + radius + REACH_MM) / 2, ARM_MM / 2),
                    height_mm=3.0,
                ),
            ),
            note="Lay both arms on the faces: where no light shows between, the edge is right.",
        )
        for radius in different
    )


def gauge_outline(radius: float, arm_mm: float) -> Outline:
    """Return the gauge for one radius, its outer corner at the origin, mm."""
    end = arm_mm + radius + REACH_MM
    centre = (arm_mm + radius, arm_mm + radius)
    inner = arc(centre, (arm_mm + radius, arm_mm), -math.pi / 2)
    return Outline(
        (
            line((0.0, 0.0), (end, 0.0)),
            line((end, 0.0), (end, arm_mm)),
            line((end, arm_mm), inner.start),
            inner,
            line(inner.end, (arm_mm, end)),
            line((arm_mm, end), (0.0, end)),
            line((0.0, end), (0.0, 0.0)),
        )
    )

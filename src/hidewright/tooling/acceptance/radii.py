"""Can every edge be eased to its radius, and does a plate say so where one is asked for."""

import math
from collections.abc import Sequence

from hidewright.design.choices import ToolingChoice
from hidewright.design.fault import Fault
from hidewright.design.part import Easing, MouldTool, Part
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import pieces_left
from hidewright.tooling.acceptance.asked import Asked
from hidewright.tooling.acceptance.stack import PlugStack, Seen

Pressed = Sequence[tuple[PlugStack, tuple[Asked, ...]]]

#: A joint that turns by more is a corner without a radius, radians.
CORNER = math.radians(2.0)
WITHIN_MM = 0.02


def radius_faults(
    pressed: Pressed, parts: Seen, tool: MouldTool, choice: ToolingChoice
) -> list[Fault]:
    """Return radii that do not go round, and easings or gauges that are missing.

    A crown needs every outward turn of the plug at least as round as itself, a lip every inward
    turn at least itself and the gap; each is marked on the plate that carries it. Plates of a crown
    that is cut in steps are at most a third of its radius thick.
    """
    faults: list[Fault] = []
    for stack, mine in pressed:
        crown = min(one.zone.crown_radius_mm for one in mine)
        lip = min(one.zone.lip_radius_mm for one in mine)
        lean = max(one.zone.wall_angle for one in mine)
        comes_in = math.tan(lean) * max(stack.top_mm - crown, 0.0)
        name = mine[0].name
        outward = tightest(stack.foot, 1.0) - comes_in
        inward = tightest(stack.foot, -1.0) - tool.gap_mm / math.cos(lean)
        if outward < crown - WITHIN_MM or crown > stack.top_mm + WITHIN_MM:
            faults.append(_fault("crown-radius-too-large", name, outward, crown))
        elif pieces_left(stack.foot, (), crown + comes_in - WITHIN_MM) != 1:
            faults.append(_fault("crown-radius-too-large", name, 0.0, crown))
        if choice.crown == "stepped":
            thick = choice.mould_board.thickness_mm
            if thick > crown / 3.0 + WITHIN_MM:
                faults.append(_fault("steps-too-coarse", name, thick, crown / 3.0))
        if inward < lip - WITHIN_MM:
            faults.append(_fault("lip-radius-too-large", name, inward, lip))
        if not _eased(stack.plates[-1], crown, "top", "outline"):
            faults.append(_fault("easing-missing", stack.plates[-1].name, 0.0, crown))
        for plate in parts.frame[:1]:
            if not _eased(plate, lip, "bottom", "window"):
                faults.append(_fault("easing-missing", plate.name, 0.0, lip))
        for radius in (crown, lip):
            if not any(_fits(gauge.outline, radius) for gauge in parts.gauges):
                faults.append(_fault("gauge-missing", name, 0.0, radius))
    return faults


def tightest(outline: Outline, sense: float) -> float:
    """Return the smallest radius of outward (+1) or inward (-1) turns, mm; 0 at a corner."""
    radius = math.inf
    segments = outline.segments
    for one, two in zip(segments, segments[1:] + segments[:1], strict=True):
        if one.is_arc and one.bulge * sense > 0:
            radius = min(radius, one.radius)
        (ax, ay), (bx, by) = one.tangent_at(one.length), two.tangent_at(0.0)
        if sense * math.atan2(ax * by - ay * bx, ax * bx + ay * by) > CORNER:
            return 0.0
    return radius


def _eased(part: Part, radius: float, face: str, edge: str) -> bool:
    def is_it(easing: Easing) -> bool:
        return (
            easing.face == face
            and easing.edge == edge
            and abs(easing.radius_mm - radius) < WITHIN_MM
        )

    return any(is_it(easing) for easing in part.easings)


def _fits(gauge: Outline, radius: float) -> bool:
    """Whether a gauge has an inner corner filled to a radius."""
    return any(
        s.is_arc and s.bulge < 0 and abs(s.radius - radius) < WITHIN_MM for s in gauge.segments
    )


def _fault(code: str, part: str, measured: float, allowed: float) -> Fault:
    return Fault(
        code=code,
        part=part,
        measured=measured,
        allowed=allowed,
        sentence=f"{part}: {code.replace('-', ' ')}, {measured:.2f} for {allowed:.2f} mm",
    )

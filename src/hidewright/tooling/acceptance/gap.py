"""The gap between plug and frame, measured everywhere and at every height."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import ToolingChoice
from hidewright.design.fault import Fault
from hidewright.design.part import MouldTool, Part
from hidewright.design.piece import MouldedZone
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import dense_points, distances, inner_point, signed
from hidewright.tooling.acceptance.asked import STEP_MM, Asked
from hidewright.tooling.acceptance.stack import PlugStack, Seen, bored, holds, top_of

Pressed = Sequence[tuple[PlugStack, tuple[Asked, ...]]]

#: The gap may be off by this much anywhere, mm: about what a laser resolves, twice.
GAP_WITHIN_MM = 0.02
#: A hold-down ring stays at least this far outside the frame's window, mm.
RING_CLEAR_MM = 1.0


def gap_faults(
    pressed: Pressed, parts: Seen, leather: Leather, choice: ToolingChoice, tool: MouldTool
) -> list[Fault]:
    """Return where the gap is not the one asked for: gap factor x thickest leather, soaked.

    Every point of a window's edge must be one gap from every plug plate, and every point of the
    plug one gap from the window. Between plates whose wall leans the gap is square to the slope
    that they are sanded to: a plug plate is cut for its lower face and a frame plate for its
    upper one, the narrower of its slope. So is a plug plate of a crown that is cut in steps: its
    lower edge lies on the crown's arc, never within it, and what stands proud above is sanded off.
    """
    faults: list[Fault] = []
    asked_mm = choice.gap_factor * leather.thickness_max_mm * (1 + leather.soak_growth_thickness)
    if abs(tool.gap_mm - asked_mm) > GAP_WITHIN_MM / 4:
        faults.append(_fault(tool.blank, abs(tool.gap_mm - asked_mm), "by the leather's thickness"))
    for plate in parts.frame:
        windows = bored(plate, "window")
        if len(windows) != len(pressed):
            faults.append(_windows(plate, len(windows), len(pressed)))
        for stack, mine in pressed:
            window = next((w for w in windows if holds(w, mine[0].middle)), None)
            if window is None:
                faults.append(_windows(plate, 0, 1))
                continue
            off = _off(window, plate, stack, _Wall.of(mine[0].zone, stack, choice), tool.gap_mm)
            if off > GAP_WITHIN_MM:
                faults.append(_fault(plate.name, off, f"from {stack.plates[0].name}"))
    return faults


def ring_faults(pressed: Pressed, parts: Seen, tool: MouldTool) -> list[Fault]:
    """Return where a hold-down ring would touch the wall it leaves free."""
    faults: list[Fault] = []
    for ring in parts.rings:
        windows = bored(ring, "window")
        if len(windows) != len(pressed):
            faults.append(_windows(ring, len(windows), len(pressed)))
        for window in windows:
            at = np.array([inner_point(window)])
            stack = next((s for s, _ in pressed if holds(s.foot, at)), None)
            if stack is None:
                faults.append(_windows(ring, 1, 0))
                continue
            clear = float(signed(stack.foot, dense_points(window.segments, STEP_MM)).min())
            least = tool.gap_mm + RING_CLEAR_MM
            if clear < least - GAP_WITHIN_MM:
                faults.append(
                    Fault(
                        code="ring-too-near-wall",
                        part=ring.name,
                        measured=clear,
                        allowed=least,
                        sentence=f"{ring.name} comes within {clear:.2f} mm of the plug",
                    )
                )
    return faults


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wall:
    """A plug's wall and, where it is cut in steps, its crown.

    Attributes:
        lean: Of the wall inwards, radians.
        top_mm: Height of the crown's flat.
        radius_mm: Of the crown's arc where it is cut; 0 where it is eased by hand.
    """

    lean: float
    top_mm: float
    radius_mm: float

    @classmethod
    def of(cls, zone: MouldedZone, stack: PlugStack, choice: ToolingChoice) -> "_Wall":
        cut = zone.crown_radius_mm if choice.crown == "stepped" else 0.0
        return cls(lean=zone.wall_angle, top_mm=stack.top_mm, radius_mm=cut)

    def come_in(self, height_mm: float) -> float:
        """Return how far in it must stand at a height, mm.

        Up to where the arc's normal is the wall's it is the wall. The arc's centre lies one radius
        under the top and, square to the wall, one radius inside it.
        """
        wall = height_mm * math.tan(self.lean)
        if not self.radius_mm:
            return wall
        up = height_mm - (self.top_mm - self.radius_mm)
        if up <= self.radius_mm * math.sin(self.lean):
            return wall
        foot = (self.top_mm - self.radius_mm) * math.tan(self.lean)
        beyond = self.radius_mm / math.cos(self.lean)
        reach = self.radius_mm * math.cos(math.asin(min(up / self.radius_mm, 1.0)))
        return foot + beyond - reach


def _off(window: Outline, plate: Part, stack: PlugStack, wall: _Wall, gap_mm: float) -> float:
    """Return by how much the gap round one plug in one frame plate is off at worst, mm."""
    edge = dense_points(window.segments, STEP_MM)
    foot = dense_points(stack.foot.segments, STEP_MM)
    worst, lean = 0.0, wall.lean
    for one in stack.plates:
        come_in = wall.come_in(one.bottom_mm or 0.0)
        wanted = gap_mm / math.cos(lean) - min(top_of(plate), stack.top_mm) * math.tan(lean)
        # the plug plate against its foot, and the window against the plug plate, both ways
        plug = dense_points(one.outline.segments, STEP_MM)
        worst = max(
            worst,
            float(np.abs(signed(stack.foot, plug) + come_in).max()),
            float(np.abs(distances(one.outline.segments, foot) - come_in).max()),
            float(np.abs(signed(one.outline, edge) - (wanted + come_in)).max()),
            float(np.abs(distances(window.segments, plug) - abs(wanted + come_in)).max()),
        )
    return worst


def _windows(plate: Part, found: int, wanted: int) -> Fault:
    return Fault(
        code="window-missing",
        part=plate.name,
        measured=found,
        allowed=wanted,
        sentence=f"{plate.name} has {found} windows where {wanted} are wanted",
    )


def _fault(part: str, off: float, where: str) -> Fault:
    return Fault(
        code="gap-not-as-asked",
        part=part,
        measured=off,
        allowed=GAP_WITHIN_MM,
        sentence=f"{part}: the gap is {off:.3f} mm off {where}, {GAP_WITHIN_MM:g} mm are allowed",
    )

"""Do the plates lie on one another without holes, and are the heights the sums of the parts."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from hidewright.catalogue.leathers import Leather
from hidewright.design.choices import ToolingChoice
from hidewright.design.fault import Fault
from hidewright.design.part import MouldTool, Part
from hidewright.tooling.acceptance.stack import Seen, bored, top_of

#: Plates touch, and heights add up, within this, mm.
TOUCH_MM = 0.005
#: A stack may miss its height by this much where that saves a shim, mm.
STACK_MM = 0.05


def height_faults(
    parts: Seen, leather: Leather, choice: ToolingChoice, tool: MouldTool
) -> list[Fault]:
    """Return stacks with holes, and heights that are not the sums of the parts.

    The flange is held by the thickest leather, soaked; the frame reaches one gap over the plug,
    with as few boards as that takes; a cavity floor lies exactly there.
    """
    faults: list[Fault] = []
    for base in parts.bases:
        faults += _unless("base-not-at-zero", base.name, top_of(base), 0.0, TOUCH_MM)
    tops = []
    for stack in parts.plugs:
        faults += _unless(
            "stack-with-a-hole", stack.plates[0].name, _foot(stack.plates), 0.0, TOUCH_MM
        )
        for below, above in pairwise(stack.plates):
            faults += _unless(
                "stack-with-a-hole", above.name, _foot([above]), top_of(below), TOUCH_MM
            )
        tops.append(stack.top_mm)
    plug = max(tops, default=math.nan)
    faults += _unless("plug-height-not-the-sum", tool.blank, tool.plug_height_mm, plug, TOUCH_MM)
    soaked = leather.thickness_max_mm * (1.0 + leather.soak_growth_thickness)
    faults += _unless("flange-gap-not-as-asked", tool.blank, tool.flange_gap_mm, soaked, TOUCH_MM)
    faults += _stops(parts, tool)
    over = (*parts.frame, *parts.floors)
    faults += _unless(
        "frame-not-on-its-stops", tool.blank, _foot(over), tool.flange_gap_mm, TOUCH_MM
    )
    for below, above in pairwise(over):
        faults += _unless("stack-with-a-hole", above.name, _foot([above]), top_of(below), TOUCH_MM)
    if not parts.frame:
        return faults
    top, reach = top_of(parts.frame[-1]), plug + tool.gap_mm
    boards = 0.0 if choice.cavity_floor else choice.mould_board.thickness_mm
    faults += _unless("floors", tool.blank, len(parts.floors), 1 if choice.cavity_floor else 0, 0.0)
    if top < reach - STACK_MM or top > reach + boards + STACK_MM:
        faults += _unless("frame-not-as-high-as-plug-and-gap", tool.blank, top, reach, STACK_MM)
    if parts.bases:
        height = top_of(over[-1]) + parts.bases[0].board.thickness_mm
        faults += _unless(
            "closed-height-not-the-sum", tool.blank, tool.closed_height_mm, height, TOUCH_MM
        )
    return faults


def _stops(parts: Seen, tool: MouldTool) -> list[Fault]:
    """Check that a block as thick as the flange gap stands on the base round every dowel."""
    faults: list[Fault] = []
    dowels = [o.bounds for base in parts.bases for o in bored(base, "dowel")]
    stops = [o.bounds for stop in parts.stops for o in bored(stop, "dowel")]
    faults += _unless("stop-blocks", tool.blank, len(stops), len(dowels), 0.0)
    for stop in parts.stops:
        faults += _unless("stop-not-on-base", stop.name, stop.bottom_mm or 0.0, 0.0, TOUCH_MM)
        faults += _unless("stop-thickness", stop.name, top_of(stop), tool.flange_gap_mm, TOUCH_MM)
    if not stops or not dowels:
        return faults
    apart = np.abs(np.array(stops)[:, None] - np.array(dowels)[None]).max(axis=2)
    faults += _unless("stop-not-on-its-dowel", tool.blank, float(apart.min(axis=0).max()), 0.0, 0.2)
    return faults


def _unless(code: str, part: str, measured: float, wanted: float, within: float) -> list[Fault]:
    """Return the fault that a measure is not what is wanted, unless it is."""
    if abs(measured - wanted) <= within:
        return []
    return [
        Fault(
            code=code,
            part=part,
            measured=measured,
            allowed=wanted,
            sentence=f"{part}: {code.replace('-', ' ')}, {measured:.3f} for {wanted:.3f}",
        )
    ]


def _foot(plates: Sequence[Part]) -> float:
    bottom = plates[0].bottom_mm if plates else None
    return math.nan if bottom is None else bottom

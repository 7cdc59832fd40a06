"""Is every divider pressed back: its pocket in the plug, its block under the floor, the gap."""

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from hidewright.design.fault import Fault
from hidewright.design.island import Island
from hidewright.design.part import MouldTool, Part
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import dense_points, distances, inner_point
from hidewright.tooling.acceptance.asked import STEP_MM, Asked
from hidewright.tooling.acceptance.stack import PlugStack, Seen, bored, holds, top_of

Pressed = Sequence[tuple[PlugStack, tuple[Asked, ...]]]

#: As the gap of the walls, and as the dry hollow, mm.
GAP_WITHIN_MM, DRY_FIT_MM = 0.02, 0.05
#: Boards touch within this, and a block may be short of the floor by less than a shim, mm.
TOUCH_MM, STACK_MM = 0.005, 0.05
RADIUS_WITHIN_MM = 0.02


def divider_faults(pressed: Pressed, parts: Seen, tool: MouldTool) -> list[Fault]:
    """Return what is wrong with dividers: pockets, blocks, gap between them, heights, roundings.

    Every plate of the plug has the pocket, which dries to the foot asked for; the block hangs from
    the floor, one gap within the pocket all round and one gap off the divider's top.
    """
    faults: list[Fault] = []
    blocks = sorted(
        (p for p in tool.parts if p.role == "divider block"), key=lambda p: p.bottom_mm or 0.0
    )
    used: set[str] = set()
    for stack, mine in pressed:
        asked = [(one, island) for one in mine for island in one.zone.islands]
        for plate in stack.plates:
            faults += _unless("pockets", plate.name, len(bored(plate, "pocket")), len(asked), 0)
        for one, island in asked:
            middle = one.lie.to_tool(np.array([inner_point(island.outline)]))
            name = f"{one.name} {island.name}"
            own = [b for b in blocks if holds(b.outline, middle)]
            used |= {b.name for b in own}
            pockets = [
                pocket
                for plate in stack.plates
                for pocket in bored(plate, "pocket")
                if holds(pocket, middle)
            ]
            for pocket in pockets:
                faults += _pocket(name, pocket, one, island)
            if len(pockets) != len(stack.plates) or not own or not parts.floors:
                faults.append(_fault("divider-not-pressed", name, len(own), 1))
                continue
            faults += _block(name, own, pockets[0], tool.gap_mm)
            formed = island.height_mm / (1.0 - one.shrinks)
            low = stack.top_mm + tool.gap_mm - formed
            faults += _heights(name, own, low, parts.floors[0].bottom_mm or 0.0)
            faults += _rounded(name, own[0], stack.plates[-1], island)
    loose = [b.name for b in blocks if b.name not in used]
    faults += [_fault("block-without-divider", name, 1, 0) for name in loose]
    return faults


def _pocket(name: str, pocket: Outline, one: Asked, island: Island) -> Iterator[Fault]:
    dry = one.lie.to_dry(dense_points(pocket.segments, STEP_MM))
    wanted = one.lie.to_tool(dense_points(island.outline.segments, STEP_MM))
    off = max(
        float(distances(island.outline.segments, dry).max()),
        float(distances(pocket.segments, wanted).max()),
    )
    yield from _unless("divider-foot-off", name, off, 0.0, DRY_FIT_MM)


def _block(name: str, own: Sequence[Part], pocket: Outline, gap_mm: float) -> Iterator[Fault]:
    edge = dense_points(pocket.segments, STEP_MM)
    for part in own:
        near = distances(pocket.segments, dense_points(part.outline.segments, STEP_MM))
        far = distances(part.outline.segments, edge)
        off = max(float(np.abs(near - gap_mm).max()), float(np.abs(far - gap_mm).max()))
        yield from _unless("divider-gap-off", name, off, 0.0, GAP_WITHIN_MM)


def _heights(name: str, own: Sequence[Part], low: float, floor: float) -> Iterator[Fault]:
    bottom = own[0].bottom_mm
    yield from _unless(
        "divider-height-off", name, math.nan if bottom is None else bottom, low, DRY_FIT_MM
    )
    for below, above in pairwise(own):
        yield from _unless(
            "stack-with-a-hole", above.name, above.bottom_mm or 0.0, top_of(below), TOUCH_MM
        )
    yield from _unless("block-not-under-floor", name, top_of(own[-1]), floor, STACK_MM)


def _rounded(name: str, lowest: Part, highest: Part, island: Island) -> Iterator[Fault]:
    for part, face, edge, radius in (
        (lowest, "bottom", "outline", island.top_radius_mm),
        (highest, "top", "window", island.foot_radius_mm),
    ):
        if not any(
            (e.face, e.edge) == (face, edge) and abs(e.radius_mm - radius) < RADIUS_WITHIN_MM
            for e in part.easings
        ):
            yield _fault("easing-missing", name, 0.0, radius)


def _unless(code: str, name: str, measured: float, wanted: float, within: float) -> Iterator[Fault]:
    if not abs(measured - wanted) <= within:
        yield _fault(code, name, measured, wanted)


def _fault(code: str, name: str, measured: float, allowed: float) -> Fault:
    return Fault(
        code=code,
        part=name,
        measured=measured,
        allowed=allowed,
        sentence=f"{name}: {code.replace('-', ' ')}, {measured:.3f} for {allowed:.3f}",
    )

"""Does the leather dry to the hollow asked for, right way round, pairs included."""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.design.fault import Fault
from hidewright.geometry.probe import dense_points, distances
from hidewright.geometry.segment import Floats, Segment, line
from hidewright.tooling.acceptance.asked import STEP_MM, Asked
from hidewright.tooling.acceptance.stack import PlugStack

#: The dry hollow may miss what is asked for by this much, mm.
DRY_FIT_MM = 0.05
#: A hollow with a mouth and no partner runs on at least so far, mm.
LEAST_RUN_ON_MM = 3.0


def hollow_faults(stack: PlugStack, asked: Sequence[Asked], mouth_waste_mm: float) -> list[Fault]:
    """Return where the leather off a plug would not dry to the zones asked for.

    The plug's foot, dried point by point, must lie on the walls asked for, and each point of the
    walls asked for, wetted, on the plug's foot. Beyond a mouth the plug is free to run on, but
    straight: over the waste to the partner's mouth, or past it when there is none.

    Args:
        stack: One plug.
        asked: The zones it presses: one, or the two of a pair.
        mouth_waste_mm: Between the mouths of a pair.
    """
    foot = dense_points(stack.foot.segments, STEP_MM)
    faults: list[Fault] = []
    waste = np.full(len(foot), True)
    for one in asked:
        dry = one.lie.to_dry(foot)
        mine = one.beyond_mouths(dry) <= 0.0
        waste &= ~mine
        off = distances(one.walls, dry[mine]).max() if mine.any() else math.inf
        wanted = one.lie.to_tool(dense_points(one.walls, STEP_MM))
        missed = distances(stack.foot.segments, wanted).max()
        if max(off, missed) > DRY_FIT_MM:
            faults.append(
                _fault("dry-hollow-off", one.name, max(off, missed), DRY_FIT_MM, "in its outline")
            )
        depth = stack.top_mm * (1.0 - one.shrinks)
        if abs(depth - one.zone.depth_mm) > DRY_FIT_MM:
            faults.append(
                _fault(
                    "dry-depth-off",
                    one.name,
                    abs(depth - one.zone.depth_mm),
                    DRY_FIT_MM,
                    "in its depth",
                )
            )
    if asked:
        faults += _past_the_mouths(foot[waste], asked, mouth_waste_mm)
    return faults


def _past_the_mouths(waste: Floats, asked: Sequence[Asked], waste_mm: float) -> list[Fault]:
    ends = [
        one.lie.to_tool(np.array(one.mouth_ends(mouth)))
        for one in asked
        for mouth in one.zone.mouths
    ]
    name = asked[0].name
    if not ends:
        if len(waste) or len(asked) != 1:
            return [_fault("plug-too-long", name, len(waste), 0, "beyond a wall")]
        return []
    if len(asked) == 2 and len(ends) == 2:
        (a, b), (c, d) = ends
        bridges = [_line(a, d), _line(b, c)]
        wide = [s.length for s in bridges]
        faults = []
        if len(waste) and distances(bridges, waste).max() > DRY_FIT_MM:
            off = float(distances(bridges, waste).max())
            faults.append(_fault("waste-not-straight", name, off, DRY_FIT_MM, "over the waste"))
        off = max(abs(w - waste_mm) for w in wide)
        # shrinkage moves the mouths, which lie near the piece's origin, by less than this
        if off > 0.5:
            faults.append(_fault("waste-not-as-asked", name, off, 0.5, "in the width of waste"))
        return faults
    if len(asked) == 1:
        return _runs_on(asked[0], waste)
    return [_fault("plug-without-zone", name, len(asked), 2, "in the number of zones on it")]


def _runs_on(one: Asked, waste: Floats) -> list[Fault]:
    """Check that a hollow without a partner keeps its full section past its mouth."""
    dry = one.lie.to_dry(waste)
    beyond = one.beyond_mouths(dry)
    far = float(beyond.max()) if len(beyond) else 0.0
    if far < LEAST_RUN_ON_MM:
        return [_fault("mouth-not-run-on", one.name, LEAST_RUN_ON_MM - far, 0.0, "past its mouth")]
    walls = one.zone.outline.segments
    rays = []
    for mouth in one.zone.mouths:
        begin, end = one.mouth_ends(mouth)
        before = next(s for s in walls if math.dist(s.end, begin) < 1e-6)
        after = next(s for s in walls if math.dist(s.start, end) < 1e-6)
        ux, uy = before.tangent_at(before.length)
        vx, vy = after.tangent_at(0.0)
        rays.append(line(begin, (begin[0] + 10 * ux, begin[1] + 10 * uy)))
        rays.append(line(end, (end[0] - 10 * vx, end[1] - 10 * vy)))
    near = dry[beyond < LEAST_RUN_ON_MM - 0.1]
    off = float(distances(rays, near).max()) if len(near) else 0.0
    if off > DRY_FIT_MM:
        return [_fault("waste-not-straight", one.name, off, DRY_FIT_MM, "past its mouth")]
    return []


def _line(a: Floats, b: Floats) -> Segment:
    return line((float(a[0]), float(a[1])), (float(b[0]), float(b[1])))


def _fault(code: str, name: str, measured: float, allowed: float, where: str) -> Fault:
    return Fault(
        code=code,
        part=name,
        measured=float(measured),
        allowed=allowed,
        sentence=f"{name} would be {measured:.3f} mm off {where}, {allowed:g} mm are allowed",
    )

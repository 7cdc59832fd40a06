"""Do all plates go over the dowels, and each in one way only."""

import math
from collections.abc import Sequence
from itertools import permutations

import numpy as np

from hidewright.design.choices import ToolingChoice
from hidewright.design.fault import Fault
from hidewright.design.part import Part
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import dense_points
from hidewright.geometry.segment import Floats
from hidewright.tooling.acceptance.stack import PlugStack, Seen, bored

#: Holes of plates that go over the same dowels are at the same place within this, mm.
SAME_PLACE_MM = 0.02
#: A plate slides over its dowels with at most this much room in diameter, mm.
MOST_SLIDING_MM = 0.4
#: A plate put on in any other way misses a dowel by at least this, however it is shifted, mm.
CANNOT_BE_FORCED_MM = 0.5
#: More holes than this are not tried in every order.
MOST_HOLES = 6
#: (cosine, sine, sign of y) of every turn by a quarter and turning over, but as it is.
OTHER_WAYS = (
    (-1.0, 0.0, 1.0),
    (0.0, 1.0, 1.0),
    (0.0, -1.0, 1.0),
    (1.0, 0.0, -1.0),
    (-1.0, 0.0, -1.0),
    (0.0, 1.0, -1.0),
    (0.0, -1.0, -1.0),
)


def dowel_faults(parts: Seen, choice: ToolingChoice) -> list[Fault]:
    """Return plates that do not go over the dowels, or go over them in more than one way.

    Turned or turned over about the middle of its own outline, a plate misses a dowel by at least
    the dowel's radius; however it is turned and shifted, by more than it can be forced.
    """
    faults: list[Fault] = []
    if not parts.bases:
        return faults
    posts = _centres(bored(parts.bases[0], "dowel"))
    for plate in parts.plates:
        holes = bored(plate, "dowel")
        faults += _on_the_posts(plate, _centres(holes), posts)
        room = 0.0 if plate.role == "base" else MOST_SLIDING_MM
        for hole in holes:
            off = _off_round(hole)
            over = hole.width - choice.dowel_mm
            if off > 0.01 or not -1e-6 <= over <= room + 1e-6 or (room and over < 0.05):
                faults.append(_fault("dowel-hole-size", plate, hole.width, choice.dowel_mm))
        faults += _one_way(plate, holes, choice.dowel_mm / 2.0)
    for stack in parts.plugs:
        faults += _screwed_alike(stack, parts.bases[0])
    return faults


def least_miss(centres: Floats) -> float:
    """Return by how much a pattern misses itself at best, turned or turned over in any way, mm.

    For every other order of its points the best rigid fit is found (Kabsch 1976), with and without
    turning over; the largest miss of that fit's points is what must be forced.
    """
    n = len(centres)
    best = math.inf
    at = centres - centres.mean(axis=0)
    for order in permutations(range(n)):
        to = at[list(order)]
        u, _, vt = np.linalg.svd(at.T @ to)
        for flip in (1.0, -1.0):
            kept = flip * np.sign(np.linalg.det(u @ vt))
            turn = u @ np.diag([1.0, kept]) @ vt
            if order == tuple(range(n)) and np.linalg.det(turn) > 0:
                continue  # as it is
            best = min(best, float(np.hypot(*(at @ turn - to).T).max()))
    return best


def _one_way(plate: Part, holes: Sequence[Outline], radius_mm: float) -> list[Fault]:
    centres = _centres(holes)
    if len(centres) < 3:
        return [_fault("dowels-too-few", plate, len(centres), 3)]
    left, bottom, right, top = plate.outline.bounds
    at = centres - np.array([(left + right) / 2.0, (bottom + top) / 2.0])
    worst = math.inf
    for c, s, flip in OTHER_WAYS:
        turned = (at * np.array([1.0, flip])) @ np.array([[c, s], [-s, c]])
        apart = np.hypot(*(turned[:, None] - at[None]).transpose(2, 0, 1)).min(axis=1)
        worst = min(worst, float(apart.max()))
    if worst < radius_mm:
        return [_fault("dowels-symmetrical", plate, worst, radius_mm)]
    miss = least_miss(centres) if len(centres) <= MOST_HOLES else math.inf
    if miss < CANNOT_BE_FORCED_MM:
        return [_fault("dowels-symmetrical", plate, miss, CANNOT_BE_FORCED_MM)]
    return []


def _on_the_posts(plate: Part, centres: Floats, posts: Floats) -> list[Fault]:
    if len(centres) != len(posts):
        return [_fault("dowel-hole-missing", plate, len(centres), len(posts))]
    if not len(centres):
        return []
    off = np.hypot(*(posts[:, None] - centres[None]).transpose(2, 0, 1)).min(axis=1).max()
    if off > SAME_PLACE_MM:
        return [_fault("dowel-hole-off-its-dowel", plate, float(off), SAME_PLACE_MM)]
    return []


def _screwed_alike(stack: PlugStack, base: Part) -> list[Fault]:
    """Check that the screws of a plug's plates and of the base under it meet, in one way only."""
    faults: list[Fault] = []
    for purpose in ("screw", "push-out"):
        below = [o for o in bored(base, purpose) if stack.foot.contains(o.centroid)]
        for plate in stack.plates:
            faults += _on_the_posts(plate, _centres(bored(plate, purpose)), _centres(below))
    screws = _centres(bored(stack.plates[0], "screw"))
    if 3 <= len(screws) <= MOST_HOLES and least_miss(screws) < CANNOT_BE_FORCED_MM:
        faults.append(
            _fault("screws-symmetrical", stack.plates[0], least_miss(screws), CANNOT_BE_FORCED_MM)
        )
    return faults


def _centres(holes: Sequence[Outline]) -> Floats:
    boxes = [hole.bounds for hole in holes]
    return np.array([((a + c) / 2.0, (b + d) / 2.0) for a, b, c, d in boxes]).reshape(-1, 2)


def _off_round(hole: Outline) -> float:
    """Return by how much a hole is not round, mm."""
    out = np.hypot(*(dense_points(hole.segments) - _centres([hole])[0]).T)
    return float(out.max() - out.min())


def _fault(code: str, plate: Part, measured: float, allowed: float) -> Fault:
    return Fault(
        code=code,
        part=plate.name,
        measured=measured,
        allowed=allowed,
        sentence=f"{plate.name}: {code.replace('-', ' ')}, {measured:.3f} for {allowed:.3f}",
    )

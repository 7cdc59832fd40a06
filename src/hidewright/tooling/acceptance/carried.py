"""Do the solids of the carried things lie inside the dry hollow."""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.fault import Fault
from hidewright.design.hollow import Hollow, Shell
from hidewright.geometry.outline import Outline
from hidewright.geometry.probe import dense_points, distances, signed
from hidewright.geometry.segment import Floats

#: A thing may touch the leather; it may not be in it by more than this, mm.
TOUCH_MM = 0.01
#: Sideways steps by which the things are moved to where they lie best, mm.
STEPS_MM = (1.0, 0.3, 0.1)
#: Heights at which a thing's sides are looked at.
LEVELS = 25


def accept_fit(hollow: Hollow, carried: Sequence[Carried]) -> tuple[Fault, ...]:
    """Return the fault that the things' solids do not lie inside the hollow, if so.

    The inside is where the level distance from the walls is at least what wall and crown have come
    in at that height; beyond a mouth all is free. Points on the things' surfaces are looked at, the
    things lying over one another, side by side ones in a row, on the flat side or midway between
    two shells, the upper end at the mouth as asked; they may shift level to where they lie best.
    """
    solid = _solids(carried)
    if not len(solid):
        return ()
    upper, lower = hollow.shells
    high = float(solid[:, 2].max())
    left, bottom, right, top = hollow.outline.bounds
    at = np.array([(left + right) / 2.0, (bottom + top) / 2.0, -lower.depth_mm])
    spare = upper.depth_mm + lower.depth_mm - high
    at[2] += spare / 2.0 if lower.depth_mm > 0 else 0.0
    if hollow.mouth:
        room = min((c.mouth_clearance_mm for c in carried), default=0.0)
        at[1] = hollow.mouth_y_mm - room - float(solid[:, 1].max())
    best = _least_room(hollow, solid + at)
    for step in STEPS_MM:
        best, at = _shifted(hollow, solid, at, best, step)
    if best >= -TOUCH_MM:
        return ()
    return (
        Fault(
            code="thing-in-the-leather",
            part=hollow.name,
            measured=best,
            allowed=0.0,
            sentence=f"{hollow.name}: a carried thing is {-best:.2f} mm in the leather",
        ),
    )


def surface_of(thing: Thing) -> Floats:
    """Return (n, 3) points of a thing's surface, lying on z = 0 with its middle on the z axis."""
    t, e = thing.thickest_mm, thing.edge_radius_mm
    if thing.shape == "rod":
        return _rod(thing.length_mm, thing.diameter_mm / 2.0, e)
    turns = np.concatenate([np.linspace(0, e, LEVELS), np.linspace(t - e, t, LEVELS)])
    levels = np.unique(np.concatenate([turns, np.linspace(0.0, t, LEVELS)]))
    parts = []
    for z in levels:
        from_face = min(z, t - z)
        inset = e - math.sqrt(max(e * e - (e - from_face) ** 2, 0.0)) if from_face < e else 0.0
        plan = _plan(thing, inset)
        parts.append(np.column_stack([plan, np.full(len(plan), z)]))
    return np.concatenate(parts)


def _shifted(
    hollow: Hollow, solid: Floats, at: Floats, best: float, step_mm: float
) -> tuple[float, Floats]:
    """Return the best room within ten steps sideways, and where."""
    for _ in range(10):
        if best >= -TOUCH_MM:
            break
        moves = [at + np.array([dx, dy, 0.0]) for dx, dy in _around(step_mm)]
        rooms = [_least_room(hollow, solid + move) for move in moves]
        k = int(np.argmax(rooms))
        if rooms[k] <= best:
            break
        best, at = rooms[k], moves[k]
    return best, at


def _around(step_mm: float) -> tuple[tuple[float, float], ...]:
    return ((step_mm, 0.0), (-step_mm, 0.0), (0.0, step_mm), (0.0, -step_mm))


def _least_room(hollow: Hollow, points: Floats) -> float:
    """Return the least level distance of points from the inner surface, mm; negative outside."""
    upper, lower = hollow.shells
    if hollow.mouth:
        points = points[points[:, 1] <= hollow.mouth_y_mm]
    if not len(points):
        return math.inf
    over = points[:, 2] - upper.depth_mm
    under = -lower.depth_mm - points[:, 2]
    out = float(max(over.max(), under.max()))
    if out > TOUCH_MM:
        return -out
    walls = [s for s in hollow.outline.segments if not hollow.mouth or s.span != hollow.mouth]
    flat = points[:, :2]
    away = np.where(signed(hollow.outline, flat) <= 0.0, 1.0, -1.0) * distances(walls, flat)
    come_in = np.where(
        points[:, 2] >= 0.0, _come_in(upper, points[:, 2]), _come_in(lower, -points[:, 2])
    )
    return float((away - come_in).min())


def _come_in(shell: Shell, heights: Floats) -> Floats:
    """Return how far a wall, leaning in, and the crown's arc that touches it have come in, mm."""
    r, d, lean = shell.crown_radius_mm, shell.depth_mm, shell.wall_angle
    if d <= 0.0:
        return np.zeros_like(heights)
    h = np.clip(heights, 0.0, d)
    centre = d - r
    middle = centre * math.tan(lean) + r / math.cos(lean)
    on_wall = h * math.tan(lean)
    on_crown = middle - np.sqrt(np.maximum(r * r - (h - centre) ** 2, 0.0))
    inset: Floats = np.where(h <= centre + r * math.sin(lean), on_wall, on_crown)
    return inset


def _solids(carried: Sequence[Carried]) -> Floats:
    """Return (n, 3) points of all things as they are arranged; loose ones lie as they fall."""
    parts: list[Floats] = []
    z = 0.0
    row = [c for c in carried if c.arrangement == "side by side"]
    if row:
        x, thick = 0.0, 0.0
        lying: list[Floats] = []
        for one in row:
            surface = surface_of(one.thing)
            wide = float(np.ptp(surface[:, 0]))
            for _ in range(one.count):
                lying.append(surface + np.array([x + wide / 2.0, 0.0, 0.0]))
                x += wide + one.side_clearance_mm
            x += one.side_clearance_mm
            thick = max(thick, float(surface[:, 2].max()))
        middle = (min(p[:, 0].min() for p in lying) + max(p[:, 0].max() for p in lying)) / 2.0
        parts += [p - np.array([middle, 0.0, 0.0]) for p in lying]
        z += thick
    for one in carried:
        if one.arrangement != "stacked":
            continue
        surface = surface_of(one.thing)
        for _ in range(one.count):
            parts.append(surface + np.array([0.0, 0.0, z]))
            z += float(surface[:, 2].max())
    if not parts:
        return np.zeros((0, 3))
    # the upper ends of things over one another are level: each is pushed home to the mouth
    top = max(float(p[:, 1].max()) for p in parts)
    level = [p + np.array([0.0, top - float(p[:, 1].max()), 0.0]) for p in parts]
    return np.concatenate(level)


def _plan(thing: Thing, inset: float) -> Floats:
    """Return (n, 2) points round a thing seen from above at a height where it has come in, mm."""
    if thing.shape == "outline" and thing.outline is not None:
        return _outline_plan(thing.outline, inset)
    if thing.shape == "disc":
        turn = np.linspace(0.0, 2.0 * math.pi, 181)
        radius = max(thing.diameter_mm / 2.0 - inset, 0.0)
        ring: Floats = radius * np.column_stack([np.cos(turn), np.sin(turn)])
        return ring
    w, h = thing.width_mm / 2.0 - inset, thing.length_mm / 2.0 - inset
    c = max(thing.corner_radius_mm - inset, 0.0)
    quarter = np.linspace(0.0, math.pi / 2.0, 10)
    corner = np.column_stack([w - c + c * np.cos(quarter), h - c + c * np.sin(quarter)])
    sides = np.linspace(-1.0, 1.0, 41)
    around: Floats = np.concatenate(
        [
            *(corner * np.array([sx, sy]) for sx in (1, -1) for sy in (1, -1)),
            *(np.column_stack([sides * (w - c), np.full(41, y)]) for y in (-h, h)),
            *(np.column_stack([np.full(41, x), sides * (h - c)]) for x in (-w, w)),
        ]
    )
    return around


def _outline_plan(outline: Outline, inset: float) -> Floats:
    left, bottom, right, top = outline.bounds
    points = dense_points(outline.segments, 1.0)
    around = outline.segments
    normals = np.concatenate(
        [
            np.array([s.normal_at(s.length * i / n) for i in range(n + 1)])
            for s in around
            for n in (2 * max(1, math.ceil(s.length / 2.0)),)
        ]
    )
    middle = np.array([(left + right) / 2.0, (bottom + top) / 2.0])
    moved: Floats = points - inset * normals - middle
    return moved


def _rod(length: float, radius: float, edge: float) -> Floats:
    """Return points of a rod along y, its ends rounded, lying on z = 0."""
    turn = np.linspace(0.0, 2.0 * math.pi, 73)
    ring = np.column_stack([np.cos(turn), np.zeros(73), np.sin(turn)])
    parts = []
    ends = np.linspace(0.0, edge, 9)
    for y in np.unique(np.concatenate([ends, length - ends, np.linspace(0.0, length, 41)])):
        from_end = min(y, length - y)
        thin = edge - math.sqrt(max(edge**2 - (edge - from_end) ** 2, 0.0)) if edge else 0.0
        thin = thin if from_end < edge else 0.0
        parts.append((radius - thin) * ring + np.array([0.0, y - length / 2.0, radius]))
    return np.concatenate(parts)

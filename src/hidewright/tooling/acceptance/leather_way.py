"""Does anything pass through leather, and does all leather lie on board."""

import math
from collections.abc import Sequence

import numpy as np

from hidewright.design.blank import Blank
from hidewright.design.fault import Fault
from hidewright.design.part import Part
from hidewright.geometry.outline import Outline, Path, turn_between
from hidewright.geometry.probe import (
    Ring,
    beyond_hull,
    dense_points,
    ring_clear,
    ring_depth,
    ring_holds,
    ring_of,
    signed,
)
from hidewright.geometry.segment import Floats, Point, Segment
from hidewright.tooling.acceptance.asked import STEP_MM, Asked
from hidewright.tooling.acceptance.stack import PlugStack, Seen, bored

Pressed = Sequence[tuple[PlugStack, tuple[Asked, ...]]]

#: The blank's line keeps the margin from the pieces within this, mm.
MARGIN_WITHIN_MM = 0.05
#: Where it is gathered beside a corner the edge may be pushed outward by this, mm.
PUSHED_OUT_MM = 0.5

#: At a dart's tip the line turns back by more than this, and at its mouth by this, radians.
TIP_TURN, MOUTH_TURN = math.radians(90.0), math.radians(30.0)


def leather_faults(
    pressed: Pressed, parts: Seen, flat: Sequence[Floats], blank: Blank, edge: Outline
) -> list[Fault]:
    """Return what passes through leather, and where the blank is not on board.

    The leather's edge, drawn in, must keep the margin from every piece and plug, and go no further
    out than straight over the notches between them. The blank's line on the base lies outside it,
    but by no more than a plug's height: leather that did not stretch at all would be drawn in by
    that. Dowels, bolts and stop blocks stand outside the line; screws and push-out holes lie under
    a plug; drains lie under no piece. Relief darts are no longer than asked and reach no piece.

    Args:
        pressed: The plugs.
        parts: All parts.
        flat: Corners (n, 2) of each piece on the blank before it dries, in the tool.
        blank: Gives margin and relief darts.
        edge: The leather's edge as it lies pressed, in the tool.
    """
    faults: list[Fault] = []
    pieces = [ring_of(corners) for corners in flat]
    for base in parts.bases:
        line = _blank_line(base)
        if line is None:
            faults.append(_fault("blank-line-missing", base.name, 0.0, 1.0))
            continue
        faults += _as_wide_as_asked(base, edge, pressed, flat, blank.margin_mm)
        if blank.relief_dart_mm > 0:
            line, tips = _bridged(line)
            faults += _darts(base, line, tips, pieces, blank.relief_dart_mm)
        faults += _drawn_in(base, line, edge, 2.0 * math.fsum(s.top_mm for s, _ in pressed))
        corners = dense_points(line.segments, STEP_MM)
        leather = ring_of(corners)
        for plate in parts.plates:
            inside = float(signed(plate.outline, corners).max())
            if inside >= 0.0:
                faults.append(_fault("blank-beyond-plate", plate.name, inside, 0.0))
            for hole in bored(plate, "dowel", "bolt"):
                deep = ring_depth(leather, dense_points(hole.segments))
                if deep > 0.0:
                    faults.append(_fault("hole-through-leather", plate.name, -deep, 0.0))
        for stop in parts.stops:
            deep = ring_depth(leather, dense_points(stop.outline.segments))
            if deep > 0.0:
                faults.append(_fault("stop-on-leather", stop.name, -deep, 0.0))
    for plate in (*parts.plates, *(p for stack, _ in pressed for p in stack.plates)):
        faults += _under_a_plug(plate, pressed, pieces)
    return faults


def _under_a_plug(plate: Part, pressed: Pressed, pieces: Sequence[Ring]) -> list[Fault]:
    faults: list[Fault] = []
    for hole in bored(plate, "screw", "push-out"):
        edge = dense_points(hole.segments)
        tops = [stack.plates[-1].outline for stack, _ in pressed]
        out = min((float(signed(top, edge).max()) for top in tops), default=0.0)
        if out >= 0.0:
            faults.append(_fault("hole-through-leather", plate.name, out, 0.0))
    for hole in bored(plate, "drain"):
        edge = dense_points(hole.segments)
        deep = max(ring_depth(piece, edge) for piece in pieces)
        if deep > 0.0:
            faults.append(_fault("drain-under-piece", plate.name, -deep, 0.0))
    return faults


def _blank_line(base: Part) -> Path | None:
    """Return the widest closed line scored on the base."""
    closed = [p for p in base.scores if np.hypot(*np.subtract(p.start, p.end)) < 1e-6]
    return max(closed, key=lambda p: p.width * p.height, default=None)


def _as_wide_as_asked(
    base: Part, edge: Outline, pressed: Pressed, flat: Sequence[Floats], margin_mm: float
) -> list[Fault]:
    corners = dense_points(edge.segments, STEP_MM)
    plugs = [dense_points(stack.foot.segments, STEP_MM) for stack, _ in pressed]
    shapes = [*flat, *plugs]
    least = min(ring_clear(ring_of(shape), corners) for shape in shapes)
    leather = ring_of(corners)
    held = all(ring_holds(leather, shape) for shape in shapes)
    most = beyond_hull(np.concatenate(shapes), corners)
    faults = []
    if not held or least < margin_mm - MARGIN_WITHIN_MM:
        faults.append(_fault("blank-too-small", base.name, least, margin_mm))
    if most > margin_mm + MARGIN_WITHIN_MM:
        faults.append(_fault("blank-too-large", base.name, most, margin_mm))
    return faults


def _drawn_in(base: Part, line: Path, edge: Outline, most_mm: float) -> list[Fault]:
    """Return where the blank is cut smaller than it lies pressed, or could never be drawn in.

    Where one edge is held by a wide flange, the other is drawn in for both walls of a hollow.
    """
    away = signed(edge, dense_points(line.segments, STEP_MM))
    faults = []
    if float(away.min()) < -PUSHED_OUT_MM:
        faults.append(_fault("blank-too-small", base.name, float(away.min()), 0.0))
    if float(away.max()) > most_mm:
        faults.append(_fault("blank-too-large", base.name, float(away.max()), most_mm))
    return faults


def _bridged(line: Path) -> tuple[Path, list[Point]]:
    """Return a closed line straight over its darts, and their tips.

    A tip is where the line turns back to the right; its sides end where it turns left at a corner.
    """
    n = len(line.segments)
    turns = [turn_between(line.segments[i - 1], line.segments[i]) for i in range(n)]
    outside = set(range(n))
    bridges: dict[int, Segment] = {}
    tips: list[Point] = []
    for tip in (i for i in range(n) if turns[i] < -TIP_TURN):
        first = next((tip - k for k in range(1, n) if turns[tip - k] > MOUTH_TURN), tip - 1)
        last = next((tip + k for k in range(1, n) if turns[(tip + k) % n] > MOUTH_TURN), tip + 1)
        outside -= {i % n for i in range(first, last)}
        start, end = line.segments[first % n].start, line.segments[last % n].start
        bridges[last % n] = Segment(start=start, end=end)
        tips.append(line.segments[tip].start)
    parts: list[Segment] = []
    for i in sorted(outside):
        parts += [bridges[i], line.segments[i]] if i in bridges else [line.segments[i]]
    return Path(tuple(parts)), tips


def _darts(
    base: Part, line: Path, tips: Sequence[Point], pieces: Sequence[Ring], length_mm: float
) -> list[Fault]:
    """Return darts that are longer than asked, or reach a piece before the leather is drawn in."""
    faults = []
    for tip in tips:
        deep = min(seg.nearest(tip)[1] for seg in line.segments)
        if deep > length_mm + PUSHED_OUT_MM:
            faults.append(_fault("dart-too-long", base.name, deep, length_mm))
        inside = max(ring_depth(piece, np.array([tip])) for piece in pieces)
        if inside > 0.0:
            faults.append(_fault("dart-into-piece", base.name, -inside, 0.0))
    return faults


def _fault(code: str, part: str, measured: float, allowed: float) -> Fault:
    return Fault(
        code=code,
        part=part,
        measured=measured,
        allowed=allowed,
        sentence=f"{part}: {code.replace('-', ' ')}, {measured:.2f} for {allowed:.2f} mm",
    )

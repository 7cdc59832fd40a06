"""The closed article from its front: what is seen in full lines, what lies behind dashed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby, pairwise

import numpy as np
import numpy.typing as npt

from hidewright.design.design import Design
from hidewright.design.pose import Panel
from hidewright.drawing.drawing import Layer, Stroke
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Floats, line

SEEN = Layer(name="the thing itself", style="solid", weight_mm=0.15)
BEHIND = Layer(name="behind or inside", style="dashed", weight_mm=0.15)
#: A line nearer than this to one in front of it is that line, mm.
SAME_MM = 0.4
#: Lines are looked at in pieces no longer than this, mm.
PIECE_MM = 1.0
#: A panel that shows less than this is seen on its edge, mm2.
LEAST_MM2 = 1.0

Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Face:
    """A panel as it is seen: closed runs of points (n, 2), its outline first, and its height."""

    runs: tuple[Floats, ...]
    height: float


@lru_cache(maxsize=2)
def closed_article(design: Design) -> tuple[Stroke, ...]:
    """Return the lines of the closed article from its front, full size.

    Hidden lines are dashed, as on technical drawings (ISO 128); those that lie under a line in
    front of them are left out.
    """
    faces = sorted(_faces(design), key=lambda face: -face.height)
    strokes: list[Stroke] = []
    drawn: list[Floats] = []
    for k, face in enumerate(faces):
        covers = [front.runs[0] for front in faces[:k]]
        above = list(drawn)
        for run in face.runs:
            strokes += _lines(run, covers, above)
            drawn.append(run)
    return tuple(strokes)


def within(points: Floats, polygon: Floats) -> Flags:
    """Return for each of (n, 2) points whether it lies in a polygon (m, 2), by even and odd.

    Example:
        >>> square = np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]])
        >>> within(np.array([[1.0, 1.0], [3.0, 1.0]]), square).tolist()
        [True, False]
    """
    a, b = polygon, np.roll(polygon, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    crosses = (a[:, 1] > y) != (b[:, 1] > y)
    rise = np.where(a[:, 1] == b[:, 1], 1.0, b[:, 1] - a[:, 1])
    at = a[:, 0] + (b[:, 0] - a[:, 0]) * (y - a[:, 1]) / rise
    odd: Flags = np.sum(crosses & (at > x), axis=1) % 2 == 1
    return odd


def _faces(design: Design) -> Iterator[_Face]:
    for panel in design.assembly.panels:
        piece, pose = design.piece(panel.piece), design.assembly.pose_of(panel, 1.0)
        curves = [piece.outline, *(zone.outline for zone in piece.zones)]
        runs = [_placed(panel, design, curve.flat_points(0.02)) for curve in curves]
        if not len(runs[0]) or abs(_area(runs[0])) <= LEAST_MM2:
            continue
        facing = pose.rotation[2][2]
        deep = max((zone.depth_mm for zone in piece.zones), default=0.1)
        yield _Face(
            runs=tuple(run for run in runs if len(run) and abs(_area(run)) > LEAST_MM2),
            height=_height(panel, design) + facing * deep,
        )


def _placed(panel: Panel, design: Design, points: Floats) -> Floats:
    kept = panel.part_of(points)
    if len(kept) < 3:
        return np.zeros((0, 2))
    pose = design.assembly.pose_of(panel, 1.0)
    seen: Floats = pose.of_points(np.column_stack([kept, np.zeros(len(kept))]))[:, :2]
    return seen


def _height(panel: Panel, design: Design) -> float:
    kept = panel.part_of(design.piece(panel.piece).outline.flat_points(0.1))
    pose = design.assembly.pose_of(panel, 1.0)
    return float(pose.of_points(np.column_stack([kept, np.zeros(len(kept))]))[:, 2].mean())


def _lines(run: Floats, covers: Sequence[Floats], drawn: Sequence[Floats]) -> Iterator[Stroke]:
    """Yield a closed run as far as it is seen, and dashed where it is covered."""
    points = _short(run)
    middles = (points + np.roll(points, -1, axis=0)) / 2
    gone, hidden = np.zeros(len(points), dtype=bool), np.zeros(len(points), dtype=bool)
    for other in drawn:
        gone |= _away(middles, other) < SAME_MM
    for cover in covers:
        hidden |= within(middles, cover)
    kinds = [None if g else BEHIND if h else SEEN for g, h in zip(gone, hidden, strict=True)]
    start = next((i for i in range(len(kinds)) if kinds[i] != kinds[i - 1]), 0)
    order = [(start + i) % len(kinds) for i in range(len(kinds))]
    for layer, some in groupby(order, key=lambda i: kinds[i]):
        if layer is not None:
            where = list(some)
            ends = points[[*where, (where[-1] + 1) % len(points)]]
            yield Stroke(curve=_path(ends), layer=layer)


def _short(run: Floats) -> Floats:
    """Return the points of a closed run, none further apart than so much."""
    step = np.roll(run, -1, axis=0) - run
    counts = np.ceil(np.hypot(*step.T) / PIECE_MM - 1e-9).astype(int)
    nth = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    share = nth / np.repeat(counts, counts)
    points: Floats = (
        np.repeat(run, counts, axis=0) + np.repeat(step, counts, axis=0) * share[:, None]
    )
    return points


def _away(points: Floats, run: Floats) -> Floats:
    """Return how far each point lies from a closed run, mm."""
    a, step = run, np.roll(run, -1, axis=0) - run
    to = points[:, None, :] - a[None]
    square = np.maximum(np.sum(step**2, axis=1), 1e-12)
    share = np.clip(np.sum(to * step, axis=2) / square, 0.0, 1.0)
    off = to - share[:, :, None] * step
    least: Floats = np.sqrt(np.min(np.sum(off**2, axis=2), axis=1))
    return least


def _path(points: Floats) -> Path:
    """Return a path through points, those in the middle of a straight stretch left out."""
    step = np.diff(points, axis=0)
    (ax, ay), (bx, by) = step[:-1].T, step[1:].T
    turns = np.abs(ax * by - ay * bx) > 1e-6 * np.hypot(ax, ay) * np.hypot(bx, by)
    ends = [(x, y) for x, y in points[[True, *turns.tolist(), True]].tolist()]
    return Path(tuple(line(p, q) for p, q in pairwise(ends) if p != q))


def _area(points: Floats) -> float:
    x, y = points.T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2.0

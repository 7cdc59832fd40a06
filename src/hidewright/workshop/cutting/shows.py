"""Where a piece shows in the closed article: in front, behind, within, or as lining."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from hidewright.design.design import Design
from hidewright.design.hide import Corners
from hidewright.design.piece import Piece
from hidewright.design.pose import Panel, Pose
from hidewright.geometry.distance import inside_ring
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats

Where = Literal["front", "behind", "inside", "lining"]
#: What shows of a piece is looked at in about so many places.
_PLACES = 150
#: Each hollow's wall is looked at in so many places.
_WALL_PLACES = 16
#: A smaller share of a piece that shows does not count: an edge that peeps out.
_LEAST_SHARE = 0.05
#: Faces turned away from the front by more than this count as behind: cosine.
_TOWARDS = 0.3
#: Nearer than this a face lies on itself, mm.
_ITSELF_MM = 0.3
#: What is covered is told in squares of this size, mm; those at its edge do not count.
_SQUARE_MM = 3.0


Truths = npt.NDArray[np.bool_]
Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class _Placed:
    """A panel in the closed article: its pose, what it covers of its plane, and its hollows.

    A hollow is told with how far it rises towards the grain, mm; below 0 away from it.
    """

    panel: Panel
    pose: Pose
    covers: Floats
    hollows: tuple[tuple[Outline, float], ...]

    def local(self, points: Floats, vectors: bool = False) -> Floats:
        """Return points or vectors of space in the panel's frame."""
        shift = 0.0 if vectors else np.array(self.pose.shift)
        turned: Floats = (points - shift) @ np.array(self.pose.rotation)
        return turned

    def hides(self, points: Floats, normals: Floats) -> Truths:
        """Return which places nobody sees along their normals for this panel, (n,) truths."""
        at, along = self.local(points), self.local(normals, vectors=True)
        with np.errstate(divide="ignore", invalid="ignore"):
            far = -at[:, 2] / along[:, 2]
            foot = at + far[:, None] * along
        ahead = (far > _ITSELF_MM) & np.isfinite(foot).all(axis=1)
        x, y = np.where(ahead, foot[:, 0], 0.0), np.where(ahead, foot[:, 1], 0.0)
        met = ahead & _on(self.covers, x, y)
        above = at + 2.0 * _ITSELF_MM * along  # a face on a hollow's mouth may look away from it
        for hollow, depth in self.hollows:
            up = above[:, 2] * np.sign(depth)
            within = (up > -_ITSELF_MM) & (up < abs(depth) - _ITSELF_MM)
            met |= within & _on(hollow.flat_points()[:-1], above[:, 0], above[:, 1])
        return np.asarray(met, np.bool_)


def where_it_shows(design: Design, piece: Piece) -> Where:
    """Return where the grain of a piece shows once the article is closed.

    Places all over its flat parts, the crowns of its hollows and their walls are looked at along
    their normals: another panel that lies there, or another hollow that they lie in, hides them.
    A piece of which any fair share shows from the front, or whose walls do, shows in front.

    Args:
        design: The article; its assembly says how the pieces lie.
        piece: One of its pieces.
    """
    if "lining" in piece.role.lower() or "lining" in piece.name.lower():
        return "lining"
    placed = [_placed(design, panel) for panel in design.assembly.panels]
    front = behind = total = 0
    for own in placed:
        if own.panel.piece != piece.name:
            continue
        points, normals = _places(own)
        seen = np.ones(len(points), np.bool_)
        for other in placed:
            if other is not own:
                seen &= ~other.hides(points, normals)
        away = normals[:, 2] < -_TOWARDS
        front += int(np.count_nonzero(seen & ~away))
        behind += int(np.count_nonzero(seen & away))
        total += len(points)
    if front > _LEAST_SHARE * total or not total:
        return "front"
    return "behind" if behind > _LEAST_SHARE * total else "inside"


def covered_areas(design: Design, piece: Piece, strays_mm: float = 0.0) -> tuple[Corners, ...]:
    """Return where another part lies over the grain of a piece once the article is closed.

    They are oblongs of squares of 3 mm, in the piece's frame. A square counts when nobody sees any
    corner of it or of the squares round it, so that it lies 3 mm within what covers it.

    Args:
        design: The article; its assembly says how the pieces lie.
        piece: One of its pieces.
        strays_mm: So much further within, for leather that is drawn elsewhere by moulding.
    """
    within = 1 + math.ceil(strays_mm / _SQUARE_MM)
    placed = [_placed(design, panel) for panel in design.assembly.panels]
    return tuple(
        oblong
        for own in placed
        if own.panel.piece == piece.name and len(own.covers) >= 3
        for oblong in _covered(own, [other for other in placed if other is not own], within)
    )


def _covered(own: _Placed, others: list[_Placed], within: int) -> Iterator[Corners]:
    (left, bottom), (right, top) = own.covers.min(axis=0), own.covers.max(axis=0)
    x = np.arange(left, right + _SQUARE_MM, _SQUARE_MM)
    y = np.arange(bottom, top + _SQUARE_MM, _SQUARE_MM)
    across, up = (one.ravel() for one in np.meshgrid(x, y))
    flat = np.column_stack([across, up, np.zeros(len(across))])
    normals = np.zeros_like(flat)
    normals[:, 2] = 1.0
    points, normals = own.pose.of_points(flat), normals @ np.array(own.pose.rotation).T
    hidden = np.zeros(len(points), np.bool_)
    for other in others:
        hidden |= other.hides(points, normals)
    hidden &= _on(own.covers, across, up)
    corners = hidden.reshape(len(y), len(x))
    side = 2 * within + 2  # corners of a square and those round it, along one edge
    if min(corners.shape) < side:
        return
    windows = np.lib.stride_tricks.sliding_window_view(corners, (side, side))
    for row in range(within, len(y) - within - 1):
        squares = windows[row - within].all(axis=(1, 2))
        edges = np.flatnonzero(np.diff(np.concatenate([[False], squares, [False]]))) + within
        for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            low, high = float(y[row]), float(y[row + 1])
            first, last = float(x[start]), float(x[end])
            yield ((first, low), (last, low), (last, high), (first, high))


def _placed(design: Design, panel: Panel) -> _Placed:
    piece = design.piece(panel.piece)
    covers = panel.part_of(piece.outline.flat_points()[:-1])
    hollows = tuple(
        (zone.outline, zone.depth_mm if zone.grain_out else -zone.depth_mm) for zone in piece.zones
    )
    return _Placed(panel, design.assembly.pose_of(panel, 1.0), covers, hollows)


def _places(own: _Placed) -> tuple[Floats, Floats]:
    """Return places on a panel's grain side with their normals, in space: (n, 3) each."""
    parts = [*_flat_places(own), *_wall_places(own)]
    if not parts:
        return np.zeros((0, 3)), np.zeros((0, 3))
    both = np.array(parts)
    rotation = np.array(own.pose.rotation).T
    return own.pose.of_points(both[:, 0]), both[:, 1] @ rotation


def _flat_places(own: _Placed) -> Iterator[tuple[Vector, Vector]]:
    """Yield places on the flat of a panel and on the crowns of its hollows."""
    if len(own.covers) < 3:
        return
    (left, bottom), (right, top) = own.covers.min(axis=0), own.covers.max(axis=0)
    step = max(float(((right - left) * (top - bottom) / _PLACES) ** 0.5), 0.5)
    grid = np.meshgrid(
        np.arange(left + step / 2, right, step), np.arange(bottom + step / 2, top, step)
    )
    x, y = grid[0].ravel(), grid[1].ravel()
    rise = np.zeros(len(x))
    for hollow, high in own.hollows:
        rise[_on(hollow.flat_points()[:-1], x, y)] = high
    on = _on(own.covers, x, y)
    for at in np.column_stack([x, y, rise])[on].tolist():
        yield (at[0], at[1], at[2]), (0.0, 0.0, 1.0)


def _wall_places(own: _Placed) -> Iterator[tuple[Vector, Vector]]:
    """Yield places half way up the walls of a panel's hollows, on their grain side."""
    for hollow, rise in own.hollows:
        for share in np.arange(_WALL_PLACES) / _WALL_PLACES:
            x, y = hollow.point_at(float(share) * hollow.length)
            if own.panel.holds((x, y)):
                out = np.sign(rise) * np.array(hollow.normal_at(float(share) * hollow.length))
                yield (x, y, rise / 2), (float(out[0]), float(out[1]), 0.0)


def _on(corners: Floats, x: Floats, y: Floats) -> Truths:
    """Return which points lie in a polygon, that of a panel with nothing to it in none."""
    if len(corners) < 3:
        return np.zeros(len(x), np.bool_)
    return inside_ring(corners, np.column_stack([x, y]))

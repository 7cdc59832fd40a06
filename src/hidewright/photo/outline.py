"""Rings on the floor: the edge of a hide and its holes as simple polygons in mm."""

from dataclasses import dataclass

import cv2
import numpy as np

from hidewright.geometry.segment import Floats
from hidewright.photo.edge import Seen, sharpen
from hidewright.photo.holes import holes_in
from hidewright.photo.lens import View

#: A polygon strays from the edge that was found by at most this, mm.
TOLERANCE_MM = 0.5
#: Sides nearer in colour than so many spreads can hardly be told apart.
_HARDLY = 3.0
#: More of the edge than this where leather and floor look alike makes an outline rough.
FAINT_SHARE = 0.04


@dataclass(frozen=True, slots=True, kw_only=True)
class Rings:
    """The edges of a hide in a photo.

    Attributes:
        outer: (n, 2) px of the photo.
        holes: The same for each; none are looked for where more than ``FAINT_SHARE`` is faint.
        faint: Share of the outer edge along which leather and floor can hardly be told apart.
    """

    outer: Floats
    holes: tuple[Floats, ...]
    faint: float


def rings(seen: Seen, px_per_mm: float) -> Rings:
    """Return the edge of the largest piece of leather and of the holes well inside it.

    Args:
        seen: The photo with what is roughly leather.
        px_per_mm: Its scale, roughly.
    """
    found, _ = cv2.findContours(seen.leather, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    rough = _full(max(found, key=cv2.contourArea), seen)
    ring, apart = sharpen(seen, rough)
    edge, faint = _kept_simple(seen, ring, rough), float(np.mean(apart < _HARDLY))
    if faint > FAINT_SHARE:
        return Rings(outer=edge, holes=(), faint=faint)
    holes = holes_in(seen.picture, seen.leather, seen.paper, px_per_mm)
    within = (hole for hole in holes if is_simple(hole) and _holds(edge, hole))
    return Rings(outer=edge, holes=tuple(within), faint=faint)


def _holds(edge: Floats, hole: Floats) -> bool:
    """Return whether a hole keeps clear of an edge by a few pixels."""
    line = edge.astype(np.float32)
    return all(cv2.pointPolygonTest(line, (float(x), float(y)), True) > 3.0 for x, y in hole)


def polygon(ring: Floats, view: View) -> Floats:
    """Return a ring of pixels on the floor, mm, with no more corners than ``TOLERANCE_MM`` asks."""
    on_floor = view.to_floor(ring)
    for tolerance in (TOLERANCE_MM, TOLERANCE_MM / 4):
        few = cv2.approxPolyDP(on_floor.astype(np.float32), tolerance, closed=True)[:, 0]
        if is_simple(few.astype(float)):
            return np.asarray(few, float)
    return on_floor


def area_of(ring: Floats) -> float:
    """Return the area a ring encloses, either way round.

    >>> float(area_of(np.array([(0.0, 0), (2, 0), (2, 3), (0, 3)])))
    6.0
    """
    x, y = (ring - ring[0]).T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2


def is_simple(ring: Floats) -> bool:
    """Return whether no two sides of a ring cross.

    >>> is_simple(np.array([(0.0, 0), (2, 0), (2, 2), (0, 2)]))
    True
    >>> is_simple(np.array([(0.0, 0), (2, 2), (2, 0), (0, 2)]))
    False
    """
    a, b = ring, np.roll(ring, -1, axis=0)
    n = len(ring)
    for k in range(n - 2):
        rest = slice(k + 2, n - (k == 0))
        apart = _side(a[k], b[k], a[rest]) * _side(a[k], b[k], b[rest]) < 0
        if np.any(apart & (_side(a[rest], b[rest], a[k]) * _side(a[rest], b[rest], b[k]) < 0)):
            return False
    return True


def _side(start: Floats, end: Floats, point: Floats) -> Floats:
    """Return on which side of a line a point lies: positive, negative or nought."""
    (dx, dy), (px, py) = (end - start).T, (point - start).T
    return np.asarray(np.sign(dx * py - dy * px))


def _full(contour: "cv2.typing.MatLike", seen: Seen) -> Floats:
    """Return a contour of the reduced mask, px of the photo."""
    return (contour[:, 0].astype(float) + 0.5) / seen.scale - 0.5


def _kept_simple(seen: Seen, ring: Floats, rough: Floats) -> Floats:
    """Return a sharpened ring; where it crosses itself, the edge of what it fills."""
    if is_simple(ring):
        return ring
    h, w = seen.picture.shape[:2]
    filled = np.zeros((h, w), np.uint8)
    cv2.fillPoly(filled, [np.round(ring).astype(np.int32)], 1)
    opened = cv2.morphologyEx(filled, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    found, _ = cv2.findContours(opened, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not found:
        return rough
    return np.asarray(max(found, key=cv2.contourArea)[:, 0], float)

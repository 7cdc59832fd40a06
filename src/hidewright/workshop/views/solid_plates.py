"""Plates of a mould as solids, eased where a cutter or file rounds them, with their sharp edges."""

import math

import numpy as np
from scipy.sparse import csr_array

from hidewright.design.part import Part
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats
from hidewright.geometry.surface import Ints, Surface, framed_plate, rounded_prism
from hidewright.workshop.views.solid_group import QUANTITIES, Material, SolidGroup

#: Sagitta of the chords along an edge and round it: fine enough to look round, mm.
SAGITTA_MM = 0.04
#: Faces that meet at more than this are drawn with an edge between them, radians.
EDGE = math.radians(35.0)


def plate(part: Part) -> Surface:
    """Return a plate in its place in the closed tool.

    An easing that does not fit the board, or a second window's, is left sharp.

    Args:
        part: One that has its place in the stack.
    """
    low = part.bottom_mm or 0.0
    high = low + part.board.thickness_mm
    for easing in part.easings:
        try:
            if easing.edge == "outline":
                return _stood(part, low, high, easing.radius_mm)
            return _with_eased_window(part, low, high, easing.radius_mm)
        except RequestError:
            continue
    return _stood(part, low, high, 0.0)


def _stood(part: Part, low: float, high: float, radius: float) -> Surface:
    holes = [hole.outline for hole in part.holes]
    return rounded_prism(part.outline, low, high, radius, holes, sagitta_mm=SAGITTA_MM)


def _with_eased_window(part: Part, low: float, high: float, radius: float) -> Surface:
    first, *others = sorted(part.holes, key=lambda hole: hole.purpose != "window")
    return framed_plate(
        part.outline,
        first.outline,
        low,
        high,
        radius,
        face="bottom",
        holes=[hole.outline for hole in others],
        sagitta_mm=SAGITTA_MM,
    )


def solid(
    surface: Surface, name: str, material: Material, poses: Floats, apart_mm: float
) -> SolidGroup:
    """Return a closed surface as a group, smooth where its faces meet at less than ``EDGE``."""
    corners = surface.corners
    face = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    weight = np.linalg.norm(face, axis=1)
    unit = face / np.maximum(weight, 1e-12)[:, None]
    normals = _smoothed(surface.triangles, unit, weight)
    points = surface.triangles.ravel()
    key = np.column_stack([points, np.round(500.0 * normals)])
    _, first, named = np.unique(key, axis=0, return_index=True, return_inverse=True)
    some = np.zeros(len(surface.points), dtype=np.int64)
    some[points[first]] = np.arange(len(first))
    n = len(first)
    return SolidGroup(
        name=name,
        material=material,
        points=surface.points[points[first]],
        normals=normals[first],
        scalars=np.full((n, len(QUANTITIES)), np.nan),
        triangles=named.reshape(-1, 3),
        lines=some[_sharp(surface.triangles, unit)],
        sides=(n, n),
        poses=poses,
        rows=np.zeros(n),
        apart_mm=apart_mm,
    )


def _smoothed(triangles: Ints, unit: Floats, weight: Floats) -> Floats:
    """(3 m, 3) normals at corners: of the faces round the point that meet there smoothly."""
    points = triangles.ravel()
    at = np.arange(len(points))
    meets = csr_array((np.ones(len(points)), (at, points)))
    one, other = (meets @ meets.T).nonzero()
    smooth = (unit[one // 3] * unit[other // 3]).sum(axis=1) > math.cos(EDGE)
    one, other = one[smooth], other[smooth] // 3
    total = np.stack(
        [np.bincount(one, weights=(weight * unit[:, i])[other]) for i in range(3)], axis=1
    )
    size = np.maximum(np.linalg.norm(total, axis=1), 1e-12)
    normals: Floats = total / size[:, None]
    return normals


def _sharp(triangles: Ints, unit: Floats) -> Ints:
    """(k, 2) points of the sides where faces meet at more than ``EDGE``."""
    sides = np.sort(triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    order = np.lexsort(sides.T)
    one, other = order[0::2], order[1::2]  # closed: each side is met twice
    turn = (unit[one // 3] * unit[other // 3]).sum(axis=1)
    return np.asarray(sides[one][turn < math.cos(EDGE)])

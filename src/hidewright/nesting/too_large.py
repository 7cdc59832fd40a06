"""Pieces that no part of a hide can hold."""

from collections import Counter
from collections.abc import Iterable

import numpy as np
import shapely

from hidewright.design.cutting import Cutting
from hidewright.errors import RequestError
from hidewright.nesting.ground import usable
from hidewright.nesting.lattice import Lattice, free_places
from hidewright.nesting.problem import Problem


def refuse_too_large(problem: Problem, lattices: Iterable[Lattice]) -> None:
    """Refuse a problem with a piece that fits nowhere.

    Args:
        problem: The problem.
        lattices: Of its hides; no more are taken than are needed for all pieces to fit.

    Raises:
        RequestError: Names the piece, where it may lie, and by how much it is too large.
    """
    fixed = Counter(placement.piece for placement in problem.fixed)
    homeless = [
        number
        for number, piece in enumerate(problem.pieces)
        if piece.count * problem.sets > fixed[number]
    ]
    for lattice in lattices:
        homeless = [number for number in homeless if not _fits(lattice, number)]
        if not homeless:
            return
    piece = problem.pieces[homeless[0]]
    raise RequestError(
        f"piece {piece.name} fits nowhere",
        because=f"{_may_lie(problem, piece)}; {_by_how_much(problem, piece)}",
        mend="Make it smaller, let it be turned, allow it a worse grade, or take a larger hide",
    )


def _fits(lattice: Lattice, number: int) -> bool:
    field = lattice.field
    for o in range(field.choices[number], field.choices[number + 1]):
        room = np.floor(lattice.limit - field.size[o] + 1e-7).astype(int)
        if room.min() < 0:
            continue
        if field.mask[o] < 0 or free_places(field, o, int(room[0]) + 1)[: room[1] + 1].any():
            return True
    return False


def _may_lie(problem: Problem, piece: Cutting) -> str:
    graded = any(hide.areas for hide in problem.hides)
    where = f"areas of grade {piece.grade} or better" if graded else "the hide"
    if piece.thickness_mm is not None and any(hide.thicknesses for hide in problem.hides):
        least, most = piece.thickness_mm
        where += f", {least:g} to {most:g} mm thick"
        if piece.agrees_mm is not None:
            where += f" and there alike within {piece.agrees_mm:g} mm"
    if any(flaw.severity <= piece.clear_of for hide in problem.hides for flaw in hide.flaws):
        where += ", clear of flaws"
    return f"it may lie in {where}"


def _by_how_much(problem: Problem, piece: Cutting) -> str:
    """Return in words by how much a piece is too large for the widest place it may lie in.

    The radius of the largest circle in the piece is compared with that in what it may use; where
    the piece is the narrower one, its greatest extent is compared.
    """
    shape = shapely.MultiPolygon([shapely.Polygon(r) for r in (piece.outline, *piece.others)])
    rooms = [
        part
        for hide in problem.hides
        for part in shapely.get_parts(usable(hide, piece, problem.edge_margin_mm))
        if isinstance(part, shapely.Polygon) and not part.is_empty
    ]
    if not rooms:
        return "there is no such place"
    wide = 2.0 * _radius(shape)
    widest = max(2.0 * _radius(room) for room in rooms)
    if wide > widest:
        return (
            f"at its widest it is {wide:.1f} mm, the widest such place {widest:.1f} mm, "
            f"{wide - widest:.1f} mm too little"
        )
    extent = _extents(shape)
    over = min(
        max(extent[0] - had[0], extent[1] - had[1]) for had in (_extents(room) for room in rooms)
    )
    if over > 0.0:
        return f"it is {over:.1f} mm too long for the longest such place"
    area = max(float(room.area) for room in rooms)
    if shape.area > area:
        return f"it has {shape.area:.0f} mm2, the largest such place {area:.0f} mm2"
    return "it is not of a shape that such a place can hold"


def _radius(shape: shapely.Polygon | shapely.MultiPolygon) -> float:
    return float(shapely.length(shapely.maximum_inscribed_circle(shape)))


def _extents(shape: shapely.Geometry) -> tuple[float, float]:
    """Return the longer and the shorter side of the smallest box round a shape, however turned."""
    ring = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape))
    a, b = (float(np.hypot(*(ring[k + 1] - ring[k]))) for k in (0, 1))
    return max(a, b), min(a, b)

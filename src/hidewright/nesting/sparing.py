"""Better leather spared: where on a hide lies leather that is no better than a piece asks for."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Hide
from hidewright.geometry.segment import Floats
from hidewright.nesting.ground import graded

Cells = npt.NDArray[np.int64]

#: Side of the cells in which grades are told, steps.
CELL = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Worst:
    """Where the leather is of the worst grade that some pieces may lie in.

    Attributes:
        cells: (n, 2) column and row of each cell of that grade.
        is_in: (rows, columns) whether a cell is one of them.
    """

    cells: Cells
    is_in: npt.NDArray[np.bool_]


def worst_leather(
    hide: Hide, pieces: Sequence[Cutting], origin: Floats, limit: Floats, step_mm: float
) -> tuple[Worst, ...]:
    """Return for each piece where the leather is no better than it asks for; nowhere if ungraded.

    Args:
        hide: The hide.
        pieces: The pieces.
        origin: (2,) where the lattice begins, mm.
        limit: (2,) its width and height, steps.
        step_mm: Distance of its points.
    """
    columns, rows = (int(v) // CELL + 1 for v in limit)
    grades = sorted({area.grade for area in hide.areas})
    x, y = np.meshgrid(np.arange(columns), np.arange(rows))
    at = origin + (np.column_stack([x.ravel(), y.ravel()]) + 0.5) * CELL * step_mm
    found: dict[int, Worst] = {}
    for piece in pieces:
        if piece.grade in found:
            continue
        is_in = np.zeros((rows, columns), np.bool_)
        better = [grade for grade in grades if grade < piece.grade]
        if better:
            own = shapely.difference(graded(hide, piece.grade), graded(hide, better[-1]))
            shapely.prepare(own)
            is_in = shapely.contains_xy(own, at[:, 0], at[:, 1]).reshape(rows, columns)
        r, c = np.nonzero(is_in)
        found[piece.grade] = Worst(cells=np.column_stack([c, r]).astype(np.int64), is_in=is_in)
    return tuple(found[piece.grade] for piece in pieces)

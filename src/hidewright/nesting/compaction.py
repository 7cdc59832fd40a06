"""A layout pushed together off the lattice, as far as its pieces go without passing one another."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy.optimize
import scipy.sparse

from hidewright.geometry.segment import Floats
from hidewright.nesting.lattice import Ints
from hidewright.nesting.parting import partings

#: How far a piece may go in one linear program, steps; the first of them.
TRUST = 8.0
#: It is over when the length falls by less than this share.
ENOUGH = 1e-5
#: The most linear programs.
MOST = 30
#: Parts that may be kept apart in one.
LINES = 400_000
#: What is left between pieces beyond the spacing, steps, against rounding.
SPARE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """Convex parts of the orientations, as in the kernels' field, and of what is fixed.

    Attributes:
        xy: (corners, 2), steps.
        corner: (parts + 1,) first corner of each.
        part: (orientations + 1,) first part of each orientation.
        spacing: Between pieces, steps.
    """

    xy: Floats
    corner: Ints
    part: Ints
    spacing: float


def compact(
    parts: Parts, at: Floats, way: Ints, size: Floats, limit: Floats
) -> tuple[Floats, float]:
    """Return places nearer to the left, and where the furthest piece ends.

    The pieces keep their orientations. Each two convex parts that are near are kept on the two
    sides of the line that parts them now; with these lines fixed the least length is a linear
    program; then new lines are drawn (Li and Milenkovic, Compaction and separation algorithms for
    non-convex polygons, 1995).

    Args:
        parts: Their shapes.
        at: (n, 2) places at which none overlaps, steps.
        way: (n,) orientations.
        size: (n, 2) widths and heights.
        limit: (2,) of the field.
    """
    length, trust = float((at[:, 0] + size[:, 0]).max()), TRUST
    for _ in range(MOST):
        moved = _step(parts, at, way, size, limit, trust)
        if moved is None:
            break
        shorter = float((moved[:, 0] + size[:, 0]).max())
        gained = length - shorter
        if gained <= 0.0:
            break
        at, length = moved, shorter
        if gained < ENOUGH * length:
            break
    return at, length


def _step(
    parts: Parts, at: Floats, way: Ints, size: Floats, limit: Floats, trust: float
) -> Floats | None:
    n = len(at)
    lines = np.zeros((LINES, 5))
    reach = parts.spacing + 2.0 * np.sqrt(2.0) * trust
    count = partings(parts.xy, parts.corner, parts.part, at, way, reach, lines)
    lines = lines[:count]
    one, two = lines[:, 0].astype(np.int64), lines[:, 1].astype(np.int64)
    # n . (moves of two - moves of one) >= what may be lost of the gap, never asking for more
    slack = np.minimum(parts.spacing + SPARE - lines[:, 4], 0.0)
    row = np.arange(count)
    rows = np.concatenate([row, row, row, row])
    columns = np.concatenate([2 * one, 2 * one + 1, 2 * two, 2 * two + 1])
    values = np.concatenate([lines[:, 2], lines[:, 3], -lines[:, 2], -lines[:, 3]])
    ends = np.arange(n)
    rows = np.concatenate([rows, count + ends, count + ends])
    columns = np.concatenate([columns, 2 * ends, np.full(n, 2 * n)])
    values = np.concatenate([values, np.ones(n), -np.ones(n)])
    upper = np.concatenate([-slack, -(at[:, 0] + size[:, 0])])
    matrix = scipy.sparse.csr_array((values, (rows, columns)), shape=(count + n, 2 * n + 1))
    low = np.maximum(-at, -trust).ravel()
    high = np.minimum(limit - size - at, trust).ravel()
    bounds = np.column_stack(
        [np.append(low, 0.0), np.append(np.maximum(high, low), limit[0] + trust)]
    )
    goal = np.zeros(2 * n + 1)
    goal[-1] = 1.0
    # the stubs know no sparse arrays
    found = scipy.optimize.linprog(goal, A_ub=matrix, b_ub=upper, bounds=bounds)  # type: ignore[call-overload]
    if found.status != 0:
        return None
    moves: npt.NDArray[np.float64] = found.x[:-1].reshape(n, 2)
    return at + moves

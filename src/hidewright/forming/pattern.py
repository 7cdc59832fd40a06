"""Sparse symmetric systems on triangles: where entries go, and the one door to the solver."""

import warnings
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import numpy.typing as npt
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu

from hidewright.geometry.segment import Bools, Floats

try:
    import qdldl
except ImportError:  # a platform without its wheel: scipy's own, about ten times slower
    qdldl = None

Ints = npt.NDArray[np.int64]


class Factor(Protocol):
    """A factorised symmetric matrix."""

    def solve(self, right: Floats) -> Floats:
        """Return the solution for a right-hand side (n,)."""
        ...


class _Splu:
    def __init__(self, upper: csc_matrix[np.float64]) -> None:
        whole = upper + upper.T
        whole.setdiag(upper.diagonal())
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            self._lu = splu(whole.tocsc(), permc_spec="MMD_AT_PLUS_A")

    def solve(self, right: Floats) -> Floats:
        return np.asarray(self._lu.solve(right))


@dataclass(frozen=True, eq=False)
class Pattern:
    """Where the 6 x 6 matrices of triangles with two unknowns a point enter the whole matrix.

    Attributes:
        unknown: (n, 2) number of each unknown, -1 where the point is held.
        size: How many unknowns there are.
        indices: Row of each stored entry, column by column, upper triangle only.
        indptr: Where each column begins.
        place: (21, m) stored entry of each entry of a triangle's upper triangle; ``len(indices)``
            for entries of held points.
        spare: Solvers that know the order of elimination; one solve takes one and gives it back,
            so that two at once never share it.
    """

    unknown: Ints
    size: int
    indices: npt.NDArray[np.int32]
    indptr: npt.NDArray[np.int32]
    place: Ints
    spare: list[Factor] = field(default_factory=list)

    @staticmethod
    def of(triangles: Ints, held: Bools) -> "Pattern":
        """Return the pattern of a mesh."""
        unknown = np.full((len(held), 2), -1)
        free = np.flatnonzero(~held)
        unknown[free] = np.arange(2 * len(free)).reshape(-1, 2)
        size = 2 * len(free)
        dofs = unknown[triangles].reshape(-1, 6)
        a, b = np.triu_indices(6)
        row, col = np.minimum(dofs[:, a], dofs[:, b]), np.maximum(dofs[:, a], dofs[:, b])
        diagonal = np.arange(size)
        key = np.where(row >= 0, col * size + row, size * size)
        every = np.concatenate([key.ravel(), diagonal * size + diagonal])
        distinct, inverse = np.unique(every, return_inverse=True)
        stored = distinct[distinct < size * size]
        indptr = np.searchsorted(stored, np.arange(size + 1) * size)
        return Pattern(
            unknown=unknown,
            size=size,
            indices=(stored % size).astype(np.int32),
            indptr=indptr.astype(np.int32),
            place=inverse[: key.size].reshape(key.shape).T.copy(),
        )

    def matrix(self, entries: Floats) -> "csc_matrix[np.float64]":
        """Return the upper triangle of the whole matrix from (21, m) entries of triangles."""
        data = np.bincount(
            self.place.ravel(), weights=entries.ravel(), minlength=len(self.indices) + 1
        )[: len(self.indices)]
        return csc_matrix(
            (data.astype(np.float64), self.indices, self.indptr), shape=(self.size, self.size)
        )

    @property
    def diagonal(self) -> Ints:
        """Stored entry of each unknown's own place: the last of its column."""
        return self.indptr[1:].astype(np.int64) - 1

    def gathered(self, vectors: Floats) -> Floats:
        """Return the unknowns' part (size,) of (n, 2) values at points."""
        return vectors[self.unknown[:, 0] >= 0].ravel()

    def spread(self, unknowns: Floats) -> Floats:
        """Return (n, 2) values at points, 0 where held."""
        out = np.zeros((len(self.unknown), 2))
        out[self.unknown[:, 0] >= 0] = unknowns.reshape(-1, 2)
        return out


def factorised(upper: "csc_matrix[np.float64]") -> Factor:
    """Return a factor of a symmetric matrix given by its upper triangle."""
    if qdldl is None:
        return _Splu(upper)
    factor: Factor = qdldl.Solver(upper, upper=True)
    return factor


class Refactor:
    """Factorises matrices of one pattern again and again, keeping the order of elimination."""

    def __init__(self, pattern: Pattern) -> None:
        self._pattern = pattern
        self._solver: Factor | None = None
        with suppress(IndexError):
            self._solver = pattern.spare.pop()

    def done(self) -> None:
        """Give the solver back for the next solve; the factor is no longer valid."""
        if self._solver is not None and qdldl is not None:
            self._pattern.spare.append(self._solver)
        self._solver = None

    def of(self, upper: "csc_matrix[np.float64]") -> Factor:
        """Return the factor of the next matrix; the one returned before is no longer valid."""
        if qdldl is None or self._solver is None:
            self._solver = factorised(upper)
        else:
            self._solver.update(upper, upper=True)  # type: ignore[attr-defined]
        return self._solver


@dataclass(frozen=True, eq=False)
class Harmonic:
    """Spreads values on the first points of a mesh smoothly over the rest.

    Solves Laplace's equation with cotangent weights, as linear finite elements do.

    Attributes:
        factor: Of the free points' matrix; None when there are no free points.
        coupling: Rows of free points, columns of given ones.
    """

    factor: Factor | None
    coupling: "csc_matrix[np.float64]"

    @staticmethod
    def of(triangles: Ints, plan: Floats, first: int) -> "Harmonic":
        """Return it for points from ``first`` on, given those before."""
        p = plan[triangles]
        side = np.roll(p, -1, axis=1) - np.roll(p, 1, axis=1)  # opposite each corner
        area2 = abs(
            (p[:, 1, 0] - p[:, 0, 0]) * (p[:, 2, 1] - p[:, 0, 1])
            - (p[:, 1, 1] - p[:, 0, 1]) * (p[:, 2, 0] - p[:, 0, 0])
        )
        stiff = np.einsum("tai,tbi->tab", side, side) / (2.0 * area2)[:, None, None]
        rows = np.repeat(triangles, 3, axis=1).ravel()
        cols = np.tile(triangles, (1, 3)).ravel()
        n, values = len(plan), stiff.ravel()
        own, given = (rows >= first) & (cols >= rows), (rows >= first) & (cols < first)
        upper = csc_matrix(
            (values[own], (rows[own] - first, cols[own] - first)), shape=(n - first, n - first)
        )
        coupling = csc_matrix(
            (values[given], (rows[given] - first, cols[given])), shape=(n - first, first)
        )
        return Harmonic(factor=factorised(upper) if n > first else None, coupling=coupling)

    def spread(self, given: Floats) -> Floats:
        """Return (free points, k) values from (given points, k) values."""
        right = -np.asarray(self.coupling @ given)
        if self.factor is None:
            return np.asarray(right)
        return np.column_stack([self.factor.solve(right[:, i]) for i in range(given.shape[1])])

"""A slow prediction as a fitted curve: a quadratic of the quantities, from a few solves."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
import numpy.typing as npt

from hidewright.geometry.segment import Floats
from hidewright.learning.belief import Belief, Values

Ints = npt.NDArray[np.int64]

#: Fitted over so many deviations of the belief either way.
REACH = 1.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surrogate:
    """Predictions by name, each a quadratic of some quantities.

    A coordinate x is the logarithm, from its middle in deviations s; of a quantity that enters
    plainly, as shrinkage does, it is (exp(s x) - 1) / s, the quantity itself in the same scale.
    Nothing else would hold far from the middle: the exponential of what is no parabola.

    Attributes:
        belief: Gives scale and middle of the quantities.
        over: Names of those it depends on, k of them.
        plain: Which of them enter plainly.
        terms: (names, (m,) coefficients of 1, x, and x_i x_j with i <= j).
    """

    belief: Belief
    over: tuple[str, ...]
    plain: frozenset[str]
    terms: Mapping[str, Floats]

    def predict(self, name: str, values: Values) -> float:
        """Return a prediction at values of the quantities."""
        return float(
            _monomials_at(self, tuple(values[one] for one in self.over)) @ self.terms[name]
        )


@lru_cache(maxsize=4096)  # slopes ask for several predictions, and change what it is not over
def _monomials_at(surrogate: Surrogate, values: tuple[float, ...]) -> Floats:
    named = dict(zip(surrogate.over, values, strict=True))
    return _monomials(_at(surrogate.belief, surrogate.over, surrogate.plain, named))


def _at(belief: Belief, over: Sequence[str], plain: Collection[str], values: Values) -> Floats:
    """Return (k,) coordinates of values, see ``Surrogate``."""
    rows = [belief.place(name) for name in over]
    logs = np.array([belief.quantities[i].to_log(values[belief.quantities[i].name]) for i in rows])
    off, deviations = logs - belief.mean[rows], belief.deviations[rows]
    plainly = np.array([name in plain for name in over])
    at: Floats = np.where(plainly, np.expm1(off), off) / deviations
    return at


def fitted(
    belief: Belief,
    over: Sequence[str],
    solve: Callable[[Values], Mapping[str, float]],
    plain: Collection[str] = (),
) -> Surrogate:
    """Return a surrogate of a slow prediction.

    It is solved in the middle, at both ends of each quantity and at a corner of each two: as often
    as there are terms, so that the quadratic runs through every solve. The corners lie over the
    ends, so that what does not depend on a quantity has no terms of it, whatever its curve.

    Args:
        belief: About which it is fitted.
        over: Names of the quantities that it depends on; the others stay in their middle.
        solve: Predictions by name at values of all quantities. Raising refuses the fit.
        plain: Which of them enter plainly, not by their logarithms.
    """
    k = len(over)
    places = np.array([belief.place(name) for name in over])
    designs = [np.zeros(k)]
    for i in range(k):
        for side in (-1.0, 1.0):
            designs.append(side * REACH * np.eye(k)[i])
    for i in range(k):
        for j in range(i + 1, k):
            designs.append(REACH * (np.eye(k)[i] + np.eye(k)[j]))
    found: list[Mapping[str, float]] = []
    rows: list[Floats] = []
    for x in designs:
        logs = belief.mean.copy()
        logs[places] += x * belief.deviations[places]
        values = belief.values_at(logs)
        found.append(solve(values))
        rows.append(_monomials(_at(belief, over, plain, values)))
    matrix = np.array(rows)
    return Surrogate(
        belief=belief,
        over=tuple(over),
        plain=frozenset(plain),
        terms={
            name: np.linalg.solve(matrix, np.array([one[name] for one in found]))
            for name in found[0]
        },
    )


def _monomials(x: Floats) -> Floats:
    monomials: Floats = np.concatenate([[1.0], x, np.outer(x, x)[_upper(len(x))]])
    return monomials


@cache
def _upper(k: int) -> tuple[Ints, Ints]:
    rows, columns = np.triu_indices(k)
    return rows, columns

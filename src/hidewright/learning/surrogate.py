"""A slow prediction as a fitted curve: a quadratic of the logarithms, from a few solves."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.geometry.segment import Floats
from hidewright.learning.belief import Belief, Values

#: Fitted over so many deviations of the belief either way.
REACH = 1.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surrogate:
    """Predictions by name, each a quadratic of the logarithms of some quantities.

    Attributes:
        belief: Gives scale and middle of the quantities.
        over: Names of those it depends on, k of them.
        terms: (names, (m,) coefficients of 1, x, and x_i x_j with i <= j; x in deviations).
    """

    belief: Belief
    over: tuple[str, ...]
    terms: Mapping[str, Floats]

    def predict(self, name: str, values: Values) -> float:
        """Return a prediction at values of the quantities."""
        return float(_monomials(self._at(values)) @ self.terms[name])

    def _at(self, values: Values) -> Floats:
        rows = [self.belief.place(name) for name in self.over]
        logs = [
            self.belief.quantities[i].to_log(values[self.belief.quantities[i].name]) for i in rows
        ]
        at: Floats = (np.array(logs) - self.belief.mean[rows]) / self.belief.deviations[rows]
        return at


def fitted(
    belief: Belief, over: Sequence[str], solve: Callable[[Values], Mapping[str, float]]
) -> Surrogate:
    """Return a surrogate of a slow prediction.

    It is solved in the middle, at both ends of each quantity and at a corner of each two: as often
    as there are terms, so that the quadratic runs through every solve. The corners lie over the
    ends, so that what does not depend on a quantity has no terms of it, whatever its curve.

    Args:
        belief: About which it is fitted.
        over: Names of the quantities that it depends on; the others stay in their middle.
        solve: Predictions by name at values of all quantities. Raising refuses the fit.
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
    for x in designs:
        logs = belief.mean.copy()
        logs[places] += x * belief.deviations[places]
        found.append(solve(belief.values_at(logs)))
    matrix = np.array([_monomials(x) for x in designs])
    return Surrogate(
        belief=belief,
        over=tuple(over),
        terms={
            name: np.linalg.solve(matrix, np.array([one[name] for one in found]))
            for name in found[0]
        },
    )


def _monomials(x: Floats) -> Floats:
    upper = np.triu_indices(len(x))
    monomials: Floats = np.concatenate([[1.0], x, np.outer(x, x)[upper]])
    return monomials

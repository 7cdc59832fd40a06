"""Figures with their likely ranges: what is believed, carried through a few slow solves."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from hidewright.design.interval import Interval
from hidewright.learning.belief import SHARE, Belief

Figures = Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shifted:
    """Figures with one quantity off its middle.

    Attributes:
        name: Of the quantity.
        step: How far its coordinate is off, either way.
        figures: What comes out there, by name.
    """

    name: str
    step: float
    figures: Figures


def likely_ranges(
    belief: Belief,
    likely: Figures,
    shifted: Iterable[Shifted],
    errors: Mapping[str, float] | None = None,
    share: float = SHARE,
) -> dict[str, Interval]:
    """Return (value, low, high) of each figure: a Gaussian carried through by its slopes.

    The slope along a quantity is that of the straight line through the figures on either side of
    its middle; a quantity without any moves nothing. A figure that is above 0 everywhere is
    spread on its logarithm, so that no end of it is below 0.

    Args:
        belief: Of the quantities.
        likely: Figures in the middle.
        shifted: The same off the middle, one quantity at a time.
        errors: By figure: deviation of one more piece about what is foretold, same unit.
        share: Probability of the ranges.

    >>> from hidewright.learning.quantities import BOARD
    >>> from hidewright.learning.belief import prior
    >>> belief = prior({"kerf_mm": 0.2}, BOARD[:1], kerf_mm=0.1)
    >>> wide = Shifted(name="kerf_mm", step=0.1, figures={"twice": 0.4 * math.exp(0.1)})
    >>> told = likely_ranges(belief, {"twice": 0.4}, [wide])["twice"]
    >>> [round(x, 3) for x in (told.likely, told.low, told.high)]
    [0.4, 0.339, 0.472]
    """
    ends = tuple(shifted)
    away = NormalDist().inv_cdf(0.5 + share / 2.0)
    found: dict[str, Interval] = {}
    for name, value in likely.items():
        on_log = value > 0.0 and all(one.figures[name] > 0.0 for one in ends)
        slopes = np.zeros(len(belief.quantities))
        for i, quantity in enumerate(belief.quantities):
            at = [
                (one.step, _on(one.figures[name], on_log))
                for one in ends
                if one.name == quantity.name
            ]
            if len(at) == 1:
                at.append((0.0, _on(value, on_log)))
            if at:
                (a, low), *_, (b, high) = sorted(at)
                slopes[i] = (high - low) / (b - a)
        error = (errors or {}).get(name, 0.0) / (value if on_log else 1.0)
        off = away * math.hypot(math.sqrt(float(slopes @ belief.spread @ slopes)), error)
        found[name] = Interval(
            likely=value,
            low=value * math.exp(-off) if on_log else value - off,
            high=value * math.exp(off) if on_log else value + off,
        )
    return found


def _on(value: float, on_log: bool) -> float:
    return math.log(value) if on_log else value

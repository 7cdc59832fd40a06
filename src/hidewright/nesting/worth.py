"""What a hide is worth keeping for: its area, the better grades counting more."""

import shapely

from hidewright.design.hide import Hide
from hidewright.nesting.ground import graded, marred

#: What an area of a grade counts for. Own judgement, no source.
WORTH = ((1, 1.0), (2, 0.6), (3, 0.3))
ALL_FLAWS = 3


def worth_m2(hide: Hide) -> float:
    """Return the area of a hide with each grade at its worth and flaws at nothing, m2."""
    clear = marred(hide, ALL_FLAWS)
    total, better = 0.0, 0.0
    for grade, worth in WORTH:
        area = float(shapely.area(shapely.difference(graded(hide, grade), clear)))
        total += worth * max(area - better, 0.0)
        better = max(area, better)
    return total / 1e6

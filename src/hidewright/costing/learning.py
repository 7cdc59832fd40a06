"""How much faster a batch goes: Wright's rule."""

import math
from fractions import Fraction

from hidewright.costing.exact import exact


def mean_time(share: float, first: Fraction, count: int) -> Fraction:
    """Return the mean time of a batch whose first piece takes so long.

    Whenever the number made doubles, the mean time of all of them falls to a share of what it was:
    mean = first x count ** log2(share). T. P. Wright, "Factors affecting the cost of airplanes",
    Journal of the Aeronautical Sciences 3 (1936) 122. It is the mean that follows the power law
    here, not the time of the last one.

    Args:
        share: 0.8 is an 80 % curve; 1 learns nothing.
        first: Time of the first.
        count: How many are made, 1 or more.
    """
    return first * exact(count ** math.log2(share))

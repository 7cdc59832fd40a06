"""The plug's outline that lets a hollow dry to the size asked for."""

from collections.abc import Callable

from hidewright.design.states import (
    REFIT_MM,
    Change,
    DryOutline,
    FormedOutline,
    formed_from_dry,
)
from hidewright.geometry.distance import signed_distances
from hidewright.geometry.refit import map_outline
from hidewright.geometry.segment import Floats

#: Where points of the formed leather, (n, 2) mm in the piece's frame, are found when it is dry.
Drying = Callable[[Floats], Floats]

#: The dry hollow may miss what was asked for by this much, mm.
DRY_FIT_MM = 0.05
#: Corrections tried before it is called unreachable.
ROUNDS = 4


def plug_outline(
    wanted: DryOutline, even: Change, drying: Drying | None = None
) -> tuple[FormedOutline, float]:
    """Return the plug's outline, and by how much the hollow then dries off what is wanted.

    A fixed point: each point is moved by what it missed when dried. It converges while drying moves
    neighbouring points nearly alike, which shrinkage of some per cent does.

    Args:
        wanted: Inside of the hollow at the flange, dry, in the piece's frame.
        even: Formed to dry as an even shrinkage: the first guess, exact by itself.
        drying: How it really dries; the even shrinkage when None.

    Returns:
        The outline, and the largest miss in mm; over 0.05 the four rounds were not enough.
    """
    dries = drying or even.of_points
    formed = formed_from_dry(wanted, even)
    missed = _missed(formed, wanted, dries)
    for rounds in range(1, ROUNDS + 1):
        if missed <= DRY_FIT_MM:
            break
        nearer, _ = map_outline(wanted, _wetting(even, dries, rounds), REFIT_MM)
        formed = FormedOutline(nearer)
        missed = _missed(formed, wanted, dries)
    return formed, missed


def _wetting(even: Change, dries: Drying, rounds: int) -> Drying:
    def wetted(dry: Floats) -> Floats:
        formed = even.inverse.of_points(dry)
        for _ in range(rounds):
            formed = formed + (dry - dries(formed))
        return formed

    return wetted


def _missed(formed: FormedOutline, wanted: DryOutline, dries: Drying) -> float:
    off: Floats = abs(signed_distances(wanted, dries(formed.flat_points())))
    return float(off.max())

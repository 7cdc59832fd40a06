"""The least length along x that some pieces need."""

from collections.abc import Callable

import numpy as np

from hidewright.nesting.lattice import Ints
from hidewright.nesting.problem import Budget
from hidewright.nesting.separation import Failed, Pieces

#: Shares by which the length is cut: at first, when that fails no more often than this, later.
FIRST_CUT, LAST_CUT, CUT = 0.08, 0.002, 0.001
#: (strikes, patience) of an attempt to separate: the quick ones, the thorough, the last squeeze.
QUICK, THOROUGH, SQUEEZE = (1, 40), (3, 150), (3, 60)
#: Failed attempts before the best layout is squeezed, and squeezes that fail before it is left.
FAILURES, SQUEEZES = 8, 6


def shorten(pieces: Pieces, budget: Budget, found: Callable[[Ints], None]) -> None:
    """Search for ever shorter layouts until the budget is spent.

    Args:
        pieces: What is laid; with no overlap when its limit is as it is, which is found first.
        budget: Rounds.
        found: Called with the (n, 3) places of each layout without overlap, each shorter.
    """
    if not _first(pieces, budget):
        return
    best = pieces.state.at.copy()
    found(best)
    cut = FIRST_CUT
    while cut >= LAST_CUT and budget.left:
        pieces.narrow(pieces.length * (1.0 - cut))
        if pieces.separate(budget, strikes=QUICK[0], patience=QUICK[1]):
            best = pieces.state.at.copy()
            found(best)
        else:
            cut /= 2.0
            pieces.restore(best)
    _explore(pieces, budget, best, found)


def _first(pieces: Pieces, budget: Budget) -> bool:
    """Separate the pieces within all the length there is."""
    while budget.left:
        if pieces.separate(budget, strikes=THOROUGH[0], patience=THOROUGH[1]):
            return True
        pieces.swap()
    return False


def _explore(pieces: Pieces, budget: Budget, best: Ints, found: Callable[[Ints], None]) -> None:
    """Cut the length again and again; where that fails, start anew from layouts that nearly did.

    As Gardeyn, Vanden Berghe and Wauters, An open-source heuristic to reboot 2D nesting research,
    2025, do it: of the failed layouts, better ones are taken up again more often, with two large
    pieces swapped. A best layout that stood for some failures is squeezed, once.
    """
    failed = Failed()
    squeezed = False
    pieces.restore(best)
    pieces.narrow(pieces.length * (1.0 - CUT))
    while budget.left:
        if pieces.separate(budget, strikes=THOROUGH[0], patience=THOROUGH[1]):
            best, squeezed = pieces.state.at.copy(), False
            found(best)
        else:
            failed.add(pieces)
            if squeezed or len(failed) < FAILURES:
                failed.take_up_one(pieces)
                continue
            target = pieces.state.limit.copy()
            shorter = _squeeze(pieces, budget, best, found)
            squeezed = True
            if shorter is None:
                pieces.state.limit[:] = target
                failed.take_up_one(pieces)
                continue
            best = shorter
        failed = Failed()
        pieces.restore(best)
        pieces.narrow(pieces.length * (1.0 - CUT))


def _squeeze(
    pieces: Pieces, budget: Budget, best: Ints, found: Callable[[Ints], None]
) -> Ints | None:
    """Cut the best layout's length by one step, shifting what lies right of some place.

    Returns:
        The shortest layout found; None when none is shorter.
    """
    shorter = None
    failures = 0
    while failures < SQUEEZES and budget.left:
        pieces.restore(best)
        length = pieces.length
        at = pieces.state.at
        at[at[:, 0] > pieces.draw(max(int(length), 1)), 0] -= 1
        pieces.narrow(length - np.finfo(float).eps * length - 1e-3)
        if pieces.separate(budget, strikes=SQUEEZE[0], patience=SQUEEZE[1]):
            shorter = best = pieces.state.at.copy()
            failures = 0
            found(best)
        else:
            failures += 1
    return shorter

"""A layout changed by hand: pieces pinned or moved, places forbidden, the rest settled round."""

import time
from collections.abc import Callable
from dataclasses import replace

from hidewright.design.cut_layout import CutLayout
from hidewright.design.cutting import Layout
from hidewright.nesting.settle import settled
from hidewright.workshop.cutting.layout import problem_of, rests_of

#: Rounds that let the rest settle round what was moved.
SETTLING = 4000


def settle_layout(
    layout: CutLayout,
    placements: Layout,
    pinned: tuple[tuple[int, int], ...],
    *,
    rounds: int = SETTLING,
    seed: int = 1,
    called_off: Callable[[], bool] = lambda: False,
) -> CutLayout:
    """Return a layout sound again after copies were moved or a place was forbidden on a hide.

    Args:
        layout: With the hides as they are now.
        placements: Where each copy lies or is to lie.
        pinned: (piece, copy) of those that stay to the bit.
        rounds: Budget of the search.
        seed: Of the random numbers.
        called_off: Asked before each round.

    Raises:
        RequestError: When a pinned copy may not lie there, or the others find no room.
    """
    begun = time.perf_counter()
    problem = problem_of(layout)
    held = tuple(p for p in placements if (p.piece, p.copy) in pinned)
    there = settled(problem, placements, held, rounds=rounds, seed=seed, called_off=called_off)
    return replace(
        layout,
        placements=there,
        pinned=pinned,
        rests=rests_of(problem, there),
        seconds=time.perf_counter() - begun,
    )

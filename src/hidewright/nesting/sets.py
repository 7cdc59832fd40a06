"""The most whole sets out of one hide."""

from collections.abc import Callable, Sequence

from hidewright.nesting.lattice import Lattice
from hidewright.nesting.problem import Budget
from hidewright.nesting.separation import Failed, Pieces

#: (strikes, patience) of an attempt to separate.
ATTEMPT = (3, 150)
#: What share of the bound is tried first.
FIRST = 0.6


def most_sets(
    lattice: Lattice,
    one_set: Sequence[int],
    fixed: Sequence[int],
    bound: int,
    seed: int,
    budget: Budget,
    found: Callable[[Pieces, int], None],
) -> None:
    """Search for layouts of ever more sets until the budget is spent or the bound is reached.

    Args:
        lattice: Where they are laid.
        one_set: The kinds of the pieces of a set.
        fixed: The kinds of those that lie already.
        bound: No more sets than this can be laid.
        seed: Of the random numbers.
        budget: Rounds.
        found: Called with each layout without overlap and how many sets it has.
    """
    least = max([1, *(-(-fixed.count(kind) // one_set.count(kind)) for kind in set(fixed))])
    sets = max(least, int(FIRST * bound))
    pieces = Pieces(lattice, still_to_lay(one_set, sets, fixed), seed)
    while not pieces.separate(budget, strikes=ATTEMPT[0], patience=ATTEMPT[1]):
        if not budget.left:
            return
        if sets > least:
            sets = max(least, sets // 2)
            pieces = Pieces(lattice, still_to_lay(one_set, sets, fixed), seed)
        else:
            pieces.swap()
    found(pieces, sets)
    while sets < bound and budget.left:
        pieces = _with_one_more(pieces, one_set, seed)
        if not _separated(pieces, budget):
            return
        sets += 1
        found(pieces, sets)


def still_to_lay(one_set: Sequence[int], sets: int, fixed: Sequence[int]) -> list[int]:
    """Return the kinds of the pieces of some sets, without those that lie already."""
    kinds = list(one_set) * sets
    for kind in fixed:
        kinds.remove(kind)
    return kinds


def _with_one_more(pieces: Pieces, one_set: Sequence[int], seed: int) -> Pieces:
    more = Pieces(pieces.lattice, [*pieces.kinds.tolist(), *one_set], seed)
    more.state.at[: len(pieces.kinds)] = pieces.state.at
    return more


def _separated(pieces: Pieces, budget: Budget) -> bool:
    """Separate the pieces; where that fails, start anew from layouts that nearly did."""
    failed = Failed()
    while not pieces.separate(budget, strikes=ATTEMPT[0], patience=ATTEMPT[1]):
        if not budget.left:
            return False
        failed.add(pieces)
        failed.take_up_one(pieces)
    return True

"""The most whole sets out of one hide."""

from collections.abc import Sequence

from hidewright.nesting.lattice import Lattice
from hidewright.nesting.laying import still_to_lay
from hidewright.nesting.separation import Failed, Laid, Pieces
from hidewright.nesting.side_by_side import Search

#: (strikes, patience) of an attempt to separate: of the first layout, which may be asked too much
#: of, and then.
QUICK, THOROUGH = (1, 50), (3, 150)
#: What share of the bound is tried first.
FIRST = 0.66


def most_sets(
    lattice: Lattice,
    one_set: Sequence[int],
    fixed: Sequence[int],
    bound: int,
    seed: int,
    search: Search[Laid],
) -> None:
    """Search for layouts of ever more sets until the budget is spent or the bound is reached.

    It tells of each layout without overlap, its figure the number of sets below 0, and goes on from
    that with the most sets, whoever found it.

    Args:
        lattice: Where they are laid.
        one_set: The kinds of the pieces of a set.
        fixed: The kinds of those that lie already.
        bound: No more sets than this can be laid.
        seed: Of the random numbers.
        search: What may be spent.
    """
    least = max([1, *(-(-fixed.count(kind) // one_set.count(kind)) for kind in set(fixed))])
    tried = max(least, int(FIRST * bound))
    pieces = Pieces(lattice, still_to_lay(one_set, tried, fixed), seed, search.number)
    while search.left and _told(search) < bound:
        if _told(search) >= tried:
            tried = _told(search) + 1
            pieces = _with_one_more(search, lattice, one_set, seed)
        if _separated(pieces, search, tried, patient=bool(search.best) or tried == least):
            search.tell(-float(tried), pieces.laid)
        elif search.best is None and tried > least:
            tried = max(least, tried // 2)
            pieces = Pieces(lattice, still_to_lay(one_set, tried, fixed), seed, search.number)


def _told(search: Search[Laid]) -> int:
    """Return the most sets that any search is known to have laid."""
    return int(-search.best.figure) if search.best else 0


def _with_one_more(
    search: Search[Laid], lattice: Lattice, one_set: Sequence[int], seed: int
) -> Pieces:
    """Return the best layout so far with the pieces of one more set laid at random."""
    assert search.best is not None
    kinds = search.best.layout.kinds
    more = Pieces(lattice, [*kinds.tolist(), *one_set], seed, search.number)
    more.state.at[: len(kinds)] = search.best.layout.at
    return more


def _separated(pieces: Pieces, search: Search[Laid], sets: int, *, patient: bool) -> bool:
    """Separate the pieces; where that fails, start anew from layouts that nearly did.

    It ends when nothing is left to spend or another search has laid as many sets, and after one
    attempt if it is not to be patient.
    """
    failed = Failed()

    def overtaken() -> bool:
        return _told(search) >= sets

    strikes, patience = THOROUGH if patient else QUICK
    while not pieces.separate(search, strikes=strikes, patience=patience, until=overtaken):
        if not (patient and search.left) or overtaken():
            return False
        failed.add(pieces)
        failed.take_up_one(pieces)
    return True

"""The least length along x that some pieces need."""

from hidewright.nesting.separation import Failed, Laid, Pieces
from hidewright.nesting.side_by_side import Search

#: The first layout is tried in the bound over this, and in so much more each time that fails.
FIRST, WIDER = 0.6, 1.15
#: Shares by which a length is cut: at first, and at last after halving at each failure.
FIRST_CUT, CUT = 0.01, 0.001
#: (strikes, patience) of an attempt to separate: after large cuts, the smallest, in a squeeze.
QUICK, THOROUGH, SQUEEZE = (1, 40), (3, 150), (3, 60)
#: Failed attempts after which a length is let be; squeezes that fail before a layout is.
FAILURES, SQUEEZES = 4, 3
#: A layout that is longer than the shortest by this share is let be at once.
BEHIND = 0.02
#: A layout that is let be gets so much more length, and at most so many swaps; once in so many
#: times the shortest known takes its place.
LOOSER, SWAPS, BACK = 0.03, 4, 4


def shorten(pieces: Pieces, bound: float, search: Search[Laid]) -> None:
    """Search for ever shorter layouts until the budget is spent; tell of each.

    Lengths are cut until that fails; the shortest layout is squeezed; then it or the shortest that
    any search found is let loose, some of its large pieces are swapped, and lengths are cut again.

    Args:
        pieces: What is laid.
        bound: They cannot be laid in less length than this, steps.
        search: What may be spent.
    """
    if not _first(pieces, bound, search):
        return
    _tell(pieces, search)
    while _shortest(search) > bound * (1.0 + 1e-9) and search.spend():
        _press(pieces, search)
        if pieces.length <= _shortest(search):
            _squeeze(pieces, search)
        if not pieces.draw(BACK) and search.best:
            pieces.restore(search.best.layout.at)
        _loosen(pieces, search)


def _shortest(search: Search[Laid]) -> float:
    """Return the shortest length that any search is known to have found."""
    return search.best.figure if search.best else float("inf")


def _tell(pieces: Pieces, search: Search[Laid]) -> None:
    """Tell of a layout that is shorter than any known."""
    if pieces.length < _shortest(search):
        search.tell(pieces.length, pieces.laid)


def _first(pieces: Pieces, bound: float, search: Search[Laid]) -> bool:
    """Lay the pieces without overlap in some length."""
    whole = float(pieces.lattice.limit[0])
    length = min(max(bound / FIRST, pieces.least_length), whole)
    pieces.scatter_within(length)
    while True:
        strikes, patience = QUICK if length < whole else THOROUGH
        if pieces.separate(search, strikes=strikes, patience=patience):
            return True
        if not search.left:
            return False
        if length < whole:
            length = min(length * WIDER, whole)
            pieces.narrow(length)
        else:
            pieces.swap()


def _press(pieces: Pieces, search: Search[Laid]) -> None:
    """Cut the length again and again until the smallest cut fails; lay the shortest layout.

    Where the smallest cut fails it is tried anew from layouts that nearly did it, with two large
    pieces swapped (Gardeyn, Vanden Berghe and Wauters, An open-source heuristic to reboot 2D
    nesting research, 2025), unless it is far behind the shortest layout known.
    """
    cut, failed = FIRST_CUT, Failed()
    shorter = pieces.state.at.copy()
    wanted = pieces.length * (1.0 - cut)
    pieces.narrow(wanted)
    while search.left and len(failed) < FAILURES:
        strikes, patience = THOROUGH if cut <= CUT else QUICK
        if pieces.separate(search, strikes=strikes, patience=patience):
            shorter = pieces.state.at.copy()
            _tell(pieces, search)
            failed = Failed()
        elif cut > CUT:
            cut = max(cut / 2.0, CUT)
            pieces.restore(shorter)
        elif _shortest(search) * (1.0 + BEHIND) < wanted:
            break
        else:
            failed.add(pieces)
            failed.take_up_one(pieces)
            continue
        wanted = pieces.length * (1.0 - cut)
        pieces.narrow(wanted)
    pieces.restore(shorter)


def _squeeze(pieces: Pieces, search: Search[Laid]) -> None:
    """Cut the length by one step, shifting what lies right of some place."""
    shorter = pieces.state.at.copy()
    failures = 0
    while failures < SQUEEZES and search.left:
        pieces.restore(shorter)
        length, at = pieces.length, pieces.state.at
        at[at[:, 0] > pieces.draw(max(int(length), 1)), 0] -= 1
        pieces.narrow(length - 1e-3)
        if pieces.separate(search, strikes=SQUEEZE[0], patience=SQUEEZE[1]):
            shorter, failures = pieces.state.at.copy(), 0
            _tell(pieces, search)
        else:
            failures += 1
    pieces.restore(shorter)


def _loosen(pieces: Pieces, search: Search[Laid]) -> None:
    """Give a layout more length and swap some large pieces."""
    before, length = pieces.state.at.copy(), pieces.length
    pieces.narrow(min(length * (1.0 + LOOSER), float(pieces.lattice.limit[0])))
    for _ in range(1 + pieces.draw(SWAPS)):
        pieces.swap()
    if not pieces.separate(search, strikes=THOROUGH[0], patience=THOROUGH[1]):
        pieces.restore(before)

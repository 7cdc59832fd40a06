"""The order in which holes are sewn, and the thread that takes."""

import math
from collections.abc import Sequence
from itertools import pairwise

from hidewright.errors import RequestError
from hidewright.geometry.segment import Point


def sewing_order(count: int, reverse: int, *, closed: bool = False) -> tuple[int, ...]:
    """Return hole numbers, from 0, in the order the stitches are sewn.

    An open seam begins ``reverse`` holes in, is sewn back to its first hole, forward over those
    stitches to its last, and back again: with 3, it starts at the fourth hole. A closed seam is
    sewn once round from its first hole and on over its first ``reverse`` stitches.

    Args:
        count: Number of holes, at least 2.
        reverse: Stitches sewn back at each end.
        closed: Whether the last hole is followed by the first.

    Raises:
        RequestError: When there are fewer stitches than are to be sewn back.

    >>> sewing_order(6, 2)
    (2, 1, 0, 1, 2, 3, 4, 5, 4, 3)
    """
    stitches = count if closed else count - 1
    if not 0 <= reverse <= stitches:
        raise RequestError(
            f"{reverse} stitches sewn back",
            because=f"the seam has {stitches} stitches",
            mend=f"Sew back at most {stitches}",
        )
    if closed:
        return tuple(i % count for i in range(count + reverse + 1))
    back = range(count - 2, count - 2 - reverse, -1)
    return (*range(reverse, 0, -1), *range(count), *back)


def thread_length(
    holes: Sequence[Point], order: Sequence[int], stack_mm: float, tail_mm: float
) -> float:
    """Return the thread for a saddle-stitched seam, both needles, mm.

    In every stitch each of the two ends runs along the chord on one face and once through the
    stack: 2 (chord + stack) for each stitch sewn, and a tail at each of the thread's two ends. A
    seam of even pitch p without reverse stitches takes 2 (1 + T/p) times its length.

    Args:
        holes: Centres on the front layer, mm.
        order: Hole numbers as sewn, see ``sewing_order``.
        stack_mm: Thickness sewn through, T.
        tail_mm: Left over at each end of the thread, to hold the needle by.
    """
    return 2.0 * math.fsum(math.dist(holes[a], holes[b]) + stack_mm for a, b in pairwise(order)) + (
        2.0 * tail_mm
    )

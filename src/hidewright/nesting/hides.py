"""All pieces from the fewest hides."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from hidewright.nesting.lattice import Ints, Lattice
from hidewright.nesting.problem import Budget
from hidewright.nesting.separation import Pieces

#: No hide is filled by more than this share: what would go beyond is not tried.
DENSEST = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Areas:
    """What is weighed before a piece is tried on a hide, mm2.

    Attributes:
        hides: Area of each hide, without its holes.
        pieces: Area of each kind of piece.
    """

    hides: tuple[float, ...]
    pieces: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """A hide with pieces on it.

    Attributes:
        hide: Its number.
        kinds: (n,) the pieces' kinds.
        at: (n, 3) where they lie on its lattice.
    """

    hide: int
    kinds: Ints
    at: Ints


def fill_hides(
    lattice_of_hide: Callable[[int], Lattice],
    order: Sequence[int],
    kinds: Sequence[int],
    areas: Areas,
    patience: int,
    seed: int,
    budget: Budget,
) -> tuple[Filled, ...] | None:
    """Fill one hide after another until all pieces lie.

    Each hide takes the pieces left over, in their order, one by one: a piece stays when all can be
    moved so that none overlaps.

    Args:
        lattice_of_hide: Returns the lattice of a hide.
        order: The numbers of the hides, that to be filled first first.
        kinds: The pieces' kinds, that to be laid first first.
        areas: Of hides and pieces.
        patience: Rounds without progress that end an attempt to lay one piece more.
        seed: Of the random numbers.
        budget: Rounds.

    Returns:
        The hides filled; None when not all pieces could be laid.
    """
    left = list(kinds)
    filled: list[Filled] = []
    for hide in order:
        if not left:
            break
        one = _fill(lattice_of_hide(hide), hide, left, areas, patience, seed, budget)
        if one is not None:
            filled.append(one)
            for kind in one.kinds.tolist():
                left.remove(kind)
    return None if left else tuple(filled)


def _fill(
    lattice: Lattice,
    hide: int,
    kinds: Sequence[int],
    areas: Areas,
    patience: int,
    seed: int,
    budget: Budget,
) -> Filled | None:
    laid: list[int] = []
    at = np.zeros((0, 3), np.int64)
    refused: set[int] = set()
    room = DENSEST * areas.hides[hide]
    for kind in kinds:
        area = areas.pieces[kind]
        if kind in refused or area > room or not budget.left or not _has_place(lattice, kind):
            continue
        pieces = Pieces(lattice, [*laid, kind], seed + len(laid))
        pieces.state.at[: len(at)] = at
        if pieces.separate(budget, strikes=1, patience=patience):
            laid, at = [*laid, kind], pieces.state.at.copy()
            room -= area
        else:
            refused.add(kind)
    return Filled(hide=hide, kinds=np.array(laid, np.int64), at=at) if laid else None


def _has_place(lattice: Lattice, kind: int) -> bool:
    field = lattice.field
    first, last = field.choices[kind], field.choices[kind + 1]
    return bool(field.free[first:last].any()) if len(field.free) else True

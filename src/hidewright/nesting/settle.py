"""A layout made sound again round copies that were moved: the others go no further than need be."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from hidewright.design.cutting import Layout, Placement
from hidewright.errors import RequestError
from hidewright.nesting.acceptance import faults_of, faults_where
from hidewright.nesting.lattice import Lattice
from hidewright.nesting.laying import lattice_for, placed_by
from hidewright.nesting.problem import Budget, Problem
from hidewright.nesting.separation import Pieces

#: (strikes, patience) of an attempt to separate.
ATTEMPT = (6, 200)


def settled(
    problem: Problem,
    layout: Layout,
    held: Layout,
    *,
    rounds: int,
    seed: int,
    called_off: Callable[[], bool] = lambda: False,
) -> Layout:
    """Return a layout in which some copies lie where they are held and the others round them.

    Each other copy begins where it lies and stays on its hide; only those that overlap move.

    Args:
        problem: What is cut from what.
        layout: Where each copy lies, the held ones too; overlaps are what is mended.
        held: Those that must not move, as they lie.
        rounds: Budget of the search.
        seed: Of the random numbers.
        called_off: Asked before each round.

    Raises:
        RequestError: When a held copy may not lie there, or the others find no room.
    """
    wrong = faults_where(problem, held)
    if wrong:
        raise RequestError(wrong[0], mend="Move it elsewhere, or let it go")
    fixed = replace(problem, fixed=held)
    keys = {(p.piece, p.copy) for p in held}
    budget = Budget(rounds=rounds, called_off=called_off)
    found: list[Placement] = list(held)
    for hide in range(len(problem.hides)):
        free = [p for p in layout if p.hide == hide and (p.piece, p.copy) not in keys]
        if not free:
            continue
        lattice = lattice_for(fixed, hide).with_tables()
        pieces = Pieces(lattice, [p.piece for p in free], seed)
        pieces.spares = False
        pieces.state.at[:] = [_on_lattice(lattice, p) for p in free]
        pieces.narrow(float(lattice.limit[0]))
        if not pieces.separate(budget, strikes=ATTEMPT[0], patience=ATTEMPT[1]):
            raise RequestError(
                f"the rest of hide {problem.hides[hide].name} finds no room round what is pinned",
                because=f"pieces still overlapped after {budget.spent} rounds",
                mend="Move it less, take a pin out, or cut anew",
            )
        at = pieces.state.at
        moved = placed_by(lattice, pieces.kinds, at[:, 2], at[:, :2].astype(float), hide)
        found += [replace(p, copy=q.copy) for p, q in zip(moved, free, strict=True)]
    whole = tuple(found)
    faults = faults_of(fixed, whole)
    if faults:
        raise AssertionError(f"a layout was not accepted: {faults[0]}")
    return whole


def _on_lattice(lattice: Lattice, placement: Placement) -> tuple[int, int, int]:
    """Return column, row and orientation nearest to where a copy lies."""
    field = lattice.field
    ways = range(field.choices[placement.piece], field.choices[placement.piece + 1])
    way = min(ways, key=lambda o: _apart(lattice, o, placement))
    turned = lattice.orientations[way]
    at = np.array([placement.x_mm, placement.y_mm]) + turned.corner - lattice.origin
    column, row = np.rint(at / lattice.step_mm).astype(int).tolist()
    return max(column, 0), max(row, 0), way


def _apart(lattice: Lattice, way: int, placement: Placement) -> float:
    turned = lattice.orientations[way]
    off = abs((turned.angle_deg - placement.angle_deg + 180.0) % 360.0 - 180.0)
    return off + (360.0 if turned.mirrored != placement.mirrored else 0.0)

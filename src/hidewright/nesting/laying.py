"""From a problem to its lattices, and from places on them back to a layout."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import count

from hidewright.design.cutting import Layout, Placement
from hidewright.geometry.segment import Floats
from hidewright.nesting.ground import laid
from hidewright.nesting.lattice import Ints, Lattice, lattice_of, orientations_of
from hidewright.nesting.problem import Problem
from hidewright.nesting.step import step_of

#: Angles that stand for any: so many round the circle.
ANGLES = 12


def lattice_for(problem: Problem, hide: int = 0, angles: int = ANGLES) -> Lattice:
    """Return the lattice of one of a problem's hides, with the copies that are fixed on it."""
    circle = [360.0 * k / angles for k in range(angles)]
    ways = orientations_of(problem.pieces, circle, problem.hides[hide].backbone_deg)
    return lattice_of(
        problem.hides[hide],
        problem.pieces,
        ways,
        spacing_mm=problem.spacing_mm,
        edge_margin_mm=problem.edge_margin_mm,
        step_mm=step_of(problem, ways),
        taken=[laid(problem.pieces[p.piece], p) for p in problem.fixed if p.hide == hide],
    )


def one_set_of(problem: Problem) -> list[int]:
    """Return the kind of each piece of a set."""
    return [kind for kind, piece in enumerate(problem.pieces) for _ in range(piece.count)]


def still_to_lay(one_set: Sequence[int], sets: int, fixed: Sequence[int]) -> list[int]:
    """Return the kinds of the pieces of some sets, without those that lie already."""
    kinds = list(one_set) * sets
    for kind in fixed:
        kinds.remove(kind)
    return kinds


def placed_by(lattice: Lattice, kinds: Ints, way: Ints, at: Floats, hide: int) -> Layout:
    """Return where pieces at places on a lattice lie, which may be between its points.

    Copies are numbered in the order met.
    """
    layout: list[Placement] = []
    for kind, o, place in zip(kinds.tolist(), way.tolist(), at, strict=True):
        turned = lattice.orientations[o]
        x, y = (lattice.origin + place * lattice.step_mm - turned.corner).tolist()
        layout.append(
            Placement(
                piece=kind,
                copy=len(layout),
                hide=hide,
                angle_deg=turned.angle_deg,
                x_mm=x,
                y_mm=y,
                mirrored=turned.mirrored,
            )
        )
    return tuple(layout)


def numbered(problem: Problem, layout: Sequence[Placement]) -> Layout:
    """Return the fixed copies and these, each piece's numbered on where the fixed leave room."""
    taken = {(p.piece, p.copy) for p in problem.fixed}
    copies = [count() for _ in problem.pieces]
    return (
        *problem.fixed,
        *(
            replace(p, copy=next(c for c in copies[p.piece] if (p.piece, c) not in taken))
            for p in layout
        ),
    )

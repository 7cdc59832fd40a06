"""Cutting: where each piece is laid, how good that is, and how good it could be at best."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import count

import numpy as np
import shapely

from hidewright.design.cutting import Layout, Placement
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.bound import bound_of, used_share
from hidewright.nesting.compaction import Parts, compact
from hidewright.nesting.ground import laid, polygon_of, shape_of
from hidewright.nesting.hides import Areas, Filled, fill_hides
from hidewright.nesting.lattice import Ints, Lattice, lattice_of, orientations_of
from hidewright.nesting.length import shorten
from hidewright.nesting.problem import Budget, Goal, Problem
from hidewright.nesting.separation import Pieces
from hidewright.nesting.sets import most_sets, still_to_lay
from hidewright.nesting.soundness import refuse_unsound
from hidewright.nesting.step import step_of
from hidewright.nesting.too_large import refuse_too_large

#: Angles that stand for any: so many round the circle at first, more in each later try.
ANGLES = (12, 18, 24, 36)
#: Told of a better layout, which is reckoned only if asked for, and its figure.
Found = Callable[[Callable[[], Layout], float], None]

#: Patience with each piece of several hides, at first and in later tries.
PATIENCE = (4, 12, 30, 60)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A layout that the independent checker has accepted.

    Attributes:
        layout: Where each piece lies.
        goal: What was asked for.
        figure: Sets, mm of length, or hides.
        bound: What no layout can beat.
        sets: How many sets lie there.
        used: Which share of the hides cut into, up to the length, is pieces.
        rounds: How many were spent; so many again give the same layout.
        seed: Of the random numbers.
    """

    layout: Layout
    goal: Goal
    figure: float
    bound: float
    sets: int
    used: float
    rounds: int
    seed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Best:
    """The best layout so far, still on its lattice."""

    figure: float
    layout: Layout
    sets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What a search is given; one that reaches ``bound`` ends."""

    problem: Problem
    bound: float
    seed: int
    budget: Budget
    progress: Callable[[str], None]
    found: Found
    order: Sequence[int] | None

    @property
    def fixed(self) -> list[int]:
        """The kinds of the copies that lie already."""
        return [placement.piece for placement in self.problem.fixed]


def cut(
    problem: Problem,
    *,
    rounds: int,
    seed: int,
    called_off: Callable[[], bool] = lambda: False,
    progress: Callable[[str], None] = lambda _: None,
    found: Found = lambda _, __: None,
    order: Sequence[int] | None = None,
    enough: float | None = None,
) -> Answer:
    """Lay a problem's pieces as well as some rounds of search can.

    Args:
        problem: What is cut from what.
        rounds: Budget of the search; with the same seed it gives the same layout.
        seed: Of the random numbers.
        called_off: Asked before each round; the best layout so far is kept when it is true.
        progress: Told of each better layout.
        found: Given each better layout, not yet checked.
        order: In which of several hides are filled; the largest first when left out.
        enough: A figure with which the search is content.

    Raises:
        RequestError: When the problem is unsound, a piece fits nowhere, or no layout was found.
    """
    refuse_unsound(problem)
    bound = bound_of(problem)
    budget = Budget(rounds=rounds, called_off=called_off)
    asked = _Asked(
        problem=problem,
        bound=bound if enough is None else _nearer(problem.goal, bound, enough),
        seed=seed,
        budget=budget,
        progress=progress,
        found=found,
        order=order,
    )
    best = {"sets": _sets, "length": _length, "hides": _hides}[problem.goal](asked)
    if best is None:
        raise RequestError(
            f"no layout was found in {budget.spent} rounds",
            because="pieces still overlapped or were left over",
            mend="Give it more rounds, or ask for less",
        )
    faults = faults_of(problem, best.layout)
    if faults:
        raise AssertionError(f"a layout was not accepted: {faults[0]}")
    hides = sorted({placement.hide for placement in best.layout})
    length = best.figure if problem.goal == "length" else None
    return Answer(
        layout=best.layout,
        goal=problem.goal,
        figure=best.figure,
        bound=bound,
        sets=best.sets,
        used=used_share(problem, best.sets, hides, length),
        rounds=budget.spent,
        seed=seed,
    )


def _nearer(goal: Goal, bound: float, enough: float) -> float:
    return min(bound, enough) if goal == "sets" else max(bound, enough)


def _one_set(problem: Problem) -> list[int]:
    return [kind for kind, piece in enumerate(problem.pieces) for _ in range(piece.count)]


def lattice_for(problem: Problem, hide: int = 0, angles: int = ANGLES[0]) -> Lattice:
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


def _numbered(problem: Problem, layout: Sequence[Placement]) -> Layout:
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


def _sets(asked: _Asked) -> _Best | None:
    problem, budget = asked.problem, asked.budget
    lattice = lattice_for(problem)
    refuse_too_large(problem, (lattice,))
    best: list[_Best] = []

    def found(pieces: Pieces, sets: int) -> None:
        at = pieces.state.at
        moved = placed_by(lattice, pieces.kinds, at[:, 2], at[:, :2].astype(float), 0)
        layout = _numbered(problem, moved)
        best[:] = [_Best(figure=float(sets), layout=layout, sets=sets)]
        asked.progress(f"{sets} sets after {budget.spent} rounds")
        asked.found(lambda: layout, float(sets))

    most_sets(lattice, _one_set(problem), asked.fixed, int(asked.bound), asked.seed, budget, found)
    return best[0] if best else None


def _length(asked: _Asked) -> _Best | None:
    problem, budget = asked.problem, asked.budget
    lattice = lattice_for(problem)
    refuse_too_large(problem, (lattice,))
    kinds = still_to_lay(_one_set(problem), problem.sets, asked.fixed)
    pieces = Pieces(lattice, kinds, asked.seed)
    best: list[Ints] = []
    offset = float(lattice.origin[0]) - problem.hides[0].left_mm

    def layout_of(way: Ints, at: Floats) -> Layout:
        return _numbered(problem, placed_by(lattice, pieces.kinds, way, at, 0))

    def found(at: Ints) -> None:
        best[:] = [at]
        length = offset + pieces.length * lattice.step_mm
        asked.progress(f"{length:.1f} after {budget.spent} rounds")
        asked.found(lambda: layout_of(at[:, 2], at[:, :2].astype(float)), length)

    shorten(pieces, (asked.bound - offset) / lattice.step_mm, budget, found)
    if not best:
        return None
    at, way = best[0][:, :2].astype(float), best[0][:, 2]
    field = lattice.field
    if not len(field.free):
        parts = Parts(xy=field.xy, corner=field.corner, part=field.part, spacing=field.spacing)
        at, _ = compact(parts, at, way, field.size[way], lattice.limit)
    ends = at[:, 0] + field.size[way, 0]
    fixed = (shapely.bounds(laid(problem.pieces[p.piece], p))[2] for p in problem.fixed)
    return _Best(
        figure=max(
            offset + float(ends.max(initial=0.0)) * lattice.step_mm,
            *(float(right) - problem.hides[0].left_mm for right in fixed),
            0.0,
        ),
        layout=layout_of(way, at),
        sets=problem.sets,
    )


def _hides(asked: _Asked) -> _Best | None:
    problem, budget = asked.problem, asked.budget
    areas = Areas(
        hides=tuple(
            float(shapely.area(polygon_of(hide.outline, hide.holes))) for hide in problem.hides
        ),
        pieces=tuple(float(shapely.area(shape_of(p))) for p in problem.pieces),
    )
    by_size = sorted(range(len(areas.hides)), key=lambda k: (-areas.hides[k], k))
    begun = {p.hide for p in problem.fixed}
    order = sorted(asked.order or by_size, key=lambda hide: hide not in begun)
    one_set = still_to_lay(_one_set(problem), 1, asked.fixed)
    kinds = sorted(one_set, key=lambda kind: (-areas.pieces[kind], kind))
    best: _Best | None = None
    made: dict[tuple[int, int], Lattice] = {}

    def lattice_of_hide(hide: int, angles: int) -> Lattice:
        if (hide, angles) not in made:
            made.clear()
            made[hide, angles] = lattice_for(problem, hide, angles)
        return made[hide, angles]

    refuse_too_large(problem, (lattice_of_hide(hide, ANGLES[0]) for hide in order))
    turn = 0
    while (best is None or best.figure > asked.bound) and budget.spend():
        of_hide = partial(lattice_of_hide, angles=ANGLES[min(turn, len(ANGLES) - 1)])
        few = order if best is None else order[: int(best.figure) - 1]
        patience = PATIENCE[min(turn, len(PATIENCE) - 1)]
        filled = fill_hides(of_hide, few, kinds, areas, patience, asked.seed + turn, budget)
        if filled is not None:
            layout = _on_hides(problem, filled, of_hide)
            used = begun | {one.hide for one in filled}
            best = _Best(figure=float(len(used)), layout=layout, sets=1)
            asked.progress(f"{len(used)} hides after {budget.spent} rounds")
            asked.found(partial(_on_hides, problem, filled, of_hide), float(len(used)))
        turn += 1
        kinds = _shuffled(kinds, np.random.default_rng((asked.seed, turn)))
    return best


def _shuffled(kinds: Sequence[int], random: np.random.Generator) -> list[int]:
    """Return kinds nearly in their order: each moved by a few places."""
    keys = np.arange(len(kinds)) + random.normal(0.0, 0.05 * len(kinds), len(kinds))
    return [kinds[k] for k in np.argsort(keys, kind="stable")]


def _on_hides(
    problem: Problem, filled: Sequence[Filled], lattice_of_hide: Callable[[int], Lattice]
) -> Layout:
    layout: list[Placement] = []
    for one in filled:
        at = one.at[:, :2].astype(float)
        layout += placed_by(lattice_of_hide(one.hide), one.kinds, one.at[:, 2], at, one.hide)
    return _numbered(problem, layout)

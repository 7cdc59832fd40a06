"""Cutting: where each piece is laid, how good that is, and how good it could be at best."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import shapely

from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.bound import bound_of, used_share
from hidewright.nesting.compaction import Parts, compact
from hidewright.nesting.ground import polygon_of
from hidewright.nesting.hides import Areas, Filled, fill_hides
from hidewright.nesting.lattice import Ints, Lattice, lattice_of, orientations_of
from hidewright.nesting.length import shorten
from hidewright.nesting.problem import Budget, Goal, Layout, Placement, Problem
from hidewright.nesting.separation import Pieces
from hidewright.nesting.sets import most_sets
from hidewright.nesting.soundness import refuse_unsound
from hidewright.nesting.step import step_of
from hidewright.nesting.too_large import refuse_too_large

#: Angles that stand for any: so many round the circle at first, more in each later try.
ANGLES = (12, 18, 24, 36)
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


def cut(
    problem: Problem,
    *,
    rounds: int,
    seed: int,
    called_off: Callable[[], bool] = lambda: False,
    progress: Callable[[str], None] = lambda _: None,
) -> Answer:
    """Lay a problem's pieces as well as some rounds of search can.

    Args:
        problem: What is cut from what.
        rounds: Budget of the search; with the same seed it gives the same layout.
        seed: Of the random numbers.
        called_off: Asked before each round; the best layout so far is kept when it is true.
        progress: Told of each better layout.

    Raises:
        RequestError: When the problem is unsound, a piece fits nowhere, or no layout was found.
    """
    refuse_unsound(problem)
    bound = bound_of(problem)
    budget = Budget(rounds=rounds, called_off=called_off)
    search = {"sets": _sets, "length": _length, "hides": _hides}[problem.goal]
    best = search(problem, bound, seed, budget, progress)
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


def _one_set(problem: Problem) -> list[int]:
    return [kind for kind, piece in enumerate(problem.pieces) for _ in range(piece.count)]


def _lattice(problem: Problem, hide: int = 0, angles: int = ANGLES[0]) -> Lattice:
    ways = orientations_of(problem.pieces, [360.0 * k / angles for k in range(angles)])
    return lattice_of(
        problem.hides[hide],
        problem.pieces,
        ways,
        spacing_mm=problem.spacing_mm,
        edge_margin_mm=problem.edge_margin_mm,
        step_mm=step_of(problem, ways),
    )


def _placed(lattice: Lattice, kinds: Ints, way: Ints, at: Floats, hide: int) -> Layout:
    """Return the layout of pieces at places on a lattice, which may lie between its points."""
    copies: dict[int, int] = {}
    layout = []
    for kind, o, place in zip(kinds.tolist(), way.tolist(), at, strict=True):
        turned = lattice.orientations[o]
        x, y = (lattice.origin + place * lattice.step_mm - turned.corner).tolist()
        copies[kind] = copies.get(kind, -1) + 1
        layout.append(
            Placement(
                piece=kind,
                copy=copies[kind],
                hide=hide,
                angle_deg=turned.angle_deg,
                x_mm=x,
                y_mm=y,
                mirrored=turned.mirrored,
            )
        )
    return tuple(layout)


def _sets(
    problem: Problem, bound: float, seed: int, budget: Budget, progress: Callable[[str], None]
) -> _Best | None:
    lattice = _lattice(problem)
    refuse_too_large(problem, (lattice,))
    best: list[_Best] = []

    def found(pieces: Pieces, sets: int) -> None:
        at = pieces.state.at
        layout = _placed(lattice, pieces.kinds, at[:, 2], at[:, :2].astype(float), 0)
        best[:] = [_Best(figure=float(sets), layout=layout, sets=sets)]
        progress(f"{sets} sets after {budget.spent} rounds")

    most_sets(lattice, _one_set(problem), int(bound), seed, budget, found)
    return best[0] if best else None


def _length(
    problem: Problem, bound: float, seed: int, budget: Budget, progress: Callable[[str], None]
) -> _Best | None:
    lattice = _lattice(problem)
    refuse_too_large(problem, (lattice,))
    kinds = _one_set(problem) * problem.sets
    pieces = Pieces(lattice, kinds, seed)
    best: list[Ints] = []
    offset = float(lattice.origin[0]) - problem.hides[0].left_mm

    def found(at: Ints) -> None:
        best[:] = [at]
        progress(f"{offset + pieces.length * lattice.step_mm:.1f} after {budget.spent} rounds")

    shorten(pieces, (bound - offset) / lattice.step_mm, budget, found)
    if not best:
        return None
    at, way = best[0][:, :2].astype(float), best[0][:, 2]
    field = lattice.field
    ends = at[:, 0] + field.size[way, 0]
    if not len(field.free):
        parts = Parts(xy=field.xy, corner=field.corner, part=field.part, spacing=field.spacing)
        at, _ = compact(parts, at, way, field.size[way], lattice.limit)
        ends = at[:, 0] + field.size[way, 0]
    return _Best(
        figure=offset + float(ends.max()) * lattice.step_mm,
        layout=_placed(lattice, pieces.kinds, way, at, 0),
        sets=problem.sets,
    )


def _hides(
    problem: Problem, bound: float, seed: int, budget: Budget, progress: Callable[[str], None]
) -> _Best | None:
    areas = Areas(
        hides=tuple(
            float(shapely.area(polygon_of(hide.outline, hide.holes))) for hide in problem.hides
        ),
        pieces=tuple(float(shapely.area(polygon_of(p.outline, p.holes))) for p in problem.pieces),
    )
    order = sorted(range(len(areas.hides)), key=lambda k: (-areas.hides[k], k))
    kinds = sorted(_one_set(problem), key=lambda kind: (-areas.pieces[kind], kind))
    best: _Best | None = None
    made: dict[tuple[int, int], Lattice] = {}

    def lattice_of_hide(hide: int, angles: int) -> Lattice:
        if (hide, angles) not in made:
            made.clear()
            made[hide, angles] = _lattice(problem, hide, angles)
        return made[hide, angles]

    refuse_too_large(problem, (lattice_of_hide(hide, ANGLES[0]) for hide in order))
    turn = 0
    while (best is None or best.figure > bound) and budget.spend():
        of_hide = partial(lattice_of_hide, angles=ANGLES[min(turn, len(ANGLES) - 1)])
        few = order if best is None else order[: int(best.figure) - 1]
        patience = PATIENCE[min(turn, len(PATIENCE) - 1)]
        filled = fill_hides(of_hide, few, kinds, areas, patience, seed + turn, budget)
        if filled is not None:
            layout = _on_hides(problem, filled, of_hide)
            best = _Best(figure=float(len(filled)), layout=layout, sets=1)
            progress(f"{len(filled)} hides after {budget.spent} rounds")
        turn += 1
        kinds = _shuffled(kinds, np.random.default_rng((seed, turn)))
    return best


def _shuffled(kinds: Sequence[int], random: np.random.Generator) -> list[int]:
    """Return kinds nearly in their order: each moved by a few places."""
    keys = np.arange(len(kinds)) + random.normal(0.0, 0.05 * len(kinds), len(kinds))
    return [kinds[k] for k in np.argsort(keys, kind="stable")]


def _on_hides(
    problem: Problem, filled: Sequence[Filled], lattice_of_hide: Callable[[int], Lattice]
) -> Layout:
    layout: list[Placement] = []
    copies = [0] * len(problem.pieces)
    for one in filled:
        at = one.at[:, :2].astype(float)
        for p in _placed(lattice_of_hide(one.hide), one.kinds, one.at[:, 2], at, one.hide):
            layout.append(replace(p, copy=copies[p.piece]))
            copies[p.piece] += 1
    return tuple(layout)

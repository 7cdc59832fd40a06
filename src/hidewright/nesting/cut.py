"""Cutting: where each piece is laid, how good that is, and how good it could be at best."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import shapely

from hidewright.design.cutting import Layout
from hidewright.errors import RequestError
from hidewright.geometry.segment import Floats
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.bound import bound_of, used_share
from hidewright.nesting.compaction import Parts, compact
from hidewright.nesting.fewest import Fewest
from hidewright.nesting.ground import laid
from hidewright.nesting.lattice import Lattice
from hidewright.nesting.laying import lattice_for, numbered, one_set_of, placed_by, still_to_lay
from hidewright.nesting.length import shorten
from hidewright.nesting.problem import Budget, Goal, Problem
from hidewright.nesting.separation import Laid, Pieces
from hidewright.nesting.sets import most_sets
from hidewright.nesting.side_by_side import Found, Search, search_side_by_side
from hidewright.nesting.soundness import refuse_unsound
from hidewright.nesting.too_large import refuse_too_large

#: Told of a better layout, which is reckoned only if asked for, and its figure.
Told = Callable[[Callable[[], Layout], float], None]


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
    found: Told
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
    found: Told = lambda _, __: None,
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


def _on_one_hide(problem: Problem) -> tuple[Lattice, Callable[[Laid, Floats], Layout]]:
    """Return the hide's lattice with its tables, and what makes a layout of places on it.

    Raises:
        RequestError: When a piece fits nowhere.
    """
    lattice = lattice_for(problem)
    refuse_too_large(problem, (lattice,))

    def layout_of(pieces: Laid, at: Floats) -> Layout:
        return numbered(problem, placed_by(lattice, pieces.kinds, pieces.at[:, 2], at, 0))

    return lattice.with_all_tables(), layout_of


def _sets(asked: _Asked) -> _Best | None:
    problem = asked.problem
    lattice, layout_of = _on_one_hide(problem)

    def announce(found: Found[Laid]) -> None:
        asked.progress(f"{-found.figure:.0f} sets after {found.rounds} rounds")
        asked.found(partial(layout_of, found.layout, found.layout.places), -found.figure)

    def seek(search: Search[Laid]) -> None:
        one_set, bound = one_set_of(problem), int(asked.bound)
        most_sets(lattice, one_set, asked.fixed, bound, asked.seed, search)

    pieces = len(one_set_of(problem)) * max(int(asked.bound), 1)
    best = search_side_by_side(asked.budget, pieces, seek, announce)
    if best is None:
        return None
    layout = layout_of(best.layout, best.layout.places)
    return _Best(figure=-best.figure, layout=layout, sets=int(-best.figure))


def _length(asked: _Asked) -> _Best | None:
    problem = asked.problem
    lattice, layout_of = _on_one_hide(problem)
    kinds = still_to_lay(one_set_of(problem), problem.sets, asked.fixed)
    offset = float(lattice.origin[0]) - problem.hides[0].left_mm

    def announce(found: Found[Laid]) -> None:
        length = offset + found.figure * lattice.step_mm
        asked.progress(f"{length:.1f} after {found.rounds} rounds")
        asked.found(partial(layout_of, found.layout, found.layout.places), length)

    def seek(search: Search[Laid]) -> None:
        pieces = Pieces(lattice, kinds, asked.seed, search.number)
        shorten(pieces, (asked.bound - offset) / lattice.step_mm, search)

    best = search_side_by_side(asked.budget, len(kinds), seek, announce)
    if best is None:
        return None
    at, way = best.layout.places, best.layout.at[:, 2]
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
        layout=layout_of(best.layout, at),
        sets=problem.sets,
    )


def _hides(asked: _Asked) -> _Best | None:
    fewest = Fewest(asked.problem, asked.order)

    def announce(found: Found[Layout]) -> None:
        asked.progress(f"{found.figure:.0f} hides after {found.rounds} rounds")
        asked.found(lambda: found.layout, found.figure)

    def seek(search: Search[Layout]) -> None:
        fewest.seek(asked.bound, asked.seed, search)

    pieces = len(one_set_of(asked.problem))
    best = search_side_by_side(asked.budget, pieces, seek, announce)
    return _Best(figure=best.figure, layout=best.layout, sets=1) if best else None

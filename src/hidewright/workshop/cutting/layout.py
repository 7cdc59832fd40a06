"""From a question to the problem that is searched, and from placements to a layout."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from hidewright.design.asked_piece import MATES_WITHIN_MM, AskedPiece
from hidewright.design.cut_layout import CutLayout, Rest, piece_area
from hidewright.design.cutting import Cutting, Layout
from hidewright.design.hide import Hide
from hidewright.design.stock_hide import StockHide
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.ground import laid
from hidewright.nesting.problem import Goal, Problem
from hidewright.nesting.remnants import remnants_of
from hidewright.workshop.cutting.asked import CutAsked

#: Mates fill a band of thickness to this share of its leather before the next is begun.
FILLED = 0.5


def problem_for(
    asked: CutAsked,
    goal: Goal,
    sets: int,
    hides: Sequence[tuple[str, StockHide]],
    fixed: Layout | None = None,
) -> Problem:
    """Return so many sets as one problem; with the goal ``sets`` they are what is counted.

    Its pieces are those asked for, in their order; behind them come copies of mates that have to
    lie in leather of another thickness than the first of them.
    """
    shapes = tuple(stock.hide for _, stock in hides)
    first: list[Cutting] = []
    further: list[Cutting] = []
    for piece, count in asked.pieces:
        wanted = piece.as_cutting(-(-sets * count // piece.articles))
        one, *others = _in_bands(piece, wanted, shapes, one_band=goal == "sets")
        first.append(one)
        further += others
    return Problem(
        goal=goal,
        hides=shapes,
        pieces=(*first, *further),
        spacing_mm=asked.spacing_mm,
        edge_margin_mm=asked.edge_margin_mm,
        fixed=asked.fixed if fixed is None else fixed,
    )


def _in_bands(
    piece: AskedPiece, wanted: Cutting, hides: Sequence[Hide], *, one_band: bool
) -> list[Cutting]:
    """Return a piece once; mates once for each band of thickness that their copies must lie in.

    Mates agree within 0.2 mm. The band there is most leather of is filled first, then the next.
    """
    if piece.thickness_mm is None or not piece.mates:
        return [wanted]
    bands = _bands(piece.thickness_mm, hides)
    if not bands:
        return [wanted]
    left, found = wanted.count, []
    for band, size in bands[:1] if one_band else bands:
        room = max(1, int(FILLED * size / piece_area(wanted)))
        if left > 0:
            found.append(replace(wanted, count=min(room, left), thickness_mm=band))
            left -= room
    if left > 0:
        found[0] = replace(found[0], count=found[0].count + left)
    return found


def _bands(
    within: tuple[float, float], hides: Sequence[Hide]
) -> list[tuple[tuple[float, float], float]]:
    """Return bands of at most 0.2 mm with their mm2, none sharing leather, the largest first."""
    low, high = within
    areas: dict[float, float] = {}
    for hide in hides:
        for area in hide.thicknesses:
            if low <= area.thickness_mm <= high:
                size = replace(hide, outline=area.outline, holes=()).area_mm2
                areas[area.thickness_mm] = areas.get(area.thickness_mm, 0.0) + size
    found = []
    while areas:

        def inside(start: float) -> list[float]:
            # thicknesses are told to 0.01 mm at best: what arithmetic adds does not part them
            return [t for t in areas if start <= t <= start + MATES_WITHIN_MM + 1e-9]

        start = max(sorted(areas), key=lambda t: math.fsum(areas[one] for one in inside(t)))
        band = inside(start)
        found.append(((start, max(band)), math.fsum(areas.pop(one) for one in band)))
    return sorted(found, key=lambda one: -one[1])


def layout_maker(
    asked: CutAsked,
    problem: Problem,
    sets: int,
    hides: Sequence[tuple[str, StockHide]],
    spent: Callable[[], tuple[int, float]],
    bound: float | None = None,
) -> Callable[[Layout, float | None], CutLayout]:
    """Return what makes a layout of placements and a figure; without one it is m2 of leather.

    Args:
        asked: The question.
        problem: What was laid.
        sets: How many; with the goal ``sets`` the figure tells it.
        hides: What it was laid on, by id.
        spent: Tells rounds and seconds until now.
        bound: What the figure cannot beat; the pieces' own area when left out.
    """
    names: dict[str, int] = {}
    for piece, count in asked.pieces:
        names[piece.article] = count

    def whole(placements: Layout, figure: float | None) -> CutLayout:
        rounds, seconds = spent()
        count = sets if problem.goal != "sets" else int(figure or 0)
        layout = CutLayout(
            title=", ".join(f"{count * n} × {name}" for name, n in names.items()),
            material=asked.material,
            question=asked.question,
            sets=count,
            articles=tuple((name, count * n) for name, n in names.items()),
            hides=problem.hides,
            hide_ids=tuple(id for id, _ in hides),
            pieces=problem.pieces,
            placements=placements,
            pinned=tuple((p.piece, p.copy) for p in problem.fixed),
            spacing_mm=problem.spacing_mm,
            edge_margin_mm=problem.edge_margin_mm,
            rests=rests_of(problem, placements),
            figure=0.0,
            bound=0.0,
            rounds=rounds,
            seed=asked.seed,
            seconds=seconds,
        )
        return replace(
            layout,
            figure=layout.taken_m2 if figure is None else figure,
            bound=layout.pieces_m2 if bound is None else bound,
        )

    return whole


def rests_of(problem: Problem, placements: Layout) -> tuple[Rest, ...]:
    """Return what is left of the hides cut into and worth keeping."""
    found = []
    for number in sorted({p.hide for p in placements}):
        taken = [laid(problem.pieces[p.piece], p) for p in placements if p.hide == number]
        for hide in remnants_of(problem.hides[number], taken, problem.spacing_mm):
            found.append(Rest(of=number, hide=hide))
    return tuple(found)


def problem_of(layout: CutLayout) -> Problem:
    """Return what a layout answers, so that it can be checked and settled."""
    return Problem(
        goal="length",
        hides=layout.hides,
        pieces=tuple(
            replace(piece, count=sum(p.piece == number for p in layout.placements))
            for number, piece in enumerate(layout.pieces)
        ),
        spacing_mm=layout.spacing_mm,
        edge_margin_mm=layout.edge_margin_mm,
    )


def check_layout(layout: CutLayout) -> tuple[str, ...]:
    """Return what is wrong with a layout, in words; nothing when it may be cut."""
    return faults_of(problem_of(layout), layout.placements)

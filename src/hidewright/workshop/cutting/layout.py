"""From a question to the problem that is searched, and from placements to a layout."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from hidewright.design.cut_layout import CutLayout, Rest
from hidewright.design.cutting import Layout
from hidewright.design.stock_hide import StockHide
from hidewright.nesting.acceptance import faults_of
from hidewright.nesting.ground import laid
from hidewright.nesting.problem import Goal, Problem
from hidewright.nesting.remnants import remnants_of
from hidewright.workshop.cutting.asked import CutAsked


def problem_for(
    asked: CutAsked,
    goal: Goal,
    sets: int,
    hides: Sequence[tuple[str, StockHide]],
    fixed: Layout | None = None,
) -> Problem:
    """Return so many sets as one problem; with the goal ``sets`` they are what is counted.

    Its pieces are those asked for, in their order.
    """
    return Problem(
        goal=goal,
        hides=tuple(stock.hide for _, stock in hides),
        pieces=tuple(
            piece.as_cutting(-(-sets * count // piece.articles)) for piece, count in asked.pieces
        ),
        spacing_mm=asked.spacing_mm,
        edge_margin_mm=asked.edge_margin_mm,
        fixed=asked.fixed if fixed is None else fixed,
    )


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

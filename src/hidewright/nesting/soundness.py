"""What is wrong with a problem before any search: outlines that cross, flaws outside."""

import shapely
from shapely.validation import explain_validity

from hidewright.design.hide import Corners, Hide
from hidewright.errors import RequestError
from hidewright.nesting.problem import Problem


def refuse_unsound(problem: Problem) -> None:
    """Refuse what cannot be cut.

    Raises:
        RequestError: When a hide's or piece's outline crosses itself or has no area, or a flaw or
            grade area lies off its hide.
    """
    for hide in problem.hides:
        refuse_unsound_hide(hide)
    for piece in problem.pieces:
        what = f"the outline of piece {piece.name}"
        _refuse_crossed(piece.outline, piece.holes, what)
        for other in piece.others:
            _refuse_crossed(other, (), what)


def refuse_unsound_hide(hide: Hide) -> None:
    """Refuse a hide that nothing can be cut from.

    Raises:
        RequestError: When its outline crosses itself or has no area, or a flaw or area lies off it.
    """
    _refuse_crossed(hide.outline, (), f"the outline of hide {hide.name}")
    whole = shapely.Polygon(hide.outline)
    for flaw in hide.flaws:
        _refuse_outside(whole, flaw.outline, f"the {flaw.kind}", hide)
    for area in hide.areas:
        _refuse_outside(whole, area.outline, f"an area of grade {area.grade}", hide)
    for measured in hide.thicknesses:
        what = f"an area {measured.thickness_mm:g} mm thick"
        _refuse_outside(whole, measured.outline, what, hide)


def _refuse_crossed(outline: Corners, holes: tuple[Corners, ...], what: str) -> None:
    shape = shapely.Polygon(outline, holes)
    if not shape.is_valid:
        raise RequestError(
            f"{what} crosses or touches itself",
            because=explain_validity(shape),
            mend="Move the corner that is on the wrong side",
        )
    if shape.area <= 0.0:
        raise RequestError(f"{what} has no area", mend="Give at least three corners apart")


def _refuse_outside(whole: shapely.Polygon, outline: Corners, what: str, hide: Hide) -> None:
    if whole.disjoint(shapely.make_valid(shapely.Polygon(outline))):
        x, y = outline[0]
        raise RequestError(
            f"{what} at ({x:g}, {y:g}) lies outside hide {hide.name}",
            mend="Move it onto the hide, or leave it out",
        )

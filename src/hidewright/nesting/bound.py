"""What no layout can beat: bounds by area."""

from collections.abc import Hashable, Sequence

import shapely

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Hide
from hidewright.nesting.ground import shape_of, usable
from hidewright.nesting.problem import Problem

#: Halvings of the interval in which the bound of a length is sought.
HALVINGS = 50


def bound_of(problem: Problem) -> float:
    """Return what the problem's figure cannot beat: sets at most, length or hides at least.

    Pieces grown by half the spacing do not overlap, and lie in what they may use grown likewise.
    So they have no more area than that; nor have those of them that may use no more than some
    piece may, compared with what it may use.
    """
    demands = _demands(problem.pieces, problem.spacing_mm / 2.0)
    if problem.goal == "sets":
        return float(int(_sets(problem, demands) + 1e-9))
    if problem.goal == "hides":
        return float(_hides(problem))
    return _length(problem, demands)


def used_share(problem: Problem, sets: int, hides: Sequence[int], length_mm: float | None) -> float:
    """Return which share of the hides that were cut into is now pieces.

    Args:
        problem: What was cut.
        sets: How many sets.
        hides: The numbers of the hides cut into.
        length_mm: How much of the hide's length counts; None is all.
    """
    net = sets * sum(_area(piece) * piece.count for piece in problem.pieces)
    gross = 0.0
    for number in hides:
        whole = shapely.Polygon(problem.hides[number].outline)
        left, bottom, right, top = whole.bounds
        end = right if length_mm is None else left + length_mm
        gross += whole.intersection(shapely.box(left, bottom, end, top)).area
    return net / gross if gross else 0.0


def _area(piece: Cutting) -> float:
    return float(shapely.area(shape_of(piece)))


def _demands(pieces: Sequence[Cutting], half: float) -> tuple[tuple[Cutting, float], ...]:
    """Return (a piece, grown area of all pieces of a set that may use no more than it)."""
    grown = {
        piece: float(shapely.area(shapely.buffer(shape_of(piece), half, quad_segs=32)))
        * piece.count
        for piece in pieces
    }
    seen: dict[tuple[Hashable, ...], tuple[Cutting, float]] = {}
    for one in pieces:
        pickier = sum(area for p, area in grown.items() if _is_pickier(p, one))
        seen[one.grade, one.clear_of_throughout, one.thickness_mm] = (one, pickier)
    return tuple(seen.values())


def _is_pickier(piece: Cutting, than: Cutting) -> bool:
    """Whether a piece may use no more than another may."""
    if than.thickness_mm is not None:
        if piece.thickness_mm is None:
            return False
        (low, high), (least, most) = piece.thickness_mm, than.thickness_mm
        if low < least or high > most:
            return False
    return piece.grade <= than.grade and (piece.clear_of_throughout >= than.clear_of_throughout)


def _room(hide: Hide, piece: Cutting, problem: Problem, end: float | None = None) -> float:
    """Return the grown area of what a piece may use, mm2; up to some x if given."""
    area = usable(hide, piece, problem.edge_margin_mm)
    if end is not None:
        left, bottom, _, top = shapely.bounds(shapely.Polygon(hide.outline))
        area = shapely.intersection(area, shapely.box(left - 1.0, bottom - 1.0, end, top + 1.0))
    # with mitred corners it is no smaller than with round ones
    return float(shapely.buffer(area, problem.spacing_mm / 2.0, join_style="mitre").area)


def _sets(problem: Problem, demands: Sequence[tuple[Cutting, float]]) -> float:
    return min(_room(problem.hides[0], piece, problem) / area for piece, area in demands)


def _length(problem: Problem, demands: Sequence[tuple[Cutting, float]]) -> float:
    hide = problem.hides[0]
    low, high = hide.left_mm, max(x for x, _ in hide.outline)
    areas = [(usable(hide, piece, problem.edge_margin_mm), area) for piece, area in demands]
    left, bottom, _, top = shapely.bounds(shapely.Polygon(hide.outline))
    for _ in range(HALVINGS):
        end = (low + high) / 2.0
        box = shapely.box(left - 1.0, bottom - 1.0, end, top + 1.0)
        enough = all(
            shapely.buffer(
                shapely.intersection(area, box), problem.spacing_mm / 2.0, join_style="mitre"
            ).area
            >= problem.sets * wanted
            for area, wanted in areas
        )
        low, high = (low, end) if enough else (end, high)
    return low - hide.left_mm


def rooms_of(problem: Problem) -> tuple[tuple[float, tuple[float, ...]], ...]:
    """Return what pieces need at least and what each hide has for them, mm2.

    Hides hold no set when, in any of the pairs, theirs come to less than is needed.
    """
    return tuple(
        (wanted * problem.sets, tuple(_room(hide, piece, problem) for hide in problem.hides))
        for piece, wanted in _demands(problem.pieces, problem.spacing_mm / 2.0)
    )


def _hides(problem: Problem) -> int:
    least = 1
    for wanted, rooms in rooms_of(problem):
        count, total = 0, 0.0
        for room in sorted(rooms, reverse=True):
            if total >= wanted:
                break
            total += room
            count += 1
        least = max(least, count)
    return least

"""A layout checked against what was asked for, with nothing of what the search is made of.

Each piece is laid anew from its own outline and measured as a polygon.
"""

import math
from collections import Counter
from collections.abc import Iterable

import shapely
from shapely import affinity

from hidewright.design.cutting import Cutting, Layout, Placement
from hidewright.design.hide import Corners, Hide
from hidewright.nesting.problem import Problem

Area = shapely.Polygon | shapely.MultiPolygon

#: What rounding may cost, as a share of the hide's size.
ROUNDING = 1e-7
#: Grade areas drawn side by side may gape or overlap by this, mm.
SEAM_MM = 0.025


def faults_of(problem: Problem, layout: Layout) -> tuple[str, ...]:
    """Return what is wrong with a layout, in words; nothing when it may be cut.

    Checked are: how many there are of each piece, its turn and its face, that it lies within the
    hide's edge by the margin, off the hide's holes, clear of the flaws that mar it, in areas that
    are good enough and, for mates, alike enough in thickness, and that no two lie nearer than the
    spacing.
    """
    return (*_of_numbers(problem, layout), *faults_where(problem, layout))


def faults_where(problem: Problem, layout: Layout) -> tuple[str, ...]:
    """Return what is wrong with where some copies lie, whether or not all are there."""
    found: list[str] = []
    known = [p for p in layout if _is_known(problem, p)]
    for number, hide in enumerate(problem.hides):
        here = [p for p in known if p.hide == number]
        if here:
            found += _on_hide(problem, hide, here)
    return tuple(found)


def _is_known(problem: Problem, placement: Placement) -> bool:
    return (
        0 <= placement.piece < len(problem.pieces)
        and 0 <= placement.hide < len(problem.hides)
        and all(map(math.isfinite, (placement.x_mm, placement.y_mm, placement.angle_deg)))
    )


def _of_numbers(problem: Problem, layout: Layout) -> list[str]:
    found = [f"{p} is no placement" for p in layout if not _is_known(problem, p)]
    copies = Counter((p.piece, p.copy) for p in layout)
    found += [
        f"copy {c} of piece {k} lies there {n} times" for (k, c), n in copies.items() if n > 1
    ]
    sets = problem.sets
    if problem.goal == "sets":
        sets = len({p.copy for p in layout if p.piece == 0}) // problem.pieces[0].count
    there_too = set(layout)
    found += [f"{p} was fixed and is not there" for p in problem.fixed if p not in there_too]
    for number, piece in enumerate(problem.pieces):
        there = {p.copy for p in layout if p.piece == number}
        if there != set(range(sets * piece.count)):
            found.append(f"{len(there)} of piece {piece.name} instead of {sets * piece.count}")
    return found


def _on_hide(problem: Problem, hide: Hide, layout: list[Placement]) -> list[str]:
    whole = shapely.Polygon(hide.outline)
    left, bottom, right, top = whole.bounds
    rounding = ROUNDING * math.hypot(right - left, top - bottom)
    found: list[str] = []
    shapes = []
    holes = _united(hide.holes)
    severities = {n for p in problem.pieces for n in (p.clear_of, p.clear_of_throughout)}
    marred = {severity: _marred(hide, severity) for severity in severities}
    good = {p.grade: _good(hide, p.grade) for p in problem.pieces}
    thick = {p.thickness_mm: _thick(hide, p.thickness_mm) for p in problem.pieces}
    alike = {(p.thickness_mm, p.agrees_mm): _alike(hide, p) for p in problem.pieces}
    for placement in layout:
        piece = problem.pieces[placement.piece]
        shape = _laid(piece, placement)
        shapes.append(shape)
        wrong = [
            _turn(piece, placement, hide.backbone_deg),
            _edge(whole, shape, problem.edge_margin_mm - rounding),
            "lies over a hole" if shape.buffer(-rounding).intersects(holes) else "",
            _spoilt(piece, placement, shape, marred),
            "" if shapely.covers(good[piece.grade], shape) else "lies where the grade is worse",
            "" if shapely.covers(thick[piece.thickness_mm], shape) else "lies in other thickness",
            _agreement(piece, alike[piece.thickness_mm, piece.agrees_mm], shape),
        ]
        name = f"{_named(problem, placement)} on hide {hide.name}"
        found += [f"{name} {one}" for one in wrong if one]
    tree = shapely.STRtree(shapes)
    near = tree.query(shapes, predicate="dwithin", distance=problem.spacing_mm + rounding)
    for i, j in near.T.tolist():
        if i < j and (apart := _too_near(shapes[i], shapes[j], problem.spacing_mm, rounding)):
            one, two = (_named(problem, layout[k]) for k in (i, j))
            found.append(f"{one} and {two} on hide {hide.name} {apart}")
    return found


def _named(problem: Problem, placement: Placement) -> str:
    return f"copy {placement.copy} of piece {problem.pieces[placement.piece].name}"


def _spoilt(
    piece: Cutting, placement: Placement, shape: Area, marred: dict[int, shapely.Geometry]
) -> str:
    """Return which flaw a copy bears: one that may be nowhere on it, or one that is seen."""
    if shape.intersects(marred[piece.clear_of_throughout]):
        return "touches a flaw"
    if piece.clear_of_throughout == piece.clear_of:
        return ""
    covers = [_moved(shapely.Polygon(ring), placement).buffer(SEAM_MM) for ring in piece.covered]
    seen = shape.intersection(marred[piece.clear_of]).difference(shapely.union_all(covers))
    return "" if seen.is_empty else "bears a flaw where it shows"


def _laid(piece: Cutting, placement: Placement) -> Area:
    alone = shapely.Polygon(piece.outline, piece.holes)
    others = [shapely.Polygon(ring) for ring in piece.others]
    return _moved(shapely.MultiPolygon([alone, *others]) if others else alone, placement)


def _moved(shape: Area, placement: Placement) -> Area:
    if placement.mirrored:
        shape = affinity.scale(shape, -1.0, 1.0, origin=(0.0, 0.0))
    shape = affinity.rotate(shape, placement.angle_deg, origin=(0.0, 0.0))
    return affinity.translate(shape, placement.x_mm, placement.y_mm)


def _turn(piece: Cutting, placement: Placement, backbone_deg: float) -> str:
    if placement.mirrored and not piece.may_mirror:
        return "has the wrong face up"
    if piece.rotations_deg is None:
        return ""
    turned = placement.angle_deg - backbone_deg
    off = [abs((turned - a + 180.0) % 360.0 - 180.0) for a in piece.rotations_deg]
    return "" if min(off) < 1e-9 else f"is turned by {placement.angle_deg:g} degrees"


def _edge(whole: shapely.Polygon, shape: Area, least: float) -> str:
    if not whole.covers(shape.representative_point()):
        return "lies off it"
    if least <= 0.0:
        return "" if whole.covers(shape.buffer(least)) else "lies over its edge"
    if not whole.contains(shape):
        return "lies over its edge"
    away = whole.exterior.distance(shape)
    return "" if away >= least else f"lies {away:.3f} mm from its edge"


def _united(rings: Iterable[Corners]) -> shapely.Geometry:
    area = shapely.union_all([shapely.make_valid(shapely.Polygon(ring)) for ring in rings])
    shapely.prepare(area)
    return area


def _marred(hide: Hide, clear_of: int) -> shapely.Geometry:
    return _united(flaw.outline for flaw in hide.flaws if flaw.severity <= clear_of)


def _good(hide: Hide, grade: int) -> shapely.Geometry:
    """Return where a hide is good enough; where it is not graded, that is everywhere."""
    if not hide.areas:
        return _everywhere(hide)
    return _covered([(a.outline, a.holes) for a in hide.areas if a.grade <= grade])


def _thick(hide: Hide, asked: tuple[float, float] | None) -> shapely.Geometry:
    """Return where a hide is as thick as asked; where it was not measured, that is everywhere."""
    if asked is None or not hide.thicknesses:
        return _everywhere(hide)
    suits = [a for a in hide.thicknesses if asked[0] <= a.thickness_mm <= asked[1]]
    return _covered([(a.outline, a.holes) for a in suits])


def _alike(hide: Hide, piece: Cutting) -> list[shapely.Geometry]:
    """Return areas of a hide; in each of them no thickness differs by more than the piece may."""
    if piece.agrees_mm is None or not hide.thicknesses:
        return [_everywhere(hide)]
    least, most = piece.thickness_mm or (0.0, math.inf)
    there = {a.thickness_mm for a in hide.thicknesses}
    most_apart = piece.agrees_mm + 1e-9  # what arithmetic adds parts no two thicknesses
    return [
        _thick(hide, (max(t, least), min(t + most_apart, most)))
        for t in there
        if least <= t <= most
    ]


def _agreement(piece: Cutting, alike: list[shapely.Geometry], shape: Area) -> str:
    if any(shapely.covers(area, shape) for area in alike):
        return ""
    return f"lies in leather that differs by more than {piece.agrees_mm} mm in thickness"


def _everywhere(hide: Hide) -> shapely.Geometry:
    return shapely.box(*shapely.bounds(shapely.Polygon(hide.outline).buffer(1.0)))


def _covered(areas: Iterable[tuple[Corners, tuple[Corners, ...]]]) -> shapely.Geometry:
    covered = (shapely.difference(_united([edge]), _united(holes)) for edge, holes in areas)
    whole = shapely.union_all([shapely.buffer(area, SEAM_MM) for area in covered])
    shapely.prepare(whole)
    return whole


def _too_near(one: Area, two: Area, spacing: float, rounding: float) -> str:
    if spacing > rounding:
        apart = one.distance(two)
        return "" if apart >= spacing - rounding else f"are {apart:.4f} mm apart"
    overlap = one.buffer(-rounding).intersects(two.buffer(-rounding))
    return "overlap" if overlap else ""

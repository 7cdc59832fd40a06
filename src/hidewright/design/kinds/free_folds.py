"""Folds of free pieces: bent lines right across a piece, and the panels that they leave.

The fold lines inside a piece do not cross, so that n of them leave n + 1 panels; each panel hangs
on the one it is reached from, beginning at the largest.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from hidewright.design.folds import bend_allowance
from hidewright.design.kinds.free_measures import FreeFold
from hidewright.design.piece import Fold, Piece
from hidewright.design.pose import Half, Hinge, Panel, cut_to, left_of
from hidewright.errors import RequestError
from hidewright.geometry.crossing import carrier_crossings
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Floats, Point, line

#: Points by which a fold is drawn lie at least this far apart, mm.
APART_MM = 1.0
#: A fold turns by at least this, radians.
LEAST_ANGLE = math.radians(1.0)
#: Places where a line meets an edge that lie nearer than this are one, mm.
SAME_MM = 1e-6
#: Areas smaller than this are none, mm2: chords of outlines leave that much.
NO_AREA_MM2 = 0.05

#: On which side of each fold a panel lies: 1 left, -1 right.
Sides = tuple[int, ...]


def with_folds(
    piece: Piece,
    told: Sequence[tuple[FreeFold, tuple[Point, Point]]],
    thickness_mm: float,
    where: str,
) -> Piece:
    """Return a piece with its folds, each run on to the piece's edge.

    Args:
        piece: With its zones.
        told: Each fold and its two points in the piece's frame.
        thickness_mm: Of its leather, dry.
        where: Field of the folds.

    Raises:
        RequestError: For a fold that does not cross the piece once, or whose bent strip runs into
            a zone or another fold.
    """
    folds: list[Fold] = []
    for k, (one, ends) in enumerate(told, 1):
        try:
            folds.append(_fold(piece, one, ends, thickness_mm))
            _must_be_clear(piece, folds)
        except RequestError as refused:
            raise refused.at(f"{where}.{k}") from None
    return replace(piece, folds=tuple(folds))


def panels_of(piece: Piece, thickness_mm: float) -> tuple[Panel, ...]:
    """Return the panels that the folds leave, the largest first: it lies still, the others hang.

    Args:
        piece: With its folds.
        thickness_mm: Of its leather, dry: a fold towards the grain has its inside there.
    """
    folds = piece.folds
    if not folds:
        return (Panel(name=piece.name, piece=piece.name),)
    beside = [(_region(folds, i, 1), _region(folds, i, -1)) for i in range(len(folds))]
    bounds: dict[Sides, list[Half]] = {}
    for fold, (left, right) in zip(folds, beside, strict=True):
        bounds.setdefault(right, []).append(edge_of(fold, -1))
        bounds.setdefault(left, []).append(edge_of(fold, 1))
    corners = piece.outline.flat_points()
    first = max(bounds, key=lambda region: round(_area(_cut(corners, bounds[region])), 3))
    panels = {first: Panel(name=piece.name, piece=piece.name, sides=tuple(bounds[first]))}
    while len(panels) < len(bounds):
        for fold, pair in zip(folds, beside, strict=True):
            for side, region, parent in ((1, *pair), (-1, *pair[::-1])):
                if parent in panels and region not in panels:
                    panels[region] = Panel(
                        name=f"{piece.name} beyond {fold.name}",
                        piece=piece.name,
                        hinge=_hinge(fold, side, panels[parent].name, thickness_mm),
                        sides=tuple(bounds[region]),
                    )
    return tuple(panels.values())


def edge_of(fold: Fold, side: int) -> Half:
    """Return the line along which the panel left (1) or right (-1) of a fold begins."""
    (x, y), (dx, dy) = fold.line.start, fold.line.tangent_at(0.0)
    away = fold.strip_mm / 2 * side
    return (x - dy * away, y + dx * away), (dx * side, dy * side)


def in_strip(fold: Fold, at: Point) -> bool:
    """Whether a point of the piece lies in a fold's bent strip."""
    return all(left_of(edge_of(fold, side), at) < 0.0 for side in (1, -1))


def _fold(piece: Piece, told: FreeFold, ends: tuple[Point, Point], thickness_mm: float) -> Fold:
    if math.dist(*ends) < APART_MM:
        raise RequestError(
            f"{piece.name}: the points of the fold {told.name} lie {math.dist(*ends):.2f} mm apart",
            because="they do not tell how it runs",
            mend="Give two points far apart on it",
        )
    if abs(told.angle_rad) < LEAST_ANGLE:
        raise RequestError(
            f"{piece.name}: the fold {told.name} turns by {math.degrees(told.angle_rad):g} degrees",
            mend="Leave it out, or give an angle such as 90 deg",
        )
    strip = bend_allowance(told.angle_rad, told.inside_radius_mm, told.k_factor, thickness_mm)
    (x, y), (to_x, to_y) = ends
    long = math.dist(*ends)
    dx, dy = (to_x - x) / long, (to_y - y) / long
    for away in (-strip / 2, strip / 2, 0.0):
        found = chords_along(piece.outline, (x - dy * away, y + dx * away), (dx, dy))
        if len(found) != 1:
            raise _not_across(piece.name, told.name, strip, len(found))
    free = strip / 2 + told.glue_free_mm
    return Fold(
        name=told.name,
        line=Path((line(*found[0]),)),
        angle=told.angle_rad,
        inside_radius_mm=told.inside_radius_mm,
        k_factor=told.k_factor,
        strip_mm=strip,
        glue_free_mm=(free, free),
    )


def chords_along(
    outline: Outline, through: Point, direction: Point
) -> tuple[tuple[Point, Point], ...]:
    """Return the stretches of an endless line that lie inside an outline, along its direction."""
    (x, y), (dx, dy) = through, direction
    left, bottom, right, top = outline.bounds
    far = math.dist((left, bottom), (right, top)) + math.dist(through, (left, bottom))
    endless = line((x - dx * far, y - dy * far), (x + dx * far, y + dy * far))
    spots: list[float] = []
    for segment in outline.segments:
        for at in carrier_crossings(endless, segment):
            if segment.nearest(at)[1] < SAME_MM:
                spots.append((at[0] - x) * dx + (at[1] - y) * dy)
    spots.sort()
    apart = [s for k, s in enumerate(spots) if k == 0 or s - spots[k - 1] > SAME_MM]
    inside: list[tuple[float, float]] = []
    for low, high in pairwise(apart):
        middle = (low + high) / 2
        if not outline.contains((x + dx * middle, y + dy * middle)):
            continue
        if inside and inside[-1][1] == low:  # it touches a corner on its way
            low = inside.pop()[0]
        inside.append((low, high))
    return tuple(
        ((x + dx * low, y + dy * low), (x + dx * high, y + dy * high)) for low, high in inside
    )


def _not_across(piece: str, fold: str, strip_mm: float, times: int) -> RequestError:
    if not times:
        return RequestError(
            f"{piece}: the fold {fold} with its bent strip of {strip_mm:.1f} mm does not cross it",
            mend="Draw it across the piece, further from its edge",
        )
    return RequestError(
        f"{piece}: the fold {fold} with its bent strip of {strip_mm:.1f} mm runs through it "
        f"{times} times",
        because="a fold parts a piece in two, along one straight line",
        mend="Cut the corners out beside it as wide as the strip, or make the parts pieces of "
        "their own",
    )


def _must_be_clear(piece: Piece, folds: Sequence[Fold]) -> None:
    """Refuse the last of some folds when its strip runs into a zone or into another's strip."""
    last = folds[-1]
    for zone in piece.zones:
        if _area(_strip(zone.outline.flat_points(), last)) > NO_AREA_MM2:
            raise RequestError(
                f"{piece.name}: the fold {last.name} runs through the zone {zone.name}",
                because="moulded leather does not fold",
                mend=f"Keep its bent strip of {last.strip_mm:.1f} mm clear of the zone",
            )
    corners = piece.outline.flat_points()
    for other in folds[:-1]:
        both = _strip(_strip(corners, last), other)
        if _area(both) > NO_AREA_MM2:
            x, y = both.mean(axis=0)
            raise RequestError(
                f"{piece.name}: the folds {other.name} and {last.name} run into one another near "
                f"({x:.1f}, {y:.1f}) mm",
                because="leather cannot bend both ways at once",
                mend="Cut that corner out, or move them apart",
            )


def _region(folds: Sequence[Fold], i: int, side: int) -> Sides:
    """Return which panel lies beside a fold: on the same side of all others as the fold itself."""
    middle = folds[i].line.point_at(folds[i].line.length / 2)

    def of(other: Fold) -> int:
        return 1 if left_of((other.line.start, other.line.tangent_at(0.0)), middle) > 0 else -1

    return tuple(side if k == i else of(other) for k, other in enumerate(folds))


def _hinge(fold: Fold, side: int, parent: str, thickness_mm: float) -> Hinge:
    """Return how the panel on one side of a fold hangs on the one on the other."""
    start, along = edge_of(fold, -side)
    up = fold.k_factor * thickness_mm
    return Hinge(
        parent=parent,
        start=start,
        direction=(-along[0], -along[1]),
        angle=fold.angle,
        strip_mm=fold.strip_mm,
        neutral_mm=up if fold.angle > 0 else thickness_mm - up,
    )


def _strip(corners: Floats, fold: Fold) -> Floats:
    """Return the part of a polygon that lies in a fold's bent strip."""
    return _cut(corners, list(_within(fold)))


def _within(fold: Fold) -> Iterator[Half]:
    for side in (1, -1):
        at, (dx, dy) = edge_of(fold, side)
        yield at, (-dx, -dy)


def _cut(corners: Floats, sides: Sequence[Half]) -> Floats:
    for side in sides:
        corners = cut_to(side, corners)
    return corners


def _area(corners: Floats) -> float:
    x, y = corners.T
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2.0

"""A hide and pieces on a lattice: what the kernels of the search work on."""

from collections.abc import Hashable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from hidewright.design.cutting import Cutting
from hidewright.design.hide import Corners, Hide
from hidewright.geometry.segment import Floats
from hidewright.nesting.convex import convex_parts, simple, turned
from hidewright.nesting.ground import polygon_of, shape_of, shown_of
from hidewright.nesting.kernels import Field, find_rooms, forbid, make_tables
from hidewright.nesting.obstacles import (
    CLEARANCE_MM,
    Obstacles,
    flaws_where_shown,
    obstacles_of,
    thicknesses_to_avoid,
)
from hidewright.nesting.sparing import Worst, worst_leather

Ints = npt.NDArray[np.int64]

#: Two orientations are one when what only one covers is less than this share.
SAME_SHAPE = 1e-9
#: A piece's edge with more corners than this is drawn with fewer, outside it.
MANY_CORNERS = 40
#: By how much such an edge may lie outside, as a share of the piece's size.
OUTSIDE = 1e-3
#: Orientations of all pieces together, at most: some of many angles are left out.
MOST_WAYS = 1000
#: Threads that make depth tables.
THREADS = 2
#: Room for depth tables, numbers of two bytes.
TABLES = 120_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Orientation:
    """One way to lay a piece.

    Attributes:
        piece: Its number among the pieces.
        angle_deg: By how much it is turned.
        mirrored: Whether it is mirrored before.
        corner: (2,) lower left corner of its box when turned about the origin, mm.
        rings: Its convex parts, from that corner, mm.
    """

    piece: int
    angle_deg: float
    mirrored: bool
    corner: Floats
    rings: tuple[Floats, ...]

    @property
    def size(self) -> Floats:
        """(2,) width and height, mm."""
        top: Floats = np.concatenate(self.rings).max(axis=0)
        return top


@dataclass(frozen=True, slots=True, kw_only=True)
class Lattice:
    """Pieces and a hide on a lattice.

    Attributes:
        step_mm: Distance of its points.
        origin: (2,) where its first point lies, mm.
        limit: (2,) width and height of the hide within its margin, steps.
        orientations: The orientations by their numbers in the field.
        field: What the kernels take; there is no room in it for depth tables at first.
        worst: For each piece where the leather is no better than it asks for.
    """

    step_mm: float
    origin: Floats
    limit: Floats
    orientations: tuple[Orientation, ...]
    field: Field
    worst: tuple[Worst, ...]

    def with_tables(self) -> "Lattice":
        """Return the lattice with room of its own for depth tables: for all, or for many."""
        numbers = min(int(numbers_in_tables(self.field.reach)), TABLES)
        field = self.field._replace(
            where=np.full_like(self.field.where, -1),
            depths=np.zeros(numbers, np.uint16),
            used=np.zeros(2, np.int64),
        )
        return replace(self, field=field)

    def with_tables_of(self, other: "Lattice") -> "Lattice":
        """Return the lattice with the tables of another that has equal orientations."""
        where, depths, used = other.field.where, other.field.depths, other.field.used
        return replace(self, field=self.field._replace(where=where, depths=depths, used=used))

    def with_all_tables(self) -> "Lattice":
        """Return the lattice with all depth tables made, so that searches only read them.

        The step must be such that they find room.
        """
        whole = self.with_tables()
        if not find_rooms(whole.field):
            raise AssertionError("the depth tables find no room")
        with ThreadPoolExecutor(THREADS) as threads:
            list(threads.map(lambda k: make_tables(whole.field, k, THREADS), range(THREADS)))
        return whole


def orientations_of(
    pieces: Sequence[Cutting], angles_deg: Sequence[float], backbone_deg: float = 0.0
) -> tuple[tuple[Orientation, ...], ...]:
    """Return for each piece the ways to lay it that differ.

    Args:
        pieces: The pieces.
        angles_deg: Which angles stand for any, where a piece may be turned by any.
        backbone_deg: Direction of the hide's backbone, from which other turns are told.
    """
    narrowest = min(_narrow(piece.outline) for piece in pieces)
    most = max(MOST_WAYS // sum(1 + piece.may_mirror for piece in pieces), 1)
    return tuple(
        _of_piece(
            number,
            replace(piece, holes=tuple(h for h in piece.holes if _narrow(h) >= narrowest)),
            _some(
                angles_deg
                if piece.rotations_deg is None
                else [angle + backbone_deg for angle in piece.rotations_deg],
                most,
            ),
        )
        for number, piece in enumerate(pieces)
    )


def _some(angles: Sequence[float], most: int) -> Sequence[float]:
    """Return angles evenly spread over all, no more than told."""
    return angles[:: -(-len(angles) // most)]


def _narrow(ring: Corners) -> float:
    """Return the shorter side of the smallest box round a polygon, however turned.

    Windows narrower than the narrowest piece are not looked into.
    """
    box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shapely.Polygon(ring)))
    return float(min(np.hypot(*(box[1] - box[0])), np.hypot(*(box[2] - box[1]))))


def _of_piece(number: int, piece: Cutting, angles_deg: Sequence[float]) -> tuple[Orientation, ...]:
    parts = convex_parts(simple(shape_of(piece), MANY_CORNERS, OUTSIDE))
    found: list[Orientation] = []
    shapes: list[shapely.Geometry] = []
    for mirrored in (False, True) if piece.may_mirror else (False,):
        for angle in angles_deg:
            rings = turned(parts, angle, mirrored=mirrored)
            corner = np.concatenate(rings).min(axis=0)
            moved = tuple(np.ascontiguousarray(ring - corner) for ring in rings)
            shape = shapely.union_all([shapely.Polygon(ring) for ring in moved])
            if not any(_same(shape, other) for other in shapes):
                shapes.append(shape)
                found.append(
                    Orientation(
                        piece=number,
                        angle_deg=angle,
                        mirrored=mirrored,
                        corner=corner,
                        rings=moved,
                    )
                )
    return tuple(found)


def reach_of(sizes: Floats, spacing_mm: float, step_mm: float) -> Ints:
    """Return whole steps (n, 2) that cover sizes in mm and the spacing."""
    return np.ceil((sizes + spacing_mm) / step_mm).astype(np.int64) + 1


def numbers_in_tables(reach: Ints) -> float:
    """Return how many numbers the depth tables of all pairs of orientations hold."""
    width, height = (reach[:, None, k] + reach[None, :, k] + 3.0 for k in (0, 1))
    area = width * height
    return float(area.sum() + np.trace(area)) / 2.0


def _same(one: shapely.Geometry, two: shapely.Geometry) -> bool:
    apart = shapely.area(shapely.symmetric_difference(one, two))
    return bool(apart < SAME_SHAPE * shapely.area(one))


def lattice_of(
    hide: Hide,
    pieces: Sequence[Cutting],
    ways: Sequence[Sequence[Orientation]],
    *,
    spacing_mm: float,
    edge_margin_mm: float,
    step_mm: float,
    taken: Sequence[shapely.Geometry] = (),
) -> Lattice:
    """Return the lattice of a hide and the orientations of each piece.

    Args:
        hide: What is cut from.
        pieces: The pieces.
        ways: For each piece how it may be laid.
        spacing_mm: Least distance between pieces.
        edge_margin_mm: Least distance from the hide's edge.
        step_mm: Distance of the lattice's points.
        taken: Areas of copies that lie on the hide already, mm.
    """
    flat = tuple(way for of_piece in ways for way in of_piece)
    left, bottom, right, top = shapely.bounds(shapely.Polygon(hide.outline))
    margin = edge_margin_mm
    origin = np.array([left + margin, bottom + margin])
    limit = np.array([right - left - 2 * margin, top - bottom - 2 * margin]) / step_mm
    rings = [ring / step_mm for way in flat for ring in way.rings]
    size = np.array([way.size for way in flat]) / step_mm
    field = Field(
        xy=np.ascontiguousarray(np.concatenate(rings)),
        corner=_starts(len(ring) for ring in rings),
        part=_starts(len(way.rings) for way in flat),
        size=size,
        reach=reach_of(np.array([way.size for way in flat]), spacing_mm, step_mm),
        spacing=spacing_mm / step_mm,
        where=np.full((len(flat), len(flat)), -1, np.int64),
        depths=np.zeros(0, np.uint16),
        used=np.zeros(2, np.int64),
        mask=np.full(len(flat), -1, np.int64),
        free=np.zeros((0, 0, 0), np.uint8),
        choices=_starts(len(of_piece) for of_piece in ways),
    )
    if taken or not _plain(hide, margin):
        apart = (shapely.union_all(list(taken)), spacing_mm + CLEARANCE_MM)
        field = _with_maps(field, flat, hide, pieces, origin, limit, step_mm, margin, apart)
    return Lattice(
        step_mm=step_mm,
        origin=origin,
        limit=limit,
        orientations=flat,
        field=field,
        worst=worst_leather(hide, pieces, origin, limit, step_mm),
    )


def free_places(field: Field, orientation: int, columns: int) -> npt.NDArray[np.uint8]:
    """Return 1 for each row and column at which an orientation may lie; it must have a map."""
    packed = field.free[field.mask[orientation]]
    return np.unpackbits(packed, axis=1, count=columns, bitorder="little")


def _starts(counts: Iterable[int]) -> Ints:
    """Return where each of several runs starts, and where the last one ends."""
    return np.cumsum([0, *counts], dtype=np.int64)


def _plain(hide: Hide, margin: float) -> bool:
    """Whether all of the hide within its margin's box may be used by all pieces."""
    whole = polygon_of(hide.outline)
    box = shapely.box(*shapely.bounds(whole))
    bare = not (hide.holes or hide.areas or hide.flaws or hide.thicknesses)
    return bare and bool(shapely.equals(shapely.normalize(whole), shapely.normalize(box)))


def _shown(field: Field, way: Orientation, piece: Cutting, step_mm: float) -> Field:
    """Return a field whose one orientation is what shows of a piece laid as told."""
    parts = convex_parts(simple(shown_of(piece), MANY_CORNERS, OUTSIDE))
    turned_parts = turned(parts, way.angle_deg, mirrored=way.mirrored)
    rings = [(ring - way.corner) / step_mm for ring in turned_parts] or [np.zeros((0, 2))]
    return field._replace(
        xy=np.ascontiguousarray(np.concatenate(rings)),
        corner=_starts(len(ring) for ring in rings),
        part=np.array([0, len(turned_parts)]),
    )


#: The same on a lattice: corners of all parts, steps; first corner of each; by how much, steps.
_OnLattice = tuple[tuple[Floats, Ints, float], ...]


def _forbid_all(
    field: Field, number: int, obstacles: _OnLattice, free: npt.NDArray[np.uint8]
) -> None:
    for xy, corner, grown in obstacles:
        forbid(field, number, xy, corner, grown, free)


def _with_maps(
    field: Field,
    flat: Sequence[Orientation],
    hide: Hide,
    pieces: Sequence[Cutting],
    origin: Floats,
    limit: Floats,
    step_mm: float,
    margin: float,
    taken: tuple[shapely.Geometry, float],
) -> Field:
    columns, rows = (int(v) + 1 for v in np.floor(limit + 1e-7))
    free = np.ones((len(flat), rows, columns), np.uint8)

    def on_lattice(obstacles: Obstacles) -> _OnLattice:
        return tuple(
            (
                np.ascontiguousarray((np.concatenate(rings) - origin) / step_mm),
                _starts(len(ring) for ring in rings),
                grown / step_mm,
            )
            for rings, grown in obstacles
        )

    seen: dict[tuple[Hashable, ...], tuple[_OnLattice, tuple[_OnLattice, ...], _OnLattice]] = {}
    for number, way in enumerate(flat):
        piece = pieces[way.piece]
        flaws = (piece.clear_of, piece.clear_of_throughout)
        asked = (piece.grade, flaws, piece.thickness_mm, piece.agrees_mm)
        if asked not in seen:
            seen[asked] = (
                on_lattice(obstacles_of(hide, piece, margin, taken)),
                tuple(map(on_lattice, thicknesses_to_avoid(hide, piece))),
                on_lattice(flaws_where_shown(hide, piece)),
            )
        always, one_of, where_shown = seen[asked]
        _forbid_all(field, number, always, free[number])
        if where_shown:
            _forbid_all(_shown(field, way, piece, step_mm), 0, where_shown, free[number])
        if one_of:
            in_any = np.zeros_like(free[number])
            for thickness in one_of:
                alone = np.ones_like(in_any)
                _forbid_all(field, number, thickness, alone)
                in_any |= alone
            free[number] &= in_any
    packed = np.packbits(free, axis=2, bitorder="little")
    return field._replace(free=packed, mask=np.arange(len(flat), dtype=np.int64))

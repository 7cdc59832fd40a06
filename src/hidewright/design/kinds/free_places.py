"""How free pieces lie to one another: each is laid so that sewn edges meet when it is closed."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from hidewright.design.kinds.arches import TURNED_OVER
from hidewright.design.kinds.free_folds import panels_of
from hidewright.design.kinds.free_pinned import ARM_MM, Pinned, nearest_pose, pinned_pose
from hidewright.design.piece import Piece
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.design.seam import Seam, SeamEdge
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats

#: Edges that are sewn lie over one another within this, mm: half of what holes may be apart.
MEET_MM = 0.05
#: Layers that are sewn lie level with one another within this, radians.
LEVEL = math.radians(1.0)
#: Layers over one another may lie this much further apart than they are thick, mm.
OVER_MM = 0.1
#: Points along an edge by which it is laid on another.
POINTS = 65


@dataclass(frozen=True, eq=False)
class _Edge:
    """An edge of the closed article.

    Attributes:
        rows: (n, 2, 3) places on the flesh face and directions of the grain there; nan where the
            edge runs through a bent strip.
    """

    rows: Floats

    @property
    def at(self) -> Floats:
        places: Floats = self.rows[:, 0]
        return places

    @property
    def up(self) -> Floats:
        directions: Floats = self.rows[:, 1]
        return directions

    @property
    def lies(self) -> npt.NDArray[np.bool_]:
        """Which points lie on a panel, bool (n,)."""
        finite: npt.NDArray[np.bool_] = np.isfinite(self.rows[:, 0, 0])
        return finite

    def moved(self, pose: Pose) -> "_Edge":
        turned = self.up @ np.array(pose.rotation).T
        return _Edge(np.stack([pose.of_points(self.at), turned], axis=1))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """A piece and where its largest panel lies; None while it is not laid."""

    piece: Piece
    panels: tuple[Panel, ...]
    pose: Pose | None = None

    def edge(self, edge: SeamEdge) -> _Edge:
        """Return an edge closed, in the frame of the largest panel, or in the article once laid."""
        found = _Edge(_closed(self.panels, along(self.piece.outline, edge)))
        return found.moved(self.pose) if self.pose else found


def assembled(
    pieces: Sequence[Piece],
    seams: Sequence[Seam],
    pins: Sequence[Pinned],
    sides: Mapping[str, str],
    thickness_of: Mapping[str, float],
) -> tuple[tuple[Piece, ...], Assembly]:
    """Return the pieces and where they lie; an edge that is a whole outline is begun to match.

    The largest panel of the first piece lies as it is; every other piece is laid by the first seam
    that joins it to one that lies already, as both are folded when closed, or else by the fittings
    that hold it to one. The later layers of a seam lie under the earlier ones.

    Args:
        pieces: In their own frames.
        seams: Of known pieces and spans.
        pins: Fittings that hold several layers.
        sides: front or back of each piece.
        thickness_of: Dry thickness of each piece, mm.

    Raises:
        RequestError: When two edges are not of one shape, do not come to lie on one another, or
            run in senses that cannot meet.
    """
    at = {p.name: _Laid(piece=p, panels=panels_of(p, thickness_of[p.name])) for p in pieces}
    for name in at:
        if at[name].pose is None:
            pose = TURNED_OVER if sides[name] == "back" else Pose()
            at[name] = replace(at[name], pose=pose)
            _lay_neighbours(at, seams, sides, thickness_of)
            while _lay_pinned(at, pins, sides, thickness_of):
                _lay_neighbours(at, seams, sides, thickness_of)
    for i, seam in enumerate(seams, 1):
        stack = math.fsum(thickness_of[edge.piece] for edge in seam.edges)
        _must_meet(seam, at, stack, f"measures.seams.{i}")
    panels = [
        replace(panel, pose=laid.pose) if panel.hinge is None and laid.pose else panel
        for laid in at.values()
        for panel in laid.panels
    ]
    return tuple(laid.piece for laid in at.values()), Assembly(panels=tuple(panels))


def _lay_neighbours(
    at: dict[str, _Laid],
    seams: Sequence[Seam],
    sides: Mapping[str, str],
    thickness_of: Mapping[str, float],
) -> None:
    """Lay all pieces that are sewn, directly or through others, to one that lies already."""
    laid = True
    while laid:
        laid = False
        for i, seam in enumerate(seams, 1):
            known = next((e for e in seam.edges if at[e.piece].pose), None)
            if known is None:
                continue
            for k, edge in enumerate(seam.edges, 1):
                if at[edge.piece].pose:
                    known = edge
                    continue
                over = edge.runs_backwards != known.runs_backwards
                if not (at[edge.piece].piece.folds or at[known.piece].piece.folds):
                    turned = sides[edge.piece] != sides[known.piece]
                    where = f"measures.seams.{i}.edges.{k}"
                    _must_run_as_it_lies(seam, known, edge, turned, where)
                down = 0.0 if over else thickness_of[edge.piece]
                at[edge.piece] = _laid_on(
                    at[known.piece].edge(known), at[edge.piece], edge, over, down
                )
                known, laid = edge, True


def _lay_pinned(
    at: dict[str, _Laid],
    pins: Sequence[Pinned],
    sides: Mapping[str, str],
    thickness_of: Mapping[str, float],
) -> bool:
    """Lay the first piece that a fitting holds to one that lies; return whether there was one."""
    poses = {name: laid.pose for name, laid in at.items() if laid.pose}
    panels = {name: laid.panels for name, laid in at.items()}
    for name in at:
        if name in poses:
            continue
        pose = pinned_pose(name, pins, panels, poses, sides, thickness_of)
        if pose is not None:
            at[name] = replace(at[name], pose=pose)
            return True
    return False


def _must_run_as_it_lies(seam: Seam, one: SeamEdge, two: SeamEdge, over: bool, where: str) -> None:
    if (one.runs_backwards != two.runs_backwards) == over:
        return
    raise RequestError(
        f"seam {seam.name}: {one.piece} and {two.piece} run "
        + ("the same way round" if over else "opposite ways round"),
        because="a front and a back are mirror images, so one of them runs backwards"
        if over
        else "pieces of one side lie over one another as drawn",
        mend=f"Write backwards: {'true' if not two.runs_backwards else 'false'} for {two.piece}",
        where=f"{where}.backwards",
    )


def _laid_on(front: _Edge, other: _Laid, edge: SeamEdge, over: bool, down_mm: float) -> _Laid:
    """Return a piece laid with an edge on another's.

    Args:
        front: The other's edge in the article.
        other: The piece.
        edge: Its edge.
        over: Whether it lies turned over, flesh to flesh.
        down_mm: How far below the other's flesh face its own lies.
    """
    up = -front.up if over else front.up
    wanted = _Edge(np.stack([front.at - down_mm * front.up, up], axis=1))
    best: tuple[float, _Laid] | None = None
    for begun in _beginnings(other.piece.outline, edge.span):
        tried = replace(other, piece=replace(other.piece, outline=DryOutline(begun)))
        pose, off = _rigid(tried.edge(edge), wanted)
        if best is None or off < best[0] - 1e-9:
            best = (off, replace(tried, pose=pose))
    if best is None:
        raise RequestError(f"{other.piece.name} has no span {edge.span!r}")
    return best[1]


def _beginnings(drawn: Outline, span: str) -> list[Outline]:
    """Return an outline begun at each of its joints if it is all one span, else as it is."""
    if any(s.span != span for s in drawn.segments):
        return [drawn]
    parts = drawn.segments
    return [Outline((*parts[k:], *parts[:k])) for k in range(len(parts))]


def along(drawn: Outline, edge: SeamEdge) -> Floats:
    """Return (n, 2) points of an edge at even shares of its length, in sewing direction, mm."""
    path = drawn.span_path(edge.span)
    points = [path.point_at(path.length * k / (POINTS - 1)) for k in range(POINTS)]
    return np.array(points[::-1] if edge.runs_backwards else points)


def _closed(panels: Sequence[Panel], points: Floats) -> Floats:
    """Return (n, 2, 3) places and grain directions of a piece's points, folded as when closed."""
    own = Assembly(panels=tuple(panels))
    out = np.full((len(points), 2, 3), np.nan)
    for panel in panels:
        held = np.array([panel.holds((float(x), float(y))) for x, y in points])
        pose = own.pose_of(panel, 1.0)
        flat = np.column_stack([points[held], np.zeros(int(held.sum()))])
        out[held, 0] = pose.of_points(flat)
        out[held, 1] = np.array(pose.rotation)[:, 2]
    return out


def _rigid(own: _Edge, wanted: _Edge) -> tuple[Pose, float]:
    """Return the placement that brings an edge nearest to another, and the largest miss, mm.

    Places and directions count alike.
    """
    both = own.lies & wanted.lies
    if both.sum() < 2:
        return Pose(), math.inf
    p = np.concatenate([own.at[both], own.at[both] + ARM_MM * own.up[both]])
    q = np.concatenate([wanted.at[both], wanted.at[both] + ARM_MM * wanted.up[both]])
    pose = nearest_pose(p, q)
    off = np.linalg.norm(pose.of_points(p) - q, axis=1)
    return pose, float(off.max())


def _must_meet(seam: Seam, at: Mapping[str, _Laid], stack_mm: float, where: str) -> None:
    first = seam.edges[0]
    front = at[first.piece].edge(first)
    for k, edge in enumerate(seam.edges[1:], 2):
        other = at[edge.piece].edge(edge)
        both = front.lies & other.lies
        here, there, up = front.at[both], other.at[both], front.up[both]
        over = np.einsum("ij,ij->i", there - here, up)
        beside = np.linalg.norm(there - here - over[:, None] * up, axis=1)
        lean = np.linalg.norm(np.cross(up, other.up[both]), axis=1)
        if not both.any() or float(lean.max()) > math.sin(LEVEL):
            raise _not_level(seam, first, edge, f"{where}.edges.{k}")
        if float(beside.max()) > MEET_MM:
            raise RequestError(
                f"seam {seam.name}: {first.span!r} of {first.piece} and {edge.span!r} of "
                f"{edge.piece} lie up to {float(beside.max()):.2f} mm apart",
                because="edges of free pieces are sewn flat over one another when closed, so they "
                "are of one shape",
                mend="Draw one edge as a copy of the other, a back's mirrored; or mind which spans "
                "and senses are given, and where folds lie",
                where=f"{where}.edges.{k}",
            )
        if float(np.abs(over).max()) > stack_mm + OVER_MM:
            raise RequestError(
                f"seam {seam.name}: closed, {first.piece} and {edge.piece} lie "
                f"{float(np.abs(over).max()):.2f} mm over one another there",
                because=f"the layers sewn are {stack_mm:.2f} mm thick together",
                mend="Fold to a smaller inside radius, or sew in what lies between",
                where=f"{where}.edges.{k}",
            )


def _not_level(seam: Seam, first: SeamEdge, edge: SeamEdge, where: str) -> RequestError:
    return RequestError(
        f"seam {seam.name}: closed, {first.piece} and {edge.piece} do not lie flat on one another "
        "along it",
        because="holes at one inset of two edges that meet at an angle do not meet",
        mend="Fold a flange along one of them and sew that flat on the other",
        where=where,
    )

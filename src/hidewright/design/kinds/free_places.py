"""How free pieces lie to one another: each is laid so that sewn edges meet."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from hidewright.design.kinds.arches import TURNED_OVER
from hidewright.design.piece import Piece
from hidewright.design.pose import Assembly, Panel, Pose
from hidewright.design.seam import Seam, SeamEdge
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.geometry.segment import Floats

#: Edges that are sewn lie over one another within this, mm: half of what holes may be apart.
MEET_MM = 0.05
#: Points along an edge by which it is laid on another.
POINTS = 65


def assembled(
    pieces: Sequence[Piece],
    seams: Sequence[Seam],
    sides: Mapping[str, str],
    thickness_of: Mapping[str, float],
) -> tuple[tuple[Piece, ...], Assembly]:
    """Return the pieces and where they lie; an edge that is a whole outline is begun to match.

    The first piece lies as it is; every other is laid by the first seam that joins it to one that
    lies already. All lie flat, the later layers of a seam under the earlier ones.

    Args:
        pieces: In their own frames.
        seams: Of known pieces and spans.
        sides: front or back of each piece.
        thickness_of: Dry thickness of each piece, mm.

    Raises:
        RequestError: When two edges are not of one shape, or run in senses that cannot meet.
    """
    at = {p.name: p for p in pieces}
    poses: dict[str, Pose] = {}
    for name in at:
        if name not in poses:
            poses[name] = TURNED_OVER if sides[name] == "back" else Pose()
            _lay_neighbours(at, poses, seams, sides, thickness_of)
    for i, seam in enumerate(seams, 1):
        _must_meet(seam, at, poses, f"measures.seams.{i}")
    panels = tuple(Panel(name=name, piece=name, pose=poses[name]) for name in at)
    return tuple(at.values()), Assembly(panels=panels)


def _lay_neighbours(
    at: dict[str, Piece],
    poses: dict[str, Pose],
    seams: Sequence[Seam],
    sides: Mapping[str, str],
    thickness_of: Mapping[str, float],
) -> None:
    """Lay all pieces that are sewn, directly or through others, to one that lies already."""
    laid = True
    while laid:
        laid = False
        for i, seam in enumerate(seams, 1):
            known = next((e for e in seam.edges if e.piece in poses), None)
            if known is None:
                continue
            for k, edge in enumerate(seam.edges, 1):
                if edge.piece in poses:
                    known = edge
                    continue
                where = f"measures.seams.{i}.edges.{k}"
                over = sides[edge.piece] != sides[known.piece]
                _must_run_as_it_lies(seam, known, edge, over, where)
                piece, flat = _laid_on(at[known.piece], known, at[edge.piece], edge, over)
                down = 0.0 if over else -thickness_of[edge.piece]
                flat = flat.then(Pose(shift=(0.0, 0.0, down)))
                at[edge.piece], poses[edge.piece] = piece, flat.then(poses[known.piece])
                known, laid = edge, True


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


def _laid_on(
    front: Piece, edge: SeamEdge, other: Piece, other_edge: SeamEdge, over: bool
) -> tuple[Piece, Pose]:
    """Return a piece and where it lies in the frame of the one its edge is sewn to."""
    wanted = along(front.outline, edge)
    turned = TURNED_OVER if over else Pose()
    best: tuple[float, Outline, Pose] | None = None
    for begun in _beginnings(other.outline, other_edge.span):
        points = turned.of_points(_in_space(along(begun, other_edge)))[:, :2]
        pose, off = _rigid(points, wanted)
        if best is None or off < best[0] - 1e-9:
            best = (off, begun, turned.then(pose))
    if best is None:
        raise RequestError(f"{other.name} has no span {other_edge.span!r}")
    return replace(other, outline=DryOutline(best[1])), best[2]


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


def _rigid(points: Floats, wanted: Floats) -> tuple[Pose, float]:
    """Return the turn and shift that bring points nearest to others, and the largest miss, mm.

    Least squares in the plane: the turn is the angle of the sum of products about the centres.
    """
    middle, target = points.mean(axis=0), wanted.mean(axis=0)
    p, q = points - middle, wanted - target
    angle = math.atan2(float(np.sum(p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0])), float(np.sum(p * q)))
    c, s = math.cos(angle), math.sin(angle)
    x = float(target[0] - c * middle[0] + s * middle[1])
    y = float(target[1] - s * middle[0] - c * middle[1])
    pose = Pose(rotation=((c, -s, 0.0), (s, c, 0.0), (0.0, 0.0, 1.0)), shift=(x, y, 0.0))
    off = np.linalg.norm(pose.of_points(_in_space(points))[:, :2] - wanted, axis=1)
    return pose, float(off.max())


def _must_meet(seam: Seam, at: Mapping[str, Piece], poses: Mapping[str, Pose], where: str) -> None:
    first = seam.edges[0]
    front = _in_article(at, poses, first)
    for k, edge in enumerate(seam.edges[1:], 2):
        off = float(np.linalg.norm(_in_article(at, poses, edge) - front, axis=1).max())
        if off > MEET_MM:
            raise RequestError(
                f"seam {seam.name}: {first.span!r} of {first.piece} and {edge.span!r} of "
                f"{edge.piece} lie up to {off:.2f} mm apart",
                because="edges of free pieces are sewn flat over one another, so they are of one "
                "shape",
                mend="Draw one edge as a copy of the other, a back's mirrored; or mind which spans "
                "and senses are given",
                where=f"{where}.edges.{k}",
            )


def _in_article(at: Mapping[str, Piece], poses: Mapping[str, Pose], edge: SeamEdge) -> Floats:
    points = _in_space(along(at[edge.piece].outline, edge))
    placed: Floats = poses[edge.piece].of_points(points)[:, :2]
    return placed


def _in_space(points: Floats) -> Floats:
    return np.column_stack([points, np.zeros(len(points))])

"""Lay the holes of a seam: whole stitches on the front, hole for hole on every other layer."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from hidewright.design.choices import SewingChoice
from hidewright.design.piece import Piece
from hidewright.design.seam import Hole, Seam, SeamEdge, SewnEdge, SewnSeam
from hidewright.errors import Remark, RequestError
from hidewright.geometry.outline import Path
from hidewright.stitching.anchors import Anchor, anchors_of, is_closed
from hidewright.stitching.mating import mate_stations
from hidewright.stitching.seam_checks import check_seam
from hidewright.stitching.spacing import chords, whole_stitches
from hidewright.stitching.stitch_line import between_ends, ends_needed, whole_line
from hidewright.stitching.thread_use import sewing_order, thread_length

#: Tangents are taken this far on either side of a hole, so that a corner's slit lies evenly, mm.
BESIDE_MM = 1e-4


@dataclass(frozen=True, slots=True)
class _Layer:
    piece: Piece
    edge: SeamEdge
    line: Path
    anchors: tuple[Anchor, ...]


def lay_seam(
    seam: Seam,
    pieces: Sequence[Piece],
    thickness_of: Mapping[str, float],
    choice: SewingChoice,
) -> tuple[SewnSeam, tuple[Remark, ...]]:
    """Return a seam with its holes, and what there is to say about it.

    The front's stitch line is cut at its anchors (ends, corners, edges of folds) and each stretch
    holds the whole number of equal chords that misses the wanted pitch least. Every other layer
    has as many holes, see ``mating.mate_stations``. All layers begin and end where the one that
    needs most room at its end does. A seam whose spans go all the way round is closed: its first
    hole is not repeated.

    Args:
        seam: What is sewn, front first.
        pieces: At least the seam's own.
        thickness_of: Dry thickness of each piece, mm.
        choice: How the workshop sews.

    Raises:
        RequestError: When no stitch line can be drawn, or it takes fewer than two stitches.
    """
    layers = _layers(seam, {p.name: p for p in pieces})
    front = layers[0]
    closed = is_closed(front.line)
    stations = whole_stitches(front.line, front.anchors, seam.pitch_mm)
    along = [stations.along_mm]
    along += [
        mate_stations(
            front.line,
            stations,
            front.anchors,
            layer.line,
            layer.anchors,
            mirrored=lies_turned_over(seam.edges[0], layer.edge),
        )
        for layer in layers[1:]
    ]
    count = len(stations.along_mm) - (1 if closed else 0)
    sewn_edges = tuple(
        SewnEdge(
            piece=layer.piece.name,
            span=layer.edge.span,
            holes=_holes(layer, at[:count], _slant(seam.edges[0], layer.edge, choice), closed),
        )
        for layer, at in zip(layers, along, strict=True)
    )
    stack = math.fsum(
        thickness_at(layer.piece, layer.edge.span, seam.inset_mm, thickness_of[layer.piece.name])
        for layer in layers
    )
    reverse = min(seam.reverse_stitches, count if closed else count - 1)
    between = chords(front.line, stations.along_mm)
    sewn = SewnSeam(
        name=seam.name,
        layers=sewn_edges,
        pitch_mm=(float(between.min()), float(between.max())),
        anchors=tuple(i for i in stations.anchors if i < count),
        reverse_stitches=reverse,
        stack_mm=stack,
        thread_mm=thread_length(
            [h.at for h in sewn_edges[0].holes],
            sewing_order(count, reverse, closed=closed),
            stack,
            choice.tail_mm,
        ),
    )
    corners = tuple(
        tuple(layer.line.point_at(a.along_mm) for a in layer.anchors if a.kind == "corner")
        for layer in layers
    )
    owners = [layer.piece for layer in layers]
    return sewn, check_seam(
        seam, sewn, owners, thickness_of, choice, corners=corners, closed=closed
    )


def lies_turned_over(front: SeamEdge, other: SeamEdge) -> bool:
    """Whether a layer lies turned over on the front: their spans run in opposite senses."""
    return front.runs_backwards != other.runs_backwards


def thickness_at(piece: Piece, span: str, inset_mm: float, thickness_mm: float) -> float:
    """Return a layer's thickness at the holes of a span, mm.

    A skive is a straight slope: from what is left at the edge to the full thickness at its width.
    """
    for skive in piece.skives:
        if skive.span == span and inset_mm < skive.width_mm:
            slope = (thickness_mm - skive.left_mm) / skive.width_mm
            return min(thickness_mm, skive.left_mm + slope * inset_mm)
    return thickness_mm


def _layers(seam: Seam, pieces: Mapping[str, Piece]) -> list[_Layer]:
    for edge in seam.edges:
        if edge.piece not in pieces:
            raise RequestError(
                f"seam {seam.name}: no piece {edge.piece!r}",
                mend=f"The pieces are: {', '.join(pieces)}",
            )
    wholes = [whole_line(pieces[e.piece], e, seam.inset_mm) for e in seam.edges]
    closed = [is_closed(w) for w in wholes]
    if any(closed) and not all(closed):
        around = seam.edges[closed.index(True)]
        raise RequestError(
            f"seam {seam.name}: {around.piece} is sewn all the way round, another layer is not",
            because="their holes cannot meet",
            mend="Divide the round edge into spans",
        )
    needed = [
        ends_needed(w, pieces[e.piece], e, seam.inset_mm)
        for w, e in zip(wholes, seam.edges, strict=True)
    ]
    ends = (max(n[0] for n in needed), max(n[1] for n in needed))
    layers: list[_Layer] = []
    for whole, edge in zip(wholes, seam.edges, strict=True):
        piece = pieces[edge.piece]
        line = between_ends(whole, piece, edge, ends)
        anchors = anchors_of(line, seam.pitch_mm, piece.folds)
        layers.append(_Layer(piece, edge, line, anchors))
    return layers


def _slant(front: SeamEdge, other: SeamEdge, choice: SewingChoice) -> float | None:
    """Return the signed angle of a layer's slits to its stitch line, None for round holes."""
    if choice.mark == "round":
        return None
    return -choice.slant if lies_turned_over(front, other) else choice.slant


def _holes(
    layer: _Layer, along: Sequence[float], slant: float | None, closed: bool
) -> tuple[Hole, ...]:
    return tuple(
        Hole(
            at=layer.line.point_at(v),
            slant=None if slant is None else (_heading(layer.line, v, closed) + slant) % math.pi,
        )
        for v in along
    )


def _heading(line: Path, along: float, closed: bool) -> float:
    """Return the direction of a line at a hole, radians; at a corner, half-way between both."""
    before, after = along - BESIDE_MM, along + BESIDE_MM
    if closed:
        before %= line.length
    ax, ay = line.tangent_at(max(before, 0.0))
    bx, by = line.tangent_at(min(after, line.length))
    return math.atan2(ay + by, ax + bx)

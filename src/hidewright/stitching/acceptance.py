"""Is a sewn seam as asked, and do its holes meet when the article is closed."""

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from hidewright.design.fault import Fault
from hidewright.design.piece import Piece
from hidewright.design.pose import Assembly, Panel
from hidewright.design.seam import Hole, Seam, SeamEdge, SewnSeam
from hidewright.geometry.probe import distances, signed
from hidewright.geometry.segment import Floats, Point

#: Holes keep the inset within this, mm.
INSET_WITHIN_MM = 0.02
#: A seam goes as near to its ends as it may within this, mm.
END_WITHIN_MM = 0.05
#: Chords of one stretch are alike within this, mm.
CHORD_WITHIN_MM = 0.01
#: Holes meet within this in the closed article, mm, and slits within this, radians.
MEET_MM, SLANT_WITHIN = 0.1, math.radians(2.0)


def accept_seam(seam: Seam, pieces: Sequence[Piece], sewn: SewnSeam) -> tuple[Fault, ...]:
    """Return every fault of a seam's holes on its own pieces; none when it may be pricked.

    Holes of every layer are as many, lie inside the piece, keep the inset from their span and at
    least the inset from every other edge, and follow the span in the sewing direction. The front's
    chords are alike between anchors and near the wanted pitch. Both ends are sewn as far as the
    inset and what is left unsewn allow.

    Args:
        seam: As asked.
        pieces: At least its own.
        sewn: Its holes.
    """
    by_name = {piece.name: piece for piece in pieces}
    faults: list[Fault] = []
    asked = [(edge.piece, edge.span) for edge in seam.edges]
    if [(layer.piece, layer.span) for layer in sewn.layers] != asked:
        return (_fault("seam-layers", seam.name, len(sewn.layers), len(asked)),)
    counts = [len(layer.holes) for layer in sewn.layers]
    if min(counts) != max(counts):
        return (_fault("hole-counts-unequal", seam.name, max(counts), min(counts)),)
    if counts[0] < 3:
        return (_fault("seam-too-short", seam.name, counts[0], 3),)
    for edge, layer in zip(seam.edges, sewn.layers, strict=True):
        faults += _on_its_line(seam, edge, by_name[edge.piece], layer.holes)
    faults += _ends(seam, sewn, by_name)
    faults += _even_chords(seam, sewn, by_name[seam.edges[0].piece])
    return tuple(faults)


def accept_assembled(
    assembly: Assembly,
    sewn: SewnSeam,
    pieces: Sequence[Piece],
    thickness_of: Mapping[str, float],
) -> tuple[Fault, ...]:
    """Return where mating holes do not meet in the closed article.

    Every hole is on its piece's flesh face and is placed by its panel. Layers may lie over one
    another by their thickness, square to the front; level with it, holes coincide within 0.1 mm
    and slits run the same way. A hole in the bent strip of a fold has no panel: it is left out.

    Args:
        assembly: How the pieces lie to one another.
        sewn: One seam.
        pieces: At least its own.
        thickness_of: Dry thickness of each piece, mm.
    """
    by_name = {piece.name: piece for piece in pieces}
    front = sewn.layers[0]
    stack = math.fsum(thickness_of[layer.piece] for layer in sewn.layers)
    faults: list[Fault] = []
    for other in sewn.layers[1:]:
        for i, (one, two) in enumerate(zip(front.holes, other.holes, strict=False)):
            found = [
                _placed(assembly, by_name[piece], hole)
                for piece, hole in ((front.piece, one), (other.piece, two))
            ]
            if found[0] is None or found[1] is None:
                continue
            (at, way, up), (to, other_way, _) = found[0], found[1]
            over = float((to - at) @ up)
            beside = float(np.linalg.norm(to - at - over * up))
            name = f"{sewn.name}, hole {i + 1} of {other.piece}"
            if beside > MEET_MM:
                faults.append(_fault("holes-do-not-meet", name, beside, MEET_MM))
            if abs(over) > stack + MEET_MM:
                faults.append(_fault("layers-apart", name, abs(over), stack))
            if (way is None) != (other_way is None):
                faults.append(_fault("slits-do-not-meet", name, 1.0, 0.0))
            elif way is not None and other_way is not None:
                cross = float(np.linalg.norm(np.cross(way, other_way)))
                if cross > math.sin(SLANT_WITHIN):
                    faults.append(_fault("slits-do-not-meet", name, cross, SLANT_WITHIN))
    return tuple(faults)


def _on_its_line(
    seam: Seam,
    edge: SeamEdge,
    piece: Piece,
    holes: Sequence[Hole],
) -> list[Fault]:
    at = np.array([hole.at for hole in holes])
    span = piece.outline.span_path(edge.span)
    others = [s for s in piece.outline.segments if s.span != edge.span]
    closed = not others
    name = f"{seam.name} on {piece.name}"
    faults: list[Fault] = []
    outside = float(signed(piece.outline, at).max())
    if outside > -seam.inset_mm + INSET_WITHIN_MM:
        faults.append(_fault("hole-near-an-edge", name, -outside, seam.inset_mm))
    off = float(np.abs(distances(span.segments, at) - seam.inset_mm).max())
    if off > INSET_WITHIN_MM:
        faults.append(_fault("inset-not-as-asked", name, off, INSET_WITHIN_MM))
    for cut in piece.cut_outs:
        if float(signed(cut, at).min()) < INSET_WITHIN_MM:
            faults.append(_fault("hole-in-cut-out", name, float(signed(cut, at).min()), 0.0))
    along = [span.nearest(hole.at)[0] for hole in holes]
    steps = [b - a for a, b in pairwise(along)]
    if edge.runs_backwards:
        steps = [-step for step in steps]
    backwards = sum(step <= 0.0 for step in steps)
    if backwards > (1 if closed else 0):
        faults.append(_fault("holes-out-of-order", name, backwards, 0))
    return faults


def _ends(seam: Seam, sewn: SewnSeam, pieces: Mapping[str, Piece]) -> list[Fault]:
    """Check that each end is sewn as far as it may be on the layer that needs most room there.

    There the hole is one inset from an edge beyond the span, square to the span's end, or where
    what is left unsewn ends.
    """
    faults: list[Fault] = []
    for k, which in ((0, "first"), (-1, "last")):
        short = math.inf
        for edge, layer in zip(seam.edges, sewn.layers, strict=True):
            outline = pieces[edge.piece].outline
            others = [s for s in outline.segments if s.span != edge.span]
            if not others:
                return []
            span, hole = outline.span_path(edge.span), layer.holes[k].at
            along = span.nearest(hole)[0]
            from_end = along if (k == 0) != edge.runs_backwards else span.length - along
            skip = edge.skip_mm[k]
            spare = float(distances(others, np.array([hole])).min()) - seam.inset_mm
            # along a bent span what is left unsewn is measured on the stitch line, not the edge
            short = min(short, abs(spare), max(from_end - skip * 1.5, 0.0))
        if short > END_WITHIN_MM:
            faults.append(_fault("seam-ends-short", f"{seam.name}, {which}", short, END_WITHIN_MM))
    return faults


def _even_chords(seam: Seam, sewn: SewnSeam, front: Piece) -> list[Fault]:
    at = [hole.at for hole in sewn.layers[0].holes]
    closed = all(s.span == seam.edges[0].span for s in front.outline.segments)
    chords = [math.dist(a, b) for a, b in pairwise([*at, at[0]] if closed else at)]
    faults: list[Fault] = []
    stops = sorted({0, *sewn.anchors, len(chords)})
    if closed:
        stops = [*sewn.anchors, sewn.anchors[0] + len(chords)] if sewn.anchors else stops
    for begin, finish in pairwise(stops):
        stretch = [chords[i % len(chords)] for i in range(begin, finish)]
        if not stretch:
            continue
        uneven = max(stretch) - min(stretch)
        if uneven > CHORD_WITHIN_MM:
            faults.append(_fault("chords-uneven", seam.name, uneven, CHORD_WITHIN_MM))
        # the nearest whole number of n stitches misses the pitch by half a stitch in n at most
        n, mean = len(stretch), math.fsum(stretch) / len(stretch)
        least = n / (n + 0.6) if n > 1 else 0.0  # what is too short for one stitch still has one
        if not least <= mean / seam.pitch_mm <= (n + 0.6) / n:
            faults.append(_fault("pitch-not-as-asked", seam.name, mean, seam.pitch_mm))
    low, high = sewn.pitch_mm
    if abs(low - min(chords)) > CHORD_WITHIN_MM or abs(high - max(chords)) > CHORD_WITHIN_MM:
        faults.append(_fault("pitch-not-as-stated", seam.name, min(chords), low))
    return faults


def _placed(
    assembly: Assembly, piece: Piece, hole: Hole
) -> tuple[Floats, Floats | None, Floats] | None:
    """Return (place, direction of the slit, direction of the grain) in the closed article."""
    panel = _panel(assembly, piece.name, hole.at)
    if panel is None:
        return None
    pose = assembly.pose_of(panel, 1.0)
    x, y = hole.at
    ends = [(x, y, 0.0), (x, y, 1.0)]
    if hole.slant is not None:
        ends.append((x + math.cos(hole.slant), y + math.sin(hole.slant), 0.0))
    placed = pose.of_points(np.array(ends))
    way = placed[2] - placed[0] if hole.slant is not None else None
    return placed[0], way, placed[1] - placed[0]


def _panel(assembly: Assembly, piece: str, at: Point) -> Panel | None:
    for panel in assembly.panels:
        if panel.piece == piece and panel.holds(at, 1e-6):
            return panel
    return None


def _fault(code: str, part: str, measured: float, allowed: float) -> Fault:
    return Fault(
        code=code,
        part=part,
        measured=float(measured),
        allowed=float(allowed),
        sentence=f"{part}: {code.replace('-', ' ')}, {measured:.3f} for {allowed:.3f}",
    )

"""Loose lines and arcs, joined end to end into outlines and open paths."""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from scipy.spatial import cKDTree

from hidewright.drawing.reading import GapClosed, NamedOutline, NamedPath, Skipped
from hidewright.errors import RequestError
from hidewright.geometry.outline import JOIN_MM, Path, outline
from hidewright.geometry.segment import Point, Segment

#: Two lines are one line drawn twice when ends and middles differ by less, mm.
TWICE_MM = 1e-3
#: Ends are joined nearest first: within each of these in turn, then within the tolerance asked for.
STAGES_MM = (JOIN_MM, 1e-3, 1e-2)


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One run of lines and arcs as drawn.

    Attributes:
        name: What the outline is to be called if this is its first piece.
        layer: Only pieces of one layer are joined.
        where: How errors call it, such as ``path 'front'`` or ``LINE 2F``.
        segments: End to end, mm.
        closed: Whether the drawing says that it closes.
    """

    name: str
    layer: str
    where: str
    segments: tuple[Segment, ...]
    closed: bool = False


@dataclass(frozen=True, kw_only=True)
class Chained:
    """Outlines and paths made of pieces, with what was mended on the way."""

    outlines: tuple[NamedOutline, ...]
    paths: tuple[NamedPath, ...]
    closed_gaps: tuple[GapClosed, ...]
    skipped: tuple[Skipped, ...]


def chain_pieces(pieces: Iterable[Piece], close_gaps_mm: float, file: str) -> Chained:
    """Return the outlines and open paths that pieces form.

    Ends within the tolerance are joined, those nearest first, within each layer. A line meets an
    arc at the arc's end; two lines, or two arcs, meet half way. What is drawn twice is left out.

    Args:
        pieces: In the order of the file.
        close_gaps_mm: Widest gap that is closed, mm.
        file: Name for errors.

    Raises:
        RequestError: When three or more ends meet in one place, or an outline crosses itself.
    """
    drawn = tuple(pieces)
    kept, doubles = _without_doubles([p for p in drawn if p.segments])
    dots = tuple(
        Skipped(what="dot", where=p.where, count=1, why="it has no length")
        for p in drawn
        if not p.segments
    )
    chains = [_Chain(piece=p, order=i) for i, p in enumerate(kept)]
    gaps: list[GapClosed] = []
    for chain in chains:
        if chain.piece.closed or chain.ends_meet(JOIN_MM):
            chain.close(gaps)
    stages = (*(s for s in STAGES_MM if s < close_gaps_mm), max(close_gaps_mm, JOIN_MM))
    for layer in dict.fromkeys(p.layer for p in kept):
        of_layer = [c for c in chains if c.piece.layer == layer]
        for tolerance in stages:
            of_layer = [c for c in of_layer if c.into is None]
            _join(of_layer, tolerance, gaps, file)
        loose = [p for p in kept if p.layer == layer and not p.closed]
        _must_not_branch(
            [c for c in of_layer if c.into is None and not c.closed], loose, stages[-1], file
        )
    return _named([c for c in chains if c.into is None], gaps, dots + doubles, file)


@dataclass(kw_only=True)
class _Chain:
    """A run that grows while ends are joined; ``into`` the one it became part of."""

    piece: Piece
    order: int
    segments: list[Segment] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)
    closed: bool = False
    into: "_Chain | None" = None

    def __post_init__(self) -> None:
        self.segments = list(self.piece.segments)
        self.sources = [self.piece.where]

    @property
    def where(self) -> str:
        unique = list(dict.fromkeys(self.sources))
        more = f" and {len(unique) - 3} more" if len(unique) > 3 else ""
        return ", ".join(unique[:3]) + more

    @property
    def start(self) -> Point:
        return self.segments[0].start

    @property
    def end(self) -> Point:
        return self.segments[-1].end

    def holder(self) -> "_Chain":
        """The chain it is part of by now."""
        chain = self
        while chain.into is not None:
            chain = chain.into
        if chain is not self:
            self.into = chain
        return chain

    def ends_meet(self, tolerance: float) -> bool:
        """Whether it comes back to where it began, and is more than a hairpin."""
        if math.dist(self.start, self.end) > tolerance or _to_and_fro(self.segments):
            return False
        return math.fsum(s.length for s in self.segments) > 4 * tolerance

    def turn(self) -> None:
        self.segments = [s.backwards() for s in reversed(self.segments)]
        self.sources.reverse()

    def close(self, gaps: list[GapClosed]) -> None:
        if len(self.segments) > 1:
            ends = dict.fromkeys((self.sources[-1], self.sources[0]))
            _note_gap(self.end, self.start, ", ".join(ends), gaps)
            self.segments[-1], self.segments[0] = _met(self.segments[-1], self.segments[0])
        self.closed = True

    def take(self, other: "_Chain", gaps: list[GapClosed]) -> None:
        """Continue with another chain, which begins where this one ends."""
        _note_gap(self.end, other.start, f"{self.sources[-1]}, {other.sources[0]}", gaps)
        last, first = _met(self.segments[-1], other.segments[0])
        self.segments[-1] = last
        self.segments.append(first)
        self.segments.extend(other.segments[1:])
        self.sources += other.sources
        if other.order < self.order:
            self.piece, self.order = other.piece, other.order
        other.into = self


def _join(chains: Sequence[_Chain], tolerance: float, gaps: list[GapClosed], file: str) -> None:
    """Join all free ends that lie within the tolerance of exactly one other."""
    free = [c for c in chains if not c.closed]
    if not free:
        return
    points = [p for c in free for p in (c.start, c.end)]
    pairs = cKDTree(points).query_pairs(tolerance)
    mates: dict[int, list[int]] = defaultdict(list)
    for i, j in pairs:
        mates[i].append(j)
        mates[j].append(i)
    for i in sorted(mates):
        if len(mates[i]) > 1:
            ends = sorted({i, *mates[i]})
            names = ", ".join(dict.fromkeys(free[k // 2].where for k in ends))
            layer = free[0].piece.layer
            raise _branch(len(ends), names, layer, points[i], tolerance, file)
    for i, j in sorted(pairs):
        one, two = free[i // 2].holder(), free[j // 2].holder()
        if one is two:
            if one.ends_meet(tolerance):
                one.close(gaps)
            continue
        if math.dist(one.end, points[i]) > math.dist(one.start, points[i]):
            one.turn()
        if math.dist(two.start, points[j]) > math.dist(two.end, points[j]):
            two.turn()
        one.take(two, gaps)


def _must_not_branch(
    chains: Sequence[_Chain], loose: Sequence[Piece], tolerance: float, file: str
) -> None:
    """Refuse an end left over where two others, nearer to one another, were joined."""
    ends = [(p, point) for p in loose for point in (p.segments[0].start, p.segments[-1].end)]
    tree = cKDTree([point for _, point in ends]) if chains else None
    for chain in chains:
        for at, segment in ((chain.start, chain.segments[0]), (chain.end, chain.segments[-1])):
            if tree is None or segment.length <= 2 * tolerance:
                continue
            near = [ends[k] for k in tree.query_ball_point(at, tolerance) if ends[k][1] != at]
            if len(near) > 1:
                names = dict.fromkeys([chain.where, *(p.where for p, _ in near)])
                raise _branch(
                    1 + len(near), ", ".join(names), chain.piece.layer, at, tolerance, file
                )


def _met(one: Segment, two: Segment) -> tuple[Segment, Segment]:
    """Two neighbours with the end of one moved onto the start of the other."""
    if one.end == two.start:
        return one, two
    if one.is_arc and not two.is_arc:
        at = one.end
    elif two.is_arc and not one.is_arc:
        at = two.start
    else:
        at = ((one.end[0] + two.start[0]) / 2, (one.end[1] + two.start[1]) / 2)
    return replace(one, end=at), replace(two, start=at)


def _note_gap(one: Point, two: Point, where: str, gaps: list[GapClosed]) -> None:
    gap = math.dist(one, two)
    if gap > JOIN_MM:
        middle = ((one[0] + two[0]) / 2, (one[1] + two[1]) / 2)
        gaps.append(GapClosed(where=where, at=middle, gap_mm=gap))


def _branch(
    count: int, names: str, layer: str, at: Point, tolerance: float, file: str
) -> RequestError:
    return RequestError(
        f"{count} ends meet near ({at[0]:.2f}, {at[1]:.2f}) mm on layer {layer!r}: {names}",
        because=f"within {tolerance:g} mm it is not plain which way the outline runs",
        mend="Leave two ends in that place, or put the other lines on a layer of their own",
        where=file,
    )


def _without_doubles(pieces: Sequence[Piece]) -> tuple[list[Piece], tuple[Skipped, ...]]:
    """Pieces without those that are drawn twice on one layer, and which those were.

    A loose run is a double when each of its lines is there already; a closed one only when the
    same loop is, since neighbouring outlines may share edges.
    """
    kept: list[Piece] = []
    doubles: list[Skipped] = []
    seen = _Seen()
    for i in sorted(range(len(pieces)), key=lambda i: (not pieces[i].closed, i)):
        piece = pieces[i]
        held = [seen.holders(piece.layer, s) for s in piece.segments]
        twin = _twin(piece, held, pieces)
        if twin is not None:
            same = pieces[twin].where
            doubles.append(
                Skipped(
                    what="drawn twice",
                    where=piece.where,
                    count=1,
                    why=f"the same line or outline is there already: {same}",
                )
            )
            continue
        for seg in piece.segments:
            seen.add(piece.layer, seg, i)
        kept.append(piece)
    order = {id(p): i for i, p in enumerate(pieces)}
    return sorted(kept, key=lambda p: order[id(p)]), tuple(doubles)


def _twin(piece: Piece, held: Sequence[set[int]], pieces: Sequence[Piece]) -> int | None:
    if not all(held):
        return None
    if not piece.closed:
        return min(held[0])
    same = set.intersection(*held)
    n = len(piece.segments)
    return min((i for i in same if pieces[i].closed and len(pieces[i].segments) == n), default=None)


class _Seen:
    """Which pieces hold a line or arc, found by the place of its middle."""

    def __init__(self) -> None:
        self._cells: dict[tuple[str, int, int], list[tuple[Segment, int]]] = defaultdict(list)

    def add(self, layer: str, seg: Segment, owner: int) -> None:
        x, y = _cell(seg)
        self._cells[layer, x, y].append((seg, owner))

    def holders(self, layer: str, seg: Segment) -> set[int]:
        x, y = _cell(seg)
        near = (
            entry
            for i in (x - 1, x, x + 1)
            for j in (y - 1, y, y + 1)
            for entry in self._cells.get((layer, i, j), ())
        )
        return {owner for other, owner in near if _same(seg, other)}


def _cell(seg: Segment) -> tuple[int, int]:
    x, y = seg.point_at(seg.length / 2)
    return (math.floor(x / TWICE_MM), math.floor(y / TWICE_MM))


def _same(one: Segment, two: Segment) -> bool:
    middles = math.dist(one.point_at(one.length / 2), two.point_at(two.length / 2))
    there = max(math.dist(one.start, two.start), math.dist(one.end, two.end))
    back = max(math.dist(one.start, two.end), math.dist(one.end, two.start))
    return max(middles, min(there, back)) < TWICE_MM


def _named(
    chains: Sequence[_Chain],
    gaps: Sequence[GapClosed],
    skipped: tuple[Skipped, ...],
    file: str,
) -> Chained:
    outlines: list[NamedOutline] = []
    paths: list[NamedPath] = []
    taken: set[str] = set()
    for chain in sorted(chains, key=lambda c: c.order):
        name = _free_name(chain.piece.name, taken)
        layer = chain.piece.layer
        try:
            if chain.closed:
                _must_enclose(chain.segments)
                loop = outline(chain.segments)
                outlines.append(NamedOutline(name=name, layer=layer, outline=loop))
            else:
                paths.append(NamedPath(name=name, layer=layer, path=Path(tuple(chain.segments))))
        except RequestError as error:
            raise error.at(f"{file}, {chain.where}") from None
    return Chained(
        outlines=tuple(outlines),
        paths=tuple(paths),
        closed_gaps=tuple(gaps),
        skipped=skipped,
    )


def _to_and_fro(segments: Sequence[Segment]) -> bool:
    return len(segments) < 2 or (len(segments) == 2 and not any(s.is_arc for s in segments))


def _must_enclose(segments: Sequence[Segment]) -> None:
    if _to_and_fro(segments):
        raise RequestError(
            "an outline that goes to and fro on one line",
            because="it encloses nothing",
            mend="Draw it as an open line, or give it a third corner",
        )


def _free_name(wanted: str, taken: set[str]) -> str:
    name, n = wanted, 1
    while name in taken:
        n += 1
        name = f"{wanted}/{n}"
    taken.add(name)
    return name

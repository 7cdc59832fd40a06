"""Words and an up mark on a part, placed where there is board for them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from hidewright.design.part import Label
from hidewright.geometry.distance import distances, is_apart, keeps_clear, signed_distances
from hidewright.geometry.outline import Outline, Path
from hidewright.geometry.segment import Bools, Floats, Point, Segment, line, turn

#: Capitals from large to the smallest that can be read when cut by a laser, mm; common practice.
HEIGHTS_MM = (4.0, 3.0, 2.5, 2.0, 1.5)
#: Width of a letter over the height of a capital, rather too wide than too narrow.
LETTER_WIDTH = 0.8
#: How far letters reach below their base line and above capitals, over the height of a capital: a
#: little more than in the typeface of the cut files (0.286 and 0.042).
LETTER_DROP, LETTER_RISE = 0.29, 0.05
#: Letters that reach below the base line.
DROPPING = frozenset("gjpqyQ,;()[]/")
#: Board left between words and an edge, mm.
CLEAR_MM = 0.8
#: Board left where there is plenty, for words that are easily read, mm.
AMPLE_MM = 3.0
#: The up mark is this wide and half as high, mm.
CHEVRON_MM = 5.0

#: Places (n, 2) on a part and how much board there is round each (n,), mm.
Room = tuple[Floats, Floats]


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """What is marked on one part: words, and a chevron that points up (y) on the piece."""

    labels: tuple[Label, ...]
    scores: tuple[Path, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Board:
    """A part, and the edges and lines on it that words keep clear of, mm."""

    outline: Outline
    holes: tuple[Outline, ...]
    scores: tuple[Path, ...] = ()

    def is_clear(self, points: Floats) -> bool:
        """Whether there is ``CLEAR_MM`` of board round each of some points (n, 2)."""
        if not keeps_clear(self.outline, points, CLEAR_MM, inside=True):
            return False
        if not all(is_apart(score, points, CLEAR_MM) for score in self.scores):
            return False
        left, bottom = (points.min(axis=0) - CLEAR_MM).tolist()
        right, top = (points.max(axis=0) + CLEAR_MM).tolist()
        for hole in self.holes:
            x0, y0, x1, y1 = hole.bounds
            if x0 < right and left < x1 and y0 < top and bottom < y1:
                circle = _round(hole)
                if circle is None:
                    if not keeps_clear(hole, points, CLEAR_MM, inside=False):
                        return False
                    continue
                (x, y), radius = circle
                if np.hypot(points[:, 0] - x, points[:, 1] - y).min() - radius < CLEAR_MM:
                    return False
        return True


def marked(
    outline: Outline,
    holes: Sequence[Outline],
    lines: Sequence[str],
    scores: Sequence[Path] = (),
) -> Marks:
    """Return words and the up mark placed on a part, clear of its edges and of one another.

    Each line of words goes along a straight edge where it fits largest, else where there is most
    room, else at 1.5 mm wherever it fits. All are smaller where one would find no room beside the
    others; one that fits nowhere is left out, as is an up mark without room.

    Args:
        outline: Outer edge of the part, mm.
        holes: Its inner edges, mm.
        lines: Words, the most important first.
        scores: What else is scored on it, mm: kept clear of like an edge.
    """
    board = _Board(outline=outline, holes=tuple(holes), scores=tuple(scores))
    room = _room(board)
    best: list[Label] = []
    for largest in range(len(HEIGHTS_MM)):
        labels: list[Label] = []
        for words in lines:
            found = _label(board, room, words, labels, HEIGHTS_MM[largest:])
            if found is not None:
                labels.append(found)
        best = max(best, labels, key=len)
        if len(best) == len(lines):
            break
    return Marks(labels=tuple(best), scores=_chevron(room, best))


def turned_round(label: Label) -> Label:
    """Return words turned half round in the room they take."""
    x, y = turn((0.0, sum(_reach(label))), label.angle)
    at = (label.at[0] + x, label.at[1] + y)
    return replace(label, at=at, angle=label.angle + math.pi)


def roomiest(outline: Outline, holes: Sequence[Outline] = ()) -> tuple[Point, float]:
    """Return (point, clearance): where on a grid of 25 x 25 there is most board all round, mm."""
    return _most(_room(_Board(outline=outline, holes=tuple(holes))))


@lru_cache(maxsize=2)  # plates of a stack are alike, one behind the other
def _room(board: _Board) -> Room:
    """Return places on a grid of 25 x 25 on a part, and how much board there is round each."""
    left, bottom, right, top = board.outline.bounds
    xs, ys = np.linspace(left, right, 25), np.linspace(bottom, top, 25)
    grid: Floats = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    room = clearances(board.outline, board.holes, grid)
    for score in board.scores:
        room = np.minimum(room, distances(score, grid))
    return grid, room


def _most(board: Room, labels: Sequence[Label] = ()) -> tuple[Point, float]:
    """Return (point, clearance): where there is most board all round, clear of words, mm."""
    grid, room = board
    for label in labels:
        apart = np.hypot(grid[:, 0] - label.at[0], grid[:, 1] - label.at[1])
        room = np.minimum(room, apart - _half_length(label))
    best = int(np.argmax(np.round(room, 6)))
    return (float(grid[best, 0]), float(grid[best, 1])), float(room[best])


def clearances(
    outline: Outline, holes: Sequence[Outline], points: Floats | Sequence[Point]
) -> Floats:
    """Return how much board there is round points (n, 2) of a part, mm; negative off the board."""
    places = np.asarray(points, dtype=np.float64).reshape(-1, 2)
    room = signed_distances(outline, places)
    circles = []
    for hole in holes:
        round_hole = _round(hole)
        if round_hole is not None:
            circles.append((*round_hole[0], round_hole[1]))
        else:
            room = np.minimum(room, -signed_distances(hole, places))
    if circles:  # many stitch holes are quicker together
        x, y, radius = np.array(circles).T
        apart = np.hypot(places[:, :1] - x, places[:, 1:] - y) - radius
        room = np.minimum(room, apart.min(axis=1))
    return room


def _round(hole: Outline) -> tuple[Point, float] | None:
    """Return (centre, radius) of a hole of two half arcs."""
    first, *others = hole.segments
    if len(others) != 1 or not (first.is_arc and others[0].is_arc):
        return None
    same = math.dist(first.centre, others[0].centre) < 1e-6
    return (first.centre, first.radius) if same else None


def _label(
    board: _Board,
    room: Room,
    words: str,
    others: Sequence[Label],
    heights: Sequence[float],
) -> Label | None:
    middle, _ = _most(room, others)
    for height in heights:
        ample = _along_edges(board.outline, words, height, AMPLE_MM)
        tight = _along_edges(board.outline, words, height, CLEAR_MM)
        places = (*ample, *tight, (middle, 0.0), (middle, math.pi / 2))
        found = _first_clear(board, words, height, places, others)
        if found is not None:
            return found
    return _first_clear(board, words, HEIGHTS_MM[-1], _all_over(board, room, words), others)


def _first_clear(
    board: _Board,
    words: str,
    height: float,
    places: Sequence[tuple[Point, float]],
    others: Sequence[Label],
) -> Label | None:
    if not places:
        return None
    along, over = _box(Label(words=words, at=(0.0, 0.0), height_mm=height))
    ats, angles = np.array([at for at, _ in places]), np.array([angle for _, angle in places])
    points = _turned(ats, angles, along, over)
    free = np.ones(len(places), dtype=bool)
    for other in others:
        free &= ~_reaches(points, other)
    for score in board.scores:  # a line that runs along an edge crosses all words beside it
        free &= distances(score, ats) >= CLEAR_MM
    for i in np.flatnonzero(free).tolist():
        if board.is_clear(points[i]):
            at, angle = places[i]
            return Label(words=words, at=at, height_mm=height, angle=angle)
    return None


def _all_over(board: _Board, room: Room, words: str) -> tuple[tuple[Point, float], ...]:
    """Return places on the grid, level and upright, where the corners of the words are clear."""
    grid, around = room
    inside = grid[around > 0.0]
    places: list[tuple[Point, float]] = []
    for angle in (0.0, math.pi / 2):
        label = Label(words=words, at=(0.0, 0.0), height_mm=HEIGHTS_MM[-1], angle=angle)
        half, (low, up) = _half_length(label), _reach(label)
        box = np.array([-half, half, -half, half]), np.array([low, low, up, up])
        corners = _turned(inside, np.full(len(inside), angle), *box)
        edges = clearances(board.outline, board.holes, corners.reshape(-1, 2))
        clear = edges.reshape(-1, 4).min(axis=1) >= CLEAR_MM
        places += [((x, y), angle) for x, y in inside[clear].tolist()]
    return tuple(places)


def _along_edges(
    outline: Outline, words: str, height: float, clear: float
) -> tuple[tuple[Point, float], ...]:
    """Return (middle, reading angle) a little inside each straight edge that is long enough."""
    label = Label(words=words, at=(0.0, 0.0), height_mm=height)
    needed = 2.0 * _half_length(label)
    straight = [s for s in outline.segments if not s.is_arc and s.length >= needed]
    straight.sort(key=lambda s: -round(s.length, 6))
    places = []
    for seg in straight:
        for share in (0.5, 0.3, 0.7):
            places.append(_beside(seg, share, clear + 0.2, label))
    return tuple(places)


def _beside(seg: Segment, share: float, clear: float, label: Label) -> tuple[Point, float]:
    (x, y), (nx, ny) = seg.point_at(seg.length * share), seg.normal_at(seg.length * share)
    tx, ty = seg.tangent_at(0.0)
    angle = math.atan2(ty, tx)
    low, up = _reach(label)
    inwards = clear - low  # along the edge the part is at the left, above the words
    if angle > math.pi / 2 + 1e-9 or angle <= -math.pi / 2 + 1e-9:  # read from below or the right
        angle -= math.copysign(math.pi, angle)
        inwards = clear + up
    return (x - nx * inwards, y - ny * inwards), angle


def _half_length(label: Label) -> float:
    return LETTER_WIDTH * label.height_mm * len(label.words) / 2


def _reach(label: Label) -> tuple[float, float]:
    """Return how far words reach below (negative) and above the middle of their capitals, mm."""
    drop = LETTER_DROP if DROPPING.intersection(label.words) else 0.0
    return -(0.5 + drop) * label.height_mm, (0.5 + LETTER_RISE) * label.height_mm


def _box(label: Label) -> tuple[Floats, Floats]:
    """Return points in and round the room the words need: (n,) along and (n,) above their middle.

    They are at most 1 mm apart: the middle between four of them is nearer to them than
    ``CLEAR_MM``, and no hole hides there.
    """
    half, (low, up) = _half_length(label), _reach(label)
    along = np.linspace(-half, half, math.ceil(2 * half) + 1)
    over = np.linspace(low, up, math.ceil(up - low) + 1)
    u, v = np.meshgrid(along, over)
    return u.ravel(), v.ravel()


def _turned(ats: Floats, angles: Floats, along: Floats, over: Floats) -> Floats:
    """Return (k, n, 2) points so far along and above the middle of words at k places, mm."""
    x, y, c, s = *ats.T[:, :, None], np.cos(angles)[:, None], np.sin(angles)[:, None]
    return np.stack([x + along * c - over * s, y + along * s + over * c], axis=2)


def _reaches(points: Floats, label: Label) -> Bools:
    """Whether any of points (k, n, 2) of words at k places comes too near to other words."""
    x, y = (points - np.array(label.at)).transpose(2, 0, 1)
    c, s = math.cos(label.angle), math.sin(label.angle)
    along, over = x * c + y * s, y * c - x * s
    low, up = _reach(label)
    level = (low - CLEAR_MM < over) & (over < up + CLEAR_MM)
    near: Bools = (level & (np.abs(along) < _half_length(label) + 1.0)).any(axis=1)
    return near


def _chevron(board: Room, labels: Sequence[Label]) -> tuple[Path, ...]:
    (x, y), room = _most(board, labels)
    half = min(CHEVRON_MM / 2, (room - CLEAR_MM) / 1.2)
    if half < 0.8:
        return ()
    tip, low = (x, y + half / 2), y - half / 2
    return (Path((line((x - half, low), tip), line(tip, (x + half, low)))),)

"""Whole stitches between anchors: equal chords, as near to the wanted pitch as they come."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from hidewright.errors import RequestError
from hidewright.geometry.outline import Path
from hidewright.geometry.segment import Floats
from hidewright.stitching.anchors import Anchor

#: Chords of one stretch are equal to this, mm. A laser resolves about 0.01 mm.
EQUAL_MM = 1e-10
#: Rounds of evening out before a stretch is given up; smooth stretches need fewer than 20.
ROUNDS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Stations:
    """Where the holes of a stitch line are, both ends included.

    Attributes:
        along_mm: Distances along the line, ascending.
        anchors: Indices of the stations that are anchors, in order.
    """

    along_mm: tuple[float, ...]
    anchors: tuple[int, ...]


def whole_stitches(line: Path, anchors: Sequence[Anchor], pitch_mm: float) -> Stations:
    """Return stations from anchor to anchor whose chords miss the wanted pitch least.

    Within one stretch all chords are equal; of two counts that miss the pitch equally the larger
    is taken.

    Args:
        line: The stitch line.
        anchors: In order, the line's two ends first and last.
        pitch_mm: Wanted chord from hole to hole.

    Raises:
        RequestError: When the whole line takes fewer than two stitches.
    """
    along: list[float] = [anchors[0].along_mm]
    marks = [0]
    for one, two in pairwise(anchors):
        along += _best(line, one.along_mm, two.along_mm, pitch_mm)[1:]
        marks.append(len(along) - 1)
    if len(along) < 3:
        raise RequestError(
            f"a stitch line of {line.length:.1f} mm",
            because=f"it takes fewer than two stitches of {pitch_mm:g} mm",
            mend=f"Use a finer pitch, about {line.length / 2:.2g} mm, or sew a longer edge",
        )
    return Stations(along_mm=tuple(along), anchors=tuple(marks))


def evenly(line: Path, begin_mm: float, finish_mm: float, stitches: int) -> list[float]:
    """Return stations that cut a stretch of line into so many equal chords, ends included.

    The gaps along the line start equal; each is then scaled by the mean chord over its own chord
    until all chords agree. On lines and arcs of a radius over half the pitch this converges.

    Args:
        line: The stitch line.
        begin_mm: Distance along of the first station.
        finish_mm: Distance along of the last.
        stitches: At least 1.

    Raises:
        RequestError: When the line doubles back within one stitch.
    """
    length = finish_mm - begin_mm
    gaps: Floats = np.full(stitches, length / stitches)
    for _ in range(ROUNDS):
        along = begin_mm + np.concatenate([[0.0], np.cumsum(gaps)])
        along[-1] = finish_mm
        chord = chords(line, along)
        mean = chord.mean()
        if np.ptp(chord) < EQUAL_MM * max(1.0, mean):
            return [float(v) for v in along]
        gaps = gaps * (mean / np.maximum(chord, 0.1 * mean))
        gaps *= length / gaps.sum()
    raise RequestError(
        f"a stitch line that doubles back within {length / stitches:.1f} mm",
        because="no even stitches follow it",
        mend="Use a finer pitch, or round the edge with a larger radius",
    )


def chords(line: Path, along_mm: Sequence[float] | Floats) -> Floats:
    """Return the straight distances between neighbouring stations, mm."""
    points = np.array([line.point_at(float(v)) for v in along_mm])
    lengths: Floats = np.hypot(*np.diff(points, axis=0).T)
    return lengths


def _best(line: Path, begin: float, finish: float, pitch: float) -> list[float]:
    """Return the stations of the count whose chord misses the pitch least."""
    count = max(1, round((finish - begin) / pitch))
    best, miss = _tried(line, begin, finish, count, pitch)
    # chords shrink as the count grows, so the miss has one lowest place
    step = 1 if chords(line, best[:2])[0] > pitch else -1
    while count + step >= 1:
        try:
            other, other_miss = _tried(line, begin, finish, count + step, pitch)
        except RequestError:  # too long a stitch to follow the line: the one at hand does
            return best
        if other_miss > miss or (other_miss == miss and step < 0):
            return best
        best, miss, count = other, other_miss, count + step
    return best


def _tried(
    line: Path, begin: float, finish: float, count: int, pitch: float
) -> tuple[list[float], float]:
    along = evenly(line, begin, finish, count)
    return along, math.fabs(float(chords(line, along[:2])[0]) - pitch)

"""Which places of a drawing can be dragged to change a measure, found by trying.

Each length of a kind's measures is changed a little and the design constructed again. A line or
arc of a piece or hollow whose middle moves square to itself by 0.4 to 1.1 of that change can be
dragged, and so can a spot where one arc goes over into the next, such as the tip of a strap. It
belongs to the measure that moves fewest lines: the side of a hollow to its width, the side of
the piece, which moves with the width too, to the flange. An arc can be dragged when the straight
lines beside it stand still: then it is its own radius that changes. Measures that are seen in a
section, such as a depth or a lip radius, have no handle on the flat pieces, although these grow
with them.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import Field, dataclass, fields, replace
from typing import Any

from hidewright.design.design import Design
from hidewright.design.kinds.registry import kind_named
from hidewright.design.measure import file_name
from hidewright.design.specification import Specification
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, turn_between
from hidewright.geometry.segment import Point, Segment
from hidewright.workshop.views.svg_view import Handle

#: Measures are changed by this much to see what moves, mm; the other way where that is refused.
TRIED_MM = 0.5
#: A handle moves by at least and at most this share of its measure.
LEAST_GAIN, MOST_GAIN = 0.4, 1.1
#: A spot that moves by less of its measure stands still.
STILL = 1e-6
#: Arcs that meet at less than this angle go over into one another, radians.
SMOOTH = 1e-6

#: A spot: (``piece`` or ``piece/zone``, index of a line or arc, share of it along).
Place = tuple[str, int, float]


@dataclass(frozen=True, slots=True)
class _Moved:
    """What one measure moves: the gain along the outward normal of each line that moves."""

    measure: Field[Any]
    gains: Mapping[Place, float]


def handles_of(spec: Specification[Any]) -> tuple[Handle, ...]:
    """Return the handles of a design, at most one a measure, in the frames of their pieces.

    It constructs the design once for each length of its measures: keep the answer while only
    lengths change, and ``follow`` it.

    Raises:
        RequestError: When the design itself cannot be constructed.
    """
    design = kind_named(spec.brief.kind).construct(spec.brief)
    curves = _curves(design)
    moved = [found for one in _lengths(spec) if (found := _moved_by(spec, one, design)) is not None]
    handles: list[Handle] = []
    for one in moved:
        best = _best(one, moved, curves)
        if best is not None:
            handles.append(_handle(spec, one, best, curves))
    return tuple(handles)


def follow(
    handles: Sequence[Handle], spec: Specification[Any], design: Design
) -> tuple[Handle, ...]:
    """Return handles found on an earlier design where they lie on this one, with its measures.

    Those whose outline is gone or has other lines are left out: then find them anew.
    """
    curves = _curves(design)
    values = {f"measures.{file_name(f.name)}": f.name for f in _lengths(spec)}
    followed = []
    for one in handles:
        curve = curves.get(one.place)
        if curve is None or len(curve.segments) != one.of or one.field not in values:
            continue
        at, (nx, ny) = _spot(curve.segments[one.segment], one.along)
        sense = math.copysign(1.0, nx * one.direction[0] + ny * one.direction[1])
        value = float(getattr(spec.brief.measures, values[one.field]))
        followed.append(replace(one, at=at, direction=(sense * nx, sense * ny), value=value))
    return tuple(followed)


def _lengths(spec: Specification[Any]) -> list[Field[Any]]:
    return [f for f in fields(spec.brief.measures) if f.metadata.get("quantity") == "length"]


def _curves(design: Design) -> dict[str, Outline]:
    curves: dict[str, Outline] = {}
    for piece in design.pieces:
        curves[piece.name] = piece.outline
        curves |= {f"{piece.name}/{zone.name}": zone.outline for zone in piece.zones}
    return curves


def _moved_by(spec: Specification[Any], one: Field[Any], design: Design) -> _Moved | None:
    """Return what a measure moves, if it is seen in the flat and leaves as many lines."""
    curves = _curves(design)
    for step in (TRIED_MM, -TRIED_MM):
        value = getattr(spec.brief.measures, one.name) + step
        try:
            measures = replace(spec.brief.measures, **{one.name: value})
            brief = replace(spec.brief, measures=measures)
            after_it = kind_named(brief.kind).construct(brief)
        except RequestError:
            continue
        if _section_of(after_it) != _section_of(design):
            return None
        changed = _curves(after_it)
        gains: dict[Place, float] = {}
        for place, before in curves.items():
            after = changed.get(place)
            if after is None or len(after.segments) != len(before.segments):
                return None
            for i, along in _spots(before.segments):
                (x0, y0), (nx, ny) = _spot(before.segments[i], along)
                (x1, y1), _ = _spot(after.segments[i], along)
                gain = ((x1 - x0) * nx + (y1 - y0) * ny) / step
                if abs(gain) > STILL:
                    gains[place, i, along] = gain
        return _Moved(one, gains) if gains else None
    return None


def _section_of(design: Design) -> list[float]:
    """Return the sizes of a design that are seen in a section only."""
    zones = [zone for piece in design.pieces for zone in piece.zones]
    folds = [fold for piece in design.pieces for fold in piece.folds]
    return [
        *(v for z in zones for v in (z.depth_mm, z.crown_radius_mm, z.lip_radius_mm)),
        *(fold.inside_radius_mm for fold in folds),
    ]


def _best(one: _Moved, moved: Sequence[_Moved], curves: Mapping[str, Outline]) -> Place | None:
    """Return the line that a measure is dragged by: hollows first, long ones, at the right."""
    own = [
        place
        for place, gain in one.gains.items()
        if LEAST_GAIN <= abs(gain) <= MOST_GAIN
        and _owner(place, moved) is one
        and _is_clear(place, one, curves[place[0]].segments)
    ]

    def worth(place: Place) -> tuple[bool, int, float, float, float]:
        on, i, along = place
        _, (nx, ny) = _spot(curves[on].segments[i], along)
        long = round(curves[on].segments[i].length, 3)
        return ("/" in on, -list(curves).index(on), round(abs(one.gains[place]), 3), long, nx - ny)

    return max(own, key=worth, default=None)


def _is_clear(place: Place, one: _Moved, segments: Sequence[Segment]) -> bool:
    """Whether a line, or an arc whose straight neighbours stand still, moves by itself."""
    on, i, along = place
    n = len(segments)
    beside = ((i - 1) % n, (i + (1 if along < 1.0 else 2)) % n)
    return not segments[i].is_arc or not any(
        (on, k, 0.5) in one.gains for k in beside if not segments[k].is_arc
    )


def _owner(place: Place, moved: Sequence[_Moved]) -> _Moved:
    """Return the measure that moves a line and least else."""
    return min((m for m in moved if place in m.gains), key=lambda m: len(m.gains))


def _handle(
    spec: Specification[Any], one: _Moved, place: Place, curves: Mapping[str, Outline]
) -> Handle:
    name, about = file_name(one.measure.name), one.measure.metadata
    at, (nx, ny) = _spot(curves[place[0]].segments[place[1]], place[2])
    gain = one.gains[place]
    sense = 1.0 if gain > 0 else -1.0
    return Handle(
        field=f"measures.{name}",
        place=place[0],
        segment=place[1],
        of=len(curves[place[0]].segments),
        along=place[2],
        at=at,
        direction=(sense * nx, sense * ny),
        gain=abs(gain),
        value=float(getattr(spec.brief.measures, one.measure.name)),
        low=float(about["low"] or 0.0),
        high=float(about["high"] or 1000.0),
        label=f"{name.replace('_', ' ')}: {about['says']}",
    )


def _spots(segments: Sequence[Segment]) -> Iterator[tuple[int, float]]:
    """Yield the spots that may be dragged: middles, and smooth joints of two arcs."""
    for i, (one, two) in enumerate(zip(segments, (*segments[1:], segments[0]), strict=True)):
        yield i, 0.5
        if one.is_arc and two.is_arc and abs(turn_between(one, two)) < SMOOTH:
            yield i, 1.0


def _spot(segment: Segment, along: float) -> tuple[Point, Point]:
    """Return a point a share along a line or arc, and the outward normal there."""
    far = segment.length * along
    return segment.point_at(far), segment.normal_at(far)

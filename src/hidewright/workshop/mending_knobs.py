"""What may be changed so that a blank can be pressed: measures, leather, gap, holding, darts."""

import math
from collections.abc import Callable, Iterator
from dataclasses import Field, dataclass, fields, replace
from functools import partial
from typing import Any

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.blank import Blank, Hold
from hidewright.design.drying import even_drying
from hidewright.design.kinds.free_measures import FreeMeasures
from hidewright.design.measure import file_name
from hidewright.design.piece import Piece
from hidewright.design.specification import Specification
from hidewright.errors import Remark, RequestError
from hidewright.tooling.blank_outline import formed_blank_edge
from hidewright.tooling.gap import soaked_thickness_mm
from hidewright.tooling.pressed import pressed_zones
from hidewright.tooling.relief_darts import longest_dart_mm
from hidewright.units.length import format_length
from hidewright.workshop.edit import edited

Spec = Specification[Any]
Written = tuple[tuple[str, str], ...]

#: Measures that may be changed: the last words of their names, and which way helps.
LARGER = ("crown_radius", "corner_radius", "lip_radius")
SMALLER = ("depth",)
#: Those of dividers, where a zone has any: the ends of their paths.
DIVIDERS_LARGER = ("top_radius", "foot_radius")
DIVIDERS_SMALLER = ("divider_height", ".height")
#: The margin that stays flat: more of it lets a clamp stand further off and leaves room for what is
#: drawn in; less of it slides in more easily.
MARGIN = ("margin", "held")
#: A dart found for even drying keeps so far from where it could reach, mm: outlines shift by less
#: when drying is computed.
DART_SLACK_MM = 1.0
#: Measures are halved between what fails and what passes to this, mm or as a share.
FINE_MM, FINE_SHARE = 0.25, 0.02
#: Steps from a value to the furthest it may go: far enough apart, too much may fail as well.
STEPS = 6
#: The gap goes at most so far over the leather's thickness.
MOST_GAP = 1.6
#: Thinner leather than this, mm, or this share of what it was, is no longer the same article.
LEAST_LEATHER_MM, LEAST_LEATHER = 0.8, 0.4
#: The ways to hold a flange, from the one that keeps it most.
HOLDS: tuple[Hold, ...] = ("clamped", "plate", "free")


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """One measure that may be changed.

    Attributes:
        name: What it is, for progress.
        now: Its value.
        most: How far it may go.
        fine: Down to which step it is told apart.
        steps: Values looked at from now to the furthest; 1 where further always helps more.
        whole: What a change is compared with where the value is nothing now, mm.
        set: The specification with another value; it may refuse.
        written: (field, value) of the design file for a value.
    """

    name: str
    now: float
    most: float
    fine: float
    steps: int = STEPS
    whole: float = 0.0
    set: Callable[[float], Spec]
    written: Callable[[float], Written]

    @property
    def step(self) -> float:
        """What a maker can set: tenths of a mm, hundredths of a share."""
        return 0.1 if self.fine >= 0.1 else 0.01

    def rounded(self, value: float) -> float:
        """Return a value rounded away from what fails to what a maker can set."""
        steps = value / self.step
        up = math.ceil(steps - 1e-6) if value > self.now else math.floor(steps + 1e-6)
        return round(up * self.step, 6)

    def within(self, value: float) -> bool:
        """Whether a value is no further than it may go."""
        return min(self.now, self.most) - 1e-9 <= value <= max(self.now, self.most) + 1e-9

    def size(self, value: float) -> float:
        """Return how large a change is, to be compared with others: as a logarithm."""
        if self.whole > 0:
            return math.log1p(abs(value - self.now) / self.whole)
        return abs(math.log(value / self.now)) if value > 0 and self.now > 0 else math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One thing that may be chosen otherwise; there is no half of it.

    Attributes:
        name: What it is, for progress.
        spec: The specification with it.
        written: (field, value) of the design file.
    """

    name: str
    spec: Spec
    written: Written


def knobs(
    spec: Spec, remark: Remark, blank: Blank, pieces: tuple[Piece, ...], role: str
) -> Iterator[Knob]:
    """Yield the measures that may be changed so that a zone can be pressed.

    Args:
        spec: What is judged.
        remark: What is said of the zone.
        blank: The blank it is pressed on.
        pieces: All pieces that are moulded.
        role: Role of its leather.
    """
    more = blank.hold == "clamped" or remark.code == "cannot-be-pressed"
    less = blank.hold != "clamped"
    divided = any(zone.islands for piece in pieces for zone in piece.zones)
    larger = (*LARGER, *(MARGIN if more else ()), *(DIVIDERS_LARGER if divided else ()))
    smaller = (*SMALLER, *(MARGIN if less else ()), *(DIVIDERS_SMALLER if divided else ()))
    for path, noun, one in _measures(spec, remark.place, blank):
        yield from _of_measure(spec, path, noun, one, larger, smaller)
    tooling = spec.tooling
    yield Knob(
        name="a wider gap",
        now=tooling.gap_factor,
        most=MOST_GAP,
        fine=FINE_SHARE,
        set=lambda value: replace(spec, tooling=replace(tooling, gap_factor=value)),
        written=lambda value: (("tooling.gap_factor", f"{value:.2f}"),),
    )
    for name, leather in spec.brief.leathers:
        if name == role:
            yield _thinner(spec, name, leather)
    longest = _longest_dart_mm(spec, blank, pieces, role)
    if longest > blank.relief_dart_mm:
        path = f"changes.blank/{blank.name}.relief_dart"
        yield Knob(
            name="relief darts",
            now=blank.relief_dart_mm,
            most=longest,
            fine=FINE_MM,
            steps=1,
            whole=blank.margin_mm,
            set=partial(_set, spec, path),
            written=partial(_length, path),
        )


def holds(spec: Spec, blank: Blank, looser: bool) -> Iterator[Choice]:
    """Yield other ways to hold a blank's flange: all looser, or all firmer ones but clamping."""
    now = HOLDS.index(blank.hold)
    for hold in HOLDS[now + 1 :] if looser else HOLDS[1:now]:
        path = f"changes.blank/{blank.name}.hold"
        yield Choice(
            name=f"the flange held {hold}" if hold != "plate" else "a plate on the flange",
            spec=edited(spec, path, hold, built_in_catalogue()),
            written=((path, hold),),
        )


def _measures(spec: Spec, place: str, blank: Blank) -> Iterator[tuple[str, Any, Field[Any]]]:
    """Yield (path, noun, field) of the measures of a zone and its blank."""
    measures = spec.brief.measures
    nouns: list[tuple[str, Any]] = [("measures", measures)]
    if isinstance(measures, FreeMeasures):
        piece, _, zone = place.partition("/")
        nouns = [
            (f"measures.pieces.{piece}.zones.{zone}", one)
            for p in measures.pieces
            for one in p.zones
            if (p.name, one.name) == (piece, zone)
        ]
        nouns += [
            (f"{path}.islands.{island.name}", island)
            for path, one in nouns
            for island in one.islands
        ]
        nouns += [(f"measures.blanks.{b.name}", b) for b in measures.blanks if b.name == blank.name]
    for path, noun in nouns:
        for one in fields(noun):
            yield f"{path}.{file_name(one.name)}", noun, one


def _of_measure(
    spec: Spec,
    path: str,
    noun: Any,
    one: Field[Any],
    larger: tuple[str, ...],
    smaller: tuple[str, ...],
) -> Iterator[Knob]:
    about, name = one.metadata, path.rpartition(".")[2]
    if about.get("quantity") != "length":
        return
    now = float(getattr(noun, one.name))
    if now <= 0:
        return
    low, high = about["low"] or 0.0, about["high"] or math.inf
    ways = (
        ("larger", larger, min(3.0 * now + 3.0, high)),
        ("smaller", smaller, max(now / 3.0, low)),
    )
    for way, names, most in ways:
        if path.endswith(names) and abs(most - now) > FINE_MM:
            yield Knob(
                name=f"a {way} {name.replace('_', ' ')}",
                now=now,
                most=most,
                fine=FINE_MM,
                set=partial(_set, spec, path),
                written=partial(_length, path),
            )


def _set(spec: Spec, path: str, value: float) -> Spec:
    return edited(spec, path, f"{value:.6f} mm", built_in_catalogue())


def _length(path: str, value: float) -> Written:
    return ((path, format_length(value)),)


def _longest_dart_mm(spec: Spec, blank: Blank, pieces: tuple[Piece, ...], role: str) -> float:
    leather = next((one for name, one in spec.brief.leathers if name == role), None)
    if leather is None or blank.hold == "clamped":
        return 0.0
    drying = even_drying(blank, pieces, leather)
    try:
        zones, _ = pressed_zones(blank, pieces, leather, drying)
        edge = formed_blank_edge(blank, pieces, zones, drying)
    except RequestError:
        return 0.0
    gap_mm = spec.tooling.gap_factor * soaked_thickness_mm(leather)
    longest = longest_dart_mm(blank, pieces, zones, drying, edge, gap_mm)
    return math.floor(10.0 * (longest - DART_SLACK_MM)) / 10.0


def _thinner(spec: Spec, role: str, leather: Leather) -> Knob:
    def thinned(most_mm: float) -> Leather:
        share = most_mm / leather.thickness_max_mm
        return replace(
            leather,
            thickness_max_mm=most_mm,
            thickness_min_mm=round(share * leather.thickness_min_mm, 2),
        )

    def changed(most_mm: float) -> Spec:
        leathers = tuple(
            (name, thinned(most_mm) if name == role else one) for name, one in spec.brief.leathers
        )
        return replace(spec, brief=replace(spec.brief, leathers=leathers))

    def written(most_mm: float) -> Written:
        field = f"leathers.{role}.thickness"
        return (
            (f"{field}_min_mm", f"{thinned(most_mm).thickness_min_mm:.2f}"),
            (f"{field}_max_mm", f"{most_mm:.2f}"),
        )

    return Knob(
        name="thinner leather",
        now=leather.thickness_max_mm,
        most=max(LEAST_LEATHER_MM, LEAST_LEATHER * leather.thickness_max_mm),
        fine=0.1,
        set=changed,
        written=written,
    )

"""What would mend an article that must not be pressed: the smallest single change that passes."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, replace
from functools import partial
from typing import Any

from hidewright.catalogue.leathers import Leather
from hidewright.design.measure import file_name
from hidewright.design.specification import Specification
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.forming.solve import Warm
from hidewright.units.length import format_length
from hidewright.workshop import design_chain
from hidewright.workshop.forming_chain import press_blank
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of

#: Remarks of pressing that forbid.
MENDED = ("leather-cracks", "wall-torn", "cannot-be-pressed")
#: Measures that may be changed: the last words of their names, and which way helps.
LARGER = ("crown_radius", "corner_radius", "lip_radius")
SMALLER = ("depth",)
#: Steps from a value to the furthest it may go: far enough apart, too much may fail as well.
STEPS = 6
#: Measures are halved between what fails and what passes to this, mm or as a share.
FINE_MM, FINE_SHARE = 0.25, 0.02
#: Triangles while searching, times as wide as the standard ones.
COARSE = 1.6
#: A change that passes on wide triangles is carried on by this share until it passes on small ones.
ON = 0.15

Progress = Callable[[str], None]
Forbidding = Callable[[Specification[Any]], frozenset[tuple[str, str]] | None]
Written = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Knob:
    """One thing that may be changed.

    Attributes:
        name: What it is, for progress.
        now: Its value.
        most: How far it may go.
        fine: Down to which step it is told apart.
        set: The specification with another value.
        written: (field, value) of the design file for a value.
    """

    name: str
    now: float
    most: float
    fine: float
    set: Callable[[float], Specification[Any]]
    written: Callable[[float], Written]


def mended(
    spec: Specification[Any],
    remarks: Sequence[Remark],
    forbidding: Forbidding,
    progress: Progress = lambda _: None,
) -> tuple[Remark, ...]:
    """Return remarks with remedies for those that forbid pressing, the smallest change first.

    Each change is tried by warm solves on a coarse mesh, halving between what fails and what
    passes; what is offered passes on the standard mesh and adds nothing that forbids.

    Args:
        spec: What is judged.
        remarks: What there is to say about it.
        forbidding: (code, place) of all remarks on a specification that forbid; None when it
            cannot be made at all.
        progress: Called with words before each try; it may raise to cancel.
    """
    if not any(_to_mend(r) for r in remarks):
        return tuple(remarks)
    before = frozenset((r.code, r.place) for r in remarks if r.severity == "forbids")
    out: list[Remark] = []
    found: dict[tuple[str, str], tuple[Remedy, ...]] = {}
    for remark in remarks:
        if _to_mend(remark):
            key = (remark.code, remark.place)
            if key not in found:
                found[key] = _remedies(spec, remark, before, forbidding, progress)
            remark = replace(remark, remedies=(*remark.remedies, *found[key]))
        out.append(remark)
    return tuple(out)


def _to_mend(remark: Remark) -> bool:
    return remark.severity == "forbids" and remark.code in MENDED and not remark.remedies


def _remedies(
    spec: Specification[Any],
    remark: Remark,
    before: frozenset[tuple[str, str]],
    forbidding: Forbidding,
    progress: Progress,
) -> tuple[Remedy, ...]:
    blank = _blank_of(spec, remark.place)
    if blank is None:
        return ()
    told = frozenset({(remark.code, remark.place)})
    offers: list[tuple[float, Remedy]] = []
    for knob in _knobs(spec, remark.place):
        progress(f"whether {knob.name} would mend it")
        value = _least(knob, blank, remark)
        while value is not None:
            after = forbidding(knob.set(value))
            if after is not None and not (after - before) and not (after & told):
                (field, first), *more = knob.written(value)
                size = abs(math.log(value / knob.now)) if value > 0 and knob.now > 0 else math.inf
                offers.append((size, Remedy(field=field, value=first, also=tuple(more))))
                break
            further = _rounded(knob, value + ON * (value - knob.now))
            value = further if _within(knob, further) and further != value else None
    return tuple(remedy for _, remedy in sorted(offers, key=lambda one: one[0]))


def _least(knob: _Knob, blank: str, remark: Remark) -> float | None:
    """The smallest change that passes on wide triangles, or None when none does."""
    trial = _Trial(blank, remark)
    fails = knob.now
    for step in range(1, STEPS + 1):
        passes = knob.now + (knob.most - knob.now) * step / STEPS
        if trial.passes(knob.set(passes)):
            break
        fails = passes
    else:
        return None
    # a small change is told finer, so that half of it does not pass
    while abs(passes - fails) > min(knob.fine, max(_step(knob), abs(passes - knob.now) / 3.0)):
        middle = 0.5 * (fails + passes)
        if trial.passes(knob.set(middle)):
            passes = middle
        else:
            fails = middle
    value = _rounded(knob, passes)
    return value if _within(knob, value) else knob.most


class _Trial:
    """Presses one blank of changed specifications, each begun where the last ended."""

    def __init__(self, blank: str, remark: Remark) -> None:
        self.blank, self.code, self.place = blank, remark.code, remark.place
        self.warm: Warm | None = None

    def passes(self, spec: Specification[Any]) -> bool:
        values = _design(spec)
        if values is None:
            return False
        blanks, moulded, leathers = values
        blank = next((b for b in blanks if b.name == self.blank), None)
        if blank is None:
            return False
        try:
            pressed, remarks = press_blank(
                blank, moulded, leathers, spec.tooling.gap_factor, self.warm, COARSE
            )
        except RequestError:
            return False
        if pressed.layers:
            self.warm = pressed.layers[0].sheet.warm
        return not any(r.code in MENDED and r.severity == "forbids" for r in remarks)


def _design(spec: Specification[Any]) -> tuple[Any, Any, Any] | None:
    wanted = ("blanks", "moulded", "all leathers")
    try:
        values = evaluate(design_chain.NODES, inputs_of(spec, "A4"), wanted, Cache()).values
    except RequestError:
        return None
    if any(isinstance(values[name], Missing) for name in wanted):
        return None
    return values["blanks"], values["moulded"], values["all leathers"]


def _blank_of(spec: Specification[Any], place: str) -> str | None:
    values = _design(spec)
    if values is None:
        return None
    piece = place.partition("/")[0]
    return next(
        (b.name for b in values[0] if piece in (p.piece for p in b.places) or piece in b.over), None
    )


def _knobs(spec: Specification[Any], place: str) -> Iterator[_Knob]:
    measures = spec.brief.measures
    for one in fields(measures):
        name, about = file_name(one.name), one.metadata
        grows = name.endswith(LARGER)
        if about.get("quantity") != "length" or not (grows or name.endswith(SMALLER)):
            continue
        now = float(getattr(measures, one.name))
        if now <= 0:
            continue
        low, high = about["low"], about["high"]
        most = min(3.0 * now + 3.0, high or math.inf) if grows else max(now / 3.0, low or 0.0)
        yield _Knob(
            name=name.replace("_", " "),
            now=now,
            most=most,
            fine=FINE_MM,
            set=partial(_with_measure, spec, one.name),
            written=partial(_measure_written, name),
        )
    tooling = spec.tooling
    yield _Knob(
        name="a wider gap",
        now=tooling.gap_factor,
        most=1.6,
        fine=FINE_SHARE,
        set=lambda value: replace(spec, tooling=replace(tooling, gap_factor=value)),
        written=lambda value: (("tooling.gap_factor", f"{value:.2f}"),),
    )
    values = _design(spec)
    role = next(
        (p.role for p in (values[1] if values else ()) if p.name == place.partition("/")[0]), None
    )
    for name, leather in spec.brief.leathers:
        if name == role:
            yield _thinner(spec, name, leather)


def _measure_written(name: str, value: float) -> Written:
    return ((f"measures.{name}", format_length(value)),)


def _with_measure(spec: Specification[Any], field: str, value: float) -> Specification[Any]:
    measures = replace(spec.brief.measures, **{field: value})
    return replace(spec, brief=replace(spec.brief, measures=measures))


def _thinner(spec: Specification[Any], role: str, leather: Leather) -> _Knob:
    def thinned(most_mm: float) -> Leather:
        share = most_mm / leather.thickness_max_mm
        return replace(
            leather,
            thickness_max_mm=most_mm,
            thickness_min_mm=round(share * leather.thickness_min_mm, 2),
        )

    def changed(most_mm: float) -> Specification[Any]:
        leathers = tuple(
            (name, thinned(most_mm) if name == role else one) for name, one in spec.brief.leathers
        )
        return replace(spec, brief=replace(spec.brief, leathers=leathers))

    def written(most_mm: float) -> Written:
        field = f"leathers.{role}.thickness"
        return (
            (f"{field}_max_mm", f"{most_mm:.2f}"),
            (f"{field}_min_mm", f"{thinned(most_mm).thickness_min_mm:.2f}"),
        )

    return _Knob(
        name="thinner leather",
        now=leather.thickness_max_mm,
        most=max(0.8, 0.4 * leather.thickness_max_mm),
        fine=0.1,
        set=changed,
        written=written,
    )


def _step(knob: _Knob) -> float:
    """What a maker can set: tenths of a mm, hundredths of a share."""
    return 0.1 if knob.fine >= 0.1 else 0.01


def _rounded(knob: _Knob, value: float) -> float:
    """A value rounded away from what fails to what a maker can set."""
    step = _step(knob)
    steps = value / step
    up = math.ceil(steps - 1e-6) if value > knob.now else math.floor(steps + 1e-6)
    return round(up * step, 6)


def _within(knob: _Knob, value: float) -> bool:
    return min(knob.now, knob.most) - 1e-9 <= value <= max(knob.now, knob.most) + 1e-9

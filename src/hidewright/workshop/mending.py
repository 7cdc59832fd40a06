"""What would mend an article that must not be pressed: the smallest single change that passes."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Any

from hidewright.design.blank import Blank
from hidewright.design.piece import Piece
from hidewright.design.specification import Specification
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.forming.solved import Warm
from hidewright.workshop import design_chain
from hidewright.workshop.forming_chain import Leathers, press_blank
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.mending_knobs import Knob, Spec, Written, holds, knobs

#: Remarks of pressing that forbid.
MENDED = ("leather-cracks", "wall-torn", "cannot-be-pressed")
#: A remark of pressing that warns, and is mended by holding the flange.
PUCKERS = "flange-puckers"
#: Triangles while searching, times as wide as the standard ones.
COARSE = 1.6
#: A change that passes on wide triangles is carried on by this share until it passes on small ones.
ON = 0.15

Progress = Callable[[str], None]
#: (code, place) of remarks.
Told = frozenset[tuple[str, str]]
Forbidding = Callable[[Specification[Any]], Told | None]


def mended(
    spec: Spec,
    remarks: Sequence[Remark],
    forbidding: Forbidding,
    progress: Progress = lambda _: None,
) -> tuple[Remark, ...]:
    """Return remarks with remedies for those that forbid pressing, the smallest change first.

    A remark that none was found for says so.

    Each change is tried by warm solves on a coarse mesh, halving between what fails and what
    passes; what is offered passes on the standard mesh and adds nothing that forbids. A flange that
    puckers is no reason to forbid; it is offered to be held if that adds nothing that does.

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
            if not remark.remedies and remark.code != PUCKERS:
                said = f"{remark.sentence}; no single change that would mend it was found"
                remark = replace(remark, sentence=said)
        out.append(remark)
    return tuple(out)


def _to_mend(remark: Remark) -> bool:
    pressing = remark.severity == "forbids" and remark.code in MENDED
    return (pressing or remark.code == PUCKERS) and not remark.remedies


def _remedies(
    spec: Spec, remark: Remark, before: Told, forbidding: Forbidding, progress: Progress
) -> tuple[Remedy, ...]:
    values = _design(spec)
    if values is None:
        return ()
    blanks, pieces, _ = values
    name = remark.place.partition("/")[0]
    role = next((p.role for p in pieces if p.name == name), "")
    blank = next((b for b in blanks if name in (p.piece for p in b.places) or name in b.over), None)
    if blank is None:
        return ()

    def mends(changed: Spec) -> bool:
        after = forbidding(changed)
        return (
            after is not None and not (after - before) and (remark.code, remark.place) not in after
        )

    if remark.code == PUCKERS:
        firmer = holds(spec, blank, looser=False)
        return tuple(_remedy(one.written) for one in firmer if mends(one.spec))
    offers: list[tuple[float, Remedy]] = []
    for knob in knobs(spec, remark, blank, pieces, role):
        progress(f"whether {knob.name} would mend it")
        value = _least(knob, blank.name)
        while value is not None:
            if mends(knob.set(value)):
                offers.append((knob.size(value), _remedy(knob.written(value))))
                break
            further = knob.rounded(value + ON * (value - knob.now))
            value = further if knob.within(further) and further != value else None
    offers.sort(key=lambda one: one[0])
    return (*(remedy for _, remedy in offers), *_looser(spec, blank, mends, progress))


def _looser(
    spec: Spec, blank: Blank, mends: Callable[[Spec], bool], progress: Progress
) -> Iterator[Remedy]:
    for choice in holds(spec, blank, looser=True):
        progress(f"whether {choice.name} would mend it")
        if _Trial(blank.name).passes(choice.spec) and mends(choice.spec):
            yield _remedy(choice.written)


def _remedy(written: Written) -> Remedy:
    (field, first), *more = written
    return Remedy(field=field, value=first, also=tuple(more))


def _least(knob: Knob, blank: str) -> float | None:
    """The smallest change that passes on wide triangles, or None when none does."""
    trial = _Trial(blank)
    fails = knob.now
    for step in range(1, knob.steps + 1):
        passes = knob.now + (knob.most - knob.now) * step / knob.steps
        if trial.tries(knob, passes):
            break
        fails = passes
    else:
        return None
    # a small change is told finer, so that half of it does not pass
    while abs(passes - fails) > min(knob.fine, max(knob.step, abs(passes - knob.now) / 3.0)):
        middle = 0.5 * (fails + passes)
        if trial.tries(knob, middle):
            passes = middle
        else:
            fails = middle
    value = knob.rounded(passes)
    return value if knob.within(value) else knob.most


class _Trial:
    """Presses one blank of changed specifications, each begun where the last ended."""

    def __init__(self, blank: str) -> None:
        self.blank = blank
        self.warm: Warm | None = None

    def tries(self, knob: Knob, value: float) -> bool:
        try:
            changed = knob.set(value)
        except RequestError:
            return False
        return self.passes(changed)

    def passes(self, spec: Spec) -> bool:
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


def _design(spec: Spec) -> tuple[tuple[Blank, ...], tuple[Piece, ...], Leathers] | None:
    wanted = ("blanks", "moulded", "all leathers")
    try:
        values = evaluate(design_chain.NODES, inputs_of(spec, "A4"), wanted, Cache()).values
    except RequestError:
        return None
    if any(isinstance(values[name], Missing) for name in wanted):
        return None
    return values["blanks"], values["moulded"], values["all leathers"]

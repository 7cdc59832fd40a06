"""Remedies in the words of the design file: crafts know usual fields, kinds know their own."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from hidewright.catalogue.boards import Board
from hidewright.catalogue.shelf import Catalogue, built_in_catalogue
from hidewright.design.kinds.free_measures import FreeMeasures
from hidewright.design.kinds.registry import kind_named
from hidewright.design.piece import ZONE_DEPTH
from hidewright.design.specification import Specification
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.units.length import parse_length
from hidewright.workshop.edit import with_remedy

Spec = Specification[Any]
#: Remarks that a thinner board of the mould mends, what tells the most that a measure of it may
#: be, mm, and which.
THINNER_BOARD = {
    "hollow-shallower-than-board": ("amount", "thickness_mm"),
    "board-too-thick-for-steps": ("limit", "thickness_mm"),
    "plug-too-narrow": ("amount", "min_web_mm"),
}


def in_own_fields(remarks: Iterable[Remark], spec: Spec) -> tuple[Remark, ...]:
    """Return remarks whose remedies are changes that the design takes.

    A remedy for a field that the design does not have, or whose value is advice or outside what the
    field takes, is left out: its advice stands in the remark's sentence. Rows are taken from the
    built-in catalogue.

    Args:
        remarks: As crafts make them, with usual fields.
        spec: What they are about.
    """
    shelf = built_in_catalogue()
    out: list[Remark] = []
    for remark in remarks:
        usual = (*remark.remedies, *_thinner_board(remark, spec, shelf))
        own = (_first_taken(remedy, remark.place, spec, shelf) for remedy in usual)
        kept = tuple(remedy for remedy in own if remedy)
        out.append(remark if kept == remark.remedies else replace(remark, remedies=kept))
    return tuple(out)


def _first_taken(remedy: Remedy, place: str, spec: Spec, shelf: Catalogue) -> Remedy | None:
    """Return a remedy for the first field of the place that takes its value."""
    kind = kind_named(spec.brief.kind)
    for own in _fields(remedy, place, spec):
        try:
            changed = with_remedy(spec, own, shelf)
            if isinstance(changed.brief.measures, FreeMeasures):  # its members' limits are told so
                kind.construct(changed.brief)
        except RequestError:
            continue
        return own
    return None


def _fields(remedy: Remedy, place: str, spec: Spec) -> Iterator[Remedy]:
    if remedy.field == ZONE_DEPTH:
        remedy = _as_measure(remedy, place, spec)
    if isinstance(spec.brief.measures, FreeMeasures) and remedy.field.startswith("measures."):
        name = remedy.field.removeprefix("measures.")
        piece, _, zone = place.partition("/")
        for home in (f"pieces.{piece}.zones.{zone}", f"seams.{place}", f"blanks.{place}"):
            yield replace(remedy, field=f"measures.{home}.{name}")
        return
    for home, usual, own in kind_named(spec.brief.kind).own_fields:
        if usual == remedy.field and (not home or place == home or place.startswith(f"{home}/")):
            yield replace(remedy, field=own)
            return
    yield remedy


def _as_measure(remedy: Remedy, place: str, spec: Spec) -> Remedy:
    """Return a remedy for a zone's depth as one for the measure that the kind has for it.

    The measure changes by as much as the zone.
    """
    usual = replace(remedy, field="measures.depth")
    kind, measures = kind_named(spec.brief.kind), spec.brief.measures
    if isinstance(measures, FreeMeasures):  # its zones' depths are written as they are
        return usual
    own = next(_fields(usual, place, spec)).field.removeprefix("measures.")
    zones = {f"{p.name}/{z.name}": z for p in kind.construct(spec.brief).pieces for z in p.zones}
    deeper = parse_length(remedy.value) - zones[place].depth_mm
    return replace(usual, value=f"{getattr(measures, f'{own}_mm') + deeper:.2f} mm")


def _thinner_board(remark: Remark, spec: Spec, shelf: Catalogue) -> Iterator[Remedy]:
    """Yield the thickest board of the mould's material that is thin enough, its own sheet first."""
    told, measure = THINNER_BOARD.get(remark.code, ("", ""))
    most = getattr(remark, told, None)
    if most is None:
        return
    now = spec.tooling.mould_board

    def rank(board: Board) -> tuple[bool, float]:
        return (board.sheet_width_mm == now.sheet_width_mm, board.thickness_mm)

    alike = [b for b in shelf.boards if b.material == now.material]
    thin = [b for b in alike if b.thickness_mm <= now.thickness_mm and getattr(b, measure) <= most]
    if thin:
        yield Remedy(field="tooling.mould_board", value=max(thin, key=rank).name)

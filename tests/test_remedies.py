"""Remedies name fields that the design file has, of the place they are about."""

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.kinds.registry import KINDS, kind_named
from hidewright.errors import Remark, Remedy
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.workshop.article import check
from hidewright.workshop.begin import begin
from hidewright.workshop.graph import Cache
from hidewright.workshop.remedies import in_own_fields


def _remark(place: str, *remedies: Remedy) -> Remark:
    return Remark(code="x", severity="note", place=place, sentence="x", remedies=remedies)


def test_a_remedy_for_a_place_takes_that_places_own_field() -> None:
    box = kind_named("lidded box")
    deeper = Remedy(field="measures.depth", value="12 mm")
    lid, base = in_own_fields((_remark("lid/hollow", deeper), _remark("base/hollow", deeper)), box)
    assert lid.remedies == (Remedy(field="measures.lid_depth", value="12 mm"),)
    assert base.remedies == (deeper,)


def test_a_remedy_the_file_has_no_field_for_is_left_out_and_its_remark_kept() -> None:
    remark = _remark(
        "front",
        Remedy(field="measures.wing_span", value="12 mm"),
        Remedy(field="tooling.mould_board", value="a thinner board"),
        Remedy(field="measures.flange", value="14 mm"),
    )
    (told,) = in_own_fields((remark,), kind_named("flat-back pouch"))
    assert told.remedies == (Remedy(field="measures.flange", value="14 mm"),)


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS if kind.carries])
def test_every_remedy_of_a_new_design_can_be_written_into_its_file_and_read(kind: str) -> None:
    spec = begin(kind, built_in_catalogue())
    text = write_design(spec)
    for remark in check(spec, Cache()).remarks:
        for remedy in remark.remedies:
            section, _, field = remedy.field.partition(".")
            lines = text.splitlines()
            start = lines.index(f"{section}:")
            at = next(
                i for i, line in enumerate(lines) if i > start and line.startswith(f"  {field}: ")
            )
            lines[at] = f"  {field}: {remedy.value}"
            read_design("\n".join(lines).encode(), name="mended.yaml")

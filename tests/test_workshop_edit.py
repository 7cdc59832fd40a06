"""Edits by field and text reach just their field, and every field of every form takes its text."""

import dataclasses
import random
from collections.abc import Callable
from typing import Any, get_args

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.kinds.registry import KINDS
from hidewright.design.specification import Kind, Specification
from hidewright.errors import Remedy, RequestError
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.workshop.begin import begin
from hidewright.workshop.edit import (
    edited,
    sized_to_carry,
    with_remedy,
    with_thing,
    without_thing,
)
from hidewright.workshop.form import FormField, Stage, Unit, form_of

SHELF = built_in_catalogue()
STAGES = get_args(Stage)


def fields_of(spec: Specification[Any], unit: Unit = "mm") -> list[FormField]:
    return [f for stage in STAGES for g in form_of(spec, stage, SHELF, unit) for f in g.fields]


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
@pytest.mark.parametrize("seed", range(3))
def test_entering_what_a_field_shows_changes_nothing(
    kind: Kind[Any], seed: int, drawn: Callable[[Kind[Any], random.Random], Specification[Any]]
) -> None:
    spec = read_design(
        write_design(drawn(kind, random.Random(seed))).encode(), name="x"
    ).specification
    for field in fields_of(spec):
        same = edited(spec, field.path, field.text, SHELF)
        if field.path.endswith(".thickness"):  # a leather's is told to a hundredth
            assert edited(same, field.path, field.text, SHELF) == same
            assert [f.text for f in fields_of(same)] == [f.text for f in fields_of(spec)]
        else:
            assert same == spec, field.path


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_every_measure_of_the_kind_stands_in_exactly_one_stage(kind: Kind[Any]) -> None:
    paths = [f.path for f in fields_of(begin(kind.name, SHELF))]
    assert len(paths) == len(set(paths))
    if kind.name != "free":
        own = {p.removeprefix("measures.") for p in paths if p.startswith("measures.")}
        text = write_design(begin(kind.name, SHELF))
        written = text.split("\nmeasures:\n")[1].split("\n\n")[0]
        assert own == {line.split(":")[0].strip() for line in written.splitlines()}


@pytest.mark.parametrize("unit", ["mm", "in"])
@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_a_slider_holds_its_value_and_both_ends_can_be_entered(kind: Kind[Any], unit: Unit) -> None:
    spec = begin(kind.name, SHELF)
    for field in fields_of(spec, unit):
        if field.value is None:
            continue
        assert field.low <= field.value <= field.high, field.path
        assert field.low < field.high, field.path
        if field.path.startswith("measures."):
            for end in (field.low, field.high):
                number = f"{end:.4f} {field.unit}" if field.unit else f"{end:g}"
                edited(spec, field.path, number, SHELF)


def test_an_edit_reaches_its_field_and_no_other() -> None:
    spec = begin("flat-back pouch", SHELF)
    changed = edited(spec, "measures.lip_radius", "3 mm", SHELF)
    assert changed.brief.measures.lip_radius_mm == 3.0
    back = edited(changed, "measures.lip_radius", "2 mm", SHELF)
    assert back == spec
    lighter = edited(spec, "leathers.body.thickness", "1.2-1.3 mm", SHELF)
    row = dict(lighter.brief.leathers)["body"]
    assert (row.thickness_min_mm, row.thickness_max_mm) == (1.2, 1.3)
    assert dataclasses.replace(lighter.brief, leathers=spec.brief.leathers) == spec.brief
    own = edited(spec, "carried.1.thing.thickness", "13 mm", SHELF)
    assert own.brief.carried[0].thing.thickness_mm == 13.0
    assert own.brief.carried[0].thing.thickness_max_mm == 0.0


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("measures.depth", "900 mm"),
        ("measures.depth", "nan mm"),
        ("measures.nothing", "1 mm"),
        ("measures.closing", "glue"),
        ("measures.flap", "maybe"),
        ("tooling.gap_factor", "0.2"),
        ("tooling.dowel", "19 mm"),
        ("sewing.mark", "square"),
        ("thread", "no such thread"),
        ("leathers.lid", "x"),
        ("leathers.body", "no such leather"),
        ("leathers.body.colour", "red"),
        ("carried.0.count", "1"),
        ("carried.2.count", "1"),
        ("carried.x.count", "1"),
        ("carried.1.count", "0"),
        ("carried.1.thing.weight", "3 mm"),
        ("name", "   "),
        ("name", "x" * 81),
        ("name", "a\x00b"),
        ("measures", "1 mm"),
        ("nowhere", "1 mm"),
        ("measures.depth.more", "1 mm"),
    ],
)
def test_a_wrong_edit_is_refused_in_words_that_name_the_field(field: str, text: str) -> None:
    with pytest.raises(RequestError) as refused:
        edited(begin("flat-back pouch", SHELF), field, text, SHELF)
    assert refused.value.where.startswith(field.split(".")[0])


def test_a_member_of_a_free_design_is_reached_by_its_name() -> None:
    spec = begin("free", SHELF)
    changed = edited(spec, "measures.pieces.front.zones.hollow.depth", "14 mm", SHELF)
    assert changed.brief.measures.pieces[0].zones[0].depth_mm == 14.0
    assert changed.brief.measures.pieces[1] == spec.brief.measures.pieces[1]


def test_a_remedy_is_all_of_its_changes() -> None:
    spec = begin("flat-back pouch", SHELF)
    remedy = Remedy(field="measures.width", value="80 mm", also=(("measures.depth", "14 mm"),))
    measures = with_remedy(spec, remedy, SHELF).brief.measures
    assert (measures.width_mm, measures.depth_mm) == (80.0, 14.0)


def test_things_are_added_taken_away_and_the_hollow_is_sized_for_them() -> None:
    spec = begin("flat-back pouch", SHELF)
    card = next(row for row in SHELF.things if "bank card" in row.name)
    more = with_thing(spec, card)
    assert [c.thing for c in more.brief.carried] == [spec.brief.carried[0].thing, card]
    assert without_thing(more, 2) == spec
    assert without_thing(more, 1).brief.carried[0].thing == card
    with pytest.raises(RequestError):
        without_thing(more, 3)
    sized = sized_to_carry(more).brief.measures
    assert sized.width_mm >= card.width_mm

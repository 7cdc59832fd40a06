"""Handles found by trying: they move as they say, one a measure, whatever the kind."""

import random
from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any

import pytest

from hidewright.design.design import Design
from hidewright.design.kinds.registry import KINDS, kind_named
from hidewright.design.measure import file_name
from hidewright.design.specification import Kind, Specification
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.views.flat_view import pieces_view
from hidewright.workshop.views.handles import LEAST_GAIN, MOST_GAIN, follow, handles_of
from hidewright.workshop.views.svg_view import Handle

#: Designs a kind.
DESIGNS = 3
#: Measures are changed by these to confirm a gain, mm: not what the handles were found by.
CHANGES = (0.21, -0.13)

Drawn = Callable[[Kind[Any], random.Random], Specification[Any]]


def pouch() -> Specification[Any]:
    name = "compass-pouch.yaml"
    return read_design(demo_designs()[name], name=name).specification


def constructed(spec: Specification[Any]) -> Design:
    design: Design = kind_named(spec.brief.kind).construct(spec.brief)
    return design


def changed(spec: Specification[Any], handle: Handle, by: float) -> Specification[Any]:
    names = {f"measures.{file_name(f.name)}": f.name for f in fields(spec.brief.measures)}
    name = names[handle.field]
    value = getattr(spec.brief.measures, name) + by
    measures = replace(spec.brief.measures, **{name: value})
    return replace(spec, brief=replace(spec.brief, measures=measures))


def outline_of(design: Design, place: str) -> Outline:
    piece, _, zone = place.partition("/")
    return design.piece(piece).zone(zone).outline if zone else design.piece(piece).outline


def designs(kind: Kind[Any], drawn: Drawn) -> list[Specification[Any]]:
    draw = random.Random(f"handles of {kind.name}")
    found: list[Specification[Any]] = []
    for _ in range(20 * DESIGNS):
        spec = drawn(kind, draw)
        try:
            constructed(spec)
        except RequestError:
            continue
        found.append(spec)
        if len(found) == DESIGNS:
            break
    return found


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_a_handle_moves_by_its_gain_along_its_direction(kind: Kind[Any], drawn: Drawn) -> None:
    confirmed = 0
    for spec in designs(kind, drawn):
        handles = handles_of(spec)
        assert len({h.field for h in handles}) == len(handles), "one handle a measure"
        assert len({(h.place, h.segment, h.along) for h in handles}) == len(handles)
        for handle in handles:
            assert handle.low <= handle.value <= handle.high
            name = handle.field.removeprefix("measures.").replace("_", " ")
            assert handle.label.startswith(f"{name}: ")
            assert LEAST_GAIN <= handle.gain <= MOST_GAIN
            assert sum(v * v for v in handle.direction) == pytest.approx(1.0)
            before = outline_of(constructed(spec), handle.place).segments[handle.segment]
            assert before.point_at(handle.along * before.length) == pytest.approx(handle.at)
            for by in CHANGES:
                try:
                    after = outline_of(constructed(changed(spec, handle, by)), handle.place)
                except RequestError:
                    continue
                segment = after.segments[handle.segment]
                x, y = segment.point_at(handle.along * segment.length)
                moved = (x - handle.at[0]) * handle.direction[0] + (y - handle.at[1]) * (
                    handle.direction[1]
                )
                assert moved == pytest.approx(handle.gain * by, abs=0.02 * abs(by)), handle
                confirmed += 1
    assert confirmed or kind.name == "free"


def test_the_sides_of_a_pouch_are_dragged_by_what_a_maker_expects() -> None:
    handles = {h.field.removeprefix("measures."): h for h in handles_of(pouch())}
    m = pouch().brief.measures
    width, flange, height = handles["width"], handles["flange"], handles["height"]
    assert width.place == "front/hollow"
    assert width.gain == pytest.approx(0.5)
    assert width.direction == pytest.approx((1.0, 0.0))
    assert width.at[0] == pytest.approx(m.width_mm / 2)
    assert flange.place == "front"
    assert flange.gain == pytest.approx(1.0)
    assert flange.direction == pytest.approx((1.0, 0.0))
    assert flange.at[0] == pytest.approx(m.width_mm / 2 + m.flange_mm)
    assert height.place == "front/hollow"
    assert height.gain == pytest.approx(1.0)
    assert height.direction == pytest.approx((0.0, -1.0))
    assert handles["flap_length"].direction == pytest.approx((0.0, 1.0))
    # the tip of the strap, not the flap's shoulder
    assert handles["strap_length"].at == pytest.approx(
        (0.0, constructed(pouch()).piece("back").outline.bounds[3])
    )


@pytest.mark.parametrize("name", sorted(demo_designs()))
def test_what_is_seen_in_a_section_only_has_no_handle_on_the_flat(name: str) -> None:
    spec = read_design(demo_designs()[name], name=name).specification
    fields_told = {h.field for h in handles_of(spec)}
    for word in ("depth", "crown_radius", "lip_radius", "fold_radius"):
        assert f"measures.{word}" not in fields_told


def test_followed_handles_lie_on_the_changed_outline_with_the_changed_value() -> None:
    spec = pouch()
    handles = handles_of(spec)
    assert follow(handles, spec, constructed(spec)) == handles
    wider = changed(spec, next(h for h in handles if h.field == "measures.width"), 20.0)
    followed = follow(handles, wider, constructed(wider))
    for one, found in zip(followed, handles_of(wider), strict=True):
        assert (one.field, one.place, one.segment) == (found.field, found.place, found.segment)
        assert one.at == found.at
        assert one.direction == found.direction
        assert one.gain == pytest.approx(found.gain)
    assert next(h for h in followed if h.field == "measures.width").value == 84.5


def test_a_handle_whose_piece_is_gone_is_left_out() -> None:
    spec = pouch()
    handles = handles_of(spec)
    measures = replace(spec.brief.measures, flap=False)
    plain = replace(spec, brief=replace(spec.brief, measures=measures))
    followed = {h.field for h in follow(handles, plain, constructed(plain))}
    assert "measures.width" in followed
    assert not followed & {"measures.strap_length", "measures.flap_length"}


def test_handles_lie_on_the_drawing_where_its_lines_are() -> None:
    spec = pouch()
    values = evaluate(
        article.NODES, inputs_of(spec, "A4"), ("design", "sewn", "all leathers"), Cache()
    ).values
    design = values["design"][0]
    handles = handles_of(spec)
    view = pieces_view(design, values["sewn"][0], values["all leathers"], "mm", handles)
    left, top, width, height = view.frame
    for one, placed in zip(handles, view.handles, strict=True):
        x, y = placed.at[0] - placed.origin[0], placed.at[1] - placed.origin[1]
        assert (x, -y) == pytest.approx(one.at)
        assert placed.direction == pytest.approx((one.direction[0], -one.direction[1]))
        assert left < placed.at[0] < left + width
        assert top < placed.at[1] < top + height
        assert (placed.field, placed.gain, placed.value) == (one.field, one.gain, one.value)
    # pieces side by side have different origins
    assert len({h.origin for h in view.handles}) == len({h.place.split("/")[0] for h in handles})

"""What is made of random measures is accepted by checkers that share nothing with the makers."""

import dataclasses
import random
from typing import Any, Literal, get_args, get_origin, get_type_hints

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Arrangement, Carried
from hidewright.design.fault import Fault
from hidewright.design.kinds.registry import KINDS
from hidewright.design.specification import Kind, Specification
from hidewright.errors import Remark, RequestError
from hidewright.tooling.acceptance.carried import accept_fit
from hidewright.workshop.acceptance import faults_of_seams, faults_of_sheets, faults_of_tools
from hidewright.workshop.article import NODES
from hidewright.workshop.begin import begin
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of

SHELF = built_in_catalogue()
LEATHERS = tuple(x for x in SHELF.leathers if x.tannage == "vegetable")
MOULD_BOARDS = tuple(b for b in SHELF.boards if not b.transparent and b.material != "card")
CLEAR_BOARDS = tuple(b for b in SHELF.boards if b.transparent)
#: Faults that a remark has told the maker about, and the codes of those remarks.
TOLD = {
    "web-too-thin": (
        "stitch-holes-too-near",
        "stitch-hole-near-template-edge",
        "template-leg-narrow",
    ),
    "part-too-thin": ("template-leg-narrow",),
}
MADE = ("sewn", "mouldings", "trim templates", "pricking templates", "blocks")


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_what_is_made_of_random_measures_is_accepted(kind: Kind[Any]) -> None:
    _sweep(kind, examples=6)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_what_is_made_of_many_random_measures_is_accepted(kind: Kind[Any]) -> None:
    _sweep(kind, examples=150)


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_what_is_made_to_be_carried_lies_inside_the_dry_hollow(kind: Kind[Any]) -> None:
    _carry(kind, examples=12)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_many_things_that_are_made_to_be_carried_lie_inside_the_dry_hollow(
    kind: Kind[Any],
) -> None:
    _carry(kind, examples=400)


def _sweep(kind: Kind[Any], examples: int) -> None:
    makeable: list[bool] = []

    @settings(
        max_examples=examples,
        deadline=None,
        derandomize=True,
        database=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    @given(seed=st.integers(0, 2**32 - 1))
    def each(seed: int) -> None:
        spec = drawn(kind, random.Random(seed))
        made = _made(spec)
        makeable.append(made is not None)
        if made is not None:
            faults = [f for f in made[0] if not _is_told(f, made[1])]
            assert not faults, (seed, [f.sentence for f in faults[:5]], spec.brief.measures)

    each()
    assert sum(makeable) >= len(makeable) / 3, f"{sum(makeable)} of {len(makeable)} can be made"


def _carry(kind: Kind[Any], examples: int) -> None:
    fitted: list[bool] = []

    @settings(
        max_examples=examples,
        deadline=None,
        derandomize=True,
        database=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    @given(seed=st.integers(0, 2**32 - 1))
    def each(seed: int) -> None:
        draw = random.Random(seed)
        spec = drawn(kind, draw)
        carried = (_thing(draw),)
        try:
            measures = kind.sized_for(spec.brief.measures, carried)
            brief = dataclasses.replace(spec.brief, carried=carried, measures=measures)
            design = kind.construct(brief)
        except RequestError:
            fitted.append(False)
            return
        fitted.append(True)
        # the room that is asked for is left too: the thing grown by it is still inside
        for hollow in design.hollows:
            faults = accept_fit(hollow, carried)
            assert not faults, (seed, faults[0].sentence, carried[0].thing, measures)

    each()
    assert sum(fitted) >= len(fitted) / 3, f"{sum(fitted)} of {len(fitted)} can be carried"


def drawn(kind: Kind[Any], draw: random.Random) -> Specification[Any]:
    """Return a specification of a kind with every measure near its default, by its declaration."""
    spec = begin(kind.name, SHELF)
    hints = get_type_hints(kind.measures)
    base = spec.brief.measures
    changed = {
        f.name: _value(getattr(base, f.name), hints[f.name], f.metadata, draw)
        for f in dataclasses.fields(base)
    }
    try:
        measures = dataclasses.replace(base, **changed)
    except RequestError:
        measures = base
    tooling = dataclasses.replace(
        spec.tooling,
        mould_board=draw.choice(MOULD_BOARDS),
        template_board=draw.choice(CLEAR_BOARDS),
        gap_factor=round(draw.uniform(0.95, 1.3), 2),
        cavity_floor=draw.random() < 0.3,
    )
    leathers = tuple((role, draw.choice(LEATHERS)) for role, _ in spec.brief.leathers)
    brief = dataclasses.replace(spec.brief, measures=measures, leathers=leathers)
    return dataclasses.replace(spec, brief=brief, tooling=tooling)


def _value(default: Any, hint: Any, about: Any, draw: random.Random) -> Any:
    if get_origin(hint) is Literal:
        return draw.choice(get_args(hint))
    if hint is bool:
        return draw.random() < 0.5
    if "quantity" not in about:
        return default
    low, high = 0.6 * default, 1.6 * default
    if default == 0:
        high = draw.choice((0.0, 10.0))
    low = low if about["low"] is None else max(low, about["low"])
    high = high if about["high"] is None else min(high, about["high"])
    if hint is int:
        return draw.randint(round(low), round(high))
    return round(draw.uniform(low, high), 2) if high > low else default


def _thing(draw: random.Random) -> Carried:
    shape = draw.choice(("box", "disc", "rod"))
    if shape == "disc":
        thick = draw.uniform(5, 16)
        thing = Thing(
            name="disc",
            shape="disc",
            diameter_mm=draw.uniform(25, 90),
            thickness_mm=thick,
            edge_radius_mm=draw.uniform(0, thick / 2),
            source="drawn",
        )
    elif shape == "rod":
        wide = draw.uniform(8, 18)
        thing = Thing(
            name="rod",
            shape="rod",
            diameter_mm=wide,
            length_mm=draw.uniform(40, 120),
            edge_radius_mm=draw.uniform(0, wide / 2),
            source="drawn",
        )
    else:
        thick, wide = draw.uniform(5, 20), draw.uniform(25, 90)
        thing = Thing(
            name="box",
            shape="box",
            length_mm=draw.uniform(wide, 130),
            width_mm=wide,
            thickness_mm=thick,
            edge_radius_mm=draw.uniform(0, thick / 2),
            corner_radius_mm=draw.uniform(0, wide / 2),
            source="drawn",
        )
    arrangements: tuple[Arrangement, ...] = ("stacked", "side by side")
    return Carried(
        thing=thing,
        count=draw.choice((1, 1, 2)),
        arrangement=draw.choice(arrangements),
        side_clearance_mm=round(draw.uniform(0.0, 1.5), 1),
        depth_clearance_mm=round(draw.uniform(0.0, 1.5), 1),
    )


def _made(
    spec: Specification[Any],
) -> tuple[tuple[Fault, ...], tuple[Remark, ...]] | None:
    """Return the faults of what is made and what was remarked, or None when it cannot be made."""
    values = evaluate(NODES, inputs_of(spec, "A4"), ("design", *MADE, "sheets"), Cache()).values
    if any(isinstance(value, Missing) for value in values.values()):
        return None
    remarks = tuple(r for name in (*MADE, "sheets") for r in values[name][1])
    if any(r.severity == "forbids" for r in remarks):
        return None
    design, _ = values["design"]
    sewn, mouldings = values["sewn"][0], values["mouldings"][0]
    templates = (*values["trim templates"][0], *values["pricking templates"][0])
    blocks = values["blocks"][0]
    tooling = spec.tooling
    parts = (*(p for m in mouldings for p in m.tool.parts), *templates, *blocks)
    faults = (
        *faults_of_seams(design, sewn),
        *faults_of_tools(design, sewn, mouldings, templates, blocks, tooling),
        *faults_of_sheets(values["sheets"][0], parts),
    )
    return faults, remarks


def _is_told(fault: Fault, remarks: tuple[Remark, ...]) -> bool:
    codes = TOLD.get(fault.code, ())
    return any(
        r.code in codes and fault.part.startswith(r.place.partition("/")[0]) for r in remarks
    )

"""In the closed article mating holes coincide, and what is carried lies inside the dry hollow."""

import dataclasses
import math
import random
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from hidewright.catalogue.things import Thing
from hidewright.design.carried import Arrangement, Carried
from hidewright.design.hollow import Hollow, Shell
from hidewright.design.kinds.registry import KINDS
from hidewright.design.specification import Kind, Specification
from hidewright.design.states import DryOutline
from hidewright.errors import RequestError
from hidewright.geometry.shapes import arch
from hidewright.tooling.acceptance.carried import accept_fit
from hidewright.workshop.acceptance import faults_of_seams
from hidewright.workshop.article import NODES
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of

Drawn = Callable[[Kind[Any], random.Random], Specification[Any]]


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_mating_holes_of_random_measures_coincide_in_the_closed_article(
    kind: Kind[Any], drawn: Drawn
) -> None:
    _close(kind, drawn, examples=6)


@pytest.mark.sweep
@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_mating_holes_of_many_random_measures_coincide_in_the_closed_article(
    kind: Kind[Any], drawn: Drawn
) -> None:
    _close(kind, drawn, examples=12)


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_what_is_made_to_be_carried_lies_inside_the_dry_hollow(
    kind: Kind[Any], drawn: Drawn
) -> None:
    _carry(kind, drawn, examples=5)


@pytest.mark.sweep
@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_many_things_that_are_made_to_be_carried_lie_inside_the_dry_hollow(
    kind: Kind[Any], drawn: Drawn
) -> None:
    _carry(kind, drawn, examples=8)


@pytest.mark.parametrize(("over_mm", "fits"), [(-0.1, True), (0.1, False)])
@pytest.mark.parametrize("high_mm", [3.0, 9.0, 11.0, 12.0])
def test_a_sharp_edge_goes_as_far_out_as_the_crown_leaves_room(
    high_mm: float, over_mm: float, fits: bool
) -> None:
    wide, depth, crown = 60.0, 12.0, 4.0
    # the crown's arc, of radius r about (r, d - r) from the wall's foot, at the edge's height
    up = max(high_mm - (depth - crown), 0.0)
    inset = crown - math.sqrt(crown**2 - up**2)
    hollow = Hollow(
        name="hollow",
        outline=DryOutline(arch(wide, 90.0, 10.0)),
        shells=(Shell(depth_mm=depth, crown_radius_mm=crown), Shell(depth_mm=0, crown_radius_mm=0)),
        mouth="mouth",
    )
    box = Thing(
        name="box",
        shape="box",
        length_mm=70.0,
        width_mm=wide - 2 * inset + over_mm,
        thickness_mm=high_mm,
        source="made up",
    )
    assert (accept_fit(hollow, (Carried(thing=box),)) == ()) == fits


def _close(kind: Kind[Any], drawn: Drawn, examples: int) -> None:
    sewable: list[bool] = []

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
        values = evaluate(NODES, inputs_of(spec, "A4"), ("design", "sewn"), Cache()).values
        missing = any(isinstance(value, Missing) for value in values.values())
        if missing or any(r.severity == "forbids" for r in values["sewn"][1]):
            sewable.append(False)
            return
        sewable.append(True)
        design = values["design"][0]
        faults = faults_of_seams(
            design.pieces, design.seams, design.assembly, design.leathers, values["sewn"][0]
        )
        assert not faults, (seed, [f.sentence for f in faults[:5]], spec.brief.measures)

    each()
    assert sum(sewable) >= len(sewable) / 3, f"{sum(sewable)} of {len(sewable)} can be sewn"


def _carry(kind: Kind[Any], drawn: Drawn, examples: int) -> None:
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

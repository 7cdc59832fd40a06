"""What is made of random measures is accepted by checkers that share nothing with the makers."""

import random
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from hidewright.design.fault import Fault
from hidewright.design.kinds.registry import KINDS
from hidewright.design.specification import Kind, Specification
from hidewright.errors import Remark
from hidewright.workshop.acceptance import FAULTS, untold
from hidewright.workshop.article import NODES
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of

Drawn = Callable[[Kind[Any], random.Random], Specification[Any]]

#: All that parts are cut for, and the seams.
MADE = (
    "sewn",
    *(n for node in NODES if node.name == "sheets" for n in node.needs if n != "boards"),
)


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_what_is_made_of_random_measures_is_accepted(kind: Kind[Any], drawn: Drawn) -> None:
    _sweep(kind, drawn, examples=6, looked_at=1)


@pytest.mark.slow
@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_what_is_made_of_more_random_measures_is_accepted(kind: Kind[Any], drawn: Drawn) -> None:
    _sweep(kind, drawn, examples=6, looked_at=2)


@pytest.mark.sweep
@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_what_is_made_of_many_random_measures_is_accepted(kind: Kind[Any], drawn: Drawn) -> None:
    _sweep(kind, drawn, examples=8, looked_at=3)


def _sweep(kind: Kind[Any], drawn: Drawn, examples: int, looked_at: int) -> None:
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
        if sum(makeable) == looked_at:
            return
        spec = drawn(kind, random.Random(seed))
        made = _made(spec)
        makeable.append(made is not None)
        if made is not None:
            faults = untold(*made)
            assert not faults, (seed, [f.sentence for f in faults[:5]], spec.brief.measures)

    each()
    assert sum(makeable) >= len(makeable) / 3, f"{sum(makeable)} of {len(makeable)} can be made"


def _made(
    spec: Specification[Any],
) -> tuple[tuple[Fault, ...], tuple[Remark, ...]] | None:
    """Return the faults of what is made and what was remarked, or None when it cannot be made."""
    values = evaluate(
        NODES, inputs_of(spec, "A4"), ("design", *MADE, "sheets", *FAULTS), Cache()
    ).values
    if any(isinstance(value, Missing) for value in values.values()):
        return None
    remarks = tuple(r for name in (*MADE, "sheets") for r in values[name][1])
    if any(r.severity == "forbids" for r in remarks):
        return None
    return tuple(fault for name in FAULTS for fault in values[name]), remarks

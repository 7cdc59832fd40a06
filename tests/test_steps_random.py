"""Steps of random designs of every kind: they can be done, and nothing is left out."""

import random
from collections import Counter
from collections.abc import Callable
from typing import Any, get_args

import pytest

from hidewright.design.design import Design
from hidewright.design.kinds.registry import KINDS
from hidewright.design.piece import EdgeFinish
from hidewright.design.specification import Kind, Specification
from hidewright.design.step import Step, must_be_in_order
from hidewright.planning.steps_choice import BenchChoice
from hidewright.workshop import article
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of

Drawn = Callable[[Kind[Any], random.Random], Specification[Any]]
NODES = article.NODES
CHOICES: dict[str, tuple[Any, ...]] = {
    "dye": ("none", "before moulding", "pieces", "assembled"),
    "dye_base": ("spirit", "water"),
    "edges": get_args(EdgeFinish),
    "glue": ("water-based", "contact"),
    "new": (True, False),
}


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_steps_of_random_measures_can_be_done_and_leave_nothing(
    kind: Kind[Any], drawn: Drawn
) -> None:
    _sweep(kind, drawn, designs=1)


@pytest.mark.sweep
@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.name)
def test_steps_of_many_random_measures_can_be_done(kind: Kind[Any], drawn: Drawn) -> None:
    _sweep(kind, drawn, designs=6)


def _sweep(kind: Kind[Any], drawn: Drawn, designs: int) -> None:
    looked_at, cache = 0, Cache()
    for seed in range(8 * designs):
        draw = random.Random(f"{kind.name} {seed}")
        inputs = inputs_of(drawn(kind, draw), "A4")
        for _ in range(4):
            choice = {name: draw.choice(values) for name, values in CHOICES.items()}
            bench = BenchChoice(**choice, paint_coats=draw.randint(1, 4), colour="black")
            wanted = ("steps", "design")
            values = evaluate(NODES, {**inputs, "bench": bench}, wanted, cache).values
            if isinstance(values["steps"], Missing):
                break
            _must_hold(values["steps"], values["design"][0], bench)
        else:
            looked_at += 1
        if looked_at == designs:
            return
    assert looked_at, "no design of this kind could be made"


def _must_hold(steps: tuple[Step, ...], design: Design, bench: BenchChoice) -> None:
    must_be_in_order(steps)
    before: dict[str, set[str]] = {}
    for step in steps:
        before[step.name] = set(step.after).union(*(before[name] for name in step.after))
    assert before["pack"] == {s.name for s in steps} - {"pack"}
    work = Counter((s.work, s.place_kind, s.place) for s in steps)
    for seam in design.seams:
        assert work["sew", "seam", seam.name] == 1
    for blank in design.blanks:
        for kind in ("cut blank", "soak", "press", "open the mould", "unmould"):
            assert work[kind, "blank", blank.name] == 1
    moulded = {name for b in design.blanks for name in (*(p.piece for p in b.places), *b.over)}
    for piece in design.pieces:
        cuts = ("cut piece",) if piece.name not in moulded else ("trim", "cut at height")
        assert sum(work[kind, "piece", piece.name] for kind in cuts) >= 1
        assert work["cut the mouth", "piece", piece.name] == sum(
            bool(z.mouths) for z in piece.zones
        )
        assert work["punch", "piece", piece.name] == bool(piece.holes)
        dyed = work["dye", "piece", piece.name]
        leather = design.leather(piece.role)
        here = bench.dye == "pieces" or (
            bench.dye == "before moulding" and piece.name not in moulded
        )
        loose = piece.role == "lining" and not any(
            e.piece == piece.name for s in design.seams for e in s.edges
        )
        assert dyed == (here and leather.tannage == "vegetable" and not loose)
    assert work["dye", "article", design.name] == (bench.dye == "assembled")
    for step in steps:
        for hold in step.holds:  # what takes a station is done before what frees it
            assert hold.until == step.name or step.name in before[hold.until]
        assert not any(
            word.isdigit() for word in step.name.replace("middle ", "middle-").split()
        ) or (step.place in step.name)

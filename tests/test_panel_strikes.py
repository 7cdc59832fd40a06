"""A folded panel must not pass through raised leather: by closed forms, and on every kind."""

import math
import re
from dataclasses import replace
from typing import Any

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.design import Design
from hidewright.design.kinds.free import FREE
from hidewright.design.kinds.free_measures import (
    FreeBlank,
    FreeFold,
    FreeMeasures,
    FreePiece,
    FreeZone,
)
from hidewright.design.kinds.registry import kind_named
from hidewright.design.strikes import GIVES_MM, strike_remarks
from hidewright.errors import Remark
from hidewright.geometry.shapes import circle, rectangle
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop.begin import begin

SHELF = built_in_catalogue()
DEPTH = 6.0


def folded(*folds: FreeFold, depth: float = DEPTH) -> Design:
    """A boss of radius 12 about the origin on a piece 80 wide, from 25 below it to 155 above."""
    boss = FreeZone(name="boss", outline=circle(12.0).renamed(lambda _: "rim"), depth_mm=depth)
    front = FreePiece(
        name="front", outline=rectangle(80.0, 180.0).moved(0.0, 65.0), zones=(boss,), folds=folds
    )
    measures = FreeMeasures(
        pieces=(front,),
        seams=(),
        blanks=(FreeBlank(name="blank", pieces=("front",)),),
        hollows=(),
    )
    return FREE.construct(replace(begin("free", SHELF).brief, measures=measures))


def leather(design: Design) -> float:
    return dict(design.leathers)["body"].thickness_mm


def told(design: Design) -> list[Remark]:
    return [note for note in design.notes if note.code == "panel-strikes"]


def over(radius: float, y: float = 40.0) -> FreeFold:
    """A flap folded flat over the grain side, its fold above the boss."""
    return FreeFold(
        name="over", line=((-40.0, y), (40.0, y)), angle_rad=-math.pi, inside_radius_mm=radius
    )


def test_a_flap_folded_flat_strikes_by_what_the_hollow_stands_higher_than_it() -> None:
    """Its inside lies 2 r over the flange's grain face, the raised face a depth over it."""
    for radius in (0.5, 1.5, 2.5):
        (strike,) = told(folded(over(radius)))
        assert strike.place == "front/boss"
        assert strike.amount == pytest.approx(DEPTH - 2 * radius, abs=0.01)


def test_the_inside_radius_that_is_told_clears_it_and_a_little_less_does_not() -> None:
    (strike,) = told(folded(over(1.0)))
    found = re.search(r"fold over an inside radius of at least ([\d.]+) mm", strike.sentence)
    assert found is not None
    assert float(found[1]) == pytest.approx(DEPTH / 2, abs=0.1)
    assert not told(folded(over(float(found[1]))))
    assert told(folded(over(float(found[1]) - GIVES_MM / 2 - 0.05)))


def test_a_flap_that_ends_beside_the_boss_or_folds_to_the_flesh_strikes_nothing() -> None:
    # from y = 100 on it lies back to y = 45, and the boss ends at 12
    assert not told(folded(over(1.0, y=100.0)))
    assert not told(folded(replace(over(1.0), angle_rad=math.pi)))


def test_two_folds_leave_room_by_the_distance_between_them() -> None:
    """Two right angles: what is told to lie between them more clears the boss."""

    def design(between: float) -> Design:
        square = {"angle_rad": -math.pi / 2, "inside_radius_mm": 1.0}
        return folded(
            *(
                FreeFold(name=name, line=((-40.0, y), (40.0, y)), **square)
                for name, y in (("lower", 40.0), ("upper", 40.0 + between))
            )
        )

    (strike,) = told(design(4.5))
    found = re.search(r"folds at least ([\d.]+) mm further apart", strike.sentence)
    assert found is not None
    assert told(design(4.5 + float(found[1]) - 0.5))
    assert not told(design(4.5 + float(found[1]) + 0.1))


def test_a_wall_stood_up_in_the_boss_is_told_how_much_further_off_it_must_fold() -> None:
    def standing(y: float) -> list[Remark]:
        fold = FreeFold(
            name="up", line=((-40.0, y), (40.0, y)), angle_rad=-math.pi / 2, inside_radius_mm=1.0
        )
        return told(folded(fold, depth=12.0))

    # the bent strip itself keeps clear of the zone, so it is a wall that leans back that strikes
    leaning = FreeFold(
        name="up",
        line=((-40.0, 20.0), (40.0, 20.0)),
        angle_rad=-math.radians(130.0),
        inside_radius_mm=1.0,
    )
    (strike,) = told(folded(leaning, depth=12.0))
    found = re.search(r"fold it at least ([\d.]+) mm further", strike.sentence)
    assert found is not None
    away = 20.0 + float(found[1]) + 0.1
    assert not standing(20.0)
    assert not told(folded(replace(leaning, line=((-40.0, away), (40.0, away))), depth=12.0))


@pytest.mark.parametrize("name", sorted(demo_designs()))
def test_no_panel_of_the_demo_strikes(name: str) -> None:
    spec: Any = read_design(demo_designs()[name], name=name).specification
    design = kind_named(spec.brief.kind).construct(spec.brief)
    of = {role: one.thickness_mm for role, one in design.leathers}
    thickness_of = {piece.name: of[piece.role] for piece in design.pieces}
    assert not list(strike_remarks(design.pieces, design.assembly, thickness_of))

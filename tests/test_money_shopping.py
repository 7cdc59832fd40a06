"""The shopping list: packs that cover what is short, and not one more."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.prices import Price
from hidewright.costing.needs import Material, Needs, ToolSet, Use
from hidewright.costing.shopping import shopping
from hidewright.costing.workshop_rates import WorkshopRates

SMALL = st.floats(0.001, 20.0)


def price(kind: Any, name: str, unit: Any, amount: float = 1.0) -> Price:
    return Price(name=name, kind=kind, price="3.00 EUR", amount=amount, unit=unit, source="test")


@settings(max_examples=80)
@given(
    each=SMALL,
    stock=st.floats(0, 500),
    batch=st.integers(1, 60),
    pack=st.sampled_from([1, 25, 500]),
)
def test_packs_cover_what_is_short_and_not_one_more(
    each: float, stock: float, batch: int, pack: int
) -> None:
    use = Use(what="seam", kind="thread", name="thread", quantity=each, unit="m")
    needs = Needs(materials=(Material(group="consumables", use=use),), tools=(), steps=())
    rates = WorkshopRates(rejects=0.2)
    rows = (price("thread", "thread", "m", pack),)
    (one,) = shopping(needs, rates, rows, batch, {"thread": stock})
    assert one.needed == pytest.approx(each * batch / 0.8, rel=1e-3)
    assert one.packs is not None
    assert one.packs * pack + stock >= one.needed - 1e-6
    assert one.packs == 0 or (one.packs - 1) * pack + stock < one.needed
    assert one.cost_minor == 300 * one.packs


def test_what_has_no_price_is_listed_all_the_same() -> None:
    use = Use(what="front", kind="leather", name="own", quantity=0.02, unit="m2", articles=2)
    tools = ToolSet(
        name="moulds",
        wears_as="mould",
        sheets=(Use(what="tools", kind="board", name="MDF", quantity=1.5, unit="sheet"),),
        minutes=1.0,
    )
    needs = Needs(materials=(Material(group="leather", use=use),), tools=(tools,), steps=())
    rates = WorkshopRates(rejects=0.0, leather_yield=0.5)
    leather, board = shopping(needs, rates, (price("board", "MDF", "sheet"),), 10, {})
    assert (leather.packs, leather.cost_minor) == (None, 0)
    assert leather.needed == pytest.approx(0.02 * 10 / 2 / 0.5)
    assert (board.needed, board.packs) == (1.5, 2)
    (named, _) = shopping(needs, rates, (), 10, {}, {"own": 0.25})
    assert named.needed == pytest.approx(0.02 * 10 / 2 / 0.25)

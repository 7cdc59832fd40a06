"""Cost sheet, ladder, quote, ledger and shopping list of every demo article, to the cent."""

from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from coarse_cache import CACHE
from hidewright.catalogue.prices import Price, built_in_prices, price_of
from hidewright.costing.charges import Shop, batch_costs, charges_of
from hidewright.costing.exact import whole
from hidewright.costing.ledger import totals
from hidewright.costing.quote import QuoteManner, quote_for
from hidewright.costing.shopping import shopping
from hidewright.costing.unpriced import UnpricedError, unpriced
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.customer_order import CustomerOrder
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.money.price import priced

EXAMPLES = sorted(p.stem for p in Path("examples").glob("*.yaml"))
MATERIALS = ("leather", "lining", "consumables", "fittings")
DAY = date(2026, 3, 2)
BATCH = 12
#: With a tax, a fee and an ending, so that every rounding there is takes part.
RATES = WorkshopRates(tax=0.19, sales_fee=0.065, rejects=0.05)
YIELDS = (("vegetable-tanned shoulder 1.4-1.6 mm", 0.71),)


def spec_of(name: str) -> Any:
    path = Path("examples") / f"{name}.yaml"
    return read_design(path.read_bytes(), name=path.name).specification


@pytest.mark.parametrize("name", EXAMPLES)
def test_cost_sheet_ladder_quote_ledger_and_shopping_list_agree_to_the_cent(name: str) -> None:
    spec, prices = spec_of(name), built_in_prices()
    told = priced(spec, RATES, prices, BATCH, CACHE, yields=YIELDS)
    cost, price = told.cost, told.asked
    assert sum(line.batch_minor for line in cost.lines) == cost.total_minor
    assert sum(line.each_minor for line in cost.lines) == cost.each_minor == price.cost_minor
    assert told.ladder[BATCH - 1].batch == BATCH
    assert told.ladder[BATCH - 1].asked == price

    order = CustomerOrder(
        customer="Northmere Museum",
        design="d",
        article=spec.brief.name,
        quantity=BATCH,
        received=DAY,
        currency=cost.currency,
        price_minor=price.gross_minor,
        status="agreed",
    )
    quote = quote_for(order, "2026-001", DAY, QuoteManner(), RATES)
    (item,) = quote.items
    assert (item.net_minor, item.tax_minor) == (price.net_minor, price.tax_minor)
    (row,) = totals([order])
    assert row.promised_minor == quote.total_minor == BATCH * price.gross_minor

    inputs = {**inputs_of(spec, "A4"), "rates": RATES}
    needs = evaluate(article.NODES, inputs, ("needs",), CACHE).values["needs"]
    wanted = shopping(needs, RATES, prices, BATCH, {}, dict(YIELDS))
    used = sum(
        Fraction(one.needed) * price_of(prices, one.kind, one.name).minor_each
        for one in wanted
        if one.kind != "board"
    )
    shop = Shop(rates=RATES, prices=prices, yields=dict(YIELDS))
    charges = [one for one in charges_of(needs, shop) if one.group in MATERIALS]
    assert whole(Fraction(used)) == whole(batch_costs(charges, RATES, (BATCH,))[0])
    for one in wanted:
        pack = price_of(prices, one.kind, one.name)
        assert one.packs is not None
        assert one.cost_minor == one.packs * pack.money.minor
        assert (one.packs - 1) * one.pack < one.needed <= one.packs * one.pack * (1 + 1e-9)


def test_every_material_without_a_price_is_named_at_once_and_an_own_price_mends_it() -> None:
    spec = spec_of("compass-pouch")
    leathers = tuple(
        (role, replace(leather, name=f"own {role}")) for role, leather in spec.brief.leathers
    )
    thread = replace(spec.brief.thread, name="ramie 0.7 mm")
    own = replace(spec, brief=replace(spec.brief, leathers=leathers, thread=thread))
    prices = built_in_prices()
    with pytest.raises(UnpricedError, match=r"'own body' and the thread 'ramie 0.7 mm'") as refused:
        priced(own, RATES, prices, BATCH, CACHE)
    missing = refused.value.missing
    assert [(one.kind, one.name, one.used_by) for one in missing] == [
        ("leather", "own body", "m2"),
        ("thread", "ramie 0.7 mm", "m"),
    ]
    assert missing[0].units == ("m2", "dm2", "ft2")
    bought = (
        Price(name="own body", kind="leather", price="9 EUR", unit="ft2", source="invented"),
        Price(
            name="ramie 0.7 mm", kind="thread", price="8 EUR", amount=50, unit="m", source="same"
        ),
    )
    told = priced(own, RATES, (*prices, *bought), BATCH, CACHE)
    thread_line = next(line for line in told.cost.lines if line.unit == "m")
    assert thread_line.batch_minor == pytest.approx(16 * thread_line.quantity, abs=1.0)
    leather = next(x for x in told.cost.lines if x.group == "leather" and "waste" not in x.what)
    foot = 0.3048**2
    assert leather.batch_minor == pytest.approx(900 * leather.quantity / foot, abs=1.0)
    inputs = {**inputs_of(own, "A4"), "rates": RATES}
    needs = evaluate(article.NODES, inputs, ("needs",), CACHE).values["needs"]
    assert unpriced(needs, (*prices, *bought)) == ()
    assert {(one.kind, one.name) for one in unpriced(needs, ())} == _names(needs)


def _names(needs: Any) -> set[tuple[str, str]]:
    uses = [one.use for one in needs.materials] + [u for t in needs.tools for u in t.sheets]
    return {(use.kind, use.name) for use in uses}

"""What a batch costs: lines that add up, set-up shared, and a ladder that never rises."""

from dataclasses import fields, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.prices import Price
from hidewright.costing.asking import asked
from hidewright.costing.charges import (
    Shop,
    WhatIf,
    batch_costs,
    charges_of,
    made,
    minute_cost,
    times,
)
from hidewright.costing.cost import GROUPS, Cost, cost_of
from hidewright.costing.exact import exact, whole
from hidewright.costing.ladder import BATCHES, break_even, economic_batch, ladder
from hidewright.costing.minutes import faster_by, minutes_of
from hidewright.costing.needs import Material, Needs, ToolSet, Use
from hidewright.costing.tornado import tornado
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.step import Hold, Step
from hidewright.errors import RequestError
from hidewright.units.money import Money

SOURCE = "invented for this test"
PRICES = (
    Price(name="hide", kind="leather", price="80 EUR", unit="m2", source=SOURCE),
    Price(name="cord", kind="thread", price="13 EUR", amount=100, unit="m", source=SOURCE),
    Price(name="board", kind="board", price="3.70 EUR", unit="sheet", source=SOURCE),
    Price(name="stud", kind="fitting", price="31 EUR", amount=100, unit="piece", source=SOURCE),
)
PLAIN = WorkshopRates(learning=1.0, breaks=0.0, rejects=0.0)


def step(name: str, load: float, thing: float, **more: Any) -> Step:
    return Step(
        name=name,
        work=name,
        place_kind="article",
        place="it",
        how="Do it.",
        load_minutes=load,
        thing_minutes=thing,
        source=SOURCE,
        **more,
    )


def uses(area_m2: float = 0.04, thread_m: float = 1.5, serves: int = 1) -> tuple[Material, ...]:
    hide = Use(
        what="blank", kind="leather", name="hide", quantity=area_m2, unit="m2", articles=serves
    )
    cord = Use(what="rim", kind="thread", name="cord", quantity=thread_m, unit="m")
    stud = Use(what="stud", kind="fitting", name="stud", quantity=1, unit="piece")
    return (
        Material(group="leather", use=hide),
        Material(group="consumables", use=cord),
        Material(group="fittings", use=stud),
    )


MOULD = ToolSet(
    name="mould",
    wears_as="mould",
    sheets=(Use(what="tools", kind="board", name="board", quantity=1.5, unit="sheet"),),
    minutes=90.0,
    articles=2,
)
NEEDS = Needs(
    materials=uses(),
    tools=(MOULD,),
    steps=(
        step("sew", 2.0, 20.0),
        step("press", 1.0, 4.0, holds=(Hold(station="plug", of="blank", until="press"),)),
        step("dye", 5.0, 3.0, load_limit=6),
        step("measure", 5.0, 15.0, first_off=True),
    ),
)


def exact_each(needs: Needs, rates: WorkshopRates, batch: int) -> Fraction:
    charges = charges_of(needs, Shop(rates=rates, prices=PRICES, yields={}))
    return batch_costs(charges, rates, (batch,))[0] / batch


RATES = st.builds(
    WorkshopRates,
    pay_per_hour=st.builds(Money, minor=st.integers(0, 10_000), currency=st.just("EUR")),
    overhead_a_year=st.builds(Money, minor=st.integers(0, 10**7), currency=st.just("EUR")),
    utilisation=st.floats(0.1, 1.0),
    breaks=st.floats(0.0, 0.5),
    learning=st.floats(0.7, 1.0),
    times_hold_at=st.integers(1, 50),
    rejects=st.floats(0.0, 0.5),
    leather_yield=st.floats(0.2, 1.0),
    mould_pressings=st.integers(1, 500),
    moulds_of_each=st.integers(1, 4),
)
LOADS = st.floats(0.0, 30.0)
STEPS = st.lists(
    st.builds(
        lambda load, thing, limit, serves, once: (load, thing, limit, serves, once),
        LOADS,
        LOADS,
        st.none() | st.integers(1, 10),
        st.integers(1, 3),
        st.booleans(),
    ),
    max_size=5,
).map(
    lambda rows: tuple(
        step(f"work {i}", load, thing, load_limit=limit, articles=serves, first_off=once)
        for i, (load, thing, limit, serves, once) in enumerate(rows)
    )
)
ANY_NEEDS = st.builds(
    lambda area, thread, serves, steps: Needs(
        materials=uses(area, thread, serves), tools=(MOULD,), steps=steps
    ),
    st.floats(0.0, 1.0),
    st.floats(0.0, 20.0),
    st.integers(1, 3),
    STEPS,
)


@settings(max_examples=50, deadline=None)
@given(ANY_NEEDS, RATES, st.integers(1, 150))
def test_lines_add_up_to_totals_to_the_cent(needs: Needs, rates: WorkshopRates, batch: int) -> None:
    cost = cost_of(needs, rates, PRICES, batch)
    each = exact_each(needs, rates, batch)
    assert cost.total_minor == whole(each * batch)
    assert cost.each_minor == whole(each)
    groups = [cost.group_minor(group) for group in GROUPS]
    assert sum(b for b, _ in groups) == sum(line.batch_minor for line in cost.lines)
    assert sum(e for _, e in groups) == sum(line.each_minor for line in cost.lines)
    assert [line.group for line in cost.lines] == sorted(
        (line.group for line in cost.lines), key=GROUPS.index
    )
    assert len({(line.group, line.what) for line in cost.lines}) == len(cost.lines)
    for line in cost.lines:
        assert abs(line.batch_minor - batch * line.each_minor) <= batch + 1


@settings(max_examples=20, deadline=None)
@given(ANY_NEEDS, RATES)
def test_a_ladder_never_rises_and_its_rungs_are_the_cost_sheets(
    needs: Needs, rates: WorkshopRates
) -> None:
    rungs = ladder(needs, rates, PRICES)
    assert [rung.batch for rung in rungs] == list(BATCHES) == list(range(1, 121))
    for one, two in pairwise(rungs):
        assert two.asked.cost_minor <= one.asked.cost_minor
        assert two.asked.gross_minor <= one.asked.gross_minor
    for rung in rungs[::17]:
        assert rung.asked.cost_minor == cost_of(needs, rates, PRICES, rung.batch).each_minor


@pytest.mark.parametrize("learning", [1.0, 0.9])
def test_with_set_up_or_learning_a_ladder_falls_at_every_rung(learning: float) -> None:
    rates = replace(PLAIN, learning=learning)
    costs = [exact_each(NEEDS, rates, n) for n in BATCHES]
    assert all(two < one for one, two in pairwise(costs))


def test_without_set_up_and_learning_a_ladder_is_level() -> None:
    needs = replace(NEEDS, steps=(step("sew", 0.0, 20.0),))
    assert len({exact_each(needs, PLAIN, n) for n in BATCHES}) == 1


@pytest.mark.parametrize("batch", [1, 4, 30])
@pytest.mark.parametrize("rejects", [0.0, 0.05, 0.5])
def test_a_good_article_bears_its_share_of_set_up_and_of_what_cannot_be_sold(
    batch: int, rejects: float
) -> None:
    """(s / n + u) / y, set-up s shared over the batch n, share y good."""
    rates = replace(PLAIN, rejects=rejects)
    needs = Needs(materials=uses(), tools=(), steps=(step("sew", 12.0, 20.0),))
    minute = minute_cost(Shop(rates=rates, prices=PRICES, yields={}))
    hide = Fraction(8000 * 4, 100) / Fraction(7, 10)
    unit = hide + Fraction(13 * 15, 10) + 31 + 20 * minute
    good = 1 - Fraction(str(rejects))
    assert exact_each(needs, rates, batch) == (12 * minute / batch + unit) / good


def test_an_hour_costs_drawings_and_overhead_over_effective_hours() -> None:
    rates = WorkshopRates(paid_hours_a_year=1500, utilisation=0.6)
    drawings = 1800 * 1500
    hour = 60 * minute_cost(Shop(rates=rates, prices=(), yields={}))
    assert rates.effective_hours == 900
    assert hour == Fraction(drawings + 600_000, 900)


@settings(max_examples=50, deadline=None)
@given(ANY_NEEDS, RATES, st.integers(1, 60))
def test_every_minute_is_paid_with_its_break_and_bears_overhead(
    needs: Needs, rates: WorkshopRates, batch: int
) -> None:
    minutes = sum((m.total for m in minutes_of(needs.steps, rates, batch)), Fraction(0))
    shop = Shop(rates=rates, prices=PRICES, yields={})
    work = [one for one in charges_of(needs, shop) if one.group in ("labour", "overhead")]
    good = 1 - exact(rates.rejects)
    assert batch_costs(work, rates, (batch,)) == (minutes * minute_cost(shop) / good,)
    paid = [one for one in work if one.group == "labour"]
    assert batch_costs(paid, rates, (batch,)) == (minutes * rates.pay_per_minute / good,)


def test_waste_is_what_the_hide_loses_beside_the_pieces() -> None:
    cost = cost_of(NEEDS, PLAIN, PRICES, 10, {"hide": 0.8})
    used, waste = (line for line in cost.lines if line.group == "leather")
    assert [used.quantity, waste.quantity] == pytest.approx([0.4, 0.1])
    assert (used.batch_minor, waste.batch_minor) == (3200, 800)
    assert used.quantity / (used.quantity + waste.quantity) == pytest.approx(0.8)
    half = cost_of(NEEDS, PLAIN, PRICES, 10, {"hide": 0.8}, WhatIf(waste=0.5))
    assert [line.batch_minor for line in half.lines if line.group == "leather"] == [3200, 400]


@pytest.mark.parametrize("share", [0.0, -0.1, 1.1])
def test_a_yield_is_a_share(share: float) -> None:
    with pytest.raises(RequestError, match="of a hide in pieces"):
        cost_of(NEEDS, PLAIN, PRICES, 10, {"hide": share})


def test_a_blank_for_two_is_cut_once_for_one_and_in_halves_beyond() -> None:
    needs = Needs(materials=uses(0.05, serves=2), tools=(), steps=())
    areas = {
        n: next(line.quantity for line in cost_of(needs, PLAIN, PRICES, n).lines)
        for n in (1, 2, 3, 4)
    }
    assert areas == pytest.approx({1: 0.05, 2: 0.05, 3: 0.075, 4: 0.1})


def test_minutes_are_set_up_for_loads_and_hands_on_for_things() -> None:
    rates = replace(PLAIN, breaks=0.1, moulds_of_each=2)
    told = {one.step: one for one in minutes_of(NEEDS.steps, rates, 12)}
    loads_and_things = {
        "sew": (2, 240),  # all in one load
        "press": (6, 48),  # two moulds: six loads
        "dye": (10, 36),  # six in the booth: two loads
        "measure": (20, 0),  # once
    }
    assert {k: [m.set_up, m.hands_on] for k, m in told.items()} == {
        k: list(minutes) for k, minutes in loads_and_things.items()
    }
    for one in told.values():
        assert one.breaks == (one.set_up + one.hands_on) / 10
        assert one.total == one.set_up + one.hands_on + one.breaks


def test_only_hands_on_time_learns_by_wrights_rule() -> None:
    rates = replace(PLAIN, learning=0.8, times_hold_at=4)
    one, double, half = ({m.step: m for m in minutes_of(NEEDS.steps, rates, n)} for n in (4, 8, 2))
    assert one["sew"].hands_on == 80
    assert float(double["sew"].hands_on / 8) == pytest.approx(0.8 * 20, rel=1e-5)
    assert float(half["sew"].hands_on / 2) == pytest.approx(20 / 0.8, rel=1e-5)
    assert one["sew"].set_up == double["sew"].set_up == half["sew"].set_up == 2


def test_tools_wear_straight_over_their_life() -> None:
    shop = Shop(rates=replace(PLAIN, mould_pressings=50), prices=PRICES, yields={})
    sheets, work = made(MOULD, shop)
    assert sheets == Fraction(370 * 3, 2)
    assert work == 90 * minute_cost(shop)
    cost = cost_of(NEEDS, shop.rates, PRICES, 100)  # a pressing serves two: 100 wear it out
    (wear,) = (line for line in cost.lines if line.group == "tooling")
    assert (wear.quantity, wear.batch_minor) == (100, whole(sheets + work))
    (tools,) = cost.tools
    assert tools.made_minor == cost.tooling_minor == whole(sheets + work)
    assert tools.lasts == 100
    assert cost.wear_minor == wear.each_minor == whole((sheets + work) / 100)
    once = replace(MOULD, wears_as="template")
    told = cost_of(replace(NEEDS, tools=(once,)), shop.rates, PRICES, 100)
    assert told.tools[0].lasts == shop.rates.template_uses == 500


#: Rates that can only make an article dearer when they grow, and those that make it cheaper.
DEARER = (
    "pay_per_hour",
    "overhead_a_year",
    "breaks",
    "rejects",
    "margin",
    "sales_fee",
    "sales_fee_fixed",
    "box",
    "tax",
)
CHEAPER = ("paid_hours_a_year", "utilisation", "leather_yield", "mould_pressings", "moulds_of_each")


def price_minor(needs: Needs, rates: WorkshopRates, prices: tuple[Price, ...], n: int) -> int:
    return asked(cost_of(needs, rates, prices, n).each_minor, rates).gross_minor


def grown(value: Any, by: float) -> Any:
    if isinstance(value, Money):
        return Money(minor=value.minor + round(100 * by), currency=value.currency)
    return value + max(1, round(by)) if isinstance(value, int) else min(value + by / 20, 0.9)


@settings(max_examples=20, deadline=None)
@given(ANY_NEEDS, RATES, st.integers(1, 60), st.floats(0.1, 3.0))
def test_the_price_never_falls_when_a_cost_rises(
    needs: Needs, rates: WorkshopRates, batch: int, by: float
) -> None:
    rates = replace(rates, margin=0.3, utilisation=min(rates.utilisation, 0.6))
    rates = replace(rates, leather_yield=min(rates.leather_yield, 0.7))
    before = price_minor(needs, rates, PRICES, batch)
    for name in DEARER:
        more = replace(rates, **{name: grown(getattr(rates, name), by)})
        assert price_minor(needs, more, PRICES, batch) >= before, name
    for name in CHEAPER:
        value = getattr(rates, name)
        more = replace(
            rates,
            **{name: value * (1 + by / 10)} if isinstance(value, float) else {name: value + 1},
        )
        assert price_minor(needs, more, PRICES, batch) <= before, name
    for i, row in enumerate(PRICES):
        dear = replace(row, price=f"{row.money.minor / 100 * (1 + by):.2f} EUR")
        prices = (*PRICES[:i], dear, *PRICES[i + 1 :])
        assert price_minor(needs, rates, prices, batch) >= before, row.name
    for i, one in enumerate(needs.steps):
        slow = replace(
            one, load_minutes=one.load_minutes + by, thing_minutes=one.thing_minutes + by
        )
        steps = (*needs.steps[:i], slow, *needs.steps[i + 1 :])
        assert price_minor(replace(needs, steps=steps), rates, PRICES, batch) >= before


@settings(max_examples=50, deadline=None)
@given(ANY_NEEDS, RATES, st.lists(st.integers(1, 60), min_size=1, max_size=4))
def test_a_batch_costs_the_sum_of_its_charges_as_often_as_they_are_borne(
    needs: Needs, rates: WorkshopRates, batches: list[int]
) -> None:
    charges = charges_of(needs, Shop(rates=rates, prices=PRICES, yields={}))
    good = 1 - exact(rates.rejects)
    assert batch_costs(charges, rates, batches) == tuple(
        sum((c.cost * times(c, n, faster_by(rates, n)) for c in charges), Fraction(0)) / good
        for n in batches
    )


def test_what_moves_the_price_moves_it_in_proportion() -> None:
    """Without fees and rejects a change of the price is that of the cost over 1 - margin."""
    free = Money(minor=0, currency="EUR")
    rates = replace(PLAIN, margin=0.5, sales_fee=0.0, sales_fee_fixed=free, box=free)
    needs = replace(NEEDS, tools=())
    swings = {one.cause: one for one in tornado(needs, rates, PRICES, 10, by=0.2)}
    cost = cost_of(needs, rates, PRICES, 10)
    leather = cost.group_minor("leather")[1]
    waste = next(line for line in cost.lines if "waste" in line.what).each_minor
    hours = cost.group_minor("labour")[1] + cost.group_minor("overhead")[1]
    for cause, share in (
        ("leather", leather),
        ("waste", waste),
        ("minutes", hours),
        ("rate", hours),
    ):
        assert swings[cause].width_minor == pytest.approx(2 * 0.4 * share, abs=6), cause
    middle = 2 * cost.each_minor
    assert {one.low_minor + one.high_minor for one in swings.values()} <= set(
        range(2 * middle - 8, 2 * middle + 9)
    )


def test_a_tornado_names_every_cause_widest_first() -> None:
    swings = tornado(NEEDS, WorkshopRates(), PRICES, 10)
    assert {one.cause for one in swings} == {field.name for field in fields(WhatIf)}
    widths = [one.width_minor for one in swings]
    assert widths == sorted(widths, reverse=True)
    assert min(widths) > 0


def test_tools_are_paid_when_so_many_are_sold_and_not_one_sooner() -> None:
    rates = WorkshopRates(margin=0.1)
    cost = cost_of(NEEDS, rates, PRICES, 10)
    price = asked(cost.each_minor, rates)
    n = break_even(cost, price)
    assert n is not None
    assert n > 1
    gives = price.net_minor - price.fee_minor - price.box_minor - cost.each_minor + cost.wear_minor
    assert (n - 1) * gives < cost.tooling_minor <= n * gives


def test_tools_are_never_paid_at_a_price_that_leaves_nothing() -> None:
    cost = cost_of(NEEDS, PLAIN, PRICES, 10)
    price = replace(asked(cost.each_minor, PLAIN), profit_minor=-cost.wear_minor)
    assert break_even(cost, price) is None
    assert break_even(replace(cost, tools=()), replace(price, profit_minor=1)) == 0


def test_the_economic_batch_weighs_set_up_against_holding() -> None:
    rates = replace(PLAIN, sold_a_year=200, holding=0.25)
    cost: Cost = cost_of(NEEDS, rates, PRICES, 10)
    set_up = float((2 + 1 + 5 + 20) * minute_cost(Shop(rates=rates, prices=(), yields={})))
    n = economic_batch(NEEDS, rates, cost)
    assert n is not None
    assert 200 / n * set_up == pytest.approx(n / 2 * 0.25 * cost.each_minor, rel=1e-9)


def test_what_costs_nothing_has_no_markup_and_no_economic_batch() -> None:
    free = Money(minor=0, currency="EUR")
    rates = replace(PLAIN, box=free, sales_fee=0.0, sales_fee_fixed=free)
    nothing = Needs(materials=(), tools=(), steps=())
    cost = cost_of(nothing, rates, PRICES, 10)
    assert cost.total_minor == cost.each_minor == 0
    price = asked(0, rates)
    assert price.gross_minor == 90
    assert price.margin == 1
    assert price.markup is None
    assert economic_batch(nothing, rates, cost) is None


@pytest.mark.parametrize("batch", [0, -3])
def test_a_batch_of_nothing_is_refused(batch: int) -> None:
    for costed in (cost_of, tornado):
        with pytest.raises(RequestError, match=f"a batch of {batch}"):
            costed(NEEDS, PLAIN, PRICES, batch)


def test_money_is_never_exchanged_and_units_never_guessed() -> None:
    hide, *others = PRICES
    pounds = replace(hide, price="80 GBP")
    with pytest.raises(RequestError, match="is in GBP, the rates are in EUR"):
        cost_of(NEEDS, PLAIN, (pounds, *others), 10)
    by_piece = replace(hide, unit="piece")
    with pytest.raises(RequestError, match=r"is by piece.*used by m2.*m2, dm2, ft2"):
        cost_of(NEEDS, PLAIN, (by_piece, *others), 10)


def test_what_ifs_multiply_what_they_name() -> None:
    def groups(what_if: WhatIf) -> dict[str, Fraction]:
        shop = Shop(rates=PLAIN, prices=PRICES, yields={}, what_if=what_if)
        sums: dict[str, Fraction] = {}
        for one in charges_of(replace(NEEDS, tools=()), shop):
            sums[one.group] = sums.get(one.group, Fraction(0)) + one.cost
        return sums

    usual = groups(WhatIf())
    assert groups(WhatIf(leather=1.5)) == usual | {"leather": usual["leather"] * Fraction(3, 2)}
    for name in ("minutes", "rate"):
        changed = groups(WhatIf(**{name: 1.5}))
        hours = {key: usual[key] * Fraction(3, 2) for key in ("labour", "overhead")}
        assert changed == usual | hours
    assert groups(WhatIf(waste=0.0))["leather"] == usual["leather"] * exact(0.7)
    with pytest.raises(RequestError, match="waste is -1"):
        WhatIf(waste=-1)

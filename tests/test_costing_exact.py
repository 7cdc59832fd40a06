"""Exact sums, prices with an ending, and what a price list refuses."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.catalogue.prices import Price, built_in_prices, own_price, price_of, with_prices
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.costing.asking import asked, ending_in
from hidewright.costing.exact import allocated, exact, whole
from hidewright.costing.margin import price_at_margin
from hidewright.costing.workshop_rates import SUMS, WorkshopRates
from hidewright.errors import RequestError
from hidewright.units.money import Money

AMOUNTS = st.fractions(min_value=-1000, max_value=100_000, max_denominator=10_000)


@settings(deadline=None)
@given(st.lists(AMOUNTS, max_size=60))
def test_allocated_parts_add_up_to_the_whole_and_none_is_off_by_a_cent(
    amounts: list[Fraction],
) -> None:
    parts = allocated(amounts)
    assert sum(parts) == whole(sum(amounts, Fraction(0)))
    assert all(abs(part - amount) < 1 for part, amount in zip(parts, amounts, strict=True))


@settings(deadline=None)
@given(st.lists(st.integers(-1000, 100_000), max_size=20))
def test_amounts_that_are_whole_already_are_left_alone(amounts: list[int]) -> None:
    assert allocated([Fraction(a) for a in amounts]) == tuple(amounts)


def test_the_largest_remainders_are_rounded_up() -> None:
    thirds = [Fraction(10, 3), Fraction(11, 3), Fraction(12, 3), Fraction(14, 3)]
    assert allocated(thirds) == (3, 4, 4, 5)  # 47/3 is 16 whole; two remainders of 2/3 go up


@settings(deadline=None)
@given(st.floats(0, 1e6))
def test_exact_is_within_half_a_millionth(value: float) -> None:
    assert abs(exact(value) - Fraction(value)) <= Fraction(1, 2_000_000) + Fraction(value) / 2**52
    assert (exact(value) * 1_000_000).denominator == 1


@settings(deadline=None)
@given(
    st.fractions(min_value=0, max_value=10**7, max_denominator=1000),
    st.integers(1, 2000),
    st.data(),
)
def test_a_price_ends_as_wanted_and_is_the_least_not_below(
    price: Fraction, step: int, data: st.DataObject
) -> None:
    ending = data.draw(st.integers(0, step - 1))
    found = ending_in(price, step, ending)
    assert found % step == ending
    assert price <= found < price + step


@settings(deadline=None)
@given(
    st.integers(0, 10**7),
    st.floats(0, 0.6),
    st.floats(0, 0.3),
    st.floats(0, 0.5),
)
def test_where_the_money_goes_adds_up_and_the_margin_is_kept(
    cost: int, margin: float, fee: float, tax: float
) -> None:
    rates = WorkshopRates(margin=margin, sales_fee=fee, tax=tax)
    price = asked(cost, rates)
    assert price.gross_minor % 100 == 90
    assert price.gross_minor - price.tax_minor == (
        price.cost_minor + price.box_minor + price.fee_minor + price.profit_minor
    )
    assert price.box_minor == 120
    # each of price before tax and fee is off by half a cent at most
    assert price.profit_minor >= price.net_minor * exact(margin) - 1
    assert abs(price.tax_minor - price.net_minor * exact(tax)) <= 1


def test_a_fee_is_paid_out_of_the_price_and_not_out_of_the_margin() -> None:
    price = price_at_margin(Fraction(4290), Fraction(1, 5), Fraction(1, 20), Fraction(30))
    assert price == Fraction(4320, 1) / Fraction(3, 4)
    assert price - price / 20 - 30 - 4290 == price / 5


@pytest.mark.parametrize("fee", [0.3, 0.35])
def test_margin_and_fee_cannot_take_the_whole_price(fee: float) -> None:
    with pytest.raises(RequestError, match="take the whole price"):
        asked(1000, WorkshopRates(margin=0.7, sales_fee=fee))


def test_every_row_of_the_catalogue_has_a_demo_price_that_says_so() -> None:
    shelf, prices = built_in_catalogue(), built_in_prices()
    for leather in shelf.leathers:
        assert price_of(prices, "leather", leather.name).used_by == "m2"
    for board in shelf.boards:
        card = board.material == "card"
        used_by = price_of(prices, "board", "card" if card else board.name).used_by
        assert used_by == ("m2" if card else "sheet")
    for thread in shelf.threads:
        assert price_of(prices, "thread", thread.name).used_by == "m"
    for fitting in shelf.fittings:
        assert price_of(prices, "fitting", fitting.name).used_by == "piece"
    for magnet in shelf.magnets:
        assert price_of(prices, "magnet", magnet.name).used_by == "piece"
    assert {row.source for row in prices} == {"demo, invented"}
    assert {row.money.currency for row in prices} == {"EUR"}


def test_a_square_foot_is_929_0304_cm2_and_packs_are_shared_out() -> None:
    foot = Price(name="hide", kind="leather", price="9.29 EUR", unit="ft2", source="x")
    assert foot.minor_each == 929 / (Fraction(9290304, 10**8))
    spool = Price(name="thread", kind="thread", price="12.50 EUR", amount=100, unit="m", source="x")
    assert spool.minor_each == Fraction(125, 10)
    kilo = Price(name="glue", kind="consumable", price="14 EUR", unit="kg", source="x")
    assert kilo.minor_each == Fraction(14, 10)


def test_own_prices_take_the_place_of_built_in_ones() -> None:
    own = own_price({"name": "MDF 6 mm", "kind": "board", "price": "3.10 EUR", "unit": "sheet"})
    new = own_price({"name": "my board", "kind": "board", "price": "2 EUR", "unit": "sheet"})
    prices = with_prices(built_in_prices(), (own, new))
    assert len(prices) == len(built_in_prices()) + 1
    assert price_of(prices, "board", "MDF 6 mm").money == Money(minor=310, currency="EUR")
    assert price_of(prices, "board", "my board").source == "the maker's own row"
    with pytest.raises(RequestError, match="two prices for the board 'my board'"):
        with_prices(built_in_prices(), (new, new))


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"price": 3.0}, "names no currency.* 3.00 EUR"),
        ({"price": "-1 EUR"}, "negative"),
        ({"price": "3 EURO"}, "not a three-letter currency code"),
        ({"unit": "acre"}, "Choose one of: m2, dm2, ft2"),
        ({"amount": 0.0}, "more than 0"),
        ({"colour": "red"}, "has no 'colour'"),
    ],
)
def test_a_price_that_is_none_is_refused(row: dict[str, object], said: str) -> None:
    good: dict[str, object] = {"name": "x", "kind": "board", "price": "3 EUR", "unit": "sheet"}
    own_price(good)
    with pytest.raises(RequestError, match=said):
        own_price(good | row)


def test_a_missing_price_is_not_guessed() -> None:
    with pytest.raises(RequestError, match=r"no price for the board 'MDF 6'.*MDF 6 mm"):
        price_of(built_in_prices(), "board", "MDF 6")


def test_every_rate_says_where_it_comes_from() -> None:
    fields = WorkshopRates.__dataclass_fields__.values()
    for field in fields:
        source = field.metadata["says"].rpartition("; ")[2]
        known = ("demo, invented", "common practice, no source", "from memory")
        assert source in (*known, "a glue maker's sheet"), field.name
    assert len(SUMS) == 6


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"box": Money(minor=1, currency="GBP")}, "box in GBP, pay_per_hour in EUR"),
        ({"box": Money(minor=-1, currency="EUR")}, "box of -0.01 EUR"),
        ({"ending": Money(minor=100, currency="EUR")}, "ending must be less than the step"),
        ({"utilisation": 0.0}, "utilisation of 0 %"),
        ({"rejects": 1.0}, "rejects of 100 %"),
    ],
)
def test_rates_that_cannot_be_are_refused(changed: dict[str, object], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        WorkshopRates(**changed)  # type: ignore[arg-type]

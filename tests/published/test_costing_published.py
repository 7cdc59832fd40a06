"""Costing held against figures worked by others, and against identities.

Job cost sheet: a cost accounting textbook (anyflip.com/ouwsq/xiqe, job cost sheet no. 21): prime
cost 3000; overhead 5 x 20, 10 x 50 and 10 % of prime cost; selling 10 % of production cost; 4290.
Markup and margin: calcreal.com, markup; mathondemand.com. Wright's table: an online textbook's
learning table, page 324, 80 %, first lot 100 hours. (Its printed total of 254.76 for the last eight
is a slip for 655.36 - 409.60 = 245.76.) Order quantity: slides with worked examples
(document-sharing site, 714381472).
"""

from fractions import Fraction
from itertools import pairwise

import pytest

from hidewright.costing.asking import asked
from hidewright.costing.exact import whole
from hidewright.costing.learning import mean_time
from hidewright.costing.margin import markup_of, price_at_margin
from hidewright.costing.order_quantity import order_quantity
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.units.money import Money

NOTHING = Money(minor=0, currency="EUR")
CENT = Money(minor=1, currency="EUR")


def job_cost_minor() -> int:
    prime = Fraction(3000)
    production = prime + 5 * 20 + 10 * 50 + prime / 10
    assert production == 3900
    return whole(100 * (production + production / 10))


def test_the_textbook_job_costs_4290_and_sells_at_5362_50_for_a_margin_of_a_fifth() -> None:
    bare = WorkshopRates(
        margin=0.20,
        sales_fee=0.0,
        sales_fee_fixed=NOTHING,
        box=NOTHING,
        tax=0.0,
        round_to=CENT,
        ending=NOTHING,
    )
    price = asked(job_cost_minor(), bare)
    assert price.cost_minor == 4290_00
    assert price.gross_minor == price.net_minor == 5362_50
    assert price.profit_minor == 1072_50
    assert price.margin == Fraction(1, 5)


def test_the_same_job_at_a_markup_of_a_fifth_sells_at_5148() -> None:
    margin = Fraction(1, 6)
    assert markup_of(margin) == Fraction(1, 5)
    assert price_at_margin(Fraction(4290), margin) == 5148


@pytest.mark.parametrize(
    ("cost", "margin", "price", "markup"),
    [
        (40, Fraction(1, 3), 60, Fraction(1, 2)),  # 40 with 50 % on top is 60: margin 33.33 %
        (50, Fraction(1, 2), 100, Fraction(1)),  # 50 at a margin of 50 % is 100: markup 100 %
    ],
)
def test_markup_is_on_the_cost_and_margin_on_the_price(
    cost: int, margin: Fraction, price: int, markup: Fraction
) -> None:
    assert price_at_margin(Fraction(cost), margin) == price
    assert markup_of(margin) == markup == Fraction(price - cost, cost)


@pytest.mark.parametrize("percent", range(0, 95, 5))
def test_price_at_a_margin_is_cost_with_its_markup(percent: int) -> None:
    margin, cost = Fraction(percent, 100), Fraction(1234, 7)
    markup = markup_of(margin)
    assert price_at_margin(cost, margin) == cost * (1 + markup)
    assert markup / (1 + markup) == margin


@pytest.mark.parametrize(
    ("count", "mean", "total"),
    [(1, 100.0, 100.0), (2, 80.0, 160.0), (4, 64.0, 256.0), (8, 51.2, 409.6), (16, 40.96, 655.36)],
)
def test_wrights_curve_of_80_percent(count: int, mean: float, total: float) -> None:
    one = mean_time(0.8, Fraction(100), count)
    assert float(one) == pytest.approx(mean, abs=1e-4)
    assert float(count * one) == pytest.approx(total, abs=2e-3)


def test_wrights_second_piece_takes_60_hours_not_80() -> None:
    """80 would be Crawford's curve, in which the last piece follows the power law."""
    totals = [n * mean_time(0.8, Fraction(100), n) for n in range(1, 5)]
    singles = [float(b - a) for a, b in pairwise(totals)]
    assert singles == pytest.approx([60.0, 50.63, 45.37], abs=0.01)


@pytest.mark.parametrize(
    ("wanted", "set_up", "holding", "quantity"),
    [
        (1000, 10, Fraction(1, 2), 200.0),
        (1000, 150, Fraction(5, 2), 346.4),
        (19_500, 25, Fraction(4), 493.7),
    ],
)
def test_order_quantity_of_worked_examples(
    wanted: int, set_up: int, holding: Fraction, quantity: float
) -> None:
    found = order_quantity(Fraction(wanted), Fraction(set_up), holding)
    assert found == pytest.approx(quantity, abs=0.05)
    # setting up and holding then cost the same, and together least
    assert wanted / found * set_up == pytest.approx(found / 2 * float(holding), rel=1e-12)


def test_the_first_example_orders_five_times_a_year_every_fifty_days() -> None:
    quantity = order_quantity(Fraction(1000), Fraction(10), Fraction(1, 2))
    assert 1000 / quantity == 5
    assert 250 / 5 == 50  # working days in the example's year
    assert (1000 / quantity * 10, quantity / 2 * 0.5) == (50, 50)

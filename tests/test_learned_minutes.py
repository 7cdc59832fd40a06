"""How long hands are likely to take: closed forms of sums of lognormals made linear; plans."""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime

import numpy as np
import pytest

from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.prices import built_in_prices
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.costing.asking import Asked, asked
from hidewright.costing.charges import AS_IT_IS
from hidewright.costing.cost import cost_of
from hidewright.costing.minutes import minutes_of
from hidewright.costing.needs import Needs
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.bench_reading import BenchReading
from hidewright.design.customer_order import CustomerOrder
from hidewright.design.step import Rest, Step
from hidewright.learning.quantities import EXPONENT
from hidewright.planning.batch_problem import Recipe
from hidewright.planning.calendar import DAY
from hidewright.planning.hands import Hands
from hidewright.planning.schedule import Budget
from hidewright.planning.workshop import Means, Workshop
from hidewright.workshop.batch.likely import (
    SLOWLY,
    minutes_by_work,
    slow_batch,
    slowly_promised,
    with_likely,
)
from hidewright.workshop.batch.promise import promised
from hidewright.workshop.batch.week import Batch, plan_batch
from hidewright.workshop.learned import NOTHING, LearnedShelf, learned_shelf
from hidewright.workshop.learned_foretold import by_catalogue
from hidewright.workshop.learned_minutes import (
    Likely,
    hands_belief,
    hands_on_range,
    likely_price,
    slowed,
)

NORMAL_95 = 1.6448536269514722
RATES = WorkshopRates()
LEATHER = "vegetable-tanned shoulder 1.4-1.6 mm"
TAN: Leather = find(built_in_catalogue().leathers, LEATHER)


def step(name: str, work: str, minutes: float, **more: object) -> Step:
    return Step(
        name=name,
        work=work,
        how="",
        place="case",
        place_kind="piece",
        thing_minutes=minutes,
        source="made up",
        **more,  # type: ignore[arg-type]
    )


def timed(*readings: tuple[str, float, float, int]) -> LearnedShelf:
    """What minutes at the bench tell: (work, minutes, foretold, articles)."""
    rows = {
        str(k): BenchReading(
            what="minutes", subject=work, value=value, of=of, count=count, day=date(2026, 3, k + 1)
        )
        for k, (work, value, of, count) in enumerate(readings)
    }
    return learned_shelf(rows, built_in_catalogue(), {}, RATES)


def test_minutes_of_several_works_have_the_spread_of_their_sum() -> None:
    """Each factor lognormal of s = 0.3, alone: the sum has 0.3 sqrt(sum m^2) / sum m."""
    told = hands_on_range({"sew": 60.0, "trim": 20.0, "dye": 10.0}, RATES)
    share = 0.3 * math.sqrt(60.0**2 + 20.0**2 + 10.0**2) / 90.0
    assert told.likely == 90.0
    # slopes are those of straight lines between a tenth of a logarithm either way
    assert math.log(told.high / 90.0) == pytest.approx(NORMAL_95 * share, rel=4e-3)
    assert math.log(90.0 / told.low) == pytest.approx(NORMAL_95 * share, rel=4e-3)


def test_readings_narrow_the_minutes_of_their_own_work_and_no_other() -> None:
    shelf = timed(*(("sew", 50.0, 50.0, 10) for _ in range(6)))
    before, after = (hands_belief(("sew", "trim"), RATES, one) for one in (NOTHING, shelf))
    i, j = before.place("minutes sew"), before.place("minutes trim")
    # six readings of a tenth against 0.3: 1 / s^2 = 1 / 0.3^2 + 6 / 0.1^2 where the batch is usual
    assert after.deviations[i] == pytest.approx((1 / 0.09 + 600.0) ** -0.5, rel=1e-3)
    assert after.deviations[j] == before.deviations[j] == pytest.approx(0.3)
    assert after.mean[i] == 0.0  # the steps are reckoned with the own minutes already
    assert np.linalg.eigvalsh(after.spread).min() > 0.0
    wide, narrow = (hands_on_range({"sew": 60.0}, RATES, one) for one in (NOTHING, shelf))
    assert narrow.high - narrow.low < 0.2 * (wide.high - wide.low)


def needs(*steps: Step) -> Needs:
    return Needs(materials=(), tools=(), steps=steps)


def priced(some: Needs, batch: int = 10) -> tuple[Asked, Likely]:
    cost = cost_of(some, RATES, built_in_prices(), batch)
    price = asked(cost.each_minor, RATES)
    return price, likely_price(some, RATES, built_in_prices(), batch, {}, AS_IT_IS, price)


def test_a_price_that_is_all_one_work_is_as_doubtful_as_that_work() -> None:
    some = needs(step("sew it", "sew", 200.0))
    price, told = priced(some)
    minutes = float(sum(one.total for one in minutes_of(some.steps, RATES, 10))) / 10
    assert told.minutes.likely == pytest.approx(minutes)
    # at the batch for which the times hold the curve has no say
    assert math.log(told.minutes.high / minutes) == pytest.approx(NORMAL_95 * 0.3, rel=0.02)
    assert told.price.likely == pytest.approx(price.gross_minor)
    assert told.price.low < price.gross_minor < told.price.high
    # fixed shares of the price (box, fixed fee) make it a little less doubtful than the minutes
    assert 0.8 < math.log(told.price.high / told.price.likely) / (NORMAL_95 * 0.3) <= 1.01


def test_the_curve_is_doubted_beside_the_batch_for_which_the_times_hold() -> None:
    some = needs(step("sew it", "sew", 200.0))
    _, usual = priced(some)
    _, one = priced(some, batch=1)
    exponent = -math.log2(RATES.learning)
    at_one = exponent * EXPONENT.spread * math.log(RATES.times_hold_at)
    wide = math.log(one.minutes.high / one.minutes.likely)
    assert wide == pytest.approx(NORMAL_95 * math.hypot(0.3, at_one), rel=0.05)
    assert wide > math.log(usual.minutes.high / usual.minutes.likely)


def test_steps_are_slowed_by_their_own_work_alone() -> None:
    steps = (step("a", "sew", 10.0, load_minutes=4.0), step("b", "trim", 6.0))
    one, two = slowed(steps, {"sew": 1.5})
    assert (one.thing_minutes, one.load_minutes, two) == (15.0, 6.0, steps[1])


def batch(steps: Sequence[Step], count: int = 4) -> Batch:
    order = CustomerOrder(
        customer="Fen Naturalists",
        design="case",
        article="Case",
        quantity=count,
        received=date(2026, 3, 1),
        status="agreed",
    )
    hands = Hands(name="Wren", week=(((540, 720),),) * 5 + ((), ()))
    return Batch(
        orders={"o": order},
        articles={"case": "Case"},
        recipes=(Recipe(design="case", colour="natural", steps=tuple(steps), first_off=()),),
        workshop=Workshop(hands=(hands,), means=(Means(design="case", proven=True),)),
        now=datetime(2026, 3, 2, 8, 0),  # noqa: DTZ001 - the wall's clock
    )


WORK = (
    step("sew it", "sew", 40.0),
    step(
        "mould it",
        "open the mould",
        5.0,
        after=("sew it",),
        rest=Rest(what="drying on the plug", least_minutes=600),
    ),
    step("trim it", "trim", 10.0, after=("mould it",)),
)


def test_a_slow_batch_is_as_slow_as_one_in_twenty_of_hands_and_drying_together() -> None:
    """Two equal lognormal doubts: each at 1.645 / sqrt 2 deviations, both together at 1.645."""
    slow = slow_batch(batch(WORK), {"sew": 40.0}, (TAN,))
    (recipe,) = slow.recipes
    by = math.exp(NORMAL_95 / math.sqrt(2.0) * 0.3)
    assert recipe.steps[0].thing_minutes == pytest.approx(40.0 * by, rel=4e-3)
    dry = recipe.steps[1].rest
    assert dry is not None
    assert dry.least_minutes == math.ceil(600 * math.exp(NORMAL_95 / math.sqrt(2.0) * 0.35))
    glued = step("glue", "glue", 1.0, rest=Rest(what="glue setting", least_minutes=60))
    assert slow_batch(batch((glued,)), {"glue": 1.0}, (TAN,)).recipes[0].steps[0].rest == glued.rest


def test_a_plan_tells_its_minutes_with_their_range_and_when_slow_orders_are_ready() -> None:
    some = batch(WORK)
    plan = plan_batch(some, budget=Budget(rounds=2))
    assert plan is not None
    minutes = minutes_by_work(plan, some)
    assert minutes == pytest.approx({"sew": 160.0, "open the mould": 20.0, "trim": 40.0})
    told = with_likely(plan, some, (TAN,))
    assert replace(told, notes=plan.notes) == plan
    hands, *late = told.notes
    # 220 min times e to the power of 1.645 x 0.3 sqrt(160^2 + 20^2 + 40^2) / 220, either way
    assert hands == "Hands-on work of this plan: 3 h 40 min, likely 2 h 32 min to 5 h 19 min."
    slow = plan_batch(slow_batch(some, minutes, (TAN,)), budget=Budget(rounds=2))
    assert slow is not None
    (ready,), (slowly,) = (one.orders for one in (plan, slow))
    assert slowly.ready // DAY > ready.ready // DAY  # else the case tells nothing
    (note,) = late
    day = date.fromordinal(slow.monday.toordinal() + slowly.ready // DAY)
    assert f"likely by {day:%A} {day.day} {day:%B}, {SLOWLY}" in note


def test_a_plan_of_what_is_done_foretells_nothing() -> None:
    some = batch(WORK)
    plan = plan_batch(some, budget=Budget(rounds=1))
    assert plan is not None
    done = replace(plan, tasks=tuple(replace(one, state="done") for one in plan.tasks))
    assert with_likely(done, some, (TAN,)) == done


def test_a_promise_tells_the_day_if_it_goes_slowly() -> None:
    some = batch(WORK)
    order = some.orders["o"]
    alone = replace(some, orders={})
    told = promised(alone, order, budget=Budget(rounds=2))
    slow = slowly_promised(told, alone, order, (TAN,))
    assert slow.slow_day is not None
    assert slow.slow_day > slow.day == told.day
    assert f", likely by {slow.slow_day:%A}" in slow.words
    assert "likely" not in told.words


def test_a_time_told_by_own_values_teaches_what_the_catalogues_time_teaches() -> None:
    """Foretold by own values that are right, what is read is what was foretold.

    Taken as if the catalogue had foretold it, it would pull what was learned back to the catalogue.
    """
    shelf = timed(*(("sew", 75.0, 50.0, 10) for _ in range(8)))
    (hands,) = shelf.about
    factor = hands.own["minutes sew"]
    assert factor > 1.35
    typed = BenchReading(
        what="minutes", subject="sew", value=50.0 * factor, of=50.0 * factor, day=date(2026, 4, 1)
    )
    kept = by_catalogue(typed, shelf)
    assert kept.of == pytest.approx(50.0)
    assert kept.value == typed.value
    assert by_catalogue(typed, NOTHING) == typed
    trim = replace(typed, subject="trim")
    assert by_catalogue(trim, shelf) == trim


def test_drying_hours_told_by_own_values_are_taken_back_to_the_catalogues() -> None:
    rows = {
        str(k): BenchReading(
            what="drying hours", subject=LEATHER, value=7.0, of=10.0, day=date(2026, 3, 1)
        )
        for k in range(4)
    }
    shelf = learned_shelf(rows, built_in_catalogue(), {}, RATES)
    own = shelf.about[0].own["drying_hours"]
    typed = replace(rows["0"], of=10.0 * own / TAN.drying_hours)
    assert by_catalogue(typed, shelf).of == pytest.approx(10.0)

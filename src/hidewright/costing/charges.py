"""Charges: what each thing costs whenever it is done, and how many articles it is done for.

Materials as measured, with the hide's waste; tools as they wear; minutes by what an hour is paid;
overhead by the minute at the bench.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from hidewright.catalogue.checks import must_not_be_negative
from hidewright.catalogue.prices import WORTH, Price, price_of
from hidewright.costing.exact import exact
from hidewright.costing.minutes import faster_by, step_times, times_done
from hidewright.costing.needs import Material, MaterialGroup, Needs, ToolSet, Use
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.errors import RequestError
from hidewright.units.money import Money

Group = Literal[MaterialGroup, "tooling", "labour", "overhead", "rejects"]
#: How often something is done: articles that once serves, and whether it goes faster in time.
Often = tuple[int | None, bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """Factors on what moves a cost most.

    Attributes:
        leather: On the prices of leather and lining.
        minutes: On every minute at the bench.
        waste: On what is wasted of a hide for what is used.
        rate: On the hour: pay and overhead.
    """

    leather: float = 1.0
    minutes: float = 1.0
    waste: float = 1.0
    rate: float = 1.0

    def __post_init__(self) -> None:
        must_not_be_negative("what if", **asdict(self))


AS_IT_IS = WhatIf()


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """What something costs whenever it is done.

    Attributes:
        group: Under which heading it is listed.
        what: In words; charges of one name are one line.
        unit: In what it is counted.
        quantity: How much each time.
        cost: What that costs, in the smallest coin, exact.
        serves: Articles it is done for; None for once a batch.
        learns: Whether it grows less with the batch, as hands-on time does.
    """

    group: Group
    what: str
    unit: str
    quantity: Fraction
    cost: Fraction
    serves: int | None = 1
    learns: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """The workshop that is reckoned for.

    Attributes:
        rates: What it reckons with.
        prices: Of materials, in its currency.
        yields: Share of a hide in pieces as cut, by leather, where a layout is known.
        what_if: Factors to try.
    """

    rates: WorkshopRates
    prices: Sequence[Price]
    yields: Mapping[str, float]
    what_if: WhatIf = AS_IT_IS


def charges_of(needs: Needs, shop: Shop) -> tuple[Charge, ...]:
    """Return all charges of an article that is begun.

    Raises:
        RequestError: When a price is missing, in another currency or for another unit, or a yield
            is no share.
    """
    return (
        *(charge for one in needs.materials for charge in _material(one, shop)),
        *(_wear(tools, shop) for tools in needs.tools),
        *_work(needs, shop),
    )


def batch_costs(
    charges: Iterable[Charge], rates: WorkshopRates, batches: Iterable[int]
) -> tuple[Fraction, ...]:
    """Return what batches of good articles cost, exact.

    With a share r of rejects, what one good article costs is (s / n + u) / (1 - r): set-up s is
    shared over the batch n, u is what each takes. Charges that are done equally often are summed
    first, and all is counted in one small fraction of a coin: whole numbers until the end.
    """
    sums: dict[Often, Fraction] = {}
    for one in charges:
        often = one.serves, one.learns
        sums[often] = sums.get(often, Fraction(0)) + one.cost / (one.serves or 1)
    parts = math.lcm(*(cost.denominator for cost in sums.values()))
    counted = [(cost.numerator * parts // cost.denominator, *of) for of, cost in sums.items()]
    good = good_share(rates)

    def of(batch: int) -> Fraction:
        faster = faster_by(rates, batch)
        usual = learned = 0
        for cost, serves, learns in counted:
            done = cost if serves is None else cost * max(batch, serves)
            if learns:
                learned += done
            else:
                usual += done
        begun = usual * faster.denominator + learned * faster.numerator
        return Fraction(begun * good.denominator, parts * faster.denominator * good.numerator)

    return tuple(of(batch) for batch in batches)


def times(charge: Charge, batch: int, faster: Fraction) -> Fraction:
    """Return how often a charge is borne by a batch, a time that went faster in part."""
    return times_done(batch, charge.serves) * (faster if charge.learns else 1)


def good_share(rates: WorkshopRates) -> Fraction:
    """Return the share of what is begun that can be sold."""
    return 1 - exact(rates.rejects)


def made(tools: ToolSet, shop: Shop) -> tuple[Fraction, Fraction]:
    """Return what tools cost to make: sheets, and work with its overhead."""
    sheets = sum((_each(use, shop) * exact(use.quantity) for use in tools.sheets), Fraction(0))
    minutes = exact(tools.minutes) * exact(shop.what_if.minutes) * (1 + exact(shop.rates.breaks))
    return sheets, minutes * minute_cost(shop)


def lasts(tools: ToolSet, rates: WorkshopRates) -> int:
    """Return the articles that tools last."""
    if tools.wears_as == "mould":
        return rates.mould_pressings * tools.articles
    return rates.template_uses


def minute_cost(shop: Shop) -> Fraction:
    """Return what a minute at the bench costs: pay, overhead, and pay of hours away from it.

    Over an hour that is (drawings + overhead) / (paid hours x utilisation).
    """
    return sum((each for _, _, each in _minute(shop)), Fraction(0))


def _material(one: Material, shop: Shop) -> Iterator[Charge]:
    """Yield the charge of a material, and of what is wasted of a hide for it."""
    use = one.use
    quantity = exact(use.quantity)
    used = Charge(
        group=one.group,
        what=f"{use.what}: {use.name}",
        unit=use.unit,
        quantity=quantity,
        cost=quantity * _each(use, shop),
        serves=use.articles,
    )
    yield used
    if use.kind == "leather":
        share = (1 / _hide_yield(use.name, shop) - 1) * exact(shop.what_if.waste)
        yield replace(
            used,
            what=f"{use.what}: waste of the hide",
            quantity=used.quantity * share,
            cost=used.cost * share,
        )


def _wear(tools: ToolSet, shop: Shop) -> Charge:
    """Return what an article wears off tools, straight over their life."""
    share = Fraction(1, lasts(tools, shop.rates))
    return Charge(
        group="tooling",
        what=f"wear of {tools.name}",
        unit="%",
        quantity=100 * share,
        cost=share * sum(made(tools, shop)),
    )


def _work(needs: Needs, shop: Shop) -> Iterator[Charge]:
    """Yield labour by kind of work, set-up and breaks by themselves, and the overhead on it."""
    work: dict[tuple[str, Often], Fraction] = {}
    besides: dict[tuple[str, Often], Fraction] = {}
    breaks = exact(shop.rates.breaks)
    for one in step_times(needs.steps, shop.rates, shop.what_if.minutes):
        thing, load = (one.thing_serves, True), (one.load_serves, False)
        for listed, what, often, minutes in (
            (work, one.work, thing, one.hands_on),
            (besides, "set-up of a batch or load", load, one.set_up),
            (besides, "breaks", thing, breaks * one.hands_on),
            (besides, "breaks", load, breaks * one.set_up),
        ):
            listed[what, often] = listed.get((what, often), Fraction(0)) + minutes
    by_work = work | besides
    every: dict[Often, Fraction] = {}
    for (_, often), minutes in by_work.items():
        every[often] = every.get(often, Fraction(0)) + minutes
    for group, heading, each in _minute(shop):
        charged = {(heading, o): m for o, m in every.items()} if heading else by_work
        for (what, (serves, learns)), minutes in charged.items():
            if minutes and each:
                yield Charge(
                    group=group,
                    what=what,
                    unit="min",
                    quantity=minutes,
                    cost=minutes * each,
                    serves=serves,
                    learns=learns,
                )


def _minute(shop: Shop) -> tuple[tuple[Group, str, Fraction], ...]:
    """Return what a minute costs: (group, heading or empty for the work itself, cost)."""
    rates, factor = shop.rates, exact(shop.what_if.rate)
    return (
        ("labour", "", rates.pay_per_minute * factor),
        ("overhead", "overhead of the year", rates.overhead_per_minute * factor),
        ("overhead", "paid hours not at the bench", rates.away_per_minute * factor),
    )


def _each(use: Use, shop: Shop) -> Fraction:
    """Return the price of one unit of a material."""
    price = price_of(shop.prices, use.kind, use.name)
    money, minor_each = _read(price)
    if money.currency != shop.rates.currency:
        raise RequestError(
            f"the price of {use.name} is in {money.currency}, "
            f"the rates are in {shop.rates.currency}",
            because="money is never exchanged here",
            mend="Give rates and the prices of all that is used in one currency",
        )
    if price.used_by != use.unit:
        raise RequestError(
            f"the price of {use.name} is by {price.unit}",
            because=f"it is used by {use.unit}",
            mend=f"Give it by {', '.join(u for u, (b, _) in WORTH.items() if b == use.unit)}",
        )
    return minor_each * (exact(shop.what_if.leather) if use.kind == "leather" else 1)


@lru_cache(maxsize=1024)
def _read(price: Price) -> tuple[Money, Fraction]:
    """Return a price as money and for one of its unit, read from its words once."""
    return price.money, price.minor_each


def _hide_yield(leather: str, shop: Shop) -> Fraction:
    """Return the share of a hide that ends up in pieces as cut."""
    share = exact(shop.yields.get(leather, shop.rates.leather_yield))
    if not 0 < share <= 1:
        raise RequestError(
            f"{leather}: {float(share):g} of a hide in pieces",
            mend="Give a share above 0, at most 1",
        )
    return share

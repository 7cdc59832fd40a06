"""An article with its cost and price: in words, and as plain figures."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from hidewright.costing.asking import Asked
from hidewright.costing.cost import GROUPS, Cost
from hidewright.costing.ladder import Rung
from hidewright.costing.minutes import StepMinutes
from hidewright.costing.tornado import BY, Swing
from hidewright.units.minutes import format_minutes
from hidewright.units.money import Money, format_money
from hidewright.workshop.learned_minutes import Likely, minutes_words
from hidewright.workshop.lists import taken_of

#: Rungs of the ladder that are shown in words.
SHOWN = (1, 2, 5, 10, 20, 50, 120)
#: What moves a price, in words.
CAUSES: Mapping[str, str] = {
    "leather": "price of leather",
    "minutes": "minutes at the bench",
    "waste": "waste of the hide",
    "rate": "cost of an hour",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Priced:
    """An article with its cost and price.

    Attributes:
        name: The article's.
        cost: Of the batch.
        asked: The price of one.
        steps: Minutes of every step for the batch as begun.
        ladder: Cost and price by batch size.
        tornado: What moves the price most, widest first. It and the ladder are empty where only
            the price was asked for.
        break_even: How many pay for the tools; None when none do.
        economic_batch: The batch at which setting up and holding cost least together; None when
            holding costs nothing.
        likely: Minutes and price with their likely ranges; None where the price alone was asked.
    """

    name: str
    cost: Cost
    asked: Asked
    steps: tuple[StepMinutes, ...]
    ladder: tuple[Rung, ...]
    tornado: tuple[Swing, ...]
    break_even: int | None
    economic_batch: float | None
    likely: Likely | None = None


def in_words(priced: Priced) -> Iterator[str]:
    """Yield the lines of a cost sheet, the price, the ladder and what moves it, as text."""
    cost = priced.cost

    def money(minor: int) -> str:
        return format_money(Money(minor=minor, currency=cost.currency))

    yield f"{priced.name}, batch of {cost.batch}"
    yield f"{'':44}{'':>14}{'batch':>16}{'one':>14}"
    for group in GROUPS:
        for line in (one for one in cost.lines if one.group == group):
            amount = taken_of(line.quantity, line.unit)
            yield (
                f"  {_short(line.what, 42):42}{amount:>14}"
                f"{money(line.batch_minor):>16}{money(line.each_minor):>14}"
            )
        for_batch, for_one = cost.group_minor(group)
        if for_batch:
            yield f"{group:58}{money(for_batch):>16}{money(for_one):>14}"
    yield f"{'cost':58}{money(cost.total_minor):>16}{money(cost.each_minor):>14}"
    yield from _price_in_words(priced.asked, money)
    minutes = sum(one.total for one in priced.steps) / cost.batch
    begun = format_minutes(round(minutes))
    if priced.likely is not None:
        low, high = (money(round(x)) for x in (priced.likely.price.low, priced.likely.price.high))
        yield f"price, by how long the work is likely to take: {low} to {high}"
        yield "  (the blank's size is not in it: a few hundredths of what the leather costs)"
        begun = minutes_words(priced.likely.minutes)
    yield f"minutes at the bench for one that is begun: {begun}"
    pays = priced.break_even
    yield f"tools: {money(cost.tooling_minor)} to make, " + (
        f"paid by {pays} sold" if pays is not None else "not paid at this price"
    )
    if priced.economic_batch is not None:
        yield f"batch at which setting up and holding cost least: {priced.economic_batch:.0f}"
    yield f"{'batch':>7}{'cost of one':>16}{'price':>14}"
    for rung in priced.ladder:
        if rung.batch in SHOWN:
            of = rung.asked
            yield f"{rung.batch:7}{money(of.cost_minor):>16}{money(of.gross_minor):>14}"
    yield f"price before tax and rounding when {BY:.0%} less or more:"
    for swing in priced.tornado:
        yield f"  {CAUSES[swing.cause]:24}{money(swing.low_minor)} to {money(swing.high_minor)}"


def _price_in_words(asked: Asked, money: Callable[[int], str]) -> Iterator[str]:
    for what, minor in (
        ("box", asked.box_minor),
        ("sales fee", asked.fee_minor),
        (f"profit, {float(asked.margin):.1%} of the price", asked.profit_minor),
        ("price before tax", asked.net_minor),
        ("tax", asked.tax_minor),
        ("price", asked.gross_minor),
    ):
        yield f"{what:74}{money(minor):>14}"


def _short(words: str, room: int) -> str:
    return words if len(words) <= room else f"{words[: room - 1]}…"


def as_figures(priced: Priced) -> dict[str, Any]:
    """Return all of it for machines: sums in the smallest coin, times in minutes."""
    cost, price = priced.cost, priced.asked
    return {
        "article": priced.name,
        "currency": cost.currency,
        "batch": cost.batch,
        "lines": [asdict(line) for line in cost.lines],
        "groups": [
            {"group": group, "batch_minor": for_batch, "each_minor": for_one}
            for group in GROUPS
            for for_batch, for_one in (cost.group_minor(group),)
        ],
        "total_minor": cost.total_minor,
        "each_minor": cost.each_minor,
        "price": _figures_of(price),
        "tools": {
            "sets": [asdict(tools) for tools in cost.tools],
            "made_minor": cost.tooling_minor,
            "wear_minor": cost.wear_minor,
            "break_even": priced.break_even,
        },
        "economic_batch": priced.economic_batch,
        "likely": None if priced.likely is None else asdict(priced.likely),
        "steps": [
            {
                "step": one.step,
                "work": one.work,
                "set_up_minutes": float(one.set_up),
                "hands_on_minutes": float(one.hands_on),
                "break_minutes": float(one.breaks),
            }
            for one in priced.steps
        ],
        "ladder": [{"batch": rung.batch, **_figures_of(rung.asked)} for rung in priced.ladder],
        "tornado": [asdict(swing) for swing in priced.tornado],
    }


def _figures_of(asked: Asked) -> dict[str, Any]:
    return {
        "cost_minor": asked.cost_minor,
        "box_minor": asked.box_minor,
        "fee_minor": asked.fee_minor,
        "profit_minor": asked.profit_minor,
        "net_minor": asked.net_minor,
        "tax_minor": asked.tax_minor,
        "gross_minor": asked.gross_minor,
        "margin": float(asked.margin),
        "markup": None if asked.markup is None else float(asked.markup),
    }

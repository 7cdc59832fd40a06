"""The bottleneck: what one more of something would bring, and what a mould costs in board."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from hidewright.catalogue.prices import Price
from hidewright.design.part import MouldTool, PartRole
from hidewright.planning.batch_plan import BatchPlan
from hidewright.planning.goals import Goal
from hidewright.planning.hands import day_of
from hidewright.planning.schedule import Budget, schedule
from hidewright.planning.workshop import Moulds, Workshop
from hidewright.units.minutes import format_minutes
from hidewright.units.money import Money, format_money
from hidewright.workshop.batch.week import Batch, laid_out, monday_for
from hidewright.workshop.uncollected import uncollected

#: Rounds of each search.
ROUNDS = 10
_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
#: What is made together for one blank: each set is tried after the smaller one before it.
_SETS: tuple[tuple[PartRole, ...], ...] = (
    ("plug",),
    ("hold-down ring",),
    ("plug", "hold-down ring"),
    ("frame",),
    ("plug", "hold-down ring", "frame"),
)
_FIELDS: Mapping[str, str] = {"plug": "plugs", "hold-down ring": "rings", "frame": "frames"}

#: Tools of each blank, by (design, blank).
Tools = Mapping[tuple[str, str], MouldTool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """What more of something brings.

    Attributes:
        what: In words, such as ``a third plug of pair of shells``.
        workshop: With it.
        now: Day of the last delivery without it.
        then: Day of the last delivery with it.
        sooner: Minutes by which that is sooner.
        cost: In board; None when it is not known.
    """

    what: str
    workshop: Workshop
    now: date
    then: date
    sooner: int
    cost: Money | None = None

    @property
    def words(self) -> str:
        """Return it in words, with its cost."""
        said = f"{self.what[0].upper()}{self.what[1:]} brings the last delivery from "
        if self.now == self.then:
            said = f"{self.what[0].upper()}{self.what[1:]} brings it "
            said += f"{format_minutes(self.sooner)} sooner"
        else:
            said += f"{_day(self.now)} to {_day(self.then)}"
        return said + (
            f"; it costs {format_money(self.cost)} in board." if self.cost is not None else "."
        )


@uncollected()
def reliefs(
    batch: Batch,
    plan: BatchPlan,
    tools: Tools,
    prices: Sequence[Price],
    *,
    progress: Callable[[str], None] = lambda _: None,
    rounds: int = ROUNDS,
) -> tuple[Relief, ...]:
    """Return what brings the last delivery nearer, most first; the first names the bottleneck.

    Args:
        batch: As it is.
        plan: Its plan.
        tools: Of each blank, for their cost.
        prices: Of boards.
        progress: Called with words before each try.
        rounds: Of search for each.
    """
    monday = monday_for(batch)
    least: dict[str, int] = {}
    found: list[Relief] = []
    base = _finish(batch, rounds, plan.seed)
    now = plan.finish if base is None else min(plan.finish, base)
    for what, key, roles, workshop in _tries(batch, plan):
        progress(what)
        finish = _finish(replace(batch, workshop=workshop), rounds, plan.seed)
        # more of something is worth its name only if less of it would not do
        best = least.get(key[0] + key[1], now)
        if finish is None or finish >= best:
            continue
        least[key[0] + key[1]] = finish
        found.append(
            Relief(
                what=what,
                workshop=workshop,
                now=day_of(now, monday),
                then=day_of(finish, monday),
                sooner=now - finish,
                cost=board_cost(tools.get(key), roles, prices) if roles else None,
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.sooner, one.what)))


def board_cost(
    tool: MouldTool | None, roles: Sequence[PartRole], prices: Sequence[Price]
) -> Money | None:
    """Return what the board of some parts costs, by the share of a sheet that they are cut from.

    None when a board has no price, or the tool has no such parts.
    """
    if tool is None:
        return None
    total, currency = Fraction(0), ""
    by_name = {one.name: one for one in prices if one.kind == "board"}
    for part in tool.parts:
        if part.role not in roles:
            continue
        price = by_name.get(part.board.name)
        if price is None or price.used_by != "sheet":
            return None
        left, bottom, right, top = part.outline.bounds
        sheet = part.board.sheet_width_mm * part.board.sheet_height_mm
        share = Fraction(part.count * (right - left) * (top - bottom) / sheet)
        total += share * price.minor_each
        currency = price.money.currency
    return Money(minor=round(total), currency=currency) if currency else None


def _finish(batch: Batch, rounds: int, seed: int) -> int | None:
    laid, _ = laid_out(batch)
    if laid is None:
        return None
    goals = [Goal(name="on time"), Goal(name="finish")]
    answer = schedule(laid.problem, seed=seed, budget=Budget(rounds=rounds), goals=goals)
    return None if answer.plan is None else laid.clock.shown(answer.plan.finish)


def _tries(
    batch: Batch, plan: BatchPlan
) -> Iterator[tuple[str, tuple[str, str], tuple[PartRole, ...], Workshop]]:
    """Yield (words, what it is for, parts to be made, the workshop with it)."""
    shop = batch.workshop
    for design, blank in moulded(batch):
        means = shop.of(design)
        has = means.moulds_of(blank)
        for roles in _SETS:
            more = _more(has, roles)
            others = tuple(one for one in means.moulds if one.blank != blank)
            words = " and ".join(f"a {_ordinal(_count(has, role) + 1)} {role}" for role in roles)
            yield (
                f"{words} for the {blank} of {plan.article_of(design)}",
                (design, blank),
                roles,
                shop.with_means(replace(means, moulds=(*others, more))),
            )
    yield (
        f"a {_ordinal(shop.vises + 1)} vise",
        ("vise", ""),
        (),
        replace(shop, vises=shop.vises + 1),
    )
    yield (
        f"a {_ordinal(shop.clamps + 1)} set of clamps",
        ("clamps", ""),
        (),
        replace(shop, clamps=shop.clamps + 1),
    )
    places = replace(shop, drying_places=shop.drying_places + 1)
    yield f"a {_ordinal(shop.drying_places + 1)} drying place", ("drying", ""), (), places
    first = shop.hands[0]
    helper = replace(first, name="a helper", days_off=())
    yield (
        f"a helper who works when {first.name} does",
        ("hands", ""),
        (),
        replace(shop, hands=(*shop.hands, helper)),
    )


def moulded(batch: Batch) -> tuple[tuple[str, str], ...]:
    """Return (design, blank) of all that is pressed in a batch."""
    return tuple(
        dict.fromkeys(
            (recipe.design, hold.of)
            for recipe in batch.recipes
            for step in recipe.steps
            for hold in step.holds
            if hold.station == "plug" and step.work == "press"
        )
    )


def _more(has: Moulds, roles: Sequence[PartRole]) -> Moulds:
    counts: dict[str, Any] = {_FIELDS[role]: _count(has, role) + 1 for role in roles}
    return replace(has, **counts)


def _count(has: Moulds, role: PartRole) -> int:
    count: int = getattr(has, _FIELDS[role])
    return count


def _ordinal(number: int) -> str:
    return _ORDINALS[number - 1] if number <= len(_ORDINALS) else "further"


def _day(day: date) -> str:
    return f"{day.day} {day:%B}"

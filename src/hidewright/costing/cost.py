"""The cost of an article in a batch, by full absorption: every cost there is, down to the article.

What cannot be sold is borne by what can.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from hidewright.catalogue.prices import Price
from hidewright.costing.charges import (
    AS_IT_IS,
    Charge,
    Group,
    Shop,
    WhatIf,
    charges_of,
    good_share,
    lasts,
    made,
    times,
)
from hidewright.costing.exact import allocated, exact, whole
from hidewright.costing.minutes import faster_by
from hidewright.costing.needs import Needs, ToolSet
from hidewright.costing.workshop_rates import WorkshopRates

#: Groups in the order they are listed.
GROUPS: tuple[Group, ...] = (
    "leather",
    "lining",
    "consumables",
    "fittings",
    "tooling",
    "labour",
    "overhead",
    "rejects",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """One line of a cost sheet, for a batch.

    Attributes:
        group: Under which heading it is listed.
        what: In words.
        quantity: How much of it the batch takes as it is begun.
        unit: In what.
        batch_minor: What the batch bears, in whole coins; the lines add up to the batch's total.
        each_minor: What one good article bears; the lines add up to its cost.
    """

    group: Group
    what: str
    quantity: float
    unit: str
    batch_minor: int
    each_minor: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolCost:
    """What a set of tools costs to make, once.

    Attributes:
        name: What they are.
        sheets_minor: What is used of sheets.
        work_minor: Minutes to make them, overhead with them.
        lasts: Articles that are begun until they are worn out.
    """

    name: str
    sheets_minor: int
    work_minor: int
    lasts: int

    @property
    def made_minor(self) -> int:
        """Both."""
        return self.sheets_minor + self.work_minor


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a batch of good articles costs, in whole coins of the smallest sort.

    Attributes:
        batch: How many.
        currency: Three-letter code.
        lines: All there is, by group.
        tools: Made once; their wear is among the lines.
        wear_minor: What one good article bears of them.
    """

    batch: int
    currency: str
    lines: tuple[CostLine, ...]
    tools: tuple[ToolCost, ...]
    wear_minor: int

    @property
    def total_minor(self) -> int:
        """Cost of the batch."""
        return sum(line.batch_minor for line in self.lines)

    @property
    def each_minor(self) -> int:
        """Cost of one good article."""
        return sum(line.each_minor for line in self.lines)

    @property
    def tooling_minor(self) -> int:
        """What the tools cost to make, once."""
        return sum(tools.made_minor for tools in self.tools)

    def group_minor(self, group: Group) -> tuple[int, int]:
        """Return what a group costs: (the batch, one good article)."""
        lines = [line for line in self.lines if line.group == group]
        return sum(one.batch_minor for one in lines), sum(one.each_minor for one in lines)


def cost_of(
    needs: Needs,
    rates: WorkshopRates,
    prices: Sequence[Price],
    batch: int,
    yields: Mapping[str, float] | None = None,
    what_if: WhatIf = AS_IT_IS,
) -> Cost:
    """Return what a batch of good articles costs, line by line.

    Args:
        needs: What one article takes.
        rates: Of the workshop.
        prices: Of materials, in the workshop's currency.
        batch: How many good articles.
        yields: Share of a hide in pieces as cut, by leather, where a layout is known.
        what_if: Factors to try.

    Raises:
        RequestError: When the batch is no number of articles, a price is missing, in another
            currency or for another unit, or a yield is no share.
    """
    shop = Shop(rates=rates, prices=prices, yields=yields or {}, what_if=what_if)
    charges = list(_by_line(charges_of(needs, shop), batch, faster_by(rates, batch)))
    begun = sum((one.cost for one in charges), Fraction(0))
    spoilt = begun / good_share(rates) - begun
    if spoilt:
        charges.append(
            Charge(
                group="rejects",
                what="borne for what cannot be sold",
                unit="%",
                quantity=100 * exact(rates.rejects),
                cost=spoilt,
            )
        )
    charges.sort(key=lambda one: GROUPS.index(one.group))
    worn = sum((one.cost for one in charges if one.group == "tooling"), Fraction(0))
    return Cost(
        batch=batch,
        currency=rates.currency,
        lines=_rounded(charges, batch),
        tools=tuple(_tool_cost(tools, shop) for tools in needs.tools),
        wear_minor=whole(worn / (batch * good_share(rates))),
    )


def _by_line(charges: Sequence[Charge], batch: int, faster: Fraction) -> Sequence[Charge]:
    """Return one charge for each line, as the batch bears it."""
    lines: dict[tuple[Group, str], tuple[str, Fraction, Fraction]] = {}
    for one in charges:
        done = times(one, batch, faster)
        key = one.group, one.what
        _, quantity, cost = lines.get(key, ("", Fraction(0), Fraction(0)))
        lines[key] = one.unit, quantity + one.quantity * done, cost + one.cost * done
    return [
        Charge(group=group, what=what, unit=unit, quantity=quantity, cost=cost, serves=None)
        for (group, what), (unit, quantity, cost) in lines.items()
    ]


def _rounded(charges: Sequence[Charge], batch: int) -> tuple[CostLine, ...]:
    """Return lines with whole amounts that add up, for the batch and for one."""
    whole_batch = allocated([one.cost for one in charges])
    whole_each = allocated([one.cost / batch for one in charges])
    return tuple(
        CostLine(
            group=one.group,
            what=one.what,
            quantity=float(one.quantity),
            unit=one.unit,
            batch_minor=for_batch,
            each_minor=for_each,
        )
        for one, for_batch, for_each in zip(charges, whole_batch, whole_each, strict=True)
    )


def _tool_cost(tools: ToolSet, shop: Shop) -> ToolCost:
    sheets, work = allocated(made(tools, shop))
    return ToolCost(
        name=tools.name, sheets_minor=sheets, work_minor=work, lasts=lasts(tools, shop.rates)
    )

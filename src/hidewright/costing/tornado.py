"""What moves the price most: each cause a little up and down, the others as they are."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from fractions import Fraction

from hidewright.catalogue.prices import Price
from hidewright.costing.asking import wanted_price
from hidewright.costing.charges import AS_IT_IS, Shop, WhatIf, batch_costs, charges_of
from hidewright.costing.exact import whole
from hidewright.costing.needs import Needs
from hidewright.costing.workshop_rates import WorkshopRates

#: Each cause is changed by this share.
BY = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """One bar of a tornado.

    Attributes:
        cause: A field of ``WhatIf``.
        low_minor: Price before tax and rounding to an ending when the cause is less by a share.
        high_minor: The same when it is more.
    """

    cause: str
    low_minor: int
    high_minor: int

    @property
    def width_minor(self) -> int:
        """From low to high."""
        return self.high_minor - self.low_minor


def tornado(
    needs: Needs,
    rates: WorkshopRates,
    prices: Sequence[Price],
    batch: int,
    yields: Mapping[str, float] | None = None,
    what_if: WhatIf = AS_IT_IS,
    by: float = BY,
) -> tuple[Swing, ...]:
    """Return the swings of the price, the widest first."""
    shop = Shop(rates=rates, prices=prices, yields=yields or {}, what_if=what_if)

    def cost(changed: WhatIf) -> Fraction:
        charges = charges_of(needs, replace(shop, what_if=changed))
        return batch_costs(charges, rates, (batch,))[0] / batch

    def price(each: Fraction) -> int:
        return whole(wanted_price(whole(each), rates))

    usual = cost(what_if)
    swings: list[Swing] = []
    for cause in (f.name for f in fields(WhatIf)):
        more = cost(replace(what_if, **{cause: getattr(what_if, cause) * (1 + by)}))
        low = price(2 * usual - more)  # a cost is a straight line in each of its causes
        swings.append(Swing(cause=cause, low_minor=low, high_minor=price(more)))
    return tuple(sorted(swings, key=lambda swing: -swing.width_minor))

"""What moves the price most: each cause a little up and down, the others as they are."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

from hidewright.catalogue.prices import Price
from hidewright.costing.asking import wanted_price
from hidewright.costing.charges import AS_IT_IS, Shop, WhatIf, alike, batch_cost, charges_of
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

    def price(changed: WhatIf) -> int:
        charges = charges_of(needs, replace(shop, what_if=changed))
        return whole(wanted_price(whole(batch_cost(alike(charges), rates, batch) / batch), rates))

    swings: list[Swing] = []
    for cause in (f.name for f in fields(WhatIf)):
        now: float = getattr(what_if, cause)
        low, high = (price(replace(what_if, **{cause: now * (1 + s)})) for s in (-by, by))
        swings.append(Swing(cause=cause, low_minor=low, high_minor=high))
    return tuple(sorted(swings, key=lambda swing: -swing.width_minor))

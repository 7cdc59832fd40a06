"""Materials of an article that have no price yet: none is guessed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from hidewright.catalogue.prices import WORTH, BaseUnit, Price, PriceKind, Unit
from hidewright.costing.needs import Needs, Use
from hidewright.errors import RequestError


@dataclass(frozen=True, slots=True, kw_only=True)
class Unpriced:
    """One material without a price.

    Attributes:
        kind: Shelf that its price would stand on.
        name: Its name.
        used_by: What it is used by.
    """

    kind: PriceKind
    name: str
    used_by: BaseUnit

    @property
    def units(self) -> tuple[Unit, ...]:
        """Units that it can be bought by."""
        return tuple(unit for unit, (base, _) in WORTH.items() if base == self.used_by)


class UnpricedError(RequestError):
    """An article cannot be priced, since materials of it are not.

    Attributes:
        missing: Those materials.
    """

    def __init__(self, missing: tuple[Unpriced, ...]) -> None:
        super().__init__(
            f"no price for {' and '.join(f'the {one.kind} {one.name!r}' for one in missing)}",
            because="none is guessed",
            mend="Type it in on the page Money, under Material prices, or write it under prices "
            "in your rates file",
        )
        self.missing = missing


def unpriced(needs: Needs, prices: Sequence[Price]) -> tuple[Unpriced, ...]:
    """Return what an article takes and its tools are cut from that has no price, each once."""
    known = {(row.kind, row.name) for row in prices}
    found = (
        Unpriced(kind=use.kind, name=use.name, used_by=use.unit)
        for use in _uses(needs)
        if (use.kind, use.name) not in known
    )
    return tuple(dict.fromkeys(found))


def _uses(needs: Needs) -> Iterator[Use]:
    for material in needs.materials:
        yield material.use
    for tools in needs.tools:
        yield from tools.sheets

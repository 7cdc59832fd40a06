"""Loads: articles of one design and colour that go through the workshop together."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from hidewright.design.step import Step
from hidewright.planning.workshop import USUAL_LOAD, Means


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is still to be made of an order.

    Attributes:
        order: Its id.
        design: Id of the design.
        colour: Of the dye.
        count: How many articles.
        due: Minute by which all should be ready; None for no matter when.
    """

    order: str
    design: str
    colour: str
    count: int
    due: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How many articles of a load are for an order."""

    order: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Articles that go through the workshop together.

    Attributes:
        number: Unique, and its own for ever.
        design: Id of the design.
        colour: Of the dye.
        shares: For whom, the one who is due first first.
        first_off: Whether it is the one article that is measured before the batch is cut.
    """

    number: int
    design: str
    colour: str
    shares: tuple[Share, ...]
    first_off: bool = False

    @property
    def count(self) -> int:
        """How many articles it has."""
        return sum(one.count for one in self.shares)


def load_size(steps: Sequence[Step], means: Means) -> int:
    """Return how many articles go into a load: full nights of the plugs, at least the usual load.

    The maker's own number comes first.
    """
    if means.load is not None:
        return means.load
    plugs = {
        step.place: step.articles * max(1, means.moulds_of(step.place).plugs)
        for step in steps
        if any(hold.station == "plug" for hold in step.holds)
    }
    night = min(plugs.values(), default=USUAL_LOAD)
    return night * -(-USUAL_LOAD // night)


def loads_for(
    wanted: Iterable[Wanted],
    size: Callable[[str, str], int],
    proven: Callable[[str], bool],
    kept: Sequence[Load] = (),
    begun: Callable[[Load], bool] = lambda _: False,
    *,
    share: bool = True,
) -> tuple[Load, ...]:
    """Return loads that make what is wanted, those that are kept already among them.

    Args:
        wanted: Of the orders.
        size: Articles in a load of a design and colour.
        proven: Whether a design needs no first-off any more.
        kept: Loads of an earlier plan that are not finished.
        begun: Whether a load has been begun: it stays as it is.
        share: Whether the last loads of two orders of one design and colour are put together.
    """
    rows = sorted(wanted, key=lambda one: (one.due is None, one.due or 0, one.order))
    loads, missing = _still_good(rows, kept, begun)
    number = max((one.number for one in kept), default=0)
    tested = {one.design for one in loads if one.first_off}
    rest: dict[tuple[str, str], list[Share]] = {}
    for row in rows:
        left = missing[row.order]
        if left and row.design not in tested and not proven(row.design):
            tested.add(row.design)
            number, left = number + 1, left - 1
            loads.append(_load(number, row, 1, first_off=True))
        most = size(row.design, row.colour)
        while left >= most or (left and not share):
            number, count = number + 1, min(left, most)
            left -= count
            loads.append(_load(number, row, count))
        if left:
            rest.setdefault((row.design, row.colour), []).append(Share(order=row.order, count=left))
    for (design, colour), shares in rest.items():
        for together in _filled(shares, size(design, colour)):
            number += 1
            loads.append(Load(number=number, design=design, colour=colour, shares=tuple(together)))
    return tuple(loads)


def _load(number: int, row: Wanted, count: int, *, first_off: bool = False) -> Load:
    return Load(
        number=number,
        design=row.design,
        colour=row.colour,
        shares=(Share(order=row.order, count=count),),
        first_off=first_off,
    )


def _still_good(
    rows: Sequence[Wanted], kept: Sequence[Load], begun: Callable[[Load], bool]
) -> tuple[list[Load], dict[str, int]]:
    """Return the kept loads that still have their orders, and how many articles are missing."""
    missing = {row.order: row.count for row in rows}
    colours = {row.order: (row.design, row.colour) for row in rows}
    loads: list[Load] = []
    for load in sorted(kept, key=lambda one: (not begun(one), one.number)):
        shares = tuple(
            replace(one, count=min(one.count, missing[one.order]))
            for one in load.shares
            if missing.get(one.order, 0) > 0
            and (begun(load) or colours[one.order] == (load.design, load.colour))
        )
        if begun(load) and not shares:
            shares = load.shares
        if shares:
            loads.append(load if begun(load) else replace(load, shares=shares))
        for one in shares:
            missing[one.order] = max(0, missing.get(one.order, 0) - one.count)
    return sorted(loads, key=lambda one: one.number), missing


def _filled(shares: Sequence[Share], most: int) -> Iterable[list[Share]]:
    """Yield shares put together, in order, as long as a load holds them."""
    together: list[Share] = []
    for one in shares:
        if together and sum(s.count for s in together) + one.count > most:
            yield together
            together = []
        together.append(one)
    if together:
        yield together

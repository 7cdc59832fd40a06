"""Cutting list, tooling list and shopping list: what is cut, from what, and what to buy for it."""

import math
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from hidewright.catalogue.prices import BaseUnit
from hidewright.costing.shopping import Wanted
from hidewright.design.design import Design
from hidewright.drawing.table_sheet import Table
from hidewright.geometry.offset import offset_all
from hidewright.tooling.plug_plates import plug_at
from hidewright.tooling.sheets import Sheet
from hidewright.units.money import Money, format_money
from hidewright.units.number import decimal_text
from hidewright.units.written import GRAMS_PER_OUNCE, METRIC, ML_PER_FLUID_OUNCE, Written
from hidewright.workshop.cut_leather import CutLeather
from hidewright.workshop.laser import cut_mm, laser_minutes
from hidewright.workshop.tooling_chain import Moulding

CUTTING_COLUMNS = (
    ("what", 0.26),
    ("leather", 0.28),
    ("size as cut", 0.16),
    ("pieces", 0.09),
    ("area", 0.11),
    ("done", 0.10),
)
TOOLING_COLUMNS = (
    ("sheet", 0.20),
    ("parts on it", 0.46),
    ("cut", 0.10),
    ("laser, min", 0.12),
    ("done", 0.12),
)
PLUG_COLUMNS = (
    ("plug, for a saw and a calliper", 0.30),
    ("at its foot, width x height as drawn", 0.24),
    ("flat of its top", 0.20),
    ("how high", 0.12),
    ("top edge rounded", 0.14),
)
SHOPPING_COLUMNS = (
    ("what", 0.30),
    ("needed", 0.12),
    ("in stock", 0.12),
    ("short", 0.12),
    ("packs to buy", 0.18),
    ("about", 0.16),
)
#: What is told in ounces beside inches: how much an ounce of it is, and what that is called.
IN_OUNCES: dict[BaseUnit, tuple[float, str]] = {
    "g": (GRAMS_PER_OUNCE, "oz"),
    "ml": (ML_PER_FLUID_OUNCE, "fl oz"),
}
#: Shelves of what is not counted.
UNCOUNTED = ("leather", "thread")
#: Decimals that an amount is told with, by its unit.
_PLACES: dict[BaseUnit, int] = {"m2": 3, "sheet": 2, "m": 1, "g": 1, "ml": 1, "piece": 0}


def cutting_table(
    design: Design, cut: Iterable[CutLeather], batch: int, written: Written = METRIC
) -> Table:
    """Return what is cut for a batch, leather by leather, the largest first."""
    by_leather = sorted(cut, key=lambda one: (design.leather(one.role).name, -one.outline.area))
    return Table(columns=CUTTING_COLUMNS, rows=tuple(_cut_rows(design, by_leather, batch, written)))


def tooling_table(sheets: Sequence[Sheet], speed_mm_s: float, written: Written = METRIC) -> Table:
    """Return each sheet for the laser with its parts, length of cut and minutes, and their sums.

    Sums are of what is written in the column, so that whoever adds it up finds them.
    """
    cut = [round(cut_mm(sheet) / 1000, 1) for sheet in sheets]
    minutes = [laser_minutes(sheet, speed_mm_s) for sheet in sheets]

    def row(what: str, parts: str, metres: float, taken: float) -> tuple[str, ...]:
        return what, written.words(parts), written.words(f"{metres:.1f} m"), f"{taken:.1f}", ""

    each = (
        row(f"{sheet.board.name}, sheet {sheet.number}", "; ".join(parts_on(sheet)), *told)
        for sheet, *told in zip(sheets, cut, minutes, strict=True)
    )
    whole = row("all of them", f"{len(sheets)} sheets", math.fsum(cut), math.fsum(minutes))
    return Table(columns=TOOLING_COLUMNS, rows=(*each, whole))


def plug_table(mouldings: Sequence[Moulding], written: Written = METRIC) -> Table:
    """Return the size of each plug as it is to be, at its foot and within its rounded top edge.

    The plug's outline is on the full-size patterns of the tools; readings of dry size ask for it.
    """
    rows = []
    for one in mouldings:
        for zone in one.zones:
            top = offset_all(plug_at(zone, zone.height_mm), -zone.crown_radius_mm)
            flat = top[0].outer if len(top) == 1 else None
            rows.append(
                (
                    f"{one.blank.name}, {zone.name}",
                    written.size((zone.plug.width, zone.plug.height), 2),
                    written.size((flat.width, flat.height), 2) if flat else "none",
                    written.length(zone.height_mm, 2),
                    written.length(zone.crown_radius_mm, 2),
                )
            )
    return Table(columns=PLUG_COLUMNS, rows=tuple(rows), title="Plugs")


def shopping_tables(
    wanted: Iterable[Wanted], currency: str, written: Written = METRIC
) -> tuple[Table, ...]:
    """Return what a batch takes against what there is, a table for each shelf."""

    def money(minor: int) -> str:
        return format_money(Money(minor=minor, currency=currency))

    return tuple(
        Table(
            title=f"{kind.capitalize()}{'' if kind in UNCOUNTED else 's'}",
            columns=SHOPPING_COLUMNS,
            rows=tuple(_bought(one, money(one.cost_minor), written) for one in some),
        )
        for kind, some in groupby(wanted, key=lambda one: one.kind)
    )


def _cut_rows(
    design: Design, cut: Iterable[CutLeather], batch: int, written: Written
) -> Iterator[tuple[str, str, str, str, str, str]]:
    for one in cut:
        pieces = math.ceil(batch / one.articles)
        serves = f" (serves {one.articles})" if one.articles > 1 else ""
        yield (
            f"{one.what}{serves}",
            design.leather(one.role).name,
            written.size((one.outline.width, one.outline.height), 0),
            f"{pieces}",
            written.area(pieces * one.outline.area / 1e6),
            "",
        )


def parts_on(sheet: Sheet) -> tuple[str, ...]:
    """Return the parts on a sheet, each once with how many there are of it."""
    counts: dict[str, int] = {}
    for placed in sheet.placed:
        counts[placed.cut.part] = counts.get(placed.cut.part, 0) + 1
    return tuple(f"{n} x {part}" if n > 1 else part for part, n in counts.items())


def _bought(one: Wanted, cost: str, written: Written) -> tuple[str, ...]:
    def amount(quantity: float) -> str:
        return _amount(quantity, one.unit, written)

    short = max(one.needed - one.stock, 0.0)
    left = math.floor(1000.0 * max(one.stock - one.needed, 0.0)) / 1000.0
    pack = amount(one.pack)
    if written.lengths == "in" and one.unit in IN_OUNCES:
        pack += f" ({_amount(one.pack, one.unit, METRIC)})"
    packs = f"{one.packs} of {pack}" if one.packs else "none"
    if one.packs and one.unit in ("piece", "sheet") and one.pack == 1:
        packs = amount(one.packs)  # bought one by one
    if one.packs is None:
        packs = "no price is known"
    return (
        one.name,
        amount(one.needed),
        amount(one.stock),
        amount(short) if short or one.kind != "leather" else f"none, {amount(left)} left",
        packs,
        cost if one.packs else "",
    )


def _amount(quantity: float, unit: BaseUnit, written: Written) -> str:
    """Return an amount, never told as less than it is."""
    if written.lengths == "in" and unit in IN_OUNCES:
        each, ounces = IN_OUNCES[unit]
        return f"{decimal_text(_up(quantity / each, 2), 2)} {ounces}"
    up = _up(quantity, _PLACES[unit])
    return written.words(f"{decimal_text(up, _PLACES[unit])} {unit_of(up, unit)}")


def _up(quantity: float, places: int) -> float:
    finer = 10.0**places
    return math.ceil(quantity * finer - 1e-6) / finer


def taken_of(quantity: float, unit: str) -> str:
    """Return how much is reckoned with: three figures, all of them from 100 on, and its unit.

    Example:
        >>> taken_of(1011.4, "min"), taken_of(10, "piece"), taken_of(0.0000861, "m2")
        ('1011 min', '10 pieces', '0.0000861 m²')
    """
    figures = f"{quantity:.0f}" if quantity >= 100 else f"{Decimal(f'{quantity:.3g}'):f}"
    return f"{figures} {unit_of(quantity, unit)}"


def unit_of(quantity: float, unit: str) -> str:
    """Return a unit as it is written behind a quantity.

    Example:
        >>> unit_of(1, "piece"), unit_of(2, "piece"), unit_of(2, "m2")
        ('piece', 'pieces', 'm²')
    """
    if unit in ("piece", "sheet") and quantity != 1:
        return f"{unit}s"
    return unit.replace("m2", "m²")

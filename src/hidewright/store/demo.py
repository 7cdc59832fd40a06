"""The design files of the demo workshop, Alder Row's field kit, as they come with the program."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime, time
from pathlib import Path

from hidewright.design.customer_order import CustomerOrder
from hidewright.errors import RequestError
from hidewright.planning.hands import DaysOff
from hidewright.planning.workshop import Workshop
from hidewright.store.orders_file import read_orders

#: Where an installed package keeps them, and where a checkout does.
FOLDERS = (Path(__file__).parents[1] / "examples", Path(__file__).parents[3] / "examples")


def demo_file(name: str) -> Path:
    """Return a file of the demo workshop, such as ``orders.yaml``.

    Raises:
        RequestError: When the package was installed without its examples.
    """
    for folder in FOLDERS:
        file = folder / "workshop" / name
        if file.is_file():
            return file
    raise _not_there(f"the demo's {name} is not there")


def _not_there(what: str) -> RequestError:
    return RequestError(
        what,
        because="the package was installed without its examples",
        mend="Install it again",
    )


def demo_designs() -> dict[str, bytes]:
    """Return the demo's design files by name, in the order of their names."""
    for folder in FOLDERS:
        files = sorted(folder.glob("*.yaml"))
        if files:
            return {file.name: file.read_bytes() for file in files}
    raise _not_there("the demo's design files are not there")


def demo_orders(
    designs: Mapping[str, str], today: date
) -> tuple[Workshop, tuple[CustomerOrder, ...]]:
    """Return the demo's workshop and orders, as if they had come in today.

    Args:
        designs: Ids of the demo's designs in the book, by name.
        today: The day. Holidays stay in their season, on the next such day.

    Raises:
        RequestError: When a design of the demo is not in the book.
    """
    file = demo_file("orders.yaml")
    asked = read_orders(
        file.read_bytes(),
        name=file.name,
        design_bytes=lambda path: (file.parent / path).read_bytes(),
        now=datetime.combine(today, time()),
    )
    later = today - (asked.start.date() if asked.start else today)
    missing = [name for name in asked.articles.values() if name not in designs]
    if missing:
        raise RequestError(
            f"the demo's {missing[0]} is not in the book",
            because="it was deleted or has another name",
            mend="Add an order of your own",
        )
    ids = {key: designs[name] for key, name in asked.articles.items()}

    def moved(days: DaysOff) -> DaysOff:
        return replace(days, first=days.first + later, last=days.last + later)

    def next_time(days: DaysOff) -> DaysOff:
        again = days
        while again.last < today:
            year = again.first.year + 1
            first = again.first.replace(year=year)
            again = replace(again, first=first, last=first + (days.last - days.first))
        return again

    workshop = replace(
        asked.workshop,
        hands=tuple(
            replace(one, days_off=tuple(map(moved, one.days_off))) for one in asked.workshop.hands
        ),
        holidays=tuple(map(next_time, asked.workshop.holidays)),
        means=tuple(replace(one, design=ids[one.design]) for one in asked.workshop.means),
    )
    orders = tuple(
        replace(
            one,
            design=ids[one.design],
            received=today,
            due=None if one.due is None else one.due + later,
        )
        for one in asked.orders.values()
    )
    return workshop, orders

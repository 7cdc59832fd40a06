"""What is planned: the demo's batch, and made-up workshops of any size, as problem files."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Any

import yaml

from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.customer_order import CustomerOrder
from hidewright.planning.workshop import Workshop
from hidewright.store.orders_file import OrdersFile, read_orders
from hidewright.workshop.batch.recipes import recipes_for
from hidewright.workshop.batch.week import Batch, kinds_of
from hidewright.workshop.graph import Cache

DEMO = Path(__file__).parents[1] / "examples" / "workshop" / "orders.yaml"

BEGIN = datetime(2026, 11, 30, 8)  # noqa: DTZ001 - the wall's clock
HOURS = ((540, 750), (810, 1020))
WEEKDAYS = (0, 1, 2, 3, 4)
CAPACITY = {"vise": 2, "clamp": 4, "tub": 8, "mould": 4}
FLUSH_MINUTES = 20
STITCH_MINUTES = {"S": 45, "M": 60, "L": 90}
#: (step, minutes a load, minutes a piece, kind, wait behind it at least, at most)
BEFORE = (("cut", 5, 6, "any", 0, None),)
WET = (
    ("soak", 1, 1, "never", 10, 25),
    ("press", 0, 5, "never", 20, None),
    ("unvise", 0, 2, "never", 720, None),
    ("demould", 0, 2, "never", 0, None),
)
BEHIND = (
    ("trim", 3, 5, "any", 0, None),
    ("dye", 2, 4, "never", 180, None),
    ("glue", 0, 4, "never", 5, 20),
    ("clamp", 0, 2, "never", 45, None),
    ("unclamp", 0, 1, "never", 0, None),
    ("stitch", 0, 60, "any", 0, None),
    ("edge", 0, 11, "any", 15, None),
    ("burnish", 0, 5, "any", 0, None),
    ("paint1", 2, 3, "never", 60, None),
    ("paint2", 2, 5, "never", 60, None),
    ("paint3", 2, 5, "never", 120, None),
    ("cond1", 0, 3, "never", 0, None),
)


def demo_batch(*, proven: bool, articles: int | None = None) -> Batch:
    """Return the demo's batch: 24 lens cases, 12 pouches, two colours.

    Args:
        proven: Whether its tools are made and measured; else each begins with its first-off.
        articles: So many about, by the same shares and without dates; None for the demo's own.
    """
    asked = _asked(DEMO.read_bytes(), DEMO.parent)
    shop = replace(
        asked.workshop, means=tuple(replace(one, proven=proven) for one in asked.workshop.means)
    )
    orders: Mapping[str, Any] = asked.orders
    if articles is not None:
        share = articles / sum(one.quantity for one in orders.values())
        orders = {
            id: replace(one, quantity=round(share * one.quantity), due=None)
            for id, one in orders.items()
        }
    return _batch(asked, orders, shop)


def batch_of(told: Mapping[str, Any]) -> Batch:
    """Return the batch that the words of an orders file tell, of the example designs."""
    asked = _asked(yaml.safe_dump(dict(told)).encode(), DEMO.parents[1])
    return _batch(asked, asked.orders, asked.workshop)


def _asked(told: bytes, beside: Path) -> OrdersFile:
    return read_orders(
        told,
        name=DEMO.name,
        design_bytes=lambda path: (beside / path).read_bytes(),
        now=BEGIN,
    )


def _batch(asked: OrdersFile, orders: Mapping[str, CustomerOrder], shop: Workshop) -> Batch:
    kinds = kinds_of(orders.values(), None)
    speed = WorkshopRates().laser_speed
    return Batch(
        orders=orders,
        articles=asked.articles,
        recipes=recipes_for(asked.designs, kinds, shop, Cache(), laser_speed=speed),
        workshop=shop,
        now=asked.start or BEGIN,
    )


def workshop(
    articles: int, persons: int, models: str = "M", colours: tuple[str, ...] = ("black", "brown")
) -> dict[str, Any]:
    """Return the problem of a batch: its articles shared out over colours and models in turn."""
    loads = []
    share = len(colours) * len(models)
    for number in range(share):
        left = articles // share + (number < articles % share)
        while left:
            pieces = min(4, left)
            left -= pieces
            colour, model = colours[number // len(models)], models[number % len(models)]
            loads.append({"pieces": pieces, "model": model, "colour": colour, "order": 0})
    return batch(loads, persons, name=f"pouch{articles}_p{persons}")


def batch(
    loads: list[dict[str, Any]],
    persons: int,
    *,
    name: str,
    capacity: dict[str, int] = CAPACITY,
    hours: tuple[tuple[int, int], ...] = HOURS,
    weekdays: tuple[int, ...] = WEEKDAYS,
) -> dict[str, Any]:
    """Return the problem of some loads, each of no more pieces than there are clamps."""
    problem: dict[str, Any] = {
        "name": name,
        "persons": persons,
        "hours": [list(window) for window in hours],
        "weekdays": list(weekdays),
        "capacity": dict(capacity),
        "flush_minutes": FLUSH_MINUTES,
        "lots": loads,
        "ops": [],
        "waits": [],
        "holds": [],
        "booth_ops": [],
    }
    numbers = count()
    for load, one in enumerate(loads):
        _add_load(problem, load, one, numbers)
    return problem


def _add_load(problem: dict[str, Any], load: int, one: dict[str, Any], numbers: Any) -> None:
    def chain(steps: Any, pieces: int, before: list[int]) -> list[int]:
        made = []
        least, most = 0, None
        for step, minutes, each, kind, then_least, then_most in steps:
            number = next(numbers)
            if step == "stitch":
                each = STITCH_MINUTES[one["model"]]
            colour = one["colour"] if step == "dye" else None
            if colour:
                problem["booth_ops"].append(number)
            row = [number, load, step, minutes + each * pieces, kind, pieces, colour]
            problem["ops"].append(row)
            problem["waits"].extend([a, number, least, most] for a in before)
            before, least, most = [number], then_least, then_most
            made.append(number)
        return made

    cut = chain(BEFORE, one["pieces"], [])
    demoulded = []
    at_once = min(problem["capacity"]["vise"], problem["capacity"]["mould"])
    for first in range(0, one["pieces"], at_once):
        pieces = min(at_once, one["pieces"] - first)
        soak, press, unvise, demould = chain(WET, pieces, cut)
        demoulded.append(demould)
        problem["holds"] += [
            ["tub", soak, press, pieces],
            ["vise", press, unvise, pieces],
            ["mould", press, demould, pieces],
        ]
    dry = chain(BEHIND, one["pieces"], demoulded)
    problem["holds"].append(["clamp", dry[3], dry[4], one["pieces"]])

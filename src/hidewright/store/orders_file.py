"""Orders files: what is wanted by when, and the workshop that makes it, as YAML."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from typing import Any, Literal

import yaml

from hidewright.catalogue.rows import near
from hidewright.design.customer_order import CustomerOrder
from hidewright.design.specification import Specification
from hidewright.errors import RequestError
from hidewright.planning.own_step import OwnStep
from hidewright.planning.workshop import Means, Moulds, Workshop
from hidewright.store.design_file import read_design
from hidewright.store.fields import Place, entries, items, root_of, word
from hidewright.store.orders_values import day, local_time, number, told_at, whole
from hidewright.store.orders_workshop import workshop_from

#: No honest orders file is longer, nor has more orders.
LARGEST_BYTES = 1_000_000
MOST_ORDERS = 500
FORMAT = "1"


@dataclass(frozen=True, slots=True, kw_only=True)
class OrdersFile:
    """What an orders file says.

    Attributes:
        start: Local time that the plan begins at; None when the file leaves it open.
        workshop: Hands, stations, moulds.
        designs: What is made, by the name it has in the file.
        articles: What each is called.
        orders: By their own names, such as ``order 1``.
    """

    start: datetime | None
    workshop: Workshop
    designs: Mapping[str, Specification[Any]]
    articles: Mapping[str, str]
    orders: Mapping[str, CustomerOrder]


def read_orders(
    data: bytes, *, name: str, design_bytes: Callable[[str], bytes], now: datetime
) -> OrdersFile:
    """Return what an orders file says.

    Args:
        data: The file's bytes, UTF-8.
        name: The file's name, for errors.
        design_bytes: Returns a design file by the path that is written, from where the file is.
        now: The local time, for what the file leaves open.

    Raises:
        RequestError: Names file, line and field of anything that is wrong.
    """
    root = root_of(
        data,
        name=name,
        sort="orders file",
        largest_bytes=LARGEST_BYTES,
        when_empty="Write designs under 'designs:' and orders under 'orders:'",
    )
    place = Place(file=name)
    got = entries(root, place, known=("format", "start", "workshop", "designs", "orders"))
    for needed in ("format", "designs", "orders"):
        if needed not in got:
            raise RequestError(f"the file has no {needed}", where=name)
    if word(got["format"], place.into("format")) != FORMAT:
        raise RequestError(
            "another format than 1",
            mend="Write 'format: 1'",
            where=place.into("format").at(got["format"]),
        )
    start = local_time(got["start"], place.into("start")) if "start" in got else None
    workshop = workshop_from(got.get("workshop"), place.into("workshop"))
    designs, means = _designs(got["designs"], place.into("designs"), design_bytes)
    orders = _orders(got["orders"], place.into("orders"), designs, start or now)
    return OrdersFile(
        start=start,
        workshop=replace(workshop, means=means),
        designs=designs,
        articles={key: spec.brief.name for key, spec in designs.items()},
        orders=orders,
    )


def _designs(
    node: yaml.Node, place: Place, design_bytes: Callable[[str], bytes]
) -> tuple[dict[str, Specification[Any]], tuple[Means, ...]]:
    designs: dict[str, Specification[Any]] = {}
    means: list[Means] = []
    for key, child in entries(node, place).items():
        here = place.into(key)
        got = entries(child, here, known=("file", "first_off", "load", "moulds", "steps"))
        if "file" not in got:
            raise RequestError(
                f"{key} has no design file", mend="Write 'file: NAME.yaml'", where=here.at(child)
            )
        path = word(got["file"], here.into("file"))
        designs[key] = told_at(
            partial(_design, path, design_bytes),
            got["file"],
            here,
        )
        first = word(got["first_off"], here.into("first_off")) if "first_off" in got else "needed"
        if first not in ("needed", "done"):
            raise RequestError(
                f"the first-off is {first!r}",
                mend="Write done when it has been made and measured, else needed",
                where=here.into("first_off").at(got["first_off"]),
            )
        moulds = _moulds(got["moulds"], here.into("moulds")) if "moulds" in got else ()
        own = _own_steps(got["steps"], here.into("steps")) if "steps" in got else ()
        load = whole(got["load"], here.into("load")) if "load" in got else None
        means.append(
            told_at(
                partial(
                    Means,
                    design=key,
                    moulds=moulds,
                    load=load,
                    proven=first == "done",
                    own_steps=own,
                ),
                child,
                here,
            )
        )
    return designs, tuple(means)


def _design(path: str, design_bytes: Callable[[str], bytes]) -> Specification[Any]:
    return read_design(design_bytes(path), name=path).specification


def _moulds(node: yaml.Node, place: Place) -> tuple[Moulds, ...]:
    out = []
    for one in items(node, place):
        got = entries(one, place, known=("blank", "plugs", "frames", "rings"))
        if "blank" not in got:
            raise RequestError(
                "moulds without a blank", mend="Write 'blank:' and its name", where=place.at(one)
            )
        counts = {
            key: whole(got[key], place.into(key))
            for key in ("plugs", "frames", "rings")
            if key in got
        }
        blank = word(got["blank"], place.into("blank"))
        out.append(told_at(partial(Moulds, blank=blank, **counts), one, place))
    return tuple(out)


def _own_steps(node: yaml.Node, place: Place) -> tuple[OwnStep, ...]:
    out = []
    for one in items(node, place):
        known = ("leave_out", "move", "add", "behind", "minutes", "how", "needs")
        got = entries(one, place, known=known)
        whats: tuple[tuple[str, Literal["leave out", "move", "add"]], ...] = (
            ("leave_out", "leave out"),
            ("move", "move"),
            ("add", "add"),
        )
        asked = [(key, what) for key, what in whats if key in got]
        if len(asked) != 1:
            raise RequestError(
                "a change of the steps that is not one of leave_out, move, add",
                mend="Write such as '- {move: punch front, behind: prick front for rim}'",
                where=place.at(one),
            )
        key, what = asked[0]
        if what != "leave out" and "behind" not in got:
            raise RequestError(
                f"{what} behind which step?", mend="Write 'behind:'", where=place.at(one)
            )
        minutes = word(got["minutes"], place) if "minutes" in got else "0"
        needs = items(got["needs"], place.into("needs")) if "needs" in got else []
        out.append(
            OwnStep(
                what=what,
                step=word(got[key], place.into(key)),
                behind=word(got["behind"], place.into("behind")) if "behind" in got else "",
                minutes=number(minutes, one, place.into("minutes")),
                how=word(got["how"], place.into("how")) if "how" in got else "",
                needs=tuple(word(need, place.into("needs")) for need in needs),
            )
        )
    return tuple(out)


# -- orders ---------------------------------------------------------------------------------------


def _orders(
    node: yaml.Node, place: Place, designs: Mapping[str, Specification[Any]], now: datetime
) -> dict[str, CustomerOrder]:
    rows = items(node, place)
    if not 1 <= len(rows) <= MOST_ORDERS:
        raise RequestError(
            f"{len(rows)} orders", mend=f"Give 1 to {MOST_ORDERS}", where=place.at(node)
        )
    known = ("customer", "design", "quantity", "colour", "due", "received", "made")
    out: dict[str, CustomerOrder] = {}
    for nth, one in enumerate(rows, start=1):
        here = place.into(f"order {nth}")
        got = entries(one, here, known=known)
        for needed in ("customer", "design", "quantity"):
            if needed not in got:
                raise RequestError(f"an order has no {needed}", where=here.at(one))
        design = word(got["design"], here.into("design"))
        if design not in designs:
            raise RequestError(
                f"there is no design {design!r}",
                mend=near(design, tuple(designs)),
                where=here.into("design").at(got["design"]),
            )
        due = day(got["due"], here.into("due")) if "due" in got else None
        if due is not None and due < now.date():
            raise RequestError(
                f"due on {due}",
                because=f"that is past: the plan begins on {now.date()}",
                mend="Agree on a later day, or leave it out to learn the earliest",
                where=here.into("due").at(got["due"]),
            )
        received = day(got["received"], here.into("received")) if "received" in got else None
        made: dict[str, Any] = {
            key: whole(got[key], here.into(key)) for key in ("quantity", "made") if key in got
        }
        if "colour" in got:
            made["colour"] = word(got["colour"], here.into("colour"))
        customer = word(got["customer"], here.into("customer"))
        out[f"order {nth}"] = told_at(
            partial(
                CustomerOrder,
                customer=customer,
                design=design,
                article=designs[design].brief.name,
                received=received or min(now.date(), due or now.date()),
                due=due,
                status="agreed",
                **made,
            ),
            one,
            here,
        )
    return out

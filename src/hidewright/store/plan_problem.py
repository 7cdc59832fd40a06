"""A planning problem out of a JSON file: a workshop's batch, or a published kind of problem."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, get_args

from hidewright.errors import RequestError
from hidewright.planning.calendar import Calendar, Windows, every_day
from hidewright.planning.problem import (
    Hold,
    Kind,
    Operation,
    Order,
    Person,
    Problem,
    Span,
    Station,
    Wait,
)

#: 20,000 operations have about 2 MB.
LARGEST_BYTES = 4_000_000
MOST_OPERATIONS = 20_000
#: Longer than a hundred years, minutes.
LONGEST = 60_000_000
MOST_PERSONS = 50
#: A wait without a lower limit.
NO_LEAST = -LONGEST
PUBLISHED = ("jobshop", "rcpsp", "rcpsp/max")


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemFile:
    """What a file asks to be planned.

    Attributes:
        name: Of the problem.
        problem: The problem.
        numbers: The file's number of each operation.
    """

    name: str
    problem: Problem
    numbers: tuple[int, ...]


def read_problem(data: bytes, *, name: str) -> ProblemFile:
    """Return what a file asks to be planned.

    Args:
        data: JSON in UTF-8: ``ops``, ``waits``, ``holds`` and so on of a workshop; or ``duration``,
            ``demand``, ``capacity`` and ``lags`` of a published problem.
        name: The file's name, for errors.

    Raises:
        RequestError: Names file, field, the wrong value and what is accepted.
    """
    if len(data) > LARGEST_BYTES:
        raise RequestError(
            f"{len(data) / 1e6:.1f} MB long",
            because=f"a problem has at most {LARGEST_BYTES / 1e6:g} MB",
            mend="Check that this is a planning problem",
            where=name,
        )
    told = _Fields(_parsed(data, name), name)
    try:
        return _published(told, name) if "duration" in told.found else _workshop(told, name)
    except RequestError as refused:
        raise refused.at(name) from None


def _parsed(data: bytes, name: str) -> dict[str, Any]:
    try:
        found = json.loads(data.decode("utf-8-sig"), parse_constant=_no_number)
    except UnicodeDecodeError as broken:
        raise RequestError(
            f"byte {broken.start} is not UTF-8 text", mend="Save the file as UTF-8", where=name
        ) from None
    except json.JSONDecodeError as broken:
        raise RequestError(
            f"not JSON: {broken.msg}", mend="Mend it there", where=f"{name} line {broken.lineno}"
        ) from None
    except (RecursionError, ValueError) as odd:
        raise RequestError(f"not readable: {odd}", mend="Write plain lists", where=name) from None
    if not isinstance(found, dict):
        raise RequestError("not a planning problem", mend="Write its fields in { }", where=name)
    return found


def _no_number(text: str) -> object:
    raise ValueError(f"{text} is no number")


# -- a workshop -----------------------------------------------------------------------------------


def _workshop(told: "_Fields", name: str) -> ProblemFile:
    rows = told.rows("ops", (7,))
    if not 0 < len(rows) <= MOST_OPERATIONS:
        raise RequestError(
            f"{len(rows)} operations", mend=f"Give at least one, at most {MOST_OPERATIONS}"
        )
    numbers = tuple(told.whole(row[0], f"ops row {k}, number") for k, row in enumerate(rows))
    place = {number: k for k, number in enumerate(numbers)}
    if len(place) < len(rows):
        twice = next(n for n in numbers if numbers.count(n) > 1)
        raise RequestError(f"operation {twice} is given twice", mend="Number each once")

    def at(value: object, where: str) -> int:
        number = told.whole(value, where)
        if number not in place:
            raise RequestError(
                f"there is no operation {number}",
                mend="Add it to ops, or name another",
                where=f"{name}, {where}",
            )
        return place[number]

    booth = {at(one, "booth_ops") for one in told.listed("booth_ops", ())}
    order_of = _order_of_loads(told)
    problem = Problem(
        operations=tuple(
            _operation(told, row, k, in_booth=k in booth, order_of=order_of)
            for k, row in enumerate(rows)
        ),
        waits=tuple(
            Wait(
                before=at(row[0], f"waits row {k}"),
                after=at(row[1], f"waits row {k}"),
                least=told.whole(row[2], f"waits row {k}, lo"),
                most=None if row[3] is None else told.whole(row[3], f"waits row {k}, hi"),
            )
            for k, row in enumerate(told.rows("waits", (4,)))
        ),
        stations=_stations(told),
        holds=tuple(
            Hold(
                station=told.word(row[0], f"holds row {k}, station"),
                first=at(row[1], f"holds row {k}"),
                last=at(row[2], f"holds row {k}"),
                amount=told.whole(row[3], f"holds row {k}, amount"),
            )
            for k, row in enumerate(told.rows("holds", (4,)))
        ),
        persons=_persons(told),
        flush_minutes=told.whole(told.found.get("flush_minutes", 0), "flush_minutes", low=0),
        orders=_orders(told),
        fixed=tuple(
            Span(
                operation=at(row[0], f"fixed row {k}"),
                start=told.whole(row[1], f"fixed row {k}, start", low=0),
                end=told.whole(row[2], f"fixed row {k}, end", low=0),
                person=told.whole(row[3], f"fixed row {k}, person", low=0),
            )
            for k, row in enumerate(told.rows("fixed", (4,)))
        ),
        now=told.whole(told.found.get("now", 0), "now", low=0),
    )
    return ProblemFile(name=told.title(), problem=problem, numbers=numbers)


def _operation(
    told: "_Fields", row: Sequence[Any], number: int, *, in_booth: bool, order_of: dict[int, int]
) -> Operation:
    where = f"ops row {number}"
    kind = next((one for one in get_args(Kind) if one == row[4]), None)
    if kind is None:
        raise RequestError(
            f"an operation of kind {row[4]!r}",
            mend=f"Choose one of: {', '.join(get_args(Kind))}",
            where=f"{told.name}, {where}",
        )
    load = told.whole(row[1], f"{where}, load", low=0)
    return Operation(
        load=load,
        step=told.word(row[2], f"{where}, step"),
        minutes=told.whole(row[3], f"{where}, minutes", low=1),
        kind=kind,
        pieces=told.whole(row[5], f"{where}, pieces", low=0),
        order=order_of.get(load, 0),
        colour=("" if row[6] is None else told.word(row[6], f"{where}, colour"))
        if in_booth
        else None,
    )


def _order_of_loads(told: "_Fields") -> dict[int, int]:
    out = {}
    for load, one in enumerate(told.listed("lots", ())):
        if isinstance(one, dict):
            out[load] = told.whole(one.get("order", 0), f"lots row {load}, order", low=0)
    return out


def _stations(told: "_Fields") -> tuple[Station, ...]:
    given = told.found.get("capacity", {})
    if not isinstance(given, dict):
        raise RequestError(
            "capacity is not a list of stations",
            mend='Write such as {"vise": 2}',
            where=f"{told.name}, capacity",
        )
    return tuple(
        Station(name=station, capacity=told.whole(count, f"capacity of {station}", low=0))
        for station, count in given.items()
    )


def _orders(told: "_Fields") -> tuple[Order, ...]:
    given = told.listed("orders", ())
    if not given:
        most = max(_order_of_loads(told).values(), default=0)
        if most > MOST_OPERATIONS:
            raise RequestError(f"a load of order {most}", mend="Number orders from 0")
        return tuple(Order(name=f"order {k}") for k in range(most + 1))
    out = []
    for k, one in enumerate(given):
        where = f"orders row {k}"
        if not isinstance(one, dict):
            raise RequestError("an order without fields", where=f"{told.name}, {where}")
        due = one.get("due")
        out.append(
            Order(
                name=told.word(one.get("name", f"order {k}"), f"{where}, name"),
                release=told.whole(one.get("release", 0), f"{where}, release", low=0),
                due=None if due is None else told.whole(due, f"{where}, due"),
                weight=told.whole(one.get("weight", 1), f"{where}, weight", low=1),
            )
        )
    return tuple(out)


def _persons(told: "_Fields") -> tuple[Person, ...]:
    given = told.found.get("persons", 1)
    if isinstance(given, list):
        return tuple(
            Person(
                name=told.word(one.get("name", f"person {k}"), f"persons row {k}, name"),
                calendar=_calendar(told, {**told.found, **one}, f"persons row {k}, "),
            )
            for k, one in enumerate(given)
            if isinstance(one, dict)
        )
    count = told.whole(given, "persons", low=1, high=MOST_PERSONS)
    calendar = _calendar(told, told.found, "")
    return tuple(Person(name=f"person {k}", calendar=calendar) for k in range(count))


def _calendar(told: "_Fields", found: dict[str, Any], where: str) -> Calendar:
    hours: Windows = tuple(
        (
            told.whole(row[0], f"{where}hours"),
            told.whole(row[1], f"{where}hours"),
        )
        for row in _Fields(found, told.name).rows("hours", (2,))
    )
    weekdays = [
        told.whole(day, f"{where}weekdays", low=0, high=6)
        for day in found.get("weekdays", (0, 1, 2, 3, 4))
    ]
    calendar = every_day(hours, weekdays)
    off = [told.whole(day, f"{where}off", low=0) for day in found.get("off", ())]
    return Calendar(week=calendar.week, special=tuple((day, ()) for day in off))


# -- published problems ---------------------------------------------------------------------------


def _published(told: "_Fields", name: str) -> ProblemFile:
    kind = told.found.get("kind")
    if kind not in PUBLISHED:
        raise RequestError(
            f"a problem of kind {kind!r}", mend=f"Choose one of: {', '.join(PUBLISHED)}"
        )
    minutes = [
        told.whole(one, f"duration {k}", low=0) for k, one in enumerate(told.listed("duration"))
    ]
    if not minutes or len(minutes) > MOST_OPERATIONS:
        raise RequestError(
            f"{len(minutes)} durations", mend=f"Give at least one, at most {MOST_OPERATIONS}"
        )
    capacity = [
        told.whole(one, f"capacity {k}", low=0) for k, one in enumerate(told.listed("capacity"))
    ]
    demand = told.rows("demand", (len(capacity),))
    if len(demand) != len(minutes):
        raise RequestError(
            f"{len(demand)} rows of demand for {len(minutes)} durations", mend="Give one each"
        )
    problem = Problem(
        operations=tuple(
            Operation(load=k, step=str(k), minutes=one, hands=False)
            for k, one in enumerate(minutes)
        ),
        waits=tuple(_lag(told, row, k, minutes) for k, row in enumerate(told.rows("lags", (3,)))),
        stations=tuple(
            Station(name=f"resource {k}", capacity=one) for k, one in enumerate(capacity)
        ),
        holds=tuple(
            Hold(station=f"resource {k}", first=i, last=i, amount=amount)
            for i, row in enumerate(demand)
            if minutes[i]
            for k, one in enumerate(row)
            if (amount := told.whole(one, f"demand of {i}", low=0))
        ),
    )
    return ProblemFile(name=told.title(), problem=problem, numbers=tuple(range(len(minutes))))


def _lag(told: "_Fields", row: Sequence[Any], number: int, minutes: list[int]) -> Wait:
    """Return start_j >= start_i + d as a wait between end and start."""
    where = f"lags row {number}"
    i, j = (told.whole(one, where, low=0, high=len(minutes) - 1) for one in row[:2])
    lag = told.whole(row[2], where)
    if lag >= 0:
        return Wait(before=i, after=j, least=lag - minutes[i])
    return Wait(before=j, after=i, least=NO_LEAST, most=-lag - minutes[j])


# -- fields ---------------------------------------------------------------------------------------


class _Fields:
    """Fields of the file, refused in words."""

    def __init__(self, found: dict[str, Any], name: str) -> None:
        self.found, self.name = found, name

    def title(self) -> str:
        return str(self.found.get("name", self.name))

    def listed(self, key: str, default: Sequence[Any] | None = None) -> Sequence[Any]:
        value = self.found.get(key, default)
        if not isinstance(value, list | tuple):
            raise RequestError(
                f"{key} is missing" if value is None else f"{key} is not a list",
                mend="Write it as [ ]",
                where=f"{self.name}, {key}",
            )
        return value

    def rows(self, key: str, lengths: tuple[int, ...]) -> Sequence[Sequence[Any]]:
        rows = self.listed(key, None if key in ("ops", "hours", "demand") else ())
        for number, row in enumerate(rows):
            if not isinstance(row, list | tuple) or len(row) not in lengths:
                raise RequestError(
                    f"row {number} of {key} is {str(row)[:60]}",
                    mend=f"Give {' or '.join(map(str, lengths))} values in [ ]",
                    where=f"{self.name}, {key}",
                )
        return rows

    def whole(self, value: object, where: str, *, low: int = -LONGEST, high: int = LONGEST) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise RequestError(
                f"{str(value)[:40]!r} is no whole number from {low} to {high}",
                where=f"{self.name}, {where}",
            )
        return value

    def word(self, value: object, where: str) -> str:
        if not isinstance(value, str) or len(value) > 200:
            raise RequestError(
                f"{str(value)[:40]!r} is no word",
                mend="Write it in quotes",
                where=f"{self.name}, {where}",
            )
        return value

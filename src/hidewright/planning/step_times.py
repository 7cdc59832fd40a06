"""The minutes that steps take: those built in, with the maker's own laid over them."""

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from itertools import chain
from types import MappingProxyType
from typing import Any

from hidewright.catalogue.rows import near
from hidewright.catalogue.step_rows import WorkTime, built_in_times
from hidewright.errors import RequestError

#: What an own time says when it names no source.
OWN_SOURCE = "the maker's own time"


def times_with(own: Sequence[WorkTime] = ()) -> Mapping[str, WorkTime]:
    """Return the time of every kind of work by its name.

    Args:
        own: Rows that take the place of the built-in ones of their names.

    Raises:
        RequestError: When there is no such kind of work, or one is given twice.
    """
    times = {row.name: row for row in built_in_times()}
    names = [row.name for row in own]
    for row in own:
        if row.name not in times:
            raise RequestError(
                f"no step is a {row.name!r}", mend=near(row.name, tuple(times)), where="times"
            )
        if names.count(row.name) > 1:
            raise RequestError(f"the time of {row.name!r} is given twice", where="times")
    return MappingProxyType(times | {row.name: row for row in own})


def told_first(*told: Sequence[WorkTime]) -> tuple[WorkTime, ...]:
    """Return of every kind of work the time that is told first."""
    found: dict[str, WorkTime] = {}
    for row in chain.from_iterable(told):
        found.setdefault(row.name, row)
    return tuple(found.values())


def own_times(changes: Mapping[str, Mapping[str, Any]]) -> tuple[WorkTime, ...]:
    """Return rows of own times from the fields that differ from the built-in ones.

    Example:
        >>> own_times({"sew": {"unit_minutes": 0.3}})[0].minutes(10)
        7.5

    Raises:
        RequestError: When there is no such kind of work, no such field, or it cannot be.
    """
    built_in = times_with()
    known = tuple(f.name for f in fields(WorkTime) if f.name != "name")
    rows: list[WorkTime] = []
    for work, changed in changes.items():
        if work not in built_in:
            raise RequestError(
                f"no step is a {work!r}", mend=near(work, tuple(built_in)), where="times"
            )
        for field in changed:
            if field not in known:
                raise RequestError(
                    f"the time of {work!r} has no {field!r}", mend=near(field, known), where="times"
                )
        rows.append(replace(built_in[work], **{"source": OWN_SOURCE, **changed}))
    return tuple(rows)

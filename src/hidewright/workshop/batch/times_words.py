"""The maker's own times as lines of text, beside those that come with the program."""

import re
from collections.abc import Iterator, Sequence
from typing import Any

from hidewright.catalogue.rows import near
from hidewright.catalogue.step_rows import WorkTime
from hidewright.errors import RequestError
from hidewright.planning.step_times import own_times, times_with
from hidewright.units.minutes import format_minutes, parse_minutes

_HANDS = re.compile(r"([0-9]{1,5}(?:\.[0-9]{1,4})?) min (a load|each|for each (.+))")
_REST = re.compile(r"rest (.+?)(?: to (.+))?")
EXAMPLE = "sew: 2 min a load, 1 min each, 0.3 min for each stitch"


def built_in_time_words() -> str:
    """Return the times that come with the program, a line each."""
    return "\n".join(_line(row, None) for row in times_with().values())


def own_time_words(own: Sequence[WorkTime]) -> str:
    """Return the maker's own times, a line each, with what differs from the built-in ones."""
    built_in = times_with()
    return "\n".join(_line(row, built_in[row.name]) for row in own)


def own_times_of(words: str) -> tuple[WorkTime, ...]:
    """Return own times from lines; what a line does not name stays as it is built in.

    Raises:
        RequestError: When a line is none, or names no kind of work.
    """
    built_in = times_with()
    changes: dict[str, dict[str, Any]] = {}
    for line in filter(None, (one.strip() for one in words.splitlines())):
        name, _, told = (one.strip() for one in line.partition(":"))
        if name not in built_in:
            raise RequestError(f"no step is a {name!r}", mend=near(name, tuple(built_in)))
        if name in changes:
            raise RequestError(f"the time of {name!r} is given twice", mend="Write one line of it")
        parts = [one.strip() for one in told.split(",")]
        changes[name] = {key: one for part in parts for key, one in _part(part, built_in[name])}
    return own_times(changes)


def _part(part: str, row: WorkTime) -> Iterator[tuple[str, float]]:
    if found := _HANDS.fullmatch(part):
        if found[3] and found[3] != row.unit:
            raise RequestError(
                f"{row.name} has no time for each {found[3]}",
                mend="Give its time each"
                if row.unit == "none"
                else f"Write 'min for each {row.unit}'",
            )
        field = {"a load": "load_minutes", "each": "thing_minutes"}.get(found[2], "unit_minutes")
        yield field, float(found[1])
    elif (found := _REST.fullmatch(part)) and row.rest != "none":
        yield "rest_least_minutes", parse_minutes(found[1])
        yield "rest_most_minutes", parse_minutes(found[2]) if found[2] else 0
    else:
        raise RequestError(f"{part!r} is no time of {row.name}", mend=f"Write such as '{EXAMPLE}'")


def _line(row: WorkTime, other: WorkTime | None) -> str:
    """Return a row in words: what differs from another, or all that is not nothing."""
    parts = [
        f"{getattr(row, field):g} min {words}"
        for field, words in (
            ("load_minutes", "a load"),
            ("thing_minutes", "each"),
            ("unit_minutes", f"for each {row.unit}"),
        )
        if getattr(row, field) != (getattr(other, field) if other else 0.0)
    ]
    rest = (row.rest_least_minutes, row.rest_most_minutes)
    if rest != ((other.rest_least_minutes, other.rest_most_minutes) if other else (0.0, 0.0)):
        least, most = (format_minutes(round(one)) for one in rest)
        parts.append(f"rest {least} to {most}" if rest[1] else f"rest {least}")
    return f"{row.name}: {', '.join(parts) or f'{row.thing_minutes:g} min each'}"

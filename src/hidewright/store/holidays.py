"""Holidays out of a calendar file: whole days, the ones that come again every year too."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import islice
from typing import Any

from hidewright.errors import RequestError
from hidewright.planning.hands import DaysOff

LARGEST_BYTES = 2_000_000
#: A calendar of holidays has no more days, and nothing in it comes again more often.
MOST = 2000


def read_holidays(data: bytes, *, name: str, first: date, last: date) -> tuple[DaysOff, ...]:
    """Return the all-day events of an iCalendar file between two days.

    Args:
        data: The file's bytes.
        name: The file's name, for errors.
        first: No event that ends before is returned.
        last: Nor one that begins later; what recurs is laid out until then.

    Raises:
        RequestError: When it is no calendar, or holds no all-day event.
    """
    from icalendar import Calendar

    if len(data) > LARGEST_BYTES:
        raise RequestError(
            f"{name} has {len(data) / 1e6:.1f} MB",
            because=f"a calendar of holidays has at most {LARGEST_BYTES / 1e6:g} MB",
            mend="Save the holidays alone",
        )
    try:
        events = Calendar.from_ical(data).walk("VEVENT")
        whole, found = _whole_days(events, first, last)
    except (ValueError, AttributeError, IndexError, TypeError) as broken:
        raise RequestError(
            f"{name} is no calendar that can be read",
            because=str(broken)[:200],
            mend="Save the calendar anew as an .ics file",
        ) from None
    if not whole:
        raise RequestError(
            f"{name} holds no whole days",
            because="only all-day events are days off",
            mend="Enter the holidays as all-day events, or type them in",
        )
    return tuple(DaysOff(first=one, last=end, why=why) for (one, end), why in sorted(found.items()))


def _whole_days(events: Any, first: date, last: date) -> tuple[int, dict[tuple[date, date], str]]:
    """Return how many events last whole days, and the days of those between two days."""
    found: dict[tuple[date, date], str] = {}
    whole = 0
    for event in events:
        days = _days(event)
        if days is None:
            continue
        whole += 1
        for begin in _begins(event, days[0], last):
            end = begin + (days[1] - days[0])
            if end >= first and begin <= last and len(found) < MOST:
                found.setdefault((begin, end), str(event.get("SUMMARY", ""))[:120])
    return whole, found


def _days(event: Any) -> tuple[date, date] | None:
    """Return first and last day of an all-day event; None for one with a time of day."""
    start = event.get("DTSTART")
    if start is None or isinstance(start.dt, datetime):
        return None
    end = event.get("DTEND")
    if end is not None and not isinstance(end.dt, datetime):
        return start.dt, max(start.dt, end.dt - timedelta(days=1))
    length = event.get("DURATION")
    if length is not None:
        return start.dt, max(start.dt, start.dt + length.dt - timedelta(days=1))
    return start.dt, start.dt


def _begins(event: Any, begin: date, last: date) -> Iterator[date]:
    """Yield the days on which an event begins until a last one."""
    from dateutil.rrule import rrulestr  # type: ignore[import-untyped]

    rule = event.get("RRULE")
    left_out = _listed(event.get("EXDATE"))
    days = {begin, *_listed(event.get("RDATE"))}
    if rule is not None:
        text = ";".join(
            part for part in rule.to_ical().decode().split(";") if not part.startswith("UNTIL=")
        )
        until = rule.get("UNTIL")
        stop = min(last, _day(until[0])) if until else last
        start = datetime.combine(begin, datetime.min.time())
        for one in islice(rrulestr(text, dtstart=start), MOST):
            if one.date() > stop:
                break
            days.add(one.date())
    yield from sorted(days - left_out)


def _listed(value: Any) -> set[date]:
    if value is None:
        return set()
    lists = value if isinstance(value, list) else [value]
    return {_day(one.dt) for listed in lists for one in listed.dts}


def _day(value: Any) -> date:
    return value.date() if isinstance(value, datetime) else value

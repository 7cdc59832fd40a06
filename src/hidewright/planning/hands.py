"""Pairs of hands: when each works in a week, which days are off, and that as minutes.

Minutes are counted from 00:00 of a Monday by the clock on the wall, every day having 24 hours of
them; ``wall_clock`` turns them into minutes that pass.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from hidewright.errors import RequestError
from hidewright.planning.calendar import DAY, Calendar, Windows, clock

Week = tuple[Windows, Windows, Windows, Windows, Windows, Windows, Windows]
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
#: Morning and afternoon with a break between; nobody works at the weekend.
_USUAL: Windows = ((9 * 60, 12 * 60 + 30), (13 * 60 + 30, 17 * 60))
USUAL_WEEK: Week = (_USUAL, _USUAL, _USUAL, _USUAL, _USUAL, (), ())
#: No one is away longer.
LONGEST_DAYS = 1000
_WINDOW = re.compile(r"(\d{1,2})(?::(\d\d))?\s*-\s*(\d{1,2})(?::(\d\d))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysOff:
    """Days on which nobody, or someone, does not work.

    Attributes:
        first: The first of them.
        last: The last of them.
        why: In words, such as the name of a holiday.
    """

    first: date
    last: date
    why: str = ""

    def __post_init__(self) -> None:
        if not 0 <= (self.last - self.first).days < LONGEST_DAYS:
            raise RequestError(
                f"days off from {self.first} to {self.last}",
                mend="Give a last day that is not before the first, and not years later",
                where="days_off",
            )

    @property
    def words(self) -> str:
        """Return them as they are written, such as ``2026-12-24 to 2026-12-26, Christmas``."""
        until = f" to {self.last}" if self.last != self.first else ""
        return f"{self.first}{until}" + (f", {self.why}" if self.why else "")

    def days(self) -> Iterable[date]:
        """Return each of the days."""
        return (self.first + timedelta(days=k) for k in range((self.last - self.first).days + 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Hands:
    """A pair of hands.

    Attributes:
        name: Whose.
        week: Working windows of Monday to Sunday, minutes of the day; breaks are between them.
        days_off: Days away.
    """

    name: str
    week: Week = USUAL_WEEK
    days_off: tuple[DaysOff, ...] = ()

    def __post_init__(self) -> None:
        if not self.name.strip() or len(self.name) > 60:
            raise RequestError("hands without a name", mend="Give a short name", where="hands")
        Calendar(week=self.week)

    def calendar(
        self,
        monday: date,
        holidays: Iterable[DaysOff] = (),
        shifts: tuple[tuple[int, int], ...] = (),
    ) -> Calendar:
        """Return when they work, in minutes from a Monday.

        Args:
            monday: The day that minute 0 begins.
            holidays: Days off of everybody.
            shifts: Of the clock on the wall, for minutes that pass.
        """
        off = {
            (day - monday).days
            for one in (*holidays, *self.days_off)
            for day in one.days()
            if day >= monday
        }
        special = tuple((day, ()) for day in sorted(off))
        return Calendar(week=self.week, special=special, shifts=shifts)


def monday_of(day: date) -> date:
    """Return the Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def minute_of(when: datetime, monday: date) -> int:
    """Return the minute of a local time, counted from a Monday."""
    return (when.date() - monday).days * DAY + when.hour * 60 + when.minute


def day_of(minute: int, monday: date) -> date:
    """Return the day that a minute lies in."""
    return monday + timedelta(days=minute // DAY)


def time_of(minute: int, monday: date) -> datetime:
    """Return the local time of a minute."""
    return datetime.combine(monday, datetime.min.time()) + timedelta(minutes=minute)


def windows_of(words: str, where: str = "") -> Windows:
    """Return working windows from words; nothing for a day without work.

    >>> windows_of("9-12:30, 13:30-17:00")
    ((540, 750), (810, 1020))

    Raises:
        RequestError: When they are no times, or not in order within one day.
    """
    out: list[tuple[int, int]] = []
    for part in (one.strip() for one in words.split(",")):
        if not part or part in ("-", "off"):
            continue
        found = _WINDOW.fullmatch(part)
        if found is None:
            raise RequestError(
                f"{part!r} is no time at work",
                mend="Write such as 9:00-12:30, 13:30-17:00",
                where=where,
            )
        begin, begin_min, end, end_min = (int(text or 0) for text in found.groups())
        out.append((60 * begin + begin_min, 60 * end + end_min))
    windows = tuple(out)
    try:
        Calendar(week=(windows or _USUAL, (), (), (), (), (), ()))
    except RequestError as refused:
        raise refused.at(where) from None
    return windows


def words_of(windows: Windows) -> str:
    """Return working windows in words, ``off`` for none.

    >>> words_of(((540, 750),))
    '09:00-12:30'
    """
    return ", ".join(f"{clock(begin)}-{_end(end)}" for begin, end in windows) or "off"


def days_off_of(words: str) -> DaysOff:
    """Return days off from words; what stands behind a comma is the reason.

    >>> days_off_of("2026-12-24 to 2026-12-26, Christmas").why
    'Christmas'

    Raises:
        RequestError: When they are no days.
    """
    days, _, why = words.partition(",")
    first, _, last = (one.strip() for one in days.partition(" to "))
    try:
        begin = date.fromisoformat(first)
        end = date.fromisoformat(last) if last else begin
    except ValueError:
        raise RequestError(
            f"{words!r} is no day",
            mend="Write such as 2026-12-24, or 2026-12-24 to 2026-12-26, Christmas",
        ) from None
    return DaysOff(first=begin, last=end, why=why.strip())


def _end(minute: int) -> str:
    return "24:00" if minute == DAY else clock(minute)

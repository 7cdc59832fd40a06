"""The clock on the wall and the minutes that really pass, where clocks are put forward and back.

Work goes by the clock on the wall; leather dries by minutes that pass. The planner counts those,
from 00:00 of its Monday. In a zone without a change, or with none named, both are the same.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from hidewright.errors import RequestError
from hidewright.planning.calendar import DAY

#: Changes of the clock are looked for so many days ahead.
AHEAD = 550


def zone_called(name: str) -> ZoneInfo | None:
    """Return a time zone by its name in the tz database; None for an empty one.

    Raises:
        RequestError: When there is none of that name.
    """
    if not name:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise RequestError(
            f"there is no time zone {name!r}",
            mend="Write such as Europe/Vienna or America/Chicago, or leave it empty",
            where="zone",
        ) from None


@dataclass(frozen=True, slots=True)
class WallClock:
    """Minutes of the clock on the wall, and minutes that pass, both from 00:00 of a Monday.

    Attributes:
        zone: Name of the time zone; empty for clocks that are never changed.
        monday: The day that minute 0 begins.
    """

    zone: str
    monday: date

    def passed(self, wall: int) -> int:
        """Return the minutes that have passed when the clock shows a minute.

        An hour that is shown twice is taken to be the first.
        """
        zone = zone_called(self.zone)
        if zone is None:
            return wall
        begin = datetime.combine(self.monday, time(), tzinfo=zone)
        return _minutes((begin + timedelta(minutes=wall)).astimezone(UTC) - begin.astimezone(UTC))

    def shown(self, passed: int) -> int:
        """Return the minute that the clock shows when some have passed."""
        zone = zone_called(self.zone)
        if zone is None:
            return passed
        begin = datetime.combine(self.monday, time(), tzinfo=zone)
        then = (begin.astimezone(UTC) + timedelta(minutes=passed)).astimezone(zone)
        return _minutes(then.replace(tzinfo=None) - begin.replace(tzinfo=None))

    def shifts(self) -> tuple[tuple[int, int], ...]:
        """Return (day, minutes by which its noon comes later than without any change), by day.

        Only days on which that becomes another number.
        """
        if not self.zone:
            return ()
        out: list[tuple[int, int]] = []
        for day in range(AHEAD):
            noon = day * DAY + DAY // 2
            later = self.passed(noon) - noon
            if later != (out[-1][1] if out else 0):
                out.append((day, later))
        return tuple(out)


def _minutes(length: timedelta) -> int:
    return length // timedelta(minutes=1)

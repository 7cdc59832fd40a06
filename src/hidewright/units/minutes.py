"""Working and waiting times in whole minutes."""

import re
from typing import NoReturn

from hidewright.units.number import number_and_unit, refuse

_WANTED = "a time"
MINUTES_EXAMPLES = ("90 min", "1.5 h", "1 h 30 min")
_HOURS_AND_MINUTES = re.compile(r"\s*([0-9]{1,6})\s*h\s*([0-9]{1,2})\s*min\s*")


def parse_minutes(text: str) -> int:
    """Read a time into whole minutes, 0 or more.

    >>> parse_minutes("1 h 30 min")
    90
    """
    both = _HOURS_AND_MINUTES.fullmatch(text)
    if both:
        hours, minutes = int(both[1]), int(both[2])
        if minutes >= 60:
            _refuse(text, "the minutes behind the hours are 60 or more")
        return hours * 60 + minutes
    number, unit = number_and_unit(text, wanted=_WANTED, accepted=MINUTES_EXAMPLES)
    if unit not in ("min", "h"):
        said = f"the unit {unit!r} is not known for {_WANTED}"
        _refuse(text, said if unit else "it has no unit, and a unit is never guessed")
    exact = number * 60 if unit == "h" else number
    if exact < 0:
        _refuse(text, "it is negative")
    if exact.denominator != 1:
        _refuse(text, "it is not whole minutes")
    return int(exact)


def format_minutes(minutes: int) -> str:
    """Write whole minutes, with hours from 60 on.

    >>> format_minutes(45), format_minutes(90), format_minutes(120)
    ('45 min', '1 h 30 min', '2 h')
    """
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def _refuse(text: str, because: str) -> NoReturn:
    refuse(text, wanted=_WANTED, because=because, accepted=MINUTES_EXAMPLES)

"""The workshop's settings as lines of text that a maker edits."""

from collections.abc import Sequence

from hidewright.errors import RequestError
from hidewright.planning.goals import GoalName
from hidewright.planning.hands import (
    WEEKDAYS,
    DaysOff,
    Week,
    days_off_of,
    windows_of,
    words_of,
)
from hidewright.planning.own_step import OwnStep
from hidewright.planning.workshop import GOALS


def week_words(week: Week) -> str:
    """Return the hours of a week, a line for each day."""
    return "\n".join(
        f"{day}: {words_of(windows)}" for day, windows in zip(WEEKDAYS, week, strict=True)
    )


def week_of(words: str) -> Week:
    """Return the hours of a week from its lines; a day that is left out is off.

    Raises:
        RequestError: When a line is no weekday with its hours.
    """
    days = {day: windows_of("") for day in WEEKDAYS}
    for line in filter(None, (one.strip() for one in words.splitlines())):
        name, colon, hours = line.partition(":")
        found = [day for day in WEEKDAYS if len(name) > 1 and day.lower().startswith(name.lower())]
        if not colon or len(found) != 1:
            raise RequestError(
                f"{line!r} is no weekday with its hours",
                mend="Write such as Monday: 9:00-12:30, 13:30-17:00",
            )
        days[found[0]] = windows_of(hours.strip())
    got = list(days.values())
    return (got[0], got[1], got[2], got[3], got[4], got[5], got[6])


def days_off_words(days: Sequence[DaysOff]) -> str:
    """Return days off, a line each."""
    return "\n".join(one.words for one in days)


def days_off_lines(words: str) -> tuple[DaysOff, ...]:
    """Return days off from lines."""
    return tuple(days_off_of(one) for one in words.splitlines() if one.strip())


def goals_of(words: str) -> tuple[GoalName, ...]:
    """Return goals in order from words between commas.

    Raises:
        RequestError: When there is no such goal.
    """
    found: list[GoalName] = []
    for word in (one.strip() for one in words.split(",")):
        goal = next((one for one in GOALS if one == word), None)
        if goal is None:
            raise RequestError(
                f"no goal is {word!r}", mend=f"Write some of these in order: {', '.join(GOALS)}"
            )
        found.append(goal)
    return tuple(found)


def own_step_words(steps: Sequence[OwnStep]) -> str:
    """Return the maker's changes to the steps, a line each."""
    return "\n".join(map(_own_step, steps))


def _own_step(one: OwnStep) -> str:
    match one.what:
        case "leave out":
            return f"leave out: {one.step}"
        case "move":
            return f"move: {one.step} behind {one.behind}"
        case "add":
            return f"add: {one.step} behind {one.behind}, {one.minutes:g} min"

"""Values of an orders file, each refused with its file, line and field."""

import re
from collections.abc import Callable
from datetime import date, datetime
from typing import TypeVar

import yaml

from hidewright.errors import RequestError
from hidewright.store.fields import Place, word
from hidewright.units.minutes import parse_minutes

T = TypeVar("T")


def told_at(make: Callable[[], T], node: yaml.Node, place: Place) -> T:
    """Return what is made, a refusal told with its place in the file."""
    try:
        return make()
    except RequestError as refused:
        inner = f", {refused.where}" if refused.where and refused.where not in place.path else ""
        raise RequestError(
            refused.what,
            because=refused.because,
            mend=refused.mend,
            where=place.at(node) + inner,
        ) from None


def whole(node: yaml.Node, place: Place) -> int:
    """Return a whole number, 0 or more."""
    text = word(node, place)
    if not re.fullmatch(r"\d{1,6}", text):
        raise RequestError(
            f"{text!r} is no whole number", mend="Write such as 12", where=place.at(node)
        )
    return int(text)


def number(text: str, node: yaml.Node, place: Place) -> float:
    """Return a finite number."""
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not -1e6 <= value <= 1e6:
        raise RequestError(
            f"{text!r} is no number",
            mend="Write 50 % as 0.5" if "%" in text else "Write such as 0.5 or 20",
            where=place.at(node),
        )
    return value


def minutes(node: yaml.Node, place: Place) -> int:
    """Return whole minutes, such as of ``12 h``."""
    return told_at(lambda: parse_minutes(word(node, place)), node, place)


def day(node: yaml.Node, place: Place) -> date:
    """Return a day, such as 2026-12-24."""
    text = word(node, place)
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise RequestError(
            f"{text!r} is no day", mend="Write such as 2026-12-24", where=place.at(node)
        ) from None


def local_time(node: yaml.Node, place: Place) -> datetime:
    """Return a local time, such as 2026-11-30 08:00."""
    text = word(node, place)
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None:
        raise RequestError(
            f"{text!r} is no local time",
            mend="Write such as 2026-11-30 08:00",
            where=place.at(node),
        )
    return found

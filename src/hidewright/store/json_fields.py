"""Fields of a JSON file, read one by one: each refusal names the field and what is accepted."""

import json
import math
from dataclasses import dataclass
from typing import Any

from hidewright.design.hide import Corners
from hidewright.errors import RequestError

#: A dozen digitised hides have about 0.4 MB.
LARGEST_BYTES = 8_000_000
MOST_CORNERS = 20_000
#: Wider than any hide in any unit a problem may be in.
LARGEST = 1e7


def parsed(data: bytes, name: str, what: str) -> Any:
    """Return the content of a JSON file; ``what`` says what it should be, for errors.

    Raises:
        RequestError: When it is too large, no JSON, or holds numbers that are not finite.
    """
    if len(data) > LARGEST_BYTES:
        raise RequestError(
            f"{len(data) / 1e6:.1f} MB long",
            because=f"{what} has at most {LARGEST_BYTES / 1e6:g} MB",
            mend=f"Check that this is {what}",
            where=name,
        )
    try:
        return json.loads(data.decode("utf-8-sig"), parse_constant=_no_constant)
    except UnicodeDecodeError as broken:
        raise RequestError(
            f"byte {broken.start} is not UTF-8 text", mend="Save the file as UTF-8", where=name
        ) from None
    except json.JSONDecodeError as broken:
        raise RequestError(
            f"line {broken.lineno} is not JSON", because=broken.msg, where=name
        ) from None
    except RequestError as refused:
        raise refused.at(name) from None
    except (RecursionError, ValueError):
        raise RequestError(
            "the file is nested too deeply or has endless numbers", where=name
        ) from None


def _no_constant(word: str) -> float:
    raise RequestError(f"the number {word}", mend="Give finite numbers")


@dataclass(frozen=True, slots=True)
class Fields:
    """The fields of one JSON object, and where it stands; each is refused by name when wrong."""

    found: Any
    place: str

    def __post_init__(self) -> None:
        if not isinstance(self.found, dict):
            raise RequestError("no object with fields", mend="Write {...}", where=self.place)

    def at(self, key: str) -> str:
        """Return where a field stands, for errors."""
        return f"{self.place}, {key}"

    def raw(self, key: str) -> Any:
        """Return a field as it is, which must be there."""
        if key not in self.found:
            raise RequestError(f"{key} is missing", where=self.place)
        return self.found[key]

    def has(self, key: str) -> bool:
        """Whether a field is there and not null."""
        return self.found.get(key) is not None

    def text(self, key: str) -> str:
        """Return a name."""
        value = self.raw(key)
        if not isinstance(value, (str, int)) or isinstance(value, bool) or len(str(value)) > 200:
            raise RequestError(f"{str(value)[:80]!r} is no name", where=self.at(key))
        return str(value)

    def number(self, key: str, *, low: float, default: float | None = None) -> float:
        """Return a finite number of at least ``low``."""
        if default is not None and not self.has(key):
            return default
        value = finite(self.raw(key), self.at(key))
        if not low <= value <= LARGEST:
            raise RequestError(
                f"{value:g}", because=f"it must be {low:g} to {LARGEST:g}", where=self.at(key)
            )
        return value

    def count(self, key: str, *, low: int, high: int, default: int | None = None) -> int:
        """Return a whole number."""
        if default is not None and not self.has(key):
            return default
        value = self.raw(key)
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            raise RequestError(
                f"{str(value)[:80]}",
                because=f"it must be a whole number from {low} to {high}",
                where=self.at(key),
            )
        return value

    def flag(self, key: str) -> bool:
        """Return a switch, off when it is not there."""
        value = self.found.get(key, False)
        if not isinstance(value, bool):
            raise RequestError(f"{str(value)[:80]}", mend="Write true or false", where=self.at(key))
        return value

    def objects(self, key: str, most: int, *, needed: bool = False) -> "list[Fields]":
        """Return a list of objects."""
        value = self.found.get(key) or []
        if not isinstance(value, list) or len(value) > most or (needed and not value):
            raise RequestError(
                f"no list of 1 to {most}" if needed else f"no list of at most {most}",
                where=self.at(key),
            )
        return [Fields(one, f"{self.at(key)}[{n}]") for n, one in enumerate(value)]

    def corners(self, key: str) -> Corners:
        """Return a polygon."""
        return _corners(self.raw(key), self.at(key))

    def rings(self, key: str) -> tuple[Corners, ...]:
        """Return polygons, none when the field is not there."""
        value = self.found.get(key) or []
        if not isinstance(value, list) or len(value) > MOST_CORNERS:
            raise RequestError("no list of outlines", where=self.at(key))
        return tuple(_corners(one, f"{self.at(key)}[{n}]") for n, one in enumerate(value))


def finite(value: Any, where: str) -> float:
    """Return a number that has an end."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise RequestError(f"{str(value)[:80]!r} is no number", where=where)
    number = float(value) if abs(value) < 1e300 else math.inf
    if not math.isfinite(number):
        raise RequestError("an endless number", mend="Give finite numbers", where=where)
    return number


def _corners(value: Any, where: str) -> Corners:
    if not isinstance(value, list) or not 3 <= len(value) <= MOST_CORNERS:
        raise RequestError(
            "no outline", because=f"it must be a list of 3 to {MOST_CORNERS} corners", where=where
        )
    corners: list[tuple[float, float]] = []
    for n, one in enumerate(value):
        if not isinstance(one, list) or len(one) != 2:
            raise RequestError(f"{str(one)[:80]} is no corner", mend="Write [x, y]", where=where)
        x, y = (finite(v, f"{where}[{n}]") for v in one)
        if max(abs(x), abs(y)) > LARGEST:
            raise RequestError(f"corner {n} lies beyond {LARGEST:g}", where=where)
        if (x, y) not in corners[-1:]:
            corners.append((x, y))
    return tuple(corners[:-1] if corners[0] == corners[-1] else corners)

"""A row of words and numbers to a noun of the catalogue, and back, with errors a maker can mend."""

import difflib
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, Field, fields
from types import UnionType
from typing import ClassVar, Literal, Protocol, TypeVar, get_args, get_origin, get_type_hints

from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline, outline
from hidewright.geometry.segment import Segment
from hidewright.units.length import parse_length
from hidewright.units.measure import parse_mass
from hidewright.units.thickness import parse_leather_thickness


class Row(Protocol):
    """What every noun of the catalogue is: a dataclass with a name."""

    __dataclass_fields__: ClassVar[dict[str, Field[object]]]

    @property
    def name(self) -> str:
        """The name, unique within its kind."""


RowT = TypeVar("RowT", bound=Row)
T = TypeVar("T")
Words = Mapping[str, object]


def noun_from_row(noun: type[RowT], row: Words, *, where: str = "") -> RowT:
    """Return a noun from one row, keyed by its fields.

    A measure is a plain number under the field's name with its unit (``diameter_mm: 12.7``) or a
    text with a unit under the name without (``diameter: 1/2 in``, ``thickness: 3-4 oz``).

    Raises:
        RequestError: When a field is unknown, missing, or of the wrong sort.
    """
    kind = noun.__name__.lower()
    try:
        hints = get_type_hints(noun)
        named = _with_units_read(row, tuple(hints))
        _must_know(named, tuple(hints), kind)
        values = {key: _value(key, hints[key], value) for key, value in named.items()}
        for field in fields(noun):
            if field.default is MISSING and field.name not in values:
                raise RequestError(
                    f"a {kind} without {field.name}",
                    mend=f"It needs: {', '.join(_required(noun))}",
                )
        return noun(**values)
    except RequestError as refused:
        raise refused.at(where) from None


def row_from_noun(noun: Row) -> dict[str, object]:
    """Return the row of a noun: every field that is not at its default."""
    row: dict[str, object] = {}
    for field in fields(noun):
        value = getattr(noun, field.name)
        if value == field.default and field.default is not MISSING:
            continue
        if isinstance(value, Outline):
            row[field.name] = [
                [*s.start, s.bulge] if s.is_arc else [*s.start] for s in value.segments
            ]
        else:
            row[field.name] = list(value) if isinstance(value, tuple) else value
    return row


def near(word: str, known: Sequence[str]) -> str:
    """Return a sentence that names the nearest known words, or all of them if none is near."""
    lowered = {k.lower(): k for k in known}
    close = difflib.get_close_matches(word.lower(), lowered, n=5, cutoff=0.55)
    if close:
        return f"Did you mean: {', '.join(lowered[c] for c in close)}?"
    shown = ", ".join(known[:40])
    return f"There are: {shown}{', ...' if len(known) > 40 else ''}" if known else "There are none"


def _with_units_read(row: Words, known: tuple[str, ...]) -> dict[str, object]:
    """Return the row with ``diameter: 1/2 in`` turned into ``diameter_mm: 12.7``."""
    out: dict[str, object] = {}
    for key, value in row.items():
        read: dict[str, object] = {key: value}
        if isinstance(value, str) and key not in known:
            if key == "thickness" and "thickness_min_mm" in known:
                thin, thick = _of(key, parse_leather_thickness, value)
                read = {"thickness_min_mm": thin, "thickness_max_mm": thick}
            elif f"{key}_mm" in known:
                read = {f"{key}_mm": _of(key, parse_length, value)}
            elif f"{key}_g" in known:
                read = {f"{key}_g": _of(key, parse_mass, value)}
        for name, one in read.items():
            if name in out:
                raise RequestError(f"{name} is given twice, with and without its unit")
            out[name] = one
    return out


def _of(field: str, parse: Callable[[str], T], text: str) -> T:
    """Return a measure with a unit, its field named where it is none."""
    try:
        return parse(text)
    except RequestError as refused:
        raise RequestError(
            f"{field}: {refused.what}", because=refused.because, mend=refused.mend
        ) from None


def _must_know(row: Words, known: tuple[str, ...], kind: str) -> None:
    for key in row:
        if key not in known:
            raise RequestError(f"a {kind} has no {key!r}", mend=near(key, known))


def _number_wanted(field: str, unit: str, told: str) -> str:
    """Return what to do about a text where a number of a unit belongs."""
    if unit not in ("mm", "g"):
        return ""
    said = f"Write it in {unit}, such as {field}: {1.5 if 'thickness' in field else 12}"
    return f"{said}; or both at once, as thickness: 3-4 oz" if "oz" in told else said


def _required(noun: type[Row]) -> list[str]:
    return [f.name for f in fields(noun) if f.default is MISSING]


def _value(field: str, hint: object, value: object) -> object:
    """Return one value of a row as its field's type, or refuse it."""
    if hint is float:
        if isinstance(value, int | float) and not isinstance(value, bool):
            return float(value)  # the nouns refuse nan and inf
        unit = field.rpartition("_")[2]
        raise RequestError(
            f"{field} is {value!r}",
            because="it must be a plain number",
            mend=_number_wanted(field, unit, str(value)),
        )
    if hint is str or hint is bool:
        if isinstance(value, hint) and value != "":
            return value
        wanted = "a text" if hint is str else "true or false"
        raise RequestError(f"{field} is {value!r}", because=f"it must be {wanted}")
    if get_origin(hint) is Literal:
        if value in get_args(hint):
            return value
        choices = ", ".join(str(c) for c in get_args(hint))
        raise RequestError(f"{field} is {value!r}", mend=f"Choose one of: {choices}")
    if get_origin(hint) is tuple:
        if isinstance(value, list | tuple):
            return tuple(_value(field, get_args(hint)[0], one) for one in value)
        raise RequestError(f"{field} is {value!r}", because="it must be a list, such as [compass]")
    if get_origin(hint) is UnionType and Outline in get_args(hint):
        return value if isinstance(value, Outline) else _outline(field, value)
    raise TypeError(f"no way to read {field} of type {hint}")


def _outline(field: str, value: object) -> Outline:
    """Return an outline from corners [x, y] or [x, y, bulge to the next corner], mm."""
    corners: list[tuple[float, float, float]] = []
    for corner in value if isinstance(value, list | tuple) else ():
        numbers = corner if isinstance(corner, list | tuple) else ()
        plain = [float(n) for n in numbers if isinstance(n, int | float) and math.isfinite(n)]
        if len(plain) != len(numbers) or len(plain) not in (2, 3):
            raise RequestError(
                f"{field}: the corner {corner!r}",
                mend="Write a corner as [x, y], or [x, y, bulge] where an arc begins, in mm",
            )
        corners.append((plain[0], plain[1], plain[2] if len(plain) == 3 else 0.0))
    if len(corners) < 2:
        raise RequestError(f"{field} has fewer than two corners")
    following = corners[1:] + corners[:1]
    return outline(
        Segment(start=(x, y), end=(nx, ny), bulge=bulge)
        for (x, y, bulge), (nx, ny, _) in zip(corners, following, strict=True)
    )

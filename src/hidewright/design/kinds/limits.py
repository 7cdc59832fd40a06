"""How a kind refuses measures that do not go together: the field, why, and what would."""

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

from hidewright.design.measure import check_limits, file_name
from hidewright.errors import Remedy, RequestError
from hidewright.units.quantity import format as written

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

M = TypeVar("M", bound="DataclassInstance")

#: Measures that make a hollow larger as they grow.
SIZES = ("width_mm", "length_mm", "height_mm", "depth_mm", "tray_depth_mm", "ease_mm")
#: Those of them that make it wider.
WIDTHS = ("width_mm", "ease_mm")
#: Measures may miss a limit by this much, so that exact halves and sums are accepted, mm.
SLACK_MM = 1e-9


@contextmanager
def about(field: str) -> Iterator[None]:
    """Name the measure to change in any refusal raised inside, unless it names one already.

    Args:
        field: Name in the design file, such as ``corner_radius``.
    """
    try:
        yield
    except RequestError as error:
        raise error.at(f"measures.{field}") from error


def must_be_at_most(field: str, value_mm: float, limit_mm: float, because: str) -> None:
    """Refuse a length over a limit that other measures set.

    Raises:
        RequestError: With the largest value, rounded down to 0.1 mm, that would do.
    """
    if value_mm > limit_mm + SLACK_MM:
        most = math.floor(limit_mm * 10 + 1e-6) / 10
        raise RequestError(
            f"{field.replace('_', ' ')} of {value_mm:g} mm",
            because=because,
            mend=f"Give at most {most:g} mm" if most > 0 else "Change the other measure",
            where=f"measures.{field}",
        )


def must_be_at_least(field: str, value_mm: float, limit_mm: float, because: str) -> None:
    """Refuse a length under a limit that other measures set.

    Raises:
        RequestError: With the smallest value, rounded up to 0.1 mm, that would do.
    """
    if value_mm < limit_mm - SLACK_MM:
        raise RequestError(
            f"{field.replace('_', ' ')} of {value_mm:g} mm",
            because=because,
            mend=f"Give at least {math.ceil(limit_mm * 10 - 1e-6) / 10:g} mm",
            where=f"measures.{field}",
        )


def raised_to_least(measures: M) -> M:
    """Return measures with those below their declared least raised to it.

    A hollow sized for something small is then larger than it needs to be.
    """
    least: dict[str, Any] = {
        one.name: max(getattr(measures, one.name), one.metadata["low"])
        for one in fields(measures)
        if one.metadata.get("low") is not None
    }
    return replace(measures, **least)


def grown_by(measures: M, fitting: M) -> tuple[Remedy, ...]:
    """Return the one remedy that enlarges a hollow to sizes that fit; none where it cannot be made.

    A size that is larger than it needs to be stays. Other measures follow the fitting ones only
    where the hollow becomes wider, since they may stand in the way of that.

    Args:
        measures: As they are.
        fitting: From the kind's ``sized_for``.
    """
    now = {one.name: getattr(measures, one.name) for one in fields(measures)}
    sizes = {name: max(now[name], getattr(fitting, name)) for name in SIZES if name in now}
    widens = any(sizes.get(name, 0.0) > now.get(name, 0.0) for name in WIDTHS)
    grown = replace(fitting if widens else measures, **sizes)
    try:
        check_limits(grown, "measures")
    except RequestError:
        return ()
    changed = [
        (f"measures.{file_name(one.name)}", written(one.metadata["quantity"], new))
        for one in fields(measures)
        if "quantity" in one.metadata and (new := getattr(grown, one.name)) != now[one.name]
    ]
    if not changed:
        return ()
    (first, value), *rest = changed
    return (Remedy(field=first, value=value, also=tuple(rest)),)

"""How a field of a design file is declared: its quantity, default, meaning and limits."""

import math
from dataclasses import field, fields
from typing import Any

from hidewright.errors import RequestError
from hidewright.units.quantity import Quantity
from hidewright.units.quantity import format as written


def measure(
    quantity: Quantity,
    default: float,
    says: str,
    *,
    low: float | None = None,
    high: float | None = None,
) -> Any:
    """Declare a measure of a kind: its quantity, default, meaning and limits (inside units)."""
    about = {"quantity": quantity, "says": says, "low": low, "high": high}
    return field(default=default, metadata=about)


def listed(quantity: Quantity, says: str) -> Any:
    """Declare a list of values of one quantity, none at first: its quantity and meaning.

    The kind checks them against its other measures.
    """
    return field(default=(), metadata={"each": quantity, "says": says})


def choice(default: str, says: str) -> Any:
    """Declare a choice of words; the words are the field's ``Literal``."""
    return field(default=default, metadata={"says": says})


def switch(default: bool, says: str) -> Any:
    """Declare a yes or no."""
    return field(default=default, metadata={"says": says})


def check_limits(measures: object, section: str) -> None:
    """Refuse measures outside their declared limits, with the field's name and what is allowed.

    Raises:
        RequestError: For the first value outside.
    """
    for one in fields(measures):  # type: ignore[arg-type]
        about = one.metadata
        if "quantity" not in about:
            continue
        value, q = getattr(measures, one.name), about["quantity"]
        low, high = about["low"], about["high"]
        bad = not math.isfinite(value)
        if bad or (low is not None and value < low) or (high is not None and value > high):
            in_words = file_name(one.name).replace("_", " ")
            allowed = " to ".join(written(q, v) for v in (low, high) if v is not None)
            raise RequestError(
                f"{in_words} of {value if bad else written(q, value)}",
                because="it is outside what can be made",
                mend=f"Allowed: {allowed}",
                where=f"{section}.{file_name(one.name)}",
            )


def file_name(field_name: str) -> str:
    """Return a field's name in the design file: without its unit, underscores kept.

    >>> file_name("crown_radius_mm")
    'crown_radius'
    """
    for unit in ("_mm", "_g", "_T", "_N", "_MPa", "_rad"):
        if field_name.endswith(unit):
            return field_name[: -len(unit)]
    return field_name

"""Checks that every noun of the catalogue shares: its name, its source, sizes above nothing."""

import math

from hidewright.errors import RequestError


def must_be_named(kind: str, name: str, source: str) -> None:
    """Refuse a row without a name or without a word on where its figures come from."""
    if not name.strip():
        raise RequestError(f"a {kind} without a name")
    if not source.strip():
        raise RequestError(
            f"{name}: no source",
            because="every row says where its figures come from",
            mend="Name the page or maker, or write: from memory, measured here",
        )


def must_lie_between(name: str, least: float, most: float, **sizes: float) -> None:
    """Refuse a size that there is nowhere on a bench; the keyword is the field's name.

    A slip of the point or a figure in another unit would otherwise be reckoned with, for minutes
    where it is huge.
    """
    for field, value in sizes.items():
        if not least <= value <= most:  # nan is neither
            raise RequestError(
                f"{name}: {field} is {value:g}",
                because=f"it lies between {least:g} and {most:g}",
                mend="Write 1.5 % as 0.015" if most < 1 else "",
            )


def must_be_positive(name: str, **sizes: float) -> None:
    """Refuse a size that is not a plain number above nothing; the keyword is the field's name."""
    for field, value in sizes.items():
        if not (math.isfinite(value) and value > 0):
            raise RequestError(f"{name}: {field} is {value:g}", because="it must be more than 0")


def must_not_be_negative(name: str, **sizes: float) -> None:
    """Refuse a size that is not a plain number of 0 or more; the keyword is the field's name."""
    for field, value in sizes.items():
        if not (math.isfinite(value) and value >= 0):
            raise RequestError(f"{name}: {field} is {value:g}", because="it must be 0 or more")

"""How a node's value is made of what it gave for each item."""

from collections.abc import Iterable
from itertools import chain
from typing import TypeVar

from hidewright.errors import Remark

T = TypeVar("T")


def with_remarks(
    each: Iterable[tuple[T, tuple[Remark, ...]]],
) -> tuple[tuple[T, ...], tuple[Remark, ...]]:
    """Return what was made of each item, and what is to be said about them, each thing once."""
    made: list[T] = []
    told: dict[Remark, None] = {}
    for one, remarks in each:
        made.append(one)
        told |= dict.fromkeys(remarks)
    return tuple(made), tuple(told)


def joined(each: Iterable[tuple[T, ...]]) -> tuple[T, ...]:
    """Return what each item gave one after the other."""
    return tuple(chain.from_iterable(each))


def joined_with_remarks(
    each: Iterable[tuple[tuple[T, ...], tuple[Remark, ...]]],
) -> tuple[tuple[T, ...], tuple[Remark, ...]]:
    """Return what each item gave one after the other, and what is to be said, each thing once."""
    made, told = with_remarks(each)
    return joined(made), told

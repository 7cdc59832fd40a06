"""What is worked out once of a frozen object, and kept with it as long as it lives."""

import contextlib
from collections.abc import Callable, Hashable
from typing import Any, Generic, TypeVar, overload

T = TypeVar("T")
#: Where an object keeps what was asked of it with arguments.
KEPT = "kept"
#: When so many answers are kept with one object, it begins anew: one asked about every place that
#: a slider passes must not fill the memory.
MOST_KEPT = 64


class once(Generic[T]):  # noqa: N801 - it is used as a decorator
    """A property that keeps in the object's own dictionary what the function returns.

    It is without the lock of ``functools`` before Python 3.12.

    Two threads may both work it out; what they decorate are pure functions of frozen objects.
    """

    def __init__(self, work_out: Callable[[Any], T]) -> None:
        self._work_out = work_out
        self._name = work_out.__name__
        self.__doc__ = work_out.__doc__

    @overload
    def __get__(self, held: None, owner: type[Any]) -> "once[T]": ...
    @overload
    def __get__(self, held: object, owner: type[Any]) -> T: ...
    def __get__(self, held: object | None, owner: type[Any]) -> "T | once[T]":
        """Return the value, and put it where it is found before this is called again."""
        if held is None:
            return self
        value = held.__dict__[self._name] = self._work_out(held)
        return value


class _Kept(dict[Hashable, Any]):
    """What was asked of an object with arguments; copies and pickles of the object begin anew."""

    def __reduce__(self) -> tuple[type["_Kept"], tuple[()]]:
        return _Kept, ()


def kept(held: object, key: Hashable, work_out: Callable[[], T]) -> T:
    """Return what a function gives, worked out once for each key of a frozen object.

    Args:
        held: What it is worked out of; it has a dictionary of its own.
        key: Names the question and holds all else that it is asked with.
        work_out: A pure function; arrays that it returns must not be changed.
    """
    known: _Kept = held.__dict__.setdefault(KEPT, _Kept())
    if key in known:
        # another thread may have emptied it meanwhile
        with contextlib.suppress(KeyError):
            found: T = known[key]
            return found
    value = work_out()
    if len(known) >= MOST_KEPT:
        known.clear()
    known[key] = value
    return value

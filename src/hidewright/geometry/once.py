"""A property that is worked out once, without the lock of ``functools`` before Python 3.12."""

from collections.abc import Callable
from typing import Any, Generic, TypeVar, overload

T = TypeVar("T")


class once(Generic[T]):  # noqa: N801 - it is used as a decorator
    """Keeps in the object's own dictionary what the function returns.

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

"""A short name for a value: equal values of nouns, numbers and texts have equal digests."""

import dataclasses
import hashlib
import struct
from collections.abc import Mapping
from typing import Protocol

import numpy as np


class _Sink(Protocol):
    def update(self, data: bytes, /) -> None: ...


def digest(value: object) -> bytes:
    """Return 16 bytes that name a value, the same in every process and under every hash seed.

    Takes dataclasses, tuples, lists, mappings with text keys, texts, bytes, numbers, truths, None,
    types and numpy arrays.

    Raises:
        TypeError: For anything else: a value without a stable meaning must not be cached by it.
    """
    sink = hashlib.blake2b(digest_size=16)
    _feed(sink, value)
    return sink.digest()


def _feed(sink: _Sink, value: object) -> None:
    match value:
        case None:
            sink.update(b"n")
        case bool():
            sink.update(b"t" if value else b"f")
        case int():
            _tagged(sink, b"i", str(value).encode())
        case float():
            sink.update(b"d" + struct.pack("<d", value + 0.0))  # -0.0 and 0.0 are one number
        case str():
            _tagged(sink, b"s", value.encode())
        case bytes():
            _tagged(sink, b"b", value)
        case type():
            _tagged(sink, b"c", f"{value.__module__}.{value.__qualname__}".encode())
        case tuple() | list():
            sink.update(b"(" + str(len(value)).encode())
            for one in value:
                _feed(sink, one)
            sink.update(b")")
        case Mapping():
            sink.update(b"{" + str(len(value)).encode())
            for key in sorted(value):
                _feed(sink, key)
                _feed(sink, value[key])
            sink.update(b"}")
        case np.ndarray():
            _tagged(sink, b"a", f"{value.dtype.str}{value.shape}".encode())
            sink.update(np.ascontiguousarray(value).tobytes())
        case _ if dataclasses.is_dataclass(value):
            _feed(sink, type(value))
            for field in dataclasses.fields(value):
                _feed(sink, getattr(value, field.name))
        case _:
            raise TypeError(f"a {type(value).__name__} has no digest")


def _tagged(sink: _Sink, tag: bytes, data: bytes) -> None:
    sink.update(tag + str(len(data)).encode() + b":" + data)

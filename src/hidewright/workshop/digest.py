"""A short name for a value: equal values of nouns, numbers and texts have equal digests."""

import dataclasses
import hashlib
import struct
from collections.abc import Mapping

import numpy as np

#: Nouns of floats and short texts take about this many bytes for each byte said of them.
OBJECT_TO_SAID = 3


def digest(value: object) -> bytes:
    """Return 16 bytes that name a value, the same in every process and under every hash seed.

    Takes dataclasses, tuples, lists, mappings with text keys, texts, bytes, numbers, truths, None,
    types and numpy arrays.

    Raises:
        TypeError: For anything else: a value without a stable meaning must not be cached by it.
    """
    return digest_and_weight(value)[0]


def digest_and_weight(value: object) -> tuple[bytes, int]:
    """Return a value's digest, and about how many bytes the value holds in memory."""
    said = bytearray()
    _feed(said, value)
    return hashlib.blake2b(said, digest_size=16).digest(), OBJECT_TO_SAID * len(said)


def _feed(sink: bytearray, value: object) -> None:
    match value:
        case None:
            sink += b"n"
        case bool():
            sink += b"t" if value else b"f"
        case int():
            _tagged(sink, b"i", str(value).encode())
        case float():
            sink += b"d" + struct.pack("<d", value + 0.0)  # -0.0 and 0.0 are one number
        case str():
            _tagged(sink, b"s", value.encode())
        case bytes():
            _tagged(sink, b"b", value)
        case type():
            _tagged(sink, b"c", f"{value.__module__}.{value.__qualname__}".encode())
        case tuple() | list():
            sink += b"(" + str(len(value)).encode()
            for one in value:
                _feed(sink, one)
            sink += b")"
        case Mapping():
            sink += b"{" + str(len(value)).encode()
            for key in sorted(value):
                _feed(sink, key)
                _feed(sink, value[key])
            sink += b"}"
        case np.ndarray():
            _tagged(sink, b"a", f"{value.dtype.str}{value.shape}".encode())
            sink += np.ascontiguousarray(value).tobytes()
        case _ if dataclasses.is_dataclass(value):
            _feed(sink, type(value))
            for field in dataclasses.fields(value):
                _feed(sink, getattr(value, field.name))
        case _:
            raise TypeError(f"a {type(value).__name__} has no digest")


def _tagged(sink: bytearray, tag: bytes, data: bytes) -> None:
    sink += tag + str(len(data)).encode() + b":" + data

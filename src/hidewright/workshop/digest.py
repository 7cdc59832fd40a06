"""A short name for a value: equal values of nouns, numbers and texts have equal digests."""

import dataclasses
import hashlib
import struct
from collections.abc import Mapping
from functools import cache
from typing import Any

import numpy as np

from hidewright.geometry.outline import Chain
from hidewright.geometry.segment import Segment

#: Nouns of floats and short texts take about this many bytes for each byte said of them.
OBJECT_TO_SAID = 3
#: Where an outline keeps what is said of it.
SAID = "said in its digest"
_FLOAT = struct.Struct("<d").pack
#: Most of what is digested are points: a tuple of two numbers, said at once.
_POINT, _TWO_FLOATS = struct.Struct("<3sdcdc").pack, [float, float]
#: And of these most are ends of a segment: both with its bulge at once.
_SEGMENT, _FIVE_FLOATS = struct.Struct("<3sdcdc3sdcdccd").pack, [float] * 5


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


def _feed(sink: bytearray, value: Any) -> None:
    kind = type(value)
    if kind is float:
        sink += b"d"
        sink += _FLOAT(value + 0.0)  # -0.0 and 0.0 are one number
    elif kind is tuple and len(value) == 2 and [type(v) for v in value] == _TWO_FLOATS:
        x, y = value
        sink += _POINT(b"(2d", x + 0.0, b"d", y + 0.0, b")")
    elif kind is tuple or kind is list:
        sink += b"(%d" % len(value)
        for one in value:
            _feed(sink, one)
        sink += b")"
    elif kind is str:
        _tagged(sink, b"s", value.encode())
    elif isinstance(value, Chain):
        sink += _said_of_chain(value)
    elif dataclasses.is_dataclass(kind):
        said, names = _said_of(kind)
        sink += said
        for name in names:
            _feed(sink, getattr(value, name))
    else:
        _feed_rare(sink, value)


def _said_of_chain(chain: Chain) -> bytes:
    """Return what is said of an outline or a path: kept with it, as many nouns hold the same."""
    kept: bytes | None = chain.__dict__.get(SAID)
    if kept is None:
        kind: type = type(chain)
        sink = bytearray(_said_of(kind)[0])
        sink += b"(%d" % len(chain.segments)
        for segment in chain.segments:
            _feed_segment(sink, segment)
        sink += b")"
        kept = chain.__dict__[SAID] = bytes(sink)
    return kept


def _feed_segment(sink: bytearray, segment: Segment) -> None:
    """Say of a segment what is said of any dataclass: its fields, most often five floats."""
    (x0, y0), (x1, y1), bulge = segment.start, segment.end, segment.bulge
    if [type(v) for v in (x0, y0, x1, y1, bulge)] != _FIVE_FLOATS:
        _feed(sink, segment)
        return
    start, end = (b"(2d", x0 + 0.0, b"d", y0 + 0.0, b")"), (b"(2d", x1 + 0.0, b"d", y1 + 0.0, b")")
    sink += _said_of(Segment)[0]
    sink += _SEGMENT(*start, *end, b"d", bulge + 0.0)
    _tagged(sink, b"s", segment.span.encode())


@cache
def _said_of(kind: type) -> tuple[bytes, tuple[str, ...]]:
    """Return what a dataclass's own name adds to a digest, and the names of its fields."""
    said = bytearray()
    _feed_rare(said, kind)
    return bytes(said), tuple(field.name for field in dataclasses.fields(kind))


def _feed_rare(sink: bytearray, value: object) -> None:
    match value:
        case None:
            sink += b"n"
        case bool():
            sink += b"t" if value else b"f"
        case int():
            _tagged(sink, b"i", str(value).encode())
        case float():
            sink += b"d" + _FLOAT(value + 0.0)
        case str():
            _tagged(sink, b"s", value.encode())
        case bytes():
            _tagged(sink, b"b", value)
        case type():
            _tagged(sink, b"c", f"{value.__module__}.{value.__qualname__}".encode())
        case tuple() | list():
            sink += b"(%d" % len(value)
            for one in value:
                _feed(sink, one)
            sink += b")"
        case Mapping():
            sink += b"{%d" % len(value)
            for key in sorted(value):
                _feed(sink, key)
                _feed(sink, value[key])
            sink += b"}"
        case np.ndarray():
            _tagged(sink, b"a", f"{value.dtype.str}{value.shape}".encode())
            sink += np.ascontiguousarray(value).tobytes()
        case _:
            raise TypeError(f"a {type(value).__name__} has no digest")


def _tagged(sink: bytearray, tag: bytes, data: bytes) -> None:
    sink += tag + str(len(data)).encode() + b":" + data

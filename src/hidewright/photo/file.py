"""Bytes of a photo to pixels: what it is and how large is read from its head first."""

import struct

import cv2
import numpy as np

from hidewright.errors import RequestError
from hidewright.photo.picture import Picture

#: Largest photo that is unpacked, and smallest that shows cards, pixels.
MOST_PIXELS, LEAST_PIXELS = 50_000_000, 300_000
#: Largest file that is taken, bytes.
MOST_BYTES = 60_000_000

_MEND = "Save it as JPEG or PNG; a phone has a setting for that, or a picture editor exports it"


def unpacked(data: bytes, name: str) -> Picture:
    """Return a photo's pixels, (h, w, 3) uint8 blue, green and red, turned as it was taken.

    Raises:
        RequestError: When it is neither JPEG nor PNG, too large or too small, or cut short; its
            size is judged before any pixel is unpacked.
    """
    width, height = size_of(data, name)
    pixels = width * height
    if pixels > MOST_PIXELS:
        raise RequestError(
            f"{name} has {pixels / 1e6:.0f} million pixels ({width} x {height})",
            because=f"at most {MOST_PIXELS / 1e6:.0f} million are unpacked, to spare the memory",
            mend="Take it at 12 megapixels, which is plenty, or make it smaller",
        )
    if pixels < LEAST_PIXELS:
        raise RequestError(
            f"{name} has only {width} x {height} pixels",
            because="the cards cannot be measured in so few",
            mend="Bring the photo itself, not a preview",
        )
    picture = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    if picture is None:
        raise RequestError(f"{name} cannot be unpacked", because="it is damaged", mend=_MEND)
    return np.asarray(picture, np.uint8)


def size_of(data: bytes, name: str) -> tuple[int, int]:
    """Return width and height as stored, px, from a file's head.

    JPEG: ITU-T T.81, Annex B; PNG: ISO/IEC 15948, clause 11.2.2.

    Raises:
        RequestError: When it is no JPEG or PNG, or ends early.
    """
    if len(data) > MOST_BYTES:
        raise RequestError(
            f"{name} has {len(data) / 1e6:.0f} MB",
            because=f"at most {MOST_BYTES / 1e6:.0f} MB are read",
            mend="Take it at 12 megapixels, or save it as JPEG",
        )
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        if len(data) < 24 or b"IEND" not in data[-16:]:
            raise _cut_short(name)
        width, height = struct.unpack(">II", data[16:24])
        return int(width), int(height)
    if data.startswith(b"\xff\xd8"):
        size = _jpeg_size(data)
        if size is None or b"\xff\xd9" not in data[-4096:]:
            raise _cut_short(name)
        return size
    sort = "a photo in the HEIF format" if data[4:8] == b"ftyp" else "no JPEG or PNG photo"
    raise RequestError(f"{name} is {sort}", because="only those two are read", mend=_MEND)


def _cut_short(name: str) -> RequestError:
    return RequestError(
        f"{name} ends too early",
        because="part of the file is missing",
        mend="Copy it from the phone again",
    )


def _jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Return the size in the first frame's head, or None when there is none."""
    at = 2
    while at + 9 <= len(data):
        if data[at] != 0xFF:
            return None
        marker = data[at + 1]
        if marker == 0xFF:  # a fill byte
            at += 1
            continue
        # frames are C0 to CF but for tables (C4), extensions (C8) and arithmetic tables (CC)
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            height, width = struct.unpack(">HH", data[at + 5 : at + 9])
            return (int(width), int(height)) if width and height else None
        at += 2 + int(struct.unpack(">H", data[at + 2 : at + 4])[0])
    return None

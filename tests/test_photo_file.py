"""Which files are taken for photos, judged by their heads."""

import struct
import zlib
from collections.abc import Callable

import cv2
import numpy as np
import pytest

from hidewright.errors import RequestError
from hidewright.photo.file import MOST_PIXELS, size_of, unpacked


def jpeg(width: int = 900, height: int = 700) -> bytes:
    """Return a photo that is dark at the upper left and light elsewhere."""
    picture = np.full((height, width, 3), 200, np.uint8)
    picture[: height // 2, : width // 2] = 20
    done, data = cv2.imencode(".jpg", picture)
    assert done
    return bytes(data)


def png_head(width: int, height: int) -> bytes:
    """Return a PNG that says how large it is, and holds no pixels."""
    body = b"IHDR" + struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    head = struct.pack(">I", 13) + body + struct.pack(">I", zlib.crc32(body))
    end = struct.pack(">I", 0) + b"IEND" + struct.pack(">I", zlib.crc32(b"IEND"))
    return b"\x89PNG\r\n\x1a\n" + head + end


def jpeg_head(width: int, height: int) -> bytes:
    """Return a JPEG's head with tables before its frame, as phones write them."""
    app = b"\xff\xe1" + struct.pack(">H", 600) + bytes(598)
    table = b"\xff\xc4" + struct.pack(">H", 20) + bytes(18)
    frame = b"\xff\xc2" + struct.pack(">HBHHB", 11, 8, height, width, 1) + b"\x01\x11\x00"
    return b"\xff\xd8" + app + b"\xff" + table + frame + b"\xff\xd9"


@pytest.mark.parametrize("head", [png_head, jpeg_head])
def test_eighty_megapixels_are_refused_before_a_pixel_is_unpacked(
    head: Callable[[int, int], bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    def unpack(*_: object) -> None:
        raise AssertionError("pixels were unpacked")

    monkeypatch.setattr(cv2, "imdecode", unpack)
    with pytest.raises(RequestError, match=r"80 million pixels \(10328 x 7746\)") as refused:
        unpacked(head(10328, 7746), "large.jpg")
    assert "12 megapixels" in refused.value.mend


@pytest.mark.parametrize("size", [(4032, 3024), (3024, 4032), (8000, 6250)])
def test_size_is_read_from_the_head(size: tuple[int, int]) -> None:
    assert size_of(png_head(*size), "a") == size_of(jpeg_head(*size), "b") == size
    assert size[0] * size[1] <= MOST_PIXELS


def test_the_head_says_the_size_that_unpacking_gives() -> None:
    data = jpeg(901, 703)
    assert size_of(data, "a.jpg") == (901, 703)
    assert unpacked(data, "a.jpg").shape == (703, 901, 3)


def test_a_photo_is_turned_as_it_was_taken() -> None:
    """Orientation 6 of EXIF: the camera's right is up, so the picture is turned clockwise."""
    exif = b"Exif\0\0MM\0*" + struct.pack(">IHHHIHHI", 8, 1, 0x0112, 3, 1, 6, 0, 0)
    plain = jpeg()
    turned = plain[:2] + b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif + plain[2:]
    picture = unpacked(turned, "turned.jpg")
    assert picture.shape == (900, 700, 3)
    assert np.abs(picture.astype(int) - np.rot90(unpacked(plain, "plain.jpg"), -1)).max() == 0


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"\0\0\0\x18ftypheic" + bytes(100), "a photo in the HEIF format"),
        (b"%PDF-1.7" + bytes(100), "no JPEG or PNG photo"),
        (b"", "no JPEG or PNG photo"),
        (jpeg()[:3000], "ends too early"),
        (png_head(4032, 3024)[:-12], "ends too early"),
        (b"\xff\xd8\xff\xd9", "ends too early"),
        (png_head(4032, 3024), "cannot be unpacked"),
        (jpeg(400, 300), "has only 400 x 300 pixels"),
    ],
    ids=["heif", "pdf", "empty", "cut jpeg", "cut png", "no frame", "no pixels", "small"],
)
def test_what_is_no_photo_is_refused_in_words(data: bytes, said: str) -> None:
    with pytest.raises(RequestError, match=said) as refused:
        unpacked(data, "it.jpg")
    assert refused.value.because
    assert refused.value.mend

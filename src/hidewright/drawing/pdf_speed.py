"""Quicker stand-ins for what the PDF library does slowly where its compiled part is not installed.

They write what the library's own write, to the byte: numbers along paths, words, and how wide
words are. Streams are left as they are packed: spelled out in letters they were a quarter longer.
"""

from bisect import bisect_right
from collections.abc import Sequence
from functools import lru_cache

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc, ttfonts
from reportlab.pdfgen import canvas, pathobject, textobject

#: Decimals of a number by how many figures stand before its point.
_TENS = (1e1, 1e2, 1e3, 1e4, 1e5, 1e6)
_FORMATS = ("%.6f", "%.5f", "%.4f", "%.3f", "%.2f", "%.1f", "%.0f")
#: How a string in a PDF holds what is not a plain letter: in octal figures, or after a stroke.
_ESCAPES = {code: f"\\{code:03o}" for code in (*range(32), *range(127, 256))} | {
    ord(letter): f"\\{letter}" for letter in "\\()"
}


def numbers(*values: float | Sequence[float]) -> str:
    """Return numbers, or those of one sequence, as a PDF holds them: about seven figures each.

    >>> numbers(12.5, -0.25, 1e-9, 1234.56789)
    '12.5 -0.25 0 1234.568'
    """
    said = []
    for value in values[0] if isinstance(values[0], tuple | list) else values:
        if 10.0 <= value < 1000.0:  # type: ignore[operator]  # most are, on a page
            text = ("%.4f" if value >= 100.0 else "%.5f") % value  # type: ignore[operator]
            said.append(text.rstrip("0").rstrip(".") if text[-1] == "0" else text)
            continue
        size = abs(value)  # type: ignore[arg-type]
        if size <= 1e-7:
            said.append("0")
            continue
        before = bisect_right(_TENS, size)
        text = _FORMATS[before] % value
        if before < 6:
            text = text.rstrip("0").rstrip(".")
        said.append(text[1:] if text[0] == "0" and len(text) > 1 else text)
    return " ".join(said)


def escaped(data: bytes | str) -> str:
    """Return bytes, or text of letters below 256, as they stand in a PDF's string."""
    return (data if isinstance(data, str) else data.decode("latin-1")).translate(_ESCAPES)


def width(font: ttfonts.TTFont, text: bytes | str, size: float, encoding: str = "utf8") -> float:
    """Return how wide a text is at a size of type, points."""
    said = text if isinstance(text, str) else text.decode(encoding or "utf8")
    return 0.001 * size * _thousandths(font, said)


@lru_cache(maxsize=4096)
def _thousandths(font: ttfonts.TTFont, text: str) -> float:
    letters, other = font.face.charWidths, font.face.defaultWidth
    wide: float = sum([letters.get(ord(letter), other) for letter in text])
    return wide


def hurry() -> None:
    """Let the library use them."""
    rl_config.useA85 = 0
    for module, name, quicker in (
        (canvas, "fp_str", numbers),
        (pathobject, "fp_str", numbers),
        (textobject, "fp_str", numbers),
        (canvas, "escapePDF", escaped),
        (pdfdoc, "escapePDF", escaped),
        (ttfonts, "instanceStringWidthTTF", width),
    ):
        if getattr(module, name).__module__ == "reportlab.lib.rl_accel":  # in Python, not compiled
            setattr(module, name, quicker)

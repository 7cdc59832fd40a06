"""Quicker stand-ins for what the PDF library does slowly where its compiled part is not installed.

Both write what the library's own write, to the byte: numbers along paths, and streams in the 85
letters of ASCII.
"""

import base64
from bisect import bisect_right
from collections.abc import Sequence

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen import canvas, pathobject, textobject

#: Decimals of a number by how many figures stand before its point.
_TENS = (1e1, 1e2, 1e3, 1e4, 1e5, 1e6)
_FORMATS = ("%.6f", "%.5f", "%.4f", "%.3f", "%.2f", "%.1f", "%.0f")


def numbers(*values: float | Sequence[float]) -> str:
    """Return numbers, or those of one sequence, as a PDF holds them: about seven figures each.

    >>> numbers(12.5, -0.25, 1e-9, 1234.56789)
    '12.5 -0.25 0 1234.568'
    """
    said = []
    for value in values[0] if isinstance(values[0], tuple | list) else values:
        if 10.0 <= value < 1000.0:  # type: ignore[operator]  # most are, on a page
            text = ("%.4f" if value >= 100.0 else "%.5f") % value  # type: ignore[operator]
            said.append(text.rstrip("0").rstrip("."))
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


def in_85_letters(data: bytes | str) -> str:
    """Return bytes as ASCII85 with the end that PDF wants."""
    raw = data.encode("latin-1") if isinstance(data, str) else data
    return base64.a85encode(raw).decode("ascii") + "~>"


def hurry() -> None:
    """Let the library use them."""
    for module, name, quicker in (
        (canvas, "fp_str", numbers),
        (pathobject, "fp_str", numbers),
        (textobject, "fp_str", numbers),
        (pdfdoc, "asciiBase85Encode", in_85_letters),
    ):
        if getattr(module, name).__module__ == "reportlab.lib.rl_accel":  # in Python, not compiled
            setattr(module, name, quicker)

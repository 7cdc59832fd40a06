"""Dash patterns and rounding that all writers share."""

from hidewright.drawing.drawing import LineStyle

#: Written numbers are rounded to this many decimals of a mm: a hundredth of what a laser resolves.
DECIMALS = 4

#: Height of a capital over the size of the type, DejaVu Sans: 1493 of 2048 units.
CAPITAL_HEIGHT = 1493 / 2048

_DASHES_MM: dict[LineStyle, tuple[float, ...]] = {
    "solid": (),
    "dashed": (4.0, 2.0),
    "dotted": (0.6, 1.4),
    "dash-dot": (6.0, 1.5, 0.6, 1.5),
}


def dashes_mm(style: LineStyle) -> tuple[float, ...]:
    """Return the lengths of dash, gap, dash, gap ... in mm; empty for a solid line."""
    return _DASHES_MM[style]


def rounded(value: float) -> float:
    """Return a length as it is written: to 1e-4 mm and never minus nought."""
    return round(value, DECIMALS) + 0.0


def number(value: float) -> str:
    """Return a length as text: at most four decimals, no trailing noughts, no exponent.

    >>> number(12.50004), number(-0.00001), number(1e-3)
    ('12.5', '0', '0.001')
    """
    text = f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text

"""Lengths and positions: millimetres inside, metric or inches with fractions outside."""

import math
from fractions import Fraction
from typing import Literal

from hidewright.units.measure import Measure, parse_measure
from hidewright.units.number import decimal_text

LengthUnit = Literal["mm", "in"]

#: 1 inch = 25.4 mm exactly (international yard and pound agreement, 1959).
MM_PER_INCH = Fraction(254, 10)
#: Written lengths are true to this, mm, in either unit.
WRITTEN_TO_MM = 0.0005
#: Numbers this near to one another differ by a rounding of reckoning alone.
ROUNDING = 1e-9

_UNITS = (
    ("mm", Fraction(1)),
    ("cm", Fraction(10)),
    ("m", Fraction(1000)),
    ("in", MM_PER_INCH),
    ("inch", MM_PER_INCH),
    ("inches", MM_PER_INCH),
    ('"', MM_PER_INCH),
    ("″", MM_PER_INCH),
)
_EXAMPLES = ("12 mm", "1.2 cm", "0.5 m", "0.5 in", "1/16 in", "3 1/8 in", '3 1/8"')
LENGTH = Measure(wanted="a length", units=_UNITS, examples=_EXAMPLES)
POSITION = Measure(wanted="a position", units=_UNITS, examples=(*_EXAMPLES, "-2.5 mm"), signed=True)


def parse_length(text: str) -> float:
    """Read a length into mm; it is 0 or more.

    It is read to 0.001 mm, 64ths of an inch exactly: what was written in inches comes back the same
    as from a file in mm, be it at a limit.

    >>> parse_length('3 1/8"'), parse_length("0.3937 in")
    (79.375, 10.0)
    """
    mm = parse_measure(LENGTH, text)
    sixty_fourths = mm * 64 / 25.4
    return mm if abs(sixty_fourths - round(sixty_fourths)) < ROUNDING else round(mm, 3)


def parse_position(text: str) -> float:
    """Read a length with a sign, such as a shift or a coordinate, into mm, exactly."""
    return parse_measure(POSITION, text)


def format_length(mm: float, unit: LengthUnit = "mm") -> str:
    """Write a length or position, true to 0.0005 mm.

    In inches it is a fraction in 64ths or coarser where the length is one, else the shortest
    decimal that is as true.

    >>> format_length(79.375, "in"), format_length(10.0, "in"), format_length(10.0)
    ('3 1/8 in', '0.3937 in', '10 mm')
    """
    if unit == "mm":
        return f"{decimal_text(mm, 3)} mm"
    sixty_fourths = round(mm / 25.4 * 64)
    if math.isclose(sixty_fourths * 25.4 / 64, mm, rel_tol=0, abs_tol=WRITTEN_TO_MM):
        return f"{fraction_text(Fraction(sixty_fourths, 64))} in"
    most = WRITTEN_TO_MM - ROUNDING  # half a thousandth itself could be read either way
    places = next((n for n in (2, 3, 4) if abs(round(mm / 25.4, n) * 25.4 - mm) < most), 5)
    return f"{decimal_text(mm / 25.4, places)} in"


def fraction_text(inches: Fraction) -> str:
    """Write inches as a whole number, a fraction, or both.

    >>> fraction_text(Fraction(25, 8)), fraction_text(Fraction(-1, 2))
    ('3 1/8', '-1/2')
    """
    sign = "-" if inches < 0 else ""
    whole, rest = divmod(abs(inches), 1)
    if rest == 0:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"

"""Thickness of leather: one value or a range, in mm, inches or the trade's ounces."""

import re
from fractions import Fraction
from typing import Literal, NoReturn

from hidewright.units.length import MM_PER_INCH
from hidewright.units.number import LONGEST_TEXT, NUMBER, decimal_text, exact_number, refuse

ThicknessUnit = Literal["mm", "oz"]
Thickness = tuple[float, float]

#: 1 oz of leather thickness = 1/64 in exactly; the trade rounds it to 0.4 mm.
MM_PER_OUNCE = MM_PER_INCH / 64

_UNITS = {"mm": Fraction(1), "oz": MM_PER_OUNCE, "in": MM_PER_INCH}
_WANTED = "a leather thickness"
THICKNESS_EXAMPLES = ("2 mm", "1.4-1.6 mm", "4 oz", "3-4 oz", "1/16 in")
_RANGE = re.compile(
    rf"\s*(?P<low>{NUMBER})(?:\s*(?:-|–|to)\s*(?P<high>{NUMBER}))?\s*(?P<unit>[^\s0-9].*)?",
    re.DOTALL,
)


def parse_leather_thickness(text: str) -> Thickness:
    """Read a thickness into (thinnest, thickest) mm; equal when one value is given.

    >>> parse_leather_thickness("8 oz")
    (3.175, 3.175)
    """
    match = _RANGE.fullmatch(text) if len(text) <= LONGEST_TEXT else None
    if match is None:
        _refuse(text, "it is neither one number nor a range")
    unit = (match["unit"] or "").strip()
    if unit not in _UNITS:
        known = f"the unit {unit!r} is not known for {_WANTED}"
        _refuse(text, known if unit else "it has no unit, and a unit is never guessed")
    low, high = exact_number(match["low"]), exact_number(match["high"] or match["low"])
    if low is None or high is None:
        _refuse(text, "its fraction is not one between nought and one")
    if low <= 0:
        _refuse(text, "leather is thicker than nothing")
    if high < low:
        _refuse(text, "the range runs from thick to thin")
    return float(low * _UNITS[unit]), float(high * _UNITS[unit])


def format_leather_thickness(thickness_mm: Thickness, unit: ThicknessUnit = "mm") -> str:
    """Write (thinnest, thickest) mm, true to 0.0005 mm.

    >>> format_leather_thickness((1.4, 1.6)), format_leather_thickness((3.175, 3.175), "oz")
    ('1.4-1.6 mm', '8 oz')
    """
    worth = float(_UNITS[unit])
    low, high = (decimal_text(value / worth, 3) for value in thickness_mm)
    return f"{low} {unit}" if low == high else f"{low}-{high} {unit}"


def _refuse(text: str, because: str) -> NoReturn:
    refuse(text, wanted=_WANTED, because=because, accepted=THICKNESS_EXAMPLES)

"""Measures that are a number times a unit: angle, mass, ratio, pressure; length builds on it."""

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from hidewright.units.number import decimal_text, number_and_unit, refuse


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """One kind of measure and the units it is read in.

    Attributes:
        wanted: What it is, with its article, such as ``a length``.
        units: (spelling, worth in the unit used inside), the worth exact where it can be.
        examples: Ways to write it, shown when a text is refused.
        signed: Whether it may be negative.
    """

    wanted: str
    units: tuple[tuple[str, Fraction | float], ...]
    examples: tuple[str, ...]
    signed: bool = False


ANGLE = Measure(
    wanted="an angle",
    units=(("deg", math.pi / 180), ("°", math.pi / 180), ("rad", Fraction(1))),
    examples=("90 deg", "90°", "1.5 rad"),
    signed=True,
)
MASS = Measure(
    wanted="a mass",
    units=(("g", Fraction(1)), ("kg", Fraction(1000))),
    examples=("12 g", "1.2 kg"),
)
RATIO = Measure(wanted="a share", units=(("%", Fraction(1, 100)),), examples=("1.5 %",))
PRESSURE = Measure(
    wanted="a pressure",
    units=(
        ("MPa", Fraction(1)),
        ("N/mm2", Fraction(1)),
        ("kPa", Fraction(1, 1000)),
        ("bar", Fraction(1, 10)),
    ),
    examples=("0.1 MPa", "0.1 N/mm2", "100 kPa", "1 bar"),
)

FORCE = Measure(
    wanted="a force",
    units=(("N", Fraction(1)), ("kN", Fraction(1000))),
    examples=("5000 N", "5 kN"),
)
NUMBER = Measure(
    wanted="a plain number", units=(("", Fraction(1)),), examples=("1.1", "0.95"), signed=True
)


def parse_measure(measure: Measure, text: str) -> float:
    """Read one measure into the unit used inside.

    Raises:
        RequestError: When there is no number, no unit or a strange one, or a negative value of a
            measure that has none.
    """
    number, unit = number_and_unit(text, wanted=measure.wanted, accepted=measure.examples)
    worth = dict(measure.units).get(unit)
    if worth is None:
        said = f"the unit {unit!r} is not known for {measure.wanted}"
        because = said if unit else "it has no unit, and a unit is never guessed"
        refuse(text, wanted=measure.wanted, because=because, accepted=measure.examples)
    if number < 0 and not measure.signed:
        refuse(text, wanted=measure.wanted, because="it is negative", accepted=measure.examples)
    return float(number * worth)


def parse_angle(text: str) -> float:
    """Read an angle into radians.

    >>> round(parse_angle("90 deg"), 6)
    1.570796
    """
    return parse_measure(ANGLE, text)


def parse_mass(text: str) -> float:
    """Read a mass into grams. Ounces are refused: of leather they are a thickness."""
    return parse_measure(MASS, text)


def parse_ratio(text: str) -> float:
    """Read a percentage into a plain share.

    >>> parse_ratio("1.5 %")
    0.015
    """
    return parse_measure(RATIO, text)


def parse_pressure(text: str) -> float:
    """Read a pressure into MPa."""
    return parse_measure(PRESSURE, text)


def format_angle(radians: float, unit: Literal["deg", "rad"] = "deg") -> str:
    """Write an angle, to 0.0001 degree or 0.000001 rad."""
    if unit == "rad":
        return f"{decimal_text(radians, 6)} rad"
    return f"{decimal_text(math.degrees(radians), 4)} deg"


def format_mass(grams: float) -> str:
    """Write a mass in g, to 0.001 g."""
    return f"{decimal_text(grams, 3)} g"


def format_ratio(share: float) -> str:
    """Write a share as a percentage, to 0.0001 %."""
    return f"{decimal_text(share * 100, 4)} %"


def format_pressure(mpa: float) -> str:
    """Write a pressure in MPa, to 1 Pa."""
    return f"{decimal_text(mpa, 6)} MPa"


def format_force(newtons: float) -> str:
    """Write a force in N, to 0.01 N."""
    return f"{decimal_text(newtons, 2)} N"

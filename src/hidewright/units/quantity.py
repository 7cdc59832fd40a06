"""Read and write any quantity by its name, for readers of files that carry many kinds."""

from typing import Literal, assert_never, get_args, overload

from hidewright.errors import RequestError
from hidewright.units.count import COUNT_EXAMPLES, parse_count
from hidewright.units.length import LENGTH, POSITION, format_length, parse_length, parse_position
from hidewright.units.measure import (
    ANGLE,
    FORCE,
    MASS,
    NUMBER,
    PRESSURE,
    RATIO,
    format_angle,
    format_force,
    format_mass,
    format_pressure,
    format_ratio,
    parse_angle,
    parse_mass,
    parse_measure,
    parse_pressure,
    parse_ratio,
)
from hidewright.units.minutes import MINUTES_EXAMPLES, format_minutes, parse_minutes
from hidewright.units.money import MONEY_EXAMPLES, Money, format_money, parse_money
from hidewright.units.number import decimal_text
from hidewright.units.thickness import (
    THICKNESS_EXAMPLES,
    Thickness,
    format_leather_thickness,
    parse_leather_thickness,
)

Continuous = Literal["length", "position", "angle", "mass", "ratio", "pressure", "force", "number"]
Whole = Literal["minutes", "count"]
Quantity = Literal[Continuous, Whole, "thickness", "money"]
Value = float | int | Thickness | Money
#: The unit to write in; what is left out is written in mm, deg, g, %, MPa, minutes.
WrittenUnit = Literal["mm", "in", "oz", "deg", "rad"]

QUANTITIES: tuple[Quantity, ...] = (
    *get_args(Continuous),
    *get_args(Whole),
    "thickness",
    "money",
)


@overload
def parse(quantity: Continuous, text: str) -> float: ...
@overload
def parse(quantity: Whole, text: str) -> int: ...
@overload
def parse(quantity: Literal["thickness"], text: str) -> Thickness: ...
@overload
def parse(quantity: Literal["money"], text: str) -> Money: ...
@overload
def parse(quantity: Quantity, text: str) -> Value: ...
def parse(quantity: Quantity, text: str) -> Value:
    """Read a text as a quantity: mm, radians, g, plain share, MPa, minutes, (min, max) mm, Money.

    >>> parse("thickness", "4 oz"), parse("count", "3")
    ((1.5875, 1.5875), 3)

    Raises:
        RequestError: When the text is not such a quantity; it lists what is accepted.
    """
    match quantity:
        case "length":
            return parse_length(text)
        case "position":
            return parse_position(text)
        case "angle":
            return parse_angle(text)
        case "mass":
            return parse_mass(text)
        case "ratio":
            return parse_ratio(text)
        case "pressure":
            return parse_pressure(text)
        case "force":
            return parse_measure(FORCE, text)
        case "number":
            return parse_measure(NUMBER, text)
        case "minutes":
            return parse_minutes(text)
        case "count":
            return parse_count(text)
        case "thickness":
            return parse_leather_thickness(text)
        case "money":
            return parse_money(text)
        case _:
            assert_never(quantity)


def format(quantity: Quantity, value: Value, *, unit: WrittenUnit | None = None) -> str:
    """Write a value so that ``parse`` reads it back, within the writer's stated rounding.

    >>> format("length", 3.175, unit="in"), format("thickness", (1.4, 1.6))
    ('1/8 in', '1.4-1.6 mm')

    Raises:
        RequestError: When the quantity is not written in that unit.
        TypeError: When the value is not of the quantity's type: our own mistake.
    """
    if unit is not None and unit not in written_units(quantity):
        raise RequestError(
            f"{quantity} is not written in {unit}",
            mend=f"Choose one of: {', '.join(written_units(quantity)) or 'no unit'}",
        )
    match quantity, value:
        case (("length" | "position"), (int() | float())):
            return format_length(value, "in" if unit == "in" else "mm")
        case "angle", (int() | float()):
            return format_angle(value, "rad" if unit == "rad" else "deg")
        case "mass", (int() | float()):
            return format_mass(value)
        case "ratio", (int() | float()):
            return format_ratio(value)
        case "pressure", (int() | float()):
            return format_pressure(value)
        case "force", (int() | float()):
            return format_force(value)
        case "number", (int() | float()):
            return decimal_text(value, 6)
        case "minutes", int():
            return format_minutes(value)
        case "count", int():
            return str(value)
        case "thickness", (float() | int(), float() | int()):
            return format_leather_thickness(value, "oz" if unit == "oz" else "mm")
        case "money", Money():
            return format_money(value)
        case _:
            raise TypeError(f"{value!r} is no value of {quantity}")


def written_units(quantity: Quantity) -> tuple[WrittenUnit, ...]:
    """Return the units in which a quantity can be written, where there is a choice."""
    match quantity:
        case "length" | "position":
            return ("mm", "in")
        case "thickness":
            return ("mm", "oz")
        case "angle":
            return ("deg", "rad")
        case _:
            return ()


def accepted(quantity: Quantity) -> tuple[str, ...]:
    """Return ways to write a quantity, for help and for refusals."""
    match quantity:
        case "length":
            return LENGTH.examples
        case "position":
            return POSITION.examples
        case "angle":
            return ANGLE.examples
        case "mass":
            return MASS.examples
        case "ratio":
            return RATIO.examples
        case "pressure":
            return PRESSURE.examples
        case "force":
            return FORCE.examples
        case "number":
            return NUMBER.examples
        case "minutes":
            return MINUTES_EXAMPLES
        case "count":
            return COUNT_EXAMPLES
        case "thickness":
            return THICKNESS_EXAMPLES
        case "money":
            return MONEY_EXAMPLES
        case _:
            assert_never(quantity)

"""Values with their likely ranges in words."""

import math

from hidewright.design.bench_reading import BenchReading
from hidewright.design.interval import Interval
from hidewright.units.length import MM_PER_INCH
from hidewright.workshop.form import Unit


def told(
    value: Interval, unit: str, *, likely: bool = True, lengths: Unit = "mm", again: bool = False
) -> str:
    """Return a value as ``1.54 mm, likely 1.47-1.60``.

    Args:
        value: With its range.
        unit: As in ``Quantity``.
        likely: Whether the range is told.
        lengths: Unit that lengths are told in.
        again: Whether the range has the unit too, where papers rewrite every measure by its unit.
    """
    scale, shown = (1.0, unit)
    if unit == "mm" and lengths == "in":
        scale, shown = 1.0 / float(MM_PER_INCH), "in"
    if unit == "%":
        scale = 100.0
    decimals = _decimals(scale * (value.high - value.low), shown)
    one, low, high = (f"{scale * x:.{decimals}f}" for x in (value.likely, value.low, value.high))
    words = f"{one} {shown}".strip() if shown != "x" else f"{one} times"
    if not likely or low == high:
        return words
    return f"{words}, likely {low}-{high}" + (f" {shown}" if again else "")


def surprise_words(wider: float) -> str:
    """Return what is said where readings lie far from the catalogue; nothing where they do not.

    Args:
        wider: Times as wide as stated that the catalogue's ranges were taken.
    """
    if wider < 1.05:
        return ""
    return (
        "Your readings lie further from the catalogue than it says that it may be off: its ranges "
        f"were taken {wider:.1f} times as wide, so that your readings count for more."
    )


def _decimals(width: float, unit: str) -> int:
    """Return the decimals that tell a range apart, and no more than a bench can."""
    most = {"mm": 2, "in": 3, "%": 1, "h": 1, "x": 2, "": 3}.get(unit, 2)
    for decimals in range(most):
        if width >= 10.0 ** (1 - decimals):
            return decimals
    return most


def told_reading(value: float, unit: str, lengths: Unit = "mm") -> str:
    """Return a reading with its unit.

    Args:
        value: In its own unit.
        unit: ``mm``, ``h`` or ``min``.
        lengths: Unit that lengths are told in.

    >>> told_reading(44.5, "mm", "in"), told_reading(90.0, "min")
    ('1.752 in', '90 min')
    """
    if unit == "mm" and lengths == "in":
        return f"{value / float(MM_PER_INCH):.3f} in"
    decimals = {"mm": 2, "h": 1}.get(unit, 0)
    return f"{value:.{decimals}f} {unit}"


def foretold_words(reading: BenchReading, foretold: Interval, lengths: Unit = "mm") -> str:
    """Return what was foretold of a reading as ``38.9 mm, likely 38.2-39.6``.

    Of the depths at which leather cracks it is the share of a limit that is used there.
    """
    if reading.kind.cracks:
        ends = (math.exp(x) for x in (foretold.likely, foretold.low, foretold.high))
        share = Interval(**dict(zip(("likely", "low", "high"), ends, strict=True)))
        limit = {"grain": "what its grain bears", "sheet": "what it bears"}
        of = limit.get(reading.kind.cracks, "its limits")
        return told(share, "%").replace(" %", f" % of {of}", 1)
    likely, low, high = (
        told_reading(value, reading.kind.unit, lengths)
        for value in (foretold.likely, foretold.low, foretold.high)
    )
    return f"{likely}, likely {low.split()[0]}-{high.split()[0]}"


def read_words(reading: BenchReading, lengths: Unit = "mm") -> str:
    """Return what was read, with the last depth without a crack where it is one.

    Args:
        reading: Any.
        lengths: Unit that lengths are told in.
    """
    read = told_reading(reading.value, reading.kind.unit, lengths)
    if not reading.kind.cracks or reading.of is None:
        return read
    return f"{read}, not yet at {told_reading(reading.of, reading.kind.unit, lengths)}"

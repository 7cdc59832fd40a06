"""How a workshop's papers write measures: metric, or inches with fractions beside ounces.

Everything inside is metric. A ``Written`` is passed to whatever makes a paper; what a craft has put
into words already is rewritten by ``Written.words``, for a measure in words is always a number with
its unit behind it.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from hidewright.units.area import M2_PER_FT2
from hidewright.units.length import MM_PER_INCH, LengthUnit, fraction_text
from hidewright.units.number import decimal_text
from hidewright.units.thickness import MM_PER_OUNCE, Thickness, format_leather_thickness

#: A fraction in 64ths stands alone when it is this near to what is told to 0.1 mm, and to 0.01 mm.
NEAR_MM, NEARER_MM = 0.05, 0.02
#: Parts of an inch on a ruler, and the finest that fractions are told in.
RULER_PARTS, FINEST_PARTS = 32, 64
#: From here on a length in whole mm is one for a ruler; below it, one for a calliper that happens
#: to be whole.
RULED_MM = 100.0
#: From here on a length in whole mm is one of thread or hide, told in feet, to half an inch.
IN_FEET_MM = 1000.0
#: 1 lbf = 4.4482216152605 N by definition of pound and standard gravity.
N_PER_LBF = 4.4482216152605
#: 1 oz avoirdupois by definition of the international pound, 0.45359237 kg.
GRAMS_PER_OUNCE = 28.349523125
#: 1 US fluid ounce by definition: the 128th part of a gallon of 231 cubic inches.
ML_PER_FLUID_OUNCE = 231 * 25.4**3 / 1000.0 / 128.0

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_BETWEEN = r" x | × | to | and | or |-|–"
_MEASURE = re.compile(
    rf"(?<![\w./])(?P<run>{_NUMBER}(?:(?:{_BETWEEN}){_NUMBER})*) "
    r"(?P<unit>mm|m|N|°C|m²|dm²)(?![\w²/])"
)
_PARTS = re.compile(rf"({_BETWEEN})")


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleBar:
    """A bar that shows whether a printer kept the scale.

    Attributes:
        length_mm: From end to end.
        parts: Equal parts that it is ticked in.
        words: Its length.
        within: By how much it may be off, in words.
    """

    length_mm: float
    parts: int
    words: str
    within: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """How measures are written.

    Attributes:
        lengths: In mm, or in inches with fractions; beside inches leather is told in ounces, areas
            in square feet, water in degrees Fahrenheit too and force in pounds too.
    """

    lengths: LengthUnit = "mm"

    @property
    def bar(self) -> ScaleBar:
        """The bar on full-size patterns."""
        if self.lengths == "mm":
            return ScaleBar(length_mm=100.0, parts=10, words="100 mm", within="0.3 mm")
        return ScaleBar(length_mm=4 * 25.4, parts=8, words="4 in", within="1/64 in")

    def length(self, mm: float, decimals: int = 1) -> str:
        """Write a length, told to so many decimals of a mm.

        >>> Written().length(86.44), Written(lengths="in").length(86.44)
        ('86.4 mm', '3 13/32 in (3.402)')
        """
        return self.words(f"{decimal_text(mm, decimals)} mm")

    def size(self, mm: Iterable[float], decimals: int = 1) -> str:
        """Write width by height, or by depth as well; to whole mm it is one for a ruler.

        A half is rounded up, whatever its last bits say: papers tell one size alike.

        >>> Written(lengths="in").size((212.0, 41.4), 0)
        '8 11/32 x 1 5/8 in'
        """
        if self.lengths == "in" and not decimals:
            ruled = (fraction_text(_nearest(f"{one:.3f}", RULER_PARTS)) for one in mm)
            return f"{' x '.join(ruled)} in"
        return self.words(f"{' x '.join(f'{one + 1e-6:.{decimals}f}' for one in mm)} mm")

    def leather(self, thickness_mm: Thickness) -> str:
        """Write a thickness of leather, in the trade's ounces beside inches.

        >>> Written(lengths="in").leather((1.4, 1.6))
        '3.5-4 oz (0.055-0.063 in)'
        """
        return self.words(format_leather_thickness(thickness_mm), of_leather=True)

    def area(self, m2: float, decimals: int = 1) -> str:
        """Write an area, in dm² to so many decimals.

        >>> Written().area(0.1234), Written(lengths="in").area(0.1234)
        ('12.3 dm²', '1.32 sq ft')
        """
        return self.words(f"{100.0 * m2:.{decimals}f} dm²")

    def weight(self, grams: float) -> str:
        """Return a weight in g, beside inches in ounces avoirdupois."""
        if self.lengths == "mm":
            return f"{grams:g} g"
        return f"{grams / GRAMS_PER_OUNCE:.2g} oz ({grams:g} g)"

    def words(self, text: str, names: Iterable[str] = (), *, of_leather: bool = False) -> str:
        """Rewrite the measures in words; names that hold a measure stay as they are.

        Args:
            text: With lengths, areas, forces and temperatures as they are inside.
            names: Of materials, such as ``MDF 6 mm``.
            of_leather: Whether its lengths are thicknesses of leather.

        >>> Written(lengths="in").words("cut MDF 6 mm to 79.4 mm", ("MDF 6 mm",))
        'cut MDF 6 mm to 3 1/8 in'
        """
        if self.lengths == "mm":
            return text
        kept = sorted({name for name in names if name in text and "mm" in name}, key=len)
        if not kept:
            return _MEASURE.sub(lambda found: _in_inches(found, of_leather), text)
        name = kept[-1]
        rest = kept[:-1]
        return name.join(self.words(part, rest, of_leather=of_leather) for part in text.split(name))


METRIC = Written()


def _in_inches(found: re.Match[str], of_leather: bool) -> str:
    run, unit = found["run"], found["unit"]
    if unit == "°C":
        return f"{found[0]} ({_each(run, lambda c: f'{float(c) * 9 / 5 + 32:.0f}')} °F)"
    if unit == "N":
        return f"{found[0]} ({_each(run, lambda n: _two(float(n) / N_PER_LBF))} lbf)"
    if unit in ("m²", "dm²"):
        worth = float(M2_PER_FT2) * (1.0 if unit == "m²" else 100.0)
        return f"{_each(run, lambda a: decimal_text(float(a) / worth, 2))} sq ft"
    if unit == "m":
        return f"{_each(run, lambda m: decimal_text(float(m) * 1000 / 25.4 / 12, 1))} ft"
    if of_leather:
        return f"{_each(run, _ounces)} oz ({_each(run, _decimal)} in)"
    numbers = _PARTS.split(run)[::2]
    if all(_is_whole(one) and float(one) >= IN_FEET_MM for one in numbers):
        return _each(run, _feet)
    if all(_fits(one) for one in numbers):
        return f"{_each(run, _fraction)} in"
    if all(float(one) < MM_PER_INCH for one in numbers):
        return f"{_each(run, _decimal)} in"
    return f"{_each(run, _fraction)} in ({_each(run, _decimal)})"


def _each(run: str, write: Callable[[str], str]) -> str:
    """Return a run such as ``12 x 8.5`` with each of its numbers written anew."""
    parts = _PARTS.split(run)
    return "".join(part if i % 2 else write(part) for i, part in enumerate(parts))


def _is_whole(mm: str) -> bool:
    return "." not in mm


def _is_ruled(mm: str) -> bool:
    return _is_whole(mm) and float(mm) >= RULED_MM


def _nearest(mm: str, parts: int) -> Fraction:
    return Fraction(round(Fraction(mm) / MM_PER_INCH * parts), parts)


def _fits(mm: str) -> bool:
    """Whether its fraction says all that a length in mm does."""
    if _is_ruled(mm):
        return True
    nearest = _nearest(mm, FINEST_PARTS)
    if 0 < float(mm) < MM_PER_INCH and float(mm).is_integer():
        return False  # what is sold by the whole mm: boards, dowels, cutters
    near = NEARER_MM if len(mm.partition(".")[2]) > 1 else NEAR_MM
    off = abs(float(nearest * MM_PER_INCH) - float(mm))
    return off <= near and (nearest > 0 or float(mm) == 0)


def _fraction(mm: str) -> str:
    return fraction_text(_nearest(mm, RULER_PARTS if _is_ruled(mm) else FINEST_PARTS))


def _decimal(mm: str) -> str:
    return decimal_text(float(Fraction(mm) / MM_PER_INCH), 3)


def _feet(mm: str) -> str:
    feet, inches = divmod(Fraction(round(Fraction(mm) / MM_PER_INCH * 2), 2), 12)
    return f"{feet} ft {fraction_text(inches)} in" if inches else f"{feet} ft"


def _ounces(mm: str) -> str:
    """Return a thickness in ounces of 1/64 in, to the half ounce that leather is sold by."""
    return decimal_text(round(float(Fraction(mm) / MM_PER_OUNCE) * 2) / 2, 1)


def _two(value: float) -> str:
    """Return a number to two digits: a force is no better known."""
    return f"{float(f'{value:.2g}'):.0f}"

"""Areas of hides and sheets: square metres inside, metric or square feet outside."""

from fractions import Fraction

from hidewright.units.length import MM_PER_INCH, LengthUnit
from hidewright.units.measure import Measure, parse_measure
from hidewright.units.number import decimal_text

#: A foot has 12 inches of 25.4 mm exactly.
M2_PER_FT2 = (12 * MM_PER_INCH / 1000) ** 2
AREA = Measure(
    wanted="an area",
    units=(
        ("m2", Fraction(1)),
        ("m²", Fraction(1)),
        ("dm2", Fraction(1, 100)),
        ("cm2", Fraction(1, 10_000)),
        ("ft2", M2_PER_FT2),
        ("sq ft", M2_PER_FT2),
        ("sqft", M2_PER_FT2),
    ),
    examples=("0.8 m2", "80 dm2", "8.5 sq ft"),
)


def parse_area(text: str) -> float:
    """Read an area into m2.

    >>> parse_area("80 dm2"), round(parse_area("10 sq ft"), 6)
    (0.8, 0.92903)
    """
    return parse_measure(AREA, text)


def format_area(m2: float, unit: LengthUnit = "mm") -> str:
    """Write an area with three or four figures, in m2, or in square feet beside inches.

    >>> format_area(0.8412), format_area(0.9290304, "in")
    ('0.841 m2', '10 sq ft')
    """
    if unit == "mm":
        return f"{decimal_text(m2, 3)} m2"
    return f"{decimal_text(m2 / float(M2_PER_FT2), 2)} sq ft"

import math
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.units.length import (
    WRITTEN_TO_MM,
    format_length,
    parse_length,
    parse_position,
)
from hidewright.units.measure import format_angle, parse_angle, parse_mass, parse_ratio
from hidewright.units.minutes import format_minutes, parse_minutes
from hidewright.units.money import Money, decimals_of, format_money, parse_money
from hidewright.units.quantity import (
    QUANTITIES,
    Quantity,
    accepted,
    format,
    parse,
    written_units,
)
from hidewright.units.thickness import (
    MM_PER_OUNCE,
    format_leather_thickness,
    parse_leather_thickness,
)

LENGTHS = st.floats(0, 1e5, allow_nan=False)
POSITIONS = st.floats(-1e5, 1e5, allow_nan=False)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("12 mm", 12.0),
        ("12mm", 12.0),
        ("  12   mm ", 12.0),
        ("+12 mm", 12.0),
        (".5 mm", 0.5),
        ("0 mm", 0.0),
        ("1.2 cm", 12.0),
        ("0.5 m", 500.0),
        ("1/16 in", 25.4 / 16),
        ('3 1/8"', 25.4 * 25 / 8),
        ("3 1/8 in", 25.4 * 25 / 8),
        ("3 1/8″", 25.4 * 25 / 8),
        ("3-1/8 in", 25.4 * 25 / 8),
        ('12-63/64"', 25.4 * (12 + 63 / 64)),
        ("0.5in", 12.7),
        ("2 inches", 50.8),
        ("1 inch", 25.4),
        ("9/8 in", 25.4 * 9 / 8),
    ],
)
def test_a_length_is_read_in_every_way_a_maker_writes_it(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("12", "no unit"),
        ("", "not a plain number"),
        ("mm", "not a plain number"),
        ("12 furlong", "unit 'furlong'"),
        ("12 MM", "unit 'MM'"),
        ("4 oz", "unit 'oz'"),
        ("-1 mm", "negative"),
        ("1,5 mm", "comma"),
        ("nan mm", "not a plain number"),
        ("inf mm", "not a plain number"),
        ("1e3 mm", "unit 'e3 mm'"),
        ("1/0 in", "fraction"),
        ("3 9/8 in", "fraction"),
        ("3-9/8 in", "fraction"),
        ("3 - 1/8 in", "unit '- 1/8 in'"),
        ("0-1/2 in", "unit '-1/2 in'"),
        ("3-4 in", "unit '-4 in'"),
        ("1/2-3/4 in", "unit '-3/4 in'"),
        ("3½ in", "unit '½ in'"),
        ("1.2.3 mm", "not a plain number"),
        ("1:30", "not a plain number"),
        ("٣ mm", "not a plain number"),
        ("9" * 400 + " mm", "not a plain number"),
        ("12 mm\n13 mm", "unit 'mm\\n13 mm'"),
    ],
)
def test_a_length_that_is_unclear_is_refused_with_the_reason_and_what_is_accepted(
    text: str, because: str
) -> None:
    with pytest.raises(RequestError) as refused:
        parse_length(text)
    assert because in refused.value.because
    assert all(example in refused.value.mend for example in accepted("length"))
    assert len(str(refused.value)) < 400


def test_a_position_may_be_negative() -> None:
    assert parse_position("-2.5 mm") == -2.5
    assert parse_position("-1 1/2 in") == pytest.approx(-38.1, abs=1e-12)
    assert parse_position("-1-1/2 in") == pytest.approx(-38.1, abs=1e-12)


@given(POSITIONS, st.sampled_from(["mm", "in"]))
def test_a_written_length_is_read_back_within_its_stated_rounding(mm: float, unit: str) -> None:
    text = format_length(mm, "in" if unit == "in" else "mm")
    assert abs(parse_position(text) - mm) <= WRITTEN_TO_MM + 1e-9


@given(st.integers(0, 4000))
@example(214)  # four decimals of an inch are half a thousandth off
def test_tenths_of_a_mm_come_back_from_inches_as_they_were(tenths: int) -> None:
    assert parse_length(format_length(tenths / 10, "in")) == tenths / 10


@given(st.integers(-64 * 100, 64 * 100))
def test_every_64th_of_an_inch_is_written_as_a_fraction_in_lowest_terms(n: int) -> None:
    text = format_length(n * 25.4 / 64, "in")
    assert "." not in text
    assert parse_position(text) == pytest.approx(n * 25.4 / 64, abs=1e-9)
    if "/" in text:
        over, under = (int(part) for part in text.removesuffix(" in").split()[-1].split("/"))
        assert math.gcd(over, under) == 1
        assert abs(over) < under <= 64


def test_a_length_is_written_without_idle_zeros_and_without_minus_nought() -> None:
    assert format_length(12.0) == "12 mm"
    assert format_length(1200.0) == "1200 mm"
    assert format_length(12.3456) == "12.346 mm"
    assert format_length(-0.0001) == "0 mm"
    assert format_length(-0.0001, "in") == "0 in"
    # 0.118 in is 2.9972 mm, and stays itself through a file in mm
    assert format_length(parse_length(format_length(0.118 * 25.4)), "in") == "0.118 in"


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("3-4 oz", 3 * 25.4 / 64, 4 * 25.4 / 64),
        ("3 - 4 oz", 3 * 25.4 / 64, 4 * 25.4 / 64),
        ("3–4 oz", 3 * 25.4 / 64, 4 * 25.4 / 64),
        ("4 oz", 4 * 25.4 / 64, 4 * 25.4 / 64),
        ("3 1/2 oz", 3.5 * 25.4 / 64, 3.5 * 25.4 / 64),
        ("3 1/2-4 oz", 3.5 * 25.4 / 64, 4 * 25.4 / 64),
        ("1.4-1.6 mm", 1.4, 1.6),
        ("1.4 to 1.6 mm", 1.4, 1.6),
        ("2 mm", 2.0, 2.0),
        ("1/16 in", 25.4 / 16, 25.4 / 16),
    ],
)
def test_a_leather_thickness_is_read_as_thinnest_and_thickest(
    text: str, low: float, high: float
) -> None:
    assert parse_leather_thickness(text) == pytest.approx((low, high), abs=1e-12)


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("3-4", "no unit"),
        ("2", "no unit"),
        ("4-3 oz", "thick to thin"),
        ("0 mm", "thicker than nothing"),
        ("-2 mm", "thicker than nothing"),
        ("3--4 oz", "thick to thin"),
        ("3-1/2 oz", "thick to thin"),  # 3 1/2, or 3 to something: not guessed
        ("2 cm", "unit 'cm'"),
        ("2 mm-3 mm", "unit 'mm-3 mm'"),
        ("nan oz", "neither"),
        ("", "neither"),
        ("1/0 in", "fraction"),
    ],
)
def test_a_leather_thickness_that_is_unclear_is_refused(text: str, because: str) -> None:
    with pytest.raises(RequestError) as refused:
        parse_leather_thickness(text)
    assert because in refused.value.because
    assert "3-4 oz" in refused.value.mend


@given(
    st.floats(0.01, 20),
    st.floats(0, 5),
    st.sampled_from([("mm", 0.0005), ("oz", 0.0005 * float(MM_PER_OUNCE))]),
)
def test_a_written_thickness_is_read_back_within_its_rounding(
    low: float, more: float, unit: tuple[str, float]
) -> None:
    text = format_leather_thickness((low, low + more), "oz" if unit[0] == "oz" else "mm")
    assert parse_leather_thickness(text) == pytest.approx((low, low + more), abs=unit[1] + 1e-9)


@given(st.floats(-1000, 1000), st.sampled_from(["deg", "rad"]))
def test_a_written_angle_is_read_back_within_its_rounding(radians: float, unit: str) -> None:
    text = format_angle(radians, "rad" if unit == "rad" else "deg")
    assert parse_angle(text) == pytest.approx(radians, abs=1e-6)


def test_a_quarter_turn_is_90_degrees_in_each_spelling() -> None:
    assert parse_angle("90 deg") == parse_angle("90°") == pytest.approx(math.pi / 2, abs=1e-15)
    assert parse_angle("-1.5 rad") == -1.5


def test_a_share_needs_its_percent_sign_and_a_mass_is_never_in_ounces() -> None:
    assert parse_ratio("1.5 %") == 0.015
    with pytest.raises(RequestError, match="no unit"):
        parse_ratio("0.015")
    assert parse_mass("1.2 kg") == 1200.0
    with pytest.raises(RequestError, match="unit 'oz'"):
        parse_mass("3 oz")


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("90 min", 90),
        ("1 h 30 min", 90),
        ("1.5 h", 90),
        ("1h30min", 90),
        ("0 min", 0),
        ("2 h", 120),
    ],
)
def test_a_time_is_read_in_whole_minutes(text: str, minutes: int) -> None:
    assert parse_minutes(text) == minutes


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("90", "no unit"),
        ("1:30", "not a plain number"),
        ("1 h 75 min", "60 or more"),
        ("1.51 h", "whole minutes"),
        ("0.5 min", "whole minutes"),
        ("30 s", "unit 's'"),
        ("1 h 30", "unit 'h 30'"),
        ("-5 min", "negative"),
    ],
)
def test_a_time_that_is_not_whole_minutes_is_refused(text: str, because: str) -> None:
    with pytest.raises(RequestError) as refused:
        parse_minutes(text)
    assert because in refused.value.because
    assert "1 h 30 min" in refused.value.mend


@given(st.integers(0, 10**6))
def test_written_minutes_are_read_back_exactly(minutes: int) -> None:
    assert parse_minutes(format_minutes(minutes)) == minutes


@given(st.integers(0, 10**12), st.sampled_from(["EUR", "USD", "GBP", "CAD", "JPY", "KWD"]))
def test_written_money_is_read_back_exactly(minor: int, currency: str) -> None:
    money = Money(minor=minor, currency=currency)
    text = format_money(money)
    assert parse_money(text) == money
    assert Fraction(text.split()[0]) * 10 ** decimals_of(currency) == minor


@pytest.mark.parametrize(
    ("text", "because"),
    [
        ("12.50", "names no currency"),
        ("12.50 eur", "three-letter"),
        ("$12", "not a plain number"),
        ("12.505 EUR", "2 decimals"),
        ("12.5 JPY", "0 decimals"),
        ("-1 EUR", "negative"),
        ("1,50 EUR", "comma"),
    ],
)
def test_money_that_is_unclear_is_refused(text: str, because: str) -> None:
    with pytest.raises(RequestError) as refused:
        parse_money(text)
    assert because in refused.value.because


def test_money_owed_the_other_way_is_written_with_its_sign() -> None:
    assert format_money(Money(minor=-5, currency="EUR")) == "-0.05 EUR"


@pytest.mark.parametrize("text", ["3.0", "-1", "1e3", "1_000", "three", "", "no", "1:30", "0x1F"])
def test_a_count_that_is_not_a_whole_number_is_refused(text: str) -> None:
    with pytest.raises(RequestError, match="a plain whole number"):
        parse("count", text)


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_every_example_of_every_quantity_is_read_and_written_back(quantity: Quantity) -> None:
    for text in accepted(quantity):
        value = parse(quantity, text)
        for unit in (None, *written_units(quantity)):
            again = parse(quantity, format(quantity, value, unit=unit))
            if isinstance(value, Money):
                assert again == value
            else:
                assert again == pytest.approx(value, abs=WRITTEN_TO_MM)


NEARLY_QUANTITIES = st.text(alphabet='0123456789 ./,-+:minchozgEUR%°"dearbMPk½٣', max_size=12)


@pytest.mark.parametrize("quantity", QUANTITIES)
@given(text=st.one_of(st.text(max_size=90), NEARLY_QUANTITIES))
def test_any_text_at_all_is_a_finite_value_or_refused_with_what_is_accepted(
    quantity: Quantity, text: str
) -> None:
    refusals: list[RequestError] = []
    try:
        value = parse(quantity, text)
    except RequestError as refused:
        refusals.append(refused)
    else:
        numbers = value if isinstance(value, tuple) else (value,)
        assert all(math.isfinite(n.minor if isinstance(n, Money) else n) for n in numbers)
    assert all(accepted(quantity)[0] in refused.mend for refused in refusals)


def test_a_quantity_is_not_written_in_a_unit_it_has_not() -> None:
    with pytest.raises(RequestError, match="length is not written in oz"):
        format("length", 3.0, unit="oz")


def test_a_value_of_another_quantity_is_our_own_mistake() -> None:
    with pytest.raises(TypeError, match="no value of money"):
        format("money", 3.0)

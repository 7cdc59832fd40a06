"""What is known in words and pictures: ranges, errors over time and their trend."""

import re
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.design.interval import Interval
from hidewright.workshop.learned_words import surprise_words, told, told_reading
from hidewright.workshop.views.learned_view import (
    Error,
    error_picture,
    error_words,
    range_picture,
    trend_of,
)

DAY = date(2026, 3, 2)


def error(off: float, *, counts: bool = True) -> Error:
    return Error(day=DAY, words="dry size", off_mm=off, low_mm=-0.3, high_mm=0.3, counts=counts)


@pytest.mark.parametrize(
    ("value", "unit", "lengths", "words"),
    [
        (Interval(likely=86.4, low=85.9, high=86.9), "mm", "mm", "86.4 mm, likely 85.9-86.9"),
        (Interval(likely=0.172, low=0.151, high=0.196), "mm", "mm", "0.17 mm, likely 0.15-0.20"),
        (Interval(likely=25.4, low=25.2, high=25.6), "mm", "in", "1.000 in, likely 0.992-1.008"),
        (Interval(likely=0.0072, low=0.0056, high=0.009), "%", "mm", "0.7 %, likely 0.6-0.9"),
        (Interval(likely=0.8, low=0.64, high=0.89), "%", "mm", "80 %, likely 64-89"),
        (Interval(likely=1.2, low=1.1, high=1.3), "x", "mm", "1.20 times, likely 1.10-1.30"),
        (Interval(likely=45.5, low=45.5, high=45.5), "mm", "mm", "45.50 mm"),
    ],
)
def test_a_value_is_told_with_its_range_as_finely_as_it_is_known(
    value: Interval, unit: str, lengths: str, words: str
) -> None:
    assert told(value, unit, lengths=lengths) == words  # type: ignore[arg-type]


def test_a_reading_is_told_in_its_unit() -> None:
    assert told_reading(44.5, "mm") == "44.50 mm"
    assert told_reading(50.8, "mm", "in") == "2.000 in"
    assert (told_reading(9.26, "h"), told_reading(286.0, "min")) == ("9.3 h", "286 min")


def test_a_range_tells_its_unit_again_where_papers_rewrite_measures() -> None:
    value = Interval(likely=86.4, low=85.9, high=86.9)
    assert told(value, "mm", again=True) == "86.4 mm, likely 85.9-86.9 mm"
    from hidewright.units.written import Written

    assert "mm" not in Written(lengths="in").words(told(value, "mm", again=True))


def test_readings_far_from_the_catalogue_are_said_to_be_and_others_are_not() -> None:
    assert surprise_words(1.0) == surprise_words(1.04) == ""
    assert "1.6 times as wide" in surprise_words(1.62)


def test_the_trend_is_the_mean_size_of_the_last_four_errors_that_count() -> None:
    errors = [error(x) for x in (0.4, -0.4, 0.2, 0.2)]
    errors += [error(5.0, counts=False), error(0.0)]
    assert trend_of(errors) == pytest.approx((0.4, 0.4, 1 / 3, 0.3, 0.3, 0.2))


def test_few_readings_are_no_trend_and_many_say_how_the_errors_shrank() -> None:
    assert "too few" in error_words([error(0.1)] * 7)
    assert error_words([error(0.1)]).startswith("1 reading of pressed leather")
    words = error_words([error(0.4)] * 4 + [error(9.0, counts=False)] + [error(-0.1)] * 4)
    assert "8 readings: the first 4 were off by 0.40 mm on average, the last 4 by 0.10 mm" in words
    inches = error_words([error(0.508)] * 8, "in", 1 / 25.4)
    assert "0.02 in" in inches


@given(st.lists(st.floats(-3.0, 3.0), min_size=1, max_size=30))
def test_every_reading_is_a_dot_in_the_picture_above_or_below_the_line(offs: list[float]) -> None:
    svg = error_picture([error(x) for x in offs])
    dots = [
        (float(x), float(y))
        for x, y in re.findall(r'class="reading" cx="([\d.]+)" cy="([\d.]+)"', svg)
    ]
    (zero,) = map(float, re.findall(r'class="zero" x1="[\d.]+" y1="([\d.]+)"', svg))
    assert len(dots) == len(offs)
    assert [x for x, _ in dots] == sorted(x for x, _ in dots)
    for off, (_, y) in zip(offs, dots, strict=True):
        assert (zero - y) * off >= -0.11
        assert 18.0 <= y <= 300.0 - 46.0


def test_a_slip_is_marked_as_one_and_does_not_stretch_the_picture() -> None:
    svg = error_picture([error(0.1), error(50.0, counts=False)])
    assert svg.count('class="reading odd"') == 1
    assert "+0.2 mm" in svg


def test_the_own_bar_lies_where_its_range_lies_in_the_catalogues_line() -> None:
    svg = range_picture(
        Interval(likely=2.0, low=1.0, high=3.0), Interval(likely=1.75, low=1.5, high=2.0)
    )
    (x1, x2) = map(float, re.findall(r'class="before" x1="([\d.]+)" y1="8" x2="([\d.]+)"', svg)[0])
    bar, wide = map(float, re.findall(r'class="now" x="([\d.]+)" y="16" width="([\d.]+)"', svg)[0])
    assert (bar - x1) / (x2 - x1) == pytest.approx(0.25, abs=0.01)
    assert wide / (x2 - x1) == pytest.approx(0.25, abs=0.01)

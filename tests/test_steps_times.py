"""Times and their sources, the maker's own over them, and the maker's changes of the steps."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.catalogue.step_rows import WorkTime, built_in_times
from hidewright.design.step import Hold, Rest, Step, must_be_in_order, waits
from hidewright.errors import RequestError
from hidewright.planning.step_times import OWN_SOURCE, own_times, times_with
from hidewright.planning.steps_changes import moved_step, with_step, without_step
from hidewright.planning.steps_choice import BenchChoice
from hidewright.planning.steps_edges import bevel_mm, coat_names
from hidewright.planning.steps_maker import between, maker_for, span_of_time

ADMITTED = (
    "from memory",
    "common practice, no source",
    "page",
    "guide",
    "data sheet",
    "drying law",
)


def test_every_default_time_says_where_it_comes_from() -> None:
    rows = built_in_times()
    assert len({row.name for row in rows}) == len(rows)
    for row in rows:
        assert any(word in row.source for word in ADMITTED), row.name


def test_sewing_is_within_the_rates_that_its_source_tells() -> None:
    sew = times_with()["sew"]
    assert 1 / 8 <= sew.unit_minutes <= 1 / 4
    assert 2 + 2 <= sew.thing_minutes <= 3 + 2
    prick = times_with()["prick"]
    assert 1 / 30 <= prick.unit_minutes <= 1 / 20
    skive = times_with()["skive"]
    assert 0.5 <= skive.unit_minutes <= 1.0


def test_own_times_lie_over_the_built_in_ones_field_by_field() -> None:
    (own,) = own_times({"sew": {"unit_minutes": 0.3}})
    default = times_with()["sew"]
    assert (own.thing_minutes, own.load_minutes) == (default.thing_minutes, default.load_minutes)
    assert (own.unit_minutes, own.source) == (0.3, OWN_SOURCE)
    times = times_with((own,))
    assert times["sew"] == own
    assert {n for n in times if times[n] != times_with()[n]} == {"sew"}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"saw": {"unit_minutes": 1.0}}, "Did you mean: sew"),
        ({"sew": {"minutes": 1.0}}, "Did you mean: unit_minutes"),
        ({"sew": {"unit_minutes": -1.0}}, "must be 0 or more"),
        ({"sew": {"unit_minutes": float("nan")}}, "must be 0 or more"),
        ({"check": {"unit_minutes": 1.0}}, "nothing is counted on it"),
        ({"soak": {"rest_least_minutes": 40.0}}, "Give a most that is longer"),
    ],
)
def test_times_that_cannot_be_are_refused_in_words(
    changes: dict[str, dict[str, float]], words: str
) -> None:
    with pytest.raises(RequestError, match=words):
        own_times(changes)


def test_a_time_given_twice_or_for_no_work_is_refused() -> None:
    row = times_with()["sew"]
    with pytest.raises(RequestError, match="twice"):
        times_with((row, row))
    with pytest.raises(RequestError, match="no step is a 'saw'"):
        times_with((WorkTime(name="saw", source="from memory"),))


@given(st.floats(0, 50), st.floats(0, 50), st.integers(1, 30), st.integers(1, 30))
def test_a_load_takes_no_less_than_its_minutes_and_no_more_than_two_loads(
    load: float, thing: float, one: int, two: int
) -> None:
    step = _step("a", load_minutes=load, thing_minutes=thing)
    assert step.minutes(one) >= load + one * thing - 1e-6
    assert step.minutes(one + two) <= step.minutes(one) + step.minutes(two)


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        ({"water_C": 60.0}, "shrinks for good"),
        ({"water_C": float("nan")}, "shrinks for good"),
        ({"dry_share": 1.0}, "never wholly dry"),
        ({"paint_coats": 0}, "paint_coats of 0"),
        ({"booth_holds": 0}, "booth_holds of 0"),
    ],
)
def test_choices_that_harm_leather_or_mean_nothing_are_refused(
    choice: dict[str, float], words: str
) -> None:
    with pytest.raises(RequestError, match=words):
        BenchChoice(**choice)  # type: ignore[arg-type]


def test_rests_are_told_in_words() -> None:
    told = [
        span_of_time(Rest(what="", least_minutes=least, most_minutes=most))
        for least, most in ((12, 30), (0, 8), (1440, None), (4320, 11520), (995, None))
    ]
    assert told == [
        "12 min to 30 min",
        "at most 8 min",
        "at least 24 h",
        "3 days to 8 days",
        "at least 16 h 35 min",
    ]
    assert (between(4.0, 4.004, 2), between(3.9, 4.1, 1)) == ("4.00 mm", "3.9 to 4.1 mm")


def test_coats_keep_their_names_when_others_come_between() -> None:
    assert [set(coat_names(n + 1)) - set(coat_names(n)) for n in (2, 3)] == [
        {"middle 1"},
        {"middle 2"},
    ]
    assert [len(coat_names(n)) for n in (1, 2, 5)] == [1, 2, 5]
    assert [bevel_mm(t) for t in (1.0, 3.0, 9.0)] == [0.6, 1.0, 1.2]


def test_a_rest_of_a_work_is_none_where_nothing_passes() -> None:
    maker = maker_for(BenchChoice())
    assert maker.rest("unclamp") is None
    assert maker.rest("clamp") == Rest(what="glue setting", least_minutes=30)


def _step(name: str, *after: str, **more: object) -> Step:
    return Step(
        name=name,
        work="check",
        place_kind="article",
        place="it",
        how="Do it.",
        after=after,
        source="from memory",
        **more,  # type: ignore[arg-type]
    )


SOAK = Rest(what="soaking", least_minutes=10, most_minutes=30)
CHAIN = (
    _step("cut"),
    _step("soak", "cut", rest=SOAK, holds=(Hold(station="tub", until="press"),)),
    _step("press", "soak"),
    _step("punch", "press"),
    _step("prick", "press"),
    _step("sew", "punch", "prick"),
)


def test_waits_are_the_rests_between_a_step_and_each_that_follows() -> None:
    found = [(w.before, w.then, w.rest) for w in waits(CHAIN)]
    assert found == [
        ("cut", "soak", None),
        ("soak", "press", SOAK),
        ("press", "punch", None),
        ("press", "prick", None),
        ("punch", "sew", None),
        ("prick", "sew", None),
    ]


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        ((_step("a"), _step("a")), "two steps are called 'a'"),
        ((_step("a", "b"),), "there is no such step"),
        ((_step("a", "b"), _step("b")), "Move a behind b"),
        ((_step("a", "a"),), "stands before a"),
        ((_step("a", holds=(Hold(station="vise", until="b"),)),), "no later step"),
        ((_step("b"), _step("a", holds=(Hold(station="vise", until="b"),))), "no later step"),
    ],
)
def test_steps_that_cannot_be_done_from_first_to_last_are_refused(
    steps: tuple[Step, ...], words: str
) -> None:
    with pytest.raises(RequestError, match=words):
        must_be_in_order(steps)


def test_a_step_left_out_hands_on_what_was_before_it() -> None:
    left = without_step(CHAIN, "punch")
    assert [s.name for s in left] == ["cut", "soak", "press", "prick", "sew"]
    assert left[-1].after == ("press", "prick")
    must_be_in_order(left)


@pytest.mark.parametrize("name", ["soak", "press"])
def test_a_step_that_takes_or_frees_a_station_is_not_left_out(name: str) -> None:
    with pytest.raises(RequestError, match="cannot be left out"):
        without_step(CHAIN, name)


def test_steps_move_where_nothing_forbids_it() -> None:
    moved = moved_step(CHAIN, "punch", "prick")
    assert [s.name for s in moved] == ["cut", "soak", "press", "prick", "punch", "sew"]
    assert moved[4].after == ("press", "prick")
    assert moved[5].after == ("punch", "prick")
    assert moved_step(CHAIN, "punch", "punch") == CHAIN
    with pytest.raises(RequestError, match="within 30 minutes"):
        moved_step(CHAIN, "sew", "soak")
    with pytest.raises(RequestError, match="Move sew behind punch"):
        moved_step(CHAIN, "punch", "sew")
    with pytest.raises(RequestError, match=r"no step 'prik'.*Did you mean: prick"):
        moved_step(CHAIN, "prik", "sew")


def test_an_own_step_comes_behind_another_and_before_all_that_follows_it() -> None:
    found = with_step(CHAIN, _step("stamp"), "press")
    assert [s.name for s in found].index("stamp") == 3
    by_name = {s.name: s for s in found}
    assert by_name["stamp"].after == ("press",)
    assert "stamp" in by_name["punch"].after
    assert "stamp" in by_name["prick"].after
    with pytest.raises(RequestError, match="within 30 minutes"):
        with_step(CHAIN, _step("stamp"), "soak")
    with pytest.raises(RequestError, match="two steps are called"):
        with_step(CHAIN, _step("sew"), "press")

"""Hours on the plug are the drying law's for this very leather and its air.

A slab that has given off most of its water holds (8/pi^2) exp(-t / tau) of it (Crank, The
Mathematics of Diffusion, 1975, ch. 4; the first term of the series).
"""

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from coarse_cache import CACHE
from hidewright.design.specification import Change, Specification
from hidewright.design.step import Step
from hidewright.forming.drying_time import vapour_deficit
from hidewright.planning.step_times import own_times
from hidewright.planning.steps_choice import BenchChoice, BlankFacts
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.forming_papers import bench_notes
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of

NODES = article.NODES
#: Rounded up to full five minutes, and pressed closed for an hour before, which dries a little.
WITHIN_MIN = 12.0


def _spec(name: str) -> Specification[Any]:
    path = Path("examples") / f"{name}.yaml"
    return read_design(path.read_bytes(), name=path.name).specification


def _values(spec: Specification[Any], bench: BenchChoice, *wanted: str) -> Any:
    return evaluate(NODES, {**inputs_of(spec, "A4"), "bench": bench}, wanted, CACHE).values


def _facts(name: str, **choice: Any) -> tuple[BlankFacts, ...]:
    facts: tuple[BlankFacts, ...] = _values(_spec(name), BenchChoice(**choice), "blank facts")[
        "blank facts"
    ]
    return facts


def _dried(steps: tuple[Step, ...], blank: str) -> int:
    opened = next(s for s in steps if s.work == "open the mould" and s.place == blank)
    assert opened.rest is not None
    assert opened.rest.most_minutes is None
    return opened.rest.least_minutes


@pytest.mark.parametrize("name", ["lens-case", "label-box", "tube-sleeve"])
def test_leather_dries_on_its_plug_for_the_hours_of_the_law(name: str) -> None:
    spec, share = _spec(name), 0.97
    steps = _values(spec, BenchChoice(dry_share=share), "steps")["steps"]
    leather = spec.brief.leathers[0][1]
    soaked = leather.thickness_mm * (1.0 + leather.soak_growth_thickness)
    over = 2.0 * soaked / 2.0  # one face open counts as twice the thickness; over 2.0 mm
    tau = 3.2 * (1.0 + 1.5 * (over - 1.0))
    hours = tau * math.log(8.0 / (math.pi**2 * (1.0 - share)))
    for blank in _facts(name, dry_share=share):
        assert blank.dry_share == share
        assert _dried(steps, blank.blank) == pytest.approx(60.0 * hours, abs=WITHIN_MIN)
        assert _dried(steps, blank.blank) == blank.plug_minutes
        assert blank.plug_minutes % 5 == 0


def test_twice_as_dry_air_halves_the_time_and_moving_air_goes_by_its_power() -> None:
    at = {"temperature_C": 20.0, "humidity": 0.5}
    (usual,) = _facts("lens-case", dry_share=0.97)
    for air_C, humidity in ((20.0, 0.65), (28.0, 0.4)):
        (other,) = _facts("lens-case", dry_share=0.97, air_C=air_C, humidity=humidity)
        drier = vapour_deficit(air_C, humidity) / vapour_deficit(at["temperature_C"], 0.5)
        assert other.plug_minutes * drier == pytest.approx(usual.plug_minutes, rel=0.01)
    (fan,) = _facts("lens-case", dry_share=0.97, air_speed_m_s=0.6)
    assert usual.plug_minutes / fan.plug_minutes == pytest.approx(4.0**0.6, rel=0.02)


def test_the_plan_and_the_forming_page_tell_the_same_hours() -> None:
    spec = _spec("forceps-pocket")
    values = _values(spec, BenchChoice(dry_share=0.05), "pressed blanks", "blank facts")
    for one, facts in zip(values["pressed blanks"][0], values["blank facts"], strict=True):
        told = " ".join(bench_notes(one, spec.brief.leathers))
        assert f"about {round((facts.plug_minutes - 2.5) / 60)} hours" in told
        assert facts.earliest_minutes == facts.plug_minutes


def test_it_may_come_off_earlier_only_where_that_costs_no_size() -> None:
    for name in ("lens-case", "label-box", "trowel-cover"):
        for facts in _facts(name, dry_share=0.95):
            assert facts.earliest_minutes <= facts.plug_minutes
            assert facts.dry_share == max(0.95, facts.earliest_share)


@pytest.mark.parametrize("dry_share", [0.95, 0.99])
def test_a_second_time_is_told_where_it_saves_an_hour(dry_share: float) -> None:
    for name in ("lens-case", "label-box"):
        bench = BenchChoice(dry_share=dry_share)
        steps = _values(_spec(name), bench, "steps")["steps"]
        told = {s.place: {f.label for f in s.figures} for s in steps if s.work == "open the mould"}
        for facts in _facts(name, dry_share=dry_share):
            saves = facts.plug_minutes - facts.earliest_minutes
            assert ("May come off" in told[facts.blank]) == (saves >= 60)


def test_layers_pressed_together_dry_as_one_as_thick_as_both() -> None:
    spec = _spec("specimen-tray")
    both = replace(spec.brief.measures, lining="pressed together")
    lined = replace(spec, brief=replace(spec.brief, measures=both))
    bench = BenchChoice(dry_share=0.97)
    (one,) = _values(lined, bench, "blank facts")["blank facts"]
    leathers = [leather for _, leather in spec.brief.leathers]
    soaked = sum(x.thickness_mm * (1.0 + x.soak_growth_thickness) for x in leathers)
    first = leathers[0].thickness_mm * (1.0 + leathers[0].soak_growth_thickness)
    (alone,) = _values(spec, bench, "blank facts")["blank facts"]
    assert (one.dry_share, alone.dry_share) == (0.97, 0.97)
    expected = (1.0 + 1.5 * (soaked - 1.0)) / (1.0 + 1.5 * (first - 1.0))
    assert one.plug_minutes / alone.plug_minutes == pytest.approx(expected, rel=0.01)


def test_the_makers_own_hours_take_the_place_of_the_law() -> None:
    times = own_times({"open the mould": {"rest_least_minutes": 999}})
    steps = _values(_spec("lens-case"), BenchChoice(times=times), "steps")["steps"]
    assert _dried(steps, "pair of shells") == 999


def test_wetted_again_it_dries_on_the_plug_as_long_as_from_the_soak() -> None:
    bench = BenchChoice(dye="pieces", dye_base="water")
    values = _values(_spec("lens-case"), bench, "steps", "blank facts")
    (facts,) = values["blank facts"]
    dyed = next(s for s in values["steps"] if s.name == "dye front")
    assert dyed.rest is not None
    assert dyed.rest.least_minutes == facts.wet_again_minutes
    # the hour in the press dries it next to nothing
    assert 0 <= facts.wet_again_minutes - facts.plug_minutes <= 60


def _steps(bench: BenchChoice, *changes: Change) -> dict[str, Step]:
    spec = replace(_spec("lens-case"), changes=changes)
    return {step.work: step for step in _values(spec, bench, "steps")["steps"]}


def _minded(step: Step) -> list[str]:
    return [one.value for one in step.figures if one.label == "Mind"]


def test_warm_water_long_pressing_and_hot_air_are_said_beside_their_steps() -> None:
    usual = _steps(BenchChoice())
    assert _minded(usual["soak"]) == []
    (floor,) = _minded(usual["press"])
    assert "off the plug's face" in floor
    for water, says in ((42.0, "hand-warm, is enough"), (50.0, "near what shrinks")):
        (words,) = _minded(_steps(BenchChoice(water_C=water))["soak"])
        assert says in words
    long = own_times({"press": {"rest_least_minutes": 13 * 60, "rest_most_minutes": 14 * 60}})
    for bench, says in (
        (BenchChoice(times=long), "closed for 13 h"),
        (BenchChoice(air_C=45.0), "air of 45 °C"),
    ):
        (words,) = set(_minded(_steps(bench)["press"])) - {floor}
        assert says in words


def test_holding_and_relief_darts_are_said_where_a_blank_is_cut_and_pressed() -> None:
    blank = next(iter(_facts("lens-case"))).blank
    usual, place = _steps(BenchChoice()), f"blank/{blank}"
    assert "dart" not in usual["cut blank"].how
    loose = Change(place=place, field="hold", value="free")
    assert "Nothing may lie on the flange" in _steps(BenchChoice(), loose)["press"].how
    darts = Change(place=place, field="relief_dart", value="3 mm")
    assert "Cut the relief darts out" in _steps(BenchChoice(), darts)["cut blank"].how

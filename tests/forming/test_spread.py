"""Answers with their plausible ends: what widens them, what leaves them alone."""

import math
from dataclasses import astuple, replace

import pytest

from hidewright.catalogue.leathers import Leather
from hidewright.forming import spread
from hidewright.forming.answers import press_force_N, pull_in
from hidewright.forming.limits import use_of
from hidewright.forming.on_blank import wet_law
from hidewright.forming.pressing import EdgeHold, Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.solve import Conditions, Pressed, pressed
from hidewright.forming.spread import Interval, Spread, spread_of
from hidewright.geometry.shapes import rectangle

T = 2.1
LEATHER = Leather(
    name="test leather",
    part_of_hide="shoulder",
    thickness_min_mm=1.8,
    thickness_max_mm=2.2,
    soak_growth_thickness=0.05,
    stretch_limit_along=1.2,
    stretch_limit_across=1.3,
    source="invented for this test",
)
EVEN = replace(LEATHER, thickness_min_mm=2.0, thickness_max_mm=2.0)


def sheet(hold: EdgeHold, edge: float) -> Pressed:
    tools = Tools(depth_mm=10.0, crown_radius_mm=4.0, lip_radius_mm=3.0, gap_mm=2.4, thickness_mm=T)
    form = Pressing(
        hollows=(Hollow(name="plug", outline=rectangle(50, 40, 10), tools=tools),),
        edge=edge,
        thickness_mm=T,
        hold=hold,
        backbone=math.pi / 2,
    )
    conditions = Conditions(
        law=wet_law(LEATHER),
        friction=0.3,
        plate_pressure_MPa=0.02 if hold == "plate" else 0.0,
    )
    return pressed(form, conditions, 4.0)


@pytest.fixture(scope="module")
def held() -> Pressed:
    return sheet("plate", 16.0)


@pytest.fixture(scope="module")
def usual(held: Pressed) -> Spread:
    return spread_of(held, LEATHER, (True,))


def intervals(told: Spread) -> dict[str, Interval]:
    return {name: getattr(told, name) for name in Spread.__dataclass_fields__}


def only(monkeypatch: pytest.MonkeyPatch, **ends: tuple[float, float]) -> None:
    """Leave nothing unknown but what is given."""
    nothing = {"STIFFNESS": (1.0, 1.0), "FRICTION": (0.0, 0.0), "LIMITS": (1.0, 1.0)}
    for name, value in (nothing | ends).items():
        monkeypatch.setattr(spread, name, value)


def test_likely_values_are_those_of_the_sheet_and_lie_within_their_ends(
    held: Pressed, usual: Spread
) -> None:
    assert usual.force_N.likely == sum(press_force_N(held))
    assert usual.thinnest.likely == held.thickness.min() / T
    assert usual.most_pull_in_mm.likely == pull_in(held)[1].max()
    assert usual.use.likely == use_of(held, LEATHER).most.max()
    for name, one in intervals(usual).items():
        assert one.low <= one.likely <= one.high, name
        assert one.low < one.high, name


@pytest.mark.parametrize("name", ["STIFFNESS", "FRICTION", "LIMITS"])
def test_wider_ends_widen_what_they_bear_on_and_never_narrow_anything(
    held: Pressed, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    narrow, wide = {
        "STIFFNESS": ((0.8, 1.25), (0.5, 2.0)),
        "FRICTION": ((-0.05, 0.05), (-0.2, 0.2)),
        "LIMITS": ((0.9, 1.1), (0.7, 1.3)),
    }[name]
    told = []
    for ends in (narrow, wide):
        only(monkeypatch, **{name: ends})
        told.append(intervals(spread_of(held, EVEN, (True,))))
    wider = []
    for figure, before in told[0].items():
        after = told[1][figure]
        slack = 1e-3 * abs(after.likely)  # a warm solve ends a little beside where it began
        assert after.low <= before.low + slack, figure
        assert after.high >= before.high - slack, figure
        if after.high - after.low > before.high - before.low + slack:
            wider.append(figure)
    bears_on = {"STIFFNESS": "force_N", "FRICTION": "most_pull_in_mm", "LIMITS": "use"}
    assert bears_on[name] in wider


def test_a_range_of_thickness_widens_the_force(
    held: Pressed, monkeypatch: pytest.MonkeyPatch
) -> None:
    only(monkeypatch)
    even, uneven = (spread_of(held, one, (True,)).force_N for one in (EVEN, LEATHER))
    assert uneven.low < even.low - 0.05 * even.likely
    assert uneven.high > even.high + 0.05 * even.likely


def test_nothing_is_spread_when_nothing_is_unknown(
    held: Pressed, monkeypatch: pytest.MonkeyPatch
) -> None:
    only(monkeypatch)
    for name, one in intervals(spread_of(held, EVEN, (True,))).items():
        low, high = one.low, one.high
        assert (low, high) == pytest.approx((one.likely, one.likely), rel=2e-3), name


@pytest.fixture(scope="module")
def clamped() -> Pressed:
    return sheet("clamped", 5.4)


@pytest.mark.parametrize(
    "limits",
    [
        {"stretch_limit_along": 1.2, "stretch_limit_across": 1.3, "grain_limit": 1.7},
        {"stretch_limit_along": 1.6, "stretch_limit_across": 1.6, "grain_limit": 1.4},
    ],
    ids=["of the sheet", "of the grain"],
)
def test_use_goes_with_the_limits_exactly_in_the_logarithm(
    clamped: Pressed, monkeypatch: pytest.MonkeyPatch, limits: dict[str, float]
) -> None:
    only(monkeypatch, LIMITS=(0.8, 1.2))
    monkeypatch.setattr(spread, "pressed", lambda *_: clamped)  # nothing else shifts at all
    told = spread_of(clamped, replace(EVEN, **limits), (True,))  # type: ignore[arg-type]
    one = told.use
    # the share used is strain over limit, both as logarithms: a limit of 0.8 of it gives 1/0.8
    assert (one.low, one.high) == pytest.approx((one.likely / 1.2, one.likely / 0.8), rel=1e-9)
    for name, other in intervals(told).items():
        if name != "use":
            assert astuple(other) == (other.likely,) * 3, name


def test_the_grain_that_is_used_most_counts(held: Pressed) -> None:
    uses = [float(use_of(held, LEATHER, out).most.max()) for out in (True, False)]
    assert uses[0] != uses[1]
    assert spread_of(held, LEATHER, (True, False)).use.likely == max(uses)

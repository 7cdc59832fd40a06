"""How deep a leather may be pressed: what bounds it, and the chart over all cores."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from itertools import pairwise, product
from xml.etree import ElementTree

import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.blank import Blank, PiecePlace
from hidewright.drawing.svg import to_svg
from hidewright.errors import RequestError
from hidewright.forming.limits import pinched, use_of
from hidewright.forming.on_blank import conditions_for
from hidewright.forming.safe_depth import SafeDepth, SquareHollow, safe_depth
from hidewright.forming.solve import pressed
from hidewright.tooling.gap import gap_for
from hidewright.workshop.begin import begin
from hidewright.workshop.depth_chart import (
    CORNERS,
    DepthChart,
    chart_drawing,
    depth_chart,
    square_hollows,
)
from hidewright.workshop.graph import Cache

LEATHERS = built_in_catalogue().leathers
SHOULDER = find(LEATHERS, "vegetable-tanned shoulder 3-4 oz")
CLAMPED = SquareHollow(
    leather=SHOULDER,
    corner_radius_mm=10.0,
    crown_radius_mm=3.0,
    lip_radius_mm=3.0,
    gap_mm=1.8,
    hold="clamped",
    size_mm=4.0,
)
TINY = tuple(
    replace(CLAMPED, width_mm=24.0, corner_radius_mm=corner) for corner in (6.0, 8.0, 10.0)
)


def passes(hollow: SquareHollow, depth_mm: float) -> bool:
    """Solve from nothing, and say whether neither crack nor tear is to be expected."""
    blank = Blank(
        name="b", places=(PiecePlace(piece="p"),), role="body", margin_mm=9.0, hold=hollow.hold
    )
    sheet = pressed(hollow.at(depth_mm), conditions_for(blank, hollow.leather), hollow.size_mm)
    use = use_of(sheet, hollow.leather)
    return bool(use.most.max() < 1.0) and bool(pinched(sheet)[0].max() <= 1.0 / 0.95)


def depth_of(hollow: SquareHollow) -> float:
    depth = safe_depth(hollow).depth_mm
    assert depth is not None
    return depth


@pytest.mark.parametrize(
    "hollow",
    [CLAMPED, replace(CLAMPED, hold="plate", crown_radius_mm=2.0)],
    ids=["clamped", "plate"],
)
def test_the_depth_passes_and_half_a_millimetre_more_does_not(hollow: SquareHollow) -> None:
    depth = depth_of(hollow)
    assert depth % 0.25 == 0.0
    assert passes(hollow, depth)
    assert not passes(hollow, depth + 0.5)


def test_larger_corner_and_crown_radii_allow_more_depth() -> None:
    deep = {
        (crown, corner): depth_of(replace(CLAMPED, crown_radius_mm=crown, corner_radius_mm=corner))
        for crown, corner in product((2.0, 4.0), (6.0, 11.0, 18.0))
    }
    for crown in (2.0, 4.0):
        assert deep[crown, 6.0] < deep[crown, 11.0] < deep[crown, 18.0]
    for corner in (6.0, 11.0, 18.0):
        assert deep[2.0, corner] < deep[4.0, corner]


def test_a_corner_tighter_than_the_crown_has_no_depth() -> None:
    found = safe_depth(replace(CLAMPED, corner_radius_mm=2.9))
    assert found.depth_mm is None
    assert "corner radius too small" in found.because
    assert safe_depth(replace(CLAMPED, corner_radius_mm=3.1)).depth_mm is not None


def test_a_wall_that_is_torn_counts_although_nothing_cracks() -> None:
    tough = replace(SHOULDER, stretch_limit_along=2.0, stretch_limit_across=2.0, grain_limit=2.0)
    plate = replace(CLAMPED, leather=tough, hold="plate", corner_radius_mm=6.0)
    wide = safe_depth(plate)
    tight = safe_depth(replace(plate, gap_mm=1.5))
    assert tight.because == "the wall would be torn"
    assert tight.depth_mm is not None
    assert wide.depth_mm is not None
    assert tight.depth_mm < wide.depth_mm


def test_a_leather_that_bears_hardly_anything_has_no_depth() -> None:
    brittle = replace(SHOULDER, stretch_limit_along=1.001, stretch_limit_across=1.001)
    found = safe_depth(replace(CLAMPED, leather=brittle))
    assert found == SafeDepth(depth_mm=None, because="the leather would crack")


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"corner_radius_mm": 31.0}, "corner radius"),
        ({"crown_radius_mm": 0.0}, "crown radius"),
        ({"gap_mm": float("nan")}, "gap"),
        ({"leather": find(LEATHERS, "chrome-tanned lining 0.6-0.8 mm")}, "chrome"),
    ],
)
def test_a_hollow_that_is_none_is_refused_before_anything_is_solved(
    wrong: dict[str, float], said: str
) -> None:
    with pytest.raises(RequestError, match=said):
        replace(CLAMPED, **wrong)  # type: ignore[arg-type]


def test_the_chart_has_the_usual_gap_and_only_corners_that_fit() -> None:
    hollows = square_hollows(SHOULDER, width_mm=30.0, crowns_mm=(2.0, 3.0))
    usual = begin("open-tray", built_in_catalogue()).tooling
    assert {one.gap_mm for one in hollows} == {gap_for(SHOULDER, usual)[0]}
    fitting = [corner for corner in CORNERS if corner <= 15.0]
    assert [one.corner_radius_mm for one in hollows] == 2 * fitting


@pytest.fixture(scope="module")
def alone() -> tuple[SafeDepth, ...]:
    """The depths without any chart."""
    return tuple(safe_depth(hollow) for hollow in TINY)


@dataclass
class Charted:
    """A chart that two cores begin, is stopped when two depths are begun, and one core ends."""

    cache: Cache = field(default_factory=Cache)
    said: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.part = self.chart(workers=2, cancelled=lambda: len(self.said) == 2)
        self.begun = len(self.said)
        self.whole = self.chart(workers=1)

    def chart(self, workers: int, cancelled: Callable[[], bool] = lambda: False) -> DepthChart:
        return depth_chart(
            TINY, self.cache, workers=workers, cancelled=cancelled, progress=self.said.append
        )


@pytest.fixture(scope="module")
def charted() -> Charted:
    return Charted()


@pytest.mark.slow
def test_two_cores_stopped_end_what_is_begun_and_keep_it(
    charted: Charted, alone: tuple[SafeDepth, ...]
) -> None:
    assert charted.begun == 2
    assert charted.part == DepthChart(hollows=TINY, depths=(*alone[:2], None))
    assert charted.part.missing == 1


def test_one_core_and_two_find_what_each_hollow_gives_alone(
    charted: Charted, alone: tuple[SafeDepth, ...]
) -> None:
    assert charted.whole == DepthChart(hollows=TINY, depths=alone)
    assert charted.whole.missing == 0


def test_a_second_call_computes_nothing_in_whatever_order(charted: Charted) -> None:
    said: list[str] = []
    again = depth_chart(TINY[::-1], charted.cache, progress=said.append)
    assert again.depths == charted.whole.depths[::-1]
    assert said == []
    assert len(charted.said) == len(TINY)


def test_an_interrupt_from_the_keyboard_keeps_what_is_done(alone: tuple[SafeDepth, ...]) -> None:
    said: list[str] = []

    def interrupt(words: str) -> None:
        said.append(words)
        if len(said) == 2:
            raise KeyboardInterrupt

    part = depth_chart(TINY, Cache(), workers=1, progress=interrupt)
    assert part.depths == (alone[0], None, None)


def test_the_drawing_has_a_curve_of_its_own_style_for_each_crown_radius() -> None:
    hollows = square_hollows(SHOULDER, corners_mm=(3.0, 10.0, 20.0))
    depths = tuple(
        SafeDepth(depth_mm=None)
        if one.corner_radius_mm < one.crown_radius_mm
        else SafeDepth(depth_mm=one.crown_radius_mm + one.corner_radius_mm / 4.0)
        for one in hollows
    )
    drawing = chart_drawing(DepthChart(hollows=hollows, depths=depths))
    curves = [s for s in drawing.strokes if s.layer.name.startswith("crown radius")]
    assert len({s.layer.style for s in curves}) == 4
    for stroke, crown in zip(curves, (2.0, 3.0, 4.0, 6.0), strict=True):
        ends = [s.start for s in stroke.curve.segments] + [stroke.curve.segments[-1].end]
        corners = [c for c in (3.0, 10.0, 20.0) if c >= crown]
        assert len(ends) == len(corners)
        slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(ends)]
        assert slopes == pytest.approx([slopes[0]] * len(slopes))
    words = [t.words for t in drawing.texts]
    assert {"corner radius of the plan, mm", "depth, mm", "crown 2 mm", "crown 6 mm"} <= set(words)
    assert ElementTree.fromstring(to_svg(drawing)).tag.endswith("svg")

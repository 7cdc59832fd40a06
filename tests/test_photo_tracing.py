"""A hide traced over its photo: what each edit leaves as it was, and what it changes."""

import math

import pytest
import shapely

from hidewright.app.tracing import Mark, Tracing
from hidewright.design.hide import Corners
from hidewright.errors import RequestError
from hidewright.nesting.ground import graded
from hidewright.nesting.soundness import refuse_unsound_hide

RING: Corners = tuple(
    (500 + 400 * math.cos(k * math.pi / 30), 300 + 250 * math.sin(k * math.pi / 30))
    for k in range(60)
)
HOLE: Corners = ((480.0, 280.0), (520.0, 280.0), (520.0, 320.0))


def square(x: float, y: float, side: float) -> Corners:
    return ((x, y), (x + side, y), (x + side, y + side), (x, y + side))


def flaw(outline: Corners) -> Mark:
    return Mark(sort="flaw", kind="scar", level=2, outline=outline)


def grade(level: int, outline: Corners) -> Mark:
    return Mark(sort="grade", kind="", level=level, outline=outline)


@pytest.mark.parametrize("turned", [False, True], ids=["one way", "the other way"])
@pytest.mark.parametrize("start", [0, 13, 55], ids=["first", "middle", "over the seam"])
def test_a_redrawn_stretch_takes_the_place_of_the_shorter_way_alone(
    start: int, turned: bool
) -> None:
    first, last = RING[start], RING[(start + 10) % 60]
    out = [(500 + 1.3 * (x - 500), 300 + 1.3 * (y - 300)) for x, y in (RING[(start + 5) % 60],)]
    line = (first, *out, last)
    after = Tracing(outline=RING).with_stretch(line[::-1] if turned else line).outline
    kept = {RING[(start + 10 + k) % 60] for k in range(51)}
    assert set(after) == kept | set(line)
    assert len(after) == 52
    whole, new = shapely.Polygon(RING), shapely.Polygon(after)
    assert new.is_valid
    # what is gained lies between the stretch and its chord's side of the old edge
    gone = whole.difference(new).area + new.difference(whole).area
    wedge = shapely.Polygon([first, *(RING[(start + k) % 60] for k in range(1, 10)), last])
    triangle = shapely.Polygon(line)
    assert gone == pytest.approx(wedge.symmetric_difference(triangle).area, rel=1e-9)


def test_a_stretch_must_begin_and_end_on_the_edge_at_two_places() -> None:
    tracing = Tracing(outline=RING)
    with pytest.raises(RequestError, match="does not begin and end on the edge"):
        tracing.with_stretch((RING[0], (500.0, 300.0)))
    with pytest.raises(RequestError, match="begins and ends at one corner"):
        tracing.with_stretch((RING[3], (RING[3][0] + 2, RING[3][1])))


def test_each_ring_is_changed_and_taken_away_under_its_own_name() -> None:
    marks = (flaw(square(300, 300, 20)), grade(2, square(600, 200, 90)))
    tracing = Tracing(outline=RING, holes=(HOLE, square(400, 200, 10)), marks=marks)
    names = [name for name, _, _, _ in tracing.rings]
    assert names == ["edge", "hole 0", "hole 1", "mark 0", "mark 1"]
    assert len(set(names)) == len(names)
    for place, name in enumerate(names):
        changed = tracing.with_ring(name, square(1, 2, 3)).rings
        for k, (before, after) in enumerate(zip(tracing.rings, changed, strict=True)):
            assert after == (before if k != place else (*before[:3], square(1, 2, 3)))
    for place, name in enumerate(names[1:], start=1):
        left = [ring[2:] for k, ring in enumerate(tracing.rings) if k != place]
        taken = tracing.without(name).rings
        assert [ring[3] for ring in taken] == [corners for _, corners in left]


def test_beside_drawn_grade_areas_the_rest_is_of_grade_1() -> None:
    marks = (grade(2, square(200, 200, 100)), grade(3, square(600, 250, 120)))
    hide = Tracing(outline=RING, marks=marks).as_hide("it", 3.2)
    refuse_unsound_hide(hide)
    areas = {area.grade: shapely.Polygon(area.outline, area.holes) for area in hide.areas}
    assert sorted(areas) == [1, 2, 3]
    assert areas[1].area == pytest.approx(shapely.Polygon(RING).area - 100**2 - 120**2)
    assert areas[1].intersection(areas[2].union(areas[3])).area == pytest.approx(0)
    assert [t.thickness_mm for t in hide.thicknesses] == [3.2]


def test_a_hide_without_marks_has_neither_areas_nor_thickness() -> None:
    hide = Tracing(outline=RING, marks=(flaw(square(300, 300, 20)),)).as_hide("it", None)
    assert hide.areas == ()
    assert hide.thicknesses == ()
    assert [(f.kind, f.severity) for f in hide.flaws] == [("scar", 2)]


@pytest.mark.parametrize(
    "other", [square(250, 250, 100), square(220, 220, 20), square(150, 150, 400)],
    ids=["crossing", "within", "round it"],
)  # fmt: skip
def test_grade_areas_that_lie_over_one_another_are_refused(other: Corners) -> None:
    tracing = Tracing(outline=RING, marks=(grade(2, square(200, 200, 100)), grade(3, other)))
    with pytest.raises(RequestError, match="lie over one another"):
        tracing.as_hide("it", None)


def test_a_grade_area_drawn_over_the_edge_counts_as_far_as_the_hide_goes() -> None:
    whole: Corners = ((0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0))
    over: Corners = ((10.0, -20.0), (90.0, -20.0), (90.0, 20.0), (10.0, 20.0))
    hide = Tracing(outline=whole, marks=(grade(3, over),)).as_hide("it", None)
    assert shapely.area(graded(hide, 1)) == pytest.approx(100 * 50 - 80 * 20)
    assert shapely.area(graded(hide, 3)) == pytest.approx(100 * 50)

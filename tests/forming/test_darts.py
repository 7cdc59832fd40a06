"""Relief darts: the sheet is cut where its margin is gathered, and what is cut out is found."""

import math
from dataclasses import replace

import numpy as np
import pytest

from hidewright.design.dart import Dart
from hidewright.errors import RequestError
from hidewright.forming.answers import gaping_darts, press_force_N, stretch_in_triangles
from hidewright.forming.darts import widths_mm, with_corners_at
from hidewright.forming.law import NeoHooke
from hidewright.forming.on_blank import flat_blank
from hidewright.forming.pressing import EdgeHold, Hollow, Pressing
from hidewright.forming.profile import Tools
from hidewright.forming.solve import pressed
from hidewright.forming.solved import Conditions, Pressed
from hidewright.geometry.offset import offset
from hidewright.geometry.outline import Outline, joined
from hidewright.geometry.segment import Point, line
from hidewright.geometry.shapes import circle, rectangle

T, SIZE = 1.6, 2.5
TOOLS = Tools(depth_mm=10.0, crown_radius_mm=4.0, lip_radius_mm=3.0, gap_mm=1.8, thickness_mm=T)
PLAIN = Conditions(law=NeoHooke(shear_MPa=5.0), level=2)
WIDE, LONG, CORNER, MARGIN = 60.0, 80.0, 12.0, 22.0


def corners() -> list[tuple[Point, Point]]:
    """(middle of the corner's arc, outward) of the plug."""
    at, d = (LONG / 2 - CORNER, WIDE / 2 - CORNER), math.sqrt(0.5)
    return [
        (
            (x * (at[0] + CORNER * d), y * (at[1] + CORNER * d)),
            (x * d, y * d),
        )
        for x, y in ((1, 1), (-1, 1), (-1, -1), (1, -1))
    ]


def form(length: float, hold: EdgeHold = "plate") -> Pressing:
    """A rounded rectangle in a wide margin, with a dart on each diagonal of its corners."""
    plug = rectangle(LONG, WIDE, CORNER)
    edge = offset(plug, MARGIN)
    darts: tuple[Dart, ...] = ()
    if length:
        ends = [
            (
                (x + MARGIN * u, y + MARGIN * v),
                (x + (MARGIN - length) * u, y + (MARGIN - length) * v),
            )
            for (x, y), (u, v) in corners()
        ]
        edge, mouths = with_corners_at(edge, [mouth for mouth, _ in ends])
        darts = tuple(
            Dart(mouth=mouth, tip=tip) for mouth, (_, tip) in zip(mouths, ends, strict=True)
        )
    return Pressing(
        hollows=(Hollow(name="plug", outline=plug, tools=TOOLS),),
        edge=edge,
        thickness_mm=T,
        hold=hold,
        darts=darts,
    )


@pytest.fixture(scope="module")
def whole() -> Pressed:
    return pressed(form(0.0), PLAIN, SIZE)


@pytest.fixture(scope="module")
def darted() -> Pressed:
    return pressed(form(14.0), PLAIN, SIZE)


def test_four_equal_corners_lose_four_equal_wedges_that_close(darted: Pressed) -> None:
    widths = [widths_mm(darted.flat, cut) for cut in darted.layout.cuts]
    assert len(widths) == 4
    for one in widths:
        assert one == pytest.approx(widths[0], abs=0.02)
        # widest at the mouth or near it, and open all along
        assert one.min() > 0.2
    assert gaping_darts(darted) == ()
    for cut in darted.layout.cuts:
        assert darted.shape.points[cut.before] == pytest.approx(darted.shape.points[cut.after])


def test_where_two_free_edges_meet_nothing_pulls(whole: Pressed, darted: Pressed) -> None:
    # at the mouth both edges are free: no tension in two directions, so the sheet is as it lay
    stretch = stretch_in_triangles(darted)
    at_mouths = np.flatnonzero(
        np.isin(
            darted.layout.triangles,
            [n for cut in darted.layout.cuts for n in (cut.before[0], cut.after[0])],
        ).any(axis=1)
    )
    assert stretch.largest[at_mouths].max() < 1.01
    assert stretch.least[at_mouths].min() > 0.99
    # without the dart the margin is gathered there
    (x, y), (u, v) = corners()[0]
    beside = np.array([x + (MARGIN - 12.0) * u, y + (MARGIN - 12.0) * v])
    middles = whole.shape.points[whole.layout.triangles].mean(axis=1)[:, :2]
    near = int(np.linalg.norm(middles - beside, axis=1).argmin())
    assert stretch_in_triangles(whole).least[near] < 0.93


def test_a_longer_dart_is_wider_and_takes_force_and_stretch_away(
    whole: Pressed, darted: Pressed
) -> None:
    longer = pressed(form(16.5), PLAIN, SIZE, darted.warm)
    mouths = [float(widths_mm(one.flat, one.layout.cuts[0])[0]) for one in (darted, longer)]
    assert 0.0 < mouths[0] < mouths[1]
    force = [sum(press_force_N(one)) for one in (whole, darted, longer)]
    assert force == sorted(force, reverse=True)
    most = [float(stretch_in_triangles(one).largest.max()) for one in (whole, darted, longer)]
    assert max(most[1:]) < most[0] - 0.005
    # begun warm or from nothing: the same
    cold = pressed(form(16.5), PLAIN, SIZE)
    assert sum(press_force_N(cold)) == pytest.approx(force[2], rel=2e-3)
    assert float(widths_mm(cold.flat, cold.layout.cuts[0])[0]) == pytest.approx(mouths[1], abs=0.05)


def _at(sheet: Pressed, point: int) -> Point:
    x, y = sheet.flat[point]
    return (float(x), float(y))


def _round_it(sheet: Pressed) -> list[tuple[int, int]]:
    """Sides of the flat edge straight over the mouths of its darts."""
    inside = {n for cut in sheet.layout.cuts for n in (*cut.before[1:], *cut.after[1:])}
    ring = [n for n in sheet.layout.rim.tolist() if n not in inside]
    return list(zip(ring, [*ring[1:], ring[0]], strict=True))


def test_the_blank_is_what_the_triangles_cover_with_its_wedges_cut_out(
    darted: Pressed,
) -> None:
    blank = flat_blank(darted)
    covered = float(darted.state.area.sum())
    assert blank.area == pytest.approx(covered, rel=2e-3)
    # as much as of straight wedges from mouth to tip, or a little more: their sides are hollow
    around = Outline(joined([line(_at(darted, a), _at(darted, b)) for a, b in _round_it(darted)]))
    wedges = around.area - covered
    straight = sum(0.5 * 14.0 * float(widths_mm(darted.flat, cut)[0]) for cut in darted.layout.cuts)
    assert straight < wedges < 2.0 * straight
    for cut in darted.layout.cuts:
        for point in (cut.before[0], cut.before[-1], cut.after[0]):
            assert blank.nearest(_at(darted, point))[1] < 1e-6


def test_where_the_margin_is_pulled_a_dart_gapes() -> None:
    # beside the middle of a long side friction holds the margin while it is drawn in on both sides
    plug = rectangle(LONG, WIDE, CORNER)
    edge, (mouth,) = with_corners_at(offset(plug, MARGIN), [(0.0, WIDE / 2 + MARGIN)])
    one = replace(
        form(0.0), edge=edge, darts=(Dart(mouth=mouth, tip=(0.0, WIDE / 2 + MARGIN - 10.0)),)
    )
    rough = replace(PLAIN, friction=0.3, plate_pressure_MPa=0.3)
    assert gaping_darts(pressed(one, rough, 4.0)) == (0,)


def test_darts_that_cannot_be_are_refused() -> None:
    good = form(14.0)
    with pytest.raises(RequestError, match="clamped"):
        replace(good, hold="clamped")
    dart = good.darts[0]
    with pytest.raises(RequestError, match="corner of the leather's edge"):
        replace(good, darts=(replace(dart, mouth=(dart.mouth[0] + 0.1, dart.mouth[1])),))
    with pytest.raises(RequestError, match="beyond the leather"):
        replace(good, darts=(replace(dart, tip=(100.0, 100.0)),))
    with pytest.raises(RequestError, match="corner of the leather's edge"):
        replace(good, edge=MARGIN)


def test_an_edge_divided_where_darts_begin_is_the_same_edge() -> None:
    edge = circle(30.0)
    places = [(30.0 * math.cos(a), 30.0 * math.sin(a)) for a in (0.0, 0.4, 2.0, math.pi)]
    divided, found = with_corners_at(edge, places)
    assert divided.area == pytest.approx(edge.area, rel=1e-12)
    starts = [seg.start for seg in divided.segments]
    for place, at in zip(places, found, strict=True):
        assert at == pytest.approx(place, abs=1e-9)
        assert at in starts

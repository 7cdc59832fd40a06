"""Filled maps: colours in even steps for every eye, true areas, one file whatever the order."""

import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree as ET

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial import ConvexHull, Delaunay

from hidewright.drawing.colour_ramp import DARK, LIGHT, ramp, shaded, srgb
from hidewright.drawing.drawing import Layer, Stroke
from hidewright.drawing.heat_map import (
    BAR_MM,
    MOST_CLASSES,
    WORDS_MM,
    HeatMap,
    even_classes,
    heat_map_svg,
)
from hidewright.drawing.paper_text import width_of
from hidewright.drawing.pdf_page import Book
from hidewright.errors import RequestError
from hidewright.geometry.shapes import circle

Floats = npt.NDArray[np.float64]
SVG = "{http://www.w3.org/2000/svg}"
#: Red-green (two kinds) and blue-yellow colour blindness as shares of linear red, green and blue
#: (Machado, Oliveira and Fernandes 2009, doi 10.1109/TVCG.2009.113, full severity; from memory).
BLIND = {
    "to red": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216),
               (-0.003882, -0.048116, 1.051998)),
    "to green": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413),
                 (-0.011820, 0.042940, 0.968881)),
    "to blue": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602),
                (0.004733, 0.691367, 0.303900)),
}  # fmt: skip
#: sRGB to CIE XYZ, white D65 (IEC 61966-2-1).
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def linear(colours: tuple[str, ...]) -> Floats:
    shares = np.array([[int(c[i : i + 2], 16) / 255 for i in (1, 3, 5)] for c in colours])
    return np.where(shares <= 0.04045, shares / 12.92, ((shares + 0.055) / 1.055) ** 2.4)


def cielab(rgb: Floats) -> Floats:
    """CIE 1976 L*a*b*, which shares no step with the space the ramp is made in."""
    xyz = rgb @ TO_XYZ.T / TO_XYZ.sum(axis=1)
    f = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    return np.stack(
        [116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=1
    )


def patch(seed: int = 3, points: int = 60) -> HeatMap:
    draw = np.random.default_rng(seed)
    at = draw.uniform(0.0, 80.0, (points, 2)).round(2)
    tri = Delaunay(at).simplices.astype(np.int64)
    a, b, c = (at[tri[:, i]] for i in range(3))
    turned = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] < 0
    tri[turned] = tri[turned][:, ::-1]
    values = draw.uniform(0.0, 119.0, len(tri))
    values[:6] = [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
    return HeatMap(
        title="patch",
        quantity="share used",
        unit="%",
        points=at,
        triangles=tri,
        values=values,
        edges=(0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0),
        limit=100.0,
        order=draw.integers(0, 3, len(tri)),
        light=draw.choice([0.8, 1.0], len(tri)),
        strokes=(Stroke(curve=circle(2.0, (40.0, 40.0)), layer=Layer(name="worst place")),),
    )


def areas(heat: HeatMap) -> Floats:
    a, b, c = (heat.points[heat.triangles[:, i]] for i in range(3))
    return 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])


def loops(data: str) -> list[Floats]:
    found = [re.findall(r"-?[\d.]+", part) for part in re.findall("M[^M]*", data)]
    return [np.array([float(v) for v in part]).reshape(-1, 2) for part in found]


def painted(data: str) -> float:
    """Area of a path by the shoelace; y runs down on the page."""
    return sum(
        -0.5 * float(np.sum(p[:, 0] * np.roll(p[:, 1], -1) - p[:, 1] * np.roll(p[:, 0], -1)))
        for p in loops(data)
    )


def paths(svg: bytes, group: str = "map") -> list[ET.Element]:
    root = ET.fromstring(svg)
    return list(next(g for g in root.iter(f"{SVG}g") if g.get("id") == group))


def test_white_and_black_are_white_and_black() -> None:
    assert srgb(np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 0.0]])) == pytest.approx(
        np.array([[1.0, 1.0, 1.0], [0.0, 0.0, 0.0]]), abs=1e-6
    )


def test_the_ends_of_the_ramp_are_its_first_and_last_colour_and_lie_within_what_screens_show() -> (
    None
):
    for end, colour in zip((LIGHT, DARK), (ramp(5)[0], ramp(5)[-1]), strict=True):
        shares = srgb(np.array([end]))[0]
        assert [round(float(v) * 255) for v in shares] == [
            int(colour[i : i + 2], 16) for i in (1, 3, 5)
        ]
        assert shares.min() > 0.0
        assert shares.max() < 1.0


@pytest.mark.parametrize("count", [2, 6, MOST_CLASSES])
def test_lightness_falls_in_even_steps_so_that_the_ramp_reads_in_black_and_white(
    count: int,
) -> None:
    steps = -np.diff(cielab(linear(ramp(count)))[:, 0])
    assert steps.min() > 0.75 * steps.mean()
    assert steps.max() < 1.25 * steps.mean()
    assert steps.sum() > 55.0, "most of the way from white to black"


@pytest.mark.parametrize("blindness", sorted(BLIND))
def test_neighbouring_classes_stay_apart_and_in_order_for_colour_blind_eyes(
    blindness: str,
) -> None:
    seen = cielab(np.clip(linear(ramp(MOST_CLASSES)) @ np.array(BLIND[blindness]).T, 0.0, 1.0))
    assert (np.diff(seen[:, 0]) < -3.0).all()
    # twice what is just seen, about 2.3 (from memory)
    assert (np.linalg.norm(np.diff(seen, axis=0), axis=1) > 4.6).all()


def test_shade_takes_light_away_evenly() -> None:
    assert shaded("#80ff20", 0.5) == "#408010"
    assert shaded("#80ff20", 1.0) == "#80ff20"


@given(
    low=st.floats(-1e3, 1e3),
    span=st.floats(1e-3, 1e3),
    most=st.integers(3, MOST_CLASSES),
)
def test_even_classes_hold_all_values_in_round_steps(low: float, span: float, most: int) -> None:
    edges = even_classes(low, low + span, most)
    assert edges[0] <= low
    assert low + span <= edges[-1]
    assert 1 <= len(edges) - 1 <= most
    steps = np.diff(edges)
    assert steps == pytest.approx(np.full(len(steps), steps[0]), rel=1e-6)
    digits = steps[0] / 10.0 ** np.floor(np.log10(steps[0] * (1 + 1e-9)))
    assert min(abs(digits - d) for d in (1.0, 2.0, 2.5, 5.0)) < 1e-6


def test_every_triangle_lies_in_its_class() -> None:
    heat = patch()
    edges = np.array(heat.edges)
    assert (edges[heat.classes] <= heat.values).all()
    assert (heat.values < edges[heat.classes + 1]).all()


def test_the_largest_value_may_lie_on_the_last_edge() -> None:
    heat = HeatMap(
        title="one",
        quantity="q",
        unit="",
        points=np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]),
        triangles=np.array([[0, 1, 2]]),
        values=np.array([2.0]),
        edges=(0.0, 1.0, 2.0),
    )
    assert heat.classes.tolist() == [1]


def test_each_class_is_painted_with_the_area_of_its_triangles() -> None:
    heat = patch()
    by_class = np.bincount(heat.classes, weights=areas(heat), minlength=6)
    drawn = np.zeros(6)
    for path in paths(heat_map_svg(heat)):
        if (name := path.get("class", "")).startswith("c"):
            drawn[int(name[1:])] += painted(path.get("d", ""))
    # corners are written to a hundredth of a mm
    assert drawn == pytest.approx(by_class, rel=1e-3)


def test_neighbours_of_one_class_are_one_area_with_one_edge() -> None:
    many = patch()
    heat = replace(
        many,
        values=np.full_like(many.values, 30.0),
        order=np.zeros_like(many.order),
        light=np.ones_like(many.light),
    )
    (path,) = paths(heat_map_svg(heat))
    (ring,) = loops(path.get("d", ""))
    hull = ConvexHull(heat.points)
    around = np.linalg.norm(np.diff(np.vstack([ring, ring[:1]]), axis=0), axis=1).sum()
    assert around == pytest.approx(hull.area, rel=1e-3), "in the plane its area is its length round"


def test_what_passes_the_limit_is_hatched_and_outlined_and_nothing_else() -> None:
    heat = patch()
    found = paths(heat_map_svg(heat))
    hatched = sum(painted(p.get("d", "")) for p in found if p.get("class") == "hatched")
    assert hatched == pytest.approx(float(areas(heat)[heat.values > 100.0].sum()), rel=1e-3)
    outline = [p for p in found if p.get("class") == "outlined"]
    sides = [
        (heat.triangles[t][i], heat.triangles[t][(i + 1) % 3])
        for t in np.flatnonzero(heat.beyond)
        for i in range(3)
    ]
    once = [s for s in sides if (s[1], s[0]) not in set(sides)]
    length = sum(float(np.linalg.norm(heat.points[a] - heat.points[b])) for a, b in once)
    drawn = 0.0
    for path in outline:
        for part in re.findall("M[^M]*", path.get("d", "")):
            corners = loops(part)[0]
            ring = np.vstack([corners, corners[:1]]) if part.endswith("Z") else corners
            drawn += float(np.linalg.norm(np.diff(ring, axis=0), axis=1).sum())
    assert drawn == pytest.approx(length, rel=1e-3)


def test_a_later_order_is_painted_over_an_earlier_one() -> None:
    same = np.array([[0.0, 0.0], [9.0, 0.0], [0.0, 9.0]])
    heat = HeatMap(
        title="stack",
        quantity="q",
        unit="",
        points=same,
        triangles=np.array([[0, 1, 2]] * 3),
        values=np.array([0.5, 1.5, 2.5]),
        edges=(0.0, 1.0, 2.0, 3.0),
        order=np.array([7, -1, 3]),
    )
    assert [p.get("class") for p in paths(heat_map_svg(heat))] == ["c1", "c2", "c0"]


def test_the_same_triangles_in_another_order_give_the_same_bytes() -> None:
    heat = patch(points=900)
    draw = np.random.default_rng(1)
    mixed = draw.permutation(len(heat.triangles))
    rolled = np.array(
        [np.roll(t, k) for t, k in zip(heat.triangles[mixed], draw.integers(0, 3, len(mixed)),
                                       strict=True)]
    )  # fmt: skip
    other = HeatMap(
        title=heat.title,
        quantity=heat.quantity,
        unit=heat.unit,
        points=heat.points,
        triangles=rolled,
        values=heat.values[mixed],
        edges=heat.edges,
        limit=heat.limit,
        order=heat.order[mixed],
        light=heat.light[mixed],
        strokes=heat.strokes,
    )
    assert heat_map_svg(other) == heat_map_svg(heat)


def test_the_bar_runs_from_the_first_edge_to_the_last_and_marks_the_limit() -> None:
    heat = patch()
    svg = heat_map_svg(heat)
    boxes = [r for r in paths(svg, "bar") if r.get("fill") != "url(#hatch)"]
    hatched = [r for r in paths(svg, "bar") if r.get("fill") == "url(#hatch)"]
    left = [float(r.get("x", "")) for r in boxes]
    wide = [float(r.get("width", "")) for r in boxes]
    assert [r.get("fill") for r in boxes] == list(heat.colours)
    assert sum(wide) == pytest.approx(BAR_MM, abs=1e-3)
    assert left[1:] == pytest.approx(
        [a + b for a, b in zip(left, wide, strict=True)][:-1], abs=1e-3
    )
    assert [float(r.get("x", "")) for r in hatched] == [left[5]], "only the class beyond 100 %"
    words = {t.text: float(t.get("x", "")) for t in ET.fromstring(svg).iter(f"{SVG}text")}
    assert words["0"] == pytest.approx(left[0], abs=1e-3)
    assert words["120"] == pytest.approx(left[0] + BAR_MM, abs=1e-3)
    assert words["100"] == pytest.approx(left[5], abs=1e-3)
    mark = paths(svg, "limit-on-the-bar")[1].get("d", "")
    assert loops(mark)[0][:, 0] == pytest.approx(left[5], abs=1e-3)
    assert "share used, %" in words


def test_one_user_unit_is_a_mm() -> None:
    root = ET.fromstring(heat_map_svg(patch()))
    wide, high = (root.get(side, "") for side in ("width", "height"))
    assert root.get("viewBox") == f"0 0 {wide.removesuffix('mm')} {high.removesuffix('mm')}"


@pytest.mark.parametrize(
    "edges",
    [(0.0, 50.0), (60.0, 120.0), (0.0, 60.0, 60.0, 120.0), tuple(np.linspace(0.0, 120.0, 14))],
)
def test_classes_that_do_not_hold_the_values_or_are_too_many_are_refused(
    edges: tuple[float, ...],
) -> None:
    heat = patch()
    with pytest.raises(RequestError):
        HeatMap(
            title="t",
            quantity="q",
            unit="",
            points=heat.points,
            triangles=heat.triangles,
            values=heat.values,
            edges=edges,
        )


@pytest.mark.parametrize("classes", range(1, MOST_CLASSES + 1))
@pytest.mark.parametrize("places", [0, 2, 4])
def test_numbers_under_the_bar_stand_apart_whatever_they_are(classes: int, places: int) -> None:
    """Widths by the letters that papers carry, those of the page's own family as well."""
    Book("widths")  # carries the letters
    edges = tuple(round(10.0**-places * (120.7 + 7.9 * k), places) for k in range(classes + 1))
    heat = replace(patch(), edges=edges, values=np.full(len(patch().values), edges[0]), limit=None)
    root = ET.fromstring(heat_map_svg(heat))
    numbers = {f"{edge:g}" for edge in edges}
    told = [t for t in root.iter(f"{SVG}text") if t.text in numbers]
    at = [(float(t.get("x", "")), width_of(t.text or "", WORDS_MM) / 2.0) for t in told]
    assert at[0][0] == min(x for x, _ in at), "the first is told"
    for (one, half), (other, half_) in pairwise(at):
        assert other - one > half + half_ + 1.0

"""The picture of a step shows exactly what the step says, true to scale and within its place."""

import base64
import math
import re
from functools import cache
from html.parser import HTMLParser
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coarse_cache import CACHE
from hidewright.drawing.build_sheet import PICTURE_MM
from hidewright.drawing.drawing import Drawing
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import circle
from hidewright.planning.steps_choice import BenchChoice
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.build_sheet_pictures import DONE, HOLES, LAND
from hidewright.workshop.build_sheet_section import KNIFE, LEATHER, PLATE, SIZE, intervals, less
from hidewright.workshop.build_sheet_tools import CLAMP, GAUGE, PLAN
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of

NODES = article.NODES
EXAMPLES = sorted(p.stem for p in Path("examples").glob("*.yaml"))


@cache
def values_of(name: str) -> Any:
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    extra = {"bench": BenchChoice(), "revision": "1", "day": "1 May"}
    wanted = (
        "steps",
        "build steps",
        "sewn",
        "design",
        "mouldings",
        "bench facts",
        "build sheet files",
    )
    return evaluate(NODES, {**inputs_of(spec, "A4"), **extra}, wanted, CACHE).values


def pictures_of(name: str) -> list[tuple[Any, Drawing]]:
    values = values_of(name)
    shown = zip(values["steps"], values["build steps"], strict=True)
    return [(step, one.picture) for step, one in shown if one.picture is not None]


def lengths(drawing: Drawing, layer: Any) -> float:
    return math.fsum(s.curve.length for s in drawing.strokes if s.layer == layer)


def holds(outer: Outline, inner: Outline) -> bool:
    (a, b, c, d), (x, y, z, w) = outer.bounds, inner.bounds
    return a <= x and b <= y and c >= z and d >= w


def scale_of(drawing: Drawing, full: Outline) -> float:
    """How small a piece is drawn: by the longest closed line in the picture."""
    longest = max(s.curve.length for s in drawing.strokes if isinstance(s.curve, Outline))
    return longest / full.length


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_step_has_a_picture_that_fits_its_place(name: str) -> None:
    values = values_of(name)
    for step, one in zip(values["steps"], values["build steps"], strict=True):
        assert one.picture is not None, step.name
        left, bottom, right, top = one.picture.extent
        assert right - left <= PICTURE_MM[0] + 1e-6, step.name
        assert top - bottom <= PICTURE_MM[1] + 1e-6, step.name


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_is_cut_from_a_board_is_shown_whole_and_apart(name: str) -> None:
    values = values_of(name)
    every = [p for m in values["mouldings"][0] for p in m.tool.parts] + [
        *values["bench facts"].parts
    ]
    shown = 0
    for step, drawing in pictures_of(name):
        if step.work != "cut the boards":
            continue
        parts = [p for p in every if step.place in (p.board.name, p.board.material)]
        lines = sum(p.count * (1 + len(p.holes)) for p in parts)
        assert len(drawing.strokes) == lines
        outer = [s.curve for s in drawing.strokes if isinstance(s.curve, Outline)]
        scale = max(o.width for o in outer) / max(p.outline.width for p in parts)
        areas = sorted(o.area / scale**2 for o in outer)[-len(parts) :]
        assert max(areas) == pytest.approx(max(p.outline.area for p in parts), rel=1e-6)
        whole = [o.bounds for o in outer if not any(holds(a, o) for a in outer if a is not o)]
        assert len(whole) == sum(p.count for p in parts)
        for one, two in combinations(whole, 2):
            across = min(one[2], two[2]) - max(one[0], two[0])
            up = min(one[3], two[3]) - max(one[1], two[1])
            assert min(across, up) < 1e-6, "two parts lie over one another"
        shown += sum(p.count for p in parts)
    assert shown == sum(p.count for p in every)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_press_is_clamped_at_each_stop_block_and_leather_gauged_at_five_points(name: str) -> None:
    tools = {m.blank.name: m.tool for m in values_of(name)["mouldings"][0]}
    for step, drawing in pictures_of(name):
        if step.work == "press":
            stops = [p for p in tools[step.place].parts if p.role == "stop block"]
            ends = [s.curve.bounds for s in drawing.strokes if s.layer == CLAMP]
            crosses = {((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in ends}
            middles = [
                ((b[0] + b[2]) / 2, (b[1] + b[3]) / 2) for b in (s.outline.bounds for s in stops)
            ]
            assert len(crosses) == len(stops) == 4
            true = [math.dist(p, q) for p, q in combinations(middles, 2)]
            drawn = [math.dist(p, q) for p, q in combinations(crosses, 2)]
            ratios = [a / b for a, b in zip(sorted(drawn), sorted(true), strict=True)]
            assert ratios == pytest.approx([ratios[0]] * len(ratios)), "not where the stops are"
        if step.place_kind == "leather":
            rings, (leather,) = (
                [s.curve for s in drawing.strokes if s.layer == of and isinstance(s.curve, Outline)]
                for of in (GAUGE, PLAN)
            )
            assert len(rings) == 5
            assert all(leather.contains(ring.centroid) for ring in rings)


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_strip_for_the_glue_is_hatched_as_wide_as_the_step_tells(name: str) -> None:
    design = values_of(name)["design"][0]
    glued = [
        (step, drawing)
        for step, drawing in pictures_of(name)
        if any(f.label == "Strip from the edge" for f in step.figures)
    ]
    assert len(glued) == 2 * sum(seam.glued for seam in design.seams)
    for step, drawing in glued:
        seam = next(s for s in design.seams if s.name == step.place)
        front = design.piece(seam.edges[0].piece)
        told = next(f.value for f in step.figures if f.label == "Strip from the edge")
        scale = scale_of(drawing, front.outline)
        outline = max(
            (s.curve for s in drawing.strokes if isinstance(s.curve, Outline)),
            key=lambda o: o.length,
        )
        hatches = [s.curve.segments[0] for s in drawing.strokes if s.layer == LAND]
        assert len(hatches) > 20
        for hatch in hatches:
            assert hatch.length / scale == pytest.approx(float(told.removesuffix(" mm")), abs=1e-6)
            assert outline.contains(hatch.end), "it is hatched outside the piece"


@pytest.mark.parametrize("name", EXAMPLES)
def test_edges_are_marked_over_the_length_that_the_step_tells(name: str) -> None:
    design, seen = values_of(name)["design"][0], 0
    for step, drawing in pictures_of(name):
        if step.work in ("bevel", "burnish"):
            told = next(f.value for f in step.figures if f.label == "Length")
            seam = next((s for s in design.seams if s.name == step.place), None)
            piece = design.piece(seam.edges[0].piece if seam else step.place)
            scale = scale_of(drawing, piece.outline)
            assert lengths(drawing, DONE) / scale == pytest.approx(
                float(told.removesuffix(" mm")), abs=0.51
            )
            seen += 1
    assert seen >= 2


@pytest.mark.parametrize("name", EXAMPLES)
def test_holes_are_pricked_and_sewn_as_many_as_the_seam_has(name: str) -> None:
    sewn = {s.name: s for s in values_of(name)["sewn"][0]}
    works = []
    for step, drawing in pictures_of(name):
        if step.work in ("prick", "sew"):
            seam = sewn[step.name.split(" for ")[-1].removeprefix("sew ")]
            holes = [s for s in drawing.strokes if s.layer == HOLES]
            assert len(holes) == seam.count
            works.append(step.work)
            if step.work == "sew":
                assert {t.words for t in drawing.texts} == {"1", f"{seam.count}"}
    layers = sum(len(s.layers) for s in sewn.values())
    assert (works.count("prick"), works.count("sew")) == (layers, len(sewn))


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_closed_mould_stands_as_high_as_it_is_told(name: str) -> None:
    tools = {m.blank.name: m for m in values_of(name)["mouldings"][0]}
    for step, drawing in pictures_of(name):
        if step.work not in ("press", "open the mould"):
            continue
        moulding = tools[step.place]
        plates = [s.curve.bounds for s in drawing.strokes if s.layer == PLATE]
        for one, two in combinations(plates, 2):  # no plate stands in another
            across = min(one[2], two[2]) - max(one[0], two[0])
            up = min(one[3], two[3]) - max(one[1], two[1])
            assert min(across, up) < 1e-6
        wide = max(b[2] for b in plates) - min(b[0] for b in plates)
        base = next(p for p in moulding.tool.parts if p.role == "base")
        scale = wide / base.outline.width
        high = (max(b[3] for b in plates) - min(b[1] for b in plates)) / scale
        leather = [s for s in drawing.strokes if s.layer == LEATHER]
        assert len(leather) == 1
        top = leather[0].curve.bounds[3] - leather[0].curve.bounds[1]
        zone = moulding.zones[0]
        expected = zone.height_mm + (moulding.tool.gap_mm - moulding.tool.flange_gap_mm) / 2
        assert top / scale == pytest.approx(expected, abs=0.01)
        if step.work == "press":
            assert high == pytest.approx(moulding.tool.closed_height_mm, abs=0.01)
            size = max(s.curve.length for s in drawing.strokes if s.layer == SIZE)
            assert size / scale == pytest.approx(moulding.tool.closed_height_mm, abs=0.01)
            assert drawing.texts[0].words == f"{moulding.tool.closed_height_mm:.2f} mm closed"


@pytest.mark.parametrize("name", ["label-box", "specimen-tray"])
def test_a_wall_is_cut_at_the_height_that_is_told(name: str) -> None:
    design = values_of(name)["design"][0]
    cuts = [(s, d) for s, d in pictures_of(name) if s.work == "cut at height"]
    assert cuts
    for step, drawing in cuts:
        (zone,) = design.piece(step.place).zones
        shell = next(s for s in drawing.strokes if isinstance(s.curve, Outline)).curve.bounds
        knife = next(s for s in drawing.strokes if s.layer == KNIFE).curve.bounds
        share = (knife[1] - shell[1]) / (shell[3] - shell[1])
        assert share == pytest.approx(zone.cut_height_mm / zone.depth_mm)


@given(st.floats(-0.95, 0.95))
def test_a_level_line_lies_in_a_circle_over_its_chord(height: float) -> None:
    ((low, high),) = intervals(circle(10.0, (3.0, 2.0)), 2.0 + 10.0 * height)
    half = 10.0 * math.sqrt(1.0 - height**2)
    assert (low, high) == pytest.approx((3.0 - half, 3.0 + half), abs=0.4)


@given(
    st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), max_size=5),
    st.integers(0, 39),
)
def test_what_is_left_is_what_was_there_and_not_taken(
    taken: list[tuple[int, int]], at: int
) -> None:
    whole = [(0.0, 18.0), (22.0, 40.0)]
    holes = [(float(min(t)), float(max(t))) for t in taken]
    left = less(whole, holes)
    point = at + 0.5

    def within(some: Any) -> bool:
        return any(low < point < high for low, high in some)

    assert within(left) == (within(whole) and not within(holes))


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words += data


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_page_holds_a_box_to_tick_and_the_picture_of_each_step(name: str) -> None:
    values = values_of(name)
    page = _Tags()
    page.feed(values["build sheet files"]["papers/build sheet.html"].decode())
    shown = values["build steps"]
    boxes = [a for t, a in page.tags if t == "input" and a["type"] == "checkbox"]
    fields = [a for t, a in page.tags if t == "input" and a["type"] == "text"]
    images = [a for t, a in page.tags if t == "img"]
    assert len([t for t, _ in page.tags if t == "section"]) == len(boxes) == len(shown)
    assert len(fields) == sum(len(s.measured) for s in shown)
    assert len(images) == sum(s.picture is not None for s in shown)
    for image in images:
        assert image["alt"]
        data = base64.b64decode(str(image["src"]).split(",")[1])
        assert re.match(rb'<\?xml version="1.0".*\n<svg ', data)
    for step in shown:
        for words in (step.how, *step.cautions, *(v for _, v in step.figures)):
            assert words in page.words
    assert not re.search(r'(src|href)="(?!data:)', str(page.tags))  # it needs nothing else

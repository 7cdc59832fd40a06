"""Flat pictures of moulds, sections and of what is carried: what is drawn is what there is."""

import itertools
import re
from collections import Counter
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from coarse_cache import CACHE
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.things import Thing
from hidewright.design.carried import Carried
from hidewright.design.part import Part
from hidewright.geometry.segment import Floats
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.forming_cut import cuts_of
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.views.carry_view import carry_view, things_in
from hidewright.workshop.views.plates_view import FLAG, plates_view, templates_view
from hidewright.workshop.views.section_view import section_view
from hidewright.workshop.views.svg_view import USUAL, FlatView, Frame

SVG = "{http://www.w3.org/2000/svg}"
#: With and without templates; two blanks; two shells; a tray without a mouth.
NAMES = ("forceps-pocket.yaml", "label-box.yaml", "lens-case.yaml", "specimen-tray.yaml")
TEMPLATES = ("trim templates", "pricking templates", "blocks", "jigs")
WANTED = ("design", "pressed blanks", "mouldings", "all leathers", *TEMPLATES)


@dataclass(frozen=True)
class Made:
    """A demo design with its tools."""

    spec: Any
    values: dict[str, Any]

    @property
    def parts(self) -> list[Part]:
        return [p for m in self.values["mouldings"][0] for p in m.tool.parts]

    @property
    def templates(self) -> list[Part]:
        return [p for name in TEMPLATES for p in self.values[name][0]]

    def leather(self, role: str) -> Leather:
        one: Leather = dict(self.values["all leathers"])[role]
        return one

    def sections(self, frame: Frame = USUAL) -> list[FlatView]:
        return [
            section_view(one, layer, self.leather(layer.role), moulding.tool, "mm", frame)
            for one, moulding in zip(
                self.values["pressed blanks"][0], self.values["mouldings"][0], strict=True
            )
            for layer in one.layers
        ]

    def views(self) -> list[FlatView]:
        carry = carry_view(self.spec, self.values["design"][0])
        plates = plates_view(self.values["mouldings"][0])
        templates = templates_view(*(self.values[name][0] for name in TEMPLATES))
        return [v for v in (carry, plates, templates) if v is not None] + self.sections()


@pytest.fixture(scope="module", params=NAMES)
def made(request: pytest.FixtureRequest) -> Made:
    name = request.param
    spec = read_design(demo_designs()[name], name=name).specification
    return Made(spec, dict(evaluate(article.NODES, inputs_of(spec, "A4"), WANTED, CACHE).values))


def layer(view: FlatView, name: str) -> ET.Element:
    return next(g for g in ET.fromstring(view.svg).iter(f"{SVG}g") if g.get("data-layer") == name)


def words_on(view: FlatView, name: str) -> list[str]:
    return [t.text or "" for t in layer(view, name).iter(f"{SVG}text")]


def points(path: ET.Element) -> list[tuple[float, float]]:
    data = re.sub(r"A\S+ \S+ 0 0 \d", "L", path.get("d", ""))
    numbers = [float(v) for v in re.findall(r"-?\d+\.?\d*", data)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


# -- every view -----------------------------------------------------------------------------------


def test_layers_in_the_svg_are_those_told_and_alt_says_what_is_drawn(made: Made) -> None:
    for view in made.views():
        root = ET.fromstring(view.svg)
        groups = [g.get("data-layer") for g in root.iter(f"{SVG}g")]
        assert [g for g in groups if g] == [name for name, _, _ in view.layers]
        assert len(view.alt) > 20
        assert root.get("aria-label") == view.alt
        for element in root.iter():
            assert not {"fill", "stroke", "style", "color"} & set(element.keys())


def test_the_same_values_give_the_same_pictures(made: Made) -> None:
    assert [v.svg for v in made.views()] == [v.svg for v in made.views()]


# -- parts ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("what", ["plates", "templates"])
def test_every_part_is_drawn_with_its_holes_scores_and_words_those_cut_alike_once(
    made: Made, what: str
) -> None:
    parts = made.parts if what == "plates" else made.templates
    view = (
        plates_view(made.values["mouldings"][0])
        if what == "plates"
        else templates_view(*(made.values[name][0] for name in TEMPLATES))
    )
    assert view is not None
    mould = {p.name: m.blank.name for m in made.values["mouldings"][0] for p in m.tool.parts}
    alike: list[list[Part]] = []
    for part in parts:
        near = [group for group in alike if mould.get(group[0].name) == mould.get(part.name)]
        same = next((group for group in near if _cut_alike(group[0], part)), None)
        alike.append([part]) if same is None else same.append(part)
    shown = [group[0] for group in alike]
    # each path begins where its outline does, and its points lie on that outline
    left = list(shown)
    for path in layer(view, "outside"):
        at = np.array(points(path)) * (1.0, -1.0)
        left.remove(next(p for p in left if _lie_on(at, p)))
    assert not left
    inside = "".join(p.get("d", "") for p in layer(view, "inside"))
    assert inside.count("Z") == sum(len(part.holes) for part in shown)
    assert ("score" in {n for n, _, _ in view.layers}) == any(p.scores for p in parts)
    if any(p.scores for p in parts):
        assert len(layer(view, "score")) == sum(len(p.scores) for p in shown)
    marked = Counter(words_on(view, "marking"))
    assert marked == Counter(label.words for part in shown for label in part.labels)
    told = " ".join(words_on(view, "size"))
    for part in parts:
        assert f"{part.outline.width:.1f}".removesuffix(".0") in told
    # remarks on any part find it
    assert {part.name for part in parts} <= {place for place, _ in view.spots}
    named = _one_by_one(" ".join(words_on(view, "words")))
    assert all(part.name.endswith(tuple(named)) for part in parts)


def _cut_alike(one: Part, other: Part) -> bool:
    """Whether parts differ in nothing but where they lie and what they are called."""
    if (one.board, one.easings) != (other.board, other.easings):
        return False
    if [len(v) for v in (one.holes, one.scores)] != [len(v) for v in (other.holes, other.scores)]:
        return False
    return all(
        len(a) == len(b) and np.allclose(a, b, atol=1e-3)
        for a, b in zip(_lines_of(one), _lines_of(other), strict=True)
    )


def _lines_of(part: Part) -> list[Floats]:
    """Return (n, 3) starts and bulges along every line of a part, from its lower left corner."""
    left, bottom, *_ = part.outline.bounds
    curves = (part.outline, *(hole.outline for hole in part.holes), *part.scores)
    return [
        np.array([(s.start[0] - left, s.start[1] - bottom, s.bulge) for s in curve.segments])
        for curve in curves
    ]


def _one_by_one(words: str) -> set[str]:
    """Return "plate 1 of 3", "plate 2 of 3" ... of "plate 1-3 of 3", and all other words' ends."""
    found = set()
    for head, first, last, tail in re.findall(r"(\w+) (\d+)-(\d+)( of \d+)?", words):
        found |= {f"{head} {n}{tail}" for n in range(int(first), int(last) + 1)}
    return found | set(re.findall(r"[\w.-]+(?: \d+ of \d+)?", words))


def _lie_on(at: Floats, part: Part) -> bool:
    """Whether points, moved together, lie on a part's outline, and reach all its corners."""
    moved = at - at[0] + part.outline.segments[0].start
    corners = np.array([s.start for s in part.outline.segments])
    missed = np.linalg.norm(corners[:, None] - moved[None], axis=2).min(axis=1).max()
    return bool(missed < 1e-3) and all(
        part.outline.nearest((float(x), float(y)))[1] < 1e-3 for x, y in moved
    )


def test_on_a_narrow_page_a_section_is_numbered_and_its_key_says_all_the_wide_one_does(
    made: Made,
) -> None:
    for wide, narrow in zip(made.sections(), made.sections(Frame(32.0, 48.0)), strict=True):
        told = [*words_on(wide, "worst"), *words_on(wide, "size")]
        shown = [*words_on(narrow, "worst"), *words_on(narrow, "size")]
        key = dict(words.split(": ", 1) for words in shown if ": " in words)
        assert sorted(key) == sorted(words for words in shown if ": " not in words)
        assert len(key) == len(told)
        for words in told:
            assert sum(said.endswith(words) for said in key.values()) >= 1
        w = narrow.frame[2]
        assert w <= 34.0 * float(ET.fromstring(narrow.svg).get("font-size", "nan"))


def test_parts_do_not_lie_over_one_another(made: Made) -> None:
    for view in made.views()[1:3]:
        if not view.alt.startswith(("Plates", "Templates")):
            continue
        boxes = []
        for path in layer(view, "outside"):
            at = np.array(points(path))
            boxes.append((*at.min(axis=0), *at.max(axis=0)))
        for a, b in itertools.combinations(boxes, 2):
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


def test_a_heading_leaves_room_for_a_flag_beside_it_at_the_least_type_of_the_screen() -> None:
    sheet = (files("hidewright.app") / "components" / "sheet.js").read_text(encoding="utf-8")
    flag_px, least_px = (
        int(re.search(rf"^const {name} = (\d+);", sheet, re.MULTILINE)[1])  # type: ignore[index]
        for name in ("FLAG_PX", "LEAST_TYPE")
    )
    assert FLAG * least_px >= flag_px


def test_nothing_moulded_gives_no_plates() -> None:
    assert plates_view(()) is None
    assert templates_view((), (), (), ()) is None


# -- sections -------------------------------------------------------------------------------------


def test_a_section_tells_the_tools_own_measures_and_draws_the_solved_leather(made: Made) -> None:
    views = iter(made.sections())
    for one, moulding in zip(
        made.values["pressed blanks"][0], made.values["mouldings"][0], strict=True
    ):
        for sheet in one.layers:
            view, tool = next(views), moulding.tool
            cut = cuts_of(sheet, made.leather(sheet.role))[0]
            told = words_on(view, "size")
            # two decimals at most, noughts left out
            for words in (
                f"depth {round(cut.tools.depth_mm, 2):g} mm",
                f"gap {round(tool.gap_mm, 2):g} mm",
                f"closed {round(tool.closed_height_mm, 2):g} mm",
                f"{round(tool.flange_gap_mm, 2):g} mm",
                f"crown R {round(cut.tools.crown_radius_mm, 1):g} mm",
                f"lip R {round(cut.tools.lip_radius_mm, 1):g} mm",
                f"thinnest {round(float(cut.thickness.min()), 2):g} mm",
            ):
                assert words in told
            (leather,) = layer(view, "sheet")
            face = np.array(points(leather)) * (1.0, -1.0)
            assert face == pytest.approx(np.vstack([cut.inner, cut.outer[::-1]]), abs=1e-4)


def test_boards_of_a_section_stand_as_high_as_the_closed_tool(made: Made) -> None:
    for view, moulding in zip(made.sections(), made.values["mouldings"][0], strict=False):
        at = np.array([p for path in layer(view, "tool") for p in points(path)])
        assert np.ptp(at[:, 1]) == pytest.approx(moulding.tool.closed_height_mm, abs=1e-3)


# -- what is carried ------------------------------------------------------------------------------


def test_each_thing_is_drawn_from_above_and_in_section_in_every_hollow(made: Made) -> None:
    design = made.values["design"][0]
    view = carry_view(made.spec, design)
    assert view is not None
    count = sum(c.count for c in made.spec.brief.carried)
    assert len(layer(view, "thing")) == 2 * count * len(design.hollows)
    for one in made.spec.brief.carried:
        assert one.thing.name in view.alt
        assert one.thing.name in words_on(view, "words")


def test_the_room_left_is_told(made: Made) -> None:
    design = made.values["design"][0]
    view = carry_view(made.spec, design)
    assert view is not None
    hollow = design.hollows[0]
    lying = things_in(hollow, made.spec.brief.carried)
    beside = hollow.outline.bounds[2] - max(one.plan.bounds[2] for one in lying)
    below = min(one.plan.bounds[1] for one in lying) - hollow.outline.bounds[1]
    told = words_on(view, "size")
    for room in (beside, below):
        assert f"{round(room, 2):g} mm" in told
    assert f"{round(hollow.depth_mm, 1):g} mm" in told


def _box(name: str, count: int, arrangement: Any) -> Carried:
    thing = Thing(
        name=name, shape="box", length_mm=40.0, width_mm=18.0, thickness_mm=4.0, source="invented"
    )
    return Carried(thing=thing, count=count, arrangement=arrangement)


@pytest.mark.parametrize("arrangement", ["side by side", "stacked", "loose"])
@pytest.mark.parametrize("count", [1, 2, 5])
def test_things_lie_as_they_are_arranged_and_not_in_one_another(
    made: Made, arrangement: str, count: int
) -> None:
    hollow = made.values["design"][0].hollows[0]
    lying = things_in(hollow, (_box("a", count, arrangement), _box("b", 1, "stacked")))
    assert Counter(one.name for one in lying) == {"a": count, "b": 1}
    boxes = [(*o.plan.bounds, o.z, o.z + o.slab.thickness_mm) for o in lying]
    for a, b in itertools.combinations(boxes, 2):
        overlaps = [min(a[i + 2], b[i + 2]) - max(a[i], b[i]) > 1e-9 for i in (0, 1)] + [
            min(a[5], b[5]) - max(a[4], b[4]) > 1e-9
        ]
        assert not all(overlaps)
    first = [o for o in lying if o.name == "a"]
    if arrangement == "side by side":
        assert len({o.z for o in first}) == 1
        assert len({round(o.x, 6) for o in first}) == count
    if arrangement == "stacked":
        assert len({round(o.z, 6) for o in first}) == count
        assert len({o.x for o in first}) == 1


def test_a_stack_of_several_stands_in_the_middle_of_two_shells(made: Made) -> None:
    hollow = made.values["design"][0].hollows[0]
    if not all(shell.depth_mm > 0 for shell in hollow.shells):
        return
    lying = things_in(hollow, (_box("a", 2, "stacked"),))
    middle = (lying[0].z + lying[-1].z + lying[-1].slab.thickness_mm) / 2
    upper, lower = hollow.shells
    assert middle == pytest.approx((upper.depth_mm - lower.depth_mm) / 2)


def test_an_article_that_carries_nothing_has_no_such_picture(made: Made) -> None:
    brief = replace(made.spec.brief, carried=())
    assert carry_view(replace(made.spec, brief=brief), made.values["design"][0]) is None

"""What the steps of every example article must be, whatever its kind."""

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from coarse_cache import CACHE
from hidewright.catalogue.leathers import MEASURED
from hidewright.catalogue.prices import built_in_prices
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.catalogue.step_rows import built_in_times
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.design import Design
from hidewright.design.specification import Specification
from hidewright.design.step import Step, must_be_in_order, waits
from hidewright.errors import RequestError
from hidewright.planning.own_step import OwnStep
from hidewright.planning.step_times import own_times
from hidewright.planning.steps_choice import BenchChoice
from hidewright.stitching.thread_use import sewing_order
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.bench_page import bench_page
from hidewright.workshop.build_sheet_cautions import CAUTIONS
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.money.price import priced
from hidewright.workshop.paper_choice import PaperChoice

EXAMPLES = sorted(p.stem for p in Path("examples").glob("*.yaml"))
NODES = article.NODES
DYES = ("none", "before moulding", "pieces", "assembled")
TIMES = {row.name: row for row in built_in_times()}


@cache
def spec_of(name: str) -> Specification[Any]:
    path = Path("examples") / f"{name}.yaml"
    return read_design(path.read_bytes(), name=path.name).specification


def values_of(spec: Specification[Any], bench: BenchChoice, *wanted: str) -> Mapping[str, Any]:
    inputs = {**inputs_of(spec, "A4"), "bench": bench}
    return evaluate(NODES, inputs, ("steps", "design", "sewn", *wanted), CACHE).values


def steps_of(name: str, **choice: Any) -> tuple[Step, ...]:
    found: tuple[Step, ...] = values_of(spec_of(name), BenchChoice(**choice))["steps"]
    return found


def design_of(name: str) -> Design:
    design: Design = values_of(spec_of(name), BenchChoice())["design"][0]
    return design


def must_come_before(steps: tuple[Step, ...]) -> dict[str, set[str]]:
    """All that must be done before each step, however far back."""
    found: dict[str, set[str]] = {}
    for step in steps:
        found[step.name] = set(step.after).union(*(found[name] for name in step.after))
    return found


@pytest.mark.parametrize("dye", DYES)
@pytest.mark.parametrize("base", ["spirit", "water"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_steps_stand_in_an_order_in_which_they_can_be_done(name: str, dye: Any, base: Any) -> None:
    steps = steps_of(name, dye=dye, dye_base=base, colour="tan")
    must_be_in_order(steps)
    every = [step.name for step in steps]
    assert every[-1] == "pack"
    assert must_come_before(steps)["pack"] == set(every[:-1])  # nothing is left undone


@pytest.mark.parametrize("name", EXAMPLES)
def test_each_seam_is_sewn_once_and_after_all_that_it_closes_off(name: str) -> None:
    steps, design = steps_of(name), design_of(name)
    before = must_come_before(steps)
    for seam in design.seams:
        sewn = [step for step in steps if step.work == "sew" and step.place == seam.name]
        assert [step.name for step in sewn] == [f"sew {seam.name}"]
        needed = {f.name for f in design.fittings if f.before_seam == seam.name}
        needed |= {m.name for m in design.magnets if m.before_seam == seam.name}
        pieces = {edge.piece for edge in seam.edges}
        early = {
            step.name
            for step in steps
            if (step.place_kind == "piece" and step.place in pieces)
            or (step.place_kind == "fitting" and step.place in needed)
        }
        assert early <= before[f"sew {seam.name}"]
        assert {f"set {one}" for one in needed} <= early
        for piece in pieces:
            assert f"prick {piece} for {seam.name}" in early


def test_a_lining_is_sewn_to_its_back_before_the_seam_that_closes_it_off() -> None:
    spec = spec_of("compass-pouch")
    lined = replace(
        spec, brief=replace(spec.brief, measures=replace(spec.brief.measures, lined=True))
    )
    values = values_of(lined, BenchChoice(dye="pieces"))
    assert [seam.name for seam in values["design"][0].seams] == ["rim", "flap"]
    before = must_come_before(values["steps"])
    assert {"sew flap", "cut piece lining"} <= before["glue rim"]
    assert "dye lining" not in before  # bought in its colour


@pytest.mark.parametrize("name", EXAMPLES)
def test_open_edges_are_finished_before_the_seam_and_sewn_edges_after_it(name: str) -> None:
    steps, design = steps_of(name), design_of(name)
    before = must_come_before(steps)
    sewn = {edge.piece for seam in design.seams for edge in seam.edges}
    for seam in design.seams:
        assert f"sew {seam.name}" in before[f"burnish sewn edge of {seam.name}"]
    for piece in design.pieces:
        covered = {e.span for s in design.seams for e in s.edges if e.piece == piece.name}
        is_open = set(piece.outline.spans) - covered
        finish = f"burnish open edges of {piece.name}"
        assert (finish in before) == bool(is_open)
        if is_open and piece.name in sewn:
            assert finish in before[f"sew {design.seams[0].name}"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_holes_are_pricked_by_a_template_that_is_cut(name: str) -> None:
    values = values_of(spec_of(name), BenchChoice(), "pricking templates")
    made = {part.name for part in values["pricking templates"][0]}
    told = {
        figure.value: step.place
        for step in values["steps"]
        if step.work == "prick"
        for figure in step.figures
        if figure.label == "By"
    }
    assert {words.removesuffix(", turned over") for words in told} == made
    for words, piece in told.items():
        assert words.endswith(", turned over") != words.startswith(f"{piece} ")


def _span(steps: tuple[Step, ...], step: Step, until: str) -> tuple[int, int]:
    names = [one.name for one in steps]
    return names.index(step.name), names.index(until)


@pytest.mark.parametrize("base", ["spirit", "water"])
@pytest.mark.parametrize("name", EXAMPLES)
def test_a_plug_is_freed_only_after_the_leather_on_it_has_dried(name: str, base: Any) -> None:
    steps = steps_of(name, dye="pieces", dye_base=base)
    before = must_come_before(steps)
    by_name = {step.name: step for step in steps}
    plugs = [(s, h) for s in steps for h in s.holds if h.station == "plug"]
    presses = [s for s in steps if s.work == "press"]
    assert presses, name
    dyed = [p.name for p in design_of(name).pieces if p.zones] if base == "water" else []
    assert len(plugs) == len(presses) + len(dyed)
    for step, hold in plugs:
        dries = [
            one
            for one in (step.name, *before[hold.until])
            if by_name[one].rest
            and by_name[one].rest.what == "drying on the plug"  # type: ignore[union-attr]
            and (one == step.name or step.name in before[one])
        ]
        assert dries, hold
        assert any(one in by_name[hold.until].after for one in dries)
        for other in step.holds:  # what is taken with the plug is free no later than the plug
            _, end = _span(steps, step, other.until)
            assert end <= _span(steps, step, hold.until)[1]


@pytest.mark.parametrize("name", EXAMPLES)
def test_vise_and_frame_are_free_after_pressing_plug_and_ring_when_dry(name: str) -> None:
    steps = steps_of(name)
    for blank in design_of(name).blanks:
        until = {
            hold.station: hold.until
            for step in steps
            for hold in step.holds
            if step.place_kind == "blank" and step.place == blank.name
        }
        opened = f"open the mould of {blank.name}"
        assert until == {
            "tub": f"press {blank.name}",
            "vise": opened,
            "frame": opened,
            "plug": f"unmould {blank.name}",
            "hold-down ring": f"unmould {blank.name}",
            "drying place": f"unmould {blank.name}",
        }


@pytest.mark.parametrize("name", EXAMPLES)
def test_sewing_takes_the_minutes_of_its_stitches(name: str) -> None:
    values = values_of(spec_of(name), BenchChoice(times=own_times({"sew": {"unit_minutes": 0.31}})))
    for sewn in values["sewn"][0]:
        step = next(s for s in values["steps"] if s.name == f"sew {sewn.name}")
        stitches = len(sewing_order(sewn.count, sewn.reverse_stitches)) - 1
        expected = TIMES["sew"].thing_minutes + 0.31 * stitches
        assert step.thing_minutes == pytest.approx(expected, abs=1e-12)
        assert step.minutes(3) == math.ceil(TIMES["sew"].load_minutes + 3 * expected)


def test_a_new_thread_changes_only_the_steps_that_it_goes_through() -> None:
    spec = spec_of("compass-pouch")
    thin = find(built_in_catalogue().threads, "waxed polyester 0.80 mm")
    other = replace(spec, brief=replace(spec.brief, thread=thin))
    one, two = (values_of(s, BenchChoice())["steps"] for s in (spec, other))
    assert [s.name for s in one] == [s.name for s in two]
    assert [a.name for a, b in zip(one, two, strict=True) if a != b] == ["sew rim"]


@pytest.mark.parametrize("known", ["catalogue", "own reading", "own time"])
def test_hours_on_the_plug_are_said_to_be_assumed_only_while_they_are(known: str) -> None:
    spec, own = spec_of("lens-case"), own_times({})
    if known == "own reading":
        ((role, leather),) = spec.brief.leathers
        source = f"pull_in_factor, drying_hours {MEASURED}; else {leather.source}"
        leathers = ((role, replace(leather, source=source)),)
        spec = replace(spec, brief=replace(spec.brief, leathers=leathers))
    elif known == "own time":
        own = own_times({"open the mould": {"rest_least_minutes": 1000.0}})
    values = values_of(spec, BenchChoice(times=own), "forming chapters")
    step = next(s for s in values["steps"] if s.work == "open the mould")
    told = next(f.value for f in step.figures if f.label == "Dry on the plug")
    assert ("assumed" in told) == (known == "catalogue")
    notes = " ".join(note for chapter in values["forming chapters"] for note in chapter.notes)
    assert ("Hours are assumed" in notes) == (known != "own reading"), "reckoned, not the own time"


def test_a_source_names_the_figures_that_were_measured() -> None:
    (_, leather) = spec_of("lens-case").brief.leathers[0]
    assert not leather.is_measured("drying_hours")
    own = replace(leather, source=f"shrinkage_along, drying_hours {MEASURED}; else from memory")
    assert own.is_measured("drying_hours")
    assert own.is_measured("shrinkage_along")
    assert not own.is_measured("shrinkage_across")


def test_a_rivet_is_told_all_that_it_goes_through_and_a_slit_its_length() -> None:
    steps = {step.name: step for step in steps_of("lens-case")}
    told = {f.label: f.value for f in steps["set rivet 1"].figures}
    assert told["Through"] == "back, then strap"
    assert {f.label: f.value for f in steps["set stud"].figures}["On"] == "front"
    strap = design_of("lens-case").piece("strap")
    hole = next(hole for hole in strap.holes if hole.slit)
    assert hole.slit is not None
    long = math.dist(hole.at, hole.slit) - hole.diameter_mm / 2
    punched = {f.label: f.value for f in steps["punch strap"].figures}
    assert punched["Hole for the strap"] == f"{hole.diameter_mm:g} mm, with a slit of {long:g} mm"


def test_own_times_change_only_the_steps_of_that_work() -> None:
    one = steps_of("lens-case")
    two = steps_of("lens-case", times=own_times({"burnish": {"thing_minutes": 9.0}}))
    changed = {a.work for a, b in zip(one, two, strict=True) if a != b}
    assert changed == {"burnish"}


@pytest.mark.parametrize("name", ["specimen-tray", "compass-pouch", "label-box"])
def test_the_depth_to_be_measured_is_from_the_plugs_own_to_the_solved_floors(name: str) -> None:
    """Stiff leather stands off the plug's face: wet, it may be rubbed down to it or not."""
    values = values_of(spec_of(name), BenchChoice(), "pressed blanks")
    design: Design = values["design"][0]
    told = {
        reading.what.partition(",")[0]: [float(x) for x in _numbers(reading.expected)]
        for step in values["steps"]
        for reading in step.readings
        if "depth" in reading.what
    }
    for one in values["pressed blanks"][0]:
        sheet = one.layers[0].sheet
        for zone, hollow in zip(one.zones, sheet.pressing.hollows, strict=True):
            piece, own = zone.sources[0]
            x, y = zone.plug.centroid
            away = np.hypot(sheet.shape.points[:, 0] - x, sheet.shape.points[:, 1] - y)
            near = int(away.argmin())
            around = np.any(sheet.layout.triangles == near, axis=1)
            half = sheet.thickness[around].mean() / 2.0
            tools = hollow.tools
            formed = sheet.shape.points[near, 2] - half - (tools.depth_mm - tools.thickness_mm / 2)
            deep = design.piece(piece).zone(own).depth_mm
            dry = deep / tools.depth_mm * formed
            assert formed > 0.3
            low, high = told[f"depth of {piece}"]
            assert low == pytest.approx(deep, abs=0.051)
            assert high == pytest.approx(deep + dry, abs=0.1 + 0.051)
            cut = design.piece(piece).zone(own).cut_height_mm
            if cut is not None:
                inside = told[f"inside depth of {piece}"]
                assert inside == pytest.approx([low - cut, high - cut], abs=0.051)


def test_under_a_floor_of_the_cavity_leather_stands_off_no_more_than_there_is_room() -> None:
    spec = spec_of("specimen-tray")
    floored = replace(spec, tooling=replace(spec.tooling, cavity_floor=True))
    free, held = (
        values_of(one, BenchChoice(), "blank facts")["blank facts"][0] for one in (spec, floored)
    )
    room = held.tool.gap_mm - spec.brief.leathers[0][1].thickness_mm * 0.9
    assert dict(held.floors_off_mm)["tray/hollow"] < room
    assert room < dict(free.floors_off_mm)["tray/hollow"]


def _numbers(words: str) -> list[str]:
    return re.findall(r"[\d.]+", words)


@pytest.mark.parametrize("name", EXAMPLES)
def test_a_first_off_is_made_for_new_tools_only(name: str) -> None:
    new, again = steps_of(name), steps_of(name, new=False)
    once = {step.name for step in new if step.first_off}
    assert {s.work for s in new if s.first_off} == {
        "cut the boards",
        "ease and seal",
        "put together",
        "measure the leather",
        "measure the first-off",
    }
    assert [s.name for s in again] == [s.name for s in new if s.name not in once]
    before = must_come_before(new)
    for step in new:
        if step.work in ("cut blank", "cut piece"):
            assert any(one.startswith("measure the") for one in before[step.name])
        if step.work == "press":
            assert f"put the mould of {step.place} together" in before[step.name]


@pytest.mark.parametrize(
    ("dye", "dyed_before"),
    [
        ("before moulding", {"soak pair of fronts", "press pair of fronts"}),
        ("pieces", {"burnish open edges of front", "set stud", "roughen rim", "sew rim"}),
        ("assembled", {"burnish sewn edge of rim", "condition"}),
    ],
)
def test_dye_goes_on_where_the_maker_says(dye: Any, dyed_before: set[str]) -> None:
    steps = steps_of("compass-pouch", dye=dye, colour="tan")
    before = must_come_before(steps)
    dyes = [step for step in steps if step.work == "dye"]
    assert {step.setup for step in dyes} == {"tan"}
    moulded = {"before moulding": "dye blank pair of fronts", "pieces": "dye front"}
    name = moulded.get(dye, "dye the article")
    assert all(name in before[later] for later in dyed_before)
    if dye == "assembled":
        assert {"sew rim", "bevel sewn edge of rim"} <= before[name]
    else:
        assert "dye back" in before["sew rim"]
    assert "dye open edges of front" in before["burnish open edges of front"]


def test_glue_is_closed_within_its_open_time_and_wet_leather_pressed_in_time() -> None:
    for glue, (least, most) in {"water-based": (0, 8), "contact": (10, 20)}.items():
        rests = {
            (w.before, w.then): w.rest
            for w in waits(steps_of("compass-pouch", glue=glue))
            if w.rest
        }
        closing = rests["glue rim", "clamp rim"]
        assert (closing.least_minutes, closing.most_minutes) == (least, most)
        wet = rests["soak pair of fronts", "press pair of fronts"]
        assert (wet.least_minutes, wet.most_minutes) == (12, 30)
        closed = rests["press pair of fronts", "open the mould of pair of fronts"]
        assert (closed.least_minutes, closed.most_minutes) == (60, 720)


def test_painted_edges_get_their_coats_with_drying_and_sanding_between() -> None:
    steps = steps_of("lens-case", edges="painted", paint_coats=4)
    coats = [
        s for s in steps if s.place == "rim" and s.work in ("paint edges", "last coat on edges")
    ]
    assert [s.name.split(" coat")[0] for s in coats] == [
        "paint first",
        "paint middle 1",
        "paint middle 2",
        "paint last",
    ]
    assert [s.rest.least_minutes for s in coats if s.rest] == [30, 30, 30, 1440]
    for one, two in pairwise(coats):
        assert two.after == (one.name,)
        assert "Sand" in two.how
    assert "burnish" not in {s.work for s in steps}


def test_raw_edges_are_left_alone() -> None:
    works = {s.work for s in steps_of("lens-case", edges="raw")}
    assert works.isdisjoint({"bevel", "sand flush", "burnish", "paint edges", "dye edges"})


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_step_names_a_source_known_cautions_and_a_work_that_has_a_time(name: str) -> None:
    for step in steps_of(name, dye="pieces"):
        assert step.source == TIMES[step.work].source
        assert set(step.cautions) <= set(CAUTIONS)
        assert step.how.endswith(".")


def test_every_caution_is_used_somewhere() -> None:
    used = {
        caution
        for name in EXAMPLES
        for edges in ("bevelled and burnished", "painted")
        for step in steps_of(name, dye="pieces", edges=edges)
        for caution in step.cautions
    }
    assert used == set(CAUTIONS)


@pytest.mark.parametrize("name", EXAMPLES)
def test_blanks_serve_as_many_articles_as_they_make(name: str) -> None:
    for blank in design_of(name).blanks:
        for step in steps_of(name):
            if step.place_kind == "blank" and step.place == blank.name:
                assert step.articles == blank.articles


def test_build_sheet_phone_and_price_go_by_the_maker_s_own_minutes_and_steps() -> None:
    spec = spec_of("specimen-tray")
    slow = replace(TIMES["soak"], load_minutes=33.0, thing_minutes=0.0, unit_minutes=0.0)
    plain = BenchChoice()
    behind = steps_of("specimen-tray")[-1].name
    stamped = OwnStep(what="add", step="stamp the mark", behind=behind, minutes=7.0)

    def told(bench: BenchChoice, words: str) -> list[bool]:
        files, _ = article.pack(spec, CACHE, choice=PaperChoice(bench=bench))
        page = bench_page(spec, "x", "", CACHE, laser_speed=10.0, bench=bench)
        sheets = (files["papers/build sheet.html"], page)
        return [words in one.decode() for one in sheets]

    def minutes(bench: BenchChoice) -> dict[str, float]:
        by = priced(spec, WorkshopRates(), built_in_prices(), 10, CACHE, bench=bench, alone=True)
        return {one.step: float(one.set_up + one.hands_on) / 10 for one in by.steps}

    assert told(plain, "33 min") == [False, False]
    assert told(replace(plain, times=(slow,)), "33 min") == [True, True]
    own = replace(plain, own_steps=(stamped,))
    assert told(plain, "tamp the mark") == [False, False]
    assert told(own, "tamp the mark") == [True, True]
    before, after = minutes(plain), minutes(own)
    assert after == before | {"stamp the mark": 7.0}
    gone = replace(plain, own_steps=(replace(stamped, behind="paint the walls"),))
    with pytest.raises(RequestError, match=r"your own changes of the steps.*: no step"):
        minutes(gone)

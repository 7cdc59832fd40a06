"""What the build sheet tells beside a step's own figures, against the tools themselves."""

import re
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from coarse_cache import CACHE
from hidewright.planning.steps_choice import CARD
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.build_sheet_closed import BEHIND, SEEN, closed_article
from hidewright.workshop.build_sheet_notes import MINDED
from hidewright.workshop.build_sheet_section import EASED
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of

EXAMPLES = sorted(p.stem for p in Path("examples").glob("*.yaml"))
WANTED = ("design", "steps", "build steps", "mouldings", "sheets", "trim templates", "blocks")


@cache
def values_of(name: str) -> Any:
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    return evaluate(article.NODES, inputs_of(spec, "A4"), (*WANTED, "cut files"), CACHE).values


def shown(name: str) -> list[tuple[Any, Any]]:
    values = values_of(name)
    return list(zip(values["steps"], values["build steps"], strict=True))


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_cut_file_is_named_at_the_step_that_cuts_it(name: str) -> None:
    told: set[str] = set()
    for step, sheet in shown(name):
        if step.work == "cut the boards":
            for label, words in sheet.figures:
                if label == "Files":
                    stem, first, last = re.fullmatch(  # type: ignore[union-attr]
                        r"(.* sheet )(\d+)(?: to (\d+))?", words
                    ).groups()
                    numbers = range(int(first), int(last or first) + 1)
                    told |= {f"{stem}{number}.svg" for number in numbers}
            assert ("Card" in [label for label, _ in sheet.figures]) == (step.place == CARD)
    made = {path for path in values_of(name)["cut files"] if path.endswith(".svg")}
    assert told == made


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_plates_told_for_plug_and_frame_stand_as_high_as_the_tool(name: str) -> None:
    tools = {m.blank.name: m.tool for m in values_of(name)["mouldings"][0]}
    built = [(step, sheet) for step, sheet in shown(name) if step.work == "put together"]
    assert len(built) == len(tools)
    for step, sheet in built:
        told, tool = dict(sheet.figures), tools[step.place]
        plug = _high(told["Plug, from the base up"])
        assert plug == pytest.approx(tool.plug_height_mm, abs=0.011 * 2)
        base = next(p for p in tool.parts if p.role == "base").board.thickness_mm
        closed = base + tool.flange_gap_mm + _high(told["Frame"])
        assert closed == pytest.approx(tool.closed_height_mm, abs=0.01)
        stop = re.fullmatch(r"(\d+) of (.*)", told["Stop blocks"])
        assert stop is not None
        assert _high(stop[2]) == pytest.approx(tool.flange_gap_mm, abs=0.006)


def _high(plates: str) -> float:
    """Return the height of plates told as ``card 2.24 mm, 2 x MDF 6 mm``."""
    found = re.findall(r"(?:(\d+) x )?[A-Za-z ]+ ([\d.]+) mm", plates)
    return sum(int(count or 1) * float(thick) for count, thick in found)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_remark_that_belongs_to_a_step_is_told_there(name: str) -> None:
    values = values_of(name)
    remarks = (*values["mouldings"][1], *values["trim templates"][1], *values["blocks"][1])
    for remark in remarks:
        works = MINDED.get(remark.code, ())
        found = [
            step.work
            for step, sheet in shown(name)
            if ("Mind", remark.sentence.rstrip(".")) in sheet.figures
        ]
        assert set(found) <= set(works)
        if works:
            assert found, (remark.code, remark.place)


@pytest.mark.parametrize("name", EXAMPLES)
def test_leather_is_pushed_off_through_holes_only_where_there_are_holes(name: str) -> None:
    """Screws as well: the step says of a plug that is glued alone neither the one nor the other."""
    values = values_of(name)
    for moulding in values["mouldings"][0]:
        plates = [part for part in moulding.tool.parts if part.role == "plug"]
        steps = {s.work: s.how for s in values["steps"] if s.place == moulding.blank.name}
        bored = {p: all(part.holes_for(p) for part in plates) for p in ("screw", "push-out")}
        assert ("push-out holes" in steps["unmould"]) == bored["push-out"]
        assert ("by the flange" in steps["unmould"]) != bored["push-out"]
        assert ("glue and screw" in steps["put together"]) == bored["screw"]
        said = " ".join(r.sentence for r in values["mouldings"][1] if r.code in MINDED)
        assert ("by the flange" in said) != bored["push-out"] or len(values["mouldings"][0]) > 1
        assert "push-out holes" not in said


@pytest.mark.parametrize("name", EXAMPLES)
def test_as_many_edges_are_ringed_as_are_eased_in_the_section(name: str) -> None:
    tools = {m.blank.name: m.tool for m in values_of(name)["mouldings"][0]}
    for step, sheet in shown(name):
        if step.work == "ease and seal":
            eased = [p for p in tools[step.place].parts if p.easings and p.bottom_mm is not None]
            rings = [s for s in sheet.picture.strokes if s.layer == EASED]
            assert len(rings) >= len(eased) >= 2


@pytest.mark.parametrize(
    ("name", "front", "hides"),
    [
        ("compass-pouch", "flap", True),
        ("lens-case", "strap end", True),
        ("tube-sleeve", "front", False),
    ],
)
def test_nothing_shows_through_the_panel_in_front(name: str, front: str, hides: bool) -> None:
    """Which panel is in front is said here by hand; what it covers is cut with shapely."""
    design = values_of(name)["design"][0]
    strokes = closed_article(design)
    panel = next(p for p in design.assembly.panels if p.name == front)
    piece, pose = design.piece(panel.piece), design.assembly.pose_of(panel, 1.0)
    flat = panel.part_of(piece.outline.flat_points(0.02))
    cover = shapely.Polygon(pose.of_points(np.column_stack([flat, 0.0 * flat[:, 0]]))[:, :2])
    zones = [shapely.Polygon(zone.outline.flat_points(0.02)).boundary for zone in piece.zones]
    within = cover.buffer(-0.6).difference(shapely.union_all(zones).buffer(0.6))
    for stroke in strokes:
        if stroke.layer == SEEN:
            line = shapely.LineString(stroke.curve.flat_points(0.02))
            assert within.intersection(line).length < 1e-6
    hidden = sum(s.curve.length for s in strokes if s.layer == BEHIND)
    assert (hidden > 20.0) == hides
    seen = [shapely.LineString(s.curve.flat_points(0.02)) for s in strokes if s.layer == SEEN]
    assert cover.boundary.difference(shapely.union_all(seen).buffer(0.6)).length < 1e-6

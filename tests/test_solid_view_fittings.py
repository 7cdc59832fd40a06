"""Studs stand in their holes and through what closes over them; stitches lie from hole to hole."""

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh

from coarse_cache import CACHE
from hidewright.design.design import Design
from hidewright.design.seam import SewnSeam
from hidewright.geometry.segment import Floats
from hidewright.store.design_file import read_design
from hidewright.workshop.article import NODES
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.views.solid_view import STEPS, SolidGroup, SolidView, pieces_solid


@cache
def sewn(name: str) -> tuple[Design, tuple[SewnSeam, ...], SolidView]:
    file = Path("examples", f"{name}.yaml")
    spec = read_design(file.read_bytes(), name=file.name).specification
    wanted = ("design", "sewn", "pressed blanks")
    values = evaluate(NODES, inputs_of(spec, "A4"), wanted, CACHE).values
    design, seams = values["design"][0], values["sewn"][0]
    return design, seams, pieces_solid(design, values["pressed blanks"][0], design.leathers, seams)


def group(name: str, of: str) -> SolidGroup:
    return next(g for g in sewn(name)[2].groups if g.name == of)


@pytest.mark.parametrize("name", ["compass-pouch", "lens-case", "trowel-cover"])
def test_a_fitting_is_a_closed_turning_with_the_volume_of_its_parts(name: str) -> None:
    design, _, _ = sewn(name)
    assert design.fittings
    for place in design.fittings:
        shown = group(name, place.name)
        solid = trimesh.Trimesh(shown.points, shown.triangles)
        assert solid.is_watertight
        wide, post = place.fitting.head_diameter_mm, place.fitting.hole_mm
        plate, high = 0.6, max(0.25 * wide, 0.6)
        # the head: a disc with a quarter round of its own height, by the theorem of Pappus
        inner = wide / 2.0 - high
        round_edge = (
            math.pi / 4.0 * high**2 * 2.0 * math.pi * (inner + 4.0 * high / (3.0 * math.pi))
        )
        head = math.pi * inner**2 * high + round_edge
        expected = math.pi / 4.0 * (wide**2 * plate + post**2 * place.stack_mm) + head
        assert solid.volume == pytest.approx(expected, rel=0.03), place.name
        assert np.allclose(shown.points[:, :2].mean(axis=0), place.at, atol=0.05)


@pytest.mark.parametrize(("name", "strap"), [("compass-pouch", "flap"), ("lens-case", "strap end")])
def test_when_closed_the_stud_stands_through_the_hole_of_the_strap(name: str, strap: str) -> None:
    design, _, _ = sewn(name)
    stud = next(place for place in design.fittings if place.fitting.kind == "stud")
    flap = group(name, strap)
    piece = next(p.piece for p in design.assembly.panels if p.name == strap)
    hole = max(design.piece(piece).holes, key=lambda h: h.at[1])
    rim = np.abs(np.linalg.norm(flap.points[:, :2] - hole.at, axis=1) - hole.diameter_mm / 2) < 0.05
    closed = flap.placed(STEPS - 1)[rim]
    head = group(name, stud.name).placed(STEPS - 1)
    assert np.allclose(closed[:, :2].mean(axis=0), head[:, :2].mean(axis=0), atol=0.1)
    # the strap's outer face lies under the head, its inner face over the leather it closes on
    under = np.unique(np.round(head[:, 2], 6))[-5]  # the head's rings are the five highest
    assert closed[:, 2].max() < under + 0.7
    assert closed[:, 2].min() > under - stud.stack_mm - 0.7


def bars(shown: SolidGroup) -> Floats:
    """(bars, 36, 3) corners of the triangles of each bar, closed."""
    placed: Floats = shown.placed(STEPS - 1)
    return placed.reshape(-1, 36, 3)


@pytest.mark.parametrize("name", ["compass-pouch", "lens-case", "trowel-cover", "tube-sleeve"])
def test_each_stitch_is_a_closed_bar_from_hole_to_hole(name: str) -> None:
    design, seams, _ = sewn(name)
    thread = design.thread.diameter_mm
    for seam in seams:
        for layer, face in ((seam.layers[0], "front"), (seam.layers[-1], "back")):
            shown = group(name, f"{seam.name} stitches, {face}")
            own = shown.points.reshape(-1, 36, 3)
            for bar in own:
                solid = trimesh.Trimesh(bar, np.arange(36).reshape(-1, 3))
                assert solid.is_watertight
                assert solid.volume > 0.0
            holes = np.array([hole.at for hole in layer.holes])
            assert len(own) == seam.count - 1
            middle = (own.min(axis=1) + own.max(axis=1))[:, :2] / 2.0
            assert np.allclose(middle, (holes[:-1] + holes[1:]) / 2.0, atol=0.02)
            long = np.linalg.norm(holes[1:] - holes[:-1], axis=1)
            reach = np.linalg.norm(own[:, :, :2] - middle[:, None], axis=2).max(axis=1)
            assert np.allclose(reach, np.hypot(long / 2.0, thread / 2.0), atol=0.02)


@pytest.mark.parametrize("name", ["compass-pouch", "lens-case", "trowel-cover", "tube-sleeve"])
def test_front_and_back_stitches_lie_over_one_another_outside_the_stack(name: str) -> None:
    design, seams, _ = sewn(name)
    for seam in seams:
        front, back = (bars(group(name, f"{seam.name} stitches, {f}")) for f in ("front", "back"))
        apart = front.mean(axis=1) - back.mean(axis=1)
        assert np.abs(apart[:, :2]).max() < 0.06
        stack = sum(design.leather(design.piece(e.piece).role).thickness_mm for e in seam.layers)
        # pressing thickens or thins a flange a little
        assert np.abs(np.abs(apart[:, 2]) - stack).max() < 0.35


def test_without_seams_no_stitches_are_drawn() -> None:
    design, _, view = sewn("tube-sleeve")
    assert any("stitches" in g.name for g in view.groups)
    bare = pieces_solid(design, (), design.leathers)
    assert not any("stitches" in g.name for g in bare.groups)

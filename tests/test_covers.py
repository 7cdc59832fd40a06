"""Covers over what ends inside a hollow: large enough, within the piece, cut, paid and glued."""

import io
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import ezdxf
import ezdxf.path
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from coarse_cache import CACHE
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.cover import LEAST_GLUED_MM, covers_of
from hidewright.design.design import COVER_MM, Design
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.cost_chain import MM2_PER_M2
from hidewright.workshop.cut_leather import cut_leather
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of

#: (example, what is covered cover by cover, what they are pared to): studs and rivets that end in
#: a hollow, and a magnet that no seam closes off; the others have none.
EXAMPLES: dict[str, tuple[list[tuple[str, ...]], float]] = {
    "compass-pouch": ([("stud",)], COVER_MM),
    "forceps-pocket": ([("tray magnet",)], 0.8),
    "label-box": ([], COVER_MM),
    "lens-case": ([("stud",), ("rivet 1", "rivet 2")], 0.8),
    "specimen-tray": ([], COVER_MM),
    "trowel-cover": ([("stud",)], COVER_MM),
    "tube-sleeve": ([], COVER_MM),
}


@cache
def values_of(name: str) -> Any:
    path = Path("examples") / f"{name}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    wanted = ("design", "steps", "needs", "pressed blanks", "pattern files")
    inputs = {**inputs_of(spec, "A4"), "rates": WorkshopRates()}
    return evaluate(article.NODES, inputs, wanted, CACHE).values


def disc(at: tuple[float, float], radius: float) -> Any:
    return shapely.Point(at).buffer(radius, quad_segs=32)


@pytest.mark.parametrize("name", EXAMPLES)
def test_what_ends_in_a_hollow_lies_under_one_cover_of_its_piece(name: str) -> None:
    design: Design = values_of(name)["design"][0]
    covered, pared = EXAMPLES[name]
    covers = covers_of(design)
    assert sorted(cover.over for cover in covers) == sorted(covered)
    for cover in covers:
        placed = cover.placed.polygon
        assert cover.thickness_mm == pared
        assert design.piece(cover.piece).outline.polygon.contains(placed), "stands over the edge"
        for place in (p for p in design.fittings if p.name in cover.over):
            end = disc(place.at, place.fitting.head_diameter_mm / 2 + LEAST_GLUED_MM - 0.01)
            assert placed.contains(end), "too little of it is glued"
        for held in (m for m in design.magnets if m.name in cover.over):
            assert placed.contains(disc(held.at, held.magnet.diameter_mm / 2 + LEAST_GLUED_MM))


@settings(max_examples=40, deadline=None)
@given(
    places=st.lists(
        st.tuples(st.floats(-15, 15), st.floats(-38, -8)), min_size=1, max_size=4, unique=True
    )
)
def test_posts_wherever_they_are_set_each_lie_wholly_under_one_cover(
    places: list[tuple[float, float]],
) -> None:
    design: Design = values_of("lens-case")["design"][0]
    rivet = next(p for p in design.fittings if p.name == "rivet 1")
    set_ = tuple(replace(rivet, name=f"r{i}", at=at) for i, at in enumerate(places))
    covers = covers_of(replace(design, fittings=set_))
    assert sorted(name for cover in covers for name in cover.over) == sorted(p.name for p in set_)
    by_name = {name: cover for cover in covers for name in cover.over}
    for place in set_:
        end = disc(place.at, rivet.fitting.head_diameter_mm / 2 + LEAST_GLUED_MM - 0.01)
        assert by_name[place.name].placed.polygon.buffer(0.01).contains(end)


def test_no_cover_where_none_is_asked_for() -> None:
    design: Design = values_of("lens-case")["design"][0]
    assert covers_of(replace(design, cover_mm=0.0)) == ()


@pytest.mark.parametrize("name", [name for name, (covered, _) in EXAMPLES.items() if covered])
def test_a_cover_is_cut_paid_for_drawn_and_glued_on(name: str) -> None:
    """Its area in the list, the cost and the pattern is one; it is glued at its last fitting."""
    values = values_of(name)
    design: Design = values["design"][0]
    covers = covers_of(design)
    listed = {one.what: one for one in cut_leather(design, values["pressed blanks"])}
    used = {m.use.what: m.use for m in values["needs"].materials if m.use.kind == "leather"}
    glued = {m.use.what: m.use for m in values["needs"].materials if m.use.kind == "consumable"}
    steps = {step.place: step for step in values["steps"] if step.place_kind == "fitting"}
    for cover in covers:
        area = cover.outline.area
        assert listed[cover.name].outline.area == area
        assert used[cover.name].quantity == pytest.approx(area / MM2_PER_M2)
        rate = WorkshopRates().contact_glue_g_m2
        assert glued[cover.name].quantity == pytest.approx(2 * rate * area / MM2_PER_M2)
        told = {figure.label: figure.value for figure in steps[cover.over[-1]].figures}
        assert told["Over"] == " and ".join(cover.over)
        assert told["Pared to"] == f"{cover.thickness_mm:g} mm"
    assert sum("Cover" in {f.label for f in step.figures} for step in steps.values()) == len(covers)
    files = values["pattern files"]
    document = ezdxf.read(io.StringIO(files["patterns/covers.dxf"].decode()))
    drawn = [e for e in document.modelspace() if e.dxftype() not in ("TEXT", "MTEXT")]
    sizes = sorted(shapely.Polygon([p.vec2 for p in _flat(e)]).area for e in drawn)
    assert sizes == pytest.approx(sorted(cover.outline.area for cover in covers), rel=1e-3)
    assert "patterns/covers.svg" in files


def _flat(entity: Any) -> Any:
    return ezdxf.path.make_path(entity).flattening(0.001)

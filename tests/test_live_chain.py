"""Pressing while a slider moves: every step begins from the one before it, on one mesh."""

from typing import Any

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop import article
from hidewright.workshop.edit import edited
from hidewright.workshop.forming_chain import DRY_FIT_MM, PressedBlank
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.live_chain import with_live_pressing

SHELF = built_in_catalogue()
#: A measure of each kind that is moulded, which changes its outline.
SLIDERS = (
    ("compass-pouch.yaml", "width"),
    ("forceps-pocket.yaml", "width"),
    ("label-box.yaml", "length"),
    ("lens-case.yaml", "width"),
    ("specimen-tray.yaml", "length"),
    ("trowel-cover.yaml", "ease"),
)
STEPS_MM = (0.1, 0.2, 0.3, 0.4, 0.5)


@pytest.mark.parametrize(("file", "measure"), SLIDERS)
def test_a_slider_keeps_its_mesh_and_its_dry_sizes(file: str, measure: str) -> None:
    """Topology is frozen while a slider moves, and no step falls back on a solve from nothing."""
    spec: Any = read_design(demo_designs()[file], name=file).specification
    begun = float(getattr(spec.brief.measures, f"{measure}_mm"))
    last: dict[str, PressedBlank] = {}
    nodes = with_live_pressing(article.NODES, last)
    layouts: list[dict[str, Any]] = []
    for step in (0.0, *STEPS_MM):
        moved = edited(spec, f"measures.{measure}", f"{begun + step:.2f} mm", SHELF)
        evaluate(nodes, inputs_of(moved, "A4"), ("pressed blanks",), Cache())
        assert all(one.dry_miss_mm <= DRY_FIT_MM for one in last.values())
        layouts.append({name: one.layers[0].sheet.layout for name, one in last.items()})
    for now in layouts[1:]:
        assert now.keys() == layouts[0].keys()
        assert all(now[name] is layouts[0][name] for name in now), file

"""What is recomputed when an input field changes: the table in docs/recomputed.csv, kept true.

Set HIDEWRIGHT_ACCEPT=1 to write the table anew; then read what changed in it.
"""

import csv
import os
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any, Literal, get_args, get_origin, get_type_hints

import pytest

from hidewright.catalogue.prices import built_in_prices
from hidewright.costing.charges import AS_IT_IS
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.specification import Change, Specification
from hidewright.drawing.tiles import Paper
from hidewright.errors import RequestError
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop.acceptance import FAULTS
from hidewright.workshop.article import NODES as REAL_NODES
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.paper_choice import PaperChoice

TABLE = Path(__file__).parents[1] / "docs" / "recomputed.csv"
DESIGN = "compass-pouch.yaml"
NAMES = tuple(node.name for node in REAL_NODES)
NEEDED = {need for node in REAL_NODES for need in node.needs}
#: What nobody needs, files and remarks, says by its inputs alone whether it is computed anew.
NODES = tuple(
    node if node.name in NEEDED else replace(node, compute=lambda *_: None) for node in REAL_NODES
)
#: Slices of the design are taken anew whenever the design is; they are not work.
SLICES = frozenset(
    (
        *("design", "pieces", "moulded", "seams", "blanks", "hollows", "fittings", "magnets"),
        *("assembly", "all leathers", "held by", "kind remarks", "change remarks", "thicknesses"),
        *("covers", "moulded leathers"),
    )
)

Path_ = tuple[str | int, ...]


def _spec() -> Specification[Any]:
    return read_design(demo_designs()[DESIGN], name=DESIGN).specification


def _inputs(spec: Specification[Any], paper: Paper) -> dict[str, object]:
    """Return all inputs of the graph: a design with the built-in rates and prices."""
    return {
        **inputs_of(spec, paper),
        "paper choice": PaperChoice(),
        "rates": WorkshopRates(),
        "prices": built_in_prices(),
        "batch": 10,
        "yields": (),
        "what if": AS_IT_IS,
    }


def _leaves(value: object, path: Path_ = ()) -> Iterator[Path_]:
    """Yield the path of every plain field in a specification, lists by their first entry."""
    if is_dataclass(value):
        for field in fields(value):
            yield from _leaves(getattr(value, field.name), (*path, field.name))
    elif isinstance(value, tuple) and value and is_dataclass(value[0]):
        yield from _leaves(value[0], (*path, 0))
    elif isinstance(value, tuple) and value and isinstance(value[0], tuple):
        yield from _leaves(value[0][1], (*path, 0, 1))
    else:
        yield path


def _get(value: Any, path: Path_) -> Any:
    for step in path:
        value = value[step] if isinstance(step, int) else getattr(value, step)
    return value


def _with(value: Any, path: Path_, new: object) -> Any:
    if not path:
        return new
    step, *rest = path
    if isinstance(step, int):
        entries = list(value)
        entries[step] = _with(entries[step], tuple(rest), new)
        return tuple(entries)
    return replace(value, **{step: _with(getattr(value, step), tuple(rest), new)})


def _others(spec: Specification[Any], path: Path_) -> Iterator[object]:
    """Yield other values a field may take, the gentlest first."""
    old = _get(spec, path)
    owner = _get(spec, path[:-1])
    hint = get_type_hints(type(owner)).get(str(path[-1]))
    if path == ("changes",):
        yield (Change(place="seam/rim", field="pitch", value="3.6 mm"),)
    elif get_origin(hint) is Literal:
        yield from (choice for choice in get_args(hint) if choice != old)
    elif isinstance(old, bool):
        yield not old
    elif isinstance(old, int):
        yield from (old + 1, old - 1)
    elif isinstance(old, float):
        yield from (old * 1.03, old * 0.97, old + 0.2, 1.0)
    elif isinstance(old, str):
        yield f"{old} b"
    elif isinstance(old, tuple):
        yield ()


def _name(path: Path_) -> str:
    return ".".join(str(step) for step in path if not isinstance(step, int))


def _rows(one_in: int = 1) -> dict[str, str]:
    """Return, for input fields, each or one in so many, the nodes computed when it changes."""
    spec = _spec()
    cache = Cache()
    evaluate(NODES, _inputs(spec, "A4"), NAMES, cache)
    rows: dict[str, str] = {}
    for path in list(_leaves(spec))[::one_in]:
        evaluate(NODES, _inputs(spec, "A4"), NAMES, cache)  # used last, it is not thrown out
        for other in _others(spec, path):
            try:
                changed = _with(spec, path, other)
                result = evaluate(NODES, _inputs(changed, "A4"), NAMES, cache)
            except RequestError:
                continue
            rows[_name(path)] = "; ".join(n for n in result.computed if n not in SLICES)
            break
        else:
            rows[_name(path)] = "not used by this design"
    result = evaluate(NODES, _inputs(spec, "Letter"), NAMES, cache)
    rows["paper"] = "; ".join(result.computed)
    return rows


def _said() -> dict[str, str]:
    with TABLE.open(encoding="utf-8", newline="") as table:
        return {row[0]: row[1] for row in list(csv.reader(table))[1:]}


@pytest.mark.slow
def test_every_field_has_a_row_and_one_in_twenty_recomputes_just_the_nodes_in_it() -> None:
    said = _said()
    assert {*map(_name, _leaves(_spec())), "paper"} == said.keys()
    for field, nodes in _rows(one_in=20).items():
        assert nodes == said[field], field


@pytest.mark.sweep
def test_every_field_recomputes_just_the_nodes_in_its_row() -> None:
    measured = _rows()
    if os.environ.get("HIDEWRIGHT_ACCEPT"):
        with TABLE.open("w", encoding="utf-8", newline="") as out:
            writer = csv.writer(out, lineterminator="\n")
            writer.writerow(("field", "recomputed when it changes"))
            writer.writerows(measured.items())
    assert measured == _said()


@pytest.fixture(scope="module")
def cache() -> Cache:
    """One for all changes: no two of them give a node the same again, but for what they share."""
    return Cache()


#: Steps are reckoned from the design and what the crafts found, and written on papers that name the
#: revision of the whole.
STEPS = {"bench facts", "steps", "build steps", "first-off rows", "build sheet files"}
#: The price is reckoned from the steps and what is used, and named on papers for bench and buyer.
PRICE = {"all steps", "needs", "cost", "asked", "ladder", "tornado"}
LISTS = {"bench list files", "buyer files"}


@pytest.mark.parametrize(
    ("path", "allowed"),
    [
        (("brief", "thread", "diameter_mm"), {"sewing tools", "seam facts"} | STEPS),
        (
            ("tooling", "mould_board", "kerf_mm"),
            {"sheets", "sheet drawings", "cut files", "sheet faults", "board facts"} | STEPS,
        ),
        (
            ("tooling", "template_board", "kerf_mm"),
            {"sheets", "sheet drawings", "cut files", "sheet faults", "board facts"} | STEPS,
        ),
        (
            ("sewing", "tail_mm"),
            {"sewn", "sewing tools", "piece drawings", "pricking templates"}
            | set(FAULTS)
            | {"seam facts", "tool files"}
            | STEPS,
        ),
        (("brief", "name"), {"pattern files", "tool files", "forming files"} | STEPS),
        (
            ("brief", "carried", 0, "thing", "mass_g"),
            {"fit remarks", "safety remarks", "blocks", "tool files"} | STEPS,
        ),
    ],
)
def test_a_change_does_not_reach_further_than_it_must(
    path: Path_, allowed: set[str], cache: Cache
) -> None:
    spec = _spec()
    evaluate(NODES, _inputs(spec, "A4"), NAMES, cache)  # used last, it is not thrown out
    changed = _with(spec, path, next(_others(spec, path)))
    computed = set(evaluate(NODES, _inputs(changed, "A4"), NAMES, cache).computed) - SLICES
    assert computed
    assert computed <= allowed | PRICE | LISTS


def test_leather_thickness_reaches_everything_after_the_hollow(cache: Cache) -> None:
    spec = _spec()
    evaluate(NODES, _inputs(spec, "A4"), NAMES, cache)
    path: Path_ = ("brief", "leathers", 0, 1, "thickness_max_mm")
    changed = _with(spec, path, 1.8)
    computed = set(evaluate(NODES, _inputs(changed, "A4"), NAMES, cache).computed)
    assert {"sewn", "mouldings", "trim templates", "cut files"} <= computed
    assert {"solid files", "pattern files"} <= computed
    assert "fit remarks" not in computed, "the hollow asked for is the dry one"

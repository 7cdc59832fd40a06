"""What the example articles take, measured another way, and the command that prices them."""

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import typer.testing

from coarse_cache import CACHE
from hidewright.catalogue.prices import built_in_prices
from hidewright.cli import app
from hidewright.costing.charges import WhatIf
from hidewright.costing.cost import GROUPS
from hidewright.costing.needs import Material, Needs
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.cover import covers_of
from hidewright.errors import RequestError
from hidewright.geometry.outline import Outline
from hidewright.planning.steps_choice import BenchChoice
from hidewright.store.design_file import read_design
from hidewright.store.rates_file import read_rates
from hidewright.workshop import article
from hidewright.workshop.graph import evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.money.price import priced
from hidewright.workshop.money.priced import as_figures, in_words

NODES = article.NODES
EXAMPLES = sorted(p.stem for p in Path("examples").glob("*.yaml"))
#: Examples with other measures: linings pressed with the outer, glued in flat, sewn in.
LINED: Mapping[str, tuple[str, dict[str, Any]]] = {
    "tray, pressed together": ("specimen-tray", {"lining": "pressed together"}),
    "tray, lined flat": ("specimen-tray", {"lining": "flat"}),
    "pouch, lined": ("compass-pouch", {"lined": True}),
}
RATES = WorkshopRates()
PRICED = {
    "rates": RATES,
    "prices": built_in_prices(),
    "batch": 10,
    "yields": (),
    "what if": WhatIf(),
}


@cache
def spec_of(name: str) -> Any:
    example, measures = LINED.get(name, (name, {}))
    path = Path("examples") / f"{example}.yaml"
    spec = read_design(path.read_bytes(), name=path.name).specification
    changed = replace(spec.brief.measures, **measures)
    return replace(spec, brief=replace(spec.brief, measures=changed))


def values_of(
    name: str, *wanted: str, bench: BenchChoice | None = None, **changed: Any
) -> Mapping[str, Any]:
    inputs = {
        **inputs_of(spec_of(name), "A4"),
        **PRICED,
        "bench": bench or BenchChoice(),
        **{key.replace("_", " "): value for key, value in changed.items()},
    }
    wanted = (*wanted, "needs", "design", "pressed blanks", "sewn", "sheets")
    return evaluate(NODES, inputs, wanted, CACHE).values


def used(needs: Needs, name: str) -> list[Material]:
    return [one for one in needs.materials if one.use.name == name]


def area_mm2(outline: Outline) -> float:
    """By the trapezium rule over short chords; our areas are summed over arcs."""
    x, y = outline.flat_points(0.0002).T
    return abs(float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))) / 2


@pytest.mark.parametrize("name", [*EXAMPLES, *LINED])
def test_leather_is_paid_for_as_it_is_cut(name: str) -> None:
    values = values_of(name)
    design, needs = values["design"][0], values["needs"]
    leather = [one for one in needs.materials if one.use.kind == "leather"]
    moulded: set[str] = set()
    expected: dict[str, tuple[float, int]] = {}
    for one in values["pressed blanks"][0]:
        layers = 1 + len(one.blank.over)
        expected[f"blank {one.blank.name}"] = (layers * area_mm2(one.cut), one.blank.articles)
        moulded |= {*(place.piece for place in one.blank.places), *one.blank.over}
    for piece in design.pieces:
        if piece.name not in moulded:
            expected[piece.name] = (area_mm2(piece.outline), 1)
    for cover in covers_of(design):
        expected[cover.name] = (area_mm2(cover.outline), 1)
    told: dict[str, tuple[float, int]] = {}
    for material in leather:
        use = material.use
        told[use.what] = (told.get(use.what, (0.0, 0))[0] + 1e6 * use.quantity, use.articles)
    assert set(told) == set(expected)
    for what, (area, articles) in expected.items():
        assert told[what][0] == pytest.approx(area, rel=1e-4), what
        assert told[what][1] == articles
    roles = {m.group for m in leather}
    assert roles == {"lining" if p.role == "lining" else "leather" for p in design.pieces}


@pytest.mark.parametrize("name", EXAMPLES)
def test_thread_is_what_the_stitches_take_and_fittings_go_by_the_piece(name: str) -> None:
    values = values_of(name)
    design, needs = values["design"][0], values["needs"]
    thread = used(needs, design.thread.name)
    assert len(thread) == len(design.seams)
    for one, sewn in zip(thread, values["sewn"][0], strict=True):
        holes = np.array([hole.at for hole in sewn.layers[0].holes])
        chords = np.linalg.norm(np.diff(holes, axis=0), axis=1)
        once = 2 * float(chords.sum() + len(chords) * sewn.stack_mm) / 1000
        assert once < one.use.quantity < 1.6 * once + 0.6  # sewn back, and tails
        assert one.use.quantity == sewn.thread_mm / 1000
    pieces = [m.use for m in needs.materials if m.group == "fittings"]
    assert all((use.quantity, use.unit) == (1, "piece") for use in pieces)
    assert sorted(use.what for use in pieces) == sorted(
        place.name for place in (*design.fittings, *design.magnets)
    )


@pytest.mark.parametrize("glue", ["water-based", "contact"])
@pytest.mark.parametrize("name", ["compass-pouch", "lens-case", "label-box", *LINED])
def test_glue_goes_by_the_land_contact_glue_on_both_its_faces(name: str, glue: Any) -> None:
    values = values_of(name, bench=BenchChoice(glue=glue))
    design = values["design"][0]
    grams = {m.use.what: m.use.quantity for m in used(values["needs"], f"{glue} glue")}
    per_m2 = {"water-based": 125.0, "contact": 2 * 150.0}[glue]
    for seam in (one for one in design.seams if one.glued):
        front = design.piece(seam.edges[0].piece).outline.span_path(seam.edges[0].span)
        land = front.length * (seam.inset_mm + 1.5) * (len(seam.edges) - 1)
        assert grams.pop(seam.name) == pytest.approx(per_m2 * land / 1e6)
    for cover in covers_of(design) if glue == "contact" else ():
        assert grams.pop(cover.name) == pytest.approx(per_m2 * area_mm2(cover.outline) / 1e6, 1e-4)
    for piece, amount in grams.items():  # linings that no seam holds: the whole face
        assert design.piece(piece).role == "lining"
        assert amount == pytest.approx(per_m2 * area_mm2(design.piece(piece).outline) / 1e6, 1e-4)


def test_dye_goes_on_blanks_pieces_or_the_article_by_area_and_coats() -> None:
    ml: dict[str, float] = {}
    areas: dict[str, float] = {}
    for dye in ("none", "before moulding", "pieces", "assembled"):
        values = values_of("compass-pouch", bench=BenchChoice(dye=dye))
        dyed = used(values["needs"], "dye")
        ml[dye] = math.fsum(m.use.quantity / m.use.articles for m in dyed)
        pieces = {p.name: area_mm2(p.outline) for p in values["design"][0].pieces}
        areas["pieces"] = areas["assembled"] = math.fsum(pieces.values())
        (blank,) = values["pressed blanks"][0]
        areas["before moulding"] = area_mm2(blank.cut) / 2 + pieces["back"]
    assert ml.pop("none") == 0
    for dye, amount in ml.items():
        assert amount == pytest.approx(2 * 150 * areas[dye] / 1e6, rel=1e-4), dye


def test_conditioner_goes_twice_on_every_grain_but_the_linings() -> None:
    for name in ("compass-pouch", *LINED):
        values = values_of(name)
        grain = math.fsum(
            area_mm2(p.outline) for p in values["design"][0].pieces if p.role != "lining"
        )
        (one,) = used(values["needs"], "conditioner")
        assert one.use.quantity == pytest.approx(2 * 75 * grain / 1e6, rel=1e-4)


@pytest.mark.parametrize("coats", [1, 3])
def test_edge_paint_goes_on_every_edge_that_is_seen_coat_by_coat(coats: int) -> None:
    bench = BenchChoice(edges="painted", paint_coats=coats)
    values = values_of("compass-pouch", bench=bench)
    design = values["design"][0]
    (seam,) = design.seams
    sewn = {(edge.piece, edge.span) for edge in seam.edges}
    seen = design.piece(seam.edges[0].piece).outline.span_path(seam.edges[0].span).length
    for piece in design.pieces:
        for span in piece.outline.spans:
            if (piece.name, span) not in sewn:
                seen += piece.outline.span_path(span).length
    paint = used(values["needs"], "edge paint")
    assert math.fsum(m.use.quantity for m in paint) == pytest.approx(coats * seen / 1000)
    assert not used(values_of("compass-pouch")["needs"], "edge paint")


@pytest.mark.parametrize("name", EXAMPLES)
def test_tools_take_the_sheets_that_are_used_up_and_the_minutes_of_their_steps(name: str) -> None:
    values = values_of(name, "all steps")
    needs = values["needs"]
    sheets = values["sheets"][0]
    expected: dict[str, float] = {}
    for sheet in sheets:
        board = sheet.board
        top = max(
            float((points @ [math.sin(p.turn), math.cos(p.turn)]).max()) + p.shift[1]
            for p in sheet.placed
            for points in (p.cut.outer.flat_points(0.001),)
        )
        share = (top + 5.0) / board.sheet_height_mm  # and the border above the highest part
        assert share <= 1.0
        if board.material == "card":  # by the volume that it is built up to, of sheets of 1 mm
            share *= board.sheet_width_mm * board.sheet_height_mm * board.thickness_mm / 1e6
        key = "card" if board.material == "card" else board.name
        expected[key] = expected.get(key, 0.0) + share
    told = {use.name: use.quantity for tools in needs.tools for use in tools.sheets}
    assert told == pytest.approx(expected, rel=1e-4)
    making = [step for step in values["all steps"] if step.place_kind == "tooling"]
    assert making
    minutes = math.fsum(step.load_minutes + step.thing_minutes for step in making)
    assert math.fsum(tools.minutes for tools in needs.tools) == pytest.approx(minutes)
    assert {tools.name: tools.wears_as for tools in needs.tools} == {
        "moulds and blocks": "mould",
        "templates": "template",
    }
    assert not any(step.place_kind == "tooling" for step in needs.steps)


def test_old_tools_wear_as_new_ones_do_but_want_no_first_off() -> None:
    new, old = (
        values_of("compass-pouch", bench=BenchChoice(new=is_new))["needs"]
        for is_new in (True, False)
    )
    assert new.tools == old.tools
    assert {s.name for s in new.steps} - {s.name for s in old.steps} == {
        s.name for s in new.steps if s.first_off
    }
    assert [s.load_minutes for s in old.steps] == [
        s.load_minutes for s in new.steps if not s.first_off
    ]


def test_a_price_moves_with_nothing_that_it_does_not_depend_on() -> None:
    """Prices touch neither forming nor needs; a what-if touches only the reckoning."""
    wanted = ("cost", "asked", "ladder", "tornado")
    values_of("compass-pouch", *wanted)
    inputs = {
        **inputs_of(spec_of("compass-pouch"), "A4"),
        **PRICED,
        "bench": BenchChoice(),
        "what if": WhatIf(leather=1.25),
    }
    assert set(evaluate(NODES, inputs, wanted, CACHE).computed) == set(wanted)


@cache
def told(*arguments: str) -> Any:
    result = typer.testing.CliRunner().invoke(app, ["price", *arguments])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.mark.parametrize("name", ["compass-pouch", "forceps-pocket"])
def test_figures_for_machines_add_up_to_the_cent(name: str) -> None:
    figures = json.loads(told(f"examples/{name}.yaml", "--batch", "7", "--json"))
    for which in ("batch_minor", "each_minor"):
        lines = sum(line[which] for line in figures["lines"])
        assert lines == sum(group[which] for group in figures["groups"])
        assert lines == figures["total_minor" if which == "batch_minor" else which]
    for price in (figures["price"], *figures["ladder"]):
        parts = [price[f"{part}_minor"] for part in ("cost", "box", "fee", "profit")]
        assert sum(parts) == price["net_minor"]
        assert price["net_minor"] + price["tax_minor"] == price["gross_minor"]
        assert price["gross_minor"] % 100 == 90
    rung = figures["ladder"][6]
    assert rung == {"batch": 7, **figures["price"]}
    assert [one["batch"] for one in figures["ladder"]] == list(range(1, 121))
    assert figures["price"]["cost_minor"] == figures["each_minor"]
    sets = figures["tools"]["sets"]
    made = sum(tools["sheets_minor"] + tools["work_minor"] for tools in sets)
    assert made == figures["tools"]["made_minor"]
    assert figures["tools"]["wear_minor"] == pytest.approx(
        next(g["each_minor"] for g in figures["groups"] if g["group"] == "tooling") / 0.95, abs=1.5
    )
    sums = [value for key, value in _leaves(figures) if key.endswith("_minor")]
    assert len(sums) > 800
    assert all(type(value) is int for value in sums)


def _leaves(figures: Any, key: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(figures, dict):
        for name, value in figures.items():
            yield from _leaves(value, name)
    elif isinstance(figures, list):
        for value in figures:
            yield from _leaves(value, key)
    else:
        yield key, figures


def test_what_is_said_in_words_is_what_the_figures_say() -> None:
    spec = spec_of("compass-pouch")
    one = priced(spec, RATES, built_in_prices(), 10, CACHE)
    words, figures = list(in_words(one)), as_figures(one)

    def euros(minor: int) -> str:
        return f"{minor // 100}.{minor % 100:02d} EUR"

    for line in figures["lines"]:
        shown = [w for w in words if w.strip().startswith(line["what"][:41])]
        assert any(w.endswith(euros(line["each_minor"])) for w in shown), line
        assert any(euros(line["batch_minor"]) in w for w in shown), line
    for group in GROUPS:
        total = next(g for g in figures["groups"] if g["group"] == group)
        if total["batch_minor"]:
            assert any(
                w.startswith(f"{group} ") and w.endswith(euros(total["each_minor"])) for w in words
            )
    assert f"{'price':74}{euros(figures['price']['gross_minor']):>14}" in words
    assert max(map(len, words)) <= 100
    assert any("stud: solid brass stud" in w and " 10 pieces " in w for w in words)


def test_the_command_takes_own_rates(tmp_path: Path) -> None:
    file = tmp_path / "rates.yaml"
    file.write_text(
        "rates:\n  margin: 50 %\n  round_to: 5 EUR\n  ending: 4.99 EUR\n"
        "prices:\n  - {name: MDF 6 mm, kind: board, price: 1000 EUR, unit: sheet}\n",
        encoding="utf-8",
    )
    design = "examples/compass-pouch.yaml"
    usual = json.loads(told(design, "--json"))
    own = json.loads(told(design, "--json", "--rates", str(file)))
    assert own["price"]["gross_minor"] % 500 == 499
    assert own["price"]["margin"] == pytest.approx(0.5, abs=0.02)
    sheets = [figures["tools"]["sets"][0]["sheets_minor"] for figures in (usual, own)]
    assert sheets[1] > 100 * sheets[0]
    assert own["each_minor"] - usual["each_minor"] == pytest.approx(
        (sheets[1] - sheets[0]) / 200 / 0.95, abs=2
    )


def test_a_material_without_a_price_is_named() -> None:
    spec = spec_of("compass-pouch")
    board = replace(spec.tooling.mould_board, name="my MDF")
    spec = replace(spec, tooling=replace(spec.tooling, mould_board=board))
    with pytest.raises(RequestError, match=r"no price for the board 'my MDF'.*rates file"):
        priced(spec, RATES, built_in_prices(), 10, CACHE)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("rates:\n  pay_per_hour: 24 EURO\n", "r.yaml line 2, rates.pay_per_hour.*EURO"),
        ("rates:\n  margin: 120 %\n", "r.yaml line 2, rates.margin.*0 % to 95 %"),
        ("rates:\n  marign: 3 %\n", "r.yaml line 2.*no field 'marign'.*margin"),
        ("rates:\n  pay_per_hour: 24 GBP\n", "Give all sums in one currency"),
        ("rates:\n  times_hold_at: 1.5\n", "r.yaml line 2, rates.times_hold_at"),
        ("rates: 5\n", "r.yaml line 1, rates"),
        ("price: []\n", "no field 'price'.*prices"),
        ("prices:\n- 5\n", "r.yaml line 2, prices: not a row"),
        ("prices:\n- {name: x, kind: board, price: 3, unit: sheet}\n", "line 2.*no currency"),
        ("", "the file is empty"),
    ],
)
def test_a_rates_file_that_is_wrong_is_refused_at_its_line(text: str, said: str) -> None:
    with pytest.raises(RequestError, match=said):
        read_rates(text.encode(), name="r.yaml")


def test_the_example_in_the_documents_is_a_rates_file() -> None:
    text = Path("docs/costing.md").read_text(encoding="utf-8")
    example = text.partition("```yaml\n")[2].partition("```")[0]
    own = read_rates(example.encode(), name="costing.md")
    assert own.rates != RATES
    assert len(own.prices) == len(built_in_prices())  # every name is one of the catalogue's
    assert set(own.prices) - set(built_in_prices())


def test_what_a_rates_file_leaves_out_stays_as_built_in() -> None:
    own = read_rates(b"rates: {pay_per_hour: 24 EUR, sold_a_year: 30}\n", name="r.yaml")
    pay = replace(RATES.pay_per_hour, minor=2400)
    assert own.rates == replace(RATES, pay_per_hour=pay, sold_a_year=30)
    assert own.prices == built_in_prices()
    assert read_rates(b"{}", name="r.yaml").rates == RATES

"""Pressing as part of the design chain: what reaches it, what it says, and on the command line."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.kinds.registry import KINDS, kind_named
from hidewright.design.specification import Specification
from hidewright.errors import Remark, RequestError
from hidewright.forming.answers import press_force_N, pull_in
from hidewright.forming.limits import use_of
from hidewright.forming.mesh import WALL
from hidewright.forming.on_blank import soaked_mm
from hidewright.forming.pressing import Pressing
from hidewright.store.write_design import write_design
from hidewright.workshop import design_chain
from hidewright.workshop.article import NODES, REMARKS, WITH_REMARKS, judge, press
from hidewright.workshop.begin import begin
from hidewright.workshop.forming_chain import PressedBlank, press_blank
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from run_here import run

SHELF = built_in_catalogue()
POUCH = begin("flat-back pouch", SHELF)
#: A small tray that is soon solved.
TRAY_MEASURES = {
    "length_mm": 70.0,
    "width_mm": 50.0,
    "depth_mm": 9.0,
    "corner_radius_mm": 14.0,
    "crown_radius_mm": 5.0,
    "cut_height_mm": 4.0,
}


def tray(**changes: Any) -> Specification[Any]:
    spec = begin("open tray", SHELF)
    measures = replace(spec.brief.measures, **(TRAY_MEASURES | changes))
    return replace(spec, brief=replace(spec.brief, measures=measures))


def with_leather(spec: Specification[Any], role: str, **changes: Any) -> Specification[Any]:
    leathers = tuple(
        (name, replace(one, **changes) if name == role else one)
        for name, one in spec.brief.leathers
    )
    return replace(spec, brief=replace(spec.brief, leathers=leathers))


def values_of(spec: Specification[Any], *wanted: str, cache: Cache | None = None) -> Any:
    return evaluate(NODES, inputs_of(spec, "A4"), wanted, cache or Cache()).values


@pytest.fixture(scope="module")
def cache() -> Cache:
    return Cache()


@pytest.fixture(scope="module")
def pressed(cache: Cache) -> PressedBlank:
    ((one,), _) = values_of(tray(), "pressed blanks", cache=cache)["pressed blanks"]
    assert isinstance(one, PressedBlank)
    return one


# --- what reaches the solver ---


def test_another_thread_is_not_pressed_again_and_another_gap_is(cache: Cache) -> None:
    wanted = ("pressed blanks", "sewing tools")
    spec = tray()

    def computed(changed: Specification[Any]) -> tuple[str, ...]:
        return evaluate(NODES, inputs_of(changed, "A4"), wanted, cache).computed

    computed(spec)
    assert computed(spec) == ()
    thread = next(t for t in SHELF.threads if t != spec.brief.thread)
    after = computed(replace(spec, brief=replace(spec.brief, thread=thread)))
    assert "sewing tools" in after
    assert "pressed blanks" not in after
    renamed = computed(replace(spec, brief=replace(spec.brief, name="another")))
    assert "design" in renamed
    assert "pressed blanks" not in renamed
    wider = replace(spec.tooling, gap_factor=1.2)
    assert computed(replace(spec, tooling=wider)) == ("pressed blanks",)
    slippery = with_leather(spec, "body", wet_friction=0.29)
    assert "pressed blanks" in computed(slippery)


@pytest.mark.parametrize("kind", [k.name for k in KINDS if k.name != "free"])
def test_a_blank_is_cut_from_the_leather_of_its_pieces_or_of_all_pressed_over_one_another(
    kind: str,
) -> None:
    design = kind_named(kind).construct(begin(kind, SHELF).brief)
    roles = {piece.name: piece.role for piece in design.pieces}
    assert design.blanks
    for blank in design.blanks:
        assert {roles[place.piece] for place in blank.places} == {blank.role} or blank.over


def test_how_the_leather_stretches_is_told_by_the_leather_of_the_design(
    pressed: PressedBlank,
) -> None:
    stiff = with_leather(
        tray(), "body", wet_matrix_MPa=3.0, wet_fibre_along_MPa=16.0, wet_fibre_across_MPa=10.0
    )
    ((other,), _) = values_of(stiff, "pressed blanks")["pressed blanks"]
    forces = [press_force_N(one.layers[0].sheet)[0] for one in (pressed, other)]
    # all moduli doubled, friction under the plate not: nearly twice the force
    assert 1.7 < forces[1] / forces[0] < 2.0
    drawn = [float(pull_in(one.layers[0].sheet)[1].mean()) for one in (pressed, other)]
    assert drawn[1] > drawn[0]


def test_limits_of_the_leather_reach_the_remarks(cache: Cache, pressed: PressedBlank) -> None:
    body = dict(tray().brief.leathers)["body"]
    most = float(use_of(pressed.layers[0].sheet, body).grain.max())
    bears = math.exp(math.log(body.grain_limit) * most)  # used wholly
    codes = {}
    for factor in (0.99, 1.01):
        spec = with_leather(
            tray(),
            "body",
            grain_limit=1 + (bears - 1) * factor,
            stretch_limit_along=1.9,
            stretch_limit_across=1.9,
        )
        found = judge(spec, cache)
        codes[factor] = [r.code for r in found.remarks if r.code.startswith("leather-") and
                         r.code != "leather-grips-plug"]  # fmt: skip
        assert found.forbids == (factor < 1)
    assert codes == {0.99: ["leather-cracks"], 1.01: ["leather-near-its-limit"]}


# --- what cannot be pressed ---


def test_a_corner_tighter_than_the_crown_is_told_and_all_else_stays_alive() -> None:
    spec = tray(corner_radius_mm=4.0, crown_radius_mm=5.0)
    values = values_of(spec, *REMARKS, *WITH_REMARKS, "pressing report", "forming chapters")
    missing = [v.node for v in values.values() if isinstance(v, Missing)]
    assert missing == []
    ((one,), remarks) = values["pressed blanks"]
    assert one.layers == ()
    (told,) = (r for r in remarks if r.code == "cannot-be-pressed")
    assert (told.severity, told.place) == ("forbids", "tray/hollow")
    assert "corner radius too small" in told.sentence
    # without a sheet the blank is the edge it would have
    assert one.soaked == one.edge
    assert values["pressing report"] == ()
    assert values["sheets"][0]
    assert judge(spec, Cache()).forbids


# --- reports ---


def test_a_report_of_a_zone_is_that_of_its_blank(cache: Cache) -> None:
    box = begin("lidded box", SHELF)
    every, _ = press(box, cache)
    assert {one.blank for one in every} == {"bottom", "lid"}
    some, remarks = press(box, cache, "lid/")
    assert some == tuple(one for one in every if one.blank == "lid")
    assert some[0].zones == ("lid/hollow",)
    assert {r.place for r in remarks} <= {"lid/hollow"}
    both, _ = press(box, cache, "hollow")
    assert both == every


def test_an_unknown_zone_is_refused_with_the_names_there_are_before_anything_is_pressed() -> None:
    steps: list[str] = []
    with pytest.raises(RequestError, match="no moulded zone 'pocket'") as refused:
        press(begin("lidded box", SHELF), Cache(), "pocket", steps.append)
    assert "base/hollow, lid/hollow" in refused.value.mend
    assert "pressed blanks" not in steps


def test_a_report_says_what_the_sheet_says(cache: Cache, pressed: PressedBlank) -> None:
    ((told,), _) = press(tray(), cache)
    sheet = pressed.layers[0].sheet
    assert told.leather == dict(tray().brief.leathers)["body"].name
    assert told.spread.force_N.likely == sum(press_force_N(sheet))
    assert told.triangles == len(sheet.layout.triangles)
    assert told.residual == sheet.residual < 1e-5
    drawn = pull_in(sheet)[1]
    assert (told.least_pull_in_mm, told.spread.most_pull_in_mm.likely) == (drawn.min(), drawn.max())
    assert isinstance(sheet.pressing, Pressing)
    (hollow,) = sheet.pressing.hollows
    # the flange: the leather's edge less plug, gap and lip (Steiner: A + L d + pi d^2)
    out = hollow.tools.outer_mm
    inner = hollow.outline.area + hollow.outline.length * out + math.pi * out**2
    flange = pressed.edge.area - inner
    assert told.plate_N == pytest.approx(sheet.conditions.plate_pressure_MPa * flange, rel=0.01)


# --- layers, leaning walls ---


def test_layers_pressed_together_are_each_pressed_over_the_one_below() -> None:
    spec = tray(lining="pressed together", depth_mm=7.0)
    body, lining = (dict(spec.brief.leathers)[role] for role in ("body", "lining"))
    values = values_of(spec, "pressed blanks", "pressing report")
    ((one,), _) = values["pressed blanks"]
    inner, outer = one.layers
    assert (inner.role, outer.role) == ("lining", "body")
    assert [t.leather for t in values["pressing report"]] == [lining.name, body.name]
    assert [t.zones for t in values["pressing report"]] == [("lining/hollow",), ("tray/hollow",)]
    for layer, leather in ((inner, lining), (outer, body)):
        assert layer.sheet.pressing.thickness_mm == pytest.approx(soaked_mm(leather))
    (under,), (over,) = inner.zones, outer.zones
    t = soaked_mm(lining)
    # the tray lies on the lining's outside: wider by its thickness all round, as deep
    assert over.plug.width - under.plug.width == pytest.approx(2 * t, abs=1e-6)
    assert over.height_mm == under.height_mm
    assert over.crown_radius_mm - under.crown_radius_mm == pytest.approx(t)
    # the frame's lip touches the tray, which rounds it for the lining
    assert over.lip_radius_mm == pytest.approx(one.zones[0].lip_radius_mm)
    assert under.lip_radius_mm - over.lip_radius_mm == pytest.approx(soaked_mm(body))
    # the lining's grain lies on the plug, the tray's faces out
    assert (under.grain_out, over.grain_out) == (False, True)
    assert all(layer.sheet.residual < 1e-5 for layer in one.layers)


def test_what_the_outer_layer_does_not_bear_is_told_of_the_outer_piece() -> None:
    spec = tray(lining="pressed together", depth_mm=7.0)
    weak = with_leather(spec, "body", stretch_limit_along=1.02, stretch_limit_across=1.02)
    (_, remarks) = values_of(weak, "pressed blanks")["pressed blanks"]
    assert [r.place for r in remarks if r.code == "leather-cracks"] == ["tray/hollow"]


def test_a_leaning_wall_is_pressed_as_it_leans() -> None:
    spec = tray(depth_mm=12.0)
    wanted = ("blanks", "moulded", "all leathers")
    values: Any = evaluate(design_chain.NODES, inputs_of(spec, "A4"), wanted, Cache()).values
    ((blank,), (piece,), leathers) = (values[name] for name in wanted)
    uses, slopes = [], []
    for degrees in (0.0, 15.0):
        zone = replace(piece.zones[0], wall_angle=math.radians(degrees))
        one, _ = press_blank(
            blank, (replace(piece, zones=(zone,)),), leathers, spec.tooling.gap_factor
        )
        sheet = one.layers[0].sheet
        own = sheet.layout.triangles[sheet.layout.region == WALL]
        normal = sheet.shape.normals[own].mean(axis=1)
        slopes.append(float(np.degrees(np.arcsin(normal[:, 2])).mean()))
        uses.append(float(use_of(sheet, dict(leathers)["body"]).most.max()))
    # leather thinner than its gap leans a little more than the walls, from arc to arc
    assert 0.0 < slopes[0] < 10.0
    assert 15.0 < slopes[1] < 15.0 + slopes[0]
    assert uses[1] < uses[0]


def test_a_floor_adds_to_the_force_and_says_what_it_does() -> None:
    spec = tray()
    wanted = ("mouldings", "pressed blanks")

    def told(**tooling: Any) -> tuple[tuple[float, float], tuple[float, float], list[Remark]]:
        changed = replace(spec, tooling=replace(spec.tooling, **tooling))
        values: Any = evaluate(NODES, inputs_of(changed, "A4"), wanted, Cache()).values
        ((moulding,), remarks) = values["mouldings"]
        ((pressed,), _) = values["pressed blanks"]
        closing = pressed.closing_N
        assert closing is not None
        return moulding.tool.force_N, closing, [r for r in remarks if "floor" in r.code]

    force, closing, said = told()
    assert (force, said) == (closing, [])
    # leather as thick as the gap stands off the plug's face: the floor holds it down
    force, closing, (floor,) = told(cavity_floor=True)
    assert force[0] > closing[0]
    assert force[1] > closing[1]
    assert (floor.code, floor.severity) == ("floor-presses", "note")
    assert "holds leather down" in floor.sentence
    assert "squeezes" not in floor.sentence
    assert "lies loose" in floor.sentence, "it is thinner than the room there"
    # a narrower gap squeezes it too, and takes more
    tight, closing, (floor,) = told(cavity_floor=True, gap_factor=0.85)
    assert "squeezes" in floor.sentence
    assert tight[1] - closing[1] > force[1] - closing[1]
    # and a wide one lets it stand clear
    force, closing, (floor,) = told(cavity_floor=True, gap_factor=2.0)
    assert force == closing
    assert floor.code == "floor-stands-clear"


# --- the command line ---


@pytest.fixture
def box(tmp_path: Path) -> Path:
    file = tmp_path / "box.yaml"
    file.write_text(write_design(begin("lidded box", SHELF)), encoding="utf-8")
    return file


def test_press_tells_machines_every_blank_with_its_ends(
    box: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("press", str(box), "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["blank"] for one in told["blanks"]] == ["bottom", "lid"]
    for one in told["blanks"]:
        assert one["residual"] < 1e-5
        sizes = one["spread"].pop("dry")
        assert [size["places"] for size in sizes] == [[name] for name in one["zones"]]
        dry = [size[way] for size in sizes for way in ("along", "across", "height")]
        for figure in (*one["spread"].values(), *dry):
            assert figure["low"] <= figure["likely"] <= figure["high"]
        assert 0.3 < one["spread"]["thinnest"]["likely"] < 1.0
    assert all(r["severity"] != "forbids" for r in told["remarks"])


def test_press_of_a_zone_tells_that_zone_and_an_unknown_one_is_a_bad_request(
    box: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("press", str(box), "--zone", "lid", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["zones"] for one in told["blanks"]] == [["lid/hollow"]]
    assert run("press", str(box), "--zone", "tray") == 2
    assert "base/hollow, lid/hollow" in capsys.readouterr().err


def test_press_of_what_cracks_says_so_and_returns_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "tray.yaml"
    weak = with_leather(tray(), "body", grain_limit=1.1)
    file.write_text(write_design(weak), encoding="utf-8")
    assert run("press", str(file)) == 1
    out = capsys.readouterr().out
    assert "would crack" in out
    assert run("press") == 2


def test_a_stiff_tray_presses_round_dividers_whose_feet_are_near_its_walls() -> None:
    """Between the dividers' feet and the rounding of the floor a millimetre is flat."""
    spec = begin("open tray", SHELF)
    measures = replace(
        spec.brief.measures,
        dividers_mm=(45.0, 90.0),
        divider_height_mm=8.0,
        divider_width_mm=16.0,
        divider_top_radius_mm=2.0,
        divider_foot_radius_mm=5.0,
    )
    design = kind_named("open tray").construct(replace(spec.brief, measures=measures))
    one, remarks = press_blank(design.blanks[0], design.pieces, design.leathers, 1.1)
    assert "cannot-be-pressed" not in {r.code for r in remarks}
    (layer,) = one.layers
    form = layer.sheet.pressing
    assert isinstance(form, Pressing)
    assert [hollow.within for hollow in form.hollows] == ["", "hollow", "hollow"]

"""What would mend a pressing: written into the design file it mends it, half of it does not."""

import math
import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.blank import Blank, Hold, PiecePlace
from hidewright.design.kinds.registry import kind_named
from hidewright.design.specification import Specification
from hidewright.errors import Remark, Remedy, RequestError
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.units.length import parse_length
from hidewright.workshop import mending
from hidewright.workshop.article import NODES, Findings, check, judge
from hidewright.workshop.begin import begin
from hidewright.workshop.edit import edited, with_remedy
from hidewright.workshop.form import form_of
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.mending import MENDED, mended
from hidewright.workshop.mending_knobs import Knob, holds, knobs

SHELF = built_in_catalogue()
BEGUN = begin("open tray", SHELF)

#: Searches of minutes, on demand: HIDEWRIGHT_LONG=1.
LONG = pytest.mark.skipif("HIDEWRIGHT_LONG" not in os.environ, reason="a search of minutes")


def tray(**changes: float) -> Specification[Any]:
    measures = replace(BEGUN.brief.measures, **changes)
    return replace(BEGUN, brief=replace(BEGUN.brief, measures=measures))


def forbidding(findings: Findings) -> set[tuple[str, str]]:
    return {(r.code, r.place) for r in findings.remarks if r.severity == "forbids"}


def written(text: str, changes: tuple[tuple[str, str], ...]) -> Specification[Any]:
    """Return what a design file says when values are written into its fields by hand."""
    lines = text.splitlines()
    for path, value in changes:
        at = -1
        for depth, key in enumerate(path.split(".")):
            begins = f"{'  ' * depth}{key}:"
            at = next(i for i in range(at + 1, len(lines)) if lines[i].startswith(begins))
        lines[at] = f"{lines[at].partition(':')[0]}: {value}"
    return read_design("\n".join(lines).encode(), name="mended.yaml").specification


def changes_of(remedy: Remedy) -> tuple[tuple[str, str], ...]:
    return ((remedy.field, remedy.value), *remedy.also)


def halved(remedy: Remedy, spec: Specification[Any]) -> tuple[tuple[str, str], ...]:
    """Return half of what a remedy changes; nothing when that is less than a maker can set."""
    now, then, _, step = _now_and_then(remedy.field, remedy.value, spec)
    if abs(then - now) < 3.5 * step:
        return ()
    out = []
    for path, value in changes_of(remedy):
        now, then, unit, _ = _now_and_then(path, value, spec)
        out.append((path, f"{(now + then) / 2:.3f}{unit}"))
    return tuple(out)


def _now_and_then(
    path: str, value: str, spec: Specification[Any]
) -> tuple[float, float, str, float]:
    section, *names = path.split(".")
    if section == "leathers":
        leather = dict(spec.brief.leathers)[names[0]]
        return float(getattr(leather, names[1])), float(value), "", 0.1
    if section == "tooling":
        return spec.tooling.gap_factor, float(value), "", 0.01
    return (
        float(getattr(spec.brief.measures, f"{names[0]}_mm")),
        parse_length(value),
        " mm",
        0.1,
    )


def cracking(findings: Findings) -> Remark:
    (told,) = (r for r in findings.remarks if r.code in MENDED and r.severity == "forbids")
    return told


def must_mend(spec: Specification[Any], cache: Cache) -> tuple[Remedy, ...]:
    """Check every remedy that is offered, and return them."""
    before = check(spec, cache)
    told = cracking(before)
    text = write_design(spec)
    for remedy in told.remedies:
        mended = written(text, changes_of(remedy))
        after = judge(mended, cache)
        assert (told.code, told.place) not in forbidding(after), remedy
        assert forbidding(after) <= forbidding(before), remedy
        assert not after.missing
        half = halved(remedy, spec)
        if half:
            still = judge(written(text, half), cache)
            assert any(r.code in MENDED for r in still.remarks if r.severity == "forbids"), remedy
    return told.remedies


#: A small tray that is soon solved.
SMALL = {
    "length_mm": 70.0,
    "width_mm": 50.0,
    "depth_mm": 9.0,
    "corner_radius_mm": 14.0,
    "cut_height_mm": 4.0,
}


@pytest.mark.slow
def test_a_small_tray_over_a_sharp_plug_is_mended_by_a_larger_crown_radius() -> None:
    spec = tray(**SMALL, crown_radius_mm=2.0)
    remedies = must_mend(spec, Cache())
    (crown,) = (r for r in remedies if r.field == "measures.crown_radius")
    assert halved(crown, spec)
    # the radius grows and nothing is offered that goes the other way
    assert 2.0 < parse_length(crown.value) < SMALL["depth_mm"]


@pytest.mark.sweep
def test_a_begun_tray_over_a_sharp_plug_is_mended_by_a_larger_crown_radius() -> None:
    spec = tray(crown_radius_mm=2.0)
    remedies = must_mend(spec, Cache())
    assert remedies[0].field == "measures.crown_radius"
    assert halved(remedies[0], spec)
    assert 2.0 < parse_length(remedies[0].value) <= BEGUN.brief.measures.crown_radius_mm


@LONG
def test_a_tray_that_nearly_holds_is_mended_by_one_of_several_changes_the_smallest_first() -> None:
    spec = tray(crown_radius_mm=4.5)
    remedies = must_mend(spec, Cache())
    sizes = {}
    for remedy in remedies:
        now, then, *_ = _now_and_then(remedy.field, remedy.value, spec)
        sizes[remedy.field] = abs(math.log(then / now))
    assert "measures.crown_radius" in sizes
    assert len(sizes) == len(remedies) >= 2
    assert sorted(sizes.values()) == list(sizes.values())


@LONG
def test_a_tray_of_leather_too_thick_is_mended_by_thinner_leather() -> None:
    thick = tuple(
        (role, replace(one, thickness_min_mm=3.2, thickness_max_mm=3.6) if role == "body" else one)
        for role, one in BEGUN.brief.leathers
    )
    spec = replace(BEGUN, brief=replace(BEGUN.brief, leathers=thick))
    remedies = must_mend(spec, Cache())
    (thinner,) = (r for r in remedies if r.field.startswith("leathers."))
    (field, least), (other, most) = changes_of(thinner)
    # the lower end first: at no time is it over the upper one
    assert (field, other) == (
        "leathers.body.thickness_min_mm",
        "leathers.body.thickness_max_mm",
    )
    # both ends of its range are thinned alike
    assert float(least) / float(most) == pytest.approx(3.2 / 3.6, abs=0.005)
    assert halved(thinner, spec)


CRACKS = Remark(
    code="leather-cracks", severity="forbids", place="tray/hollow", sentence="It would crack"
)


def test_what_does_not_forbid_is_left_as_it_is() -> None:
    def never(_: Specification[Any]) -> frozenset[tuple[str, str]]:
        raise AssertionError

    sound = judge(tray(**SMALL, crown_radius_mm=6.0), Cache())
    assert not sound.forbids
    assert mended(BEGUN, sound.remarks, never) == sound.remarks


def test_where_no_change_is_found_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mending, "knobs", lambda *_: ())
    monkeypatch.setattr(mending, "holds", lambda *_, **__: ())
    (told,) = mended(BEGUN, (CRACKS,), lambda _: frozenset({("leather-cracks", "tray/hollow")}))
    assert told.remedies == ()
    assert told.sentence == "It would crack; no single change that would mend it was found"


#: A tray whose corners are too tight for its depth, in a wide margin.
TIGHT = {**SMALL, "depth_mm": 14.0, "corner_radius_mm": 9.0, "crown_radius_mm": 6.0}


def test_relief_darts_mend_what_a_wide_margin_holds_back_and_half_of_them_does_not() -> None:
    spec, cache = tray(**TIGHT, held_mm=25.0), Cache()
    before = forbidding(judge(spec, cache))
    assert before == {("leather-cracks", "tray/hollow")}
    for length, after in (("19.6 mm", set()), ("9.8 mm", before)):
        changed = edited(spec, "changes.blank/tray.relief_dart", length, SHELF)
        assert forbidding(judge(changed, cache)) == after


@LONG
def test_the_least_relief_darts_that_mend_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def darts(*args: Any) -> list[Knob]:
        return [knob for knob in knobs(*args) if knob.name == "relief darts"]

    monkeypatch.setattr(mending, "knobs", darts)
    monkeypatch.setattr(mending, "holds", lambda *_, **__: ())
    spec, cache = tray(**TIGHT, held_mm=25.0), Cache()
    before = check(spec, cache)
    (remedy,) = cracking(before).remedies
    assert remedy.field == "changes.blank/tray.relief_dart"
    length = parse_length(remedy.value)
    assert 5.0 < length < 25.0
    # as the app writes it, and as a maker does by hand
    changed = with_remedy(spec, remedy, SHELF)
    by_hand = write_design(spec).replace(
        "changes: []",
        f"changes:\n  - place: blank/tray\n    field: relief_dart\n    value: {remedy.value}",
    )
    assert read_design(by_hand.encode(), name="x.yaml").specification == changed
    assert not forbidding(judge(changed, cache))
    half = edited(spec, remedy.field, f"{length / 2:.1f} mm", SHELF)
    assert forbidding(judge(half, cache)) == forbidding(before)
    assert edited(changed, remedy.field, "", SHELF) == spec


def test_a_flange_that_puckers_is_mended_by_a_plate_on_it() -> None:
    spec = edited(tray(**SMALL, crown_radius_mm=6.0), "changes.blank/tray.hold", "free", SHELF)
    cache = Cache()
    findings = check(spec, cache)
    (told,) = (r for r in findings.remarks if r.code == "flange-puckers")
    assert told.severity == "warning"
    assert told.remedies == (Remedy(field="changes.blank/tray.hold", value="plate"),)
    after = judge(with_remedy(spec, told.remedies[0], SHELF), cache)
    assert "flange-puckers" not in {r.code for r in after.remarks}
    assert forbidding(after) <= forbidding(findings)


def test_a_way_to_hold_is_looser_or_firmer_but_never_clamps() -> None:
    blank = Blank(name="tray", places=(PiecePlace(piece="tray"),), role="body", margin_mm=10.0)
    spec = tray()

    def offered(hold: Hold, *, looser: bool) -> list[str]:
        return [one.written[0][1] for one in holds(spec, replace(blank, hold=hold), looser=looser)]

    assert offered("clamped", looser=True) == ["plate", "free"]
    assert offered("plate", looser=True) == ["free"]
    assert offered("free", looser=True) == []
    assert offered("free", looser=False) == ["plate"]
    assert offered("plate", looser=False) == []


def test_the_margin_grows_where_a_clamp_or_too_little_leather_hinders_and_shrinks_elsewhere() -> (
    None
):
    spec = tray(**SMALL)
    blank = Blank(name="tray", places=(PiecePlace(piece="tray"),), role="body", margin_mm=10.0)

    def ways(code: str, hold: Hold) -> set[str]:
        remark = Remark(code=code, severity="forbids", place="tray/hollow", sentence="x")
        found = knobs(spec, remark, replace(blank, hold=hold), (), "body")
        return {one.name for one in found if "held" in one.name}

    assert ways("leather-cracks", "plate") == {"a smaller held"}
    assert ways("leather-cracks", "clamped") == {"a larger held"}
    assert ways("cannot-be-pressed", "plate") == {"a smaller held", "a larger held"}


def test_zones_of_a_free_design_are_mended_by_their_own_fields() -> None:
    spec = begin("free", SHELF)
    piece = next(p for p in spec.brief.measures.pieces if p.zones)
    place = f"{piece.name}/{piece.zones[0].name}"
    told = spec.brief.measures.blanks[0]
    blank = Blank(
        name=told.name,
        places=tuple(PiecePlace(piece=name) for name in told.pieces),
        role="body",
        margin_mm=told.margin_mm,
    )
    remark = Remark(code="leather-cracks", severity="forbids", place=place, sentence="x")
    found = {one.written(one.most)[0][0]: one for one in knobs(spec, remark, blank, (), piece.role)}
    zone = f"measures.pieces.{piece.name}.zones.{piece.zones[0].name}"
    assert {f"{zone}.depth", f"{zone}.crown_radius", f"{zone}.lip_radius"} <= set(found)
    assert f"measures.blanks.{told.name}.margin" in found
    deeper = found[f"{zone}.depth"].set(9.0).brief.measures
    assert next(p for p in deeper.pieces if p.name == piece.name).zones[0].depth_mm == 9.0


def test_dividers_are_mended_by_their_radii_and_height_where_there_are_any() -> None:
    def ways(spec: Specification[Any], role: str = "body") -> dict[str, str]:
        design = kind_named(spec.brief.kind).construct(spec.brief)
        (blank,), pieces = design.blanks, design.pieces
        place = f"{pieces[0].name}/{pieces[0].zones[0].name}"
        remark = Remark(code="leather-cracks", severity="forbids", place=place, sentence="x")
        found = knobs(spec, remark, blank, pieces, role)
        return {
            one.written(one.most)[0][0]: "larger" if one.most > one.now else "smaller"
            for one in found
        }

    plain = tray()
    divided = edited(plain, "measures.dividers", "60 mm", SHELF)
    own = {
        "measures.divider_top_radius": "larger",
        "measures.divider_foot_radius": "larger",
        "measures.divider_height": "smaller",
    }
    assert ways(divided) == ways(plain) | own
    assert not set(own) & set(ways(plain))
    file = Path(__file__).parent / "data" / "tray-with-divider.yaml"
    free = read_design(file.read_bytes(), name=file.name).specification
    path = "measures.pieces.tray.zones.hollow.islands.divider"
    found = ways(free)
    for name, way in (("top_radius", "larger"), ("foot_radius", "larger"), ("height", "smaller")):
        assert found[f"{path}.{name}"] == way


class _Cancelled(Exception):  # noqa: N818
    pass


def test_a_cancelled_search_leaves_nothing_behind() -> None:
    spec, cache = tray(**SMALL, crown_radius_mm=2.0), Cache()
    before, text = judge(spec, cache), write_design(spec)
    told: list[str] = []

    def cancel(words: str) -> None:
        told.append(words)
        if len(told) == 2:
            raise _Cancelled

    with pytest.raises(_Cancelled):
        check(spec, cache, cancel)
    assert told[0] == "whether a smaller depth would mend it"
    assert len(told) == 2
    assert write_design(spec) == text
    assert judge(spec, cache) == before
    names = tuple(node.name for node in NODES)
    wanted = tuple(n for n in names if n in ("pressed blanks", "mouldings", "sheets"))
    assert evaluate(NODES, inputs_of(spec, "A4"), wanted, cache).computed == ()


def test_a_change_laid_over_a_design_is_among_the_fields_of_its_tooling() -> None:
    spec = edited(tray(), "changes.blank/tray.relief_dart", "8 mm", SHELF)
    (group,) = (g for g in form_of(spec, "tooling", SHELF, "mm") if "Changes" in g.title)
    (field,) = group.fields
    assert (field.path, field.label, field.text) == (
        "changes.blank/tray.relief_dart",
        "tray: relief dart",
        "8 mm",
    )
    assert edited(spec, field.path, "", SHELF) == tray()
    with pytest.raises(RequestError, match="hold"):
        edited(spec, "changes.blank/tray.hold", "loosely", SHELF)
    assert not [g for g in form_of(tray(), "tooling", SHELF, "mm") if "Changes" in g.title]

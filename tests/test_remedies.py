"""Remedies name fields that the design file has, of the place they are about."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.kinds.registry import KINDS, kind_named
from hidewright.design.piece import ZONE_DEPTH
from hidewright.design.specification import Specification
from hidewright.errors import Remark, Remedy
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.workshop.article import NODES, REMARKS, WITH_REMARKS, Findings, judge
from hidewright.workshop.begin import begin
from hidewright.workshop.edit import edited, with_remedy
from hidewright.workshop.graph import Cache, Missing, evaluate
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.remedies import in_own_fields


def _remark(place: str, *remedies: Remedy) -> Remark:
    return Remark(code="x", severity="note", place=place, sentence="x", remedies=remedies)


def test_a_remedy_for_a_place_takes_that_places_own_field() -> None:
    box = begin("lidded box", built_in_catalogue())
    deeper = Remedy(field="measures.depth", value="12 mm")
    lid, base = in_own_fields((_remark("lid/hollow", deeper), _remark("base/hollow", deeper)), box)
    assert lid.remedies == (Remedy(field="measures.lid_depth", value="12 mm"),)
    assert base.remedies == (deeper,)


def test_a_remedy_the_file_has_no_field_for_is_left_out_and_its_remark_kept() -> None:
    remark = _remark(
        "front",
        Remedy(field="measures.wing_span", value="12 mm"),
        Remedy(field="tooling.mould_board", value="a thinner board"),
        Remedy(field="measures.flange", value="14 mm"),
    )
    (told,) = in_own_fields((remark,), begin("flat-back pouch", built_in_catalogue()))
    assert told.remedies == (Remedy(field="measures.flange", value="14 mm"),)


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS if kind.carries])
def test_every_remedy_of_a_new_design_can_be_written_into_its_file_and_read(kind: str) -> None:
    spec = begin(kind, built_in_catalogue())
    text = write_design(spec)
    for remark in judge(spec, Cache()).remarks:
        for remedy in remark.remedies:
            section, _, field = remedy.field.partition(".")
            lines = text.splitlines()
            start = lines.index(f"{section}:")
            at = next(
                i for i, line in enumerate(lines) if i > start and line.startswith(f"  {field}: ")
            )
            lines[at] = f"  {field}: {remedy.value}"
            read_design("\n".join(lines).encode(), name="mended.yaml")


NARROW = {"width": "40 mm", "corner_radius": "8 mm", "notch_radius": "8 mm"}
#: (code, kind, fields of the file that provoke it)
PROVOKED = (
    ("too-thick", "flat-back pouch", {"depth": "5 mm"}),
    ("too-thick", "two-shell case", {"depth": "3 mm"}),
    ("too-thick", "lidded box", {"depth": "8 mm", "lid_depth": "8 mm"}),
    ("too-thick", "pocket with fold-over tray", {"depth": "5 mm", "tray_depth": "3 mm"}),
    ("too-thick", "tool cover", {"depth": "4 mm"}),
    ("too-tight", "flat-back pouch", NARROW),
    ("too-tight", "two-shell case", {"width": "36 mm"}),
    ("too-tight", "lidded box", {"width": "20 mm", "corner_radius": "5 mm"}),
    ("too-tight", "pocket with fold-over tray", {"width": "30 mm", "notch_radius": "5 mm"}),
    ("too-tight", "tool cover", {"ease": "0 mm"}),
    ("way-in-too-narrow", "flat-back pouch", NARROW),
    (
        "hinge-short-when-full",
        "pocket with fold-over tray",
        {"depth": "5 mm", "tray_depth": "3 mm"},
    ),
    ("proud-of-the-tray", "pocket with fold-over tray", {"mouth_clearance": "-20 mm"}),
    ("proud-of-the-tray", "pocket with fold-over tray", {"mouth_clearance": "-60 mm"}),
    ("hole-in-wall", "flat-back pouch", {"flange": "6 mm"}),
    ("hole-in-wall", "flat-back pouch", {"flange": "6 mm", "lined": "true"}),
    ("hole-in-wall", "two-shell case", {"flange": "6 mm"}),
    ("hole-in-wall", "pocket with fold-over tray", {"flange": "7 mm", "closing": "none"}),
    ("hole-in-wall", "tool cover", {"flange": "6 mm"}),
    ("little-leather-between-holes", "flat-back pouch", {"slit": "6 mm", "slant": "0 deg"}),
    ("little-leather-between-holes", "flat-back pouch", {"slit": "5 mm", "mark": "round"}),
    ("gap-too-tight", "flat-back pouch", {"gap_factor": "0.9"}),
    (
        "crown-radius-too-large",
        "flat-back pouch",
        {"crown_radius": "9 mm", "corner_radius": "5 mm"},
    ),
    (
        "crown-radius-too-large",
        "lidded box",
        {"lid_crown_radius": "9 mm", "lid_depth": "14 mm", "corner_radius": "5 mm"},
    ),
    ("lip-radius-too-large", "tool cover", {"inward_radius": "2 mm"}),
    (
        "cut-height-on-the-lip",
        "lidded box",
        {"cut_height": "2 mm", "thickness_min_mm": "2.0", "thickness_max_mm": "2.4"},
    ),
    ("web-too-thin", "flat-back pouch", {"plate_border": "15 mm"}),
)


def _one_a_code_first() -> Iterator[Any]:
    """Yield every case; those that provoke a code again are for the whole sweep."""
    seen: set[str] = set()
    for code, *rest in PROVOKED:
        marks = pytest.mark.sweep if code in seen else ()
        seen.add(code)
        yield pytest.param(code, *rest, marks=marks, id=f"{code}, {rest[0]}")


@pytest.mark.parametrize(("code", "kind", "fields"), tuple(_one_a_code_first()))
def test_a_remedy_written_into_the_file_removes_what_forbids_and_adds_nothing_that_does(
    code: str, kind: str, fields: dict[str, str]
) -> None:
    text, cache = write_design(begin(kind, built_in_catalogue())), Cache()
    for field, value in fields.items():
        text = _written(text, field, value)
    before = _checked(text, cache)
    provoked = [r for r in before.remarks if r.code == code and r.severity == "forbids"]
    assert provoked
    assert all(remark.remedies for remark in provoked)
    for remedy in dict.fromkeys(r for remark in provoked for r in remark.remedies):
        mended = text
        for where, value in ((remedy.field, remedy.value), *remedy.also):
            section, _, field = where.partition(".")
            mended = _written(mended, field, value, section)
        after = _checked(mended, cache)
        places = {r.place for r in provoked if remedy in r.remedies}
        assert not [r for r in after.remarks if r.code == code and r.place in places]
        assert _forbidding(after) <= _forbidding(before)
        assert len(after.missing) <= len(before.missing), after.missing


def _checked(text: str, cache: Cache) -> Findings:
    """Return what there is to say about shapes, seams and tools.

    Whether the leather bears a hollow as deep as the things need is not theirs to mend.
    """
    spec = read_design(text.encode(), name="mended.yaml").specification
    names = (*REMARKS, *(name for name in WITH_REMARKS if name != "pressed blanks"))
    values = evaluate(NODES, inputs_of(spec, "A4"), names, cache).values
    found: list[Remark] = []
    for name in names:
        value = values[name]
        if not isinstance(value, Missing):
            found += value if name in REMARKS else value[1]
    return Findings(
        remarks=in_own_fields(found, spec),
        missing=tuple(v for v in values.values() if isinstance(v, Missing)),
    )


def _forbidding(findings: Findings) -> set[str]:
    return {r.code for r in findings.remarks if r.severity == "forbids"}


def _written(text: str, field: str, value: str, section: str = "") -> str:
    """Return a design file with a field changed, the first of that name in its section."""
    lines = text.splitlines()
    start = lines.index(f"{section}:") if section else 0
    at = next(i for i in range(start, len(lines)) if lines[i].lstrip(" -").startswith(f"{field}: "))
    indent = lines[at][: lines[at].index(field)]
    lines[at] = f"{indent}{field}: {value}"
    return "\n".join(lines)


def test_a_remedy_outside_what_its_field_takes_is_left_out() -> None:
    spec = begin("flat-back pouch", built_in_catalogue())
    deep = Remedy(field="measures.depth", value="61 mm")
    bare = Remedy(field="measures.depth", value="12.00")
    along = Remedy(field="measures.width", value="70 mm", also=(("measures.depth", "1 mm"),))
    good = Remedy(field="measures.width", value="70 mm", also=(("measures.depth", "20 mm"),))
    (told,) = in_own_fields((_remark("front", deep, bare, along, good),), spec)
    assert told.remedies == (good,)


def test_a_remedy_that_is_a_word_or_a_row_of_the_catalogue_is_kept() -> None:
    spec = begin("flat-back pouch", built_in_catalogue())
    eased = Remedy(field="tooling.crown", value="eased")
    linen = Remedy(field="thread", value="waxed linen 18/4")
    none = Remedy(field="tooling.crown", value="melted")
    (told,) = in_own_fields((_remark("front", eased, linen, none),), spec)
    assert told.remedies == (eased, linen)


@pytest.mark.parametrize(
    ("board", "height_mm", "thinner"),
    [("MDF 12 mm", 8.0, ["MDF 6 mm"]), ("MDF 1/4 in", 5.0, ["MDF 1/8 in"]), ("MDF 3 mm", 2.0, [])],
)
def test_a_hollow_shallower_than_its_board_is_offered_a_thinner_one_of_its_kind(
    board: str, height_mm: float, thinner: list[str]
) -> None:
    shelf = built_in_catalogue()
    spec = edited(begin("open tray", shelf), "tooling.mould_board", board, shelf)
    shallow = replace(_remark("x"), code="hollow-shallower-than-board", amount=height_mm)
    (told,) = in_own_fields((shallow,), spec)
    assert [remedy.value for remedy in told.remedies] == thinner


def test_a_thinner_board_mends_a_hollow_shallower_than_the_one_before() -> None:
    shelf, code = built_in_catalogue(), "hollow-shallower-than-board"
    spec = edited(begin("flat-back pouch", shelf), "tooling.mould_board", "MDF 12 mm", shelf)
    spec = edited(spec, "measures.depth", "11 mm", shelf)
    told = [r for r in judge(spec, Cache()).remarks if r.code == code]
    (remedy,) = {remedy for remark in told for remedy in remark.remedies}
    mended = judge(with_remedy(spec, remedy, shelf), Cache())
    assert code not in {r.code for r in mended.remarks}


def test_a_plug_narrower_than_its_board_holds_is_told_its_width_and_mended_by_a_thinner_one() -> (
    None
):
    """A pocket of the least width: its plug is that width, less what shrinks, within 3 %."""
    shelf, code = built_in_catalogue(), "plug-too-narrow"
    spec = begin("flat-back pouch", shelf, things=(("USB type-A plug shell", 1),))
    spec = edited(spec, "tooling.mould_board", "MDF 1/4 in", shelf)
    board = replace(spec.tooling.mould_board, min_web_mm=40.0)
    spec = replace(spec, tooling=replace(spec.tooling, mould_board=board))
    (told,) = [r for r in judge(spec, Cache()).remarks if r.code == code]
    assert told.limit == 40.0
    assert told.amount == pytest.approx(spec.brief.measures.width_mm, rel=0.03)
    (remedy,) = told.remedies
    mended = judge(with_remedy(spec, remedy, shelf), Cache())
    assert code not in {r.code for r in mended.remarks}


@pytest.mark.parametrize(
    ("kind", "place", "measure"),
    [
        ("open tray", "tray/hollow", "measures.depth"),
        ("lidded box", "base/hollow", "measures.depth"),
        ("lidded box", "lid/hollow", "measures.lid_depth"),
        ("pocket with fold-over tray", "outer/tray", "measures.tray_depth"),
        ("two-shell case", "front/hollow", "measures.depth"),
        ("tool cover", "front/hollow", "measures.depth"),
    ],
)
def test_a_depth_offered_for_a_zone_is_told_by_the_measure_that_makes_it_so_deep(
    kind: str, place: str, measure: str
) -> None:
    """Also where the measure counts to a rim cut at a height, and the zone from its flange."""

    def depth(spec: Specification[Any]) -> float:
        made = kind_named(kind).construct(spec.brief)
        return next(
            z.depth_mm for p in made.pieces for z in p.zones if f"{p.name}/{z.name}" == place
        )

    shelf = built_in_catalogue()
    spec = begin(kind, shelf)
    wanted = depth(spec) + 1.25
    remark = _remark(place, Remedy(field=ZONE_DEPTH, value=f"{wanted:.2f} mm"))
    (told,) = in_own_fields((remark,), spec)
    (remedy,) = told.remedies
    assert remedy.field == measure
    assert depth(with_remedy(spec, remedy, shelf)) == pytest.approx(wanted, abs=0.011)


def test_what_magnets_spoil_is_mended_by_closing_without_them() -> None:
    shelf = built_in_catalogue()
    spec = begin("pocket with fold-over tray", shelf, things=(("specimen tube", 1),))
    (one,) = spec.brief.carried
    card = replace(one, thing=replace(one.thing, magnet_sensitive=("striped card",)))
    spec = replace(spec, brief=replace(spec.brief, carried=(card,)))
    values = evaluate(NODES, inputs_of(spec, "A4"), ("safety remarks",), Cache()).values
    (told,) = in_own_fields(values["safety remarks"], spec)
    assert (told.code, told.severity) == ("magnet-spoils", "forbids")
    mended = with_remedy(spec, told.remedies[0], shelf)
    values = evaluate(NODES, inputs_of(mended, "A4"), ("safety remarks",), Cache()).values
    assert values["safety remarks"] == ()


def test_remedies_of_a_free_design_are_for_the_place_they_are_about() -> None:
    spec = begin("free", built_in_catalogue())
    piece, seam = spec.brief.measures.pieces[0], spec.brief.measures.seams[0]
    zone = f"{piece.name}/{piece.zones[0].name}"
    deeper = _remark(zone, Remedy(field="measures.depth", value="12 mm"))
    too_deep = _remark(zone, Remedy(field="measures.depth", value="900 mm"))
    finer = _remark(seam.name, Remedy(field="measures.pitch", value="3.5 mm"))
    told = [r.remedies for r in in_own_fields((deeper, too_deep, finer), spec)]
    home = f"measures.pieces.{piece.name}.zones.{piece.zones[0].name}"
    assert told == [
        (Remedy(field=f"{home}.depth", value="12 mm"),),
        (),
        (Remedy(field=f"measures.seams.{seam.name}.pitch", value="3.5 mm"),),
    ]


def test_a_hollow_that_is_wide_enough_is_only_made_deeper() -> None:
    text = write_design(begin("flat-back pouch", built_in_catalogue()))
    for field, value in {"width": "90 mm", "depth": "5 mm"}.items():
        text = _written(text, field, value, "measures")
    spec = read_design(text.encode(), name="wide.yaml").specification
    values = evaluate(NODES, inputs_of(spec, "A4"), ("fit remarks",), Cache()).values
    (remark,) = (r for r in values["fit remarks"] if r.severity == "forbids")
    assert remark.remedies == (Remedy(field="measures.depth", value="11.5 mm"),)

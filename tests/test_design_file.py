"""Design files: what is written is read back, and what is wrong is refused where it stands."""

import re
from dataclasses import fields, replace

import pytest

from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.kinds.registry import KINDS, kind_named
from hidewright.design.measure import check_limits
from hidewright.design.specification import Change
from hidewright.errors import RequestError
from hidewright.store.design_file import LARGEST_BYTES, read_design
from hidewright.store.write_design import write_design
from hidewright.workshop.begin import begin

POUCH = write_design(begin("flat-back pouch", built_in_catalogue()))


def _line_of(text: str) -> int:
    return next(i for i, line in enumerate(POUCH.splitlines(), 1) if text in line)


def _refusal(text: str) -> RequestError:
    with pytest.raises(RequestError) as refused:
        read_design(text.encode(), name="pouch.yaml")
    return refused.value


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_every_kind_is_written_and_read_back_the_same(kind: str, unit: str) -> None:
    spec = begin(kind, built_in_catalogue(), name='A "quoted": name, with # marks')
    spec = replace(spec, changes=(Change(place="seam/rim", field="pitch", value="3.5 mm"),))
    text = write_design(spec, unit="in" if unit == "in" else "mm")
    back = read_design(text.encode(), name="x.yaml").specification
    if unit == "mm":
        assert back == spec
    else:  # inches are written true to 0.0005 mm
        assert write_design(back) == write_design(spec)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("  depth: 11.5 mm", "  depth: 11.5", "no unit"),
        ("  depth: 11.5 mm", "  depth: 11.5 furlongs", "12 mm"),
        ("  depth: 11.5 mm", "  depth: -3 mm", "negative"),
        ("  depth: 11.5 mm", "  depth: .nan mm", "not a plain number"),
        ("  depth: 11.5 mm", "  depth: 900 mm", "Allowed: 2 mm to 60 mm"),
        ("  depth: 11.5 mm", "  depth: 1:30", "1:30"),
        ("  depth: 11.5 mm", "  dpeth: 11.5 mm", "depth"),
        ("  flap: true", "  flap: no", "'no' is neither true nor false"),
        ("  closing: strap and stud", "  closing: glue", "strap and stud, none"),
        ("  reverse_stitches: 3", "  reverse_stitches: 3.5", "whole number"),
        ("kind: flat-back pouch", "kind: spaceship", "flat-back pouch"),
        ("format: 1", "format: 2", "newer"),
        ("  fibre: linen", "  fibre: steel", "Choose one of"),
        ("    kerf_mm: 0.203", "    kerf_mm: 203", "up to 2 mm"),
        ("    thickness_mm: 6", "    thickness: 6 kg", "thickness: '6 kg' is not a length"),
        ("    thickness_max_mm: 1.6", "    thickness_max_mm: 16", "between 0.1 and 12"),
        ("  depth: 11.5 mm", "\tdepth: 11.5 mm", "a tab stands before it. Put spaces there"),
        ("  depth: 11.5 mm", "  depth:11.5 mm", "no colon with a space behind it"),
        ("  depth: 11.5 mm", "  depth 11.5 mm", "Write 'field: value'"),
        ("  closing: strap and stud", "  closing: strap: stud", 'Write closing: "strap: stud"'),
        ("  closing: strap and stud", "  closing: 'Ann's'", 'Write closing: "Ann\'s"'),
        ("  depth: 11.5 mm", "   depth: 11.5 mm", "under one another"),
    ],
)
def test_a_wrong_value_is_refused_with_file_line_and_what_is_accepted(
    old: str, new: str, said: str
) -> None:
    line = _line_of(old.strip() if old.startswith("kind") else old)
    refused = _refusal(POUCH.replace(old, new, 1))
    assert said in str(refused)
    assert "pouch.yaml line" in refused.where
    at = int(refused.where.split("line ")[1].split(",")[0])
    assert at == line


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("format: 1\nformat: 1\n", "given twice"),
        ("a: &x 1\nb: *x\n", "aliases"),
        ("a: !!python/object:os.system 1\n", "tags"),
        ("a: [" + "[" * 60 + "]" * 60 + "]\n", "deep"),
        ("a: [1, 2\n", "YAML"),
        ("- 1\n- 2\n", "fields"),
        ("kind: tray\n", "no format"),
        ("fromat: 1\n", "format"),
    ],
)
def test_what_is_no_design_file_is_refused_in_words(text: str, said: str) -> None:
    assert said in str(_refusal(text))


def test_a_name_in_the_place_of_a_row_is_refused_with_what_to_write() -> None:
    leather = POUCH.index("  body:\n")
    cut = POUCH.index("\n\n", leather)
    by_name = POUCH[:leather] + "  body: shoulder" + POUCH[cut:]
    refused = _refusal(by_name)
    assert refused.where.endswith("leathers.body")
    assert "'shoulder' stands for a row of the catalogue" in str(refused)
    assert "as a file that 'hidewright begin' wrote has them" in str(refused)
    first = POUCH.index("  - thing:\n")
    named = POUCH[:first] + "  - thing: lens\n" + POUCH[POUCH.index("    count:", first) :]
    assert "'lens' stands for a row" in str(_refusal(named))


def test_a_file_larger_than_a_megabyte_is_not_parsed() -> None:
    with pytest.raises(RequestError, match="at most 1 MB"):
        read_design(b"#" * (LARGEST_BYTES + 1), name="big.yaml")


def test_text_that_is_not_utf8_is_refused() -> None:
    with pytest.raises(RequestError, match="UTF-8"):
        read_design(b"name: \xff\xfe", name="x.yaml")


def test_every_measure_is_written_out() -> None:
    spec = begin("flat-back pouch", built_in_catalogue())
    for field in type(spec.brief.measures).__dataclass_fields__:
        stem = field.removesuffix("_mm")
        assert f"\n  {stem}: " in POUCH
    for name in ("soak_growth_along", "shrinkage_across", "density_g_cm3"):
        assert f"    {name}: " in POUCH, "a default may change one day; the file keeps its value"


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [
        ("depth", "30 in", r"of 30 in: .*: 0\.079 in to 2 23/64 in.* \(2 mm to 60 mm\)"),
        ("corner_radius", "2-1/2 in", r"radius 2 1/2 in: larger than half .* \(32\.\d+ mm\)"),
    ],
)
def test_what_an_inch_file_is_refused_for_is_told_in_inches(
    field: str, value: str, told: str
) -> None:
    spec = begin("flat-back pouch", built_in_catalogue())
    text = re.sub(rf"(?m)^(  {field}:) .*?( #.*)?$", rf"\1 {value}", write_design(spec, unit="in"))
    with pytest.raises(RequestError, match=told) as refused:
        _drawn(text)
    assert " mm" not in refused.value.what


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("depth: 5 mm x", r"'5 mm x' is not a length.* 'mm x' .*Accepted: 12 mm, 1.2 cm, .*in"),
        ("flange 5 mm: 1 in", r"no field 'flange 5 mm'"),
        ("notch: a 5 mm's 6 mm's", r'''"a 5 mm's 6 mm's"'''),
    ],
)
def test_what_is_quoted_from_an_inch_file_stays_as_the_maker_wrote_it(line: str, told: str) -> None:
    text = write_design(begin("two-shell case", built_in_catalogue()), unit="in")
    field = line.partition(":")[0].partition(" ")[0]
    with pytest.raises(RequestError, match=told):
        _drawn(re.sub(rf"(?m)^  {field}:.*$", f"  {line}", text))


@pytest.mark.parametrize("end", ["low", "high"])
@pytest.mark.parametrize("kind", [kind.name for kind in KINDS if kind.carries])
def test_a_measure_at_its_limit_is_read_back_from_a_file_in_inches(kind: str, end: str) -> None:
    spec = begin(kind, built_in_catalogue())
    limits = {
        one.name: one.metadata[end]
        for one in fields(spec.brief.measures)
        if one.metadata.get("quantity") == "length" and one.metadata[end] is not None
    }
    measures = replace(spec.brief.measures, **limits)
    at_them = replace(spec, brief=replace(spec.brief, measures=measures))
    file = read_design(write_design(at_them, unit="in").encode(), name="limits.yaml")
    check_limits(file.specification.brief.measures, "measures")
    for name, limit in limits.items():
        back = getattr(file.specification.brief.measures, name)
        assert back == limit


def _drawn(text: str) -> None:
    file = read_design(text.encode(), name="pouch.yaml")
    try:
        kind_named(file.specification.brief.kind).construct(file.specification.brief)
    except RequestError as refused:
        raise file.located(refused) from None

"""A design that is begun for a thing can be drawn, and holds it."""

import re
from dataclasses import fields
from typing import Any

import pytest

from coarse_cache import CACHE
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.fit import what_fits
from hidewright.design.fit_remarks import fit_remarks
from hidewright.design.kinds.registry import kind_named
from hidewright.design.specification import Specification
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.workshop.article import NODES, check
from hidewright.workshop.begin import begin
from hidewright.workshop.graph import Cache, evaluate
from hidewright.workshop.in_inches import in_inches
from hidewright.workshop.inputs import inputs_of

SMALL = (
    "microSD card",
    "USB type-A plug shell",
    "cell R6 (AA)",
    "button cell R44",
    "coin cell CR2032",
    "US dime",
    "euro 2",
    "UK 50 pence",
    "pencil",
    "steel rule 150 mm",
)
KINDS = ("flat-back pouch", "two-shell case", "open tray", "lidded box")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("thing", SMALL)
def test_the_smallest_things_have_a_hollow_of_every_kind(kind: str, thing: str) -> None:
    shelf = built_in_catalogue()
    spec = begin(kind, shelf, things=((thing, 1),))
    (hollow,) = kind_named(kind).construct(spec.brief).hollows
    assert what_fits(hollow, [find(shelf.things, thing)])


@pytest.mark.parametrize("thing", ["button cell R44", "microSD card", "US dime", "euro 1 cent"])
def test_a_low_wide_pocket_for_several_small_things_has_corners_and_a_notch_that_go_in(
    thing: str,
) -> None:
    spec = begin("pocket with fold-over tray", built_in_catalogue(), things=((thing, 5),))
    made = kind_named(spec.brief.kind).construct(spec.brief)
    (hollow,) = made.hollows
    assert hollow.outline.width > 3 * hollow.outline.height
    found = fit_remarks(hollow, spec.brief.carried, made.held_by)
    assert [r.code for r in found if r.severity == "forbids"] == []


@pytest.mark.parametrize("kind", ["pocket with fold-over tray", "tool cover", *KINDS])
def test_in_inches_a_new_design_is_in_fractions_and_thousandths_and_no_remark_changes(
    kind: str,
) -> None:
    """Told by the file as it is read back, and by the remarks on it against those on the mm one."""
    spec = begin(kind, built_in_catalogue())
    text = write_design(in_inches(spec), unit="in")
    lengths = re.findall(r"^ +(\w+): ([^#\n]+) in  #", text, re.MULTILINE)
    assert len(lengths) > 10
    for field, length in lengths:
        assert re.fullmatch(r"-?(\d+|(\d+ )?\d+/(2|4|8|16|32|64)|\d+\.\d{1,3})", length), field
    again = read_design(text.encode(), name="begun.yaml").specification
    assert remarks_on(again) == remarks_on(spec)
    for before, after in zip(numbers(spec.brief), numbers(again.brief), strict=True):
        assert after == pytest.approx(before, abs=25.4 / 64)


@pytest.mark.parametrize("thing", SMALL)
def test_in_inches_a_hollow_is_not_rounded_below_what_it_holds(thing: str) -> None:
    shelf = built_in_catalogue()
    spec = in_inches(begin("flat-back pouch", shelf, things=((thing, 1),)))
    (hollow,) = kind_named("flat-back pouch").construct(spec.brief).hollows
    assert what_fits(hollow, [find(shelf.things, thing)])


def remarks_on(spec: Specification[Any]) -> set[tuple[str, str, str]]:
    """Return the remarks that need no pressing: of the drawing, the fit, the seams."""
    wanted = ("kind remarks", "fit remarks", "fitting remarks", "safety remarks")
    values = evaluate(
        NODES, inputs_of(spec, "A4"), (*wanted, "sewn", "sewing tools"), Cache()
    ).values
    told = [r for name in wanted for r in values[name]]
    told += [*values["sewn"][1], *values["sewing tools"][1]]
    return {(r.code, r.place, r.severity) for r in told}


def numbers(brief: Any) -> list[float]:
    """Return the numbers among an article's measures."""
    values = [getattr(brief.measures, one.name) for one in fields(brief.measures)]
    return [value for value in values if type(value) is float]


@pytest.mark.parametrize(
    ("kind", "thing"),
    [
        ("flat-back pouch", "cell R6 (AA)"),
        ("flat-back pouch", "specimen tube"),
        ("flat-back pouch", "SD card"),
        ("two-shell case", "cell R20 (D)"),
        ("pocket with fold-over tray", "bank card (ID-1)"),
        ("tool cover", "US dime"),
    ],
)
def test_what_is_begun_may_be_made_as_it_is(kind: str, thing: str) -> None:
    spec = begin(kind, built_in_catalogue(), things=((thing, 1),))
    found = check(spec, CACHE)
    assert [one.code for one in found.remarks if one.severity == "forbids"] == []
    assert found.missing == ()

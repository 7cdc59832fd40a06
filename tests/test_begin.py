"""A design that is begun for a thing can be drawn, and holds it."""

import pytest

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.fit import what_fits
from hidewright.design.kinds.registry import kind_named
from hidewright.workshop.begin import begin

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

"""What must not be near what."""

from dataclasses import replace

import pytest

from hidewright.catalogue.leathers import Tannage
from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.carried import Carried
from hidewright.design.fitting import FittingPlace, MagnetPlace, fitting_remarks
from hidewright.design.safety import safety_remarks

SHELF = built_in_catalogue()
COMPASS = Carried(thing=find(SHELF.things, "sighting compass"))
CARD = Carried(thing=find(SHELF.things, "bank card (ID-1)"))
FORCEPS = Carried(thing=find(SHELF.things, "pointed forceps"))
BODY = (("body", find(SHELF.leathers, "vegetable-tanned shoulder 1.4-1.6 mm")),)
MAGNET = MagnetPlace(
    name="magnet",
    magnet=find(SHELF.magnets, "disc 10 x 2 mm N38"),
    piece="back",
    at=(0.0, 0.0),
    partner="other",
    pole_out="N",
    leather_between_mm=3.0,
)


def _stud(name: str) -> FittingPlace:
    return FittingPlace(
        name="stud", fitting=find(SHELF.fittings, name), piece="front", at=(0.0, 0.0), stack_mm=1.5
    )


@pytest.mark.parametrize("one", [COMPASS, CARD])
def test_a_magnet_beside_a_compass_or_a_striped_card_is_forbidden_with_the_safe_distance(
    one: Carried,
) -> None:
    (remark,) = safety_remarks((one,), (), (MAGNET,), BODY)
    assert (remark.code, remark.severity) == ("magnet-spoils", "forbids")
    assert remark.limit is not None
    assert remark.limit > 5.0
    assert one.thing.name in remark.sentence
    assert safety_remarks((one,), (), (), BODY) == ()


def test_steel_beside_a_compass_is_forbidden_and_solid_brass_is_not() -> None:
    (remark,) = safety_remarks(
        (COMPASS,), (_stud("nickel-plated steel press stud 10 mm"),), (), BODY
    )
    assert (remark.code, remark.severity) == ("steel-near-compass", "forbids")
    assert safety_remarks((COMPASS,), (_stud("solid brass stud 6 mm"),), (), BODY) == ()
    assert safety_remarks((CARD,), (_stud("nickel-plated steel press stud 10 mm"),), (), BODY) == ()


def test_sharp_points_ask_for_a_sheath() -> None:
    assert [r.code for r in safety_remarks((FORCEPS,), (), (), BODY)] == ["sharp-points"]


@pytest.mark.parametrize("tannage", ["chrome", "unknown", "combination"])
def test_only_vegetable_tanned_leather_is_moulded(tannage: Tannage) -> None:
    leather = replace(BODY[0][1], tannage=tannage)
    (remark,) = safety_remarks((), (), (), (("body", leather),))
    assert (remark.code, remark.severity) == ("not-vegetable-tanned", "forbids")


@pytest.mark.parametrize(
    ("stack", "said"), [(1.0, ["post-too-long"]), (1.5, []), (4.0, []), (4.5, ["post-too-short"])]
)
def test_a_fitting_goes_through_the_leather_its_post_is_made_for(
    stack: float, said: list[str]
) -> None:
    # the 6 mm brass stud of the catalogue sets in 1.2 to 4 mm
    place = replace(_stud("solid brass stud 6 mm"), stack_mm=stack)
    remarks = fitting_remarks((place,))
    assert [r.code for r in remarks] == said
    assert all((r.severity == "forbids") == (r.code == "post-too-short") for r in remarks)

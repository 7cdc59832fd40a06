from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.catalogue.common_names import COMMON_NAMES, matching, names_of
from hidewright.catalogue.fittings import Fitting
from hidewright.catalogue.leathers import Leather
from hidewright.catalogue.magnets import Magnet
from hidewright.catalogue.rows import Row, noun_from_row, row_from_noun
from hidewright.catalogue.shelf import (
    NOUNS,
    OWN_SOURCE,
    Catalogue,
    built_in_catalogue,
    find,
    with_rows,
)
from hidewright.catalogue.strict_yaml import rows_from_yaml
from hidewright.catalogue.things import Thing
from hidewright.errors import RequestError
from hidewright.forming.on_blank import behaviour_of

BUILT_IN: list[Row] = [row for kind in NOUNS for row in getattr(built_in_catalogue(), kind)]
KINDS = tuple(NOUNS)
NONSENSE: tuple[object, ...] = (None, {}, float("nan"), float("inf"), -1.0, "", [])
MY_MDF = {
    "name": "my MDF",
    "material": "mdf",
    "thickness_mm": 6.1,
    "thickness_tolerance_mm": 0.1,
    "kerf_mm": 0.18,
    "min_web_mm": 6,
    "bending_modulus_MPa": 2700,
    "bending_strength_MPa": 23,
}


@pytest.mark.parametrize("row", BUILT_IN, ids=lambda r: r.name)
def test_every_built_in_row_survives_being_written_by_value_and_read_again(row: Row) -> None:
    assert noun_from_row(type(row), row_from_noun(row)) == row


def test_every_kind_has_rows_and_every_row_names_where_it_comes_from() -> None:
    for kind in KINDS:
        rows = getattr(built_in_catalogue(), kind)
        assert len(rows) >= 7, kind
        assert all(len(row.source) >= 10 for row in rows), kind


@pytest.mark.parametrize("kind", KINDS)
@given(data=st.data())
def test_a_row_with_any_field_made_nonsense_or_misnamed_is_refused_in_its_own_words(
    kind: str, data: st.DataObject
) -> None:
    noun = data.draw(st.sampled_from(getattr(built_in_catalogue(), kind)))
    row = row_from_noun(noun)
    field = data.draw(st.sampled_from(sorted(row)))
    # nothing at all may spoil a thing: that one empty list is no nonsense, see the test below
    kept = NONSENSE[:-1] if field == "magnet_sensitive" else NONSENSE
    nonsense = data.draw(st.sampled_from(kept))
    for broken in (row | {field: nonsense}, row | {field + "_s": 1}):
        with pytest.raises(RequestError) as refused:
            noun_from_row(type(noun), broken, where="my file line 3")
        assert str(refused.value).startswith("my file line 3: ")
        said = str(refused.value)
        assert field in said or noun.name in said or "without a name" in said


@pytest.mark.parametrize("row", BUILT_IN, ids=lambda r: r.name)
def test_a_figure_far_beyond_any_bench_is_refused_and_not_reckoned_with(row: Row) -> None:
    plain = row_from_noun(row)
    figures = [field for field, value in plain.items() if isinstance(value, float)]
    assert figures
    for field in figures:
        for beyond in (1e7, -1e-3, 1e300):
            with pytest.raises(RequestError, match=field):
                noun_from_row(type(row), plain | {field: beyond})


share = st.floats(0.0, 1.0)


@given(set_ratio=share, held=share, along=share, across=share, thicker=share)
def test_a_leather_that_the_catalogue_takes_can_be_dried(
    set_ratio: float, held: float, along: float, across: float, thicker: float
) -> None:
    plain = row_from_noun(next(row for row in BUILT_IN if isinstance(row, Leather)))
    try:
        leather = noun_from_row(
            Leather,
            plain
            | {"set_ratio": set_ratio, "held_shrinkage": held, "soak_growth_thickness": thicker}
            | {"shrinkage_along": along * 0.2, "shrinkage_across": across * 0.2},
        )
    except RequestError:
        return
    dried = behaviour_of(leather)  # refuses what is beyond its own limits
    assert dried.set_ratio == set_ratio


def test_an_empty_list_of_what_spoils_a_thing_says_that_nothing_does() -> None:
    card = find(built_in_catalogue().things, "bank card (ID-1)")
    plain = noun_from_row(Thing, row_from_noun(card) | {"magnet_sensitive": []})
    assert plain == replace(card, magnet_sensitive=())


@pytest.mark.parametrize(
    ("kind", "row", "said"),
    [
        ("boards", MY_MDF | {"kerf": "0.2"}, "no unit"),
        ("boards", MY_MDF | {"kerf_mm": 20}, "a laser cuts 0.05 to 0.5 mm"),
        ("boards", MY_MDF | {"kerf_mm": True}, "kerf_mm is True"),
        ("boards", MY_MDF | {"kerf_mm": "0.2 mm"}, "such as kerf_mm: 12"),
        ("boards", MY_MDF | {"kerf": "0.2 mm"}, "kerf_mm is given twice"),
        ("boards", MY_MDF | {"material": "pvc"}, "mdf, plywood, acrylic, card"),
        ("boards", MY_MDF | {"transparent": "no"}, "true or false"),
        ("boards", MY_MDF | {"thickness_tolerance_mm": 7}, "thinner than nothing"),
        ("boards", {"name": "my MDF"}, "a board without material"),
        ("boards", MY_MDF | {"kerff_mm": 1}, "Did you mean: kerf_mm"),
        ("leathers", {"name": "x", "part_of_hide": "side", "thickness": "4"}, "no unit"),
        (
            "leathers",
            {"name": "x", "part_of_hide": "side", "thickness": "4 oz", "shrinkage_along": 1.5},
            "1.5 % as 0.015",
        ),
        (
            "leathers",
            {"name": "x", "part_of_hide": "side", "thickness": "4 oz", "stretch_limit_along": 0.2},
            "a stretch such as 1.2",
        ),
        ("things", {"name": "x", "shape": "disc", "length_mm": 3}, "diameter_mm is 0"),
        (
            "things",
            {"name": "x", "shape": "rod", "length_mm": 3, "diameter_mm": 1, "width_mm": 2},
            "width_mm does not go with a rod",
        ),
        (
            "things",
            {"name": "x", "shape": "box", "length_mm": 3, "width_mm": 4, "thickness_mm": 1},
            "longer side as the length",
        ),
        (
            "things",
            {
                "name": "x",
                "shape": "box",
                "length_mm": 9,
                "width_mm": 4,
                "thickness_mm": 1,
                "corner_radius_mm": 2.1,
            },
            "half the width, 2 mm",
        ),
        (
            "things",
            {
                "name": "x",
                "shape": "box",
                "length_mm": 9,
                "width_mm": 4,
                "thickness_mm": 1,
                "edge_radius_mm": 0.6,
            },
            "half the thickness, 0.5 mm",
        ),
        (
            "things",
            {"name": "x", "shape": "disc", "diameter_mm": 3, "thickness_mm": 1, "outline": [[0]]},
            "x, y, bulge",
        ),
        (
            "magnets",
            {
                "name": "x",
                "shape": "disc",
                "diameter_mm": 9,
                "thickness_mm": 2,
                "remanence_T": 13.2,
                "grade": "N42",
            },
            "13.2 kG is written 1.32",
        ),
        (
            "fittings",
            {
                "name": "x",
                "kind": "rivet",
                "material": "brass",
                "ferrous": False,
                "hole_mm": 8,
                "head_diameter_mm": 7,
                "post_length_mm": 6,
                "stack_max_mm": 4,
            },
            "pull through",
        ),
        ("needles", {"name": "  ", "diameter_mm": 1}, "without a name"),
    ],
)
def test_an_own_row_that_cannot_be_is_refused_with_what_would_mend_it(
    kind: str, row: dict[str, object], said: str
) -> None:
    with pytest.raises(RequestError) as refused:
        with_rows(Catalogue(), {kind: [row]})
    assert said in str(refused.value)
    assert str(refused.value).startswith(f"{kind} row 1: ")


def test_own_rows_replace_rows_of_the_same_name_in_place_and_others_come_last() -> None:
    built_in = built_in_catalogue()
    own = with_rows(built_in, {"boards": [MY_MDF, MY_MDF | {"name": "MDF 6 mm"}]})
    names = [b.name for b in built_in.boards]
    assert [b.name for b in own.boards] == [*names, "my MDF"]
    assert find(own.boards, "MDF 6 mm").thickness_mm == 6.1
    assert find(own.boards, "MDF 6 mm").source == OWN_SOURCE
    assert own.leathers == built_in.leathers
    assert find(built_in.boards, "MDF 6 mm").thickness_mm == 6.0


def test_two_own_rows_of_one_name_are_refused() -> None:
    with pytest.raises(RequestError, match="two of your boards are called 'my MDF'"):
        with_rows(Catalogue(), {"boards": [MY_MDF, MY_MDF]})


def test_rows_of_an_unknown_kind_are_refused_with_the_kinds() -> None:
    with pytest.raises(RequestError, match="Did you mean: boards"):
        with_rows(Catalogue(), {"board": [MY_MDF]})


def test_an_own_row_may_be_written_with_units_in_the_text() -> None:
    thing = noun_from_row(
        Thing,
        {
            "name": "loupe",
            "shape": "disc",
            "diameter": "1 1/2 in",
            "thickness": "12 mm",
            "mass": "0.04 kg",
            "source": "measured here",
        },
    )
    assert (thing.diameter_mm, thing.thickness_mm, thing.mass_g) == (38.1, 12.0, 40.0)


def test_a_thickness_in_ounces_fills_both_ends_of_a_leathers_range() -> None:
    row = {"name": "x", "part_of_hide": "side", "thickness": "3-4 oz", "source": "measured here"}
    leather = noun_from_row(Leather, row)
    assert leather.thickness_min_mm == pytest.approx(3 * 25.4 / 64, abs=1e-12)
    assert leather.thickness_max_mm == pytest.approx(4 * 25.4 / 64, abs=1e-12)
    assert leather.thickness_mm == pytest.approx(3.5 * 25.4 / 64, abs=1e-12)


def test_a_name_that_is_like_none_is_answered_with_what_there_is() -> None:
    with pytest.raises(RequestError, match=r"'golf ball'. There are: bank card"):
        find(built_in_catalogue().things, "golf ball")


def test_a_name_that_is_nearly_right_is_answered_with_the_right_one() -> None:
    with pytest.raises(RequestError, match="no thing is called 'sighting compas'"):
        find(built_in_catalogue().things, "sighting compas")
    with pytest.raises(RequestError, match="Did you mean: sighting compass"):
        find(built_in_catalogue().things, "sighting compas")
    with pytest.raises(RequestError, match=r"There are: no\. 4, no\. 3"):
        find(built_in_catalogue().needles, "zzz")
    with pytest.raises(RequestError, match="There are none"):
        find((), "anything")


@pytest.mark.parametrize(
    ("called", "name"),
    [
        ("AA cell", "cell R6 (AA)"),
        ("aaa battery", "cell R03 (AAA)"),
        ("CR2032", "coin cell CR2032"),
        ("quarter", "US quarter"),
        ("Bank Card", "bank card (ID-1)"),
        ("us DIME", "US dime"),
    ],
)
def test_a_thing_is_found_by_what_it_is_called_in_common_use(called: str, name: str) -> None:
    things = built_in_catalogue().things
    assert find(things, called).name == name
    assert name in [row.name for row in matching(things, called)]


def test_every_common_name_is_of_one_thing_only_and_of_one_there_is() -> None:
    names = [row.name for row in built_in_catalogue().things]
    every = [one.lower() for name in names for one in names_of(name)]
    assert len(set(every)) == len(every)
    assert set(COMMON_NAMES) <= set(names)


def test_a_row_of_the_makers_own_goes_before_a_common_name() -> None:
    own = {"name": "compass", "shape": "disc", "diameter": "30 mm", "thickness": "8 mm"}
    shelf = with_rows(built_in_catalogue(), {"things": [own]})
    assert find(shelf.things, "compass").diameter_mm == 30.0


def test_two_rows_of_one_name_make_no_catalogue() -> None:
    needle = built_in_catalogue().needles[0]
    with pytest.raises(RequestError, match=r"two needles are called 'no\. 4'"):
        Catalogue(needles=(needle, needle))


def test_the_extents_of_each_shape_are_those_of_the_box_around_it_as_it_lies() -> None:
    things = built_in_catalogue().things
    assert find(things, "folding hand lens").extents_mm == (42.0, 42.0, 14.0)
    assert find(things, "capped pin tube").extents_mm == (70.0, 11.0, 11.0)
    assert find(things, "sighting compass").extents_mm == (100.0, 60.0, 11.0)
    length, width, thickness = find(things, "trowel blade").extents_mm
    # the straight tip to the half circle of radius 6 at the neck; two arcs bulge by half chord/5
    assert length == pytest.approx(115 + 6, abs=1e-9)
    assert width == pytest.approx(2 * (28 + 0.2 * 40 / 2), abs=1e-9)
    assert thickness == 14.0


def test_only_things_with_something_magnetic_in_them_fear_a_magnet() -> None:
    things = built_in_catalogue().things
    feared = {thing.name: thing.magnet_sensitive for thing in things if thing.magnet_sensitive}
    assert feared == {
        "bank card (ID-1)": ("striped card",),
        "sighting compass": ("compass",),
        "pocket watch": ("mechanical watch",),
    }


def test_brass_is_not_felt_by_a_compass_and_steel_is() -> None:
    for fitting in built_in_catalogue().fittings:
        assert fitting.ferrous == ("steel" in fitting.material)


@pytest.mark.parametrize(("stack", "held"), [(2.9, False), (3.0, True), (4.0, True), (4.1, False)])
def test_a_fitting_holds_from_its_thinnest_to_its_thickest_stack(stack: float, held: bool) -> None:
    rivet = Fitting(
        name="rivet",
        kind="rivet",
        material="solid brass",
        ferrous=False,
        hole_mm=3.0,
        head_diameter_mm=9.0,
        post_length_mm=6.0,
        stack_min_mm=3.0,
        stack_max_mm=4.0,
        source="measured here",
    )
    assert rivet.holds(stack) is held


def test_rivets_of_the_catalogue_hold_2_to_3_mm_less_than_their_post() -> None:
    for fitting in built_in_catalogue().fittings:
        if fitting.kind == "rivet" and "copper" not in fitting.name:
            assert fitting.stack_min_mm == pytest.approx(fitting.post_length_mm - 3)
            assert fitting.stack_max_mm == pytest.approx(fitting.post_length_mm - 2)


def test_the_mass_of_a_block_magnet_is_its_volume_times_its_density() -> None:
    block = Magnet(
        name="block",
        shape="block",
        length_mm=20.0,
        width_mm=10.0,
        thickness_mm=2.0,
        remanence_T=1.24,
        grade="N38",
        source="measured here",
    )
    assert block.pole_area_mm2 == 200.0
    assert block.mass_g == pytest.approx(20 * 10 * 2 / 1000 * 7.5)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("- {a: &x 1, b: *x}", "line 1: anchors, aliases"),
        ("- {a: \ud800}", "half a character"),
        ("- {a: !!python/name:os.system 1}", "line 1: anchors, aliases"),
        ("- a: 1\n  a: 2", "line 2: 'a' is given twice"),
        ("a: 1", "not a list of rows"),
        ("- 3", "line 1: not a row"),
        ("- {a: ", "not readable as YAML"),
    ],
)
def test_yaml_that_is_not_plain_rows_is_refused_with_its_line(text: str, said: str) -> None:
    with pytest.raises(RequestError) as refused:
        rows_from_yaml(text, where="my.yaml")
    assert said in str(refused.value)
    assert str(refused.value).startswith("my.yaml")


def test_yaml_words_are_read_as_what_they_say() -> None:
    text = "- {a: no, b: 'true', c: true, d: 1:30, e: .nan, f: 010, g: 1_0, h: nan, i: [1, x]}"
    assert rows_from_yaml(text, where="my.yaml") == [
        (
            "my.yaml line 1",
            {
                "a": "no",
                "b": "true",
                "c": True,
                "d": "1:30",
                "e": ".nan",
                "f": 10.0,
                "g": "1_0",
                "h": "nan",
                "i": [1.0, "x"],
            },
        )
    ]
    assert rows_from_yaml("", where="my.yaml") == []

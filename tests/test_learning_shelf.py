"""From the demo's invented readings to what the workshop knows, and designs reckoned with it."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest

from hidewright.catalogue.prices import built_in_prices
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.costing.workshop_rates import WorkshopRates
from hidewright.design.bench_reading import BenchReading
from hidewright.design.specification import Specification
from hidewright.learning.priors import minutes_name
from hidewright.planning.steps_choice import BenchChoice
from hidewright.store.book_readings import demo_readings
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.store.write_design import write_design
from hidewright.workshop.book_learned import BookRead, Pressings, known_rows, learned_from
from hidewright.workshop.graph import Cache
from hidewright.workshop.learned import (
    HANDS,
    NOTHING,
    LearnedShelf,
    learned_shelf,
    own_rates,
    own_times,
    with_learned,
)
from hidewright.workshop.learned_effect import dry_sizes, effect_on
from hidewright.workshop.learned_telling import (
    as_figures,
    board_remarks,
    gap_remarks,
    in_words,
    learned_remarks,
)

LEATHER = "vegetable-tanned shoulder 1.4-1.6 mm"
RATES = WorkshopRates()
LENS: Specification[Any] = read_design(
    demo_designs()["lens-case.yaml"], name="lens-case.yaml"
).specification
#: Every demo reading by its place in the file; the design has the id "lens".
READINGS = {
    f"{k:02d}": replace(one, design="lens" if one.design else "")
    for k, one in enumerate(demo_readings())
}
#: What the demo's readings were drawn from, with a calliper's, a ruler's and a watch's errors.
TRUE = {
    "thickness_mm": 1.50, "soak_growth_along": 0.006, "soak_growth_across": 0.012,
    "soak_growth_thickness": 0.075, "shrinkage_along": 0.0072, "shrinkage_across": 0.0108,
    "held_shrinkage": 0.78, "set_ratio": 0.87, "grain_limit": 1.5, "drying_hours": 2.7,
}  # fmt: skip


@pytest.fixture(scope="module")
def pressings() -> Pressings:
    return Pressings()


def learn(
    readings: dict[str, BenchReading], pressings: Pressings, spec: Specification[Any] = LENS
) -> LearnedShelf:
    read = BookRead(readings=readings, designs={"lens": spec})
    return learned_from(read, built_in_catalogue(), RATES, pressings)


@pytest.fixture(scope="module")
def shelf(pressings: Pressings) -> LearnedShelf:
    return learn(READINGS, pressings)


def plain(*readings: BenchReading) -> LearnedShelf:
    """What readings tell that need no pressing."""
    rows = known_rows(built_in_catalogue(), {})
    return learned_shelf({str(k): one for k, one in enumerate(readings)}, rows, {}, RATES)


def kerf(value: float, **more: Any) -> BenchReading:
    return BenchReading(
        what="kerf", subject="MDF 6 mm", value=value, **{"day": date(2026, 3, 2), **more}
    )


def test_the_demo_readings_find_what_they_were_drawn_from(shelf: LearnedShelf) -> None:
    about = shelf.of("leather", LEATHER)
    assert about is not None
    for name, true in TRUE.items():
        (known,) = [one for one in about.known if one.name == name]
        assert known.informed, name
        assert known.now.low <= true <= known.now.high, name
        # what was learned is never vaguer than the catalogue
        assert known.now.high - known.now.low < known.before.high - known.before.low, name
    assert not shelf.unplaced


def test_the_slip_among_the_demo_readings_is_the_only_one_questioned(shelf: LearnedShelf) -> None:
    odd = [READINGS[key] for key, one in shelf.judged.items() if one.questioned]
    assert [one.value for one in odd] == [41.6]
    words = list(in_words(shelf))
    assert sum("is questioned" in line for line in words) == 1
    assert any(line.startswith(f"{LEATHER}: 36 readings count") for line in words)


def test_keeping_the_slip_makes_it_count_and_withdrawing_it_forgets_it_to_the_bit(
    shelf: LearnedShelf, pressings: Pressings
) -> None:
    (odd,) = [key for key, one in shelf.judged.items() if one.questioned]
    kept = learn(READINGS | {odd: replace(READINGS[odd], standing="kept")}, pressings)
    about, with_slip = shelf.of("leather", LEATHER), kept.of("leather", LEATHER)
    assert about is not None
    assert with_slip is not None
    assert not kept.judged[odd].questioned
    # it drags the belief to where honest readings look odd in their turn
    assert with_slip.counted < about.counted
    assert abs(with_slip.result.after.mean - about.result.after.mean).max() > 0.1
    withdrawn = learn(READINGS | {odd: replace(READINGS[odd], standing="withdrawn")}, pressings)
    never = learn({key: one for key, one in READINGS.items() if key != odd}, pressings)
    for one in (withdrawn, never):
        same = one.of("leather", LEATHER)
        assert same is not None
        assert same.result.after.mean.tobytes() == about.result.after.mean.tobytes()
        assert same.result.after.spread.tobytes() == about.result.after.spread.tobytes()


def test_the_dry_size_of_the_lens_case_moves_from_the_catalogues_to_the_workshops_own(
    shelf: LearnedShelf, pressings: Pressings
) -> None:
    across = next(one for one in dry_sizes(LENS, shelf, pressings) if one.direction == "across")
    # the catalogue corrects the plug until the hollow dries to what is asked for: 44.5 mm
    assert across.before.likely == pytest.approx(44.5, abs=0.06)
    measured = [
        one.value / (one.of or 1.0)
        for one in READINGS.values()
        if one.what == "dry size across" and one.design and one.value > 42.0
    ]
    assert across.now.likely == pytest.approx(across.plug_mm * float(np.mean(measured)), abs=0.05)
    assert across.now.high - across.now.low < 0.5 * (across.before.high - across.before.low)
    assert across.now.low <= across.plug_mm * float(np.mean(measured)) <= across.now.high


def test_gap_kerf_plug_blank_hours_minutes_and_price_follow_what_was_measured(
    shelf: LearnedShelf, pressings: Pressings
) -> None:
    effect = effect_on(LENS, shelf, pressings, RATES, built_in_prices(), BenchChoice(), Cache())
    rows = {one.words: (one.catalogue, one.own) for one in effect.moved}
    assert rows["Kerf in the mould board"] == (
        "0.203 mm",
        f"{with_learned(LENS, shelf).spec.tooling.mould_board.kerf_mm:.3f} mm",
    )
    body = dict(with_learned(LENS, shelf).spec.brief.leathers)["body"]
    # one rule: 1.10 times the thickest leather, soaked
    gap = 1.10 * body.thickness_max_mm * (1.0 + body.soak_growth_thickness)
    assert rows["Gap, pair of shells"] == ("1.85 mm", f"{gap:.2f} mm")
    assert all(a != b for a, b in rows.values()), [w for w, (a, b) in rows.items() if a == b]
    # less spring-back and shrinkage: the plug is nearer to what is asked for
    before, now = (float(one.split()[0]) for one in rows["Plug, pair of shells"])
    assert 44.5 < now < before
    assert with_learned(LENS, NOTHING).spec is LENS


def test_a_design_takes_the_own_values_into_every_row_and_says_so(shelf: LearnedShelf) -> None:
    reckoned = with_learned(LENS, shelf)
    leather = dict(reckoned.spec.brief.leathers)["body"]
    about = shelf.of("leather", LEATHER)
    assert about is not None
    for name in ("shrinkage_along", "shrinkage_across", "set_ratio", "drying_hours"):
        assert getattr(leather, name) == pytest.approx(about.own[name])
    assert leather.thickness_mm == pytest.approx(about.own["thickness_mm"])
    assert leather.thickness_max_mm - leather.thickness_min_mm == pytest.approx(0.2)
    for board in (reckoned.spec.tooling.mould_board, reckoned.spec.tooling.template_board):
        own = shelf.of("board", board.name)
        assert own is not None
        assert (board.kerf_mm, board.thickness_mm) == pytest.approx(
            (own.own["kerf_mm"], own.own["thickness_mm"])
        )
    places = {one.place: one for one in learned_remarks(reckoned)}
    assert set(places) == {"body", "mould board", "template board"}
    assert all(one.severity == "note" for one in places.values())
    assert "kerf 0.17 mm, likely" in places["mould board"].sentence
    assert "(catalogue: 0.20 mm)" in places["mould board"].sentence
    # the leather's thirteen: the five that moved furthest of their range, the furthest first
    sentence = places["body"].sentence
    assert sentence.count("(catalogue: ") == 5
    assert sentence.endswith("; and 8 more")
    assert sentence.index("growth in thickness") < sentence.index("stretch that stays")
    assert "shrinkage_along" in leather.source
    assert "measured in this workshop" in leather.source
    # nothing else of the design has changed
    back = replace(
        reckoned.spec,
        brief=replace(reckoned.spec.brief, leathers=LENS.brief.leathers),
        tooling=LENS.tooling,
    )
    assert back == LENS


def test_the_pack_of_a_reckoned_design_carries_the_own_values_and_reads_back_alike(
    shelf: LearnedShelf,
) -> None:
    """What was learned later cannot change the meaning of a pack: its design file stands alone."""
    reckoned = with_learned(LENS, shelf).spec
    back = read_design(write_design(reckoned).encode(), name="design.yaml").specification
    assert back == reckoned
    assert with_learned(back, shelf).used == ()


def test_what_the_maker_has_written_in_the_design_stays(shelf: LearnedShelf) -> None:
    board = replace(LENS.tooling.mould_board, kerf_mm=0.31)
    leather = replace(dict(LENS.brief.leathers)["body"], shrinkage_along=0.02, wet_matrix_MPa=2.0)
    own = replace(
        LENS,
        tooling=replace(LENS.tooling, mould_board=board),
        brief=replace(LENS.brief, leathers=(("body", leather),)),
    )
    reckoned = with_learned(own, shelf).spec
    assert reckoned.tooling.mould_board.kerf_mm == 0.31
    assert reckoned.tooling.mould_board.thickness_mm < 5.95
    body = dict(reckoned.brief.leathers)["body"]
    assert (body.shrinkage_along, body.wet_matrix_MPa) == (0.02, 2.0)
    assert body.shrinkage_across < 0.015


def test_a_workshop_without_readings_reckons_with_the_catalogue() -> None:
    reckoned = with_learned(LENS, plain())
    assert reckoned.spec is LENS
    assert learned_remarks(reckoned) == ()
    assert own_times(plain()) == ()
    assert own_rates(plain(), RATES) == RATES


def test_minutes_and_learning_curve_follow_the_watch(shelf: LearnedShelf) -> None:
    hands = shelf.of("work", HANDS)
    assert hands is not None
    times = {row.name: row for row in own_times(shelf)}
    assert set(times) == {"sew", "trim"}
    from hidewright.planning.step_times import times_with

    built_in = times_with()
    for work, row in times.items():
        factor = hands.own[minutes_name(work)]
        assert row.minutes(30) == pytest.approx(factor * built_in[work].minutes(30))
        assert row.load_minutes == pytest.approx(factor * built_in[work].load_minutes)
    # drawn with 1.2 for sewing and 0.85 for trimming, and a batch learned with exponent 0.12
    assert hands.own[minutes_name("sew")] == pytest.approx(1.2, abs=0.1)
    assert hands.own[minutes_name("trim")] == pytest.approx(0.85, abs=0.1)
    assert own_rates(shelf, RATES).learning == pytest.approx(2.0 ** -hands.own["learning_exponent"])


def test_the_lot_that_was_read_last_is_the_one_in_use() -> None:
    old = kerf(0.3, lot="old tube")
    new = kerf(0.15, lot="new tube", day=date(2026, 6, 1))
    for readings in ((old, new), (new, old)):
        about = plain(*readings).of("board", "MDF 6 mm")
        assert about is not None
        assert about.subject.lot == "new tube"
        assert about.own["kerf_mm"] < 0.2
    withdrawn = plain(old, replace(new, standing="withdrawn")).of("board", "MDF 6 mm")
    assert withdrawn is not None
    assert withdrawn.subject.lot == "old tube"


def test_a_reading_about_nothing_known_is_told_and_the_others_count() -> None:
    told = plain(kerf(0.18), replace(kerf(0.18), subject="MDF of the neighbour"))
    assert told.of("board", "MDF 6 mm") is not None
    ((key, why),) = told.unplaced
    assert key == "1"
    assert "MDF of the neighbour" in why
    pressed = BenchReading(
        what="dry size along", subject=LEATHER, value=44.0, of=45.0, design="gone",
        place="front/hollow", day=date(2026, 3, 2),
    )  # fmt: skip
    ((_, why),) = plain(pressed).unplaced
    assert "not in the book any more" in why


def test_a_measured_board_that_is_not_what_the_design_reckons_with_is_told() -> None:
    thin = BenchReading(what="board thickness", subject="MDF 6 mm", value=5.7, day=date(2026, 3, 2))
    told = plain(thin)
    (remark,) = board_remarks(LENS, told)
    assert (remark.code, remark.severity, remark.place) == (
        "board-not-as-measured",
        "warning",
        "mould board",
    )
    assert remark.amount is not None
    assert remark.amount > 0.1
    assert "6.00 mm" in remark.sentence
    assert board_remarks(with_learned(LENS, told).spec, told) == ()
    assert board_remarks(LENS, plain(replace(thin, value=5.95))) == ()


def test_a_measured_leather_that_wants_another_gap_than_a_design_is_told() -> None:
    thick = [
        BenchReading(what="leather thickness", subject=LEATHER, value=1.7, day=date(2026, 3, day))
        for day in (1, 2, 3)
    ]
    told = plain(*thick)
    (remark,) = gap_remarks(LENS, told)
    assert (remark.code, remark.severity, remark.place) == (
        "gap-not-as-measured",
        "warning",
        "body",
    )
    about = told.of("leather", LEATHER)
    assert about is not None
    # 1.10 x (thickest, soaked): the middle as measured, 0.1 mm more at the thickest
    gap, wanted = 1.1 * 1.6 * 1.05, 1.1 * (about.own["thickness_mm"] + 0.1) * 1.05
    assert f"wants a gap of {wanted:.2f} mm, the design reckons with {gap:.2f} mm" in (
        remark.sentence
    )
    assert "pinched" in remark.sentence
    # reckoned with the own values nothing is off; nor is a leather that is as it should be
    assert gap_remarks(with_learned(LENS, told).spec, told) == ()
    assert gap_remarks(LENS, plain(*(replace(one, value=1.52) for one in thick))) == ()


def test_a_reading_of_drying_hours_is_compared_with_what_its_own_row_foretells() -> None:
    """As many hours as the row foretells leave its time constant where it is."""
    slow = replace(dict(LENS.brief.leathers)["body"], name="slow one", drying_hours=4.5)
    rows = replace(built_in_catalogue(), leathers=(slow,))
    reading = BenchReading(
        what="drying hours", subject="slow one", value=20.0, of=20.0, day=date(2026, 3, 2)
    )
    (about,) = learned_shelf({"r": reading}, rows, {}, RATES).about
    (known,) = [one for one in about.known if one.name == "drying_hours"]
    assert known.informed
    assert known.now.likely == pytest.approx(4.5, rel=1e-6)


def test_what_is_known_reaches_machines_too(shelf: LearnedShelf) -> None:
    figures = as_figures(shelf)
    names = {one["name"] for one in figures["about"]}
    assert names == {"MDF 6 mm", "clear acrylic 5 mm", LEATHER, HANDS}
    assert len(figures["questioned"]) == 1
    known = next(one for one in figures["about"] if one["name"] == "MDF 6 mm")["known"]
    kerf_told = next(one for one in known if one["name"] == "kerf_mm")
    assert kerf_told["before"]["likely"] == pytest.approx(0.203)
    assert kerf_told["now"]["likely"] == pytest.approx(0.172, abs=0.01)

"""Answers about hides, each layout measured anew with polygons by what was asked for."""

import math
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import pytest
import shapely
from shapely import affinity

from hidewright.design.asked_piece import AskedPiece
from hidewright.design.cut_layout import CutLayout, Question, piece_area, yields_of
from hidewright.design.cutting import Placement, turned_copy
from hidewright.design.hide import KEPT_FREE, Corners, Flaw, GradeArea, Hide, ThicknessArea
from hidewright.design.stock_hide import StockHide
from hidewright.errors import RequestError
from hidewright.nesting.acceptance import faults_of
from hidewright.workshop.cutting.asked import CutAsked, articles_of_one
from hidewright.workshop.cutting.layout import check_layout, problem_of
from hidewright.workshop.cutting.moves import settle_layout
from hidewright.workshop.cutting.questions import answer_cut

LEATHER = "shoulder"
SPACING, EDGE = 2.0, 5.0


def box(width: float, height: float, x: float = 0.0, y: float = 0.0) -> Corners:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def piece(name: str, outline: Corners, **asks: object) -> AskedPiece:
    plain = AskedPiece(
        article="case",
        piece=name,
        material=LEATHER,
        outline=outline,
        grade=2,
        clear_of=2,
        lie_deg=90.0,
        tolerance_deg=10.0,
        thickness_mm=(1.4, 1.6),
    )
    return replace(plain, **asks)  # type: ignore[arg-type]


SHELLS = piece("shells", box(90.0, 60.0), grade=1, clear_of=3)
STRAP = piece("strap", ((0.0, 0.0), (70.0, 4.0), (70.0, 16.0), (0.0, 20.0)), tolerance_deg=15.0)
LINING = piece("lining", box(50.0, 50.0), grade=3, clear_of=1, lie_deg=None)
SET = ((SHELLS, 1), (STRAP, 2), (LINING, 1))


def leather(name: str = "a", width: float = 700.0, **known: object) -> StockHide:
    """Return a hide with a bite out of it, two grades, two thicknesses and a flaw of each sort."""
    outline = (
        (0.0, 0.0),
        (width, 0.0),
        (width, 400.0),
        (0.5 * width, 400.0),
        (0.45 * width, 340.0),
        (0.3 * width, 400.0),
        (0.0, 360.0),
    )
    hide = Hide(
        name=name,
        outline=outline,
        areas=(
            GradeArea(grade=1, outline=box(0.6 * width, 420.0, 0.4 * width, -10.0)),
            GradeArea(grade=3, outline=box(0.4 * width, 420.0, 0.0, -10.0)),
        ),
        flaws=(
            Flaw(kind="hole", severity=1, outline=box(12.0, 12.0, 0.2 * width, 150.0)),
            Flaw(kind="scar", severity=2, outline=box(60.0, 6.0, 0.6 * width, 200.0)),
            Flaw(kind="vein", severity=3, outline=box(6.0, 80.0, 0.9 * width, 250.0)),
        ),
        thicknesses=(
            ThicknessArea(thickness_mm=1.5, outline=box(width, 250.0, 0.0, 0.0)),
            ThicknessArea(thickness_mm=1.8, outline=box(width, 160.0, 0.0, 250.0)),
        ),
        backbone_deg=20.0,
    )
    return StockHide(hide=replace(hide, **known), material=LEATHER)  # type: ignore[arg-type]


def asked(question: Question, *hides: StockHide, **changed: object) -> CutAsked:
    plain = CutAsked(
        question=question,
        pieces=SET,
        sets=2,
        hides=tuple((str(n), one) for n, one in enumerate(hides)),
        offered=leather("offered"),
        rounds=400,
        seed=3,
    )
    return replace(plain, **changed)  # type: ignore[arg-type]


def shape(layout: CutLayout, p: Placement) -> shapely.MultiPolygon:
    cut = layout.pieces[p.piece]
    parts = [shapely.Polygon(cut.outline, cut.holes), *map(shapely.Polygon, cut.others)]
    whole = shapely.MultiPolygon(parts)
    if p.mirrored:
        whole = affinity.scale(whole, -1.0, 1.0, origin=(0.0, 0.0))
    turned = affinity.rotate(whole, p.angle_deg, origin=(0.0, 0.0))
    return affinity.translate(turned, p.x_mm, p.y_mm)


def wrongs(layout: CutLayout, wanted: dict[str, int]) -> list[str]:
    """Return what is wrong with a layout, reckoned from the asked pieces alone."""
    found = []
    counts = Counter(layout.pieces[p.piece].name for p in layout.placements)
    if counts != Counter(wanted):
        found.append(f"counts {counts}")
    asks = {one.name: one for one, _ in SET}
    for number, hide in enumerate(layout.hides):
        here = [p for p in layout.placements if p.hide == number]
        shapes = [shape(layout, p) for p in here]
        inner = shapely.Polygon(hide.outline).buffer(-EDGE + 1e-6, join_style="mitre")
        for p, one in zip(here, shapes, strict=True):
            ask = asks[layout.pieces[p.piece].name]
            if not inner.buffer(1e-6).covers(one):
                found.append(f"{ask.piece} off the hide")
            good = [shapely.Polygon(a.outline) for a in hide.areas if a.grade <= ask.grade]
            if hide.areas and one.difference(shapely.union_all(good)).area > 0.01:
                found.append(f"{ask.piece} in a worse grade")
            low, high = ask.thickness_mm or (0.0, 99.0)
            thick = [
                shapely.Polygon(a.outline)
                for a in hide.thicknesses
                if low <= a.thickness_mm <= high
            ]
            if hide.thicknesses and one.difference(shapely.union_all(thick)).area > 0.01:
                found.append(f"{ask.piece} in other thickness")
            for flaw in hide.flaws:
                if flaw.severity <= ask.clear_of and one.intersects(shapely.Polygon(flaw.outline)):
                    found.append(f"{ask.piece} on a {flaw.kind}")
            if ask.lie_deg is not None:
                # the piece's own backbone, turned with it, against the hide's; either way along it
                off = (ask.lie_deg + p.angle_deg - hide.backbone_deg + 90.0) % 180.0 - 90.0
                if abs(off) > ask.tolerance_deg + 1e-9:
                    found.append(f"{ask.piece} {off:.1f} degrees off the backbone")
        for i, one in enumerate(shapes):
            for other in shapes[:i]:
                if one.distance(other) < SPACING - 1e-6:
                    found.append(f"two pieces {one.distance(other):.4f} mm apart")
    return found


@pytest.fixture(scope="module")
def most() -> CutLayout:
    return answer_cut(asked("most sets", leather()))


@pytest.fixture(scope="module")
def least() -> CutLayout:
    return answer_cut(asked("least leather", leather("a"), leather("b", 500.0)))


def of_sets(n: int) -> dict[str, int]:
    return {"case: shells": n, "case: strap": 2 * n, "case: lining": n}


def test_most_sets_is_sound_and_no_more_than_its_bound(most: CutLayout) -> None:
    assert most.sets == most.figure >= 2
    assert most.figure <= most.bound
    assert wrongs(most, of_sets(most.sets)) == []
    assert check_layout(most) == ()
    assert most.articles == (("case", most.sets),)


def test_least_leather_is_sound_and_told_by_what_is_taken(least: CutLayout) -> None:
    assert wrongs(least, of_sets(2)) == []
    pieces = math.fsum(shape(least, p).area for p in least.placements) / 1e6
    kept = math.fsum(rest.hide.area_mm2 for rest in least.rests) / 1e6
    whole = math.fsum(shapely.Polygon(least.hides[n].outline).area for n in least.used_hides) / 1e6
    assert least.pieces_m2 == pytest.approx(pieces, rel=1e-9)
    assert least.taken_m2 == pytest.approx(whole - kept, rel=1e-9)
    assert least.figure == least.taken_m2 >= least.bound == least.pieces_m2
    assert least.yield_share == pytest.approx(pieces / (whole - kept), rel=1e-9)


def test_the_hide_that_is_missed_least_is_cut_first(least: CutLayout) -> None:
    # both are of one leather, and two sets lie on the smaller one
    assert [hide.name for hide in least.hides] == ["b"]
    assert least.hide_ids == ("1",)


def test_what_is_left_overlaps_no_piece(least: CutLayout) -> None:
    for rest in least.rests:
        left = shapely.Polygon(rest.hide.outline)
        pieces = [shape(least, p) for p in least.placements if p.hide == rest.of]
        assert min(left.distance(one) for one in pieces) >= SPACING - 1e-6


def test_several_hides_are_cut_when_one_is_too_small() -> None:
    small = leather("a", 420.0), leather("b", 440.0)
    alone = answer_cut(asked("most sets", small[1])).sets
    both = answer_cut(asked("least leather", *reversed(small), sets=alone + 1, rounds=2000))
    assert set(both.used_hides) == {0, 1}
    assert [hide.name for hide in both.hides] == ["a", "b"]  # the better one is left for last
    assert wrongs(both, of_sets(alone + 1)) == []


@pytest.mark.slow
def test_what_to_buy_counts_only_hides_that_are_not_there() -> None:
    found = answer_cut(asked("what to buy", leather("a", 420.0), sets=8, rounds=1000))
    bought = {n for n in found.used_hides if not found.hide_ids[n]}
    assert found.figure == len(bought) >= found.bound >= 1
    assert wrongs(found, of_sets(8)) == []
    enough = answer_cut(asked("what to buy", leather("a"), sets=1))
    assert (enough.figure, enough.bound) == (0.0, 0.0)


@pytest.mark.parametrize(("width", "count"), [(60.0, 14), (34.0, 40)])
def test_what_area_alone_tells_far_too_little_of_is_found_all_the_same(
    width: float, count: int
) -> None:
    """One square of 60 mm lies on a board of 100 mm, four of 34 mm do; area asks for two thirds."""
    board = replace(leather(), hide=Hide(name="board", outline=box(100.0, 100.0)))
    parts = ((piece("square", box(width, width), grade=3, thickness_mm=None), count),)
    found = answer_cut(
        asked("fewest sheets", sets=1, pieces=parts, hides=(), offered=board, rounds=2000)
    )
    on_one = int(100.0 // width) ** 2
    assert found.figure == math.ceil(count / on_one) == len(found.hides)
    assert sorted(found.used_hides) == list(range(len(found.hides)))


def test_one_more_set_takes_at_least_its_own_area() -> None:
    more = answer_cut(asked("one more set", leather("a"), sets=1, rounds=200))
    one_set = sum(piece_area(p.as_cutting(1)) * n for p, n in SET) / 1e6
    assert wrongs(more, of_sets(2)) == []
    assert more.bound == pytest.approx(one_set, rel=1e-9)
    assert more.figure >= more.bound


def test_the_same_rounds_and_seed_give_the_same_layout() -> None:
    calls = 0

    def called_off() -> bool:
        nonlocal calls
        calls += 1
        return calls > 150

    hides = (leather("b", 500.0),)
    stopped = answer_cut(asked("least leather", *hides, rounds=10**12), called_off=called_off)
    again = answer_cut(asked("least leather", *hides, rounds=stopped.rounds))
    assert again.placements == stopped.placements


def test_each_layout_that_is_shown_on_the_way_is_sound_already(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("hidewright.workshop.cutting.questions.SHOWN_EVERY_S", 0.0)
    shown: list[CutLayout] = []
    last = answer_cut(asked("most sets", leather()), show=shown.append)
    assert shown
    assert shown[-1].placements == last.placements
    for layout in shown:
        assert wrongs(layout, of_sets(layout.sets)) == []


def test_what_the_checker_refuses_is_not_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("hidewright.workshop.cutting.questions.SHOWN_EVERY_S", 0.0)
    monkeypatch.setattr("hidewright.workshop.cutting.questions.faults_of", lambda *_: ("refused",))
    shown: list[CutLayout] = []
    answer_cut(asked("most sets", leather(), rounds=60), show=shown.append)
    assert shown == []


def test_a_blank_that_makes_two_articles_is_cut_once_for_two() -> None:
    pair = piece("pair", box(90.0, 120.0), grade=1, articles=2)
    assert articles_of_one(((pair, 1), (STRAP, 1))) == 2
    assert articles_of_one(((pair, 2), (STRAP, 1))) == 1
    assert articles_of_one(((pair, 1), (replace(pair, articles=3), 2))) == 6
    pieces = ((pair, 1), (STRAP, 1))
    found = answer_cut(asked("most sets", leather(), pieces=pieces, rounds=100))
    counts = Counter(found.pieces[p.piece].name for p in found.placements)
    assert counts["case: strap"] == found.sets == 2 * counts["case: pair"]
    three = answer_cut(asked("least leather", leather(), pieces=pieces, sets=3, rounds=100))
    assert sum(three.pieces[p.piece].name == "case: pair" for p in three.placements) == 2


def test_mates_lie_in_leather_of_one_thickness_though_each_would_take_more() -> None:
    pair = piece("mates", box(60.0, 40.0), others=(box(60.0, 40.0, 62.0),), thickness_mm=(1.4, 1.9))
    pieces = ((replace(pair, mates=True), 1),)
    found = answer_cut(asked("most sets", leather(), pieces=pieces, rounds=80))
    assert check_layout(found) == ()
    # 1.5 mm below y = 250 and 1.8 mm above: either will do, but none lies across
    sides = [
        (b[3] <= 250.0, b[1] >= 250.0) for b in (shape(found, p).bounds for p in found.placements)
    ]
    assert set(sides) == {(True, False), (False, True)}


@pytest.mark.parametrize(
    ("thicknesses", "lies"),
    [((2.09, 2.11), True), ((2.0, 2.2), True), ((2.0, 2.25), False), ((2.25, 2.0), False)],
)
def test_mates_lie_across_two_thicknesses_where_these_differ_by_no_more_than_0_2_mm(
    thicknesses: tuple[float, float], lies: bool
) -> None:
    pair = piece(
        "mates",
        box(60.0, 80.0),
        others=(box(60.0, 80.0, 62.0),),
        thickness_mm=(1.8, 2.4),
        lie_deg=0.0,
        tolerance_deg=0.0,
    )
    halves = tuple(
        ThicknessArea(thickness_mm=t, outline=box(70.0, 100.0, k * 70.0))
        for k, t in enumerate(thicknesses)
    )
    narrow = Hide(name="narrow", outline=box(140.0, 100.0), thicknesses=halves)
    stock = StockHide(hide=narrow, material=LEATHER)
    question = asked(
        "most sets", stock, pieces=((replace(pair, mates=True), 1),), rounds=20, edge_margin_mm=2.0
    )
    if lies:
        assert answer_cut(question).sets == 1
    else:
        with pytest.raises(RequestError, match="fits nowhere") as refused:
            answer_cut(question)
        assert "alike within 0.2 mm" in (refused.value.because or "")
    # the checker comes to the same, of a layout that no search has made
    freely = answer_cut(replace(question, pieces=((pair, 1),)))
    strict = replace(freely, pieces=(replace(pair, mates=True).as_cutting(1),))
    assert (check_layout(strict) == ()) is lies


def test_mates_of_a_batch_share_out_over_hides_of_several_thicknesses() -> None:
    pair = piece(
        "mates",
        box(60.0, 40.0),
        others=(box(60.0, 40.0, 62.0),),
        thickness_mm=(1.3, 2.0),
        mates=True,
        grade=3,
        clear_of=1,
    )

    def hide(name: str, *bands: float) -> StockHide:
        """A hide of 400 x 200 mm whose bands lie side by side."""
        wide = 400.0 / len(bands)
        areas = tuple(
            ThicknessArea(thickness_mm=t, outline=box(wide, 200.0, k * wide))
            for k, t in enumerate(bands)
        )
        hole = Flaw(kind="hole", severity=1, outline=box(4.0, 4.0, 20.0, 20.0))
        whole = Hide(name=name, outline=box(400.0, 200.0), thicknesses=areas, flaws=(hole,))
        return StockHide(hide=whole, material=LEATHER)

    hides = (hide("thin", 1.3), hide("even", 1.6, 1.8), hide("thick", 2.0))
    found = answer_cut(
        asked("least leather", *hides, pieces=((pair, 1),), sets=14, rounds=400, spacing_mm=2.0)
    )
    assert check_layout(found) == ()
    assert sum(found.pieces[p.piece].name == "case: mates" for p in found.placements) == 14
    for p in found.placements:
        bands = [
            area.thickness_mm
            for area in found.hides[p.hide].thicknesses
            if shapely.Polygon(area.outline).intersection(shape(found, p)).area > 1e-6
        ]
        assert max(bands) - min(bands) <= 0.2 + 1e-9
    assert len({p.hide for p in found.placements}) > 1


# -- by hand


def test_what_is_pinned_stays_to_the_bit_and_the_rest_settles_round_it(most: CutLayout) -> None:
    free = [p for p in most.placements if most.pieces[p.piece].name == "case: strap"]
    middle = (450.0, 120.0)
    target = min(free, key=lambda p: math.dist((p.x_mm, p.y_mm), middle))
    there = turned_copy(target, 0.0, (3.7, 1.3))
    key = (there.piece, there.copy)
    placements = tuple(there if (p.piece, p.copy) == key else p for p in most.placements)
    settled = settle_layout(most, placements, (key,), rounds=3000)
    assert there in settled.placements
    assert wrongs(settled, of_sets(most.sets)) == []
    assert settled.pinned == (key,)


def test_a_search_keeps_what_is_pinned_where_it_is(most: CutLayout) -> None:
    fixed = (most.placements[0], most.placements[-1])
    again = answer_cut(asked("most sets", leather(), fixed=fixed, rounds=200, seed=8))
    assert set(fixed) <= set(again.placements)
    assert wrongs(again, of_sets(again.sets)) == []


def test_a_place_kept_free_is_left_even_by_what_bears_any_flaw(least: CutLayout) -> None:
    place = shapely.box(*shape(least, least.placements[0]).bounds)
    corners = tuple((x, y) for x, y in place.exterior.coords[:-1])
    hide = least.hides[0]
    free = Flaw(kind="kept free", severity=KEPT_FREE, outline=corners)
    changed = replace(least, hides=(replace(hide, flaws=(*hide.flaws, free)),))
    settled = settle_layout(changed, least.placements, (), rounds=3000)
    assert all(not shape(settled, p).intersects(place) for p in settled.placements)
    assert wrongs(settled, of_sets(2)) == []


def test_a_pin_on_a_flaw_is_refused_in_words(least: CutLayout) -> None:
    p = next(p for p in least.placements if least.pieces[p.piece].name == "case: shells")
    hole = next(flaw for flaw in least.hides[0].flaws if flaw.kind == "hole")
    x, y = hole.outline[0]
    there = replace(p, x_mm=x, y_mm=y)
    moved = tuple(there if q == p else q for q in least.placements)
    with pytest.raises(RequestError, match=r"shells on hide b .*\. Move it elsewhere"):
        settle_layout(least, moved, ((p.piece, p.copy),), rounds=50)


Spoil = Callable[[CutLayout, Placement], Placement]


def _into(x: float, y: float) -> Spoil:
    """Return what moves a copy so that its middle lies somewhere."""

    def move(layout: CutLayout, p: Placement) -> Placement:
        middle = shape(layout, p).centroid
        return replace(p, x_mm=p.x_mm + x - middle.x, y_mm=p.y_mm + y - middle.y)

    return move


#: On hide b, 500 mm wide: thick from y = 250 on, grade 3 left of x = 200, the hole at (100, 150).
SPOILT: tuple[tuple[str, Spoil, str], ...] = (
    ("turned", lambda _, p: replace(p, angle_deg=p.angle_deg + 1.0), "is turned by"),
    ("mirrored", lambda _, p: replace(p, mirrored=True), "wrong face up"),
    ("thick", _into(400.0, 320.0), "other thickness"),
    ("poor", _into(120.0, 60.0), "grade is worse"),
    ("holed", _into(106.0, 156.0), "touches a flaw"),
    ("off", _into(500.0, 100.0), "over its edge"),
)


@pytest.mark.parametrize(("name", "spoil", "words"), SPOILT, ids=[name for name, _, _ in SPOILT])
def test_the_checker_names_what_is_spoilt(
    least: CutLayout, name: str, spoil: Spoil, words: str
) -> None:
    p = next(p for p in least.placements if least.pieces[p.piece].name == "case: shells")
    bad = replace(
        least, placements=tuple(spoil(least, q) if q == p else q for q in least.placements)
    )
    assert any("shells" in fault and words in fault for fault in check_layout(bad))


def test_the_checker_misses_no_copy_and_no_pin(least: CutLayout) -> None:
    problem = problem_of(least)
    assert faults_of(problem, least.placements) == ()
    assert any("instead of" in fault for fault in faults_of(problem, least.placements[1:]))
    p = least.placements[0]
    pinned = replace(problem, fixed=(replace(p, x_mm=p.x_mm + 1e-9),))
    assert any("was fixed and is not there" in f for f in faults_of(pinned, least.placements))


@pytest.mark.parametrize("by", [(0.05, 0.0), (0.0, 0.05), (-0.05, 0.0), (0.0, -0.05)])
def test_the_checker_refuses_a_layout_squeezed_by_a_twentieth(by: tuple[float, float]) -> None:
    # two squares exactly the spacing apart, and both the margin from the edge
    square = piece("square", box(40.0, 40.0), lie_deg=0.0, tolerance_deg=0.0, thickness_mm=None)
    hide = Hide(name="a", outline=box(2 * 40.0 + SPACING + 2 * EDGE, 40.0 + 2 * EDGE))
    at = [
        Placement(piece=0, copy=n, hide=0, angle_deg=0.0, x_mm=EDGE + n * 42.0, y_mm=EDGE)
        for n in (0, 1)
    ]
    layout = CutLayout(
        title="",
        material=LEATHER,
        question="least leather",
        sets=2,
        articles=(),
        hides=(hide,),
        hide_ids=("",),
        pieces=(square.as_cutting(2),),
        placements=tuple(at),
        spacing_mm=SPACING,
        edge_margin_mm=EDGE,
        figure=0.0,
        bound=0.0,
        rounds=1,
        seed=1,
        seconds=0.0,
    )
    assert check_layout(layout) == ()
    moved = replace(at[0], x_mm=at[0].x_mm + by[0], y_mm=at[0].y_mm + by[1])
    assert check_layout(replace(layout, placements=(moved, at[1]))) != ()
    assert problem_of(layout).pieces[0].count == 2


# -- bad requests, yields


def test_the_yield_of_a_leather_counts_its_layouts_by_area(
    most: CutLayout, least: CutLayout
) -> None:
    other = replace(least, material="side")
    yields = dict(yields_of((most, least, other)))
    taken = most.taken_m2 + least.taken_m2
    assert yields[LEATHER] == pytest.approx((most.pieces_m2 + least.pieces_m2) / taken)
    assert yields["side"] == pytest.approx(least.yield_share)


WIDE = piece("flap", box(300.0, 300.0))
BAD: tuple[tuple[dict[str, object], str], ...] = (
    ({"sets": 0}, "0 sets are asked for.*one or more"),
    ({"pieces": ()}, "nothing to cut"),
    ({"pieces": ((replace(SHELLS, material="side"), 1),)}, "a hide of shoulder.*cut from side"),
    (
        {"pieces": ((SHELLS, 1), (replace(STRAP, material="side"), 1))},
        "pieces of shoulder and of side",
    ),
    (
        {"pieces": ((WIDE, 1),)},
        r"flap fits nowhere.*1\.4 to 1\.6 mm thick.*mm, \d+\.\d mm too little",
    ),
    ({"sets": 400}, "400 sets do not lie on"),
)


@pytest.mark.parametrize(("changed", "words"), BAD, ids=[words[:20] for _, words in BAD])
def test_a_request_that_cannot_be_met_is_refused_in_words(
    changed: dict[str, object], words: str
) -> None:
    with pytest.raises(RequestError, match=words):
        answer_cut(asked("least leather", leather(), **changed))


def test_a_search_that_ends_before_it_found_anything_asks_for_longer() -> None:
    question = asked("least leather", leather(), leather())
    with pytest.raises(RequestError, match=r"was found so soon.*search longer"):
        answer_cut(question, called_off=lambda: True)


def test_a_hide_that_crosses_itself_is_refused_in_words() -> None:
    crossed = leather(outline=((0.0, 0.0), (700.0, 400.0), (700.0, 0.0), (0.0, 400.0)))
    with pytest.raises(RequestError, match="the outline of hide a crosses or touches itself"):
        answer_cut(asked("most sets", crossed))


def test_most_sets_are_asked_of_one_hide() -> None:
    with pytest.raises(RequestError, match="most sets from 2 hides"):
        answer_cut(asked("most sets", leather("a"), leather("b")))

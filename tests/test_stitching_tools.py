from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.catalogue.shelf import built_in_catalogue, find
from hidewright.design.choices import SewingChoice
from hidewright.design.seam import Hole, SewnEdge, SewnSeam
from hidewright.errors import Remark, RequestError
from hidewright.stitching.needle_and_thread import (
    choose_awl,
    choose_needle,
    choose_thread,
    tools_for,
)

SHELF = built_in_catalogue()


def _sewn(pitch: float, stack: float = 3.0) -> SewnSeam:
    holes = tuple(Hole(at=(i * pitch, 0.0), slant=0.7) for i in range(20))
    edge = SewnEdge(piece="front", span="rim", holes=holes)
    return SewnSeam(
        name="rim",
        layers=(edge, edge),
        pitch_mm=(pitch, pitch),
        anchors=(0, 19),
        reverse_stitches=3,
        stack_mm=stack,
        thread_mm=1000.0,
    )


def _tools(pitch: float, thread: str, choice: SewingChoice) -> dict[str, Remark]:
    _, remarks = tools_for(
        _sewn(pitch), find(SHELF.threads, thread), SHELF.threads, SHELF.needles, SHELF.awls, choice
    )
    return {r.code: r for r in remarks}


@given(pitch=st.floats(2.7, 6.3), like=st.sampled_from(SHELF.threads))
def test_the_thread_chosen_suits_the_pitch_and_keeps_the_fibre_where_it_can(
    pitch: float, like: object
) -> None:
    liked = next(t for t in SHELF.threads if t is like)
    chosen = choose_thread(pitch, SHELF.threads, liked)
    suits = [t for t in SHELF.threads if t.pitch_min_mm <= pitch <= t.pitch_max_mm]
    assert chosen in suits
    assert chosen.fibre == liked.fibre or all(t.fibre != liked.fibre for t in suits)


@pytest.mark.parametrize("pitch", [1.5, 9.0])
def test_beyond_all_ranges_the_nearest_thread_is_chosen(pitch: float) -> None:
    chosen = choose_thread(pitch, SHELF.threads)
    nearest = min(
        min(abs(pitch - t.pitch_min_mm), abs(pitch - t.pitch_max_mm)) for t in SHELF.threads
    )
    gap = min(abs(pitch - chosen.pitch_min_mm), abs(pitch - chosen.pitch_max_mm))
    assert gap == pytest.approx(nearest)


@pytest.mark.parametrize(
    ("thread", "stack", "needle"),
    [
        ("waxed polyester 0.45 mm", 3.0, "no. 4"),
        ("waxed polyester 0.80 mm", 3.0, "no. 2"),
        ("waxed polyester 0.80 mm", 6.0, "no. 1"),
        ("waxed polyester 1.00 mm", 3.0, "no. 2/0"),
    ],
)
def test_the_needle_is_the_thinnest_whose_eye_takes_the_thread(
    thread: str, stack: float, needle: str
) -> None:
    assert choose_needle(find(SHELF.threads, thread), stack, SHELF.needles).name == needle


def test_a_thread_thicker_than_all_needles_gets_the_thickest() -> None:
    rope = replace(SHELF.threads[0], diameter_mm=3.0)
    assert choose_needle(rope, 9.0, SHELF.needles).name == "no. 3/0"


@pytest.mark.parametrize("thread", SHELF.threads)
def test_the_awl_is_the_narrowest_that_lets_the_second_needle_pass_the_thread(
    thread: object,
) -> None:
    chosen_thread = next(t for t in SHELF.threads if t is thread)
    needle = choose_needle(chosen_thread, 3.0, SHELF.needles)
    awl = choose_awl(chosen_thread, needle, "slanted", SHELF.awls)
    wide_enough = [
        a.width_mm
        for a in SHELF.awls
        if a.section == "diamond" and a.width_mm >= needle.diameter_mm + chosen_thread.diameter_mm
    ]
    assert awl.section == "diamond"
    assert awl.width_mm == min(wide_enough)
    assert choose_awl(chosen_thread, needle, "round", SHELF.awls).section == "round"


def test_an_empty_shelf_is_refused_in_words() -> None:
    thread, needle = SHELF.threads[0], SHELF.needles[0]
    with pytest.raises(RequestError, match="no thread"):
        choose_thread(4.0, ())
    with pytest.raises(RequestError, match="no needle"):
        choose_needle(thread, 3.0, ())
    with pytest.raises(RequestError, match="no round awl"):
        choose_awl(thread, needle, "round", [a for a in SHELF.awls if a.section == "diamond"])


@pytest.mark.parametrize(
    ("pitch", "thread", "code"),
    [
        (4.4, "waxed polyester 0.80 mm", None),
        (3.0, "waxed polyester 0.80 mm", "thread-too-thick"),
        (4.4, "waxed polyester 0.45 mm", "thread-too-thin"),
    ],
)
def test_a_thread_that_does_not_suit_the_pitch_is_said_with_one_that_does(
    pitch: float, thread: str, code: str | None
) -> None:
    found = _tools(pitch, thread, SewingChoice())
    assert set(found) == ({code} if code else set())
    if code:
        (remedy,) = found[code].remedies
        better = find(SHELF.threads, remedy.value)
        assert better.fibre == "polyester"
        assert _tools(pitch, better.name, SewingChoice()) == {}


def test_an_awl_wider_than_the_marked_slit_is_noted() -> None:
    found = _tools(5.5, "waxed polyester 1.00 mm", SewingChoice())
    assert set(found) == {"awl-wider-than-hole"}
    assert found["awl-wider-than-hole"].remedies[0].value == "2.45 mm"
    assert _tools(5.5, "waxed polyester 1.00 mm", SewingChoice(slit_mm=2.45)) == {}

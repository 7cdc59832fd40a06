"""What a file with a nesting problem may hold, and in what words the rest is refused."""

import json
from typing import Any

import pytest

from hidewright.errors import RequestError
from hidewright.nesting.soundness import refuse_unsound
from hidewright.store.json_fields import LARGEST_BYTES
from hidewright.store.nest_problem import read_problem
from hidewright.workshop.cutting.problem import cut_problem

SQUARE = [[0, 0], [10, 0], [10, 10], [0, 10]]
FIELD = [[0, 0], [100, 0], [100, 100], [0, 100]]


def hide(**changed: Any) -> dict[str, Any]:
    item = {"id": "a", "per_set": 1, "grade": 1, "rotations": [0, 180], "outline": SQUARE}
    zone = {"grade": 1, "parts": [{"outline": FIELD}]}
    flaw = {"kind": "scar", "severity": 2, "outline": [[50, 50], [60, 50], [60, 60]]}
    whole = {
        "problem": "hide",
        "outline": FIELD,
        "zones": [zone],
        "flaws": [flaw],
        "spacing": 2.0,
        "edge_margin": 5.0,
        "items": [item],
        "batch_sets": 3,
    }
    return {**whole, **changed}


def read(problem: dict[str, Any], goal: str | None = None) -> None:
    refuse_unsound(read_problem(json.dumps(problem).encode(), name="p.json", goal=goal))


def item(**changed: Any) -> dict[str, Any]:
    return {**hide()["items"][0], **changed}


def test_a_sound_problem_is_read() -> None:
    found = read_problem(json.dumps(hide()).encode(), name="p.json", goal="length")
    assert (found.goal, found.sets, found.spacing_mm, found.edge_margin_mm) == (
        "length",
        3,
        2.0,
        5.0,
    )
    # severity 1 mars every grade, 2 grades 1 and 2, 3 only grade 1
    for grade, clear_of in ((1, 3), (2, 2), (3, 1)):
        one = read_problem(json.dumps(hide(items=[item(grade=grade)])).encode(), name="p.json")
        assert one.pieces[0].clear_of == clear_of


BAD: tuple[tuple[dict[str, Any], str], ...] = (
    (hide(problem="quilt"), "a problem of kind 'quilt'.*strip, hide, sheet, hide-bins"),
    (hide(outline=[[0, 0], [100, 100], [100, 0], [0, 100]]), "hide 0 crosses or touches itself"),
    (hide(outline=[[0, 0], [1, 1]]), "outline: no outline"),
    (hide(outline=[[0, 0], ["a", 1], [2, 2]]), "'a' is no number"),
    (
        hide(flaws=[{"severity": 1, "outline": [[200, 0], [210, 0], [210, 9]]}]),
        "lies outside hide 0",
    ),
    (hide(flaws=[{"severity": 4, "outline": SQUARE}]), "severity: 4: it must be .* from 1 to 3"),
    (hide(items=[]), "no list of 1 to"),
    (hide(items=[item(outline=[[0, 0], [9, 9], [9, 0], [0, 9]])]), "piece a crosses"),
    (hide(items=[item(per_set=0)]), "per_set: 0: it must be a whole number from 1"),
    (hide(items=[item(rotations=[])]), "no rotations"),
    (hide(items=[item(), item()]), "two pieces are called 'a'"),
    (hide(spacing=-1), "spacing: -1: it must be 0"),
    (hide(spacing=True), "'True' is no number"),
    (hide(items=[item(mirrored="no")]), "Write true or false"),
)


@pytest.mark.parametrize(("problem", "words"), BAD, ids=[words[:30] for _, words in BAD])
def test_a_bad_problem_is_refused_in_words(problem: dict[str, Any], words: str) -> None:
    with pytest.raises(RequestError, match=words):
        read(problem)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b'{"problem": NaN}', "the number NaN"),
        (b'{"problem": "hide", "outline": [[1e999, 0], [1, 1], [0, 1]]}', "endless number"),
        (b"{", "line 1 is not JSON"),
        (b"[" * 100_000, "nested too deeply"),
        (b"[1]", "no object with fields"),
        (b"\xff", "not UTF-8"),
        (b" " * (LARGEST_BYTES + 1), "a nesting problem has at most 8 MB"),
    ],
    ids=["NaN", "1e999", "cut off", "deep", "list", "not UTF-8", "large"],
)
def test_bad_bytes_are_refused_in_words(data: bytes, words: str) -> None:
    with pytest.raises(RequestError, match=words):
        read_problem(data, name="p.json")


def test_a_length_needs_a_number_of_sets() -> None:
    with pytest.raises(RequestError, match="Give batch_sets, or ask for the goal sets"):
        read(hide(batch_sets=None), "length")
    with pytest.raises(RequestError, match="batch_sets: 0"):
        read(hide(batch_sets=0), "length")


def test_a_report_names_items_as_the_file_does() -> None:
    found = cut_problem(
        json.dumps(hide()).encode(), name="p.json", goal="length", rounds=50, seconds=None, seed=1
    )
    assert sorted((p.item, p.copy, p.bin) for p in found.placements) == [
        ("a", copy, "0") for copy in range(3)
    ]
    assert found.checked
    assert found.figure >= found.bound


@pytest.mark.parametrize(
    ("rounds", "seconds", "seed"), [(0, None, 1), (None, None, 1), (5, -1.0, 1), (5, None, -1)]
)
def test_a_budget_must_be_one(rounds: int | None, seconds: float | None, seed: int) -> None:
    with pytest.raises(RequestError):
        cut_problem(
            json.dumps(hide()).encode(),
            name="p.json",
            goal=None,
            rounds=rounds,
            seconds=seconds,
            seed=seed,
        )

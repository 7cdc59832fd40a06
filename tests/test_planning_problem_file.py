"""Reading problems: what is wrong is said in words; what is printed can be had again."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from hidewright.cli import app
from hidewright.errors import RequestError
from hidewright.planning.acceptance import breaches
from hidewright.planning.plan import Plan
from hidewright.planning.problem import Span
from hidewright.store.plan_problem import read_problem

SMALL: dict[str, Any] = {
    "name": "two pouches",
    "persons": 1,
    "hours": [[540, 750], [810, 1020]],
    "weekdays": [0, 1, 2, 3, 4],
    "capacity": {"mould": 1},
    "booth_ops": [12, 22],
    "flush_minutes": 20,
    "lots": [{"order": 0}, {"order": 1}],
    "orders": [{"name": "first", "due": 9000}, {"name": "second"}],
    "ops": [
        [10, 0, "press", 10, "never", 1, None],
        [11, 0, "demould", 4, "never", 1, None],
        [12, 0, "dye", 12, "never", 1, "black"],
        [20, 1, "press", 10, "never", 1, None],
        [21, 1, "demould", 4, "never", 1, None],
        [22, 1, "dye", 12, "never", 1, "brown"],
        [23, 1, "sew", 90, "any", 1, None],
    ],
    "waits": [
        [10, 11, 720, None],
        [11, 12, 0, 30],
        [20, 21, 720, None],
        [21, 22, 0, 30],
        [22, 23, 60, None],
    ],
    "holds": [["mould", 10, 11, 1], ["mould", 20, 21, 1]],
}


def changed(**fields: Any) -> bytes:
    return json.dumps({**copy.deepcopy(SMALL), **fields}).encode()


def test_the_numbers_of_the_file_are_kept_in_what_is_printed(tmp_path: Path) -> None:
    file = tmp_path / "problem.json"
    file.write_bytes(changed(orders=[{}, {}]))
    printed = CliRunner().invoke(
        app, ["plan", "--problem", str(file), "--rounds", "2500", "--seed", "4", "--json"]
    )
    told = json.loads(printed.output)
    assert [row[0] for row in told["starts"]] == [row[0] for row in SMALL["ops"]]
    assert (told["status"], told["checked"], told["seed"]) == ("optimal", True, 4)
    asked = read_problem(changed(), name="x")
    spans = tuple(
        Span(operation=i, start=start, end=end, person=0)
        for i, (_, times) in enumerate(told["starts"])
        for start, end in times
    )
    plan = Plan(spans=tuple(sorted(spans)))
    assert breaches(asked.problem, plan) == ()
    assert plan.finish == told["value"] == told["bound"]


def test_the_rounds_told_after_a_stop_by_the_clock_give_the_same_bytes(tmp_path: Path) -> None:
    file = tmp_path / "problem.json"
    row = {**SMALL, "persons": 2, "ops": [[*r[:3], r[3] + 7, *r[4:]] for r in SMALL["ops"]]}
    file.write_text(json.dumps(row))

    def printed(*options: str) -> dict[str, Any]:
        done = CliRunner().invoke(app, ["plan", "--problem", str(file), "--json", *options])
        assert done.exit_code == 0, done.output
        told: dict[str, Any] = json.loads(done.output)
        return told

    by_clock = printed("--seconds", "0.3")
    again = printed("--rounds", str(by_clock["rounds"]))
    assert {**again, "seconds": 0.3} == by_clock
    assert printed("--rounds", "7") == printed("--rounds", "7")


def test_a_published_problem_is_read_and_proven(tmp_path: Path) -> None:
    two_machines = {
        "kind": "jobshop",
        "capacity": [1, 1],
        "duration": [3, 2, 2, 4],
        "demand": [[1, 0], [0, 1], [0, 1], [1, 0]],
        "lags": [[0, 1, 3], [2, 3, 2]],
    }
    file = tmp_path / "shop.json"
    file.write_text(json.dumps(two_machines))
    told = json.loads(CliRunner().invoke(app, ["plan", "--problem", str(file), "--json"]).output)
    assert (told["value"], told["bound"], told["status"]) == (7, 7, "optimal")


WRONG: tuple[tuple[str, dict[str, Any], str], ...] = (
    ("a step longer than any window", {"ops": [[1, 0, "press", 211, "never", 1, None]],
      "waits": [], "holds": [], "booth_ops": []}, "longest working window has 210"),
    ("a mould that is not there", {"holds": [["cavity", 10, 11, 1]]}, "no station 'cavity'"),
    ("more than there are", {"holds": [["mould", 10, 11, 2]]}, "there are 1"),
    ("a circle", {"waits": [[10, 11, 0, None], [11, 12, 0, None], [12, 10, 0, None]]}, "circle"),
    ("a largest wait below the least", {"waits": [[11, 12, 30, 5]]}, "at most 5 minutes"),
    ("due in the past", {"now": 3000, "orders": [{"due": 2000}, {}]}, "that is past"),
    ("an operation given twice", {"ops": [SMALL["ops"][0], SMALL["ops"][0]]}, "given twice"),
    ("a wait for nothing", {"waits": [[10, 99, 0, None]]}, "no operation 99"),
    ("half a minute", {"ops": [[10, 0, "press", 1.5, "never", 1, None]],
      "booth_ops": []}, "no whole number"),
    ("a kind that is none", {"ops": [[10, 0, "press", 1, "often", 1, None]],
      "booth_ops": []}, "never, breaks, any"),
    ("nothing to do", {"ops": []}, "at least one"),
    ("no hours", {"hours": []}, "without working hours"),
    ("hours that cross", {"hours": [[540, 750], [700, 900]]}, "do not overlap"),
    ("nobody", {"persons": 0}, "whole number from 1"),
    ("a row too short", {"waits": [[10, 11]]}, "Give 4 values"),
    ("a hold the wrong way round", {"holds": [["mould", 11, 10, 1]]}, "does not wait for"),
    ("an order that is not there", {"lots": [{"order": 0}, {"order": 7}]}, "belongs to order 7"),
    ("half of a step fixed", {"fixed": [[10, 540, 545, 0]]}, "in one go"),
)  # fmt: skip


@pytest.mark.parametrize(("fields", "words"), [row[1:] for row in WRONG], ids=[r[0] for r in WRONG])
def test_what_is_wrong_is_said_with_the_file_and_the_words(
    fields: dict[str, Any], words: str
) -> None:
    with pytest.raises(RequestError) as refused:
        read_problem(changed(**fields), name="batch.json")
    assert words in str(refused.value)
    assert "batch.json" in str(refused.value)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"[]",
        b"{",
        b"\xff\xfe",
        b'{"ops": NaN}',
        b'{"duration": 3}',
        b"[" * 100_000,
        b"1" * 9_000,
    ],
)
def test_what_is_no_problem_is_refused(data: bytes) -> None:
    with pytest.raises(RequestError):
        read_problem(data, name="batch.json")


def test_a_file_longer_than_any_problem_is_refused() -> None:
    with pytest.raises(RequestError, match="at most 4 MB"):
        read_problem(b" " * 4_000_001, name="batch.json")


@pytest.mark.parametrize("option", [("--rounds", "0"), ("--seed", "-1"), ("--seconds", "-2")])
def test_rounds_seed_and_seconds_that_are_none_are_refused(
    option: tuple[str, str], tmp_path: Path
) -> None:
    file = tmp_path / "problem.json"
    file.write_bytes(changed())
    done = CliRunner().invoke(app, ["plan", "--problem", str(file), *option])
    assert isinstance(done.exception, RequestError)

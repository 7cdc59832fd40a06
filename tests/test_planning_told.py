"""How far a search is told, and it can be given up, without the clock changing what it finds."""

import io
import sys
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import pytest

from batch_made import batch, order
from hidewright.app import answers_batch
from hidewright.app.asked_batch import PlanAsked, Planned
from hidewright.cli.batch import plan
from hidewright.planning.exact import prove
from hidewright.planning.plan import Answer
from hidewright.planning.schedule import SMALL_SEARCH, Budget, Standing, schedule
from hidewright.store.plan_problem import read_problem
from hidewright.workshop.batch.budget import budget_for
from hidewright.workshop.batch.week import USUAL_ROUNDS
from hidewright.workshop.compiling import WORDS
from test_planning_spans import small

PUBLISHED = Path(__file__).parent / "published" / "planning"
USUAL = Budget(rounds=1000, proof_rounds=4000)


class GivenUp(Exception):  # noqa: N818 - it is no mistake
    """Nobody waits for the plan any more."""


@pytest.mark.parametrize(
    "seed", [0, *(pytest.param(k, marks=pytest.mark.slow) for k in range(1, 4))]
)
def test_who_is_told_slowly_gets_the_same_proven_plan(seed: int) -> None:
    """Each is left feasible by the rounds of search alone."""
    problem = small(seed)
    said: list[Standing] = []

    def told(standing: Standing) -> None:
        said.append(standing)
        time.sleep(0.05 if standing.proving else 0.0)

    answer = schedule(problem, seed=0, budget=replace(USUAL, told=told))
    assert answer == schedule(problem, seed=0, budget=USUAL)
    assert answer == schedule(problem, seed=0, budget=Budget(rounds=answer.rounds))
    assert answer.status == "optimal"
    assert schedule(problem, seed=0, budget=Budget(rounds=200)).status == "feasible"
    assert answer.plan is not None
    searched = [one.rounds for one in said if not one.proving]
    assert searched == sorted(set(searched)), "a round is told once"
    assert any(one.proving for one in said)
    assert all((one.finish or 0) >= answer.plan.finish for one in said)


def test_what_is_raised_by_whom_is_told_ends_a_proof() -> None:
    """The proof is one that goes on for hours."""
    problem = read_problem((PUBLISHED / "j6025_1.json").read_bytes(), name="j60").problem
    asked = 0

    def stops() -> bool:
        nonlocal asked
        asked += 1
        if asked == 5:
            raise GivenUp
        return False

    with pytest.raises(GivenUp):
        prove(problem, bound=0, hint=None, latest=400, seed=0, effort=10**6, stops=stops)
    assert asked == 5


def test_a_proof_that_is_to_stop_keeps_what_it_has() -> None:
    problem = read_problem((PUBLISHED / "j6025_1.json").read_bytes(), name="j60").problem
    answers = iter([False] * 5 + [True] * 10**4)
    proof = prove(
        problem,
        bound=0,
        hint=None,
        latest=400,
        seed=0,
        effort=10**6,
        stops=lambda: next(answers),
    )
    assert proof.status in ("feasible", "unknown")
    assert proof.bound == 0
    assert proof.rounds < 10**6


def test_the_app_plans_and_proves_what_the_command_line_does(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = small(3)
    heard: list[str] = []

    def plan_batch(_: object, *, budget: Budget) -> Answer:
        return schedule(problem, seed=0, budget=budget)

    monkeypatch.setattr(answers_batch, "plan_batch", plan_batch)
    monkeypatch.setattr(answers_batch.Planner, "_batch", lambda *_: batch(order(1)))
    asked: Any = PlanAsked(shown=None, how="anew")  # type: ignore[arg-type]  # nobody reads it
    _, found = _first_two(answers_batch.Planner(), asked, heard.append)
    usual = budget_for(seed=0, rounds=None, seconds=None, usual_rounds=USUAL_ROUNDS)(None)
    assert found.plan == schedule(problem, seed=0, budget=usual)
    assert found.plan.status == "optimal"
    words = [one for one in heard if one]
    assert words[2].startswith("a better plan, round 1: so far finished on ")
    proof = f"proof that no plan is better, round {SMALL_SEARCH}"
    assert any(one.startswith(proof) for one in words)
    assert len(words) == len(set(words)), "the same is not said twice"
    assert len(heard) > USUAL.rounds  # type: ignore[operator]  # it is heard each round

    def given_up(words: str) -> None:
        if words.startswith("proof"):
            raise GivenUp

    with pytest.raises(GivenUp):
        _first_two(answers_batch.Planner(), asked, given_up)


def test_the_app_shows_a_plan_near_to_the_old_one_before_it_is_known_how_long_it_may_take(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    heard: list[str] = []
    monkeypatch.setattr(answers_batch, "plan_batch", lambda *_, **__: "the rest")
    monkeypatch.setattr(answers_batch, "with_likely", lambda *_: "the rest, told")
    monkeypatch.setattr(answers_batch, "_leathers", lambda _: ())
    monkeypatch.setattr(answers_batch.Planner, "_batch", lambda *_: None)
    shown: Any = SimpleNamespace(learned=None)
    plans = answers_batch.Planner().answer(PlanAsked(shown=shown, how="near"), heard.append)
    assert (next(plans), heard) == (Planned(plan=cast("Any", "the rest"), last=False), [WORDS])
    assert list(plans) == [Planned(plan=cast("Any", "the rest, told"), last=True)]


def _first_two(planner: answers_batch.Planner, asked: PlanAsked, progress: Any) -> Sequence[Any]:
    plans = planner.answer(asked, progress)
    return next(plans), next(plans)


class Terminal(io.StringIO):
    """Takes what is written as a terminal does."""

    def isatty(self) -> bool:
        return True


def test_on_a_terminal_it_is_told_how_far_a_plan_is_and_nowhere_else(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    printed = []
    for stream in (Terminal(), io.StringIO()):
        monkeypatch.setattr(sys, "stderr", stream)
        plan(problem=PUBLISHED / "la01.json")
        printed.append((stream.getvalue(), capsys.readouterr().out))
    (words, found), (silence, the_same) = printed
    assert found == the_same
    assert silence == ""
    assert "\r\033[Kworking on: a better plan, round 1: so far finished on minute " in words
    assert words.endswith("\r\033[K"), "the last line is wiped"

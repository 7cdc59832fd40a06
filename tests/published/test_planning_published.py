"""Published scheduling problems, reached by the same engine without hands and calendars.

Job shops: H. Fisher and G. L. Thompson, Probabilistic learning combinations of local job-shop
scheduling rules, in Muth and Thompson (eds), Industrial Scheduling, 1963 (ft06 = 55, ft10 = 930);
S. Lawrence, Resource constrained project scheduling: an experimental investigation of heuristic
scheduling techniques, Carnegie-Mellon University, 1984 (la01 = 666, la02 = 655, la03 = 597,
la16 = 945). Projects: R. Kolisch and A. Sprecher, PSPLIB - a project scheduling problem library,
European Journal of Operational Research 96 (1996) 205-216. Largest and least lags: B. Franck,
K. Neumann and C. Schwindt, OR Spektrum 23 (2001) 297-324.

Each file holds its reference and the best value known for it.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from hidewright.planning.acceptance import breaches
from hidewright.planning.plan import Answer
from hidewright.planning.project_bounds import soonest_finish
from hidewright.planning.schedule import Budget, schedule
from hidewright.store.plan_problem import read_problem

FOLDER = Path(__file__).parent / "planning"


def solved(name: str, rounds: int) -> tuple[Answer, dict[str, Any]]:
    data = (FOLDER / f"{name}.json").read_bytes()
    problem = read_problem(data, name=name).problem
    answer = schedule(problem, seed=1, budget=Budget(rounds=rounds))
    if answer.plan is not None:
        assert breaches(problem, answer.plan) == ()
    return answer, json.loads(data)


@pytest.mark.parametrize(
    "name",
    [
        "ft06",
        "la01",
        "la02",
        "la03",
        "la16",
        "j301_1",
        "j305_1",
        "j601_1",
        "ubo10_psp2",
        "ubo10_psp4",
    ],
)
def test_the_published_optimum_is_reached_and_proven(name: str) -> None:
    answer, told = solved(name, 400)
    assert answer.status == "optimal"
    assert answer.plan is not None
    assert answer.plan.finish == answer.bound == told["best_known"]


def test_largest_lags_that_contradict_the_stations_are_proven_infeasible() -> None:
    answer, told = solved("ubo20_psp2", 400)
    assert told["best_known"] is None
    assert (answer.status, answer.plan) == ("infeasible", None)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["ft10", "j3013_1"])
def test_harder_ones_are_proven_too(name: str) -> None:
    answer, told = solved(name, 3000)
    assert answer.plan is not None
    assert (answer.status, answer.plan.finish) == ("optimal", told["best_known"])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "rounds", "over"),
    [
        ("j609_5", 600, 1.02),
        ("j6025_1", 600, 1.02),
        ("j1201_1", 600, 1.02),
        ("j12016_1", 600, 1.08),
    ],
)
def test_large_projects_come_near_to_the_best_known(name: str, rounds: int, over: float) -> None:
    answer, told = solved(name, rounds)
    assert answer.plan is not None
    assert told["lower_bound"] <= answer.plan.finish <= over * told["best_known"]


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.json")), ids=lambda path: path.stem)
def test_the_bound_is_never_above_the_best_known(path: Path) -> None:
    bound = soonest_finish(read_problem(path.read_bytes(), name=path.name).problem)
    assert bound is not None
    told = json.loads(path.read_bytes())
    if told["best_known"] is not None:
        assert bound <= told["best_known"]

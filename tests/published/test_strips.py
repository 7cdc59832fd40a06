"""Published strip problems, laid within some rounds to nearly the density published for them.

The problems fu (Fujita, Akagi and Hirokawa 1993) and jakobs1 (Jakobs 1996) are from the collection
of the EURO special interest group on cutting and packing (ESICUP); each file names the source of
its published densities. The names of the first authors are from memory.
"""

import json
from pathlib import Path

import pytest

from hidewright.nesting.cut import cut
from hidewright.store.nest_problem import read_problem

#: How many hundredths below the best density known some thousand rounds may stay.
BELOW = 5.0


@pytest.mark.parametrize(
    ("name", "rounds"), [("fu", 1500), pytest.param("jakobs1", 6000, marks=pytest.mark.sweep)]
)
def test_a_published_strip_is_laid_nearly_as_densely(name: str, rounds: int) -> None:
    data = (Path(__file__).parent / f"strip_{name}.json").read_bytes()
    problem = read_problem(data, name=name)
    known = json.loads(data)
    answer = cut(problem, rounds=rounds, seed=1)
    density = 100.0 * known["total_item_area"] / (known["strip_height"] * answer.figure)
    assert density > known["best_known_density_pct"] - BELOW
    assert density < known["best_known_density_pct"] + 0.1
    assert answer.bound == pytest.approx(known["total_item_area"] / known["strip_height"])

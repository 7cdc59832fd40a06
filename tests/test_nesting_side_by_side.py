"""Searches side by side: what comes of them depends on seeds and rounds, not on which is faster."""

import threading
import time
from collections.abc import Callable
from functools import partial
from itertools import pairwise

import numpy as np
import pytest

from hidewright.nesting.problem import Budget
from hidewright.nesting.side_by_side import (
    FEWEST,
    MOVES,
    SEARCHES,
    Found,
    Search,
    search_side_by_side,
)

#: With so many pieces the searches tell one another every so many rounds.
PIECES, EPOCH = MOVES // FEWEST, FEWEST


def walk(
    search: Search[str], end: float = 0.0, pause: Callable[[int], float] = lambda _: 0.0
) -> None:
    """Go down from 1000 by random steps, from time to time from where the best search is."""
    random = np.random.default_rng(search.number)
    at = 1000.0
    while at > end and search.spend():
        time.sleep(pause(search.number))
        if search.best and random.random() < 0.1:
            at = search.best.figure
        at -= random.random()
        if search.best is None or at < search.best.figure:
            search.tell(at, f"{search.number} at {search.spent}")


def found_with(rounds: int, **how: object) -> tuple[Found[str] | None, int]:
    budget = Budget(rounds=rounds)
    best = search_side_by_side(budget, PIECES, partial(walk, **how), lambda _: None)  # type: ignore[arg-type]
    return best, budget.spent


@pytest.mark.parametrize("slow", range(SEARCHES))
@pytest.mark.parametrize("how", [{}, {"end": 950.0}], ids=["to the last round", "to the bound"])
def test_the_outcome_does_not_depend_on_which_search_is_slower(
    slow: int, how: dict[str, float]
) -> None:
    def pause(number: int) -> float:
        return 5e-4 if number == slow else 0.0

    assert found_with(9 * EPOCH, **how, pause=pause) == found_with(9 * EPOCH, **how)


def test_searches_learn_of_one_another() -> None:
    alone = []

    def on_its_own(search: Search[str]) -> None:
        if search.number == 0:
            while search.spend():
                pass
            alone.append(search.best)
        else:
            search.tell(1.0, "the other's")
            while search.spend():
                pass

    search_side_by_side(Budget(rounds=3 * EPOCH), PIECES, on_its_own, lambda _: None)
    assert [one.layout for one in alone if one] == ["the other's"]


def test_what_is_called_off_comes_again_with_its_rounds() -> None:
    for asked_most in (1, 60, 333):
        asked = 0

        def called_off() -> bool:
            nonlocal asked
            asked += 1
            return asked > asked_most  # noqa: B023 - it is called in this turn alone

        budget = Budget(rounds=10**9, called_off=called_off)
        best = search_side_by_side(budget, PIECES, walk, lambda _: None)
        assert budget.spent <= asked_most
        assert found_with(budget.spent) == (best, budget.spent)


def test_one_that_has_nothing_left_to_seek_ends_the_others_after_as_many_rounds() -> None:
    spent = [0] * SEARCHES

    def first_ends(search: Search[str]) -> None:
        while search.spend() and not (search.number == 0 and search.spent == 40):
            search.tell(-float(search.spent), "")
        spent[search.number] = search.spent

    budget = Budget(rounds=2000)
    best = search_side_by_side(budget, PIECES, first_ends, lambda _: None)
    assert (budget.spent, spent[0]) == (40, 40)
    assert best is not None
    assert best.rounds == 40  # of the other: what it found later does not count


def test_better_layouts_are_announced_in_the_callers_thread() -> None:
    told: list[tuple[float, threading.Thread]] = []

    def announce(found: Found[str]) -> None:
        told.append((found.figure, threading.current_thread()))

    search_side_by_side(Budget(rounds=4 * EPOCH), PIECES, walk, announce)
    figures = [figure for figure, _ in told]
    assert len(figures) > 10
    assert all(later < earlier for earlier, later in pairwise(figures))
    assert {thread for _, thread in told} == {threading.current_thread()}


@pytest.mark.parametrize("number", range(SEARCHES))
def test_a_search_that_fails_ends_the_others_and_is_told(number: int) -> None:
    def fails(search: Search[str]) -> None:
        while search.spend():
            if search.number == number and search.spent == 5:
                raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        search_side_by_side(Budget(rounds=2000), PIECES, fails, lambda _: None)

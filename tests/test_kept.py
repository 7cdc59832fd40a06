"""What is worked out of a frozen object once, and the search for garbage put off."""

import copy
import gc
import pickle
from functools import partial
from operator import mul

import pytest

from hidewright.geometry.once import KEPT, MOST_KEPT, kept
from hidewright.geometry.outline import Outline
from hidewright.geometry.shapes import circle, rectangle
from hidewright.workshop.uncollected import uncollected


def test_what_is_kept_is_worked_out_once_for_each_key_of_each_object() -> None:
    asked: list[str] = []

    def of(outline: Outline, key: str) -> float:
        def work_out() -> float:
            asked.append(key)
            return outline.area

        return kept(outline, key, work_out)

    one, two = circle(2.0), circle(3.0)
    assert [of(one, "a"), of(one, "a"), of(two, "a"), of(one, "b")] == [
        one.area, one.area, two.area, one.area,
    ]  # fmt: skip
    assert asked == ["a", "a", "b"]


def test_what_is_kept_changes_no_object_and_goes_into_no_copy() -> None:
    one, asked = rectangle(30.0, 20.0, 2.0), []
    # a key that holds the object itself cannot be read back before the object is
    kept(one, ("of", one), lambda: asked.append(1))
    assert one == rectangle(30.0, 20.0, 2.0)
    for again in (pickle.loads(pickle.dumps(one)), copy.deepcopy(one)):
        assert again == one
        kept(again, ("of", one), lambda: asked.append(1))
    assert len(asked) == 3


def test_no_more_is_kept_with_one_object_than_it_may_hold() -> None:
    one = circle(1.0)
    for k in range(3 * MOST_KEPT):
        assert kept(one, k, partial(mul, 2, k)) == 2 * k
        assert len(vars(one)[KEPT]) <= MOST_KEPT
    assert len(vars(one)[KEPT]) == MOST_KEPT


def test_nothing_is_kept_of_what_failed() -> None:
    one = circle(1.0)
    with pytest.raises(ZeroDivisionError):
        kept(one, "share", lambda: 1 / 0)
    assert kept(one, "share", lambda: 1.0) == 1.0


def test_the_search_for_garbage_is_put_off_and_goes_on_after_an_error_too() -> None:
    assert gc.isenabled()

    @uncollected()
    def broken() -> None:
        assert not gc.isenabled()
        raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        broken()
    assert gc.isenabled()
    gc.disable()
    try:
        with uncollected():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()

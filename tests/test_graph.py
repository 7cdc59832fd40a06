"""The graph evaluator: what is recomputed, what is kept, what stays alive."""

import subprocess
import sys
from dataclasses import dataclass

import pytest

from hidewright.errors import RequestError
from hidewright.workshop.digest import digest
from hidewright.workshop.graph import Cache, Missing, Node, evaluate


def _add(a: float, b: float) -> float:
    return a + b


def _refuse(_: float) -> float:
    raise RequestError("too thick")


NODES = (
    Node(name="sum", needs=("a", "b"), compute=_add),
    Node(name="sign", needs=("sum",), compute=lambda s: s > 0),
    Node(name="words", needs=("sign",), compute=lambda p: "up" if p else "down"),
    Node(name="bad", needs=("a",), compute=_refuse),
    Node(name="after bad", needs=("bad", "b"), compute=_add),
)


def test_a_change_that_leaves_a_nodes_arguments_alone_stops_there() -> None:
    cache = Cache()
    first = evaluate(NODES, {"a": 1.0, "b": 2.0}, ["words"], cache)
    assert first.computed == ("sum", "sign", "words")
    again = evaluate(NODES, {"a": 1.5, "b": 2.0}, ["words"], cache)
    assert again.computed == ("sum", "sign")
    assert evaluate(NODES, {"a": 1.0, "b": 2.0}, ["words"], cache).computed == ()


def test_a_refusal_is_cached_and_passed_on_and_the_rest_stays_alive() -> None:
    cache = Cache()
    out = evaluate(NODES, {"a": 1.0, "b": 2.0}, ["after bad", "words"], cache)
    missing = out.values["after bad"]
    assert isinstance(missing, Missing)
    assert (missing.node, missing.because.what) == ("bad", "too thick")
    assert out.values["words"] == "up"
    again = evaluate(NODES, {"a": 1.0, "b": 3.0}, ["after bad"], cache)
    assert again.computed == ()


def test_only_items_that_change_are_computed_again_along_a_chain_of_items() -> None:
    calls: list[float] = []

    def double(item: float, by: float) -> float:
        calls.append(item)
        if item < 0:
            raise RequestError("less than nothing")
        return item * by

    nodes = (
        Node(name="doubled", needs=("items", "by"), compute=double, gather=sum),
        Node(name="again", needs=("doubled", "by"), compute=double, gather=max),
    )
    cache = Cache()
    out = evaluate(nodes, {"items": (1.0, 5.0, 3.0), "by": 2.0}, ["doubled", "again"], cache)
    assert out.values == {"doubled": 18.0, "again": 20.0}
    assert sorted(calls) == [1.0, 2.0, 3.0, 5.0, 6.0, 10.0]
    calls.clear()
    out = evaluate(nodes, {"items": (5.0, 4.0), "by": 2.0}, ["again"], cache)
    assert (out.values["again"], out.computed, calls) == (20.0, ("doubled", "again"), [4.0, 8.0])
    none = evaluate(nodes, {"items": (), "by": 2.0}, ["doubled"], cache)
    assert none.values == {"doubled": 0}
    refused = evaluate(nodes, {"items": (1.0, -1.0), "by": 2.0}, ["again"], cache).values["again"]
    assert isinstance(refused, Missing)
    assert refused.because.what == "less than nothing"


def test_the_least_recently_used_goes_first_by_bytes() -> None:
    nodes = (Node(name="copy", needs=("n",), compute=lambda n: b"x" * n),)
    cache = Cache(limit_bytes=7500)
    for n in (1000, 1001):
        evaluate(nodes, {"n": n}, ["copy"], cache)
    evaluate(nodes, {"n": 1000}, ["copy"], cache)  # used again
    evaluate(nodes, {"n": 1002}, ["copy"], cache)  # 1001 has to go
    assert evaluate(nodes, {"n": 1000}, ["copy"], cache).computed == ()
    assert evaluate(nodes, {"n": 1001}, ["copy"], cache).computed == ("copy",)
    assert cache.held_bytes <= 7500


@dataclass(frozen=True)
class _Noun:
    x: float
    words: tuple[str, ...]


def test_digests_differ_where_values_differ_and_only_there() -> None:
    values = [1, 1.0, "1", b"1", True, None, (1,), ((1,),), ("ab", "c"), ("a", "bc"), {"a": 1}]
    values += [_Noun(1.0, ("a",)), _Noun(1.0, ("a", "")), _Noun(2.0, ("a",))]
    assert len({digest(v) for v in values}) == len(values)
    assert digest(_Noun(-0.0, ())) == digest(_Noun(0.0, ()))
    assert digest({"a": 1, "b": 2}) == digest({"b": 2, "a": 1})


def test_digests_are_the_same_under_another_hash_seed() -> None:
    code = (
        "from hidewright.workshop.digest import digest;"
        "print(digest({'b': (1, 'x'), 'a': 2.5}).hex())"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", code],
            env={"PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(said) == 1


def test_a_value_without_a_stable_meaning_is_not_cached_silently() -> None:
    with pytest.raises(TypeError, match="no digest"):
        digest(object())

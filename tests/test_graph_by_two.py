"""The evaluator of the graph when one who computes beside it takes part."""

import random
import threading
import time
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hidewright.errors import RequestError
from hidewright.workshop.digest import digest
from hidewright.workshop.graph import (
    WORTH_TELLING_S,
    Cache,
    Missing,
    Named,
    Node,
    Result,
    evaluate,
    result_of,
)


def a_graph(rng: random.Random, calls: list[str]) -> tuple[Node, ...]:
    """Return nodes that name what they were given, some of them item by item; some refuse.

    Args:
        rng: Draws them.
        calls: Is told what every computing was given.
    """
    item_by_item = {"items"}

    def node(number: int) -> Node:
        name = f"node {number}"
        among = [*(f"node {i}" for i in range(number)), "a", "b", "items"]
        needs = tuple(rng.sample(among, rng.randint(1, min(4, len(among)))))
        refuses = rng.random() < 0.1
        gather = None
        if needs[0] in item_by_item and rng.random() < 0.7:
            item_by_item.add(name)
            gather = digest

        def compute(*values: str) -> str:
            said = digest((name, values)).hex()
            calls.append(said)
            if refuses or (gather is not None and said[0] == "0"):
                raise RequestError(name)
            time.sleep(rng.choice((0.0, 0.0005)))
            return said

        seconds = rng.random() if rng.random() < 0.8 else 0.0
        return Node(name=name, needs=needs, compute=compute, seconds=seconds, gather=gather)

    return tuple(node(i) for i in range(rng.randint(1, 20)))


class InThread:
    """Computes beside in another thread, until it does not any more."""

    def __init__(self, nodes: Sequence[Node], until: int, ready: bool = True) -> None:
        self._by_name = {node.name: node for node in nodes}
        self._left = until
        self._ready = ready
        self.computed: list[str] = []

    def is_ready(self, within_s: float) -> bool:
        """Return whether it ever is."""
        return self._ready

    def compute(self, node: str, arguments: Sequence[Named]) -> Result:
        """Return what a node gives, so many times."""
        assert threading.current_thread() is not threading.main_thread()
        if not self._left:
            raise ConnectionError
        self._left -= 1
        self.computed.append(node)
        return result_of(self._by_name[node], [value for value, _ in arguments])


@settings(max_examples=60)
@given(seed=st.integers(0, 10**6), until=st.integers(0, 20), ready=st.booleans())
def test_with_one_beside_the_values_are_the_same_and_nothing_is_computed_for_nothing(
    seed: int, until: int, ready: bool
) -> None:
    calls: list[str] = []
    nodes = a_graph(random.Random(seed), calls)
    wanted = [node.name for node in nodes[-3:]]
    inputs = {"a": 1.0, "b": "two", "items": ("x", "y", "z")}
    alone = evaluate(nodes, inputs, wanted, Cache())
    calls_alone = sorted(calls)
    calls.clear()
    beside, cache = InThread(nodes, until, ready), Cache()
    both = evaluate(nodes, inputs, wanted, cache, beside=beside)
    assert _said(both.values) == _said(alone.values)
    assert set(both.computed) == set(alone.computed)
    assert sorted(calls) == calls_alone
    by_name = {node.name: node for node in nodes}
    assert all(by_name[name].seconds >= WORTH_TELLING_S for name in beside.computed)
    again = evaluate(nodes, inputs, wanted, cache, beside=beside)
    assert again.computed == ()
    assert sorted(calls) == calls_alone
    assert _said(again.values) == _said(alone.values)


def test_a_mistake_beside_comes_up_here() -> None:
    taken_beside = threading.Event()

    class Broken(InThread):
        def compute(self, node: str, arguments: Sequence[Named]) -> Result:
            taken_beside.set()
            raise ZeroDivisionError(node)

    # whichever of the two is taken here lasts until the other is taken there
    nodes = tuple(
        Node(name=name, needs=("a",), compute=lambda _: taken_beside.wait(10), seconds=1.0)
        for name in "xy"
    )
    with pytest.raises(ZeroDivisionError):
        evaluate(nodes, {"a": 1.0}, "xy", Cache(), beside=Broken(nodes, 9))


def _said(values: Any) -> dict[str, object]:
    return {
        name: (value.node, str(value.because)) if isinstance(value, Missing) else value
        for name, value in values.items()
    }

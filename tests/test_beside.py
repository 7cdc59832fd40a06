"""A second process that computes part of a pack."""

import dataclasses
import pickle
import threading
from collections.abc import Iterable, Iterator
from typing import Any
from unittest import mock

import pytest

from hidewright.geometry.shapes import rectangle
from hidewright.store.demo import demo_designs
from hidewright.store.design_file import read_design
from hidewright.workshop import acceptance, article
from hidewright.workshop.beside import SecondProcess, packed
from hidewright.workshop.digest import digest
from hidewright.workshop.graph import Cache, Node, Result, evaluate, result_of
from hidewright.workshop.inputs import inputs_of
from hidewright.workshop.paper_choice import PaperChoice

PACK = (*article.WITH_REMARKS, *article.FILES, *acceptance.FAULTS)


@pytest.fixture(scope="module")
def second() -> Iterator[SecondProcess]:
    with (
        mock.patch("hidewright.workshop.beside.cores", return_value=2),
        SecondProcess() as process,
    ):
        while not process.is_ready(1.0):
            pass
        yield process


@pytest.fixture(scope="module")
def tray() -> dict[str, Any]:
    """Return the inputs of an article's graph, and the values of all nodes of its pack."""
    name, data = next((n, d) for n, d in demo_designs().items() if "specimen" in n)
    inputs = inputs_of(read_design(data, name=name).specification, "A4")
    choice = PaperChoice()
    inputs = {**inputs, "paper choice": choice, "rates": choice.rates}
    cache = Cache()
    computed = evaluate(article.NODES, inputs, PACK, cache).computed
    return {**inputs, **evaluate(article.NODES, inputs, computed, cache).values}


def test_of_a_noun_its_fields_are_packed_not_what_is_kept_with_it() -> None:
    used = rectangle(40.0, 30.0)
    assert used.area == pytest.approx(1200.0)
    used.flat_points()
    digest(used)
    names = {field.name for field in dataclasses.fields(used)}
    assert set(vars(used)) > names
    assert packed(used) == packed(rectangle(40.0, 30.0))
    assert set(vars(pickle.loads(packed(used)))) == names


@pytest.mark.slow
def test_a_second_process_gives_what_this_one_gives_whatever_it_is_asked_first(
    second: SecondProcess, tray: dict[str, Any]
) -> None:
    asked: list[tuple[str, list[Any], bytes]] = []

    def noted(node: Node, arguments: Iterable[Any]) -> Result:
        values = list(arguments)
        result = result_of(node, values)
        asked.append((node.name, values, result[1]))
        return result

    inputs = {name: tray[name] for name in set(tray) - {node.name for node in article.NODES}}
    with mock.patch("hidewright.workshop.graph.result_of", noted):
        computed = evaluate(article.NODES, inputs, PACK, Cache()).computed
    assert {name for name, _, _ in asked} == set(computed)
    # words on paper first: they are measured before there is any page
    for name, values, found in sorted(asked, key=lambda one: one[0] != "buyer files"):
        arguments = [(value, digest(value)) for value in values]
        assert second.compute(name, arguments)[1] == found, name


def test_a_second_process_that_ends_leaves_its_work_to_this_one(
    second: SecondProcess, tray: dict[str, Any]
) -> None:
    inputs = {name: tray[name] for name in set(tray) - {node.name for node in article.NODES}}
    there: list[str] = []

    def progress(name: str) -> None:
        if threading.current_thread() is not threading.main_thread():
            there.append(name)
            if len(there) == 3:
                second.end()

    found = evaluate(article.NODES, inputs, PACK, Cache(), progress, second)
    assert len(there) == 3
    assert {n: digest(v) for n, v in found.values.items()} == {n: digest(tray[n]) for n in PACK}
    with pytest.raises(ConnectionError):
        second.is_ready(0.0)

"""What several test files draw: specifications of every kind with random measures."""

import dataclasses
import random
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any, Literal, get_args, get_origin, get_type_hints
from unittest import mock

import hypothesis
import pytest

from browser_here import CHROMIUM, app, chromium, open_page  # noqa: F401 - fixtures
from coarse_cache import COARSE_TRIANGLES
from hidewright.catalogue.shelf import built_in_catalogue
from hidewright.design.specification import Kind, Specification
from hidewright.errors import RequestError
from hidewright.forming import on_blank
from hidewright.workshop import beside
from hidewright.workshop.begin import begin

# no test is timed: on a busy machine each may take long once
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")

SHELF = built_in_catalogue()
#: Tests of pressing itself, by a word in their path, take the standard mesh; all others press on a
#: coarse one: what they look at does not depend on it, and they press often.
PRESSING = ("forming", "mending", "common_practice", "cli_press", "book_cli", "published", "beside")
STANDARD_TRIANGLES = on_blank.STANDARD_TRIANGLES
LEATHERS = tuple(x for x in SHELF.leathers if x.tannage == "vegetable")
MOULD_BOARDS = tuple(b for b in SHELF.boards if not b.transparent and b.material != "card")
CLEAR_BOARDS = tuple(b for b in SHELF.boards if b.transparent)


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Choose the mesh that the test about to run presses on."""
    fine = any(word in item.path.parts[-1] or word in item.path.parts[-2] for word in PRESSING)
    on_blank.STANDARD_TRIANGLES = STANDARD_TRIANGLES if fine else COARSE_TRIANGLES


@pytest.fixture(scope="session", autouse=True)
def _no_second_process() -> Iterator[None]:
    """Make packs in the test's own process, on its mesh; where two work is tested by itself."""
    with mock.patch.object(beside, "cores", return_value=1):
        yield


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Say when the tests in a browser were not run, and why."""
    if "not browser" in str(config.getoption("-m")):
        why = "they are in the long tier: run.py test --all"
    elif CHROMIUM is None:
        why = "there is no Chromium on this machine; on Debian: apt install chromium"
    else:
        return
    terminalreporter.write_line(f"The tests in a browser were not run: {why}.")


@pytest.fixture(scope="session")
def drawn() -> Callable[[Kind[Any], random.Random], Specification[Any]]:
    """Return the function that draws a specification of a kind."""
    return _drawn


@cache
def _begun(kind: str) -> Specification[Any]:
    return begin(kind, SHELF)


def _drawn(kind: Kind[Any], draw: random.Random) -> Specification[Any]:
    """Return a specification of a kind, every measure at 60 to 160 % of its default, in its limits.

    Most are drawn small or large as a whole, each measure a little off that, as articles are; one
    in four has measures that know nothing of one another, which more often cannot be made.
    """
    spec = _begun(kind.name)
    hints = get_type_hints(kind.measures)
    base = spec.brief.measures
    size, spread = (1.0, 0.6) if draw.random() < 0.25 else (draw.uniform(0.75, 1.4), 0.1)
    changed = {
        f.name: _value(getattr(base, f.name), hints[f.name], f.metadata, draw, size, spread)
        for f in dataclasses.fields(base)
    }
    try:
        measures = dataclasses.replace(base, **changed)
    except RequestError:
        measures = base
    tooling = dataclasses.replace(
        spec.tooling,
        mould_board=draw.choice(MOULD_BOARDS),
        template_board=draw.choice(CLEAR_BOARDS),
        gap_factor=round(draw.uniform(0.95, 1.3), 2),
        cavity_floor=draw.random() < 0.3,
    )
    leathers = tuple((role, draw.choice(LEATHERS)) for role, _ in spec.brief.leathers)
    brief = dataclasses.replace(spec.brief, measures=measures, leathers=leathers)
    return dataclasses.replace(spec, brief=brief, tooling=tooling)


def _value(
    default: Any, hint: Any, about: Any, draw: random.Random, size: float, spread: float
) -> Any:
    if get_origin(hint) is Literal:
        return draw.choice(get_args(hint))
    if hint is bool:
        return draw.random() < 0.5
    if "each" in about:  # as often as not one place that goes with the usual measures
        return (round(draw.uniform(50.0, 70.0), 1),) if draw.random() < 0.5 else ()
    if "quantity" not in about:
        return default
    low = max(size - spread, 0.6) * default
    high = min(size + spread, 1.6) * default
    if default == 0:
        high = draw.choice((0.0, 10.0))
    low = low if about["low"] is None else max(low, about["low"])
    high = high if about["high"] is None else min(high, about["high"])
    if hint is int and low <= high:
        return draw.randint(round(low), round(high))
    return round(draw.uniform(low, high), 2) if high > low else default

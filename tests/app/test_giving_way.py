"""What gives way stands still from an edit to its picture, and gets on however many there are."""

import contextlib
import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from unittest import mock

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hidewright.app.giving_way import DRAWN_S, LEAST_S, MOST_S, GivingWay


@dataclass(eq=False)
class Timer:
    at: float
    call: Callable[[], None]
    is_off: bool = False

    def cancel(self) -> None:
        self.is_off = True


@dataclass
class Loop:
    """An event loop whose time goes on when it is told to."""

    now: float = 100.0
    timers: list[Timer] = field(default_factory=list)

    def time(self) -> float:
        return self.now

    def call_at(self, at: float, call: Callable[[], None]) -> Timer:
        self.timers.append(Timer(at, call))
        return self.timers[-1]

    def go_to(self, then: float) -> None:
        while due := [t for t in self.timers if not t.is_off and t.at <= then]:
            first = min(due, key=lambda t: t.at)
            first.is_off = True
            self.now = max(self.now, first.at)
            first.call()
        self.now = then


@dataclass
class Process:
    """Notes when it stood still."""

    loop: Loop
    stood: list[list[float]] = field(default_factory=list)

    def stand_still(self) -> None:
        assert not self.stood or len(self.stood[-1]) == 2
        self.stood.append([self.loop.now])

    def go_on(self) -> None:
        self.stood[-1].append(self.loop.now)


@contextlib.contextmanager
def beside() -> Iterator[tuple[Loop, Process, GivingWay]]:
    loop = Loop()
    process = Process(loop)
    with mock.patch("asyncio.get_running_loop", return_value=loop):
        yield loop, process, GivingWay(lambda: (process,))  # type: ignore[arg-type, return-value]


def test_from_an_edit_until_its_picture_is_drawn() -> None:
    with beside() as (loop, process, way):
        way.asked()
        loop.go_to(100.12)
        way.answered()
        loop.go_to(103.0)
    assert process.stood == [pytest.approx([100.0, 100.12 + DRAWN_S])]


def test_an_answer_without_an_edit_before_it_changes_nothing() -> None:
    with beside() as (loop, process, way):
        way.answered()
        loop.go_to(103.0)
    assert process.stood == []


@given(
    events=st.lists(
        st.tuples(st.floats(0.0, 0.7), st.sampled_from(["asked", "answered"])), max_size=60
    )
)
def test_it_gets_on_whatever_is_asked(events: list[tuple[float, str]]) -> None:
    with beside() as (loop, process, way):
        for after, what in events:
            loop.go_to(loop.now + after)
            getattr(way, what)()
        loop.go_to(loop.now + 10.0)
    stood = process.stood
    assert all(end - begin <= MOST_S + 1e-9 for begin, end in stood)
    gaps = [after[0] - before[1] for before, after in itertools.pairwise(stood)]
    assert all(gap >= LEAST_S - 1e-9 for gap in gaps)

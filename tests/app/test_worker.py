"""The process beside the server: only the newest waits, crashes stay outside, all is told."""

import asyncio
import os
import signal
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import pytest_asyncio

from hidewright.app.worker import Done, Part, Progress, Worker
from hidewright.errors import RequestError

pytestmark = pytest.mark.asyncio


def make() -> Callable[[Any, Callable[[str], None]], Iterator[Any]]:
    """Return what the process of these tests answers."""

    def answer(question: Any, progress: Callable[[str], None]) -> Iterator[Any]:
        match question:
            case ("say", value):
                yield value
            case ("pid",):
                yield os.getpid()
            case ("steps", count, seconds):
                for step in range(count):
                    time.sleep(seconds)
                    progress(f"step {step}")
                    yield step
            case ("refuse",):
                raise RequestError("a width", because="it is none", mend="Give one", where="here")
            case ("break",):
                raise ZeroDivisionError("ours")
            case ("die",):
                os._exit(3)
            case ("sleep", seconds):
                time.sleep(seconds)

    return answer


class Ear:
    """Hears what a worker tells about one question."""

    def __init__(self) -> None:
        self.told: list[Part | Progress | Done] = []
        self.ended = asyncio.Event()

    def __call__(self, what: Part | Progress | Done) -> None:
        self.told.append(what)
        if isinstance(what, Done):
            self.ended.set()

    async def done(self) -> Done:
        await asyncio.wait_for(self.ended.wait(), 60)
        last = self.told[-1]
        assert isinstance(last, Done)
        return last

    @property
    def values(self) -> list[Any]:
        return [one.value for one in self.told if isinstance(one, Part)]


@pytest_asyncio.fixture
async def worker(monkeypatch: pytest.MonkeyPatch) -> Any:
    # the process must find this file
    monkeypatch.syspath_prepend(Path(__file__).parents[2])
    one = Worker("test", "tests.app.test_worker:make")
    one.start()
    yield one
    one.stop()


async def _ask(worker: Worker, question: Any, key: str = "k") -> Ear:
    ear = Ear()
    worker.ask(key, question, ear)
    return ear


async def test_an_answer_comes_back_and_the_question_is_over(worker: Worker) -> None:
    ear = await _ask(worker, ("say", {"a": [1.5, None]}))
    assert await ear.done() == Done()
    assert ear.values == [{"a": [1.5, None]}]
    assert not worker.is_busy


async def test_of_many_questions_with_one_key_the_newest_is_answered(worker: Worker) -> None:
    first = await _ask(worker, ("steps", 50, 0.02))
    while not first.values:
        await asyncio.sleep(0.01)
    skipped = [await _ask(worker, ("say", n)) for n in range(20)]
    last = await _ask(worker, ("say", "newest"))
    await last.done()
    assert last.values == ["newest"]
    assert not any(ear.told for ear in skipped)
    assert len(first.values) < 50, "the older one was not dropped"
    assert not first.ended.is_set()


async def test_questions_with_other_keys_do_not_replace_one_another(worker: Worker) -> None:
    ears = [await _ask(worker, ("say", n), key=f"k{n}") for n in range(5)]
    for n, ear in enumerate(ears):
        await ear.done()
        assert ear.values == [n]


async def test_refusals_and_mistakes_are_told_and_the_process_lives_on(worker: Worker) -> None:
    pid = await _ask(worker, ("pid",))
    await pid.done()
    refused = (await (await _ask(worker, ("refuse",))).done()).refused
    assert refused is not None
    assert str(refused) == "here: a width: it is none. Give one"
    crashed = (await (await _ask(worker, ("break",))).done()).crashed
    assert "ZeroDivisionError: ours" in crashed
    again = await _ask(worker, ("pid",))
    await again.done()
    assert again.values == pid.values


async def test_a_process_that_dies_is_started_anew_and_what_waited_is_answered(
    worker: Worker,
) -> None:
    deadly = await _ask(worker, ("die",), key="deadly")
    waited = await _ask(worker, ("say", "still here"), key="waited")
    assert "ended by itself" in (await deadly.done()).crashed
    await waited.done()
    assert waited.values == ["still here"]


@pytest.mark.slow
async def test_what_does_not_stop_is_ended_within_its_patience(worker: Worker) -> None:
    await (await _ask(worker, ("say", 0))).done()
    stuck = await _ask(worker, ("sleep", 600))
    await asyncio.sleep(0.1)
    begun = time.monotonic()
    worker.cancel("k")
    assert (await stuck.done()).dropped
    assert time.monotonic() - begun < 30
    after = await _ask(worker, ("say", 1))
    await after.done()
    assert after.values == [1]


async def test_cancelling_what_reports_progress_stops_it_at_its_next_step(worker: Worker) -> None:
    pid = await _ask(worker, ("pid",), key="pid")
    await pid.done()
    ear = await _ask(worker, ("steps", 1000, 0.01))
    while not ear.values:
        await asyncio.sleep(0.01)
    worker.cancel("k")
    assert (await ear.done()).dropped
    assert any(isinstance(one, Progress) for one in ear.told)
    again = await _ask(worker, ("pid",), key="pid")
    await again.done()
    assert again.values == pid.values, "it was killed though it stopped by itself"


@pytest.mark.slow
async def test_what_is_left_off_stops_at_its_next_step_and_nothing_is_ended(worker: Worker) -> None:
    process, slow, waiting, after = Ear(), Ear(), Ear(), Ear()
    worker.ask("pid", ("pid",), process)
    await process.done()
    worker.ask("slow", ("steps", 50, 2.5), slow)
    worker.ask("waiting", ("say", 1), waiting)
    await asyncio.sleep(0.3)
    worker.leave_off("slow")
    assert (await slow.done()).dropped
    assert len([one for one in slow.told if isinstance(one, Part)]) <= 1
    worker.ask("pid", ("pid",), after)
    await after.done()
    assert process.told[0] == after.told[0]
    worker.leave_off("nothing of this name")


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
async def test_a_process_that_stands_still_answers_when_it_goes_on(worker: Worker) -> None:
    await (await _ask(worker, ("say", 1))).done()
    worker.stand_still()
    ear = await _ask(worker, ("say", 2))
    with pytest.raises(TimeoutError):
        await asyncio.wait_for(ear.ended.wait(), 0.5)
    worker.go_on()
    await ear.done()
    assert ear.values == [2]


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="this system cannot stop a process")
async def test_a_process_that_stands_still_can_be_ended(worker: Worker) -> None:
    ear = await _ask(worker, ("pid",))
    await ear.done()
    worker.stand_still()
    worker.stop()
    worker.go_on()  # of a process that is no more: nothing happens
    with pytest.raises(ProcessLookupError):
        os.kill(ear.values[0], 0)

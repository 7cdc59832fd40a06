"""A process beside the server that calculates: of each sort of question only the newest waits.

The server never waits for it. A question goes in with a key; a newer one with the same key takes
its place, and an older one that is being answered is dropped at its next step. Answers come back
one by one as they are ready. A process that dies, or does not stop when it is told to, is started
anew with what was waiting; one question that kills it is not asked again.
"""

import asyncio
import contextlib
import gc
import importlib
import multiprocessing
import os
import signal
import threading
import traceback
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

from hidewright.errors import RequestError
from hidewright.workshop.uncollected import uncollected

#: How long a question that was dropped may go on before its process is ended, s.
PATIENCE_S = 2.0
#: By how much a process gives way to others.
BEHIND = 10


@dataclass(frozen=True, slots=True)
class Part:
    """One answer, or a word on how far it is."""

    value: Any


@dataclass(frozen=True, slots=True)
class Progress:
    """What is being done now."""

    words: str


@dataclass(frozen=True, slots=True)
class Done:
    """The question is answered, or was dropped.

    Attributes:
        dropped: It was given up, for a newer one or because it was cancelled.
        refused: The maker can mend it.
        crashed: Our own mistake: the traceback to report.
    """

    dropped: bool = False
    refused: RequestError | None = None
    crashed: str = ""


Tell = Callable[[Part | Progress | Done], None]
Answer = Callable[[Any, Callable[[str], None]], Iterable[Any]]


class Dropped(Exception):  # noqa: N818 - it is no error
    """The question is not wanted any more."""


@dataclass(slots=True)
class _Asked:
    number: int
    question: Any
    tell: Tell


class Worker:
    """One spawned process.

    Args:
        name: For the process list.
        make: ``module:function``, loaded and called in the process, once: it returns what
            answers questions.
        behind: Whether it gives way to the other processes where it can.
    """

    def __init__(self, name: str, make: str, *, behind: bool = False) -> None:
        self._name = name
        self._make = make
        self._behind = behind
        self._asked: dict[str, _Asked] = {}
        # what the process has been sent and not yet answered: one number a key, so that the pipe
        # never fills and the event loop never waits for it
        self._flying: dict[str, int] = {}
        self._number = 0
        self._started = 0
        self._loop: asyncio.AbstractEventLoop | None = None
        self._pipe: Connection | None = None
        self._process: Any = None

    def start(self) -> None:
        """Start the process, unless it runs; called in the running event loop."""
        if self._loop is None:
            self._loop = asyncio.get_running_loop()
            self._start()

    def ask(self, key: str, question: object, tell: Tell) -> None:
        """Ask, in place of what waits under the same key; the process is started if it must be.

        Args:
            key: Who asks for what; only the newest question of a key is answered.
            question: Anything that can be pickled.
            tell: Called in the event loop with each ``Part`` and ``Progress`` and at last with
                ``Done``, unless a newer question took its place.
        """
        self.start()
        self._number += 1
        self._asked[key] = _Asked(self._number, question, tell)
        if key in self._flying:
            self._send(("drop", key, self._flying[key], None))
        else:
            self._fly(key)

    def cancel(self, key: str) -> None:
        """Give up a question; if it does not stop soon, its process is ended and started anew."""
        number = self._dropped(key)
        if number and self._loop is not None:
            self._loop.call_later(PATIENCE_S, self._end_if_still, key, number, self._started)

    def leave_off(self, key: str) -> None:
        """Give up a question at the next step of its answer, however long that takes."""
        self._dropped(key)

    def _dropped(self, key: str) -> int:
        """Give up a question; return its number if it was begun, 0 otherwise."""
        asked = self._asked.get(key)
        if asked is None:
            return 0
        if self._flying.get(key) != asked.number:
            del self._asked[key]
            asked.tell(Done(dropped=True))
            return 0
        self._send(("drop", key, asked.number, None))
        return asked.number

    def stand_still(self) -> None:
        """Have the process stand still until it is to go on, where the system can do that."""
        self._signal("SIGSTOP")

    def go_on(self) -> None:
        """Have the process go on, if it stands still."""
        self._signal("SIGCONT")

    def _signal(self, name: str) -> None:
        if hasattr(signal, name) and self._process is not None and self._process.is_alive():
            with contextlib.suppress(ProcessLookupError):  # it has just ended
                os.kill(self._process.pid, getattr(signal, name))

    def stop(self) -> None:
        """End the process."""
        self._asked.clear()
        self._flying.clear()
        self._started += 1
        if self._process is not None:
            self._process.kill()
            self._process.join(PATIENCE_S)
        if self._pipe is not None:
            self._pipe.close()
            self._pipe = None

    @property
    def is_busy(self) -> bool:
        """Whether anything is asked that is not answered yet."""
        return bool(self._asked)

    def _start(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, far = context.Pipe()
        self._started += 1
        self._process = context.Process(
            target=serve,
            args=(far, self._make, self._behind),
            name=f"hidewright {self._name}",
            daemon=True,
        )
        self._process.start()
        far.close()
        threading.Thread(target=self._listen, args=(self._pipe, self._started), daemon=True).start()

    def _fly(self, key: str) -> None:
        asked = self._asked[key]
        self._flying[key] = asked.number
        self._send(("ask", key, asked.number, asked.question))

    def _send(self, message: object) -> None:
        if self._pipe is not None:
            # at a broken pipe the listener sees the end too, starts anew and asks again
            with contextlib.suppress(OSError):
                self._pipe.send(message)

    def _listen(self, pipe: Connection, started: int) -> None:
        assert self._loop is not None
        with contextlib.suppress(RuntimeError):  # the server has stopped
            with contextlib.suppress(EOFError, OSError):
                while True:
                    key, number, told = pipe.recv()
                    self._loop.call_soon_threadsafe(self._told, key, number, told, started)
            self._loop.call_soon_threadsafe(self._ended, started)

    def _told(self, key: str, number: int, told: Part | Progress | Done, started: int) -> None:
        if started != self._started:
            return
        asked = self._asked.get(key)
        current = asked is not None and asked.number == number
        if isinstance(told, Done):
            self._flying.pop(key, None)
            if asked is not None and not current:
                self._fly(key)
        if asked is not None and current:
            if isinstance(told, Done):
                del self._asked[key]
            asked.tell(told)

    def _end_if_still(self, key: str, number: int, started: int) -> None:
        asked = self._asked.get(key)
        if asked is None or asked.number != number or started != self._started:
            return
        del self._asked[key]
        self._process.kill()
        self._start_anew()
        asked.tell(Done(dropped=True))

    def _ended(self, started: int) -> None:
        """Start anew, and ask again what was waiting, but not the question that was first."""
        if started != self._started:
            return
        # dicts keep their order: the process answers what was sent first
        first = next(iter(self._flying), None)
        killed = self._asked.get(first) if first is not None else None
        if first is not None and killed is not None and self._flying[first] == killed.number:
            del self._asked[first]
        else:
            killed = None
        self._start_anew()
        if killed is not None:
            killed.tell(Done(crashed="The process that calculates ended by itself."))

    def _start_anew(self) -> None:
        self._flying.clear()
        self._start()
        for key in self._asked:
            self._fly(key)


def serve(pipe: Connection, make: str, behind: bool) -> None:
    """Answer questions from a pipe until it closes; this runs in the process."""
    if behind and hasattr(os, "nice"):
        os.nice(BEHIND)
    waiting: dict[str, tuple[int, Any]] = {}
    given_up: set[tuple[str, int]] = set()

    def take(message: tuple[str, str, int, Any]) -> None:
        what, key, number, question = message
        if what == "ask":
            waiting[key] = (number, question)
        else:
            given_up.add((key, number))

    try:
        with uncollected():
            answer = loaded(make)
            gc.freeze()  # what was loaded stays: garbage is not searched for in it
        while True:
            if not waiting:
                take(pipe.recv())
            while pipe.poll():
                take(pipe.recv())
            if not waiting:
                continue
            key = next(iter(waiting))
            number, question = waiting.pop(key)

            def still_wanted(key: str = key, number: int = number) -> None:
                while pipe.poll():
                    take(pipe.recv())
                if (key, number) in given_up:
                    raise Dropped

            def progress(
                words: str,
                key: str = key,
                number: int = number,
                wanted: Callable[[], None] = still_wanted,
            ) -> None:
                wanted()
                if words:
                    pipe.send((key, number, Progress(words)))

            pipe.send((key, number, _answered(pipe, key, number, question, answer, progress)))
            given_up.discard((key, number))
    except (EOFError, OSError, KeyboardInterrupt):
        pass


def loaded(make: str) -> Answer:
    """Return what a ``module:function`` makes."""
    module, _, function = make.partition(":")
    answer: Answer = getattr(importlib.import_module(module), function)()
    return answer


def _answered(
    pipe: Connection,
    key: str,
    number: int,
    question: object,
    answer: Answer,
    progress: Callable[[str], None],
) -> Done:
    try:
        progress("")
        for value in answer(question, progress):
            pipe.send((key, number, Part(value)))
            progress("")
    except Dropped:
        return Done(dropped=True)
    except RequestError as refused:
        return Done(refused=refused)
    except (EOFError, OSError):
        raise
    except Exception:
        return Done(crashed=traceback.format_exc())
    return Done()

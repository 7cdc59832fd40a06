"""A second process that computes nodes of an article's graph beside this one.

It is told nothing but nodes' names and the values they take, which it keeps by digest as long as
one evaluation lasts. Where it cannot go on, by whatever reason, the work is done in this process,
and an error with it.
"""

import dataclasses
import gc
import io
import multiprocessing
import os
import pickle
import signal
from collections.abc import Sequence
from contextlib import suppress
from functools import cache
from multiprocessing.connection import Connection
from types import TracebackType
from typing import Any

from hidewright.workshop.graph import Named, Result, result_of
from hidewright.workshop.uncollected import uncollected

#: How long an ended process may take to be gone, s.
PATIENCE_S = 2.0


class SecondProcess:
    """A process that is started with a ``with`` block and ended with it.

    It takes a second or so to load the program, meanwhile the block goes on; on a machine with one
    core it is not started.
    """

    def __enter__(self) -> "SecondProcess":
        self._pipe: Connection | None = None
        self._is_ready = False
        self._known: set[bytes] = set()
        if cores() > 1:
            context = multiprocessing.get_context("spawn")
            self._pipe, far = context.Pipe()
            self._process = context.Process(target=_serve, args=(far,), daemon=True)
            self._process.start()
            far.close()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.end()

    def end(self) -> None:
        """End the process; what it is computing is computed by who asked for it."""
        if self._pipe is not None:
            self._process.kill()
            self._process.join(PATIENCE_S)

    def is_ready(self, within_s: float) -> bool:
        """Return whether it can compute, waiting for that so many seconds at most.

        Raises:
            ConnectionError: It never will.
        """
        if not self._is_ready and self._there().poll(within_s):
            self._is_ready = self._answer() is True
        if self._is_ready:
            self._known.clear()
            self._send(None)
        return self._is_ready

    def compute(self, node: str, arguments: Sequence[Named]) -> Result:
        """Return what a node of the article's graph gives.

        Raises:
            ConnectionError: It cannot; the node is to be computed here.
        """
        news = {named: value for value, named in arguments if named not in self._known}
        self._send((node, tuple(named for _, named in arguments), news))
        result: Result | None = self._answer()
        if result is None:
            raise ConnectionError(f"the second process cannot compute {node}")
        self._known |= {*news, result[1]}
        return result

    def _there(self) -> Connection:
        if self._pipe is None:
            raise ConnectionError("there is no second process")
        return self._pipe

    def _send(self, message: object) -> None:
        try:
            self._there().send_bytes(packed(message))
        except OSError as ended:
            raise ConnectionError from ended

    def _answer(self) -> Any:
        try:
            return pickle.loads(self._there().recv_bytes())
        except (EOFError, OSError) as ended:
            raise ConnectionError from ended


def packed(value: object) -> bytes:
    """Return a value for the other process."""
    sink = io.BytesIO()
    _Pickler(sink, pickle.HIGHEST_PROTOCOL).dump(value)
    return sink.getvalue()


class _Pickler(pickle.Pickler):
    """Packs of a noun its fields alone, not what is kept with it.

    That may grow meanwhile, as this process works with the same noun; and some of it, as factors of
    matrices, cannot be told to another process.
    """

    def reducer_override(self, value: object) -> Any:
        """Return how a noun is made again; nothing of other things."""
        kind: type = type(value)
        names = _fields_of(kind)
        if not names:
            return NotImplemented
        return _of_fields, (kind, [getattr(value, name) for name in names])


def _of_fields(kind: type, values: Sequence[object]) -> object:
    noun: Any = object.__new__(kind)
    noun.__dict__.update(zip(_fields_of(kind), values, strict=True))
    return noun


@cache
def _fields_of(kind: type) -> tuple[str, ...]:
    """Return the names of a noun's fields; none if it is no noun that things are kept with."""
    if not dataclasses.is_dataclass(kind) or not kind.__dictoffset__:
        return ()
    return tuple(field.name for field in dataclasses.fields(kind))


def cores() -> int:
    """Return how many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _serve(pipe: Connection) -> None:
    """Compute what is asked for through a pipe until it closes; this runs in the process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with suppress(EOFError, OSError), uncollected():
        from hidewright.workshop.article import NODES

        gc.freeze()
        by_name = {node.name: node for node in NODES}
        values: dict[bytes, Any] = {}
        pipe.send_bytes(packed(True))
        while True:
            asked = pickle.loads(pipe.recv_bytes())
            if asked is None:
                values.clear()
                continue
            name, takes, news = asked
            values |= news
            try:
                result = result_of(by_name[name], (values[named] for named in takes))
                values[result[1]] = result[0]
                said = packed(result)
            except Exception:  # it comes up again where the node is computed then
                said = packed(None)
            pipe.send_bytes(said)
